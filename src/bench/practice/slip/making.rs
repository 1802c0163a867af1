//! Slips in making a solution: in a mass, in counting deliveries, in the mark.

use super::super::scene::{Liquid, NominalComposition};
use super::{Search, SlipKind, Undone};
use crate::bench::reference::glassware::Ware;
use crate::bench::runfile::model::{
    Aliquot, ApparatusKind, MadeUp, Origin, Reading, Solvent, WeighedReadings,
};

impl Search<'_> {
    /// Tries the slips in making a solution: the one searched for, or one that it was taken from.
    pub(super) fn making(&mut self, maker: usize) {
        let run = self.scene.bench.run;
        let liquid = self.scene.liquids[maker];
        match &run.solutions[maker].origin {
            Origin::Pure | Origin::Unknown => {}
            Origin::MadeUp { weighed, made_up } => {
                self.masses(maker, &liquid, &weighed.readings, 0.0);
                self.mark(maker, &liquid, made_up);
            }
            Origin::ByMass { weighed, solvent } => {
                if let Solvent::Weighed(water) = solvent {
                    let salt = mass(&weighed.readings);
                    let water_mass = mass(&water.readings);
                    self.masses(maker, &liquid, &weighed.readings, water_mass);
                    self.water(maker, &liquid, &water.readings, salt);
                }
            }
            Origin::Dilution { aliquot, made_up } => {
                self.deliveries(maker, &liquid, aliquot);
                self.mark(maker, &liquid, made_up);
            }
        }
    }

    /// The mass of salt; `water` is that of the water that was weighed with it, g.
    fn masses(&mut self, maker: usize, liquid: &Liquid, readings: &WeighedReadings, water: f64) {
        let was = mass(readings);
        self.weighed(maker, liquid, readings, |is| match liquid.made {
            NominalComposition::ByMass(w) => {
                NominalComposition::ByMass(w * is / was * (was + water) / (is + water))
            }
            NominalComposition::ByVolume(gamma) => NominalComposition::ByVolume(gamma * is / was),
            other => other,
        });
    }

    /// The mass of water; `salt` is that of the salt, g.
    fn water(&mut self, maker: usize, liquid: &Liquid, readings: &WeighedReadings, salt: f64) {
        let was = mass(readings);
        self.weighed(maker, liquid, readings, |is| match liquid.made {
            NominalComposition::ByMass(w) => {
                NominalComposition::ByMass(w * (salt + was) / (salt + is))
            }
            other => other,
        });
    }

    /// Returns a mass with one reading changed; `made` is what would then be made, by the mass in g.
    fn weighed(
        &mut self,
        maker: usize,
        liquid: &Liquid,
        readings: &WeighedReadings,
        made: impl Fn(f64) -> NominalComposition,
    ) {
        let (first, second) = match readings {
            WeighedReadings::Tared { mass } => (mass, None),
            WeighedReadings::Difference { before, after } => (before, Some(after)),
        };
        let was = mass(readings);
        for (reading, sign) in [(Some(first), 1.0), (second, -1.0)] {
            let Some(reading) = reading else { continue };
            for (kind, other) in reading.value.suggest() {
                let is = was + sign * (other.value - reading.value.value);
                // Salt is not less than nothing.
                if is <= 0.0 {
                    continue;
                }
                self.made(maker, liquid, kind.into(), made(is), || {
                    describe(reading, other.as_written())
                });
            }
        }
    }

    fn deliveries(&mut self, maker: usize, liquid: &Liquid, aliquot: &Aliquot) {
        let NominalComposition::ByVolume(gamma) = liquid.made else {
            return;
        };
        let count = aliquot.deliveries.len();
        let whole: f64 = aliquot.deliveries.iter().map(|d| d.value.value).sum();
        let Some(last) = aliquot.deliveries.last().map(|d| d.value.value) else {
            return;
        };
        let name = &self.scene.bench.run.solutions[maker].name.value;
        for (other, volume) in [(count - 1, whole - last), (count + 1, whole + last)] {
            if other == 0 {
                continue;
            }
            let made = NominalComposition::ByVolume(gamma * volume / whole);
            self.made(maker, liquid, SlipKind::DeliveryCount, made, || {
                let entry = format!("solutions.{name}.aliquot.volume");
                (entry, spell_count(count), spell_count(other))
            });
        }
    }

    /// The marks of the run's vessels, and of vessels of half and double the volume that the standard lists.
    fn mark(&mut self, maker: usize, liquid: &Liquid, made_up: &MadeUp) {
        let NominalComposition::ByVolume(gamma) = liquid.made else {
            return;
        };
        let own = made_up.to.value.value;
        let run = self.scene.bench.run;
        let holds = |kind| matches!(kind, ApparatusKind::Flask | ApparatusKind::Cylinder);
        let vessels = run.apparatus.iter().filter(|a| holds(a.kind));
        let mut capacities: Vec<f64> = vessels
            .filter_map(|vessel| Some(vessel.capacity.as_ref()?.value.value))
            .collect();
        let listed = Ware::Flask.capacities();
        let same = |a: f64, b: f64| (a - b).abs() < 1e-6 * b;
        capacities.extend(
            [0.5 * own, 2.0 * own]
                .into_iter()
                .filter(|wanted| listed.iter().any(|listed| same(*listed, *wanted))),
        );
        capacities.push(own);
        capacities.sort_by(f64::total_cmp);
        capacities.dedup_by(|a, b| same(*a, *b));
        for other in capacities.into_iter().filter(|other| !same(*other, own)) {
            let made = NominalComposition::ByVolume(gamma * own / other);
            self.made(maker, liquid, SlipKind::OtherMark, made, || {
                describe(&made_up.to, format!("{other} mL"))
            });
        }
    }

    fn made(
        &mut self,
        maker: usize,
        liquid: &Liquid,
        kind: SlipKind,
        made: NominalComposition,
        name: impl FnOnce() -> (String, String, String),
    ) {
        let undone = Undone {
            kind,
            liquids: &[(maker, Liquid { made, ..*liquid })],
            instead: &[],
        };
        self.attempt(&undone, name);
    }
}

/// Entry, what is written there, and what was meant.
pub(super) fn describe(reading: &Reading, meant: String) -> (String, String, String) {
    (
        reading.entry.name.clone(),
        reading.value.as_written(),
        meant,
    )
}

/// Returns a number of deliveries in words.
pub(super) fn spell_count(count: usize) -> String {
    match count {
        1 => "1 delivery".to_owned(),
        n => format!("{n} deliveries"),
    }
}

/// Returns the mass by some readings, g.
fn mass(readings: &WeighedReadings) -> f64 {
    match readings {
        WeighedReadings::Tared { mass } => mass.value.value,
        WeighedReadings::Difference { before, after } => before.value.value - after.value.value,
    }
}
