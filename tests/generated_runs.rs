//! Generated runs: what was done at an invented bench, and its run file.

use crate::common::Generator;
use std::fmt::Write as _;

/// A number with the digits it is written with.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Written(pub(crate) String);

impl Written {
    pub(crate) fn new(value: f64, decimals: usize) -> Self {
        Self(format!("{value:.decimals$}"))
    }

    pub(crate) fn value(&self) -> f64 {
        self.0.parse().expect("written from a number")
    }
}

#[derive(Debug, Clone)]
pub(crate) struct Balance {
    pub(crate) name: &'static str,
    pub(crate) readability: f64,
    pub(crate) repeatability: Option<f64>,
    pub(crate) linearity: Option<f64>,
}

#[derive(Debug, Clone)]
pub(crate) struct Ware {
    pub(crate) name: &'static str,
    kind: &'static str,
    capacity: f64,
    pub(crate) tolerance: f64,
    pub(crate) rectangular: bool,
    pub(crate) repeatability: Option<f64>,
}

#[derive(Debug, Clone)]
pub(crate) enum Origin {
    Pure,
    Unknown,
    ByDifference {
        before: Written,
        after: Written,
        volume: Written,
    },
    Tared {
        mass: Written,
        volume: Written,
    },
    ByMass {
        salt: Written,
        water: Written,
    },
    Dilution {
        of: usize,
        deliveries: Vec<Written>,
        volume: Written,
    },
}

#[derive(Debug, Clone)]
pub(crate) struct Weighing {
    pub(crate) empty: Written,
    pub(crate) filled: Written,
    pub(crate) volume: Written,
    pub(crate) left_out: bool,
}

#[derive(Debug, Clone)]
pub(crate) struct Solution {
    pub(crate) name: &'static str,
    pub(crate) origin: Origin,
    pub(crate) weighings: Vec<Weighing>,
}

/// A run as it was done; indices of solutions are those of the list.
#[derive(Debug, Clone)]
pub(crate) struct Plan {
    /// Molar mass and its standard uncertainty, g/mol, where stated.
    pub(crate) molar_mass: Option<(f64, f64)>,
    /// Purity and its standard uncertainty, %, where stated.
    pub(crate) purity: Option<(f64, f64)>,
    pub(crate) liquid: Written,
    /// For salt and water, and for densities.
    pub(crate) balances: [Balance; 2],
    /// Stock flask, dilution flask, pipette for aliquots, pipette for densities.
    pub(crate) ware: [Ware; 4],
    pub(crate) solutions: Vec<Solution>,
    pub(crate) against: &'static str,
    pub(crate) curve: bool,
    /// `own` or `pooled`; the program's choice without one.
    pub(crate) spread: Option<&'static str>,
}

pub(crate) const SCALES: [&str; 4] = ["mass percent", "mass concentration", "molarity", "molality"];

impl Plan {
    /// A run that depends on the seed alone.
    pub(crate) fn generated(seed: u64) -> Self {
        let mut random = Generator(seed);
        let ware = |name, kind, capacity, tolerance, random: &mut Generator| Ware {
            name,
            kind,
            capacity,
            tolerance,
            rectangular: random.chance(0.4),
            repeatability: random.chance(0.5).then_some(0.008),
        };
        let mut plan = Self {
            molar_mass: random.chance(0.5).then_some((58.443, 0.004)),
            purity: random.chance(0.6).then_some((99.6, 0.2)),
            liquid: Written::new(random.between(15.0, 25.0), 1),
            balances: [("coarse balance", 0.01), ("fine balance", 0.001)].map(
                |(name, readability)| Balance {
                    name,
                    readability,
                    repeatability: random.chance(0.7).then_some(readability),
                    linearity: random.chance(0.5).then_some(2.0 * readability),
                },
            ),
            ware: [
                ware("stock flask", "flask", 250.0, 0.15, &mut random),
                ware("dilution flask", "flask", 100.0, 0.1, &mut random),
                ware("twenty pipette", "pipette", 20.0, 0.03, &mut random),
                ware("ten pipette", "pipette", 10.0, 0.02, &mut random),
            ],
            solutions: Vec::new(),
            against: SCALES[seed as usize % SCALES.len()],
            curve: random.chance(0.3),
            spread: [None, Some("own"), Some("pooled")][seed as usize % 3],
        };
        plan.fill(&mut random);
        plan
    }

