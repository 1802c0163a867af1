//! The bench of a plan: what its ware can measure, and the strengths wanted as mass concentrations.

use std::cell::RefCell;
use std::collections::BTreeMap;

use crate::bench::practice::conditioning::{COMMON, RINSE};
use crate::bench::quantity::rounding::to_place;
use crate::bench::reduce::PublishedShape;
use crate::bench::reduce::instruments::tolerance;
use crate::bench::runfile::model::{Apparatus, ApparatusKind, Scale};
use crate::bench::runfile::plan::PlanFile;

/// More pieces of one sort than these, each unlike the others, are not tried: the smallest are.
const MOST_WARE: usize = 16;
/// Nor are more balances.
const MOST_BALANCES: usize = 4;

/// Of a scale that states no division, a hundredth is read (common practice, no source).
const READ_OF_A_SCALE: f64 = 0.01;

/// A piece of ware.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Ware {
    /// Its index among the apparatus.
    pub(super) index: usize,
    /// What it holds or delivers, mL.
    pub(super) capacity: f64,
    /// The same with its unit, as the plan writes it.
    pub(super) written: String,
    /// The step to which its scale is read, mL; `None` if it has one mark.
    step: Option<f64>,
}

/// A volume in several deliveries.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Deliveries {
    /// How many.
    pub(super) count: u32,
    /// All together, mL.
    pub(super) total: f64,
    /// As a run file has them: `2 × 25 mL`.
    pub(super) written: String,
}

/// A mass that a balance can show.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Mass {
    /// Its value, g.
    pub(super) grams: f64,
    /// As a run file has it: `26.89 g`.
    pub(super) written: String,
}

impl Ware {
    /// So many deliveries of all that it holds.
    pub(super) fn full(&self, count: u32) -> Deliveries {
        deliveries(count, self.capacity, self.written.clone())
    }

    /// About so much, mL, in as few deliveries as it takes: of ware with one mark, whole ones.
    pub(super) fn about(&self, volume: f64) -> Option<Deliveries> {
        let Some(step) = self.step else {
            let count = (volume / self.capacity).round();
            return (count >= 1.0).then(|| self.full(count as u32));
        };
        let count = (volume / self.capacity - 1e-9).ceil().max(1.0);
        let each = (volume / count / step).round() * step;
        let written = to_place(each, last_place(step))?;
        (each > 0.0).then(|| deliveries(count as u32, each, format!("{written} mL")))
    }

    /// Returns what its conditioning takes of the liquid that it is to deliver, mL.
    pub(super) fn conditioning(&self) -> f64 {
        f64::from(COMMON) * RINSE * self.capacity
    }
}

fn deliveries(count: u32, each: f64, written: String) -> Deliveries {
    let written = match count {
        1 => written,
        count => format!("{count} × {written}"),
    };
    Deliveries {
        count,
        total: f64::from(count) * each,
        written,
    }
}

/// Returns the power of ten of the last digit of a step.
pub(super) fn last_place(step: f64) -> i32 {
    // 0.05 is 5 × 10⁻², and 0.1 is not quite ten to the minus first.
    (step * (1.0 + 1e-9)).log10().floor() as i32
}

/// A solution wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Target {
    /// Its mass concentration, g/L.
    pub(super) gamma: f64,
    /// How much of it is needed, mL.
    pub(super) volume: f64,
}

/// The bench.
#[derive(Debug)]
pub(super) struct Bench<'p> {
    pub(super) plan: &'p PlanFile,
    /// The plan's apparatus, or what is tried in its place.
    pub(super) apparatus: &'p [Apparatus],
    /// Flasks and cylinders, the smallest first.
    pub(super) vessels: Vec<Ware>,
    /// What delivers aliquots, the smallest first.
    pub(super) deliver: Vec<Ware>,
    pub(super) balances: Vec<usize>,
    pub(super) shape: PublishedShape,
    /// The solutions wanted, in the order of the plan.
    pub(super) targets: Vec<Target>,
    densities: RefCell<BTreeMap<u64, Option<f64>>>,
}

