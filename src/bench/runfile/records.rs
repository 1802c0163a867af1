//! What a run file records beside readings: what was done, what is known, what was corrected.

use serde::{Deserialize, Serialize};

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
    pub reason: Reason,
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
    pub reason: Reason,
}

/// A reason that the writer gives.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reason {
    /// The reason.
    pub why: String,
    /// Who says so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// The day, `YYYY-MM-DD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on: Option<String>,
}

impl Reason {
    /// Returns who says so and on which day, as far as that is known.
    pub fn signature(&self) -> String {
        let parts = [self.by.as_deref(), self.on.as_deref()];
        parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }
}
