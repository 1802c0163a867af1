//! Students who calculate their results by hand from their own readings, rightly or with one of the usual mistakes.
//!
//! The calculation is written here once more, as a hand calculation is done: no uncertainty, no covariance, the ordinary
//! straight line. Each student weighs two fillings of each liquid, makes a stock and dilutes it twice, and reads an unknown
//! back. Some go on with what they have written down, some with what their calculator holds, some now with this and now
//! with that; some leave steps out of what they hand in.

use super::chance::Chance;
use super::nature;
use fillmark::bench::claims::{Judged, Judgement, MistakeKind};
use fillmark::pipeline;

/// Where a mistake is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mistake {
    DilutionInverted(usize),
    DilutionLeftOut(usize),
    /// The dilution, and how many deliveries are counted.
    DeliveryMiscounted(usize, u32),
    SaltTare,
    /// One weighing, by liquid and number.
    OneTare(usize, usize),
    /// Both weighings of a liquid.
    AllTares(usize),
    /// In the mass percent of a solution.
    MassPerVolume(usize),
    DensityOfWater(usize),
    PurityLeftOut,
    /// In a step, by a power of ten.
    PowerOfTen(Step, i32),
    /// A step, rounded to so many decimals before it is used.
    RoundedEarly(Step, i32),
    AxesExchanged,
    /// The line read the other way round.
    ReadOtherWay,
    /// Against mass concentration.
    OtherLine,
}

/// A step of the hand calculation; liquids are water, A, B, C and the unknown, solutions A, B and C.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Step {
    Salt,
    Single(usize, usize),
    Density(usize),
    Concentration(usize),
    Percent(usize),
    Intercept,
    Slope,
    Unknown,
}

const LIQUIDS: [&str; 5] = ["water", "A", "B", "C", "mystery"];
/// Deliveries of 10 mL into each solution, made up to 100 mL.
const DELIVERIES: [u32; 3] = [0, 5, 2];
const PURITY: f64 = 0.985;

impl Mistake {
    /// The word for its kind in results files.
    pub(crate) fn word(self) -> String {
        serde_json::to_string(&self.kind())
            .unwrap_or_default()
            .replace('"', "")
    }

    /// The kind that the program should tell.
    pub(crate) fn kind(self) -> MistakeKind {
        match self {
            Self::DilutionInverted(_) => MistakeKind::DilutionInverted,
            Self::DilutionLeftOut(_) => MistakeKind::DilutionLeftOut,
            Self::DeliveryMiscounted(..) => MistakeKind::DeliveryMiscounted,
            Self::SaltTare | Self::OneTare(..) | Self::AllTares(_) => {
                MistakeKind::TareNotSubtracted
            }
            Self::MassPerVolume(_) => MistakeKind::MassPerVolume,
            Self::DensityOfWater(_) => MistakeKind::DensityOfWater,
            Self::PurityLeftOut => MistakeKind::PurityLeftOut,
            Self::PowerOfTen(..) => MistakeKind::PowerOfTen,
            Self::RoundedEarly(..) => MistakeKind::RoundedEarly,
            Self::AxesExchanged | Self::ReadOtherWay => MistakeKind::AxesExchanged,
            Self::OtherLine => MistakeKind::OtherLine,
        }
    }

    /// Every mistake at every step where it can be made.
    pub(crate) fn all() -> Vec<Self> {
        let mut all = vec![
            Self::SaltTare,
            Self::PurityLeftOut,
            Self::AxesExchanged,
            Self::ReadOtherWay,
            Self::OtherLine,
        ];
        for solution in [1, 2] {
            let count = DELIVERIES[solution];
            all.extend([
                Self::DilutionInverted(solution),
                Self::DilutionLeftOut(solution),
                Self::DeliveryMiscounted(solution, count - 1),
                Self::DeliveryMiscounted(solution, count + 1),
            ]);
        }
        for solution in 0..3 {
            all.extend([
                Self::MassPerVolume(solution),
                Self::DensityOfWater(solution),
            ]);
        }
        for liquid in 0..5 {
            all.extend([
                Self::OneTare(liquid, 0),
                Self::OneTare(liquid, 1),
                Self::AllTares(liquid),
            ]);
        }
        for step in Step::all() {
            all.extend([1, -1, 3, -3].map(|power| Self::PowerOfTen(step, power)));
        }
        all.push(Self::RoundedEarly(Step::Salt, 0));
        for liquid in 0..5 {
            all.extend([1, 2].map(|decimals| Self::RoundedEarly(Step::Density(liquid), decimals)));
        }
        for solution in 0..3 {
            all.push(Self::RoundedEarly(Step::Concentration(solution), 0));
            all.extend(
                [0, 1].map(|decimals| Self::RoundedEarly(Step::Percent(solution), decimals)),
            );
        }
        all.extend([2, 3].map(|decimals| Self::RoundedEarly(Step::Intercept, decimals)));
        all.extend([3, 4].map(|decimals| Self::RoundedEarly(Step::Slope, decimals)));
        all
    }
}

