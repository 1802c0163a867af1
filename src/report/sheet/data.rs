//! The data of the page to fill in, as JSON: the text around each blank, and all limits, so that the script has none of its
//! own.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::cells::unit_printed;
use super::facts::AllFacts;
use crate::bench::practice::AT_A_BENCH;
use crate::bench::quantity::{Dimension, Unit};
use crate::bench::runfile::unfinished::{Blank, Part, Unfinished};
use crate::bench::runfile::vocabulary::{Form, KeyInfo, Measure};
use crate::bench::runfile::words;

const LIGHTER_EMPTY: &str = "The empty vessel must be lighter than the filled one.";
const LIGHTER_AFTER: &str = "The vessel must be lighter after it was emptied than before.";
const HEAVIER: &str = "The vessel must become heavier with each delivery.";

/// The data of a page.
#[derive(Serialize)]
pub(super) struct Data<'u> {
    /// The name that the run file is saved under.
    file: &'u str,
    /// The key under which entries are kept in the browser.
    key: String,
    /// The text of the run file before each blank, and after the last.
    pieces: Vec<String>,
    /// The blanks, in the order of the text.
    fields: Vec<Field<'u>>,
    /// What is written at entries that others are compared with.
    known: BTreeMap<&'u str, &'u str>,
    /// Pairs of masses of which one is the lesser.
    orders: Vec<Order<'u>>,
}

/// A blank, and what may be written there.
#[derive(Serialize)]
struct Field<'u> {
    entry: &'u str,
    /// What stands there: `number`, `count`, `day`, `deliveries`, `choice`, `texts` or `text`.
    kind: &'static str,
    /// What stands in the text where a value is to stand.
    gap: &'u str,
    /// Room before a comment, characters; 0 where none follows.
    room: usize,
    required: bool,
    /// The words of a choice.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    words: Vec<&'static str>,
    #[serde(skip_serializing_if = "str::is_empty")]
    unit: &'static str,
    /// What is written into the file before and behind the number, where it is not meant without.
    #[serde(skip_serializing_if = "str::is_empty")]
    before: &'static str,
    #[serde(skip_serializing_if = "str::is_empty")]
    behind: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    limits: Option<Limits>,
    #[serde(skip_serializing_if = "Option::is_none")]
    shown: Option<Shown<'u>>,
}

/// The limits of a value, in the unit of the field.
#[derive(Serialize)]
struct Limits {
    low: f64,
    low_allowed: bool,
    high: f64,
    /// In words, to follow "must be ".
    told: String,
    /// Between which a value is likely.
    #[serde(skip_serializing_if = "Option::is_none")]
    likely: Option<[f64; 2]>,
}

/// What shows a reading.
#[derive(Serialize)]
struct Shown<'u> {
    by: &'u str,
    /// Its step as written; absent where it is blank itself, at the entry `step_at`.
    #[serde(skip_serializing_if = "Option::is_none")]
    step: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    decimals: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    step_at: Option<&'u str>,
}

/// That one entry is less than another.
#[derive(Serialize)]
struct Order<'u> {
    less: &'u str,
    more: &'u str,
    /// What is wrong where it is not.
    told: &'static str,
}

impl<'u> Data<'u> {
    /// `key` identifies the run file.
    pub(super) fn new(
        run: &'u Unfinished,
        file: &'u str,
        key: String,
        facts: &AllFacts<'u>,
    ) -> Self {
        let mut blanks: Vec<(&Part, &Blank)> = run
            .root
            .entries()
            .into_iter()
            .filter_map(|part| Some((part, part.blank()?)))
            .collect();
        blanks.sort_by_key(|(_, blank)| blank.hole.start);
        let mut pieces = Vec::with_capacity(blanks.len() + 1);
        let mut at = 0;
        for (_, blank) in &blanks {
            let piece = run.text.get(at..blank.hole.start).unwrap_or_default();
            pieces.push(piece.to_owned());
            at = blank.hole.end;
        }
        pieces.push(run.text.get(at..).unwrap_or_default().to_owned());
        if run.marked {
            pieces[0].insert(0, '\u{feff}');
        }
        let orders = orders(&run.root);
        let compared = orders.iter().flat_map(|order| [order.less, order.more]);
        let compared: BTreeSet<&str> = compared.collect();
        let entries = run.root.entries().into_iter();
        let known = entries.filter_map(|part| Some((part.entry.as_str(), part.written()?)));
        Self {
            file,
            key,
            pieces,
            fields: blanks
                .iter()
                .map(|(part, blank)| field(run, part, blank, facts))
                .collect(),
            known: known
                .filter(|(entry, _)| compared.contains(entry))
                .collect(),
            orders,
        }
    }
}

