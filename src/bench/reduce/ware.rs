//! Ware calibrated by the mass of water it delivers or holds.
//!
//! ISO 4787:2010: `V₂₀ = R (1 − ρa/ρc) / (ρw − ρa) · (1 − α (t − 20 °C))`, R what the balance shows for the water. The
//! departure of its mean from the nominal volume then stands for the tolerance of that ware wherever it is used.

use serde::Serialize;

use super::stated::Stated;
use crate::bench::fit::standard_deviation;
use crate::bench::quantity::Unit;
use crate::bench::reference::{expansion, weighing};
use crate::bench::runfile::model::WareCalibration;
use crate::bench::worksheet::{Component, Estimate, Expr, Label, NodeId, Symbol, Title, Worksheet};
use crate::maths::Math;

use super::instruments::{Instruments, Repeatability, add_reading, tolerance};

/// A piece of ware, calibrated.
#[derive(Debug, Clone, PartialEq)]
pub struct WareResult {
    /// The ware, an index into the run's apparatus.
    pub ware: usize,
    /// Its name.
    pub name: String,
    /// Its weighings in the order of the run file, those left out among them.
    pub weighings: Vec<WareWeighing>,
    /// How many are used.
    pub used: usize,
    /// Standard deviation of those used, mL; `None` for one alone.
    pub standard_deviation: Option<f64>,
    /// The volume at 20 °C: the mean, mL.
    pub volume: NodeId,
    /// The volume at 20 °C less the nominal one, mL.
    pub departure: NodeId,
    /// Limit of the departure by tolerance or class, mL, where one is known.
    pub tolerance: Option<f64>,
    /// Temperature of the water, °C.
    pub liquid: NodeId,
}

/// A weighing of water, reduced.
#[derive(Debug, Clone, PartialEq)]
pub struct WareWeighing {
    /// Its entry in the run file.
    pub entry: String,
    /// The volume at 20 °C by this weighing alone, mL.
    pub volume: NodeId,
    /// Why it is left out, if it is.
    pub left_out: Option<String>,
}

/// Where a departure lies, its expanded uncertainty considered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Within the limits, uncertainty and all.
    Inside,
    /// Beyond them, uncertainty and all.
    Outside,
    /// So near a limit that the uncertainty leaves it open.
    Open,
}

impl Verdict {
    /// Returns its word in reports and results.
    pub fn word(self) -> &'static str {
        match self {
            Self::Inside => "inside",
            Self::Outside => "outside",
            Self::Open => "open",
        }
    }
}

impl WareResult {
    /// Returns whether the departure keeps to its limit, given its expanded uncertainty (mL) (the decision rule of JCGM
    /// 106:2012, 8.3, with a guard band of the expanded uncertainty); none without a limit.
    pub fn verdict(&self, ws: &Worksheet, expanded: f64) -> Option<Verdict> {
        let (limit, departure) = (self.tolerance?, ws.value(self.departure).abs());
        Some(if departure + expanded <= limit {
            Verdict::Inside
        } else if departure - expanded > limit {
            Verdict::Outside
        } else {
            Verdict::Open
        })
    }
}

