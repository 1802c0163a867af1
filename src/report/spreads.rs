//! How single densities scatter: what the report says of it, and the calculations.

use serde::Serialize;

use super::Material;
use super::words::{figures, joined, plain, with_unit};
use super::written_out::{Step, Writer};
use crate::maths::Math;
use crate::reduce::{Grounds, Liquid, Reduction, Spread, StatedSpread};
use crate::runfile::model::ApparatusKind;

/// An estimate of the standard deviation of one weighing, filling or reading.
#[derive(Debug, Serialize)]
pub(super) struct SpreadShown {
    /// Whose spreads it rests on, and whose densities rest on it.
    from: String,
    serves: String,
    /// Whether it rests on several.
    pooled: bool,
    /// Why it rests on these.
    grounds: &'static str,
    /// g/mL.
    spread: String,
    dof: Option<String>,
    /// What the instruments state, g/mL, and whether it is combined with what was found.
    stated: Option<String>,
    combined: bool,
    test: Option<CochranShown>,
}

/// Cochran's test.
#[derive(Debug, Serialize)]
pub(super) struct CochranShown {
    largest: String,
    ratio: String,
    limit: String,
    passed: bool,
}

/// What the report says of the spreads.
pub(super) fn shown(material: &Material) -> Vec<SpreadShown> {
    let reduction = material.reduction;
    let each = reduction.spreads.iter().map(|spread| {
        let (stated, combined) = match spread.stated {
            StatedSpread::None => (None, false),
            StatedSpread::Combined(sd) => (Some(sd), true),
            StatedSpread::Exceeded(sd) => (Some(sd), false),
        };
        SpreadShown {
            from: names(reduction, spread.from.iter().map(|found| found.of)),
            serves: names(reduction, spread.serves.iter().copied()),
            pooled: spread.from.len() > 1,
            grounds: match spread.grounds {
                Grounds::Chosen => "chosen",
                Grounds::Alone => "alone",
                Grounds::Alike => "alike",
                Grounds::Unlike => "unlike",
                Grounds::Stated => "stated",
                Grounds::Customary => "customary",
            },
            spread: figures(spread.standard_deviation, 2),
            dof: spread.dof.is_finite().then(|| plain(spread.dof)),
            stated: stated.map(|sd| figures(sd, 2)),
            combined,
            test: spread.test.map(|test| CochranShown {
                largest: name(reduction, test.largest),
                ratio: figures(test.ratio, 3),
                limit: figures(test.limit, 3),
                passed: test.ratio <= test.limit,
            }),
        }
    });
    each.collect()
}

/// The apparatus whose repeatability is a customary one, each with its size and unit.
pub(super) fn customary(material: &Material) -> Vec<String> {
    let each = material.reduction.customary.iter().map(|(at, deviation)| {
        let apparatus = &material.run.apparatus[*at];
        let unit = match apparatus.kind {
            ApparatusKind::Balance => "g",
            _ => "mL",
        };
        let deviation = with_unit(&figures(*deviation, 2), unit);
        format!("{} {deviation}", apparatus.name.value)
    });
    each.collect()
}

/// The names of some liquids; of very many, the first and how many more there are.
fn names(reduction: &Reduction, of: impl Iterator<Item = Liquid>) -> String {
    const MOST: usize = 12;
    let mut all: Vec<String> = of.map(|of| name(reduction, of)).collect();
    if all.len() > MOST {
        let more = all.len() - MOST;
        all.truncate(MOST);
        all.push(format!("{more} more"));
    }
    joined(&all)
}

fn name(reduction: &Reduction, of: Liquid) -> String {
    match of {
        Liquid::Solution(index) => reduction.solutions[index].name.clone(),
        Liquid::Water => "the water in the pycnometer".to_owned(),
    }
}

/// Whether a spread is no more than the standard deviation of one solution's own replicates.
fn is_own(spread: &Spread) -> bool {
    spread.from.len() == 1
        && spread.serves.len() == 1
        && !matches!(spread.stated, StatedSpread::Combined(_))
}

/// More spreads than this are not written out: they are by the formulas of the first.
const WRITTEN_OUT: usize = 12;

