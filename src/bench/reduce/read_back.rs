//! The composition of an unknown, read back from the calibration by its density.

use crate::bench::fit::{self, Fieller};
use crate::bench::quantity::Unit;
use crate::bench::runfile::model::Scale;
use crate::bench::worksheet::{Expr, Label, NodeId, Symbol, Title, Worksheet};
use crate::problem::{Code, Problem};

use super::CalibrationResult;
use super::allowances::published_error;
use super::choice::{Choice, NEGLIGIBLE, Shaped};
use super::composition::title as composition_title;
use super::coverage_factor::coverage_factor;
use super::judgement::PointErrors;
use super::roots::{NoRoot, rising_at_root, single_root};

/// A line or curve that densities are read back from.
#[derive(Debug, Clone, Copy)]
pub(super) struct Curve<'a> {
    /// The abscissa.
    pub(super) against: Scale,
    /// The coefficients, rising powers.
    pub(super) coefficients: &'a [NodeId],
    /// The lowest and highest composition of its points.
    pub(super) range: (f64, f64),
}

/// A measured density to be read back.
#[derive(Debug, Clone, Copy)]
pub(super) struct Read {
    /// The density, g/mL.
    pub(super) density: NodeId,
    /// The departure of the published density from the line at the composition found, g/mL, where it matters; an input of
    /// value zero.
    pub(super) departure: Option<NodeId>,
}

impl Read {
    /// Returns the density that the line has at the composition sought, as a formula.
    fn formula(self) -> Expr {
        match self.departure {
            Some(departure) => Expr::from(self.density) - departure,
            None => Expr::from(self.density),
        }
    }
}

/// How far the published density departs from the line relied on at an unknown, where that is not negligible.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeftOut {
    /// The departure in the composition found, in the unit of the calibration's scale, unsigned.
    pub composition: f64,
    /// The departure, g/mL, as an input of value zero: a known effect that is not corrected, of the size of its standard
    /// uncertainty. `None` where the run file asks for the line: its answer has the uncertainty of that line.
    pub counted: Option<NodeId>,
}

impl LeftOut {
    /// `None` if the departure is negligible beside the uncertainty of the density less the fitted one, or not known.
    pub(super) fn new(
        ws: &mut Worksheet,
        calibration: &CalibrationResult,
        (shaped, coverage): (&Shaped, f64),
        name: &str,
        density: NodeId,
    ) -> Option<Self> {
        let fitted = &calibration.fitted;
        let range = calibration.range(ws);
        let x = single_root(&fitted.coefficients, ws.value(density), range).ok()?;
        let departure = shaped.departure(x)?.abs();
        let errors = PointErrors::new(ws, &calibration.points);
        let uncertainty = errors.of_reading(fitted, Some(density), x);
        let expanded = coverage_factor(coverage, &uncertainty) * uncertainty.standard;
        let title = Title::new(
            format!("departure of the published density from the calibration at {name}"),
            Symbol::new("δ", "shape", name),
            &Unit::GRAM_PER_MILLILITRE,
        );
        (departure > NEGLIGIBLE * expanded).then(|| Self {
            composition: (departure / fitted.slope(x)).abs(),
            counted: (calibration.choice != Choice::Asked)
                .then(|| published_error(ws, title, departure)),
        })
    }
}