fn field<'u>(
    run: &'u Unfinished,
    part: &'u Part,
    blank: &'u Blank,
    facts: &AllFacts<'u>,
) -> Field<'u> {
    let form = part.word.map(KeyInfo::form);
    let measure = facts.measure(&part.entry);
    let (kind, words) = match form.clone() {
        Some(Form::Measure(_) | Form::Scaled(_)) if measure.is_some() => ("number", Vec::new()),
        Some(Form::Deliveries(_)) => ("deliveries", Vec::new()),
        Some(Form::Count(_)) => ("count", Vec::new()),
        Some(Form::Day) => ("day", Vec::new()),
        Some(Form::Texts) => ("texts", Vec::new()),
        Some(Form::Mark) => ("choice", vec!["true"]),
        Some(Form::Choice(words)) => ("choice", words),
        _ => ("text", Vec::new()),
    };
    // The unit meant where none is written: of several scales, the first.
    let first = form.as_ref().and_then(super::facts::measure);
    let is_meant = measure
        .zip(first)
        .is_some_and(|(measure, first)| measure.unit == first.unit && measure.unit != Unit::ONE);
    let item = facts.get(&part.entry).and_then(|facts| facts.shown_by);
    let shown = item.zip(measure).and_then(|(item, measure)| {
        let step = facts.step(&part.entry, &measure.unit);
        let step_at = item
            .get(&words::BALANCE_READABILITY)
            .filter(|step| step.blank().is_some());
        (step.is_some() || step_at.is_some()).then(|| Shown {
            by: &item.key,
            decimals: step.as_ref().map(|step| step.decimals),
            step: step.map(|step| step.written),
            step_at: step_at.map(|step| step.entry.as_str()),
        })
    });
    Field {
        entry: &part.entry,
        kind,
        gap: run.text.get(blank.hole.clone()).unwrap_or_default(),
        room: if blank.comment_follows {
            blank.hole.len()
        } else {
            0
        },
        required: blank.required,
        words,
        unit: measure.map_or("", unit_printed),
        before: measure.and_then(Measure::prefix).unwrap_or_default(),
        behind: measure.filter(|_| !is_meant).map_or("", unit_printed),
        limits: match form {
            Some(Form::Count(most)) => Some(Limits {
                low: 0.0,
                low_allowed: true,
                high: f64::from(most),
                told: format!("a whole number from 0 to {most}"),
                likely: None,
            }),
            _ => measure.map(limits),
        },
        shown,
    }
}

fn limits(measure: &Measure) -> Limits {
    let percent = measure.unit == Unit::ONE;
    let unit = if percent {
        &Unit::PERCENT
    } else {
        &measure.unit
    };
    let of_a_liquid = measure.unit.dimension == Dimension::Temperature;
    Limits {
        low: unit.from_base(measure.low),
        low_allowed: measure.low_allowed,
        high: unit.from_base(measure.high),
        told: measure.limits.to_owned(),
        likely: of_a_liquid.then(|| [*AT_A_BENCH.start(), *AT_A_BENCH.end()]),
    }
}

/// Returns which masses are less than which.
fn orders<'u>(root: &'u Part) -> Vec<Order<'u>> {
    let mut orders = Vec::new();
    let mut open = vec![root];
    while let Some(part) = open.pop() {
        open.extend(part.parts().iter().rev());
        let mut order = |less: Option<&'u Part>, more: Option<&'u Part>, told| {
            orders.extend(less.zip(more).map(|(less, more)| Order {
                less: &less.entry,
                more: &more.entry,
                told,
            }));
        };
        let filled = |part: &'u Part| part.get(&words::FILLED);
        order(part.get(&words::EMPTY), filled(part), LIGHTER_EMPTY);
        order(
            part.get(&words::AFTER),
            part.get(&words::BEFORE),
            LIGHTER_AFTER,
        );
        let deliveries = part.parts_at(&words::DELIVERIES);
        let masses = deliveries.iter().map(|delivery| delivery.get(&words::MASS));
        let mut last = part.get(&words::EMPTY);
        for mass in masses {
            order(last, mass, HEAVIER);
            last = mass.or(last);
        }
        if part.is_at(&words::PYCNOMETER) {
            let water = part.get(&words::WATER);
            let readings = part.parts_at(&words::READINGS);
            let fillings = readings.iter().flat_map(Part::parts);
            let of_water = water.map_or(&[][..], |water| water.parts_at(&words::READINGS));
            for filling in water.into_iter().chain(of_water).chain(fillings) {
                order(part.get(&words::EMPTY), filled(filling), LIGHTER_EMPTY);
            }
        }
    }
    orders
}
