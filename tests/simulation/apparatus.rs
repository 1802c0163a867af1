//! Balance and ware with the errors that they really have in one run.

use super::chance::Chance;

/// Cubic expansion of borosilicate glass 3.3, 1/°C (ISO 3585: linear 3.3e-6).
const EXPANSION: f64 = 9.9e-6;
/// Density of the weights, g/mL (OIML R 111-1, conventional).
const WEIGHTS: f64 = 8.0;
/// Loads this near to each other share one error of linearity, g.
const ONE_LOAD: f64 = 5.0;
/// Where the streams of draws for pieces of ware begin.
const OF_WARE: u64 = 1_000_000;

/// What a balance is.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Balance {
    /// g.
    pub(crate) readability: f64,
    /// Standard deviation, g.
    pub(crate) repeatability: f64,
    /// Limits, ±, g.
    pub(crate) linearity: f64,
    /// Whether the run file states its repeatability.
    pub(crate) states: bool,
}

impl Balance {
    /// What the run file says of it.
    pub(crate) fn says(self) -> String {
        let mut says = format!("kind: balance, readability: {} g", self.readability);
        if self.states {
            says += &format!(", repeatability: {} g", self.repeatability);
        }
        if self.linearity > 0.0 {
            says += &format!(", linearity: {} g", self.linearity);
        }
        says
    }
}

/// A balance in one run, in air.
pub(crate) struct BalanceInUse {
    pub(crate) balance: Balance,
    /// g/mL.
    pub(crate) air: f64,
    /// Its errors of linearity belong to this number.
    pub(crate) run: u64,
}

impl BalanceInUse {
    /// What it shows for so much of a body (g, of a density in g/mL) upon what shows as `below` g already.
    pub(crate) fn shows(&self, chance: &mut Chance, below: f64, mass: f64, density: f64) -> f64 {
        let weighed = mass * (1.0 - self.air / density) / (1.0 - self.air / WEIGHTS);
        let load = below + weighed;
        let shown = load + self.departure(load) + chance.normal(self.balance.repeatability);
        (shown / self.balance.readability).round() * self.balance.readability
    }

    /// The error of linearity at a load, the same whenever it is weighed.
    fn departure(&self, load: f64) -> f64 {
        let shift = Chance::of(self.run, 1000).between(0.0, ONE_LOAD);
        let place = ((load + shift) / ONE_LOAD).floor().max(0.0) as u64;
        let limit = self.balance.linearity;
        Chance::of(self.run, 1001 + place).between(-limit, limit)
    }

    /// A reading as it is typed.
    pub(crate) fn typed(&self, shown: f64) -> String {
        let decimals = (-self.balance.readability.log10()).round().max(0.0) as usize;
        format!("{shown:.decimals$}")
    }
}

/// How well the run file says that ware is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Limits {
    Class(char),
    Tolerance,
    /// Class, and weighed with water at the bench.
    Calibrated(char),
}

/// What a piece of ware is.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ware {
    pub(crate) name: &'static str,
    pub(crate) kind: &'static str,
    /// mL.
    pub(crate) capacity: f64,
    /// Decimals of a volume as typed.
    pub(crate) decimals: usize,
    /// ±, mL (ISO 648, 835, 1042, 4788).
    pub(crate) limit: f64,
    pub(crate) limits: Limits,
    /// Standard deviation of a delivery or filling, mL.
    pub(crate) scatter: f64,
    /// Whether the run file states it.
    pub(crate) states: bool,
}

impl Ware {
    /// What the run file says of it.
    pub(crate) fn says(&self) -> String {
        let mut says = format!("kind: {}, capacity: {} mL", self.kind, self.capacity);
        says += &match self.limits {
            Limits::Class(class) | Limits::Calibrated(class) => format!(", class: {class}"),
            Limits::Tolerance => format!(", tolerance: {} mL", self.limit),
        };
        if self.states {
            says += &format!(", repeatability: {} mL", self.scatter);
        }
        says
    }

    /// Its capacity as typed.
    pub(crate) fn typed(&self) -> String {
        format!("{:.*}", self.decimals, self.capacity)
    }
}

/// A piece of ware in one run.
pub(crate) struct WareInUse {
    pub(crate) ware: Ware,
    /// From the nominal capacity, mL.
    departure: f64,
}

impl WareInUse {
    /// The piece of that name in a run: wherever it is used, it is the same.
    pub(crate) fn of(ware: Ware, run: u64) -> Self {
        let place = |sum, byte| (31 * sum + u64::from(byte)) % OF_WARE;
        let place = ware.name.bytes().fold(0, place);
        let departure = Chance::of(run, OF_WARE + place).triangular(ware.limit);
        Self { ware, departure }
    }

    /// What one delivery or filling really is at a temperature in °C, mL.
    pub(crate) fn volume(&self, chance: &mut Chance, t: f64) -> f64 {
        let at_20 = self.ware.capacity + self.departure + chance.normal(self.ware.scatter);
        at_20 * (1.0 + EXPANSION * (t - 20.0))
    }
}
