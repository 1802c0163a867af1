//! What went into each solution: salt weighed, made up, diluted.

use crate::bench::quantity::Unit;
use crate::bench::runfile::model::{
    MadeUp, Origin, Reading, Ref, RunFile, Scale, Solvent, Weighed, WeighedReadings,
};
use crate::bench::worksheet::{Expr, Label, NodeId, Symbol, Title, Worksheet};
use crate::problem::{Code, Problem};

use super::composition::title as composition_title;
use super::instruments::{Instruments, Repeatability, at_temperature};

/// The quantities of a preparation, for its table and its calculation.
#[derive(Debug, Clone, PartialEq)]
pub enum Preparation {
    /// Pure water.
    Pure,
    /// To be found.
    Unknown,
    /// Salt weighed and made up to a volume.
    MadeUp {
        /// Mass of the salt as weighed, g.
        mass: NodeId,
        /// The volume as read, mL.
        volume: NodeId,
    },
    /// Salt and water weighed.
    ByMass {
        /// Mass of the salt as weighed, g.
        mass: NodeId,
        /// Mass of the water, g.
        solvent: NodeId,
    },
    /// An aliquot made up to a volume.
    Dilution {
        /// The solution it is of, an index into the run's solutions.
        of: usize,
        /// Each delivery as read, mL.
        deliveries: Vec<NodeId>,
        /// The new volume as read, mL.
        volume: NodeId,
    },
}

/// What of the salt weighed is salt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Salt {
    /// Mass of the salt in the dry mass, ratio.
    pub(super) purity: Option<NodeId>,
    /// Mass of water in what was weighed, ratio.
    pub(super) moisture: Option<NodeId>,
}

impl Salt {
    /// Returns the mass of salt proper in what was weighed.
    fn proper(&self, mass: Expr) -> Expr {
        let mut product = mass;
        if let Some(purity) = self.purity {
            product = product * purity;
        }
        if let Some(moisture) = self.moisture {
            product = product * (Expr::number(1.0) - moisture);
        }
        product
    }
}

/// Puts a preparation on the worksheet; gives what of the composition is known by it.
///
/// `parent` is the mass concentration of the solution diluted, g/L; a dilution without one has no known composition.
pub(super) fn prepare(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    name: &str,
    origin: &Origin,
    salt: &Salt,
    parent: Option<NodeId>,
) -> (Preparation, Option<(Scale, NodeId)>) {
    let per_litre = || Expr::conversion(&Unit::LITRE, &Unit::MILLILITRE);
    match origin {
        Origin::Pure => (Preparation::Pure, None),
        Origin::Unknown => (Preparation::Unknown, None),
        Origin::MadeUp { weighed, made_up } => {
            let mass = weigh(ws, instruments, name, "salt", "", weighed);
            let (volume, true_volume) = fill(ws, instruments, name, made_up);
            let true_mass = instruments.mass_of_salt(ws, name, mass);
            let formula = salt.proper(true_mass) / true_volume * per_litre();
            let gamma = ws.calculate(composition_title(Scale::MassConcentration, name), formula);
            (
                Preparation::MadeUp { mass, volume },
                Some((Scale::MassConcentration, gamma)),
            )
        }
        Origin::ByMass { weighed, solvent } => {
            let mass = weigh(ws, instruments, name, "salt", "", weighed);
            let true_mass = instruments.mass_of_salt(ws, name, mass);
            let (solvent, true_solvent) = water(ws, instruments, name, solvent);
            let whole = true_mass.clone() + true_solvent;
            let formula =
                salt.proper(true_mass) / whole * Expr::conversion(&Unit::ONE, &Unit::PERCENT);
            let w = ws.calculate(composition_title(Scale::MassPercent, name), formula);
            (
                Preparation::ByMass { mass, solvent },
                Some((Scale::MassPercent, w)),
            )
        }
        Origin::Dilution { aliquot, made_up } => {
            let with = aliquot.with.as_ref();
            let (deliveries, taken) = take(ws, instruments, ("", name), &aliquot.deliveries, with);
            let (volume, true_volume) = fill(ws, instruments, name, made_up);
            let known = parent.map(|parent| {
                let formula = Expr::from(parent) * (taken / true_volume);
                let gamma =
                    ws.calculate(composition_title(Scale::MassConcentration, name), formula);
                (Scale::MassConcentration, gamma)
            });
            (
                Preparation::Dilution {
                    of: aliquot.of.value,
                    deliveries,
                    volume,
                },
                known,
            )
        }
    }
}

