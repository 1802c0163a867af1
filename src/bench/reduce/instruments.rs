//! Readings onto the worksheet, with the errors of what measured them.
//!
//! What varies from one reading to the next (rounding to the readability, repeatability) is the reading's own; what an
//! instrument does the same each time (a pipette's departure from its nominal volume, a thermometer's offset, a balance's
//! departure from linearity at one load) is one input shared by all that it measured so. A reading that states its own `±` has that and nothing else.
//!
//! Rounding to the readability d is rectangular with half-width d/2. Limits ±a are triangular for ware (unless its entry
//! says `spread: rectangular`) and rectangular for balances and thermometers. Where ware was calibrated, the departure
//! found is its shared input, and each delivery has the scatter of one: the stated repeatability, or else the standard
//! deviation of the calibration's weighings, whose one estimate of variance is shared with the error of their mean; a `±`
//! there stands for that scatter alone.

use std::collections::BTreeMap;

use crate::bench::quantity::Unit;
use crate::bench::reference::glassware::Ware;
use crate::bench::runfile::model::{
    Apparatus, ApparatusKind, At, Class, Reading, Ref, RunFile, Spread,
};
use crate::bench::worksheet::{
    Component, Distribution, Expr, Input, Label, NodeId, Symbol, Title, Worksheet,
};
use crate::problem::{Code, Problem};

use super::effect::Allowances;
use super::loads::Loads;
use super::published::Published;

/// How one delivery of ware scatters by custom: its standard deviation over the limit of error of the ware. A 15 mL pipette
/// of ±0.03 mL gave 0.0092 mL (EURACHEM/CITAC, Quantifying Uncertainty in Analytical Measurement, 3rd ed. 2012, example A3;
/// from memory). What a balance shows scatters by one step by custom (common practice, no source).
const CUSTOMARY_DELIVERY: f64 = 1.0 / 3.0;

/// Whether a reading's own repeatability enters, or is seen in the spread of replicates instead.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Repeatability {
    /// As stated for the instrument.
    Stated,
    /// As stated, or else the customary one: a weighing of a density is the only one of its kind.
    Single,
    /// Left to the spread of the replicates that the reading is one of, so that it does not count twice.
    SeenInSpread,
}

impl Repeatability {
    /// As several of some weighings or readings count or one `alone`, given why each is left out.
    pub(super) fn choose<'r>(
        left_out: impl Iterator<Item = Option<&'r At<String>>>,
        alone: Self,
    ) -> Self {
        if left_out.filter(Option::is_none).count() > 1 {
            Self::SeenInSpread
        } else {
            alone
        }
    }
}

/// The quantities in the definition of an instrument's scale, on the worksheet once for each instrument.
#[derive(Debug, Clone, Copy)]
pub(super) struct Definition {
    /// Temperature at which it holds, °C.
    pub(super) standard: NodeId,
    /// Density of the water it is relative to, g/mL.
    pub(super) water: Option<NodeId>,
    /// Modulus, °Bé, or mass percent called saturated, %.
    pub(super) constant: Option<NodeId>,
    /// Cubic expansion coefficient of a hydrometer's glass, 1/°C.
    pub(super) glass: Option<NodeId>,
}

/// The definitions of the scales in use, by the instrument.
#[derive(Debug, Default)]
pub(super) struct Definitions {
    pub(super) of: BTreeMap<usize, Definition>,
    pub(super) published: Published,
    pub(super) glass: Option<NodeId>,
}

/// The apparatus of a run, with the errors shared by what each measured.
pub(super) struct Instruments<'a> {
    pub(super) run: &'a RunFile,
    /// What corrections go by.
    pub(super) allowances: Allowances,
    /// The definitions of the scales of hydrometers and density meters.
    pub(super) definitions: Definitions,
    shared: BTreeMap<usize, NodeId>,
    loads: Loads,
    /// Calibrated ware, with how one delivery of it scatters (mL), where its calibration tells.
    calibrated: BTreeMap<usize, Option<Component>>,
    /// The customary repeatabilities counted, by the apparatus, in its unit.
    pub(super) customary: BTreeMap<usize, f64>,
    /// What went wrong in looking up the ware, once for each.
    pub(super) problems: Vec<Problem>,
}

impl<'a> Instruments<'a> {
    pub(super) fn new(run: &'a RunFile) -> Self {
        Self {
            run,
            allowances: Allowances::default(),
            definitions: Definitions::default(),
            shared: BTreeMap::new(),
            loads: Loads::new(run),
            calibrated: BTreeMap::new(),
            customary: BTreeMap::new(),
            problems: Vec::new(),
        }
    }

