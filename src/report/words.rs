//! How quantities, apparatus and preparations are put into words.

use std::borrow::Cow;
use std::collections::BTreeMap;

use crate::bench::practice::Candidate;
use crate::bench::quantity::{Dimension, Quantity, rounding};
use crate::bench::reduce::Reduction;
use crate::bench::reduce::instruments::{standard_kind, tolerance};
use crate::bench::runfile::model::{
    Aliquot, Apparatus, ApparatusKind, Class, InstrumentScale, MadeUp, Origin, Reading, Ref,
    RunFile, Scale, Shows, Solvent, Spread, Weighed, WeighedReadings,
};
use crate::bench::worksheet::Source;

/// A narrow space at which no line breaks, between a value and its unit.
const THIN: char = '\u{202f}';

/// What entries of the run file are called in sentences: the quantities that are read at them, solutions, weighings and
/// apparatus.
pub(super) struct EntryWords<'w>(BTreeMap<&'w str, Cow<'w, str>>);

impl<'w> EntryWords<'w> {
    pub(super) fn new(run: &'w RunFile, reduction: &'w Reduction) -> Self {
        let ws = &reduction.worksheet;
        let mut words: BTreeMap<&str, Cow<str>> = BTreeMap::new();
        for (_, node) in ws.nodes() {
            let Source::Input(input) = &node.source else {
                continue;
            };
            // Items of a list are entries of their own.
            let (list, last) = input.origin.rsplit_once('.').unwrap_or_default();
            let list = last.parse::<usize>().ok().map(|_| list);
            for entry in [Some(&*input.origin), list].into_iter().flatten() {
                let name = words.entry(entry).or_insert((&*node.name).into());
                if **name != *node.name {
                    *name = shared_words(name, &node.name).into();
                }
            }
        }
        for solution in &run.solutions {
            words.insert(&solution.name.entry.name, (&*solution.name.value).into());
        }
        for apparatus in &run.apparatus {
            words.insert(&apparatus.name.entry.name, (&*apparatus.name.value).into());
        }
        for calibration in &run.ware_calibrations {
            let ware = &run.apparatus[calibration.ware.value].name.value;
            let name = format!("calibration of {ware}");
            words.insert(&calibration.entry.name, name.into());
        }
        for solution in &reduction.solutions {
            if let Some(density) = &solution.density {
                words.insert(&density.entry, (&*solution.name).into());
                for replicate in &density.replicates {
                    let name = &ws.node(replicate.density).name;
                    words.insert(&replicate.entry, (&**name).into());
                }
            }
        }
        Self(words)
    }

    /// Returns an entry in words; its name if it has none.
    pub(super) fn name(&self, entry: &str) -> String {
        let words = self.0.get(entry).filter(|words| !words.is_empty());
        words.map_or(entry, |words| words).to_owned()
    }

    /// An entry in words within a sentence: `vessel filled (A, weighing 1)`.
    pub(super) fn bracketed(&self, entry: &str) -> String {
        let name = self.name(entry);
        match name.split_once(", ") {
            Some((what, of)) => format!("{what} ({of})"),
            None => name,
        }
    }

    /// A slip in words.
    pub(super) fn slip(&self, slip: &Candidate) -> String {
        slip.in_words(&format!("{}:", self.name(&slip.entry)))
    }
}

/// Returns the words that two names share, such as `delivery into B` of two deliveries.
fn shared_words(one: &str, other: &str) -> String {
    let mut rest = other.split(' ');
    let shared = one.split(' ').filter(|word| {
        let mut ahead = rest.clone();
        let found = ahead.any(|next| next == *word);
        if found {
            rest = ahead;
        }
        found
    });
    shared.collect::<Vec<_>>().join(" ")
}

/// Returns a value's digits with its unit.
pub(super) fn with_unit(digits: &str, unit: &str) -> String {
    if unit.is_empty() {
        digits.to_owned()
    } else {
        format!("{digits}{THIN}{unit}")
    }
}

