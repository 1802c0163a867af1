//! The worksheet: inputs with their errors, formulas over them, and all that follows from one definition of each.
//!
//! A quantity is either an **input** (a reading, an instrument's unknown error, a published value) or **calculated** by
//! a formula, or **solved** for together with others by a fit. From a formula's one tree come its value, its exact
//! first-order sensitivities, its typeset forms and its row in a budget. Results are linear forms over the inputs,
//! expanded when asked, so covariances between any two results are right by construction (JCGM 100:2008, 5.2).
//!
//! An instrument's unknown error enters as an input whose best estimate is zero ([`Input::unseen`]): it carries
//! uncertainty, shared by all that the instrument measured, and is left out of the typeset forms.
//!
//! An effect that is known and not corrected, such as the buoyancy of the air, enters the same formula that corrects it, as
//! a **neglected** quantity ([`Worksheet::neglect`]): its value is zero, and its best estimate is another quantity. What
//! results lack for it is their bias ([`Uncertainty::bias`]), found by the sensitivities that uncertainties are found by,
//! with its sign, so that what cancels between two results cancels by construction.
//!
//! There is no second place where a formula is written. Quantities are grouped by types, never by rendered text: a
//! [`Symbol`] names its solution or piece of ware and the number of the measurement, formulas are the same if their trees
//! are equal but for the quantities ([`Expr::is_alike`]), constants have a [`Role`].

mod draws;
mod expression;
mod instead;
mod montecarlo;
mod program;
mod propagation;
mod seen;
mod significant_figures;
mod solved;
mod symbol;
mod typeset;
mod units;

pub use expression::{Constant, Expr, Role};
pub use instead::{Altered, Instead, Recalculation};
pub use montecarlo::{BLOCK, Interval, Plan, Simulated, Validation};
pub use propagation::{BudgetRow, Form, Leading, Uncertainty};
pub use significant_figures::LastPlaces;
pub use solved::{Solution, Solve, Solved};
pub use symbol::{Label, Symbol};

use std::sync::OnceLock;

use smol_str::SmolStr;

use super::quantity::{DensityUnit, ShownIn, Unit};

/// A quantity of a worksheet, by its place; later quantities depend only on earlier ones.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NodeId(usize);

/// The shape of an error's distribution.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Distribution {
    /// Normal; with finite degrees of freedom, Student's t scaled to the standard uncertainty.
    Normal,
    /// Even between two limits.
    Rectangular,
    /// Peaked between two limits.
    Triangular,
}

impl Distribution {
    /// Standard uncertainty of an error within ±`limit` (JCGM 100:2008, 4.3.7 and 4.3.9). A normal error's limit is
    /// taken as its standard uncertainty.
    pub fn standard_uncertainty(self, limit: f64) -> f64 {
        match self {
            Self::Normal => limit,
            Self::Rectangular => limit / 3f64.sqrt(),
            Self::Triangular => limit / 6f64.sqrt(),
        }
    }
}

/// An estimate of variance that several errors have in common, by its number on the worksheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Estimate(u32);

impl Estimate {
    /// Returns its number.
    pub fn number(self) -> u32 {
        self.0
    }
}

/// One cause of an input's error; the causes of one input are independent of each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Component {
    /// In words, e.g. `readability`.
    pub cause: &'static str,
    /// Standard uncertainty, in the input's unit.
    pub standard_uncertainty: f64,
    /// Shape.
    pub distribution: Distribution,
    /// Degrees of freedom; infinite for what is not found from a sample.
    pub dof: f64,
    /// The estimate of variance behind it, where other errors rest on the same one. The errors stay independent of each
    /// other; only what is known of their size is shared, and with it the degrees of freedom.
    pub estimate: Option<Estimate>,
}

impl Component {
    /// Returns an error within ±`limit`.
    pub fn within(cause: &'static str, limit: f64, distribution: Distribution) -> Self {
        Self {
            distribution,
            ..Self::normal(cause, distribution.standard_uncertainty(limit.abs()))
        }
    }

    /// Returns a normal error of known standard uncertainty.
    pub fn normal(cause: &'static str, standard_uncertainty: f64) -> Self {
        Self {
            cause,
            standard_uncertainty,
            distribution: Distribution::Normal,
            dof: f64::INFINITY,
            estimate: None,
        }
    }

    /// Returns the error of a mean, found from a sample.
    pub fn sampled(cause: &'static str, standard_uncertainty: f64, dof: f64) -> Self {
        Self {
            dof,
            ..Self::normal(cause, standard_uncertainty)
        }
    }

    /// Returns the same error, its size known by an estimate that others share.
    #[must_use]
    pub fn with_estimate(self, estimate: Estimate) -> Self {
        Self {
            estimate: Some(estimate),
            ..self
        }
    }
}

/// What makes a quantity an input.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Input {
    /// The entry of the run file it was read from; empty for what comes from elsewhere.
    pub origin: SmolStr,
    /// Its digits as written, where it was written in the quantity's unit; typeset as they stand.
    pub digits: Option<SmolStr>,
    /// Significant figures it was written with in another unit; `None` if `digits` tell, or nothing was written.
    pub figures: Option<u32>,
    /// Causes of its error; none for an exact value.
    pub components: Vec<Component>,
    /// Whether it is an unknown error, estimated as zero and left out of the typeset forms.
    pub unseen: bool,
}

