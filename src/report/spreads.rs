//! The scatter of single densities: its summary and its calculations.

use serde::Serialize;

use super::Material;
use super::derivation::Step;
use super::printed::Printed;
use super::words::{figures, with_unit, write_plain};
use crate::bench::practice::listed;
use crate::bench::reduce::{Grounds, Liquid, Reduction, Spread, StatedSpread};
use crate::bench::runfile::model::ApparatusKind;
use crate::maths::Math;

/// An estimate of the standard deviation of single weighings, fillings or readings.
#[derive(Debug, Serialize)]
pub(super) struct SpreadShown {
    /// The solutions whose weighings it is found from.
    from: String,
    /// The solutions for whose densities it is used.
    serves: String,
    /// Whether it is pooled from several solutions.
    pooled: bool,
    /// The reason: `alike`, `unlike`, `alone`, `chosen` in the run file, `stated` or `customary`.
    grounds: &'static str,
    /// The standard deviation of one.
    spread: String,
    /// Its degrees of freedom.
    dof: Option<String>,
    /// The same from the stated repeatabilities.
    stated: Option<String>,
    /// Whether the stated one is combined with the one found.
    combined: bool,
    /// Cochran's test of the standard deviations of one kind.
    test: Option<CochranShown>,
}

/// Cochran's test.
#[derive(Debug, Serialize)]
pub(super) struct CochranShown {
    /// The solution of the largest variance.
    largest: String,
    /// The largest variance over the pooled variance of the others.
    ratio: String,
    /// The critical value.
    limit: String,
    /// Whether the variances do not differ significantly.
    passed: bool,
}

