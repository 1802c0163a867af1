//! The run file of a run that follows a plan: ready for readings, or with those that are expected.
//!
//! Both are written by the same lines, so that the one filled in with what the other expects is the other.

use super::apparatus::word;
use super::lines::Lines;
use super::model::{Apparatus, Class, Glass, Reading, Scale, Spread};
use super::plan::PlanFile;
use super::unfinished::PLANNED;
use super::vocabulary::{Choice, Key, KeyInfo};
use super::words;

/// What is written where a reading belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Readings {
    /// Nothing: it is still to be read.
    Blank,
    /// What is expected to be read.
    Expected,
}

/// A run that follows a plan. Apparatus is named by its index in the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedRun<'p> {
    /// What the plan file says.
    pub plan: &'p PlanFile,
    /// The apparatus: the plan's, or what is tried in its place.
    pub apparatus: &'p [Apparatus],
    /// The solutions, in order, each with how it comes to be.
    pub solutions: Vec<PlannedSolution>,
    /// How their densities are measured; `None` if they are not.
    pub density: Option<PlannedDensity>,
}

/// A solution of such a run.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedSolution {
    /// Its name.
    pub name: String,
    /// How it comes to be.
    pub made: PlannedMade,
    /// The readings expected of its weighings, with their unit: the vessel empty and filled.
    pub weighings: Vec<[String; 2]>,
}

/// How a solution comes to be.
#[derive(Debug, Clone, PartialEq)]
pub enum PlannedMade {
    /// It is water.
    Pure,
    /// It is to be found.
    Unknown,
    /// Salt is weighed into a tared vessel and made up.
    Weighed {
        /// The reading expected, with its unit.
        mass: String,
        /// The balance; `None` if the reading states its own uncertainty.
        balance: Option<usize>,
        /// The volume made up to, with its unit.
        to: String,
        /// The flask or cylinder; `None` if the volume states its own uncertainty.
        vessel: Option<usize>,
    },
    /// Another solution is diluted.
    Diluted {
        /// Its name.
        of: String,
        /// The volume taken, as written: `2 × 25 mL`.
        volume: String,
        /// What delivers it.
        with: usize,
        /// The volume made up to, with its unit.
        to: String,
        /// The flask or cylinder.
        vessel: usize,
    },
}

/// How densities are found: known volumes weighed.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedDensity {
    /// The balance.
    pub balance: usize,
    /// What measures the volume.
    pub ware: usize,
    /// The volume, as written.
    pub volume: String,
    /// The scale of composition for the calibration.
    pub against: Scale,
}

const HEAD: &str = "\
# A run that follows a plan. Type each reading after its colon with all the digits that were read: 5.00 is not 5.
# If the work differs from the plan, write what was done. `fillmark check` lists blank entries.
";