impl Input {
    /// Standard uncertainty of the input, in its unit.
    pub fn standard_uncertainty(&self) -> f64 {
        self.components
            .iter()
            .map(|c| c.standard_uncertainty.powi(2))
            .sum::<f64>()
            .sqrt()
    }
}

/// How a quantity came to be.
#[derive(Debug, Clone, PartialEq)]
pub enum Source {
    /// It was put in.
    Input(Input),
    /// It was calculated.
    Calculated(Expr),
    /// It was solved for, by an algorithm whose partial derivatives are known.
    Solved(Solved),
    /// It is taken as zero; this is its best estimate.
    Neglected(NodeId),
    /// It is the bias of a sum of quantities that begins with this one: added to the sum, it makes up for all that is
    /// neglected there.
    Correction(NodeId),
}

/// Cached results of propagation for a quantity; they take no part in comparisons.
#[derive(Debug, Clone, Default)]
struct CachedUncertainty {
    uncertainty: OnceLock<Box<Uncertainty>>,
    sensitivities: OnceLock<Box<[(NodeId, f64)]>>,
}

impl PartialEq for CachedUncertainty {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

/// A quantity of a worksheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// What it is, in words, e.g. `density of A`.
    pub name: String,
    /// Its symbol.
    pub symbol: Symbol,
    /// Its unit.
    pub unit: &'static Unit,
    /// Where its formula is published, if it is.
    pub published: Option<&'static str>,
    /// Its value in that unit.
    pub value: f64,
    /// How it came to be.
    pub source: Source,
    /// Partial derivatives with respect to earlier quantities, by rising place, each once.
    partials: Box<[(NodeId, f64)]>,
    /// See [`Worksheet::exact_place`].
    exact_place: Option<i32>,
    /// Found when it is first asked for: what a quantity depends on stands before it and does not change.
    remembered: CachedUncertainty,
}

/// Name, symbol and unit of a quantity about to enter.
#[derive(Debug, Clone, PartialEq)]
pub struct Title {
    /// What it is, in words.
    pub name: String,
    /// Its symbol.
    pub symbol: Symbol,
    /// Its unit.
    pub unit: &'static Unit,
    /// Where its formula is published, if it is.
    source: Option<&'static str>,
}

impl Title {
    /// Returns a title.
    pub fn new(name: impl Into<String>, symbol: impl Into<Symbol>, unit: &'static Unit) -> Self {
        Self {
            name: name.into(),
            symbol: symbol.into(),
            unit,
            source: None,
        }
    }

    /// Returns the same, of a quantity whose formula is published there.
    #[must_use]
    pub fn published(self, source: &'static str) -> Self {
        Self {
            source: Some(source),
            ..self
        }
    }
}

/// Cached tolerances for choosing digits; comparisons ignore them.
#[derive(Debug, Clone, Default)]
struct Tolerances(OnceLock<Vec<f64>>);

impl PartialEq for Tolerances {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

/// Inputs, formulas and results.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Worksheet {
    #[expect(
        clippy::vec_box,
        reason = "there may be tens of thousands: a vector of them would be copied, and left half empty, as it grows"
    )]
    nodes: Vec<Box<Node>>,
    estimates: u32,
    /// The unit that densities are shown in; their values are in g/mL.
    pub density_unit: DensityUnit,
    /// See [`Worksheet::tolerance`].
    tolerances: Tolerances,
}

impl Worksheet {
    /// Returns an empty worksheet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Returns the quantity at a place.
    pub fn node(&self, id: NodeId) -> &Node {
        &self.nodes[id.0]
    }

    /// Returns the value of a quantity, in its unit.
    pub fn value(&self, id: NodeId) -> f64 {
        self.nodes[id.0].value
    }

    /// Returns the unit that a quantity is shown in.
    pub fn shown_in(&self, id: NodeId) -> ShownIn {
        self.density_unit.show(self.node(id).unit)
    }

    /// Returns every quantity with its place, in the order of entering.
    pub fn nodes(&self) -> impl Iterator<Item = (NodeId, &Node)> {
        self.nodes
            .iter()
            .enumerate()
            .map(|(i, node)| (NodeId(i), &**node))
    }

    /// Returns where a quantity stands in the order of entering, counted from 0.
    pub fn index(&self, id: NodeId) -> usize {
        id.0
    }

