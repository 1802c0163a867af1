//! A run file to fill in: what is always there is written, what was read at the bench is blank, and each key is explained
//! in the words that the reader has for it.

use super::lines::Lines;
use super::model::{ApparatusKind, DensityMethod};
use super::vocabulary::KeyInfo;
use super::words;
use crate::bench::quantity::Quantity;

/// Stock and dilutions are named by the letters of the alphabet.
pub const MOST_DILUTIONS: u8 = 25;

impl DensityMethod {
    fn key(self) -> &'static dyn KeyInfo {
        match self {
            Self::Weighings => &words::WEIGHINGS,
            Self::Cumulative => &words::CUMULATIVE,
            Self::Pycnometer => &words::PYCNOMETER,
            Self::Readings => &words::READINGS,
        }
    }

    /// Returns its key in the density section.
    pub fn name(self) -> &'static str {
        self.key().name()
    }

    /// Returns what it is, in a sentence.
    pub fn about(self) -> &'static str {
        self.key().about()
    }

    /// Returns the fewest readings of a solution: a slope needs two deliveries.
    pub fn least_replicates(self) -> u8 {
        if self == Self::Cumulative { 2 } else { 1 }
    }

    /// Returns whether the volume weighed is measured by ware.
    fn needs_ware(self) -> bool {
        matches!(self, Self::Weighings | Self::Cumulative)
    }
}

/// What a run to be written down will hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BlankRun {
    /// How many dilutions of the stock, [`MOST_DILUTIONS`] at most; further ones are not written.
    pub dilutions: u8,
    /// How many solutions of unknown strength.
    pub unknowns: u8,
    /// How many weighings, deliveries, fillings or readings of each solution.
    pub replicates: u8,
    /// The way to their densities.
    pub way: DensityMethod,
    /// What is known of the bench.
    pub bench: Bench,
}

/// What is known of the ware and the balance, as texts that [`Ware::read`] took; the rest stays blank.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Bench {
    /// The step of the balance's display.
    pub balance: Option<String>,
    /// The capacity of the pipettes.
    pub pipette: Option<String>,
    /// The capacity of the flasks.
    pub flask: Option<String>,
}

/// A property of the bench that may be known beforehand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ware {
    /// The step of the balance's display.
    Balance,
    /// The capacity of a pipette or flask.
    Capacity,
}

impl Ware {
    /// Returns a text as it goes into a run file: with a unit.
    ///
    /// # Errors
    /// What would be right.
    pub fn read(self, text: &str) -> Result<String, String> {
        let (measure, example) = match self {
            Self::Balance => (&words::BALANCE_READABILITY.form, "0.001 g"),
            Self::Capacity => (&words::CAPACITY.form, "100 mL"),
        };
        let read = Quantity::parse(text, &measure.unit).ok();
        let read = read.filter(|read| measure.allows(read.value));
        let right = || format!("it must be {}, such as {example}", measure.limits);
        read.map(|read| read.as_written()).ok_or_else(right)
    }
}

// Names that the form gives to what it cannot know.
const BALANCE: &str = "balance";
const STOCK_FLASK: &str = "stock flask";
const DILUTION_FLASK: &str = "dilution flask";
const DILUTION_PIPETTE: &str = "dilution pipette";
const DENSITY_PIPETTE: &str = "density pipette";
const DENSITY_METER: &str = "density meter";
const WATER: &str = "water";
const STOCK: &str = "A";

const HEAD: &str = "\
# A run file to fill in. Type each reading after its colon with all the digits that were read: 5.00 is not 5.
# Units are optional (12.340 g); the default is in each comment. Entries marked as optional may stay blank or be deleted.
# Names may be changed, but in every place. `fillmark check` lists blank entries, `fillmark report` makes the report.
";

impl BlankRun {
    /// Returns the run file.
    pub fn text(&self) -> String {
        let mut form = Lines::default();
        form.ask(0, &words::TITLE);
        form.ask(0, &words::DATE);
        form.ask(0, &words::ANALYSTS);
        form.ask_optional(0, &words::PLACE);
        form.ask_optional(0, &words::AIM);
        form.ask_optional(0, &words::DRAFT);
        form.part();
        form.open(0, &words::CONDITIONS);
        form.ask(1, &words::LIQUID);
        form.part();
        form.ask(0, &words::SOLUTE);
        form.part();
        self.apparatus(&mut form);
        form.part();
        self.solutions(&mut form);
        form.part();
        self.densities(&mut form);
        form.part();
        form.open(0, &words::PRACTICE);
        form.ask_optional(1, &words::RINSED);
        form.ask_optional(1, &words::MIXED);
        format!("{HEAD}\n{}", form.text())
    }

