//! What somebody typed at the bench: the readings with their digits, and the run file that they make.

use std::fmt::Write as _;

/// A weighing of a vessel, empty and filled, in g as typed.
#[derive(Debug, Clone)]
pub(crate) struct Weighing {
    pub(crate) empty: String,
    pub(crate) filled: String,
    /// mL.
    pub(crate) volume: String,
    /// Named where it is not the pipette of all weighings.
    pub(crate) pipette: Option<&'static str>,
}

/// How a solution was made, as typed.
#[derive(Debug, Clone)]
pub(crate) enum Made {
    Pure,
    Unknown,
    /// Salt by difference, made up to a volume.
    ByDifference {
        before: String,
        after: String,
        to: String,
        vessel: &'static str,
    },
    /// Salt into a tared vessel, made up to a volume.
    Tared {
        mass: String,
        to: String,
        vessel: &'static str,
    },
    /// Salt and water weighed.
    ByMass {
        salt: String,
        water: String,
    },
    /// So many deliveries of another solution, made up to a volume.
    Dilution {
        of: &'static str,
        count: usize,
        each: String,
        with: &'static str,
        to: String,
        vessel: &'static str,
    },
}

/// How the density of a solution was found, as typed.
#[derive(Debug, Clone)]
pub(crate) enum Found {
    Weighings(Vec<Weighing>),
    Cumulative {
        empty: String,
        each: String,
        masses: Vec<String>,
    },
    /// Fillings of the pycnometer, g.
    Fillings(Vec<String>),
    /// Readings of the hydrometer or density meter, g/mL.
    Readings(Vec<String>),
}

/// A pycnometer: masses in g, as typed.
#[derive(Debug, Clone)]
pub(crate) struct Pycnometer {
    pub(crate) empty: String,
    /// Filled with water.
    pub(crate) water: Vec<String>,
    /// How fillings scatter, mL, where that is stated.
    pub(crate) repeatability: Option<f64>,
}

/// A solution, as typed.
#[derive(Debug, Clone)]
pub(crate) struct Solution {
    pub(crate) name: &'static str,
    pub(crate) made: Made,
    pub(crate) found: Option<Found>,
}

