//! Densities with a pycnometer: the same vessel filled with water of known density and with the solution.
//!
//! `ρ = (m − m₀)/(m_w − m₀) · ρw`; in air of density ρa both densities stand less ρa (ISO 3507:1999 describes the ware;
//! the formula is that of weighing in air, [`crate::bench::reference::weighing`]).
//!
//! What the pycnometer holds differs from filling to filling, with water as with a solution. Its fillings with water are
//! therefore one more liquid among those whose spread is found, and an error of their mean enters every density.

use crate::bench::quantity::Unit;
use crate::bench::reference::weighing;
use crate::bench::runfile::model::{DensityMethod, Fillings, Measurements, Pycnometer, RunFile};
use crate::bench::worksheet::{Component, Expr, NodeId, Symbol, Title, Worksheet};
use crate::maths::Math;

use super::density::{Measured, numbered};
use super::instruments::{Instruments, Repeatability};
use super::replicates::{ReplicateResult, Variation, variation};
use super::spread::{Grounds, Kind, Liquid, Sample, Spread};

/// Standard deviation of what a pycnometer holds from filling to filling, in parts of it, where none is stated and none can
/// be found: between one and two parts in ten thousand. Common practice, no source.
const FILLING_SCATTER: f64 = 1.5e-4;

/// What all fillings of a pycnometer share.
struct Calibrated<'a> {
    written: &'a Pycnometer,
    /// Empty, g.
    empty: Expr,
    /// Of water, g: what the balance shows of it.
    water: NodeId,
    /// Density of that water, g/mL.
    water_density: NodeId,
    /// Its temperature, °C.
    water_liquid: NodeId,
    repeatability: Repeatability,
}

/// The water that calibrates a pycnometer.
pub(super) struct Water {
    /// Error of the mean of its fillings, g.
    error: NodeId,
    /// Of water, g.
    mass: NodeId,
    /// Density of the water, g/mL.
    density: NodeId,
    /// Each filling that counts as the density that it would show by the mean of all, g/mL, with the variation stated.
    each: Vec<(f64, Variation)>,
    /// Standard deviation of a filling as the run file states it, mL.
    stated: Option<f64>,
}

/// Returns the densities of the solutions it was filled with, filling by filling, and the water; none, with a problem
/// noted, where the density of the water is not known.
pub(super) fn fill(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    written: &Pycnometer,
) -> Option<(Vec<Measured>, Water)> {
    let (calibrated, water) = calibrate(ws, instruments, written)?;
    let fillings = written.fillings.iter();
    let measured = fillings.filter_map(|filled| measure(ws, instruments, &calibrated, filled));
    Some((measured.collect(), water))
}

/// Returns whether several fillings of a liquid show how they scatter.
fn has_scatter(run: &RunFile) -> bool {
    let is_filled = |of: &Measurements<'_>| of.method() == DensityMethod::Pycnometer;
    let mut liquids = run.measurements().filter(is_filled);
    liquids.any(|of| of.counted().len() > 1)
}

fn calibrate<'a>(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    written: &'a Pycnometer,
) -> Option<(Calibrated<'a>, Water)> {
    let label = "the pycnometer";
    let own = written.water_liquid.as_ref();
    let reading = own.or(instruments.run.conditions.liquid.as_ref())?;
    let water_liquid = instruments.liquid(ws, own, "pycnometer")?;
    let water_density = instruments.water_at(ws, "pycnometer", water_liquid, reading)?;
    let repeatability = if has_scatter(instruments.run) {
        Repeatability::SeenInSpread
    } else {
        Repeatability::Single
    };
    let balance = written.balance.as_ref();
    let title = Title::new(format!("{label} empty"), "m_pyc", &Unit::GRAM);
    let (empty_read, empty) =
        instruments.mass(ws, title, &written.empty, balance, Repeatability::Single);
    let several = written.water.len() > 1;
    let mut filled = Vec::with_capacity(written.water.len());
    for (i, filling) in written.water.iter().enumerate() {
        let (spoken, symbol) = if several {
            let n = i + 1;
            let symbol = Math::from(&*format!("m_pyc,w,{n}'"));
            (format!("{label} with water, filling {n}"), symbol)
        } else {
            let symbol = Math::from("m_pyc,w'");
            (format!("{label} with water"), symbol)
        };
        let title = Title::new(spoken, symbol, &Unit::GRAM);
        let (id, mass) = instruments.mass(ws, title, &filling.filled, balance, repeatability);
        if filling.left_out.is_none() {
            filled.push((id, mass, &filling.filled));
        }
    }
    let title = Title::new("scatter of the fillings with water", "ε_pyc,w", &Unit::GRAM);
    let error = ws.unseen(title, Vec::new());
    let mean = match filled.as_slice() {
        [(_, only, _)] => only.clone(),
        many => Expr::mean(many.iter().map(|(_, mass, _)| mass.clone()).collect()),
    };
    let title = Title::new("water in the pycnometer", "m_pyc,w", &Unit::GRAM);
    let water = ws.calculate(title, mean - empty.clone() + error);
    let per_gram = ws.value(water_density) / ws.value(water);
    let run = instruments.run;
    let each = filled.iter().map(|&(id, _, reading)| {
        let of_balance = variation(ws, run, id, &[(id, reading, balance)]);
        let density = (ws.value(id) - ws.value(empty_read)) * per_gram;
        (density, of_balance.times(per_gram))
    });
    let water_found = Water {
        error,
        mass: water,
        density: water_density,
        each: each.collect(),
        stated: written.repeatability.as_ref().map(|r| r.value.value),
    };
    let calibrated = Calibrated {
        written,
        empty,
        water,
        water_density,
        water_liquid,
        repeatability,
    };
    Some((calibrated, water_found))
}

