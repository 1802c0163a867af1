//! Results and temperatures as templates see them.

use serde::Serialize;

use crate::bench::quantity::rounding::{Column, Rounded, to_place};
use crate::bench::reduce::DensityResult;
use crate::bench::reduce::results::{CompositionStated, Stated};
use crate::bench::worksheet::{NodeId, Worksheet};

use super::Material;

/// A result as printed.
#[derive(Debug, Serialize)]
pub(super) struct ResultShown {
    /// Value ± expanded uncertainty, rounded.
    pub(super) shown: String,
    /// The value alone, rounded likewise.
    value: String,
    /// The expanded uncertainty alone; absent if at most half a unit of the value's last digit.
    expanded: Option<String>,
    /// The unit of all three; empty for a ratio.
    unit: &'static str,
    /// The coverage factor.
    k: String,
    /// The interval by Monte Carlo, if that is used instead of the expanded uncertainty.
    interval: Option<String>,
}

impl ResultShown {
    pub(super) fn new(stated: &Stated) -> Self {
        let shown_in = stated.shown_in;
        let (value, expanded) = match &stated.rounded {
            Some(rounded) if stated.expanded_uncertainty > 0.0 => {
                let rounded = shown_in.rounded(rounded.clone());
                (rounded.value(), rounded.uncertainty())
            }
            _ => (shown_in.shortest(stated.value, 6), Some("0".into())),
        };
        Self {
            shown: stated.in_report(shown_in),
            value,
            expanded,
            unit: shown_in.unit.symbol,
            k: format!("{:.2}", stated.coverage_factor),
            interval: stated.interval_shown.clone(),
        }
    }
}

/// The numbers of a column of a table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct ColumnShown {
    /// The power of ten that all of them are divided by, if they are: `10⁻³`.
    power: Option<String>,
    /// The numbers from the top; a dash where there is none.
    cells: Vec<String>,
}

impl ColumnShown {
    pub(super) fn new(numbers: impl Iterator<Item = Option<Rounded>>) -> Self {
        let Column { power, cells } = Column::new(&numbers.collect::<Vec<_>>());
        let cells = cells
            .into_iter()
            .map(|cell| cell.unwrap_or_else(|| "–".into()));
        Self {
            power,
            cells: cells.collect(),
        }
    }

    /// Writes results as they are rounded.
    pub(super) fn stated(material: &Material, ids: &[NodeId]) -> Self {
        let ws = &material.reduction.worksheet;
        let stated = ids.iter().map(|id| material.results.manner.state(ws, *id));
        Self::new(stated.map(|stated| Some(stated.shown_in.rounded(stated.rounded?))))
    }

    /// Writes standard uncertainties to two figures.
    pub(super) fn standard_uncertainties(ws: &Worksheet, ids: &[NodeId]) -> Self {
        let each = ids.iter();
        let each = each.map(|id| (ws.uncertainty(*id).standard, ws.shown_in(*id).power));
        Self::significant(each, 2)
    }

    /// Writes values to some significant figures, each with the power of ten that the unit shown asks for.
    pub(super) fn significant(values: impl Iterator<Item = (f64, i32)>, figures: u32) -> Self {
        Self::new(values.map(|(value, power)| {
            Rounded::significant(value, figures).map(|value| value.shifted(power))
        }))
    }
}

/// The composition of a solution.
#[derive(Debug, Serialize)]
pub(super) struct CompositionShown {
    /// Mass percent, %.
    mass_percent: Option<ResultShown>,
    /// Mass of solute in a volume, g/L.
    mass_concentration: Option<ResultShown>,
    /// Amount of solute in a volume, mol/L.
    molarity: Option<ResultShown>,
    /// Amount of solute for a mass of water, mol/kg.
    molality: Option<ResultShown>,
}

impl CompositionShown {
    pub(super) fn new(composition: &CompositionStated) -> Self {
        let show = |stated: &Option<Stated>| stated.as_ref().map(ResultShown::new);
        Self {
            mass_percent: show(&composition.mass_percent),
            mass_concentration: show(&composition.mass_concentration),
            molarity: show(&composition.molarity),
            molality: show(&composition.molality),
        }
    }
}

/// Returns the mean temperature of a density, °C.
pub(super) fn temperature(material: &Material, density: &DensityResult) -> String {
    celsius(&material.reduction.worksheet, density.liquid)
}

/// Returns a temperature, °C, to the last place read; to the hundredth if it was calculated from no reading.
pub(super) fn celsius(ws: &Worksheet, temperature: NodeId) -> String {
    let place = ws.last_place_read(temperature).unwrap_or(-2);
    to_place(ws.value(temperature), place).unwrap_or_default()
}