/// Returns a quantity as it was written: digits, unit and stated uncertainty.
pub(super) fn write_quantity(quantity: &Quantity) -> String {
    let digits = quantity.number.text.replace('-', "−");
    let stated = match quantity.standard_uncertainty {
        Some(u) => format!(" ± {}", write_plain(u / quantity.unit.factor)),
        None => String::new(),
    };
    let scale = match quantity.unit.dimension {
        Dimension::SpecificGravity => "specific gravity ",
        _ => "",
    };
    with_unit(&format!("{scale}{digits}{stated}"), quantity.unit.symbol)
}

/// Returns the digits of a reading alone.
pub(super) fn digits(quantity: &Quantity) -> String {
    quantity.number.text.replace('-', "−")
}

/// Returns a number in as few digits as tell it, true minus, at most six figures.
pub(super) fn write_plain(value: f64) -> String {
    rounding::shortest(value, 6).unwrap_or_else(|| value.to_string())
}

/// Returns a number to some decimals: true minus, no minus before zero.
pub(super) fn decimals(value: f64, count: u32) -> String {
    let place = i32::try_from(count).map_or(0, |count| -count);
    rounding::to_place(value, place).unwrap_or_else(|| value.to_string())
}

/// Returns a share in per cent, to the tenth; less than half of that is `< 0.1`.
pub(super) fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    if percent > 0.0 && percent < 0.05 {
        "< 0.1".into()
    } else {
        decimals(percent, 1)
    }
}

/// Returns a number to some significant figures.
pub(super) fn figures(value: f64, count: u32) -> String {
    rounding::significant(value, count).unwrap_or_else(|| value.to_string())
}

/// Returns a volume by one delivery or several, without unit: `5.00`, `2 × 5.00` or `5.00 + 4.00`.
pub(super) fn delivered(volumes: &[Reading]) -> String {
    let each: Vec<String> = volumes.iter().map(|volume| digits(&volume.value)).collect();
    match each.as_slice() {
        [first, _, ..] if each.iter().all(|other| other == first) => {
            format!("{} × {first}", each.len())
        }
        _ => each.join(" + "),
    }
}

/// Returns a kind of apparatus in words.
pub(super) fn kind(kind: ApparatusKind) -> &'static str {
    match kind {
        ApparatusKind::Balance => "balance",
        ApparatusKind::Pipette => "one-mark pipette",
        ApparatusKind::GraduatedPipette => "graduated pipette",
        ApparatusKind::Burette => "burette",
        ApparatusKind::Flask => "volumetric flask",
        ApparatusKind::Cylinder => "measuring cylinder",
        ApparatusKind::Thermometer => "thermometer",
        ApparatusKind::Hydrometer => "hydrometer",
        ApparatusKind::DensityMeter => "density meter",
    }
}

/// Returns what a piece of apparatus is: capacity and class, or what it shows.
pub(super) fn details(apparatus: &Apparatus) -> String {
    let mut parts = Vec::new();
    if let Some(capacity) = &apparatus.capacity {
        parts.push(write_quantity(&capacity.value));
    }
    if let Some(division) = &apparatus.division {
        parts.push(format!("divided to {}", write_quantity(&division.value)));
    }
    if let Some(class) = &apparatus.class {
        parts.push(match class.value {
            Class::A => "class A".to_owned(),
            Class::B => "class B".to_owned(),
        });
    }
    if let Some(scale) = &apparatus.scale {
        parts.push(scale_in_words(scale));
    }
    if let Some(step) = &apparatus.readability {
        parts.push(format!("reads to {}", write_quantity(&step.value)));
    }
    if let Some(note) = &apparatus.note {
        parts.push(note.clone());
    }
    parts.join(", ")
}

/// Returns what a scale shows, by its definition, and at what temperature it holds.
fn scale_in_words(scale: &InstrumentScale) -> String {
    let standard = write_quantity(&scale.standard.value);
    match &scale.shows {
        Shows::Density => format!("scale of density at {standard}"),
        Shows::SpecificGravity(water) => format!(
            "scale of specific gravity at {standard} relative to water at {}",
            water
                .as_ref()
                .map_or(standard.clone(), |water| write_quantity(&water.value))
        ),
        Shows::DegreesBaume(modulus) => format!(
            "degrees Baumé with the modulus {}, at {standard} relative to water at {standard}",
            digits(&modulus.value)
        ),
        Shows::Saturation(saturated) => format!(
            "percent of saturation, relative to {} by mass, at {standard}",
            write_quantity(&saturated.value)
        ),
    }
}