fn measure(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    calibrated: &Calibrated<'_>,
    filled: &Fillings,
) -> Option<Measured> {
    let run = instruments.run;
    let name = &run.solutions[filled.solution.value].name.value;
    let several = filled.fillings.len() > 1;
    let mut replicates = Vec::with_capacity(filled.fillings.len());
    for (i, filling) in filled.fillings.iter().enumerate() {
        let (label, spoken) = numbered(name, "filling", several.then_some(i));
        let liquid = instruments.liquid(ws, filling.liquid.as_ref(), &label)?;
        let title = Title::new(
            format!("the pycnometer with {spoken}"),
            Symbol::new("m", "f", &label),
            &Unit::GRAM,
        );
        let balance = calibrated.written.balance.as_ref();
        let repeatability = calibrated.repeatability;
        let (id, mass) = instruments.mass(ws, title, &filling.filled, balance, repeatability);
        let net = mass - calibrated.empty.clone();
        let of_water = fills(ws, instruments, calibrated, liquid);
        let water = calibrated.water_density;
        let by = instruments.buoyancy(ws);
        let formula = weighing::density_beside_water(net, of_water, water, by.air);
        let title = Title::new(
            format!("density, {spoken}"),
            Symbol::labelled("ρ", &label),
            &Unit::GRAM_PER_MILLILITRE,
        );
        let density = ws.calculate(title, formula);
        let of_balance = variation(ws, run, density, &[(id, &filling.filled, balance)]);
        let stated = calibrated.written.repeatability.as_ref();
        let volume = ws.value(calibrated.water) / ws.value(calibrated.water_density);
        let scatter = stated.map(|sd| ws.value(density) * sd.value.value / volume);
        replicates.push(ReplicateResult {
            variation: of_balance.with(scatter),
            entry: filling.entry.name.clone(),
            liquid,
            density,
            left_out: filling.left_out.as_ref().map(|why| why.value.clone()),
        });
    }
    Some(Measured {
        solution: filled.solution.value,
        method: DensityMethod::Pycnometer,
        kind: Kind::Fillings,
        replicates,
    })
}

impl Water {
    /// Volume of the pycnometer, mL.
    fn volume(&self, ws: &Worksheet) -> f64 {
        ws.value(self.mass) / ws.value(self.density)
    }

    /// Returns the fillings with water beside those with solutions.
    pub(super) fn sample(&self, ws: &Worksheet) -> Sample {
        let scatter = self
            .stated
            .map(|sd| ws.value(self.density) * sd / self.volume(ws));
        let variations = self
            .each
            .iter()
            .map(|(_, variation)| variation.with(scatter));
        let variations: Vec<Variation> = variations.collect();
        Sample {
            of: Liquid::Water,
            kind: Kind::Fillings,
            densities: self.each.iter().map(|(density, _)| *density).collect(),
            stated: super::replicates::stated_by(variations.iter()),
            resolution: super::replicates::root_mean_square(
                variations.iter().map(|v| v.resolution),
            ),
        }
    }

    /// States the error of the mean of the fillings with water by the spread that serves it. Where no liquid was filled in
    /// twice, one of the repeatability that is stated or customary serves all of `samples`.
    pub(super) fn settle(self, ws: &mut Worksheet, samples: &[Sample], spreads: &mut Vec<Spread>) {
        if !spreads.iter().any(|s| s.serves.contains(&Liquid::Water)) {
            let fillings = samples.iter().filter(|s| s.kind == Kind::Fillings);
            let alone = fillings.filter(|s| !spreads.iter().any(|b| b.serves.contains(&s.of)));
            let serves: Vec<Liquid> = alone.map(|s| s.of).collect();
            let (volume, grounds) = match self.stated {
                Some(volume) => (volume, Grounds::Stated),
                None => (FILLING_SCATTER * self.volume(ws), Grounds::Customary),
            };
            let deviation = ws.value(self.density) * volume / self.volume(ws);
            spreads.push(Spread::known(deviation, serves, grounds));
        }
        let serving = spreads.iter().find(|s| s.serves.contains(&Liquid::Water));
        let Some(spread) = serving else { return };
        let component = spread.component(self.each.len());
        let component = Component {
            standard_uncertainty: component.standard_uncertainty * self.volume(ws),
            ..component
        };
        ws.settle(self.error, vec![component]);
    }
}

/// Returns what the balance would show, g, for water of the density it was filled with, at another temperature of the
/// glass.
fn fills(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    calibrated: &Calibrated<'_>,
    liquid: NodeId,
) -> Expr {
    if liquid == calibrated.water_liquid {
        return calibrated.water.into();
    }
    let glass = calibrated.written.glass;
    let grown = instruments.grown(ws, glass, liquid, Some(calibrated.water_liquid));
    Expr::from(calibrated.water) * grown
}