impl PlannedRun<'_> {
    /// Returns the run file.
    pub fn text(&self, readings: Readings) -> String {
        let mut sheet = Sheet {
            lines: Lines::default(),
            readings,
        };
        sheet.give(0, &words::TITLE, &quoted(&self.plan.title.value));
        sheet.read(0, &words::DATE, "2000-01-01");
        sheet.read(0, &words::ANALYSTS, "planned");
        if let Some(place) = &self.plan.place {
            sheet.give(0, &words::PLACE, &quoted(place));
        }
        sheet.lines.part();
        self.conditions(&mut sheet);
        sheet.lines.part();
        self.solute(&mut sheet);
        sheet.lines.part();
        sheet.open(0, &words::APPARATUS);
        for item in self.apparatus {
            sheet.apparatus(item);
        }
        sheet.lines.part();
        self.solutions(&mut sheet);
        if let Some(density) = &self.density {
            sheet.lines.part();
            self.densities(&mut sheet, density);
            sheet.lines.part();
            sheet.open(0, &words::CALIBRATION);
            let against = word_of(&words::AGAINST, density.against);
            sheet.give(1, &words::AGAINST, against);
        } else {
            sheet.give(0, &words::CALIBRATION, "none");
        }
        sheet.lines.part();
        sheet.open(0, &words::PRACTICE);
        sheet.lines.ask_optional(1, &words::RINSED);
        sheet.lines.ask_optional(1, &words::MIXED);
        format!("{HEAD}\n{}", sheet.lines.text())
    }

    fn name_of(&self, item: usize) -> String {
        quoted(&self.apparatus[item].name.value)
    }

    fn conditions(&self, sheet: &mut Sheet) {
        let conditions = &self.plan.conditions;
        sheet.open(0, &words::CONDITIONS);
        if let Some(liquid) = &conditions.liquid {
            sheet.read_as_planned(1, &words::LIQUID, &write_reading(liquid));
        }
        if let Some(thermometer) = &conditions.thermometer {
            let name = self.name_of(thermometer.value);
            sheet.give(1, &words::THERMOMETER, &name);
        }
        let others = [
            (&words::AIR, &conditions.air),
            (&words::PRESSURE, &conditions.pressure),
            (&words::HUMIDITY, &conditions.humidity),
        ];
        for (key, reading) in others {
            if let Some(reading) = reading {
                sheet.read_as_planned(1, key, &write_reading(reading));
            }
        }
    }

    fn solute(&self, sheet: &mut Sheet) {
        let solute = &self.plan.solute;
        sheet.open(0, &words::SOLUTE);
        sheet.give(1, &words::NAME, &quoted(&solute.name.value));
        if let Some(formula) = &solute.formula {
            sheet.give(1, &words::FORMULA, &quoted(&formula.value));
        }
        sheet.give_if(1, &words::MOLAR_MASS, solute.molar_mass.as_ref());
        sheet.give_if(1, &words::PURITY, solute.purity.as_ref());
        sheet.give_if(1, &words::MOISTURE, solute.moisture.as_ref());
        sheet.give_if(1, &words::CRYSTAL_DENSITY, solute.density.as_ref());
    }

    fn solutions(&self, sheet: &mut Sheet) {
        sheet.open(0, &words::SOLUTIONS);
        for solution in &self.solutions {
            let name = quoted(&solution.name);
            let marked = |key: &dyn KeyInfo| format!("{name}: {{{}: true}}", key.name());
            match &solution.made {
                PlannedMade::Pure => {
                    sheet
                        .lines
                        .line(1, &marked(&words::PURE), words::PURE.about);
                }
                PlannedMade::Unknown => {
                    let about = words::UNKNOWN.about;
                    sheet.lines.line(1, &marked(&words::UNKNOWN), about);
                }
                PlannedMade::Weighed {
                    mass,
                    balance,
                    to,
                    vessel,
                } => {
                    sheet.lines.line(1, &format!("{name}:"), "");
                    sheet.open(2, &words::WEIGHED);
                    sheet.read_as_planned(3, &words::MASS, mass);
                    if let Some(balance) = balance {
                        sheet.give(3, &words::BALANCE, &self.name_of(*balance));
                    }
                    self.made_up(sheet, to, *vessel);
                }
                PlannedMade::Diluted {
                    of,
                    volume,
                    with,
                    to,
                    vessel,
                } => {
                    sheet.lines.line(1, &format!("{name}:"), "");
                    sheet.open(2, &words::ALIQUOT);
                    sheet.give(3, &words::OF, &quoted(of));
                    sheet.give(3, &words::ALIQUOT_VOLUME, volume);
                    sheet.give(3, &words::WITH, &self.name_of(*with));
                    self.made_up(sheet, to, Some(*vessel));
                }
            }
        }
    }

    fn made_up(&self, sheet: &mut Sheet, to: &str, vessel: Option<usize>) {
        sheet.open(2, &words::MADE_UP);
        sheet.give(3, &words::TO, to);
        if let Some(vessel) = vessel {
            sheet.give(3, &words::IN, &self.name_of(vessel));
        }
    }

    fn densities(&self, sheet: &mut Sheet, density: &PlannedDensity) {
        sheet.open(0, &words::DENSITY);
        sheet.give(1, &words::BALANCE, &self.name_of(density.balance));
        sheet.give(1, &words::PIPETTE, &self.name_of(density.ware));
        sheet.open(1, &words::WEIGHINGS);
        sheet
            .lines
            .explain(2, &[&words::EMPTY, &words::FILLED, &words::VOLUME_WEIGHED]);
        let keys = [
            words::EMPTY.name,
            words::FILLED.name,
            words::VOLUME_WEIGHED.name,
        ];
        for solution in &self.solutions {
            let name = quoted(&solution.name);
            sheet.lines.line(2, &format!("{name}:"), "");
            for [empty, filled] in &solution.weighings {
                let volume = &density.volume;
                let (empty, filled) = (sheet.or_blank(empty), sheet.or_blank(filled));
                let row = format!(
                    "- {{{}: {empty}, {}: {filled}, {}: {volume}}}",
                    keys[0], keys[1], keys[2]
                );
                sheet.lines.line(3, &row, "");
            }
        }
    }
}

/// Lines with readings or without.
struct Sheet {
    lines: Lines,
    readings: Readings,
}