    fn fill(&mut self, random: &mut Generator) {
        let stock = random.between(40.0, 60.0);
        let vessel = random.between(15.0, 30.0);
        let volume = || Written::new(250.0, 1);
        let origin = if random.chance(0.5) {
            let (before, after) = (Written::new(vessel + stock, 2), Written::new(vessel, 2));
            Origin::ByDifference {
                before,
                after,
                volume: volume(),
            }
        } else {
            Origin::Tared {
                mass: Written::new(stock, 2),
                volume: volume(),
            }
        };
        let gamma = stock / 0.25;
        // Names by rising place, with the mass concentration in g/L that each is about to have.
        let mut list = vec![("water", Origin::Pure, 0.0), ("A", origin, gamma)];
        let parents = [("B", 1, 4), ("C", 1, 3), ("D", 2, 2), ("E", 4, 3)];
        for (name, of, times) in parents {
            let deliveries = (0..times).map(|_| Written::new(20.0, 2)).collect();
            let concentration = list[of].2 * 0.2 * f64::from(times);
            list.push((
                name,
                Origin::Dilution {
                    of,
                    deliveries,
                    volume: Written::new(100.0, 1),
                },
                concentration,
            ));
        }
        let salt = random.between(8.0, 12.0);
        let origin = Origin::ByMass {
            salt: Written::new(salt, 2),
            water: Written::new(100.0 - salt, 2),
        };
        list.push(("by mass", origin, 10.7 * salt));
        let deliveries = vec![Written::new(20.0, 2), Written::new(20.0, 2)];
        let origin = Origin::Dilution {
            of: 6,
            deliveries,
            volume: Written::new(100.0, 1),
        };
        list.push(("F", origin, 4.28 * salt));
        list.push(("bath", Origin::Unknown, random.between(40.0, 150.0)));
        for (name, origin, concentration) in list {
            let count = match name {
                // Not weighed: known by volume alone.
                "D" => 0,
                _ => 1 + random.below(4),
            };
            let mut weighings: Vec<Weighing> = (0..count)
                .map(|_| weighing(concentration, random))
                .collect();
            if weighings.len() > 1 && random.chance(0.4) {
                let at = random.below(weighings.len());
                weighings[at].left_out = true;
            }
            self.solutions.push(Solution {
                name,
                origin,
                weighings,
            });
        }
    }

    /// The run file.
    pub(crate) fn text(&self, fit: &str) -> String {
        self.text_in_order(fit, &(0..self.solutions.len()).collect::<Vec<_>>())
    }