    /// Returns a mass in g read on a balance: the reading, and with it the error that all readings of that load share.
    ///
    /// A stated `±` stands for all errors of the reading.
    pub(super) fn mass(
        &mut self,
        ws: &mut Worksheet,
        title: Title,
        reading: &Reading,
        balance: Option<&Ref>,
        repeatability: Repeatability,
    ) -> (NodeId, Expr) {
        let stated = reading.value.standard_uncertainty.is_some();
        let Some(index) = balance.map(|balance| balance.value).filter(|_| !stated) else {
            let id = add_reading(ws, title, reading, Vec::new());
            return (id, id.into());
        };
        let balance = &self.run.apparatus[index];
        let step = balance.readability.as_ref().map(|step| step.value.value);
        let mut components = Vec::new();
        if let Some(step) = step {
            components.push(rounding("readability", step / 2.0));
        }
        components.extend(match repeatability {
            Repeatability::Stated => self.stated_repeatability(index),
            Repeatability::Single => self
                .stated_repeatability(index)
                .or_else(|| Some(self.customary(index, step?))),
            Repeatability::SeenInSpread => None,
        });
        let id = add_reading(ws, title, reading, components);
        let load = self.loads.find(index, reading.value.value);
        let Some((limit, (load, middle))) = balance.linearity.as_ref().zip(load) else {
            return (id, id.into());
        };
        let error = self.loads.error(index, load, || {
            let limit = limit.value.value;
            let component = Component::within("linearity", limit, Distribution::Rectangular);
            let name = &balance.name.value;
            let title = Title::new(
                format!("linearity of {name} at {middle:.1} g"),
                Symbol::labelled("δ", Label::from(name).numbered(load + 1)),
                &Unit::GRAM,
            );
            ws.unseen(title, vec![component])
        });
        (id, Expr::from(id) + error)
    }

    /// Returns a volume in mL measured with ware: the reading, and with it the ware's own error.
    ///
    /// A stated `±` stands for all errors of ware that is not calibrated. The departure that a calibration found is no part
    /// of it: there `±` stands for the scatter of that delivery alone.
    pub(super) fn volume(
        &mut self,
        ws: &mut Worksheet,
        title: Title,
        reading: &Reading,
        ware: Option<&Ref>,
        repeatability: Repeatability,
    ) -> (NodeId, Expr) {
        let stated = reading.value.standard_uncertainty.is_some();
        let alone = |ware: &&Ref| !stated || self.calibrated.contains_key(&ware.value);
        let Some(ware) = ware.filter(alone) else {
            let id = add_reading(ws, title, reading, Vec::new());
            return (id, id.into());
        };
        let own = match repeatability {
            Repeatability::Stated => self.delivery(ware.value),
            Repeatability::Single => self
                .delivery(ware.value)
                .or_else(|| self.customary_delivery(ware.value)),
            Repeatability::SeenInSpread => None,
        };
        let id = add_reading(ws, title, reading, own.into_iter().collect());
        let error = self.ware_error(ws, ware.value);
        (id, Expr::from(id) + error)
    }

    /// Returns how one delivery of a piece of ware scatters, mL: as stated, or as its calibration shows.
    pub(super) fn delivery(&self, ware: usize) -> Option<Component> {
        let found = || self.calibrated.get(&ware).cloned().flatten();
        self.stated_repeatability(ware).or_else(found)
    }

    /// Returns the repeatability stated for a piece of apparatus, in its unit.
    pub(super) fn stated_repeatability(&self, apparatus: usize) -> Option<Component> {
        let sd = self.run.apparatus[apparatus].repeatability.as_ref()?;
        Some(Component::normal("repeatability", sd.value.value))
    }

    /// Returns how one delivery of a piece of ware scatters by custom, mL.
    pub(super) fn customary_delivery(&mut self, ware: usize) -> Option<Component> {
        let customary = customary_delivery(&self.run.apparatus[ware])?;
        Some(self.customary(ware, customary))
    }

    /// Counts a customary repeatability of a piece of apparatus, in its unit.
    fn customary(&mut self, apparatus: usize, deviation: f64) -> Component {
        self.customary.insert(apparatus, deviation);
        Component::normal("customary repeatability", deviation)
    }

    /// Returns a temperature in °C read on a thermometer.
    pub(super) fn temperature(
        &mut self,
        ws: &mut Worksheet,
        title: Title,
        reading: &Reading,
        thermometer: Option<&Ref>,
    ) -> NodeId {
        self.indicated(ws, title, reading, thermometer, Repeatability::Stated)
    }