impl Sheet {
    fn or_blank<'v>(&self, value: &'v str) -> &'v str {
        match self.readings {
            Readings::Blank => "",
            Readings::Expected => value,
        }
    }

    fn give(&mut self, depth: usize, key: &'static dyn KeyInfo, value: &str) {
        self.lines.give(depth, key, value);
    }

    fn open(&mut self, depth: usize, key: &'static dyn KeyInfo) {
        self.lines.open(depth, key);
    }

    /// A key at which something is read, or will be.
    fn read(&mut self, depth: usize, key: &'static dyn KeyInfo, expected: &str) {
        match self.readings {
            Readings::Blank => self.lines.ask(depth, key),
            Readings::Expected => self.lines.give(depth, key, expected),
        }
    }

    /// The same, where the plan says what it is to be.
    fn read_as_planned(&mut self, depth: usize, key: &'static dyn KeyInfo, planned: &str) {
        match self.readings {
            Readings::Blank => {
                let about = format!("{} {PLANNED}{planned}.", key.about());
                self.lines.line(depth, &format!("{}:", key.name()), &about);
            }
            Readings::Expected => self.lines.give(depth, key, planned),
        }
    }

    fn give_if(&mut self, depth: usize, key: &'static dyn KeyInfo, reading: Option<&Reading>) {
        if let Some(reading) = reading {
            self.give(depth, key, &write_reading(reading));
        }
    }

    /// A piece of apparatus, in one line.
    fn apparatus(&mut self, item: &Apparatus) {
        let mut pairs = vec![(words::KIND.name, word(item.kind).to_owned())];
        let mut add = |key: &'static str, value: Option<String>| {
            pairs.extend(value.map(|value| (key, value)));
        };
        let number = |reading: &Option<Reading>| reading.as_ref().map(write_reading);
        add(words::CAPACITY.name, number(&item.capacity));
        add(words::DIVISION.name, number(&item.division));
        let class = item.class.as_ref();
        let class = class.map(|class| match class.value {
            Class::A => "A".to_owned(),
            Class::B => "B".to_owned(),
        });
        add(words::CLASS.name, class);
        add(words::TOLERANCE.name, number(&item.tolerance));
        let spread = (item.spread != Spread::Triangular)
            .then(|| word_of(&words::SPREAD, item.spread).to_owned());
        add(words::SPREAD.name, spread);
        let glass = (item.glass != Glass::Borosilicate)
            .then(|| word_of(&words::GLASS, item.glass).to_owned());
        add(words::GLASS.name, glass);
        add("readability", number(&item.readability));
        add("repeatability", number(&item.repeatability));
        add(words::LINEARITY.name, number(&item.linearity));
        add(words::ACCURACY.name, number(&item.accuracy));
        add(words::NOTE.name, item.note.as_deref().map(quoted));
        let pairs: Vec<String> = pairs
            .iter()
            .map(|(key, value)| format!("{key}: {value}"))
            .collect();
        let name = quoted(&item.name.value);
        self.lines
            .line(1, &format!("{name}: {{{}}}", pairs.join(", ")), "");
    }
}

/// Returns the word of a choice.
fn word_of<T: PartialEq + Copy>(key: &Key<Choice<T>>, meant: T) -> &'static str {
    let mut words = key.form.0.iter();
    words
        .find(|(_, value)| *value == meant)
        .map_or("", |(word, _)| word)
}

/// Returns a reading with its unit and the uncertainty that it states.
fn write_reading(reading: &Reading) -> String {
    let quantity = &reading.value;
    let (number, unit) = (&quantity.number.text, quantity.unit.symbol);
    let stated = quantity.standard_uncertainty.map(|u| {
        // In the unit written, without what the conversion left over in the last digits of a double.
        let u = u / quantity.unit.factor;
        let digits = 10f64.powi(12 - u.log10().floor() as i32);
        format!(" ± {}", (u * digits).round() / digits)
    });
    format!("{number}{} {unit}", stated.unwrap_or_default())
        .trim_end()
        .to_owned()
}

/// Returns a text as a YAML scalar: plain where it cannot be taken for anything else.
fn quoted(text: &str) -> String {
    const WORDS: [&str; 9] = ["true", "false", "yes", "no", "on", "off", "null", "y", "n"];
    let mut letters = text.chars();
    let plain = letters.next().is_some_and(char::is_alphabetic)
        && letters.all(|c| c.is_alphanumeric() || " _-.()/".contains(c))
        && !text.ends_with(' ')
        && !WORDS.contains(&text.to_lowercase().as_str());
    if plain {
        text.to_owned()
    } else {
        serde_json::Value::from(text).to_string()
    }
}
