//! Densities from what the scale of a hydrometer or density meter shows: specific gravity, degrees Baumé, per cent of
//! saturation, or density at another temperature than that of its scale.

use crate::bench::quantity::Unit;
use crate::bench::quantity::rounding::without_last_zeros;
use crate::bench::reference::{brine_strength, expansion, water};
use crate::bench::runfile::model::{ApparatusKind, InstrumentScale, Reading, Ref, Shows};
use crate::bench::worksheet::{
    Component, Distribution, Expr, Input, Label, NodeId, Symbol, Title, Worksheet,
};
use crate::problem::Code;

use super::allowances::{published_error, published_water};
use super::instruments::{Definition, Instruments, Repeatability, add_reading};

impl Instruments<'_> {
    /// Returns the density (g/mL) by a reading of an instrument at a temperature (°C).
    pub(super) fn density_shown(
        &mut self,
        ws: &mut Worksheet,
        (label, spoken): (&Label, &str),
        (reading, with): (&Reading, Option<&Ref>),
        t: NodeId,
        repeatability: Repeatability,
    ) -> NodeId {
        let title = Title::new(
            format!("density, {spoken}"),
            Symbol::labelled("ρ", label),
            &Unit::GRAM_PER_MILLILITRE,
        );
        let run = self.run;
        let scale =
            with.and_then(|with| Some((with.value, run.apparatus[with.value].scale.as_ref()?)));
        let Some((index, scale)) = scale else {
            return self.indicated(ws, title, reading, with, repeatability);
        };
        let definition = self.definition(ws, index, scale);
        let (name, symbol, unit) = match &scale.shows {
            Shows::Density => (
                "density shown",
                Symbol::new("ρ", "read", label),
                &Unit::GRAM_PER_MILLILITRE,
            ),
            Shows::SpecificGravity(_) => (
                "specific gravity shown",
                Symbol::new("d", "read", label),
                &Unit::ONE,
            ),
            Shows::DegreesBaume(_) => (
                "degrees Baumé shown",
                Symbol::new("B", "read", label),
                &Unit::DEGREE_BAUME,
            ),
            Shows::Saturation(_) => (
                "percent of saturation shown",
                Symbol::new("Ω", "read", label),
                &Unit::PERCENT,
            ),
        };
        let shown = Title::new(format!("{name}, {spoken}"), symbol, unit);
        let shown = self.indicated(ws, shown, reading, with, repeatability);
        let held = self.held(ws, (label, spoken), scale, definition, shown);
        match definition.glass {
            Some(glass) => {
                let formula = expansion::shown_by_hydrometer(held, glass, t, definition.standard);
                ws.calculate(title.published(expansion::HYDROMETER_SOURCE), formula)
            }
            None => ws.calculate(title, held),
        }
    }

    /// Returns the density (g/mL) that a scale shows where it holds.
    fn held(
        &mut self,
        ws: &mut Worksheet,
        (label, spoken): (&Label, &str),
        scale: &InstrumentScale,
        of: Definition,
        shown: NodeId,
    ) -> Expr {
        let relative = |gravity: Expr| match of.water {
            Some(water) => gravity * water,
            None => gravity,
        };
        match (&scale.shows, of.constant) {
            (Shows::DegreesBaume(_), Some(modulus)) => {
                let title = Title::new(
                    format!("specific gravity, {spoken}"),
                    Symbol::new("d", "read", label),
                    &Unit::ONE,
                );
                let gravity = brine_strength::gravity_of_baume(modulus, shown);
                relative(ws.calculate(title, gravity).into())
            }
            (Shows::Saturation(_), Some(saturated)) => {
                let title = Title::new(
                    format!("mass percent corresponding to the reading, {spoken}"),
                    Symbol::new("w", "scale", label),
                    &Unit::PERCENT,
                );
                let formula =
                    Expr::from(shown) / Expr::conversion(&Unit::ONE, &Unit::PERCENT) * saturated;
                let w = ws.calculate(title, formula);
                self.of_strength(ws, (label, spoken), scale, (w, of.standard))
            }
            _ => relative(shown.into()),
        }
    }

    /// Returns the density (g/mL) that a scale of strength stands for, by the published one.
    fn of_strength(
        &mut self,
        ws: &mut Worksheet,
        (label, spoken): (&Label, &str),
        scale: &InstrumentScale,
        (w, t): (NodeId, NodeId),
    ) -> Expr {
        let salt = self.run.solute.salt().filter(|salt| salt.formula == "NaCl");
        let Some(salt) = salt else {
            let problem = Code::NoSuchScale
                .error("Percent of saturation is a scale for sodium chloride brine.");
            let (name, span) = (scale.entry.name.clone(), scale.entry.span.clone());
            self.problems.push(
                problem
                    .at(name, Some(span))
                    .right("another scale, or sodium chloride as the solute"),
            );
            return Expr::exactly(1.0, &Unit::GRAM_PER_MILLILITRE);
        };
        let at = &label.state("on the scale");
        let density = self.definitions.published.density(ws, at, salt, w, t);
        let title = Title::new(
            format!("error of the density corresponding to the reading, {spoken}"),
            Symbol::new("δ", "scale", label),
            &Unit::GRAM_PER_MILLILITRE,
        );
        let u = salt.standard_uncertainty(ws.value(w) / 100.0);
        Expr::from(density) + published_error(ws, title, u)
    }

    /// Returns the quantities in the definition of an instrument's scale.
    fn definition(
        &mut self,
        ws: &mut Worksheet,
        index: usize,
        scale: &InstrumentScale,
    ) -> Definition {
        if let Some(known) = self.definitions.of.get(&index) {
            return *known;
        }
        let apparatus = &self.run.apparatus[index];
        let name = apparatus.name.value.as_str();
        let title = Title::new(
            format!("reference temperature of the scale of {name}"),
            Symbol::new("t", "0", name),
            &Unit::CELSIUS,
        );
        let standard = exactly(ws, title, &scale.standard);
        let (water, constant) = match &scale.shows {
            Shows::Density => (None, None),
            Shows::SpecificGravity(at) => {
                let at = at.as_ref().map_or(standard, |at| {
                    let title = Title::new(
                        format!("temperature of the reference water of {name}"),
                        Symbol::new("t", "w", name),
                        &Unit::CELSIUS,
                    );
                    exactly(ws, title, at)
                });
                (Some(self.water_of_scale(ws, (index, scale), at)), None)
            }
            Shows::DegreesBaume(modulus) => {
                let title = Title::new(
                    format!("modulus of {name}"),
                    Symbol::new("B", "mod", name),
                    &Unit::DEGREE_BAUME,
                );
                let modulus = add_reading(ws, title, modulus, Vec::new());
                (
                    Some(self.water_of_scale(ws, (index, scale), standard)),
                    Some(modulus),
                )
            }
            Shows::Saturation(saturated) => {
                let title = Title::new(
                    format!("mass percent at saturation on the scale of {name}"),
                    Symbol::new("w", "sat", name),
                    &Unit::PERCENT,
                );
                let input = Input {
                    origin: (&saturated.entry.name).into(),
                    ..Input::default()
                };
                let id = ws.input(title, 100.0 * saturated.value.value, input);
                (None, Some(id))
            }
        };
        let hydrometer = apparatus.kind == ApparatusKind::Hydrometer;
        let definition = Definition {
            standard,
            water,
            constant,
            glass: hydrometer.then(|| self.hydrometer_glass(ws)),
        };
        self.definitions.of.insert(index, definition);
        definition
    }

    /// Returns the density of the water that a scale is relative to, g/mL, at a temperature (°C).
    fn water_of_scale(
        &mut self,
        ws: &mut Worksheet,
        (index, scale): (usize, &InstrumentScale),
        t: NodeId,
    ) -> NodeId {
        if !water::TEMPERATURES.contains(&ws.value(t)) {
            let range = &water::TEMPERATURES;
            self.problems.push(super::allowances::outside(
                &scale.standard,
                "no density of water is published at that temperature",
                format!("{} °C to {} °C", range.start(), range.end()),
            ));
        }
        let name = &self.run.apparatus[index].name.value;
        published_water(ws, Label::from(name), t)
    }

    fn hydrometer_glass(&mut self, ws: &mut Worksheet) -> NodeId {
        *self.definitions.glass.get_or_insert_with(|| {
            let coefficient = expansion::HYDROMETER_COEFFICIENT;
            let limit = expansion::RELATIVE_STANDARD_UNCERTAINTY * coefficient * 3f64.sqrt();
            let component = Component::within("kind of glass", limit, Distribution::Rectangular);
            let title = Title::new(
                "cubic expansion coefficient of the glass of hydrometers",
                "α_glass",
                &Unit::PER_CELSIUS,
            );
            ws.quoted(title, &format!("{coefficient:e}"), vec![component])
        })
    }
}

/// Returns a temperature of a definition, °C, printed to four decimals where it is written in another unit.
fn exactly(ws: &mut Worksheet, title: Title, reading: &Reading) -> NodeId {
    if reading.value.unit.symbol == title.unit.symbol {
        return add_reading(ws, title, reading, Vec::new());
    }
    let text = format!("{:.4}", reading.value.value);
    let input = Input {
        origin: (&reading.entry.name).into(),
        digits: Some(without_last_zeros(&text).into()),
        ..Input::default()
    };
    ws.input(title, reading.value.value, input)
}
