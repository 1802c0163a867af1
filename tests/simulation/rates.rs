//! How often flags judge honest runs, and how often they name slips rightly.

use std::collections::BTreeMap;

use fillmark::bench::practice::{self, Candidate, Flag, SlipKind};
use fillmark::bench::reduce::reduce;
use fillmark::bench::reduce::results::Results;
use fillmark::bench::runfile;

use super::chance::Chance;
use super::evidence::Evidence;
use super::judge::each;
use super::scene::{Scene, Simulated};
use super::slips::{self, Kind, Undone};

/// A slip is seen where what contradicts it moves by so many standard deviations: somewhat fewer leave the best test of a
/// run of a dozen densities, at a level of one in twenty, a chance of overlooking it.
const SEEN: f64 = 5.0;

/// The flags of a run file, those beside a refusal as well; `None` where it cannot be read.
pub(crate) fn concluded(text: &str) -> Option<Vec<Flag>> {
    let (file, _) = runfile::read("run.yaml", text.as_bytes());
    let file = file?;
    Some(match reduce(&file) {
        Ok(reduction) => {
            let results = Results::new(&file, &reduction);
            practice::flags(&file, &reduction, &results)
        }
        Err(_) => practice::flags_of_unreduced(&file),
    })
}

pub(crate) fn judging(flags: &[Flag]) -> impl Iterator<Item = &Flag> {
    flags.iter().filter(|flag| flag.code.judges())
}

/// Honest runs with flags.
#[derive(Debug, Clone, Default)]
pub(crate) struct Honest {
    pub(crate) runs: usize,
    /// With at least one flag that judges.
    pub(crate) flagged: usize,
    /// In which a slip is named.
    pub(crate) named: usize,
    /// By code of flag.
    pub(crate) codes: BTreeMap<String, usize>,
}

/// Counts the flags of honest runs.
pub(crate) fn honest(scene: &Scene, first: u64, runs: usize) -> Honest {
    let mut found = Honest::default();
    let judged = each(first, runs, |run| {
        concluded(&scene.simulate(run).notebook.text())
    });
    for flags in judged.into_iter().flatten() {
        found.runs += 1;
        found.flagged += usize::from(judging(&flags).next().is_some());
        found.named += usize::from(judging(&flags).any(|flag| !flag.candidates.is_empty()));
        let mut codes: Vec<&str> = judging(&flags).map(|flag| flag.code.word()).collect();
        codes.sort_unstable();
        codes.dedup();
        for code in codes {
            *found.codes.entry(code.to_owned()).or_insert(0) += 1;
        }
    }
    found
}

/// What becomes of runs with a slip.
#[derive(Debug, Clone, Default)]
pub(crate) struct Slipped {
    /// Runs with the slip.
    pub(crate) runs: usize,
    /// Of these, not read: an error says what reading makes no brine.
    pub(crate) refused: usize,
    /// Of these, read and contradicted by enough of what was measured.
    pub(crate) seen: usize,
    /// Of those that can be seen: named, alone or among others.
    pub(crate) right: usize,
    /// Named wrongly only.
    pub(crate) wrong: usize,
    /// Flagged without a name.
    pub(crate) unnamed: usize,
    /// Not flagged.
    pub(crate) silent: usize,
    /// Slips named where it is named rightly.
    pub(crate) candidates: usize,
    /// A run in which it is named wrongly only, and what is said of it.
    pub(crate) example: Option<String>,
}

/// Tries a kind of slip.
pub(crate) fn slipped(kind: Kind, scene: &Scene, first: u64, runs: usize) -> Slipped {
    let mut all = Slipped::default();
    let Some(evidence) = Evidence::of(scene) else {
        return all;
    };
    for one in each(first, runs, |run| one(kind, scene, &evidence, run))
        .into_iter()
        .flatten()
    {
        all.runs += one.runs;
        all.refused += one.refused;
        all.seen += one.seen;
        all.right += one.right;
        all.wrong += one.wrong;
        all.unnamed += one.unnamed;
        all.silent += one.silent;
        all.candidates += one.candidates;
        all.example = all.example.or(one.example);
    }
    all
}

fn one(kind: Kind, scene: &Scene, evidence: &Evidence, run: u64) -> Option<Slipped> {
    let Simulated { notebook, .. } = scene.simulate(run);
    concluded(&notebook.text())?;
    let (book, undone) = slips::slipped(kind, &notebook, &mut Chance::of(run, 77))?;
    let mut found = Slipped {
        runs: 1,
        ..Slipped::default()
    };
    let Some(flags) = concluded(&book.text()) else {
        found.refused = 1;
        return Some(found);
    };
    if evidence.distance(&notebook, &book) < SEEN {
        return Some(found);
    }
    found.seen = 1;
    let mut named: Vec<&Candidate> = flags.iter().flat_map(|flag| &flag.candidates).collect();
    if named.iter().any(|candidate| is(candidate, &undone)) {
        found.right = 1;
        named.sort_by_key(|candidate| (&candidate.entry, &candidate.meant));
        named.dedup();
        found.candidates = named.len();
    } else if !named.is_empty() {
        found.wrong = 1;
        found.example = Some(format!("run {run}, {undone:?}: {named:?}"));
    } else if judging(&flags).next().is_some() {
        found.unnamed = 1;
    } else {
        found.silent = 1;
    }
    Some(found)
}

/// Whether a slip that is named is the one that was made.
pub(crate) fn is(named: &Candidate, made: &Undone) -> bool {
    let meant = named.meant.split(' ').next().unwrap_or_default();
    match made {
        Undone::Reading { entry, right } => named.entry == *entry && meant == right,
        Undone::Count { solution, right } => {
            named.entry == format!("solutions.{solution}.aliquot.volume")
                && meant == right.to_string()
        }
        Undone::Mark { solution, right } => {
            named.entry == format!("solutions.{solution}.made_up.to") && meant == right
        }
        Undone::Swap(a, b) => {
            let said = [named.read.as_str(), named.meant.as_str()];
            named.kind == SlipKind::Exchanged && (said == [*a, *b] || said == [*b, *a])
        }
        Undone::Missing { solution } => {
            named.kind == SlipKind::DeliveryOmitted
                && named.entry.contains(&format!("cumulative.{solution}"))
        }
    }
}