impl<'p> Bench<'p> {
    /// Returns the bench with such apparatus; `None` if a strength wanted has no published density.
    pub(super) fn new(
        plan: &'p PlanFile,
        apparatus: &'p [Apparatus],
        shape: PublishedShape,
    ) -> Option<Self> {
        let ware = |kinds: &[ApparatusKind]| {
            let items = apparatus.iter().enumerate();
            let mut all: Vec<Ware> = items
                .filter(|(_, item)| kinds.contains(&item.kind))
                .filter_map(|(index, item)| ware(index, item))
                .collect();
            all.sort_by(|a, b| {
                a.capacity
                    .total_cmp(&b.capacity)
                    .then(a.index.cmp(&b.index))
            });
            // Two pieces of the same kind and quality make no two ways.
            all.dedup_by(|next, one| {
                let quality = |ware: &Ware| {
                    let item = &apparatus[ware.index];
                    (item.kind, tolerance(item).ok(), &item.repeatability)
                };
                let equal = (next.capacity - one.capacity).abs() <= 1e-9 * one.capacity;
                equal && quality(next) == quality(one)
            });
            all.truncate(MOST_WARE);
            all
        };
        let targets = plan.solutions.iter().map(|wanted| {
            let x = wanted.scale.in_unit(wanted.strength.value.value);
            Some(Target {
                gamma: gamma(&shape, wanted.scale, x)?,
                volume: wanted.volume.value.value,
            })
        });
        Some(Self {
            plan,
            apparatus,
            vessels: ware(&[ApparatusKind::Flask, ApparatusKind::Cylinder]),
            deliver: ware(&[
                ApparatusKind::Pipette,
                ApparatusKind::GraduatedPipette,
                ApparatusKind::Burette,
            ]),
            balances: (0..apparatus.len())
                .filter(|item| apparatus[*item].kind == ApparatusKind::Balance)
                .take(MOST_BALANCES)
                .collect(),
            targets: targets.collect::<Option<_>>()?,
            shape,
            densities: RefCell::default(),
        })
    }

    /// Returns the published density, g/mL, at a mass concentration (g/L).
    pub(super) fn density(&self, gamma: f64) -> Option<f64> {
        let mut known = self.densities.borrow_mut();
        *known
            .entry(gamma.to_bits())
            .or_insert_with(|| self.shape.density(Scale::MassConcentration, gamma))
    }

    /// Returns the step of a balance, g.
    pub(super) fn step(&self, balance: usize) -> f64 {
        let step = self.apparatus[balance].readability.as_ref();
        step.map_or(f64::NAN, |step| step.value.value)
    }

    /// Returns a mass as a balance shows it: rounded to its step.
    pub(super) fn round_to_step(&self, balance: usize, mass: f64) -> Mass {
        let step = self.step(balance);
        let grams = (mass / step).round() * step;
        let text = to_place(grams, last_place(step).min(0));
        Mass {
            grams,
            written: format!("{} g", text.unwrap_or_default()),
        }
    }

    /// Returns the name of a piece of apparatus.
    pub(super) fn name(&self, item: usize) -> &'p str {
        &self.apparatus[item].name.value
    }
}

/// Returns the mass concentration, g/L, of a strength on a scale, in the unit that results have on it.
pub(super) fn gamma(shape: &PublishedShape, scale: Scale, x: f64) -> Option<f64> {
    let fraction = shape.mass_fraction(scale, x)?;
    Some(shape.on_scale(Scale::MassConcentration, fraction))
}

fn ware(index: usize, item: &Apparatus) -> Option<Ware> {
    let capacity = item.capacity.as_ref()?;
    let of_scale = || {
        let read = READ_OF_A_SCALE * capacity.value.value;
        let power = 10f64.powi(last_place(read));
        let digit = [5.0, 2.0, 1.0]
            .into_iter()
            .find(|digit| digit * power <= read * (1.0 + 1e-9));
        digit.unwrap_or(1.0) * power
    };
    let division = item.division.as_ref().map(|division| division.value.value);
    Some(Ware {
        index,
        capacity: capacity.value.value,
        written: capacity.value.as_written(),
        step: (!item.kind.has_one_mark()).then(|| division.unwrap_or_else(of_scale)),
    })
}
