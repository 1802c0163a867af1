//! Densities with a pycnometer: the same vessel filled with water of known density and with the solution.
//!
//! `ρ = (m − m₀)/(m_w − m₀) · ρw`; in air of density ρa both densities stand less ρa (ISO 3507:1999 describes the ware;
//! the formula is that of weighing in air, [`crate::reference::weighing`]).

use crate::reference::{expansion, weighing};
use crate::runfile::model::{Fillings, Pycnometer};
use crate::worksheet::{Expr, NodeId, Title, Worksheet};

use super::density::{DensityResult, ReplicateResult, Way, combine, numbered};
use super::instruments::{Instruments, Repeatability};
use super::replicates::{Variation, variation};
use super::sub;

/// What all fillings of a pycnometer share.
struct Calibrated<'a> {
    written: &'a Pycnometer,
    /// Empty, g.
    empty: NodeId,
    /// Of water, g: what the balance shows of it.
    water: NodeId,
    /// Density of that water, g/mL.
    water_density: NodeId,
    /// Its temperature, °C.
    water_liquid: NodeId,
}

/// The densities of the solutions it was filled with, each with the solution's index; none, with a problem noted, where the
/// density of the water is not known.
pub(super) fn densities(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    written: &Pycnometer,
) -> Vec<(usize, DensityResult)> {
    let Some(calibrated) = calibrate(ws, instruments, written) else {
        return Vec::new();
    };
    written
        .fillings
        .iter()
        .filter_map(|filled| {
            let density = density(ws, instruments, &calibrated, filled)?;
            Some((filled.solution.value, density))
        })
        .collect()
}

fn calibrate<'a>(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    written: &'a Pycnometer,
) -> Option<Calibrated<'a>> {
    let label = "the pycnometer";
    let own = written.water_liquid.as_ref();
    let reading = own.or(instruments.run.conditions.liquid.as_ref())?;
    let water_liquid = instruments.liquid(ws, own, "pycnometer")?;
    let water_density = instruments.water_at(ws, "pycnometer", water_liquid, reading)?;
    let read = |ws: &mut Worksheet, what: &str, symbol: &str, reading| {
        let title = Title::new(format!("{label} {what}"), symbol, "g");
        let balance = written.balance.as_ref();
        instruments.mass(ws, title, reading, balance, Repeatability::Stated)
    };
    let empty = read(ws, "empty", "m_{\\mathrm{pyc}}", &written.empty);
    let filled = read(
        ws,
        "with water",
        "m_{\\mathrm{pyc,w}}'",
        &written.water_filled,
    );
    let title = Title::new("water in the pycnometer", "m_{\\mathrm{pyc,w}}", "g");
    let water = ws.calculate(title, Expr::from(filled) - empty);
    Some(Calibrated {
        written,
        empty,
        water,
        water_density,
        water_liquid,
    })
}

fn density(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    calibrated: &Calibrated<'_>,
    filled: &Fillings,
) -> Option<DensityResult> {
    let run = instruments.run;
    let name = &run.solutions[filled.solution.value].name.value;
    let repeatability = Repeatability::of(filled.fillings.iter().map(|f| f.left_out.as_ref()));
    let several = filled.fillings.len() > 1;
    let mut replicates = Vec::with_capacity(filled.fillings.len());
    for (i, filling) in filled.fillings.iter().enumerate() {
        let (label, spoken) = numbered(name, "filling", several.then_some(i));
        let liquid = instruments.liquid(ws, filling.liquid.as_ref(), &label)?;
        let title = Title::new(
            format!("the pycnometer with {spoken}"),
            sub("f", &label),
            "g",
        );
        let balance = calibrated.written.balance.as_ref();
        let mass = instruments.mass(ws, title, &filling.filled, balance, repeatability);
        let net = Expr::from(mass) - calibrated.empty;
        let of_water = fills(ws, instruments, calibrated, liquid);
        let water = calibrated.water_density;
        let formula = match instruments.buoyancy(ws) {
            Some(by) => weighing::density_beside_water(net, of_water, water, by.air),
            None => net / of_water * water,
        };
        let title = Title::new(format!("density, {spoken}"), sub("\\rho", &label), "g/mL");
        let density = ws.calculate(title, formula);
        let of_balance = variation(ws, run, density, &[(mass, &filling.filled, balance)]);
        replicates.push(ReplicateResult {
            // How well a pycnometer is filled is not stated.
            variation: Variation {
                standard_deviation: None,
                ..of_balance
            },
            entry: filling.entry.name.clone(),
            liquid,
            density,
            left_out: filling.left_out.as_ref().map(|why| why.value.clone()),
        });
    }
    let entry = format!("density.pycnometer.readings.{name}");
    combine(ws, name, Way::Pycnometer, &entry, replicates, None)
}

/// What the balance would show, g, for water of the density it was filled with, at another temperature of the glass.
fn fills(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    calibrated: &Calibrated<'_>,
    liquid: NodeId,
) -> Expr {
    let asked = instruments.run.allow_for.ware_temperature.is_some();
    if !asked || liquid == calibrated.water_liquid {
        return calibrated.water.into();
    }
    let glass = instruments.expansion(ws, calibrated.written.glass);
    Expr::from(calibrated.water) * expansion::between(glass, calibrated.water_liquid, liquid)
}