    /// Returns what a thermometer, hydrometer or density meter showed, in the title's unit: the reading, less certain
    /// by the instrument's own error, which all its readings share.
    pub(super) fn indicated(
        &mut self,
        ws: &mut Worksheet,
        title: Title,
        reading: &Reading,
        instrument: Option<&Ref>,
        repeatability: Repeatability,
    ) -> NodeId {
        if reading.value.standard_uncertainty.is_some() {
            return add_reading(ws, title, reading, Vec::new());
        }
        let half = self.half_step(reading, instrument);
        let instrument = instrument.map(|t| (t.value, &self.run.apparatus[t.value]));
        let mut components = vec![rounding("readability", half)];
        if repeatability == Repeatability::Stated {
            components.extend(instrument.and_then(|(i, _)| self.stated_repeatability(i)));
        }
        let Some((index, limit)) = instrument.and_then(|(i, t)| Some((i, t.accuracy.as_ref()?)))
        else {
            return add_reading(ws, title, reading, components);
        };
        let error = self.shared.get(&index).copied().unwrap_or_else(|| {
            let component =
                Component::within("accuracy", limit.value.value, Distribution::Rectangular);
            unknown_error(ws, &self.run.apparatus[index], title.unit, component)
        });
        self.shared.insert(index, error);
        let seen = Title::new(title.name.clone(), title.symbol.clone().prime(), title.unit);
        let seen = add_reading(ws, seen, reading, components);
        ws.calculate(title, Expr::from(seen) + error)
    }

    /// Returns half the step of what showed a reading; where none is stated, half its last place as written.
    fn half_step(&self, reading: &Reading, instrument: Option<&Ref>) -> f64 {
        let step = instrument.and_then(|t| self.run.apparatus[t.value].readability.as_ref());
        step.map_or_else(
            || reading.value.half_last_place(),
            |step| step.value.value / 2.0,
        )
    }

    /// Standard deviations of what an instrument shows: by its repeatability, zero where none is stated, and by rounding.
    pub(super) fn shows(&self, reading: &Reading, instrument: Option<&Ref>) -> (f64, f64) {
        let stated = instrument.and_then(|t| self.run.apparatus[t.value].repeatability.as_ref());
        let resolution = self.half_step(reading, instrument) / 3f64.sqrt();
        (stated.map_or(0.0, |sd| sd.value.value), resolution)
    }

    /// Takes a departure from the nominal volume (mL) that was found for a piece of ware, in place of its tolerance, and
    /// the scatter of one delivery (mL), where several weighings tell it.
    pub(super) fn calibrated(
        &mut self,
        ware: usize,
        departure: NodeId,
        delivery: Option<Component>,
    ) {
        self.shared.insert(ware, departure);
        self.calibrated.insert(ware, delivery);
    }

    /// Returns the departure of a piece of ware from its nominal volume, mL: found by calibration, or one unknown error
    /// within its tolerance, however often it measures.
    fn ware_error(&mut self, ws: &mut Worksheet, index: usize) -> NodeId {
        if let Some(error) = self.shared.get(&index) {
            return *error;
        }
        let ware = &self.run.apparatus[index];
        let limit = tolerance(ware).unwrap_or_else(|problem| {
            self.problems.push(problem);
            0.0
        });
        let distribution = match ware.spread {
            Spread::Triangular => Distribution::Triangular,
            Spread::Rectangular => Distribution::Rectangular,
        };
        let error = unknown_error(
            ws,
            ware,
            &Unit::MILLILITRE,
            Component::within("tolerance", limit, distribution),
        );
        self.shared.insert(index, error);
        error
    }
}

/// Returns how one delivery of a piece of ware scatters by custom, mL; `None` where its limits are not listed.
fn customary_delivery(ware: &Apparatus) -> Option<f64> {
    Some(CUSTOMARY_DELIVERY * tolerance(ware).ok()?)
}

/// Returns how one delivery of ware (mL), or what a balance shows of one load (g), scatters: its standard deviation as
/// stated, or else by custom; `None` where there is neither.
pub fn scatter(item: &Apparatus) -> Option<f64> {
    let stated = item.repeatability.as_ref();
    stated.map(|sd| sd.value.value).or_else(|| match item.kind {
        ApparatusKind::Balance => Some(item.readability.as_ref()?.value.value),
        _ => customary_delivery(item),
    })
}