    fn apparatus(&self, form: &mut Lines) {
        let (pipette, flask) = (self.bench.pipette.as_deref(), self.bench.flask.as_deref());
        form.open(0, &words::APPARATUS);
        form.explain(1, &[&words::KIND]);
        form.item(BALANCE, ApparatusKind::Balance);
        form.fill(
            2,
            &words::BALANCE_READABILITY,
            self.bench.balance.as_deref(),
        );
        form.ask_optional(2, &words::BALANCE_REPEATABILITY);
        form.ware(STOCK_FLASK, ApparatusKind::Flask, flask);
        if self.dilutions > 0 {
            form.ware(DILUTION_PIPETTE, ApparatusKind::Pipette, pipette);
            form.ware(DILUTION_FLASK, ApparatusKind::Flask, flask);
        }
        if self.way.needs_ware() {
            form.ware(DENSITY_PIPETTE, ApparatusKind::Pipette, pipette);
        }
        if self.way == DensityMethod::Readings {
            form.item(DENSITY_METER, ApparatusKind::DensityMeter);
            form.ask(2, &words::DENSITY_READABILITY);
            form.ask_optional(2, &words::DENSITY_ACCURACY);
        }
    }

    fn solutions(&self, form: &mut Lines) {
        form.open(0, &words::SOLUTIONS);
        if self.weighs_water() {
            form.line(
                1,
                &format!("{WATER}: {{{}: true}}", words::PURE.name),
                words::PURE.about,
            );
        }
        form.line(1, &format!("{STOCK}:"), "The stock.");
        form.open(2, &words::WEIGHED);
        form.ask(3, &words::BEFORE);
        form.ask(3, &words::AFTER);
        form.made_up(STOCK_FLASK, self.bench.flask.as_deref());
        for name in self.diluted() {
            form.line(1, &format!("{name}:"), "A dilution.");
            form.open(2, &words::ALIQUOT);
            form.give(3, &words::OF, STOCK);
            form.ask(3, &words::ALIQUOT_VOLUME);
            form.give(3, &words::WITH, DILUTION_PIPETTE);
            form.made_up(DILUTION_FLASK, self.bench.flask.as_deref());
        }
        for name in self.unknown() {
            form.line(
                1,
                &format!("{name}: {{{}: true}}", words::UNKNOWN.name),
                words::UNKNOWN.about,
            );
        }
    }

    fn densities(&self, form: &mut Lines) {
        form.open(0, &words::DENSITY);
        if self.way != DensityMethod::Readings {
            form.give(1, &words::BALANCE, BALANCE);
        }
        if self.way.needs_ware() {
            form.give(1, &words::PIPETTE, DENSITY_PIPETTE);
        }
        form.open(1, self.way.key());
        let names = self.names();
        let rows = |form: &mut Lines, depth, row: &[&'static dyn KeyInfo], given: &str| {
            let keys: Vec<String> = row.iter().map(|key| format!("{}: ", key.name())).collect();
            let text = format!("- {{{}{given}}}", keys.join(", "));
            for _ in 0..self.replicates {
                form.line(depth, &text, "");
            }
        };
        match self.way {
            DensityMethod::Weighings => {
                let row: [&dyn KeyInfo; 3] = [&words::EMPTY, &words::FILLED, &words::VOLUME];
                form.explain(2, &row);
                for name in &names {
                    form.line(2, &format!("{name}:"), "");
                    rows(form, 3, &row, "");
                }
            }
            DensityMethod::Cumulative => {
                let row: [&dyn KeyInfo; 2] = [&words::VOLUME, &words::MASS_SO_FAR];
                form.explain(2, &row);
                for name in &names {
                    form.line(2, &format!("{name}:"), "");
                    form.ask_optional(3, &words::VESSEL_EMPTY);
                    form.open(3, &words::DELIVERIES);
                    rows(form, 4, &row, "");
                }
            }
            DensityMethod::Pycnometer => {
                form.ask(2, &words::EMPTY);
                form.open(2, &words::WATER);
                form.ask(3, &words::FILLED);
                form.ask_optional(3, &words::LIQUID);
                form.open(2, &words::FILLINGS);
                for name in &names {
                    form.line(3, &format!("{name}:"), "");
                    rows(form, 4, &[&words::FILLED], "");
                }
            }
            DensityMethod::Readings => {
                let given = format!(", {}: {DENSITY_METER}", words::WITH_INSTRUMENT.name);
                let row: [&dyn KeyInfo; 1] = [&words::DENSITY_READ];
                form.explain(2, &row);
                for name in &names {
                    form.line(2, &format!("{name}:"), "");
                    rows(form, 3, &row, &given);
                }
            }
        }
    }

    /// Returns whether water is among the solutions. A pycnometer is filled with it in any case; it need only be a
    /// point of the line where there is no other beside the stock.
    fn weighs_water(&self) -> bool {
        self.way != DensityMethod::Pycnometer || self.dilutions == 0
    }

    fn diluted(&self) -> impl Iterator<Item = String> + use<> {
        ('B'..='Z')
            .take(usize::from(self.dilutions))
            .map(String::from)
    }

    fn unknown(&self) -> impl Iterator<Item = String> + use<> {
        (1..=self.unknowns).map(|number| format!("unknown {number}"))
    }

    fn names(&self) -> Vec<String> {
        let water = self.weighs_water().then(|| WATER.to_owned());
        water
            .into_iter()
            .chain([STOCK.to_owned()])
            .chain(self.diluted())
            .chain(self.unknown())
            .collect()
    }
}