/// Returns the water: its mass as weighed, or as its volume and its published density give it; and the same corrected
/// as the run asks for.
fn water(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    name: &str,
    solvent: &Solvent,
) -> (NodeId, Expr) {
    let measured = match solvent {
        Solvent::Weighed(weighed) => {
            let read = weigh(ws, instruments, name, "water", "w", weighed);
            return (read, instruments.mass_of_water(ws, name, read));
        }
        Solvent::Measured(measured) => measured,
    };
    let with = measured.with.as_ref();
    let (_, volume) = take(
        ws,
        instruments,
        ("of water ", name),
        &measured.deliveries,
        with,
    );
    let title = Title::new(
        format!("mass of water in {name}"),
        Symbol::new("m", "w", name),
        &Unit::GRAM,
    );
    // Without a temperature, or beyond the published densities, there is a problem, and nothing comes of the run.
    let density = instruments
        .water(ws)
        .map_or(Expr::exactly(1.0, &Unit::GRAM_PER_MILLILITRE), Expr::from);
    let mass = ws.calculate(title, volume * density);
    (mass, mass.into())
}

fn weigh(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    name: &str,
    what: &str,
    kind: &'static str,
    weighed: &Weighed,
) -> NodeId {
    let balance = weighed.balance.as_ref();
    // Names what is read, with a second mark on the symbol of a two-reading weighing.
    let title = |which: &str, mark: &str| {
        Title::new(
            format!("{which} {name}"),
            Symbol::new(&*format!("m{mark}"), kind, name),
            &Unit::GRAM,
        )
    };
    let mut read = |ws: &mut Worksheet, title, reading| {
        instruments.mass(ws, title, reading, balance, Repeatability::Stated)
    };
    match &weighed.readings {
        WeighedReadings::Tared { mass } => {
            let of = format!("mass of {what} in");
            let (id, true_mass) = read(ws, title(&of, ""), mass);
            if true_mass == Expr::from(id) {
                return id;
            }
            ws.calculate(title(&of, "'"), true_mass)
        }
        WeighedReadings::Difference { before, after } => {
            let (_, before) = read(ws, title(&format!("vessel with {what} for"), "'"), before);
            let (_, after) = read(
                ws,
                title(&format!("vessel without {what} for"), "''"),
                after,
            );
            ws.calculate(title(&format!("mass of {what} in"), ""), before - after)
        }
    }
}

fn fill(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    name: &str,
    made_up: &MadeUp,
) -> (NodeId, Expr) {
    let title = Title::new(
        format!("final volume, {name}"),
        Symbol::labelled("V", name),
        &Unit::MILLILITRE,
    );
    let vessel = made_up.vessel.as_ref();
    let (id, volume) = instruments.volume(ws, title, &made_up.to, vessel, Repeatability::Stated);
    (id, at_bench(ws, instruments, volume, vessel))
}

/// Returns a volume of ware at the temperature of the liquids.
fn at_bench(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    volume: Expr,
    ware: Option<&Ref>,
) -> Expr {
    let t = instruments.liquid(ws, None, "");
    let expanded = instruments.expanded(ws, ware, t);
    at_temperature(volume, expanded)
}

/// Deliveries into a solution and their sum; the pipette's own error enters once for each delivery, always the same. `of`
/// says what is delivered, where that is not another solution.
fn take(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    (of, name): (&str, &str),
    deliveries: &[Reading],
    with: Option<&Ref>,
) -> (Vec<NodeId>, Expr) {
    let several = deliveries.len() > 1;
    let mut readings = Vec::with_capacity(deliveries.len());
    let mut sum = Vec::with_capacity(deliveries.len());
    for (i, delivery) in deliveries.iter().enumerate() {
        let (spoken, label) = if several {
            (
                format!("delivery {} {of}into {name}", i + 1),
                Label::from(name).numbered(i + 1),
            )
        } else {
            (format!("delivery {of}into {name}"), name.into())
        };
        let title = Title::new(spoken, Symbol::new("V", "add", &label), &Unit::MILLILITRE);
        let (id, volume) = instruments.volume(ws, title, delivery, with, Repeatability::Stated);
        readings.push(id);
        match volume {
            Expr::Sum(terms) => sum.extend(terms),
            other => sum.push(other),
        }
    }
    let sum = at_bench(ws, instruments, Expr::Sum(sum), with);
    (readings, sum)
}

/// Returns the problem of a dilution of a solution whose mass concentration is not known.
pub(super) fn unknown_parent(run: &RunFile, solution: usize, parent: &str) -> Problem {
    let name = &run.solutions[solution].name;
    Code::ConcentrationNotKnown.error(format!("{} is a dilution of {parent}, whose mass concentration is not known.", name.value))
    .at_entry(&name.entry)
    .right(format!(
        "weighings of {parent} under `density`; the density is needed to pipette from a solution made by mass"
    ))
}