/// Reduces the calibration of a piece of ware, and has its departure stand for its tolerance from now on; none, with a
/// problem noted, where the density of water or air is not known.
pub(super) fn calibrate(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    wanted: &WareCalibration,
) -> Option<WareResult> {
    let run = instruments.run;
    let index = wanted.ware.value;
    let apparatus = &run.apparatus[index];
    let name = &apparatus.name.value;
    let repeatability = Repeatability::choose(
        wanted.weighings.iter().map(|w| w.left_out.as_ref()),
        Repeatability::Stated,
    );
    let reading = wanted.liquid.as_ref().or(run.conditions.liquid.as_ref())?;
    let liquid = instruments.liquid(ws, wanted.liquid.as_ref(), name)?;
    let water = instruments.water_at(ws, name, liquid, reading)?;
    let by = instruments.surroundings(ws);
    let glass = instruments.expansion(ws, apparatus.glass);

    let mut weighings = Vec::with_capacity(wanted.weighings.len());
    for (i, weighed) in wanted.weighings.iter().enumerate() {
        let label = Label::from(name).numbered(i + 1);
        let title = |what: &str, (letter, kind): (&str, &'static str), unit| {
            Title::new(
                format!("{what}, {name}, weighing {}", i + 1),
                Symbol::new(letter, kind, &label),
                unit,
            )
        };
        let mut read = |ws: &mut Worksheet, what, kind, reading| {
            let title = title(what, ("m", kind), &Unit::GRAM);
            let balance = wanted.balance.as_ref();
            instruments
                .mass(ws, title, reading, balance, repeatability)
                .1
        };
        let empty = read(ws, "vessel empty", "e", &weighed.empty);
        let filled = read(ws, "vessel with water", "f", &weighed.filled);
        let net = filled - empty;
        let at_t = weighing::volume(net, by.air, by.weights, water);
        let volume = ws.calculate(
            title("volume at 20 °C", ("V", ""), &Unit::MILLILITRE),
            at_t * expansion::to_reference(glass, liquid),
        );
        weighings.push(WareWeighing {
            entry: weighed.entry.name.clone(),
            volume,
            left_out: weighed.left_out.as_ref().map(|why| why.value.clone()),
        });
    }
    let kept: Vec<NodeId> = weighings
        .iter()
        .filter(|w| w.left_out.is_none())
        .map(|w| w.volume)
        .collect();
    let scatter = Scatter::estimate(ws, &kept);
    let of_mean = match &scatter {
        Some(scatter) => Some(scatter.component(kept.len())),
        // One weighing is of one delivery, which scatters as stated.
        None => instruments.stated_repeatability(index),
    };
    let volume = mean(ws, name, &kept, of_mean)?;

    let nominal_title = Title::new(
        format!("nominal volume of {name}"),
        Symbol::new("V", "nom", name),
        &Unit::MILLILITRE,
    );
    let nominal = wanted.volume.as_ref().or(apparatus.capacity.as_ref())?;
    let nominal = add_reading(ws, nominal_title, nominal, Vec::new());
    let departure = ws.calculate(
        Title::new(
            format!("departure of {name} from its nominal volume"),
            Symbol::labelled("δ", name),
            &Unit::MILLILITRE,
        ),
        Expr::from(volume) - nominal,
    );
    let delivery = scatter.as_ref().map(|scatter| scatter.component(1));
    instruments.calibrated(index, departure, delivery);
    Some(WareResult {
        ware: index,
        name: name.clone(),
        weighings,
        used: kept.len(),
        standard_deviation: scatter.map(|scatter| scatter.standard_deviation),
        volume,
        departure,
        tolerance: tolerance(apparatus).ok(),
        liquid,
    })
}

/// How volumes by several weighings scatter: one estimate of variance, behind the error of their mean and behind that of
/// every delivery that follows.
struct Scatter {
    /// mL.
    standard_deviation: f64,
    dof: f64,
    estimate: Estimate,
}

impl Scatter {
    /// Returns the scatter of two volumes or more.
    fn estimate(ws: &mut Worksheet, kept: &[NodeId]) -> Option<Self> {
        let values: Vec<f64> = kept.iter().map(|id| ws.value(*id)).collect();
        (values.len() > 1).then(|| Self {
            standard_deviation: standard_deviation(&values),
            dof: values.len() as f64 - 1.0,
            estimate: ws.estimate(),
        })
    }

    /// Returns the error of a mean of `count` volumes (type A, JCGM 100:2008, 4.2.3).
    fn component(&self, count: usize) -> Component {
        let standard = self.standard_deviation / (count as f64).sqrt();
        Component::sampled("scatter in the ware's calibration", standard, self.dof)
            .with_estimate(self.estimate)
    }
}

/// Returns the mean of some volumes, with its error where that is known.
fn mean(
    ws: &mut Worksheet,
    name: &str,
    kept: &[NodeId],
    error: Option<Component>,
) -> Option<NodeId> {
    let single = match kept {
        [] => return None,
        [only] => Some(*only),
        _ => None,
    };
    let Some(component) = error else {
        return single;
    };
    let title = Title::new(
        format!("scatter of the weighings of {name}"),
        Symbol::labelled("ε", name),
        &Unit::MILLILITRE,
    );
    let error = ws.unseen(title, vec![component]);
    let title = Title::new(
        format!("volume of {name} at 20 °C"),
        Symbol::labelled(Math::from("V").bar(), name),
        &Unit::MILLILITRE,
    );
    let formula = match single {
        Some(only) => Expr::Sum(vec![only.into(), error.into()]),
        None => Expr::mean(kept.iter().map(|id| (*id).into()).collect()) + error,
    };
    Some(ws.calculate(title, formula))
}

/// A calibrated piece of ware's results.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WareStated {
    /// Volume at 20 °C, mL.
    pub volume: Stated,
    /// Volume at 20 °C less the nominal one, mL.
    pub departure: Stated,
    /// Weighings that count.
    pub weighings: usize,
    /// Standard deviation of the volume by one of them, mL; absent for one alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub standard_deviation: Option<f64>,
    /// Limit of the departure by tolerance or class, ±, mL.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<f64>,
    /// Whether the departure is `inside` the limit, `outside`, or `open` for its uncertainty.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub verdict: Option<&'static str>,
}