/// Returns the spreads as the report states them.
pub(super) fn show(material: &Material) -> Vec<SpreadShown> {
    let reduction = material.reduction;
    let shown_in = reduction.worksheet.density_unit.of_density();
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
            spread: shown_in.significant(spread.standard_deviation, 2),
            dof: spread.dof.is_finite().then(|| write_plain(spread.dof)),
            stated: stated.map(|sd| shown_in.significant(sd, 2)),
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

/// Returns the apparatus whose repeatability is a customary one, each with its size and unit.
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

/// Returns the names of some liquids; of very many, the first and how many more there are.
fn names(reduction: &Reduction, of: impl Iterator<Item = Liquid>) -> String {
    const MOST: usize = 12;
    let mut all: Vec<String> = of.map(|of| name(reduction, of)).collect();
    if all.len() > MOST {
        let more = all.len() - MOST;
        all.truncate(MOST);
        all.push(format!("{more} more"));
    }
    listed(&all)
}

fn name(reduction: &Reduction, of: Liquid) -> String {
    match of {
        Liquid::Solution(index) => reduction.solutions[index].name.clone(),
        Liquid::Water => "the water in the pycnometer".to_owned(),
    }
}

/// Returns whether a spread is no more than the standard deviation of one solution's own replicates.
fn is_own(spread: &Spread) -> bool {
    spread.from.len() == 1
        && spread.serves.len() == 1
        && !matches!(spread.stated, StatedSpread::Combined(_))
}

/// No more spreads than this are written out; the others have the same formulas.
const WRITTEN_OUT: usize = 12;

/// Returns the standard deviations of single densities and of means; `None` unless a liquid was measured several times.
pub(super) fn step(reduction: &Reduction, printed: Printed) -> Option<Step> {
    let unit = printed.density_unit();
    let first = reduction.spreads.iter().find(|s| !s.serves.is_empty())?;
    let mut rows = Vec::new();
    let found = reduction.spreads.iter().flat_map(|spread| &spread.from);
    let example = found.clone().next();
    if let Some(found) = example {
        rows.push(format!(
            "s_i &= \\sqrt{{\\frac{{1}}{{\\nu_i}} \\sum_j \\left(\\rho_{{i, j}} - \\overline{{\\rho}}_i\\right)^{{2}}}} = {}\\,{unit} ,\\quad \\nu_i = n_i - 1 = {}",
            printed.density(found.standard_deviation, 4),
            found.dof
        ));
    }
    let shared: Vec<&Spread> = reduction.spreads.iter().filter(|s| !is_own(s)).collect();
    let symbol = |at: usize| match shared.len() {
        1 => Math::from("s_p"),
        _ => Math::from("s").subscript(Math::label(&format!("p,{}", at + 1))),
    };
    for (at, spread) in shared.iter().enumerate().take(WRITTEN_OUT) {
        rows.extend(pooled(spread, &printed.handles.text(symbol(at)), printed));
    }
    let of = first.serves[0];
    let used = match of {
        Liquid::Solution(index) => reduction.solutions[index].density.as_ref(),
        Liquid::Water => None,
    };
    let used = used.map_or(1, |density| density.used);
    let at = shared.iter().position(|other| *other == first);
    let last = rows
        .pop()
        .map_or_else(String::new, |row| format!("{row} ,\\quad "));
    let aligned = if last.is_empty() { "&" } else { "" };
    rows.push(format!(
        "{last}u_i {aligned}= \\frac{{{}}}{{\\sqrt{{n_i}}}} = {}\\,{unit}",
        printed
            .handles
            .text(at.map_or_else(|| Math::from("s_i"), symbol)),
        printed.density(first.standard_deviation / (used as f64).sqrt(), 4)
    ));
    let of_first = name(reduction, example.map_or(of, |found| found.of));
    let pools = shared
        .iter()
        .take(WRITTEN_OUT)
        .map(|spread| names(reduction, spread.serves.iter().copied()));
    let pools: Vec<String> = pools.collect();
    let pools = match pools.as_slice() {
        [] => String::new(),
        pools => format!(", pooled over {}", pools.join(", and over ")),
    };
    let step = Step::chain(
        format!("standard deviation of single densities of {of_first}{pools}, and of the mean"),
        rows.join(" \\\\ "),
    );
    Some(if found.count() > 1 {
        step.and_in("tab-densities")
    } else {
        step
    })
}

/// Returns the rows of a standard deviation that is not one solution's own.
fn pooled(spread: &Spread, symbol: &str, printed: Printed) -> Vec<String> {
    let unit = printed.density_unit();
    if spread.from.is_empty() {
        let value = printed.density(spread.standard_deviation, 4);
        return vec![format!("{symbol} &= {value}\\,{unit}")];
    }
    let n = spread.observed_dof;
    let mut rows = vec![format!(
        "s &= \\sqrt{{\\frac{{\\sum_i \\nu_i s_i^{{2}}}}{{\\sum_i \\nu_i}}}} = {}\\,{unit} ,\\quad \\sum_i \\nu_i = {n}",
        printed.density(spread.observed, 4)
    )];
    if let Some(test) = spread.test {
        let sign = if test.ratio <= test.limit {
            "\\le"
        } else {
            ">"
        };
        rows[0].push_str(&format!(
            " ,\\quad \\max_i \\frac{{s_i^{{2}}}}{{s_{{\\mathrm{{others}}}}^{{2}}}} = {} {sign} {}",
            printed.number(test.ratio, 3),
            printed.number(test.limit, 3)
        ));
    }
    rows.push(match spread.stated {
        StatedSpread::Combined(stated) => {
            let known = write_plain(spread.dof - n as f64);
            format!(
                "{symbol} &= \\sqrt{{\\frac{{{n}\\, s^{{2}} + {known} \\times \\left({}\\,{unit}\\right)^{{2}}}}{{{n} + {known}}}}} \
                 = {}\\,{unit} ,\\quad \\nu = {}",
                printed.density(stated, 4),
                printed.density(spread.standard_deviation, 4),
                write_plain(spread.dof)
            )
        }
        StatedSpread::None | StatedSpread::Exceeded(_) => {
            format!("{symbol} &= s ,\\quad \\nu = {n}")
        }
    });
    rows
}