impl Step {
    fn all() -> Vec<Self> {
        let mut all = vec![Self::Salt, Self::Intercept, Self::Slope, Self::Unknown];
        for liquid in 0..5 {
            all.extend([
                Self::Single(liquid, 0),
                Self::Single(liquid, 1),
                Self::Density(liquid),
            ]);
        }
        for solution in 0..3 {
            all.extend([Self::Concentration(solution), Self::Percent(solution)]);
        }
        all
    }

    /// The decimals that a value of it is written with.
    fn decimals(self, value: f64) -> i32 {
        match self {
            Self::Slope if value != 0.0 => 2 - value.abs().log10().floor() as i32,
            Self::Salt => 3,
            Self::Single(..) | Self::Density(_) | Self::Intercept => 4,
            Self::Concentration(_) => 1,
            Self::Percent(_) | Self::Unknown => 2,
            Self::Slope => 5,
        }
    }

    fn entry(self) -> String {
        match self {
            Self::Salt => "claimed.mass of salt.A".to_owned(),
            Self::Single(liquid, number) => {
                format!(
                    "claimed.densities.{}, weighing {}",
                    LIQUIDS[liquid],
                    number + 1
                )
            }
            Self::Density(liquid) => format!("claimed.densities.{}", LIQUIDS[liquid]),
            Self::Concentration(i) => format!("claimed.mass concentration.{}", LIQUIDS[i + 1]),
            Self::Percent(i) => format!("claimed.mass percent.{}", LIQUIDS[i + 1]),
            Self::Intercept => "claimed.intercept".to_owned(),
            Self::Slope => "claimed.slope".to_owned(),
            Self::Unknown => "claimed.unknown.mystery".to_owned(),
        }
    }
}

/// The readings of a bench.
struct Readings {
    before: f64,
    after: f64,
    temperature: f64,
    /// Empty and filled, twice for each liquid.
    weighings: [[(f64, f64); 2]; 5],
}

/// To so many decimals.
fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = 10f64.powi(decimals);
    (value * scale).round() / scale
}

impl Readings {
    fn of(run: u64) -> Self {
        let mut chance = Chance::of(run, 101);
        let after = chance.between(15.0, 22.0);
        let salt = chance.between(19.0, 24.0);
        let temperature = rounded(chance.between(19.0, 22.0), 1);
        let stock = PURITY * salt / 200.0;
        let unknown = chance.between(0.02, 0.09);
        // Mass concentration, g/mL, to density by a few steps.
        let density = |gamma: f64| {
            let mut rho = nature::water(temperature);
            for _ in 0..30 {
                rho = nature::published(gamma / rho, temperature);
            }
            rho
        };
        let truths = [
            nature::water(temperature),
            density(stock),
            density(0.5 * stock),
            density(0.2 * stock),
            nature::published(unknown, temperature),
        ];
        let pipette = 10.0 + chance.normal(0.005);
        let weighings = truths.map(|rho| {
            [(); 2].map(|()| {
                let empty = rounded(chance.between(26.0, 30.0), 3);
                let delivered = pipette + chance.normal(0.004);
                (empty, rounded(empty + rho * delivered, 3))
            })
        });
        Self {
            before: rounded(after + salt, 3),
            after: rounded(after, 3),
            temperature,
            weighings,
        }
    }
}

/// How students go on from what they have written down.
#[derive(Clone, Copy)]
enum Manner {
    Written,
    Calculator,
    Either,
}

/// A student at the calculation.
struct Student {
    mistake: Option<Mistake>,
    manner: Manner,
    chance: Chance,
    /// What is written down, in the order of the steps.
    written: Vec<Written>,
}

/// A result as it is written down.
#[derive(Clone, Copy)]
struct Written {
    step: Step,
    value: f64,
    decimals: i32,
}

impl Student {
    /// Writes a result down; what the student goes on with.
    fn write(&mut self, step: Step, value: f64) -> f64 {
        let mut value = value;
        let mut decimals = step.decimals(value);
        if let Some(Mistake::PowerOfTen(wrong, power)) = self.mistake
            && wrong == step
        {
            value *= 10f64.powi(power);
            decimals -= power;
        }
        let written = rounded(value, decimals);
        self.written.push(Written {
            step,
            value: written,
            decimals,
        });
        if let Some(Mistake::RoundedEarly(early, decimals)) = self.mistake
            && early == step
        {
            return rounded(value, decimals);
        }
        match self.manner {
            Manner::Written => written,
            Manner::Either if self.chance.part() < 0.5 => written,
            Manner::Calculator | Manner::Either => value,
        }
    }