/// Returns the limit of error ±, mL, of a piece of ware: stated, or by its class.
///
/// # Errors
/// A problem, where the standard of its kind does not list its capacity.
pub fn tolerance(ware: &Apparatus) -> Result<f64, Problem> {
    if let Some(stated) = &ware.tolerance {
        return Ok(stated.value.value);
    }
    let kind = standard_kind(ware.kind);
    let capacity = ware.capacity.as_ref().map_or(f64::NAN, |c| c.value.value);
    let class_a = ware
        .class
        .as_ref()
        .is_some_and(|class| class.value == Class::A);
    let division = ware.division.as_ref().map(|d| d.value.value);
    kind.and_then(|kind| kind.tolerance(capacity, division, class_a))
        .ok_or_else(|| not_listed(ware, kind, capacity))
}

/// Returns the problem with ware whose limits of error are not listed.
fn not_listed(ware: &Apparatus, kind: Option<Ware>, capacity: f64) -> Problem {
    let in_words = |listed: Vec<f64>| {
        let listed: Vec<String> = listed.iter().map(f64::to_string).collect();
        listed.join(", ")
    };
    let name = &ware.name.value;
    let standard = kind.map_or("no standard", Ware::standard);
    let divisions = kind.map_or_else(Vec::new, |kind| kind.divisions(capacity));
    if let (Some(division), false) = (&ware.division, divisions.is_empty()) {
        return Code::DivisionNotListed.error(format!("{standard} lists no limits of error for the division of {name}."))
        .at_entry(&division.entry)
        .read(format!("{} mL", division.value.value))
        .right(format!(
            "a division listed for its capacity ({} mL), or the limits themselves, e.g. `tolerance: 0.1 mL`",
            in_words(divisions)
        ));
    }
    let capacity = ware.capacity.as_ref();
    let place = capacity.map_or(&ware.name.entry, |c| &c.entry);
    let problem = Code::CapacityNotListed
        .error(format!(
            "{standard} lists no limits of error for the capacity of {name}."
        ))
        .at_entry(place)
        .right(format!(
            "state them, e.g. `tolerance: 0.1 mL`, or use a listed capacity ({} mL)",
            in_words(kind.map_or_else(Vec::new, Ware::capacities))
        ));
    match capacity {
        Some(capacity) => problem.read(format!("{} mL", capacity.value.value)),
        None => problem,
    }
}

/// Returns the kind of ware by which the standards set limits; `None` for what is no ware.
pub fn standard_kind(kind: ApparatusKind) -> Option<Ware> {
    Some(match kind {
        ApparatusKind::Flask => Ware::Flask,
        ApparatusKind::Pipette => Ware::Pipette,
        ApparatusKind::GraduatedPipette => Ware::GraduatedPipette,
        ApparatusKind::Burette => Ware::Burette,
        ApparatusKind::Cylinder => Ware::Cylinder,
        ApparatusKind::Balance
        | ApparatusKind::Thermometer
        | ApparatusKind::Hydrometer
        | ApparatusKind::DensityMeter => return None,
    })
}

/// Returns a volume of ware (mL at 20 °C) at the temperature it was used at.
pub(super) fn at_temperature(volume: Expr, expanded: Option<Expr>) -> Expr {
    match expanded {
        Some(factor) => volume * factor,
        None => volume,
    }
}

fn rounding(cause: &'static str, half: f64) -> Component {
    Component::within(cause, half, Distribution::Rectangular)
}

/// Returns an error of unknown size, estimated as zero.
fn unknown_error(
    ws: &mut Worksheet,
    of: &Apparatus,
    unit: &'static Unit,
    component: Component,
) -> NodeId {
    let name = &of.name.value;
    let input = Input {
        origin: (&of.name.entry.name).into(),
        components: vec![component],
        unseen: true,
        ..Input::default()
    };
    ws.input(
        Title::new(
            format!("error of {name}"),
            Symbol::labelled("δ", name),
            unit,
        ),
        0.0,
        input,
    )
}

/// Any reading as an input: with its own stated uncertainty, or with the components given.
pub(super) fn add_reading(
    ws: &mut Worksheet,
    title: Title,
    reading: &Reading,
    components: Vec<Component>,
) -> NodeId {
    let quantity = &reading.value;
    let components = match quantity.standard_uncertainty {
        Some(u) => vec![Component::normal("stated", u)],
        None => components,
    };
    // Digits stand as written where the unit written is the one calculated in.
    let digits =
        (quantity.unit.symbol == title.unit.symbol).then(|| (&quantity.number.text).into());
    let figures = digits.is_none().then_some(quantity.number.figures);
    let input = Input {
        origin: (&reading.entry.name).into(),
        digits,
        figures,
        components,
        unseen: false,
    };
    ws.input(title, quantity.value, input)
}
