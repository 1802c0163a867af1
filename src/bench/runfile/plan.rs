//! The plan file: what is wanted of a series that is still to be made.

use super::apparatus;
use super::fields::{Fields, Value};
use super::model::{Apparatus, At, Conditions, Entry, Reading, Ref, Scale, Solute};
use super::name_table::NameTable;
use super::{sections, words};
use crate::problem::Code;
use std::sync::Arc;

/// Weighings of each solution where the plan does not say.
const CUSTOMARY_WEIGHINGS: u32 = 3;
/// More solutions than these are no series of one bench.
pub const MOST_WANTED: usize = 60;

/// A plan file as it was read.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanFile {
    /// The file as the user named it.
    pub file: Arc<str>,
    /// Title of the run.
    pub title: At<String>,
    /// Where it will be done.
    pub place: Option<String>,
    /// Conditions at the bench, the temperature of the liquids among them.
    pub conditions: Conditions,
    /// What is dissolved.
    pub solute: Solute,
    /// Vessels and instruments at hand, in the order of the file.
    pub apparatus: Vec<Apparatus>,
    /// The solutions wanted, in the order of the file; one or more.
    pub solutions: Vec<WantedSolution>,
    /// The only one whose salt is weighed, an index into `solutions`.
    pub stock: Option<Ref>,
    /// The strengths between which the unknown is expected.
    pub expected: Expected,
    /// Weighings of each solution, 1 to 20.
    pub weighings: u32,
    /// Where the plan stands.
    pub entry: Entry,
    /// Where the apparatus stands in the file; `None` without apparatus.
    pub apparatus_entry: Option<Entry>,
    /// The expanded uncertainty that the unknown may have, on the scale of `expected`.
    pub wanted: Option<Reading>,
}

/// A solution wanted.
#[derive(Debug, Clone, PartialEq)]
pub struct WantedSolution {
    /// Its name.
    pub name: At<String>,
    /// The scale that its strength is given on.
    pub scale: Scale,
    /// Its strength.
    pub strength: Reading,
    /// How much of it is needed, mL.
    pub volume: Reading,
}

/// Where the unknown is expected.
#[derive(Debug, Clone, PartialEq)]
pub struct Expected {
    /// The scale of its strength.
    pub scale: Scale,
    /// The weakest.
    pub low: Reading,
    /// The strongest.
    pub high: Reading,
}

pub(super) fn read(file: &Arc<str>, root: &Value<'_>) -> Option<PlanFile> {
    let fields = root.fields(&words::PLAN_FILE)?;
    let title = fields.text(&words::TITLE);
    let place = fields.text(&words::PLACE).map(|text| text.value);
    let bench = apparatus::read(&fields);
    let conditions = super::conditions::read(&fields, &bench);
    let solute = sections::solute(&fields);
    if !conditions.liquid_stated {
        let blank = conditions.liquid_blank.clone();
        root.found.add(|| {
            blank.unwrap_or_else(|| {
                Code::NoTemperature
                    .error("The temperature of the liquids is not known.")
                    .at("conditions.liquid", root.key_span.clone())
                    .right("`liquid: 20 °C` under `conditions`")
            })
        });
    }
    let section = fields.value(&words::PLAN)?;
    let plan = section.fields(&words::PLAN_KEYS)?;
    let solutions = read_wanted(&plan);
    let stock = stock(&plan, &solutions);
    let expected = expected(&plan);
    let weighings = plan.count(&words::WEIGHINGS_PLANNED);
    if let Some(none) = weighings.as_ref().filter(|count| count.value == 0) {
        root.found.add(|| {
            let entry = none.entry.clone();
            Code::NotACount
                .error("The number of weighings is zero.")
                .at(entry.name, Some(entry.span))
                .right("a whole number from 1 to 20")
        });
    }
    let allowed = plan.strength(&words::U_WANTED);
    let solutions = solutions.into_items();
    let (expected, expected_as) = expected?;
    let wanted = match allowed {
        Some((scale, reading)) if scale != expected_as => {
            root.found.add(|| {
                let entry = reading.entry.clone();
                Code::WrongDimension
                    .error("The target uncertainty is not on the scale of the expected strengths.")
                    .at(entry.name, Some(entry.span))
                    .read(reading.value.as_written())
                    .right(format!("in {}", expected.high.value.unit.symbol))
                    .also(expected.high.entry.span.clone(), "the expected strengths")
            });
            None
        }
        allowed => allowed.map(|(_, reading)| reading),
    };
    let at_key = |value: &Value<'_>| {
        Entry::new(
            value.name.clone(),
            value.key_span.clone().unwrap_or_else(|| value.entry().span),
        )
    };
    Some(PlanFile {
        file: Arc::clone(file),
        title: title?,
        place,
        conditions: conditions.read,
        solute: solute?,
        apparatus: bench.into_items()?,
        solutions: solutions?,
        stock,
        expected,
        weighings: weighings.map_or(CUSTOMARY_WEIGHINGS, |count| count.value),
        entry: at_key(section),
        apparatus_entry: fields.value(&words::APPARATUS).map(at_key),
        wanted,
    })
}