/// The standard deviations of single densities and of means.
pub(super) fn steps(reduction: &Reduction, writer: &Writer) -> Vec<Step> {
    let unit = writer.handles.text(Math::unit("g/mL"));
    let mut steps = Vec::new();
    let found = reduction.spreads.iter().flat_map(|spread| &spread.from);
    if let Some(first) = found.clone().next() {
        let step = Step::chain(
            format!(
                "standard deviation of the single densities of {}",
                name(reduction, first.of)
            ),
            format!(
                "s &= \\sqrt{{\\frac{{1}}{{\\nu}} \\sum_i \\left(\\rho_i - \\overline{{\\rho}}\\right)^{{2}}}} = {}\\,{unit} ,\\quad \\nu = n - 1 = {}",
                writer.number(first.standard_deviation, 4),
                first.dof
            ),
        );
        steps.push(if found.count() > 1 {
            step.and_in("tab-densities")
        } else {
            step
        });
    }
    let shared: Vec<&Spread> = reduction.spreads.iter().filter(|s| !is_own(s)).collect();
    let symbol = |at: usize| match shared.len() {
        1 => Math::from("s_p"),
        _ => Math::from("s").subscript(Math::label(&format!("p,{}", at + 1))),
    };
    for (at, spread) in shared.iter().enumerate().take(WRITTEN_OUT) {
        let symbol = writer.handles.text(symbol(at));
        steps.push(step(reduction, spread, &symbol, writer));
    }
    let all = reduction.spreads.iter();
    if let Some(spread) = all.clone().find(|spread| !spread.serves.is_empty()) {
        let of = spread.serves[0];
        let used = match of {
            Liquid::Solution(index) => reduction.solutions[index].density.as_ref().map_or(1, |d| d.used),
            Liquid::Water => 1,
        };
        let at = shared.iter().position(|other| *other == spread);
        let symbol = writer.handles.text(at.map_or_else(|| Math::from("s"), symbol));
        let step = Step::chain(
            format!("standard uncertainty of the mean of {used} by their spread, {}", name(reduction, of)),
            format!(
                "u &= \\frac{{{symbol}}}{{\\sqrt{{n}}}} = {}\\,{unit}",
                writer.number(spread.standard_deviation / (used as f64).sqrt(), 4)
            ),
        );
        steps.push(step);
    }
    steps
}

/// A standard deviation that is more than one solution's own.
fn step(reduction: &Reduction, spread: &Spread, symbol: &str, writer: &Writer) -> Step {
    let unit = writer.handles.text(Math::unit("g/mL"));
    let serves = names(reduction, spread.serves.iter().copied());
    let title = format!("standard deviation of a single density, {serves}");
    if spread.from.is_empty() {
        let value = writer.number(spread.standard_deviation, 4);
        return Step::chain(title, format!("{symbol} &= {value}\\,{unit}"));
    }
    let n = spread.observed_dof;
    let mut rows = vec![format!(
        "s &= \\sqrt{{\\frac{{\\sum_i \\nu_i s_i^{{2}}}}{{\\sum_i \\nu_i}}}} = {}\\,{unit} ,\\quad \\sum_i \\nu_i = {n}",
        writer.number(spread.observed, 4)
    )];
    if let Some(test) = spread.test {
        let sign = if test.ratio <= test.limit {
            "\\le"
        } else {
            ">"
        };
        rows[0].push_str(&format!(
            " ,\\quad \\max_i \\frac{{s_i^{{2}}}}{{s_{{\\mathrm{{others}}}}^{{2}}}} = {} {sign} {}",
            writer.number(test.ratio, 3),
            writer.number(test.limit, 3)
        ));
    }
    rows.push(match spread.stated {
        StatedSpread::Combined(stated) => {
            let known = plain(spread.dof - n as f64);
            format!(
                "{symbol} &= \\sqrt{{\\frac{{{n}\\, s^{{2}} + {known} \\times \\left({}\\,{unit}\\right)^{{2}}}}{{{n} + {known}}}}} \
                 = {}\\,{unit} ,\\quad \\nu = {}",
                writer.number(stated, 4),
                writer.number(spread.standard_deviation, 4),
                plain(spread.dof)
            )
        }
        StatedSpread::None | StatedSpread::Exceeded(_) => {
            format!("{symbol} &= s ,\\quad \\nu = {n}")
        }
    });
    Step::chain(title, rows.join(" \\\\ "))
}
