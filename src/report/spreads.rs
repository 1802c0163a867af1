//! How single densities scatter: what the report says of it, and the calculations.

use serde::Serialize;

use super::Material;
use super::words::{figures, joined, plain, with_unit};
use super::written_out::{Step, Subject, Symbol, rounded};
use crate::maths::Math;
use crate::maths::handles::Handles;
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

/// The number of a spread among those that are written out, from 0; none of a solution's own.
fn place(reduction: &Reduction, spread: &Spread) -> Option<usize> {
    let mut all = reduction.spreads.iter().filter(|s| !is_own(s));
    all.position(|s| s == spread).filter(|_| !is_own(spread))
}

/// The symbol of a spread.
fn symbol(reduction: &Reduction, spread: &Spread) -> Math {
    let several = reduction.spreads.iter().filter(|s| !is_own(s)).count() > 1;
    match place(reduction, spread) {
        None => Math::from("s"),
        Some(place) if several => {
            Math::from("s").subscript(Math::label(&format!("p,{}", place + 1)))
        }
        Some(_) => Math::from("s_p"),
    }
}

/// The standard deviations that are more than one solution's own; of very many, the first, by whose formulas the others are.
pub(super) fn steps(reduction: &Reduction, handles: &Handles) -> Vec<Step> {
    let all = reduction.spreads.iter().filter(|spread| !is_own(spread));
    let written = all.take(super::calculations::WRITTEN_OUT);
    written
        .map(|spread| step(reduction, spread, handles))
        .collect()
}

fn step(reduction: &Reduction, spread: &Spread, handles: &Handles) -> Step {
    let unit = handles.text(Math::unit("g/mL"));
    let serves = names(reduction, spread.serves.iter().copied());
    let title = format!("standard deviation of a single density: {serves}");
    let symbol = handles.text(symbol(reduction, spread));
    if spread.from.is_empty() {
        return Step::chain(
            title,
            format!(
                "{symbol} &= {}\\,{unit}",
                number(spread.standard_deviation, 4, handles)
            ),
        );
    }
    let terms = spread.from.iter().map(|found| {
        let sd = number(found.standard_deviation, 4, handles);
        format!("{} \\times \\left({sd}\\right)^{{2}}", found.dof)
    });
    let terms: Vec<String> = terms.collect();
    // Long sums are broken into rows of two terms.
    let rows: Vec<String> = terms.chunks(2).map(|row| row.join(" + ")).collect();
    let n = spread.observed_dof;
    let mut rows = vec![
        format!(
            "\\sum_i \\nu_i s_i^{{2}} &= {}",
            rows.join(" \\\\ &\\quad + ")
        ),
        format!(
            "s &= \\sqrt{{\\frac{{\\sum_i \\nu_i s_i^{{2}}}}{{{n}}}}} = {}\\,{unit} ,\\quad \
             \\sum_i \\nu_i = {n}",
            number(spread.observed, 4, handles)
        ),
    ];
    if let Some(test) = spread.test {
        let sign = if test.ratio <= test.limit {
            "\\le"
        } else {
            ">"
        };
        rows.push(format!(
            "\\max_i \\frac{{s_i^{{2}}}}{{s_{{\\mathrm{{others}}}}^{{2}}}} &= {} {sign} {}",
            number(test.ratio, 3, handles),
            number(test.limit, 3, handles)
        ));
    }
    rows.push(match spread.stated {
        StatedSpread::Combined(stated) => {
            let known = plain(spread.dof - n as f64);
            format!(
                "{symbol} &= \\sqrt{{\\frac{{{n}\\, s^{{2}} + {known} \\times \\left({}\\right)^{{2}}}}{{{n} + {known}}}}} \
                 = {}\\,{unit} ,\\quad \\nu = {}",
                number(stated, 4, handles),
                number(spread.standard_deviation, 4, handles),
                plain(spread.dof)
            )
        }
        StatedSpread::None | StatedSpread::Exceeded(_) => {
            format!("{symbol} &= s ,\\quad \\nu = {n}")
        }
    });
    Step::chain(title, rows.join(" \\\\ "))
}

/// What a spread gives for the mean of some weighings of a solution: its symbol over the root of their number, its value in
/// g/mL, and the step; no step of its own where the spread is the solution's own.
pub(super) fn of_mean(
    reduction: &Reduction,
    name: &str,
    used: usize,
    spread: &Spread,
    handles: &Handles,
) -> (Symbol, f64, Option<Step>) {
    let standard = spread.standard_deviation / (used as f64).sqrt();
    let own = is_own(spread);
    let symbol = symbol(reduction, spread);
    let root = Math::Number(used.to_string().into()).root();
    let text = handles.text(symbol.clone().then([Math::operator("/"), root]));
    let symbol = handles.text(symbol);
    let freedom = if spread.dof.is_finite() {
        format!(" ,\\quad \\nu = {}", plain(spread.dof))
    } else {
        String::new()
    };
    let step = (!own).then(|| {
        Step::chain(
            match used {
                1 => format!("spread of the one weighing or reading of {name}"),
                n => format!("spread of the mean of {n} weighings or readings of {name}"),
            },
            format!(
                "\\frac{{{symbol}}}{{\\sqrt{{{used}}}}} &= {}\\,{}{freedom}",
                number(standard, 4, handles),
                handles.text(Math::unit("g/mL")),
            ),
        )
    });
    let of = Subject::OfMean {
        spread: place(reduction, spread),
        used,
    };
    (Symbol { of, text }, standard, step)
}

/// A number to so many significant figures.
fn number(value: f64, figures: u32, handles: &Handles) -> String {
    handles.text(rounded(value, figures))
}
