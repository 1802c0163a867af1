//! **What:** a measured density departs from the published one by more than the uncertainty of the difference.
//!
//! **Why it matters:** either the composition is not what the preparation says, or the bench (ware, balance,
//! temperature) is off by more than is allowed for; in pure water only the bench can be.
//!
//! **Source:** `E_n` as in ISO 13528:2015, 9.7. The slips named: common practice, no source; each is tried by
//! [`super::slip`].

use super::slip::{self, MOST_OFF, Slip};
use super::{Bench, Flag};
use crate::reduce::Preparation;
use crate::runfile::model::{FlagCode, Origin};

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    let solutions = &bench.reduction.solutions;
    let compared: Vec<bool> = solutions
        .iter()
        .map(|s| matches!(s.comparison, Some(Ok(_))))
        .collect();
    let place = |name: &str| solutions.iter().position(|s| s.name == name);
    let off: Vec<(usize, &_)> = bench
        .results
        .comparison
        .iter()
        .filter(|(_, comparison)| comparison.en.abs() > 1.0)
        .filter_map(|(name, comparison)| Some((place(name)?, comparison)))
        .collect();
    let pure = |i: usize| solutions[i].preparation == Preparation::Pure;
    let bench_off = off.iter().any(|(i, _)| pure(*i));
    let slips: Vec<Option<Slip>> = off
        .iter()
        .map(|(i, _)| {
            (off.len() <= MOST_OFF)
                .then(|| slip::likeliest(bench.run, *i, &compared, !bench_off && !pure(*i)))
                .flatten()
        })
        .collect();
    // A slip found for the solution it was taken from may explain it as well.
    let inherited = |i: usize, stock: usize| {
        let place = off.iter().position(|(other, _)| *other == stock)?;
        let slip = slips[place].as_ref()?;
        let (_, en) = slip.also.iter().find(|(other, _)| *other == i)?;
        Some((&slip.told, *en))
    };
    for ((i, comparison), slip) in off.iter().zip(&slips) {
        let name = &solutions[*i].name;
        let density = solutions[*i].density.as_ref();
        let entry = density.map(|d| d.entry.clone()).unwrap_or_default();
        let differs = format!(
            "The density of {name} differs from the published one by {} g/mL, Eₙ = {:.2}.",
            comparison.difference.shown, comparison.en
        )
        .replace(" = -", " = −");
        let stock = match &bench.run.solutions[*i].origin {
            Origin::Dilution { aliquot, .. } => Some(aliquot.of.value),
            _ => None,
        };
        let stock = stock.filter(|stock| off.iter().any(|(other, _)| other == stock));
        let cause = if let Some((stock, (told, en))) =
            stock.and_then(|stock| Some((stock, inherited(*i, stock)?)))
        {
            format!(
                "So does that of {}, which it was taken from, and it too would agree (Eₙ = {en:.2}) as if {told}.",
                solutions[stock].name
            )
            .replace(" = -", " = −")
        } else if let Some(slip) = slip {
            format!("It would agree (Eₙ = {:.2}) as if {}.", slip.en, slip.told)
                .replace(" = -", " = −")
        } else if pure(*i) {
            "Its composition is beyond doubt, so ware, balance or temperature are off by more than is allowed for."
                .to_owned()
        } else if let Some(stock) = stock {
            format!(
                "So does that of {}, which it was taken from.",
                solutions[stock].name
            )
        } else if bench_off {
            "So does that of pure water: ware, balance or temperature come first.".to_owned()
        } else {
            "Either it is not what its preparation says, or ware, balance or temperature are off by more than is allowed for."
                .to_owned()
        };
        let (code, reason) = if pure(*i) {
            (
                FlagCode::WaterOffPublished,
                "What biases the density of water biases every density of the run.",
            )
        } else {
            (
                FlagCode::DensityOffPublished,
                "A solution that is not what it is reckoned to be bends the calibration.",
            )
        };
        let flag = Flag::new(code, entry, format!("{differs} {cause}"), reason);
        flags.push(flag.with_effect(format!(
            "{} g/mL in the density of {name}.",
            super::size(comparison.difference.value)
        )));
    }
}
