//! Corrections of readings: the buoyancy of the air, the expansion of the ware, and the temperatures they go by.
//!
//! What a run does not ask to correct enters the same formulas as a neglected quantity, estimated from what is known of the
//! air and the liquids: see [`Effect`].

use crate::bench::quantity::Unit;
use crate::bench::reference::expansion::{self, Glass};
use crate::bench::reference::{air, brine, water, weighing};
use crate::bench::runfile::model::{Reading, Ref};
use crate::bench::worksheet::{
    Component, Distribution, Expr, Input, Label, NodeId, Symbol, Title, Worksheet,
};
use crate::maths::Math;
use crate::problem::{Code, Problem};

use super::effect::Effect;
use super::instruments::{Instruments, add_reading};

/// Densities, g/mL, by which a weighing is corrected for buoyancy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Buoyancy {
    /// Of the air.
    pub(super) air: NodeId,
    /// Of the weights.
    pub(super) weights: NodeId,
}

impl Instruments<'_> {
    /// Returns the temperature of a liquid, °C: its own reading, or that of the conditions; `None` if neither is
    /// stated.
    pub(super) fn liquid(
        &mut self,
        ws: &mut Worksheet,
        own: Option<&Reading>,
        label: impl Into<Label>,
    ) -> Option<NodeId> {
        let thermometer = self.run.conditions.thermometer.as_ref();
        if let Some(reading) = own {
            let label = label.into();
            let of = match label.number {
                Some(number) => format!("{}, no. {number}", label.of),
                None => label.to_string(),
            };
            let title = Title::new(
                format!("temperature of {of}"),
                Symbol::labelled("t", &label),
                &Unit::CELSIUS,
            );
            return Some(self.temperature(ws, title, reading, thermometer));
        }
        if self.allowances.liquid.is_none() {
            let reading = self.run.conditions.liquid.as_ref()?;
            let title = Title::new("temperature of the liquids", "t", &Unit::CELSIUS);
            self.allowances.liquid = Some(self.temperature(ws, title, reading, thermometer));
        }
        self.allowances.liquid
    }

    /// Returns what weighings are corrected for buoyancy by; neglected air where the run does not ask for it.
    pub(super) fn buoyancy(&mut self, ws: &mut Worksheet) -> Buoyancy {
        if self.run.allow_for.air_buoyancy.is_some() {
            return self.surroundings(ws);
        }
        let no_air = self.allowances.no_air.unwrap_or_else(|| {
            let air = self.air(ws);
            let symbol = "ρ_air'";
            self.allowances
                .neglect(ws, Effect::AirBuoyancy, symbol, air)
        });
        self.allowances.no_air = Some(no_air);
        Buoyancy {
            air: no_air,
            weights: self.weights(ws),
        }
    }

    /// Air and weights, whether the run asks for corrections or not.
    pub(super) fn surroundings(&mut self, ws: &mut Worksheet) -> Buoyancy {
        self.air_in_range();
        Buoyancy {
            air: self.air(ws),
            weights: self.weights(ws),
        }
    }

    /// Returns the density of the air, if a correction goes by it.
    pub(super) fn air_used(&self) -> Option<NodeId> {
        self.allowances.air.filter(|_| self.allowances.air_used)
    }

    /// Returns the density of a liquid (g/mL) from what the balance showed (g) for a volume (mL).
    pub(super) fn density_of(
        &mut self,
        ws: &mut Worksheet,
        reading: Expr,
        true_volume: Expr,
    ) -> Expr {
        let by = self.buoyancy(ws);
        weighing::density(reading, true_volume, by.air, by.weights)
    }

    /// Returns the mass of salt weighed, g, corrected for buoyancy if the run asks for it.
    pub(super) fn mass_of_salt(&mut self, ws: &mut Worksheet, name: &str, read: NodeId) -> Expr {
        let by = self.buoyancy(ws);
        let crystals = self.crystals(ws);
        let title = Title::new(
            format!("mass of salt in {name}, corrected for the buoyancy of the air"),
            Symbol::new("m", "true", name),
            &Unit::GRAM,
        );
        let mass = weighing::mass(read, by.air, by.weights, crystals);
        self.corrected(ws, title, mass)
    }

    /// Returns a mass, g: a quantity of its own if the run asks for it to be corrected for buoyancy.
    fn corrected(&self, ws: &mut Worksheet, title: Title, mass: Expr) -> Expr {
        match self.run.allow_for.air_buoyancy {
            Some(_) => ws.calculate(title, mass).into(),
            None => mass,
        }
    }

    /// Returns the mass of water weighed, g, corrected for buoyancy if the run asks for it.
    pub(super) fn mass_of_water(&mut self, ws: &mut Worksheet, name: &str, read: NodeId) -> Expr {
        let by = self.buoyancy(ws);
        let density = match self.run.allow_for.air_buoyancy {
            Some(_) => self.water(ws).map(Expr::from),
            // An estimate does not depend on the third digit.
            None => Some(Expr::exactly(1.0, &Unit::GRAM_PER_MILLILITRE)),
        };
        let Some(density) = density else {
            return read.into();
        };
        let title = Title::new(
            format!("mass of water in {name}, corrected for the buoyancy of the air"),
            Symbol::new("m", "w,true", name),
            &Unit::GRAM,
        );
        let mass = weighing::mass(read, by.air, by.weights, density);
        self.corrected(ws, title, mass)
    }

    /// Returns the volume of ware at a temperature (°C) over that at 20 °C, its expansion neglected where the run does
    /// not ask for it; `None` if no ware was used or no temperature is stated.
    pub(super) fn expanded(
        &mut self,
        ws: &mut Worksheet,
        ware: Option<&Ref>,
        t: Option<NodeId>,
    ) -> Option<Expr> {
        let glass = self.run.apparatus[ware?.value].glass;
        Some(self.grown(ws, glass, t?, None))
    }

    /// Returns the volume of ware at a temperature over that at another one, or at 20 °C (all °C), its expansion
    /// neglected where the run does not ask for it.
    pub(super) fn grown(
        &mut self,
        ws: &mut Worksheet,
        glass: Glass,
        t: NodeId,
        from: Option<NodeId>,
    ) -> Expr {
        let coefficient = self.expansion(ws, glass);
        let relative = match from {
            Some(from) => expansion::between(coefficient, from, t),
            None => expansion::from_reference(coefficient, t),
        };
        if self.run.allow_for.ware_temperature.is_some() {
            return expansion::grown(relative);
        }
        let key = (glass, t, from);
        let neglected = self.allowances.no_expansion.get(&key).copied();
        let neglected = neglected.unwrap_or_else(|| {
            let title = Title::new("relative expansion of glassware", "ϵ", &Unit::ONE);
            let estimate = ws.calculate(title, relative);
            self.allowances
                .neglect(ws, Effect::WareExpansion, "ϵ'", estimate)
        });
        self.allowances.no_expansion.insert(key, neglected);
        expansion::grown(neglected)
    }

    /// Returns the cubic expansion coefficient of a glass, 1/°C.
    pub(super) fn expansion(&mut self, ws: &mut Worksheet, glass: Glass) -> NodeId {
        let mark = match glass {
            Glass::Borosilicate => "b",
            Glass::SodaLime => "s",
        };
        *self.allowances.expansion.entry(glass).or_insert_with(|| {
            let coefficient = glass.coefficient();
            let u = expansion::RELATIVE_STANDARD_UNCERTAINTY * coefficient;
            let components = vec![Component::normal("published value", u)];
            let title = Title::new(
                format!("cubic expansion coefficient of {}", glass.name()),
                Math::from("α").subscript(Math::label(mark)),
                &expansion::COEFFICIENT_UNIT,
            );
            ws.quoted(title, &format!("{coefficient:e}"), components)
        })
    }

    /// Returns the density of water at the temperature of the liquids, g/mL; none, with a problem, outside the
    /// published range.
    pub(super) fn water(&mut self, ws: &mut Worksheet) -> Option<NodeId> {
        if self.allowances.water.is_none() {
            let reading = self.run.conditions.liquid.as_ref()?;
            let t = self.liquid(ws, None, "")?;
            self.allowances.water = self.water_at(ws, "liquids", t, reading);
        }
        self.allowances.water
    }

    /// Returns the published density of pure water at a temperature, g/mL; none, with a problem at the temperature's
    /// entry, outside the published range.
    pub(super) fn water_at(
        &mut self,
        ws: &mut Worksheet,
        label: &str,
        t: NodeId,
        reading: &Reading,
    ) -> Option<NodeId> {
        if !water::TEMPERATURES.contains(&ws.value(t)) {
            let (low, high) = (water::TEMPERATURES.start(), water::TEMPERATURES.end());
            self.problems.push(outside(
                reading,
                "no density of water is available at this temperature",
                format!("a temperature from {low} °C to {high} °C"),
            ));
            return None;
        }
        Some(published_water(ws, label, t))
    }

    fn crystals(&mut self, ws: &mut Worksheet) -> NodeId {
        if let Some(id) = self.allowances.crystals {
            return id;
        }
        let title = Title::new(
            "density of the dry salt",
            "ρ_crystal",
            &Unit::GRAM_PER_MILLILITRE,
        );
        let id = match (&self.run.solute.density, self.run.solute.salt()) {
            (Some(stated), _) => add_reading(ws, title, stated, Vec::new()),
            (None, salt) => {
                // The reader of run files lets no correction through without a density of the salt.
                let (digits, u) = salt.map_or(brine::ANY_CRYSTALS, |salt| {
                    (salt.crystals, brine::CRYSTAL_STANDARD_UNCERTAINTY)
                });
                ws.quoted(title, digits, vec![Component::normal("published value", u)])
            }
        };
        self.allowances.crystals = Some(id);
        id
    }

    fn weights(&mut self, ws: &mut Worksheet) -> NodeId {
        if let Some(id) = self.allowances.weights {
            return id;
        }
        let asked = self.run.allow_for.air_buoyancy.as_ref();
        let title = Title::new(
            "density of the weights",
            "ρ_weights",
            &Unit::GRAM_PER_MILLILITRE,
        );
        let id = match asked.and_then(|asked| asked.weights.as_ref()) {
            Some(stated) => add_reading(ws, title, stated, Vec::new()),
            None => ws.input(title, air::CONVENTIONAL_WEIGHTS, Input::default()),
        };
        self.allowances.weights = Some(id);
        id
    }

    /// Returns the density of the air, g/mL: by the conditions, or where they do not tell it, the conventional one.
    fn air(&mut self, ws: &mut Worksheet) -> NodeId {
        if let Some(id) = self.allowances.air {
            return id;
        }
        let c = &self.run.conditions;
        let id = match (&c.air, &c.pressure, &c.humidity) {
            (Some(t), Some(p), Some(h)) => air_by_conditions(ws, t, p, h),
            _ => conventional_air(ws),
        };
        self.allowances.air = Some(id);
        id
    }

    /// A problem for each condition of the air that its formula does not hold for, once a correction goes by it.
    fn air_in_range(&mut self) {
        if std::mem::replace(&mut self.allowances.air_used, true) {
            return;
        }
        let c = &self.run.conditions;
        let (Some(t), Some(p), Some(_)) = (&c.air, &c.pressure, &c.humidity) else {
            return;
        };
        for (reading, range, unit) in [(t, air::TEMPERATURES, "°C"), (p, air::PRESSURES, "hPa")] {
            if !range.contains(&reading.value.value) {
                let right = format!("from {} {unit} to {} {unit}", range.start(), range.end());
                let why = "no density of air is available for this condition";
                self.problems.push(outside(reading, why, right));
            }
        }
    }
}

