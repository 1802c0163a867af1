//! How often flags judge honest runs, and how often they name slips rightly.

use std::collections::BTreeMap;

use fillmark::practice;
use fillmark::reduce::reduce;
use fillmark::reduce::results::{Results, Stated};
use fillmark::runfile;
use serde_json::Value;

use super::chance::Chance;
use super::judge::each;
use super::scene::{Scene, Simulated};
use super::slips::{self, Kind, Undone};

/// Flags that say what was not recorded, or where something was done, and do not judge.
const NOT_JUDGING: [&str; 9] = [
    "not-conditioned",
    "not-mixed",
    "not-recorded",
    "few-rinses",
    "temperature-unlikely",
    "over-the-mark",
    "digits-not-shown",
    "outside-calibration",
    "no-density",
];

/// The results and flags of a run file; none where the program refuses it.
fn concluded(text: &str) -> Option<(Results, Vec<Value>)> {
    let (file, _) = runfile::read("run.yaml", text.as_bytes());
    let file = file?;
    let reduction = reduce(&file).ok()?;
    let results = Results::of(&file, &reduction);
    let flags = practice::flags(&file, &reduction, &results);
    let flags = flags
        .iter()
        .map(serde_json::to_value)
        .collect::<Result<_, _>>();
    Some((results, flags.ok()?))
}

fn text<'v>(value: &'v Value, key: &str) -> &'v str {
    value[key].as_str().unwrap_or_default()
}

fn judges(flag: &Value) -> bool {
    !NOT_JUDGING.contains(&text(flag, "code"))
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
    for (_, flags) in judged.into_iter().flatten() {
        found.runs += 1;
        let judging: Vec<&Value> = flags.iter().filter(|flag| judges(flag)).collect();
        found.flagged += usize::from(!judging.is_empty());
        found.named += usize::from(judging.iter().any(|flag| !named(flag).is_empty()));
        let mut codes: Vec<&str> = judging.iter().map(|flag| text(flag, "code")).collect();
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
    /// Of these, refused with an error.
    pub(crate) refused: usize,
    /// Of these, not refused, and a result moves by more than its expanded uncertainty.
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
    for one in each(first, runs, |run| one(kind, scene, run))
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

fn one(kind: Kind, scene: &Scene, run: u64) -> Option<Slipped> {
    let Simulated { notebook, .. } = scene.simulate(run);
    let (honest, _) = concluded(&notebook.text())?;
    let (book, undone) = slips::slipped(kind, &notebook, &mut Chance::of(run, 77))?;
    let mut found = Slipped {
        runs: 1,
        ..Slipped::default()
    };
    let Some((results, flags)) = concluded(&book.text()) else {
        found.refused = 1;
        return Some(found);
    };
    if !moved(&honest, &results) {
        return Some(found);
    }
    found.seen = 1;
    let slips: Vec<Named> = flags.iter().flat_map(named).collect();
    if slips.iter().any(|slip| slip.undoes(&undone)) {
        found.right = 1;
        let mut distinct = slips;
        distinct.sort();
        distinct.dedup();
        found.candidates = distinct.len();
    } else if !slips.is_empty() {
        found.wrong = 1;
        found.example = Some(format!("run {run}, {undone:?}: {slips:?}"));
    } else if flags.iter().any(judges) {
        found.unnamed = 1;
    } else {
        found.silent = 1;
    }
    Some(found)
}

/// Whether a result, or its difference from the published one, is another by more than the honest one's uncertainty.
fn moved(honest: &Results, slipped: &Results) -> bool {
    let other = |a: &Stated, b: &Stated| (a.value - b.value).abs() > a.expanded_uncertainty;
    let solutions = |results: &'_ Results| -> Vec<(String, Vec<Option<Stated>>)> {
        let all = results.solutions.iter().chain(&results.unknowns);
        all.map(|(name, s)| {
            let composition = &s.composition;
            let of = [
                &s.density,
                &composition.mass_percent,
                &composition.mass_concentration,
            ];
            (name.clone(), of.map(Clone::clone).to_vec())
        })
        .collect()
    };
    let pairs = solutions(honest).into_iter().zip(solutions(slipped));
    let result = pairs
        .flat_map(|((_, a), (_, b))| a.into_iter().zip(b))
        .any(|pair| matches!(pair, (Some(a), Some(b)) if other(&a, &b)));
    let differences = honest.comparison.iter().zip(&slipped.comparison);
    result
        || differences
            .into_iter()
            .any(|((_, a), (_, b))| other(&a.difference, &b.difference))
}

/// A slip that a flag names.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Named {
    kind: String,
    entry: String,
    read: String,
    meant: String,
    told: String,
}

/// The slips that a flag names: as a list or, where there is none, in its message.
fn named(flag: &Value) -> Vec<Named> {
    if let Some(list) = flag["candidates"].as_array() {
        let of = |value: &Value| Named {
            kind: text(value, "kind").to_owned(),
            entry: text(value, "entry").to_owned(),
            read: text(value, "read").to_owned(),
            meant: text(value, "meant").to_owned(),
            told: String::new(),
        };
        return list.iter().map(of).collect();
    }
    let told = text(flag, "message").split_once("as if ");
    let of = |(_, told): (&str, &str)| Named {
        kind: String::new(),
        entry: String::new(),
        read: String::new(),
        meant: String::new(),
        told: told.to_owned(),
    };
    told.map(of).into_iter().collect()
}

impl Named {
    /// Whether it is this slip.
    fn undoes(&self, undone: &Undone) -> bool {
        let told =
            |said: &[String]| !self.told.is_empty() && said.iter().all(|s| self.told.contains(s));
        let meant = self.meant.split(' ').next().unwrap_or_default();
        match undone {
            Undone::Reading { entry, right } => {
                self.entry == *entry && meant == right
                    || told(&[format!("at {entry}: "), format!(" for {right}")])
            }
            Undone::Count { solution, right } => {
                let entry = format!("solutions.{solution}.aliquot.volume");
                self.entry == entry && meant == right.to_string()
                    || told(&[
                        format!("{right} deliveries of "),
                        format!(" had gone into {solution}"),
                    ])
            }
            Undone::Mark { solution, right } => {
                let entry = format!("solutions.{solution}.made_up.to");
                self.entry == entry && meant == right
                    || told(&[format!("{solution} had been made up to {right} mL")])
            }
            Undone::Swap(a, b) => {
                let both = [(a, b), (b, a)];
                let exchanged = self.kind == "exchanged"
                    && both
                        .iter()
                        .any(|(a, b)| self.read == **a && self.meant == **b);
                exchanged
                    || both
                        .iter()
                        .any(|(a, b)| told(&[format!("{a} and {b} had been taken for")]))
            }
            Undone::Missing { solution } => {
                self.kind == "delivery-omitted"
                    && self.entry.contains(&format!("cumulative.{solution}"))
            }
        }
    }
}