/// Returns the solutions wanted.
fn read_wanted(plan: &Fields<'_>) -> NameTable<WantedSolution> {
    let Some(section) = plan.value(&words::SOLUTIONS_WANTED) else {
        return NameTable::new(Vec::new(), false);
    };
    let named = section.read_named("solutions wanted");
    if named.len() > MOST_WANTED {
        plan.found.add(|| {
            section
                .problem(
                    Code::TooManySolutions,
                    format!("{} lists {} solutions.", section.name, named.len()),
                )
                .right(format!(
                    "{MOST_WANTED} at most; several series in several plans"
                ))
        });
        return NameTable::new(Vec::new(), false);
    }
    let names = named.iter().map(|(name, _)| name.clone()).collect();
    let mut all = NameTable::new(names, section.has_all_names());
    for (name, value) in named {
        let one = read_one(name, &value);
        all.items.push(one);
    }
    all
}

fn read_one(name: At<String>, value: &Value<'_>) -> Option<WantedSolution> {
    let fields = value.fields(&words::WANTED_KEYS)?;
    let volume = fields.measure(&words::VOLUME_WANTED);
    let given = fields.given_of_ways(&words::WANTED_KEYS);
    let keys = words::STRENGTH_KEYS.iter();
    let strengths: Vec<(Scale, Option<Reading>)> = keys
        .filter(|(key, _)| fields.has(*key))
        .map(|(key, scale)| (*scale, fields.measure(key)))
        .collect();
    let mut strengths = strengths.into_iter();
    match (strengths.next(), strengths.next()) {
        (Some((scale, strength)), None) => Some(WantedSolution {
            name,
            scale,
            strength: strength?,
            volume: volume?,
        }),
        (None, _) => {
            value.found.add(|| {
                fields.missing(
                    words::MASS_PERCENT.name,
                    "`mass percent: 5 %`; or `mass concentration`, `molarity` or `molality`".into(),
                )
            });
            None
        }
        (Some(_), Some(_)) => {
            value.found.add(|| {
                let names: Vec<&str> = given.iter().map(|(name, _)| *name).collect();
                Code::TwoStrengths
                    .error(format!("{} has {}.", value.name, names.join(" and ")))
                    .at(value.name.clone(), value.key_span.clone())
                    .right("one of them only")
            });
            None
        }
    }
}

fn stock(plan: &Fields<'_>, wanted: &NameTable<WantedSolution>) -> Option<Ref> {
    let name = plan.name(&words::STOCK)?;
    let index = wanted.find(&name.value);
    if index.is_none() && wanted.complete {
        plan.found.add(|| {
            let headline = format!("{} is not among the solutions of the plan.", name.value);
            let problem = Code::UnknownSolution
                .error(headline)
                .at_entry(&name.entry)
                .read(name.value.as_str());
            wanted.suggest(problem, &name.value, "the name of a solution wanted")
        });
    }
    Some(At::new(index?, name.entry))
}

/// Returns where the unknown is expected, and in which of the measures.
fn expected(plan: &Fields<'_>) -> Option<(Expected, usize)> {
    let section = plan.value(&words::UNKNOWN_EXPECTED)?;
    let fields = section.fields(&words::UNKNOWN_KEYS)?;
    let (measure, [low, high]) = fields.range(&words::EXPECTED)?;
    let scale = Scale::ALL[measure];
    Some((Expected { scale, low, high }, measure))
}