/// Returns the published density of pure water at a temperature, g/mL, with its own uncertainty.
pub(super) fn published_water(ws: &mut Worksheet, label: impl Into<Label>, t: NodeId) -> NodeId {
    let label = &label.into();
    let error = published_error(
        ws,
        Title::new(
            format!("error of the published density of water, {label}"),
            Symbol::new("δ", "w", label),
            &Unit::GRAM_PER_MILLILITRE,
        ),
        water::STANDARD_UNCERTAINTY,
    );
    let title = Title::new(
        format!("density of water, {label}"),
        Symbol::new("ρ", "w", label),
        &Unit::GRAM_PER_MILLILITRE,
    );
    ws.calculate(
        title.published(water::SOURCE),
        Expr::Sum(vec![water::density(t), error.into()]),
    )
}

/// Returns the unknown error of a published value, estimated as zero.
pub(super) fn published_error(ws: &mut Worksheet, title: Title, u: f64) -> NodeId {
    ws.unseen(title, vec![Component::normal("published values", u)])
}

/// Returns a problem with a reading that a published formula does not reach.
pub(super) fn outside(reading: &Reading, why: &str, right: String) -> Problem {
    let quantity = &reading.value;
    Code::OutsidePublishedRange
        .error(format!("{}: {why}.", reading.entry.name))
        .at_entry(&reading.entry)
        .read(format!("{} {}", quantity.number.text, quantity.unit.symbol))
        .right(right)
}

