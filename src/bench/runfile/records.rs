//! What a run file records beside readings: what was done, what is known, what was corrected.

use super::at::At;
use super::flag_code::FlagCode;

/// What was done at the bench besides reading.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Practice {
    /// How often ware was rinsed with the liquid it took next, a count.
    pub rinsed: Option<At<u32>>,
    /// How solutions made up were mixed.
    pub mixed: Option<At<String>>,
}

/// A flag that the writer knows of.
#[derive(Debug, Clone, PartialEq)]
pub struct Acknowledged {
    /// Which.
    pub flag: At<FlagCode>,
    /// The entry it is raised at; none: at whatever entry.
    pub at: Option<At<String>>,
    /// Why it may stand.
    pub why: String,
    /// Who says so.
    pub by: Option<String>,
    /// When, `YYYY-MM-DD`.
    pub on: Option<String>,
}

/// A correction recorded by hand.
#[derive(Debug, Clone, PartialEq)]
pub struct Correction {
    /// The name of the entry corrected.
    pub entry: At<String>,
    /// What it was, as written.
    pub was: At<String>,
    /// What it is now, as written.
    pub now: At<String>,
    /// Why.
    pub why: String,
    /// By whom.
    pub by: Option<String>,
    /// When, `YYYY-MM-DD`.
    pub on: Option<String>,
}