    /// Returns the quantities that a quantity directly depends on.
    pub fn dependencies(&self, id: NodeId) -> impl Iterator<Item = NodeId> + '_ {
        self.node(id).partials.iter().map(|(earlier, _)| *earlier)
    }

    /// Returns a new estimate of variance, for errors to have in common.
    pub fn estimate(&mut self) -> Estimate {
        self.estimates += 1;
        Estimate(self.estimates - 1)
    }

    /// Puts an input in.
    pub fn input(&mut self, title: Title, value: f64, mut input: Input) -> NodeId {
        input.components.shrink_to_fit();
        self.push(title, value, Source::Input(input), Vec::new())
    }

    /// Puts in an unknown error, estimated as zero and left out of the typeset forms.
    pub fn unseen(&mut self, title: Title, components: Vec<Component>) -> NodeId {
        let input = Input {
            components,
            unseen: true,
            ..Input::default()
        };
        self.input(title, 0.0, input)
    }

    /// Puts in a value that no entry states, in the digits in which it is published or meant.
    pub fn quoted(&mut self, title: Title, digits: &str, components: Vec<Component>) -> NodeId {
        let input = Input {
            digits: Some(digits.into()),
            components,
            ..Input::default()
        };
        self.input(title, digits.parse().unwrap_or(f64::NAN), input)
    }

    /// States what makes an input uncertain, where that is found only from quantities which depend on it, such as the
    /// scatter of single densities that all have the input in them.
    pub fn settle(&mut self, id: NodeId, components: Vec<Component>) {
        if let Source::Input(input) = &mut self.nodes[id.0].source {
            input.components = components;
        }
        for node in &mut self.nodes[id.0..] {
            node.remembered = CachedUncertainty::default();
        }
        self.tolerances = Tolerances::default();
    }

    /// Puts in a quantity that is taken as zero, though another one is its best estimate. It is left out of the typeset
    /// forms; errors of the estimate count, and what a result lacks for the estimate is its bias.
    ///
    /// # Panics
    /// With debug assertions, if the estimate has another unit than the title.
    pub fn neglect(&mut self, title: Title, estimate: NodeId) -> NodeId {
        self.assert_unit(&title, &estimate.into());
        self.push(
            title,
            0.0,
            Source::Neglected(estimate),
            vec![(estimate, 1.0)],
        )
    }

    /// Returns the correction of a sum of quantities, each times a factor, for all that is neglected in it: its bias.
    /// With it the sum has none; the uncertainty of the correction is in the quantities' own.
    ///
    /// # Panics
    /// With debug assertions, if a quantity has another unit than the title.
    pub fn correction(&mut self, title: Title, of: &[(NodeId, f64)]) -> NodeId {
        for (id, _) in of {
            self.assert_unit(&title, &Expr::from(*id));
        }
        let biases = of
            .iter()
            .map(|(id, factor)| factor * self.uncertainty(*id).bias);
        let bias = biases.sum();
        let first = of.first().map_or(NodeId(0), |(id, _)| *id);
        self.push(title, bias, Source::Correction(first), Vec::new())
    }

    /// Calculates a quantity by a formula over earlier ones.
    ///
    /// # Panics
    /// With debug assertions, if the formula does not give the unit of the title.
    pub fn calculate(&mut self, title: Title, formula: Expr) -> NodeId {
        self.assert_unit(&title, &formula);
        let of = |id: NodeId| self.value(id);
        let value = formula.value(&of);
        let mut mentions = Vec::new();
        formula.gradient(&of, 1.0, &mut mentions);
        self.push(title, value, Source::Calculated(formula), gather(mentions))
    }

    /// Puts in a quantity that was solved for, with its partial derivatives with respect to earlier quantities.
    ///
    /// # Panics
    /// With debug assertions, if the title has not the unit of its coefficient: that of y over a power of that of x.
    pub fn solved(
        &mut self,
        title: Title,
        value: f64,
        partials: Vec<(NodeId, f64)>,
        from: Solved,
    ) -> NodeId {
        if let Some((x, y)) = from.solution.points.first() {
            let power = Expr::from(*x).power(from.coefficient as i32);
            self.assert_unit(&title, &(Expr::from(*y) / power));
        }
        self.push(title, value, Source::Solved(from), gather(partials))
    }

    /// Panics, with debug assertions, if a formula does not give the unit of a title.
    fn assert_unit(&self, title: &Title, formula: &Expr) {
        if cfg!(debug_assertions)
            && let Some(error) = self.unit_error(title, formula)
        {
            panic!("{error}");
        }
    }

    fn push(
        &mut self,
        title: Title,
        value: f64,
        source: Source,
        partials: Vec<(NodeId, f64)>,
    ) -> NodeId {
        let Title {
            mut name,
            symbol,
            unit,
            source: published,
        } = title;
        name.shrink_to_fit();
        let exact_place = self.place_of_source(&source);
        self.tolerances = Tolerances::default();
        self.nodes.push(Box::new(Node {
            exact_place,
            name,
            symbol,
            unit,
            published,
            value,
            source,
            partials: partials.into(),
            remembered: CachedUncertainty::default(),
        }));
        NodeId(self.nodes.len() - 1)
    }
}

/// Adds up the addends of each quantity.
fn gather(mut addends: Vec<(NodeId, f64)>) -> Vec<(NodeId, f64)> {
    addends.sort_by_key(|(id, _)| *id);
    let mut sums: Vec<(NodeId, f64)> = Vec::with_capacity(addends.len());
    for (id, addend) in addends {
        match sums.last_mut() {
            Some((last, sum)) if *last == id => *sum += addend,
            _ => sums.push((id, addend)),
        }
    }
    sums
}