/// Reads a density back from the calibration: the composition on its scale.
///
/// Straight: `(ρ − b0)/b1`. Curve: the one root in the range of the points; where there is none, the root on the curve's
/// continuation beyond the range, as long as the curve keeps rising, or falling, all the way there.
///
/// # Errors
/// A problem, where no composition has that density, or more than one.
pub(super) fn read_back(
    ws: &mut Worksheet,
    curve: Curve<'_>,
    name: impl Into<Label>,
    read: Read,
) -> Result<NodeId, Problem> {
    let name = name.into();
    let title = composition_title(curve.against, &name);
    let found = root(ws, curve, &name, read)
        .map(|formula| ws.calculate(title, formula))
        .and_then(|id| {
            if ws.value(id).is_finite() {
                Ok(id)
            } else {
                Err(NoRoot::None)
            }
        });
    found.map_err(|why| {
        let (low, high) = curve.range;
        let scale = format!("{} ({})", curve.against.label(), curve.against.unit().symbol);
        let (code, headline) = match why {
            NoRoot::None => (
                Code::NotOnTheCurve,
                format!("No {scale} on the calibration has the density of {name}."),
            ),
            NoRoot::Turned => (
                Code::NotOnTheCurve,
                format!(
                    "No {scale} between {low:.4} and {high:.4} has the density of {name}, and the curve turns there \
                     and cannot be followed further."
                ),
            ),
            NoRoot::Two => (
                Code::TwiceOnTheCurve,
                format!(
                    "The curve turns: two values of {scale} between {low:.4} and {high:.4} have the density of {name}."
                ),
            ),
        };
        let right = "a density within the range of the calibration, points that make the curve rise or fall throughout, \
                     or `line: straight`";
        code.error(headline)
                .at(format!("solutions.{name}"), None)
                .read(format!("{:.5} g/mL", ws.value(read.density)))
                .right(right)
    })
}

/// Returns the composition by a line asked for that stands beside the one relied on; `None` where [`read_back`] would
/// have a problem.
pub(super) fn by_refused_line(
    ws: &mut Worksheet,
    line: &CalibrationResult,
    name: impl Into<Label>,
    read: Read,
) -> Option<NodeId> {
    let name = name.into();
    let curve = line.curve(ws);
    let formula = root(ws, curve, &name, read).ok()?;
    let title = composition_title(line.against, name);
    let beside = Title::new(
        format!("{} from the line asked for", title.name),
        title.symbol.prime(),
        title.unit,
    );
    let id = ws.calculate(beside, formula);
    Some(id).filter(|id| ws.value(*id).is_finite())
}

/// Returns the formula of the composition that has a density. Of a curve, the density above its intercept is a quantity
/// by itself: the formula would be too wide for a page with it written out.
fn root(ws: &mut Worksheet, curve: Curve<'_>, name: &Label, read: Read) -> Result<Expr, NoRoot> {
    let (b0, b1, b2) = match *curve.coefficients {
        [b0, b1] => return Ok((read.formula() - b0) / b1),
        [b0, b1, b2] => (b0, b1, b2),
        _ => return Err(NoRoot::None),
    };
    let rising = rising_at_root(
        [b0, b1, b2].map(|id| ws.value(id)),
        ws.value(read.density),
        curve.range,
    )?;
    let above = Title::new(
        format!("density of {name} above the intercept"),
        Symbol::new("Δρ", "above", name),
        &Unit::GRAM_PER_MILLILITRE,
    );
    let above = ws.calculate(above, read.formula() - b0);
    let root = (Expr::from(b1).power(2) + Expr::number(4.0) * b2 * above).root();
    // At the root, the slope b1 + 2 b2 x is plus or minus the root of the discriminant. Of the two ways to write the
    // solution, the one that adds numbers of one sign keeps their digits.
    Ok(match (rising, ws.value(b1) >= 0.0) {
        (true, true) => Expr::number(2.0) * above / (Expr::from(b1) + root),
        (false, false) => Expr::number(2.0) * above / (Expr::from(b1) - root),
        (true, false) => (root - b1) / (Expr::number(2.0) * b2),
        (false, true) => -(Expr::from(b1) + root) / (Expr::number(2.0) * b2),
    })
}

/// Fieller's interval of a composition read back from a straight line, at coverage factor `factor`, with all that the
/// density and the line share, and the departure that the density is read back with; `None` for a curve, or if the slope does not differ from zero at this factor.
pub fn fieller(
    ws: &Worksheet,
    calibration: &CalibrationResult,
    (density, departure): (NodeId, Option<NodeId>),
    factor: f64,
) -> Option<Fieller> {
    let &[b0, b1] = calibration.coefficients.as_slice() else {
        return None;
    };
    let of = [density, b0, b1];
    let mut matrix = ws.covariances(&of);
    matrix[0][0] += departure.map_or(0.0, |id| ws.covariance(id, id));
    let covariance = std::array::from_fn(|i| std::array::from_fn(|j| matrix[i][j]));
    let [reading, intercept, slope] = of.map(|id| ws.value(id));
    fit::fieller(reading, [intercept, slope], &covariance, factor)
}