    fn made(&self, mistake: Mistake) -> bool {
        self.mistake == Some(mistake)
    }

    fn calculate(&mut self, readings: &Readings) {
        let mut salt = readings.before - readings.after;
        if self.made(Mistake::SaltTare) {
            salt = readings.before;
        }
        let salt = self.write(Step::Salt, salt);
        let mut densities = [0.0; 5];
        for (liquid, weighings) in readings.weighings.iter().enumerate() {
            let mut sum = 0.0;
            for (number, (empty, filled)) in weighings.iter().enumerate() {
                let tared = !self.made(Mistake::OneTare(liquid, number))
                    && !self.made(Mistake::AllTares(liquid));
                let mass = if tared { filled - empty } else { *filled };
                sum += self.write(Step::Single(liquid, number), mass / 10.0);
            }
            densities[liquid] = self.write(Step::Density(liquid), sum / 2.0);
        }
        let mut gammas = [0.0; 3];
        for solution in 0..3 {
            let gamma = if solution == 0 {
                let purity = if self.made(Mistake::PurityLeftOut) {
                    1.0
                } else {
                    PURITY
                };
                salt * purity / 0.2
            } else {
                let mut count = DELIVERIES[solution];
                if let Some(Mistake::DeliveryMiscounted(of, counted)) = self.mistake
                    && of == solution
                {
                    count = counted;
                }
                let factor = 10.0 * f64::from(count) / 100.0;
                if self.made(Mistake::DilutionInverted(solution)) {
                    gammas[0] / factor
                } else if self.made(Mistake::DilutionLeftOut(solution)) {
                    gammas[0]
                } else {
                    gammas[0] * factor
                }
            };
            gammas[solution] = self.write(Step::Concentration(solution), gamma);
        }
        let mut percents = [0.0; 3];
        for solution in 0..3 {
            let density = if self.made(Mistake::MassPerVolume(solution)) {
                1.0
            } else if self.made(Mistake::DensityOfWater(solution)) {
                rounded(nature::water(readings.temperature), 4)
            } else {
                densities[solution + 1]
            };
            let percent = gammas[solution] / (10.0 * density);
            percents[solution] = self.write(Step::Percent(solution), percent);
        }
        let x: Vec<f64> = if self.made(Mistake::OtherLine) {
            std::iter::once(0.0).chain(gammas).collect()
        } else {
            std::iter::once(0.0).chain(percents).collect()
        };
        let y = &densities[..4];
        let [intercept, slope] = if self.made(Mistake::AxesExchanged) {
            line(y, &x)
        } else {
            line(&x, y)
        };
        let intercept = self.write(Step::Intercept, intercept);
        let slope = self.write(Step::Slope, slope);
        let unknown = if self.made(Mistake::ReadOtherWay) {
            intercept + slope * densities[4]
        } else {
            (densities[4] - intercept) / slope
        };
        self.write(Step::Unknown, unknown);
    }
}

/// Intercept and slope of the straight line by least squares.
fn line(x: &[f64], y: &[f64]) -> [f64; 2] {
    let n = x.len() as f64;
    let (mx, my) = (x.iter().sum::<f64>() / n, y.iter().sum::<f64>() / n);
    let both = x.iter().zip(y);
    let sxy: f64 = both.map(|(x, y)| (x - mx) * (y - my)).sum();
    let sxx: f64 = x.iter().map(|x| (x - mx).powi(2)).sum();
    let slope = sxy / sxx;
    [my - slope * mx, slope]
}

/// What became of a student.
pub(crate) struct Marked {
    /// Whether the mistake changed any digit that is claimed.
    pub(crate) changed: bool,
    /// Whether it was told, alone or among those that fit.
    pub(crate) told: bool,
    /// How many results depart.
    pub(crate) departing: usize,
    /// The run file.
    pub(crate) text: String,
    pub(crate) judged: Vec<Judged>,
}