    /// The run file with its solutions, and their weighings, in an order.
    pub(crate) fn text_in_order(&self, fit: &str, order: &[usize]) -> String {
        let mut text = format!(
            "title: Generated\ndate: 2026-01-05\nanalysts: [R. Example]\nconditions: {{liquid: {} °C}}\n\
             solute: {{name: sodium chloride",
            self.liquid.0
        );
        let mut add =
            |line: std::fmt::Arguments<'_>| text.write_fmt(line).expect("a text takes all");
        if let Some((m, u)) = self.molar_mass {
            add(format_args!(", molar_mass: {m} ± {u} g/mol"));
        }
        if let Some((p, u)) = self.purity {
            add(format_args!(", purity: {p} ± {u} %"));
        }
        add(format_args!("}}\napparatus:\n"));
        for b in &self.balances {
            add(format_args!(
                "  {}: {{kind: balance, readability: {} g",
                b.name, b.readability
            ));
            for (key, limit) in [
                ("repeatability", b.repeatability),
                ("linearity", b.linearity),
            ] {
                if let Some(limit) = limit {
                    add(format_args!(", {key}: {limit} g"));
                }
            }
            add(format_args!("}}\n"));
        }
        for w in &self.ware {
            let spread = if w.rectangular {
                "rectangular"
            } else {
                "triangular"
            };
            let (name, kind, capacity, tolerance) = (w.name, w.kind, w.capacity, w.tolerance);
            add(format_args!(
                "  {name}: {{kind: {kind}, capacity: {capacity} mL, tolerance: {tolerance} mL, spread: {spread}"
            ));
            if let Some(sd) = w.repeatability {
                add(format_args!(", repeatability: {sd} mL"));
            }
            add(format_args!("}}\n"));
        }
        add(format_args!("solutions:\n"));
        for i in order {
            let solution = &self.solutions[*i];
            add(format_args!(
                "  {}: {}\n",
                solution.name,
                self.origin(&solution.origin)
            ));
        }
        let [_, fine] = &self.balances;
        let [.., ten] = &self.ware;
        add(format_args!(
            "density:\n  balance: {}\n  pipette: {}\n",
            fine.name, ten.name
        ));
        if let Some(spread) = self.spread {
            add(format_args!("  repeatability: {spread}\n"));
        }
        add(format_args!("  weighings:\n"));
        for i in order
            .iter()
            .filter(|i| !self.solutions[**i].weighings.is_empty())
        {
            add(format_args!("    {}:\n", self.solutions[*i].name));
            for w in &self.solutions[*i].weighings {
                let reason = if w.left_out {
                    ", left_out: a bubble"
                } else {
                    ""
                };
                let (empty, filled, volume) = (&w.empty.0, &w.filled.0, &w.volume.0);
                add(format_args!(
                    "      - {{empty: {empty} g, filled: {filled} g, volume: {volume} mL{reason}}}\n"
                ));
            }
        }
        let line = if self.curve { "curve" } else { "straight" };
        add(format_args!(
            "calibration: {{against: {}, line: {line}, fit: {fit}}}\n",
            self.against
        ));
        text
    }

    fn origin(&self, origin: &Origin) -> String {
        let [coarse, _] = &self.balances;
        let [stock, flask, pipette, _] = &self.ware;
        let (coarse, stock) = (coarse.name, stock.name);
        match origin {
            Origin::Pure => "{pure: true}".into(),
            Origin::Unknown => "{unknown: true}".into(),
            Origin::ByDifference {
                before,
                after,
                volume,
            } => format!(
                "{{weighed: {{before: {} g, after: {} g, balance: {coarse}}}, made_up: {{to: {} mL, in: {stock}}}}}",
                before.0, after.0, volume.0
            ),
            Origin::Tared { mass, volume } => format!(
                "{{weighed: {{mass: {} g, balance: {coarse}}}, made_up: {{to: {} mL, in: {stock}}}}}",
                mass.0, volume.0
            ),
            Origin::ByMass { salt, water } => format!(
                "{{weighed: {{mass: {} g, balance: {coarse}}}, solvent: {{mass: {} g, balance: {coarse}}}}}",
                salt.0, water.0
            ),
            Origin::Dilution {
                of,
                deliveries,
                volume,
            } => {
                let deliveries: Vec<String> =
                    deliveries.iter().map(|d| format!("{} mL", d.0)).collect();
                format!(
                    "{{aliquot: {{of: {}, volume: [{}], with: {}}}, made_up: {{to: {} mL, in: {}}}}}",
                    self.solutions[*of].name,
                    deliveries.join(", "),
                    pipette.name,
                    volume.0,
                    flask.name
                )
            }
        }
    }
}

/// Ten millilitres of about the right density.
fn weighing(concentration: f64, random: &mut Generator) -> Weighing {
    let empty = random.between(28.31, 28.32);
    let density = 0.9975 + 0.000_66 * concentration + random.between(-8e-4, 8e-4);
    Weighing {
        empty: Written::new(empty, 3),
        filled: Written::new(empty + 10.0 * density, 3),
        volume: Written::new(10.0, 2),
        left_out: false,
    }
}