/// Returns the limits of error of a piece of apparatus.
pub(super) fn errors(apparatus: &Apparatus) -> String {
    let mut parts = Vec::new();
    if let (Some(kind), Ok(limit)) = (standard_kind(apparatus.kind), tolerance(apparatus)) {
        let from = match &apparatus.tolerance {
            Some(_) => "as stated",
            None => kind.standard(),
        };
        let spread = match apparatus.spread {
            Spread::Triangular => "triangular",
            Spread::Rectangular => "rectangular",
        };
        parts.push(format!(
            "±{} ({from}, {spread})",
            with_unit(&write_plain(limit), "mL")
        ));
    }
    if let Some(limit) = &apparatus.accuracy {
        parts.push(format!("accuracy ±{}", write_quantity(&limit.value)));
    }
    if let Some(limit) = &apparatus.linearity {
        parts.push(format!("linearity ±{}", write_quantity(&limit.value)));
    }
    if parts.is_empty() {
        "readability only".into()
    } else {
        parts.join("; ")
    }
}

/// Returns how a solution was made.
pub(super) fn preparation(run: &RunFile, origin: &Origin) -> String {
    match origin {
        Origin::Pure => "pure water".into(),
        Origin::Unknown => "unknown, as received".into(),
        Origin::MadeUp { weighed, made_up } => {
            format!("{}, {}", salt(weighed), filled(run, made_up))
        }
        Origin::ByMass { weighed, solvent } => {
            let water = match solvent {
                Solvent::Weighed(water) => format!("{} of water", mass(water)),
                Solvent::Measured(water) => {
                    measured(run, &water.deliveries, "water", water.with.as_ref())
                }
            };
            format!("{}, {water}", salt(weighed))
        }
        Origin::Dilution { aliquot, made_up } => {
            format!("{}, {}", taken(run, aliquot), filled(run, made_up))
        }
    }
}

fn salt(weighed: &Weighed) -> String {
    format!("{} of salt", mass(weighed))
}

fn mass(weighed: &Weighed) -> String {
    match &weighed.readings {
        WeighedReadings::Tared { mass } => write_quantity(&mass.value),
        WeighedReadings::Difference { before, after } => {
            format!(
                "{} − {}",
                digits(&before.value),
                write_quantity(&after.value)
            )
        }
    }
}

fn filled(run: &RunFile, made_up: &MadeUp) -> String {
    let vessel = made_up
        .vessel
        .as_ref()
        .map(|v| format!(" in {}", run.apparatus[v.value].name.value));
    format!(
        "made up to {}{}",
        write_quantity(&made_up.to.value),
        vessel.unwrap_or_default()
    )
}

/// Returns an aliquot: deliveries alike in digits are counted, others listed.
fn taken(run: &RunFile, aliquot: &Aliquot) -> String {
    let of = &run.solutions[aliquot.of.value].name.value;
    measured(run, &aliquot.deliveries, of, aliquot.with.as_ref())
}

/// Returns a volume of something, as measured out.
fn measured(run: &RunFile, deliveries: &[Reading], of: &str, with: Option<&Ref>) -> String {
    let with = with.map(|w| format!(" with {}", run.apparatus[w.value].name.value));
    let with = with.unwrap_or_default();
    let alike = |a: &Reading, b: &Reading| a.value.number.text == b.value.number.text;
    let volume = match deliveries {
        [] => String::new(),
        [one] => write_quantity(&one.value),
        [first, rest @ ..] if rest.iter().all(|d| alike(first, d)) => {
            format!("{} × {}", rest.len() + 1, write_quantity(&first.value))
        }
        many => many
            .iter()
            .map(|d| write_quantity(&d.value))
            .collect::<Vec<_>>()
            .join(" + "),
    };
    format!("{volume} of {of}{with}")
}

/// Returns a scale in words, for the beginning of a sentence or axis.
pub(super) fn scale_title(scale: Scale) -> String {
    capitalized(scale.label())
}

/// Returns a text with its first letter large, the rest as it is.
pub(super) fn capitalized(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}
