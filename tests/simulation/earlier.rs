//! Brines read by the calibration of an earlier, simulated bench.

use std::collections::BTreeMap;

use super::cells::{analytic, classroom};
use super::chance::Chance;
use super::nature;
use super::scene::Scene;
use fillmark::pipeline;

/// A bench that made a calibration, and the density meter that reads brines by it.
pub(crate) struct Earlier {
    pub(crate) name: &'static str,
    scene: Scene,
    /// Standard uncertainty of the density meter, g/mL.
    u: f64,
    /// The strongest brine, % by mass; within the calibrated range.
    strongest: f64,
}

/// The benches tried.
pub(crate) fn all() -> [Earlier; 3] {
    let bench = |name, scene, u, strongest| Earlier {
        name,
        scene,
        u,
        strongest,
    };
    [
        bench("analytic, meter of 0.2 mg/mL", analytic(3), 0.0002, 3.5),
        bench("analytic, meter of 1 mg/mL", analytic(3), 0.001, 3.5),
        bench("classroom, meter of 0.5 mg/mL", classroom(3), 0.0005, 6.0),
    ]
}

impl Earlier {
    /// Whether the interval of a brine, up to 8 °C from 20 °C, holds the truth; none where the bench made no calibration to
    /// read by.
    ///
    /// # Panics
    /// Where the program refuses the reading.
    pub(crate) fn holds(&self, run: u64) -> Option<bool> {
        let simulated = self.scene.simulate(run);
        let (earlier, _) = pipeline::read("march.yaml", simulated.notebook.text().as_bytes());
        let earlier = earlier?;
        let calibration = earlier.results.calibration.as_ref()?;
        if calibration.consistent == Some(false) {
            return None;
        }
        let mut chance = Chance::of(run, 91);
        let w = chance.between(0.2, 1.0) * self.strongest;
        let t = 20.0 + chance.between(-8.0, 8.0);
        let shown = nature::brine(w / 100.0, t) + chance.normal(self.u);
        let said = t + chance.normal(0.1);
        let results = earlier.results_json().expect("results").into_bytes();
        let beside = BTreeMap::from([("march.json".to_owned(), results)]);
        let text = reading(
            &format!("{shown:.6} ± {} g/mL", self.u),
            &format!("{said:.2} ± 0.1 °C"),
            "sodium chloride",
        );
        let (read, problems, _) = pipeline::read_beside("run.yaml", text.as_bytes(), &beside);
        let read = read.unwrap_or_else(|| panic!("{problems:?}"));
        let found = read.results.unknowns[0]
            .1
            .composition
            .mass_percent
            .as_ref()?;
        Some((found.value - w).abs() <= found.expanded_uncertainty)
    }
}

/// A reading by the calibration in `march.json`.
pub(crate) fn reading(density: &str, liquid: &str, solute: &str) -> String {
    format!(
        "
title: A reading
date: 2026-04-02
analysts: R. Example
conditions: {{liquid: {liquid}}}
solute: {solute}
solutions: {{bath: {{unknown: true}}}}
density: {{readings: {{bath: [{{density: {density}}}]}}}}
calibration: {{from: march.json}}
"
    )
}
