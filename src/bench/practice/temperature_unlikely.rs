//! **What:** a temperature is one that no laboratory has.
//!
//! **Why it matters:** densities are compared at the temperature of the liquid; one read on another scale moves them all.
//!
//! **Source:** common practice, no source.

use super::slip::{AT_A_BENCH, Candidate, SlipKind, in_fahrenheit};
use super::{Bench, Flag};
use crate::bench::runfile::model::{FlagCode, Reading};

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    let run = bench.run;
    let conditions = [&run.conditions.liquid, &run.conditions.air].into_iter();
    let measured = run.measurements().flat_map(|of| {
        let own = of.singles().into_iter().filter_map(|single| single.liquid);
        of.liquid().into_iter().chain(own)
    });
    let all = conditions
        .chain(run.ware_calibrations.iter().map(|c| &c.liquid))
        .flatten()
        .chain(measured);
    let unlikely = |reading: &&Reading| !AT_A_BENCH.contains(&reading.value.value);
    let unlikely: Vec<&Reading> = all.filter(unlikely).collect();
    let Some(first) = unlikely.first() else {
        return;
    };
    let more = match unlikely.len() - 1 {
        0 => String::new(),
        1 => " One other is unlikely too.".to_owned(),
        n => format!(" {n} others are unlikely too."),
    };
    let flag = Flag::new(
        FlagCode::TemperatureUnlikely,
        first.entry.name.clone(),
        format!(
            "{} is an unlikely temperature at a bench.{more}",
            first.value.as_written()
        ),
        "Densities are compared at the temperature of the liquid.",
    );
    let candidates: Vec<Candidate> = candidate(first).into_iter().collect();
    flags.push(flag.with_candidates(&candidates));
}

fn candidate(written: &Reading) -> Option<Candidate> {
    Some(Candidate {
        kind: SlipKind::OtherScale,
        entry: written.entry.name.clone(),
        read: written.value.as_written(),
        meant: in_fahrenheit(&written.value)?.as_written(),
    })
}