fn conventional_air(ws: &mut Worksheet) -> NodeId {
    let thousandth = 1e-3;
    let u = air::CONVENTIONAL_STANDARD_UNCERTAINTY * thousandth;
    let input = Input {
        components: vec![Component::normal("air not measured", u)],
        ..Input::default()
    };
    let title = Title::new(
        "conventional density of the air",
        "ρ_air",
        &Unit::GRAM_PER_MILLILITRE,
    );
    ws.input(title, air::CONVENTIONAL * thousandth, input)
}

fn air_by_conditions(
    ws: &mut Worksheet,
    temperature: &Reading,
    pressure: &Reading,
    humidity: &Reading,
) -> NodeId {
    let read = |ws: &mut Worksheet, name: &str, symbol: &str, unit, reading: &Reading| {
        let half = reading.value.half_last_place();
        let rounding = Component::within("readability", half, Distribution::Rectangular);
        add_reading(ws, Title::new(name, symbol, unit), reading, vec![rounding])
    };
    let t = read(
        ws,
        "temperature of the air",
        "t_air",
        &Unit::CELSIUS,
        temperature,
    );
    let p = read(
        ws,
        "pressure of the air",
        "p'",
        &Unit::HECTOPASCAL,
        pressure,
    );
    let h = read(ws, "relative humidity", "h", &Unit::ONE, humidity);
    let step = |ws: &mut Worksheet, name: &str, symbol: &str, unit, formula| {
        ws.calculate(Title::new(name, symbol, unit), formula)
    };
    let kelvin = Expr::from(t) + Expr::exactly(273.15, &Unit::KELVIN);
    let kelvin = step(
        ws,
        "thermodynamic temperature of the air",
        "T",
        &Unit::KELVIN,
        kelvin,
    );
    let pascal = Expr::conversion(&Unit::HECTOPASCAL, &Unit::PASCAL) * p;
    let pascal = step(
        ws,
        "pressure of the air in pascal",
        "p",
        &Unit::PASCAL,
        pascal,
    );
    let saturation = air::saturation_pressure(kelvin);
    let saturation = step(
        ws,
        "saturation vapour pressure",
        "p_sv",
        &Unit::PASCAL,
        saturation,
    );
    let enhancement = air::enhancement(pascal, t);
    let enhancement = step(ws, "enhancement factor", "f", &Unit::ONE, enhancement);
    let vapour = air::vapour_fraction(h, enhancement, saturation, pascal);
    let vapour = step(
        ws,
        "mole fraction of water vapour",
        "x_v",
        &Unit::ONE,
        vapour,
    );
    let virial = air::virial(t, vapour);
    let virial = step(
        ws,
        "first virial sum of moist air",
        "ψ",
        &air::KELVIN_PER_PASCAL,
        virial,
    );
    let compressibility = air::compressibility(pascal, kelvin, virial, vapour);
    let compressibility = step(
        ws,
        "compressibility factor",
        "Z",
        &Unit::ONE,
        compressibility,
    );
    let formula = air::density(pascal, compressibility, kelvin, vapour);
    let about = formula.value(&|id| ws.value(id));
    let error = published_error(
        ws,
        Title::new(
            "error of the formula for the density of air",
            "δ_air",
            &Unit::GRAM_PER_MILLILITRE,
        ),
        air::RELATIVE_STANDARD_UNCERTAINTY * about,
    );
    step(
        ws,
        "density of the air",
        "ρ_air",
        &Unit::GRAM_PER_MILLILITRE,
        Expr::Sum(vec![formula, error.into()]),
    )
}