/// All that was typed.
#[derive(Debug, Clone)]
pub(crate) struct Notebook {
    /// Temperature of the liquid, °C, with its ± where one is stated.
    pub(crate) liquid: String,
    /// Air temperature (°C), pressure (hPa), humidity (%).
    pub(crate) air: Option<[String; 3]>,
    pub(crate) solute: String,
    /// Name and what stands in its braces.
    pub(crate) apparatus: Vec<(&'static str, String)>,
    /// Ware weighed with water.
    pub(crate) ware_calibration: Vec<(&'static str, Vec<Weighing>)>,
    pub(crate) allow_for: Option<&'static str>,
    pub(crate) solutions: Vec<Solution>,
    /// The pipette of all weighings.
    pub(crate) pipette: Option<&'static str>,
    pub(crate) pycnometer: Option<Pycnometer>,
    pub(crate) instrument: Option<&'static str>,
    pub(crate) repeatability: Option<&'static str>,
    /// What stands in the braces of `calibration`.
    pub(crate) calibration: String,
}

impl Notebook {
    /// The run file.
    pub(crate) fn text(&self) -> String {
        let mut text = format!(
            "title: Simulated\ndate: 2026-03-04\nanalysts: [R. Example]\nconditions: {{liquid: {} °C",
            self.liquid
        );
        if let Some([t, p, h]) = &self.air {
            text += &format!(", air: {t} °C, pressure: {p} hPa, humidity: {h} %");
        }
        text += &format!(
            "}}\nsolute: {{{}}}\npractice: {{rinsed: 3, mixed: inverted ten times}}\napparatus:\n",
            self.solute
        );
        for (name, says) in &self.apparatus {
            let _ = writeln!(text, "  {name}: {{{says}}}");
        }
        if !self.ware_calibration.is_empty() {
            text += "ware_calibration:\n";
            for (name, weighings) in &self.ware_calibration {
                let _ = writeln!(text, "  {name}:\n    weighings:");
                for w in weighings {
                    let _ = writeln!(
                        text,
                        "      - {{empty: {} g, filled: {} g}}",
                        w.empty, w.filled
                    );
                }
            }
        }
        if let Some(allow) = self.allow_for {
            let _ = writeln!(text, "allow_for: {{{allow}}}");
        }
        text += "solutions:\n";
        for solution in &self.solutions {
            let _ = writeln!(text, "  {}: {{{}}}", solution.name, solution.made.text());
        }
        self.densities(&mut text);
        if !self.calibration.is_empty() {
            let _ = writeln!(text, "calibration: {{{}}}", self.calibration);
        }
        text
    }

    fn densities(&self, text: &mut String) {
        *text += "density:\n";
        for (key, said) in [
            ("pipette", self.pipette),
            ("repeatability", self.repeatability),
        ] {
            if let Some(said) = said {
                let _ = writeln!(text, "  {key}: {said}");
            }
        }
        let found = |wanted: fn(&Found) -> bool| {
            let all = self.solutions.iter();
            all.filter_map(move |s| Some((s.name, s.found.as_ref().filter(|f| wanted(f))?)))
        };
        let mut open = |key: &str, wanted: fn(&Found) -> bool| {
            let mut all = found(wanted).peekable();
            if all.peek().is_some() {
                *text += key;
                for (name, found) in all {
                    self.density(text, name, found);
                }
            }
        };
        open("  weighings:\n", |f| matches!(f, Found::Weighings(_)));
        open("  cumulative:\n", |f| matches!(f, Found::Cumulative { .. }));
        open("  readings:\n", |f| matches!(f, Found::Readings(_)));
        if let Some(Pycnometer {
            empty,
            water,
            repeatability,
        }) = &self.pycnometer
        {
            let water = match &water[..] {
                [one] => format!("filled: {one} g"),
                several => {
                    let each: Vec<String> = several
                        .iter()
                        .map(|mass| format!("{{filled: {mass} g}}"))
                        .collect();
                    format!("readings: [{}]", each.join(", "))
                }
            };
            let stated =
                repeatability.map_or(String::new(), |sd| format!("    repeatability: {sd} mL\n"));
            let opening = format!(
                "  pycnometer:\n    empty: {empty} g\n{stated}    water: {{{water}, liquid: {} °C}}\n    readings:\n",
                self.liquid
            );
            open(&opening, |f| matches!(f, Found::Fillings(_)));
        }
    }

    fn density(&self, text: &mut String, name: &str, found: &Found) {
        match found {
            Found::Weighings(all) => {
                let _ = writeln!(text, "    {name}:");
                for w in all {
                    let pipette = w
                        .pipette
                        .map_or(String::new(), |p| format!(", pipette: {p}"));
                    let _ = writeln!(
                        text,
                        "      - {{empty: {} g, filled: {} g, volume: {} mL{pipette}}}",
                        w.empty, w.filled, w.volume
                    );
                }
            }
            Found::Cumulative {
                empty,
                each,
                masses,
            } => {
                let _ = writeln!(
                    text,
                    "    {name}:\n      empty: {empty} g\n      deliveries:"
                );
                for mass in masses {
                    let _ = writeln!(text, "        - {{volume: {each} mL, mass: {mass} g}}");
                }
            }
            Found::Fillings(all) => {
                let all: Vec<String> = all.iter().map(|m| format!("{{filled: {m} g}}")).collect();
                let _ = writeln!(text, "      {name}: [{}]", all.join(", "));
            }
            Found::Readings(all) => {
                let with = self.instrument.unwrap_or_default();
                let read = |d: &String| format!("{{density: {d} g/mL, with: {with}}}");
                let all: Vec<String> = all.iter().map(read).collect();
                let _ = writeln!(text, "    {name}: [{}]", all.join(", "));
            }
        }
    }
}

impl Made {
    fn text(&self) -> String {
        match self {
            Self::Pure => "pure: true".into(),
            Self::Unknown => "unknown: true".into(),
            Self::ByDifference {
                before,
                after,
                to,
                vessel,
            } => format!(
                "weighed: {{before: {before} g, after: {after} g}}, made_up: {{to: {to} mL, in: {vessel}}}"
            ),
            Self::Tared { mass, to, vessel } => {
                format!("weighed: {{mass: {mass} g}}, made_up: {{to: {to} mL, in: {vessel}}}")
            }
            Self::ByMass { salt, water } => {
                format!("weighed: {{mass: {salt} g}}, solvent: {{mass: {water} g}}")
            }
            Self::Dilution {
                of,
                count,
                each,
                with,
                to,
                vessel,
            } => format!(
                "aliquot: {{of: {of}, volume: {count} × {each} mL, with: {with}}}, made_up: {{to: {to} mL, in: {vessel}}}"
            ),
        }
    }
}