/// A student by number, with a mistake or without one.
///
/// # Panics
/// Where the program refuses the run file.
pub(crate) fn marked(run: u64, mistake: Option<Mistake>) -> Marked {
    let readings = Readings::of(run);
    let mut chance = Chance::of(run, 102);
    let manner = *chance
        .one_of(&[Manner::Written, Manner::Calculator, Manner::Either])
        .unwrap_or(&Manner::Written);
    let all_handed_in = chance.part() < 0.5;
    let by = |mistake| {
        let mut student = Student {
            mistake,
            manner,
            chance: Chance::of(run, 103),
            written: Vec::new(),
        };
        student.calculate(&readings);
        student.written
    };
    let (right, written) = (by(None), by(mistake));
    let handed_in: Vec<bool> = right
        .iter()
        .map(|right| all_handed_in || right.step == Step::Unknown || chance.part() < 0.6)
        .collect();
    let claimed: Vec<Written> = written
        .iter()
        .zip(&handed_in)
        .filter_map(|(claim, handed_in)| handed_in.then_some(*claim))
        .collect();
    let differs = |claim: &Written| {
        let rightly = right.iter().find(|right| right.step == claim.step);
        rightly.is_none_or(|rightly| rightly.value.to_bits() != claim.value.to_bits())
    };
    let changed = claimed.iter().any(differs);
    let text = run_file(&readings, &claimed);
    let (run, problems) = pipeline::read("student.yaml", text.as_bytes());
    let run = run.unwrap_or_else(|| panic!("{text}{problems:#?}"));
    let told = mistake.is_some_and(|mistake| {
        let mut named = run.claims.iter().flat_map(|judged| &judged.mistakes);
        named.any(|named| named.kind == mistake.kind())
    });
    let departing = run.claims.iter();
    let departing = departing.filter(|judged| judged.judgement == Judgement::Incorrect);
    Marked {
        changed,
        told,
        departing: departing.count(),
        text,
        judged: run.claims,
    }
}

fn run_file(readings: &Readings, claimed: &[Written]) -> String {
    let mut text = format!(
        "title: By hand
date: 2026-03-11
analysts: R. Example
conditions: {{liquid: {:.1} °C}}
solute: {{name: sodium chloride, purity: {:.1} ± 0.3 %}}
apparatus:
  balance: {{kind: balance, readability: 0.001 g, repeatability: 0.001 g}}
  stock flask: {{kind: flask, capacity: 200 mL, class: A}}
  dilution flask: {{kind: flask, capacity: 100 mL, class: A}}
  small pipette: {{kind: pipette, capacity: 10 mL, class: A}}
solutions:
  water: {{pure: true}}
  A: {{weighed: {{before: {:.3} g, after: {:.3} g}}, made_up: {{to: 200 mL, in: stock flask}}}}
  B: {{aliquot: {{of: A, volume: 5 × 10.00 mL, with: small pipette}}, made_up: {{to: 100 mL, in: dilution flask}}}}
  C: {{aliquot: {{of: A, volume: 2 × 10.00 mL, with: small pipette}}, made_up: {{to: 100 mL, in: dilution flask}}}}
  mystery: {{unknown: true}}
density:
  pipette: small pipette
  weighings:
",
        readings.temperature,
        100.0 * PURITY,
        readings.before,
        readings.after
    );
    for (name, weighings) in LIQUIDS.iter().zip(&readings.weighings) {
        text += &format!("    {name}:\n");
        for (empty, filled) in weighings {
            text += &format!(
                "      - {{empty: {empty:.3} g, filled: {filled:.3} g, volume: 10.00 mL}}\n"
            );
        }
    }
    text += "calibration: {against: mass percent, line: straight}\nclaimed:\n";
    for claim in claimed {
        let Written {
            step,
            value,
            decimals,
        } = *claim;
        let number = if decimals < 0 {
            let exponent = -decimals;
            format!("{:.0}e{exponent}", value / 10f64.powi(exponent))
        } else {
            format!("{value:.*}", decimals.unsigned_abs() as usize)
        };
        let unit = match step {
            Step::Salt => "g",
            Step::Single(..) | Step::Density(_) | Step::Intercept => "g/mL",
            Step::Concentration(_) => "g/L",
            Step::Percent(_) | Step::Unknown => "%",
            Step::Slope => "",
        };
        let entry = step.entry();
        let path = entry.trim_start_matches("claimed.");
        text += &match path.split_once('.') {
            Some((section, name)) => format!("@{section}@\"{name}\": {number} {unit}\n"),
            None => format!("  {path}: {number} {unit}\n"),
        };
    }
    in_sections(&text)
}

/// The lines marked with a section, gathered in their sections.
fn in_sections(text: &str) -> String {
    let mut sections: Vec<(&str, Vec<&str>)> = Vec::new();
    let mut out = String::new();
    for line in text.lines() {
        let Some((section, claim)) = line.strip_prefix('@').and_then(|rest| rest.split_once('@'))
        else {
            out += line;
            out.push('\n');
            continue;
        };
        match sections.iter_mut().find(|(known, _)| *known == section) {
            Some((_, claims)) => claims.push(claim),
            None => sections.push((section, vec![claim])),
        }
    }
    for (section, claims) in sections {
        out += &format!("  {section}:\n");
        for claim in claims {
            out += &format!("    {claim}\n");
        }
    }
    out
}
