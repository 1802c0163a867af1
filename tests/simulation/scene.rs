//! A bench run with known truth: what is done, what really happens, and what is typed.

use super::apparatus::{Balance, BalanceInUse, Limits, Ware, WareInUse};
use super::chance::Chance;
use super::nature;
use super::notebook::{Found, Made, Notebook, Pycnometer, Solution, Weighing};

/// Density of dry salt, g/mL (CRC Handbook: halite 2.17).
const SALT: f64 = 2.17;
const STATED_PURITY: f64 = 0.996;
const PURITY_UNCERTAINTY: f64 = 0.001;
/// Volume of the pycnometer, mL.
const PYCNOMETER: f64 = 50.0;
/// Standard deviation of a filling where the run file states it, mL.
const FILLING: f64 = 0.006;
/// Between what parts of the volume it is where the run file does not: common practice, no source.
const FILLINGS: (f64, f64) = (1e-4, 2e-4);

/// How densities are found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Way {
    /// So many weighings of a known volume.
    Weighings(usize),
    /// So many deliveries without taring.
    Cumulative(usize),
    /// So many fillings of a pycnometer, and so many with water, the last stating how fillings scatter or not.
    Pycnometer(usize, usize, bool),
    /// So many readings of an instrument.
    Readings(usize, Instrument),
}

/// A hydrometer or density meter; g/mL.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Instrument {
    pub(crate) name: &'static str,
    pub(crate) kind: &'static str,
    pub(crate) readability: f64,
    pub(crate) accuracy: f64,
    pub(crate) scatter: f64,
}

/// How solutions are made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Making {
    /// A stock by salt weighed by difference, and dilutions of it.
    ByDifference,
    /// A stock by salt into a tared vessel, and dilutions of it.
    Tared,
    /// Each by the masses of salt and water, of falling strength.
    ByMass,
    /// None: there is an unknown alone, of a strength in the range of the stock.
    Nothing,
}

/// What a brine really weighs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Truth {
    /// As measured tables have it.
    Measured,
    /// As the published relation has it, less or more by an error of this standard deviation up to 22 % by mass and of that
    /// above, g/mL.
    Published(f64, f64),
}

/// A bench run to be simulated.
#[derive(Debug, Clone)]
pub(crate) struct Scene {
    pub(crate) balance: Balance,
    /// Mass percent of the stock, between.
    pub(crate) stock: (f64, f64),
    pub(crate) flask: Ware,
    pub(crate) made: Making,
    /// How many deliveries go into each dilution.
    pub(crate) dilutions: &'static [usize],
    pub(crate) aliquot: Ware,
    pub(crate) mark: Ware,
    /// What delivers the volumes weighed; several take turns by solution.
    pub(crate) pipettes: Vec<Ware>,
    pub(crate) way: Way,
    /// Temperature of the room and all in it, °C, between.
    pub(crate) liquid: (f64, f64),
    /// Standard uncertainty of the thermometer, °C; zero: read to whole degrees and no more said.
    pub(crate) thermometer: f64,
    /// Whether the air is written down.
    pub(crate) records_air: bool,
    pub(crate) allow_for: Option<&'static str>,
    pub(crate) repeatability: Option<&'static str>,
    pub(crate) calibration: &'static str,
    /// Deliveries in each volume weighed.
    pub(crate) deliveries: usize,
    /// The vessel weighed empty once, and that number typed at all its weighings.
    pub(crate) one_empty: bool,
    pub(crate) truth: Truth,
    /// Mass fraction of the unknown where it is the same in each run; otherwise each has its own.
    pub(crate) unknown: Option<f64>,
}

/// The names of solutions made, strongest first; the unknown is [`UNKNOWN`].
const NAMES: [&str; 9] = ["A", "B", "C", "D", "E", "F", "G", "H", "I"];
pub(crate) const UNKNOWN: &str = "X";
pub(crate) const WATER: &str = "water";

/// What is true of a solution.
#[derive(Debug, Clone, Copy)]
pub(crate) struct True {
    pub(crate) name: &'static str,
    /// g/mL.
    pub(crate) density: f64,
    /// Mass fraction.
    pub(crate) fraction: f64,
}

impl True {
    /// g/L.
    pub(crate) fn concentration(&self) -> f64 {
        1000.0 * self.fraction * self.density
    }
}

/// A run, typed, and what is true of it.
#[derive(Debug, Clone)]
pub(crate) struct Simulated {
    pub(crate) notebook: Notebook,
    /// As the notebook's solutions.
    pub(crate) truth: Vec<True>,
}

/// What is at hand in one run.
struct Room {
    t: f64,
    balance: BalanceInUse,
    aliquot: WareInUse,
    mark: WareInUse,
    flask: WareInUse,
    pipettes: Vec<WareInUse>,
    purity: f64,
    /// Departure of the hydrometer or density meter, g/mL.
    instrument: f64,
    vessel: f64,
    /// Standard deviation of a filling of the pycnometer, mL.
    filling: f64,
    truth: Truth,
    /// The error of the published relation, in its standard deviations.
    departure: f64,
}

impl Scene {
    /// One run.
    pub(crate) fn simulate(&self, run: u64) -> Simulated {
        let mut chance = Chance::of(run, 0);
        let t = chance.between(self.liquid.0, self.liquid.1);
        let [warm, pressure, humidity] = [
            t + chance.normal(0.5),
            chance.between(990.0, 1030.0),
            chance.between(30.0, 65.0),
        ];
        let room = Room {
            t,
            balance: BalanceInUse {
                balance: self.balance,
                air: nature::air(warm, pressure, humidity),
                run,
            },
            aliquot: WareInUse::of(self.aliquot, run),
            mark: WareInUse::of(self.mark, run),
            flask: WareInUse::of(self.flask, run),
            pipettes: self
                .pipettes
                .iter()
                .map(|ware| WareInUse::of(*ware, run))
                .collect(),
            purity: STATED_PURITY + chance.normal(PURITY_UNCERTAINTY),
            instrument: match self.way {
                Way::Readings(_, by) => chance.between(-by.accuracy, by.accuracy),
                _ => 0.0,
            },
            vessel: chance.between(28.0, 34.0),
            filling: match self.way {
                Way::Pycnometer(_, _, true) => FILLING,
                _ => PYCNOMETER * chance.between(FILLINGS.0, FILLINGS.1),
            },
            truth: self.truth,
            departure: Chance::of(run, 4).normal(1.0),
        };
        let mut made = self.made(&room, &mut Chance::of(run, 1));
        let mut chance = Chance::of(run, 2);
        let fraction = match (self.unknown, made.get(1)) {
            (Some(fraction), _) => fraction,
            (None, Some((_, stock))) => stock.fraction * chance.between(0.25, 0.8),
            (None, None) => chance.between(self.stock.0, self.stock.1) / 100.0,
        };
        made.push((Made::Unknown, room.of(UNKNOWN, fraction)));
        let mut chance = Chance::of(run, 3);
        let ware_calibration = room.calibrate(&mut chance);
        let pycnometer = match self.way {
            Way::Pycnometer(_, count, states) => Some(Pycnometer {
                water: (0..count)
                    .map(|_| room.filling(&mut chance, nature::water(t)))
                    .collect(),
                empty: room.shown(&mut chance, room.vessel),
                repeatability: states.then_some(FILLING),
            }),
            _ => None,
        };
        let mut solutions = Vec::new();
        let mut truth = Vec::new();
        for (index, (made, true_of)) in made.into_iter().enumerate() {
            solutions.push(Solution {
                name: true_of.name,
                made,
                found: Some(self.found(&room, &mut chance, index, true_of.density)),
            });
            truth.push(true_of);
        }
        let liquid = if self.thermometer > 0.0 {
            let read = t + chance.normal(self.thermometer);
            format!("{read:.1} ± {}", self.thermometer)
        } else {
            format!("{t:.0}")
        };
        let recorded = [(warm, 0.2, 1), (pressure, 0.3, 0), (humidity, 2.0, 0)];
        let recorded = recorded
            .map(|(value, error, decimals)| format!("{:.decimals$}", value + chance.normal(error)));
        let notebook = Notebook {
            liquid,
            air: self.records_air.then_some(recorded),
            solute: format!(
                "name: sodium chloride, purity: {STATED_PURITY} ± {PURITY_UNCERTAINTY}"
            ),
            apparatus: self.apparatus(),
            ware_calibration,
            allow_for: self.allow_for,
            solutions,
            pipette: self.pipettes.first().map(|ware| ware.name),
            pycnometer,
            instrument: match self.way {
                Way::Readings(_, by) => Some(by.name),
                _ => None,
            },
            repeatability: self.repeatability,
            calibration: self.calibration.to_owned(),
        };
        Simulated { notebook, truth }
    }

    /// What the run file lists.
    fn apparatus(&self) -> Vec<(&'static str, String)> {
        let mut all = vec![("balance", self.balance.says())];
        let mut ware = Vec::new();
        if !matches!(self.made, Making::ByMass | Making::Nothing) {
            ware.extend([self.flask, self.mark, self.aliquot]);
        }
        if matches!(self.way, Way::Weighings(_) | Way::Cumulative(_)) {
            ware.extend(self.pipettes.iter().copied());
        }
        for ware in ware {
            match all.iter().find(|(name, _)| *name == ware.name) {
                Some((name, says)) => assert_eq!(*says, ware.says(), "{name} is one piece"),
                None => all.push((ware.name, ware.says())),
            }
        }
        if let Way::Readings(_, by) = self.way {
            let says = format!(
                "kind: {}, readability: {} g/mL, accuracy: {} g/mL, repeatability: {} g/mL",
                by.kind, by.readability, by.accuracy, by.scatter
            );
            all.push((by.name, says));
        }
        all
    }

    /// Water, the stock and what is made of it.
    fn made(&self, room: &Room, chance: &mut Chance) -> Vec<(Made, True)> {
        if self.made == Making::Nothing {
            return Vec::new();
        }
        let percent = chance.between(self.stock.0, self.stock.1);
        let mut all = vec![(Made::Pure, room.of(WATER, 0.0))];
        if self.made == Making::ByMass {
            let count = self.dilutions.len() + 1;
            for (index, name) in NAMES.iter().take(count).enumerate() {
                let part = (count - index) as f64 / count as f64;
                all.push(room.by_mass(chance, name, percent / 100.0 * part));
            }
            return all;
        }
        let wanted = percent / 100.0 * nature::brine(percent / 100.0, room.t);
        let (stock, concentration) = room.stock(chance, wanted, self.made);
        let fraction = nature::mass_fraction(concentration, room.t);
        all.push((stock, room.of(NAMES[0], fraction)));
        for (name, count) in NAMES[1..].iter().zip(self.dilutions) {
            let taken: f64 = (0..*count)
                .map(|_| room.aliquot.volume(chance, room.t))
                .sum();
            let diluted = concentration * taken / room.mark.volume(chance, room.t);
            let made = Made::Dilution {
                of: NAMES[0],
                count: *count,
                each: self.aliquot.typed(),
                with: self.aliquot.name,
                to: self.mark.capacity.to_string(),
                vessel: self.mark.name,
            };
            let fraction = nature::mass_fraction(diluted, room.t);
            all.push((made, room.of(name, fraction)));
        }
        all
    }

    /// The density of a solution (g/mL, in truth), found.
    fn found(&self, room: &Room, chance: &mut Chance, index: usize, density: f64) -> Found {
        match self.way {
            Way::Weighings(count) => {
                let pipette = &room.pipettes[index % room.pipettes.len()];
                let mut all: Vec<Weighing> = (0..count)
                    .map(|_| room.weighing(chance, pipette, density, self.deliveries))
                    .collect();
                if self.one_empty {
                    // One vessel, dried and weighed empty but once.
                    let vessel = room.vessel + chance.between(-0.004, 0.004);
                    let empty = room.shown(chance, vessel);
                    for weighing in &mut all {
                        let volume = pipette.volume(chance, room.t);
                        let filled = room.shows(chance, vessel, volume * density, density);
                        weighing.filled = room.balance.typed(filled);
                        weighing.empty.clone_from(&empty);
                    }
                }
                if self.pipettes.len() > 1 {
                    for weighing in &mut all {
                        weighing.pipette = Some(pipette.ware.name);
                    }
                }
                Found::Weighings(all)
            }
            Way::Cumulative(count) => {
                let pipette = &room.pipettes[0];
                let vessel = room.vessel + chance.between(-0.004, 0.004);
                let mut delivered = 0.0;
                let masses = (0..count).map(|_| {
                    delivered += pipette.volume(chance, room.t);
                    let shown = room.shows(chance, vessel, delivered * density, density);
                    room.balance.typed(shown)
                });
                let masses = masses.collect();
                Found::Cumulative {
                    empty: room.shown(chance, vessel),
                    each: pipette.ware.typed(),
                    masses,
                }
            }
            Way::Pycnometer(count, ..) => {
                Found::Fillings((0..count).map(|_| room.filling(chance, density)).collect())
            }
            Way::Readings(count, by) => {
                let decimals = (-by.readability.log10()).ceil() as usize;
                let read = (0..count).map(|_| {
                    let shown = density + room.instrument + chance.normal(by.scatter);
                    let shown = (shown / by.readability).round() * by.readability;
                    format!("{shown:.decimals$}")
                });
                Found::Readings(read.collect())
            }
        }
    }
}

impl Room {
    fn of(&self, name: &'static str, fraction: f64) -> True {
        True {
            name,
            density: match self.truth {
                Truth::Measured => nature::brine(fraction, self.t),
                Truth::Published(weak, strong) => {
                    let deviation = if fraction > 0.22 { strong } else { weak };
                    nature::published(fraction, self.t) + self.departure * deviation
                }
            },
            fraction,
        }
    }

    /// Weighings of water for the ware that is calibrated.
    fn calibrate(&self, chance: &mut Chance) -> Vec<(&'static str, Vec<Weighing>)> {
        let calibrated = self.pipettes.iter();
        let calibrated = calibrated.filter(|p| matches!(p.ware.limits, Limits::Calibrated(_)));
        calibrated
            .map(|pipette| {
                let water = nature::water(self.t);
                let weighings = (0..5).map(|_| self.weighing(chance, pipette, water, 1));
                (pipette.ware.name, weighings.collect())
            })
            .collect()
    }

    fn shows(&self, chance: &mut Chance, below: f64, mass: f64, density: f64) -> f64 {
        self.balance.shows(chance, below, mass, density)
    }

    /// A vessel of so many g, as typed. (What its buoyancy makes of it is the same each time.)
    fn shown(&self, chance: &mut Chance, vessel: f64) -> String {
        let shown = self.balance.shows(chance, vessel, 0.0, 1.0);
        self.balance.typed(shown)
    }

    /// Some deliveries weighed together; the vessel keeps a drop or is drier from one to the next.
    fn weighing(
        &self,
        chance: &mut Chance,
        pipette: &WareInUse,
        density: f64,
        deliveries: usize,
    ) -> Weighing {
        let vessel = self.vessel + chance.between(-0.004, 0.004);
        let empty = self.shown(chance, vessel);
        let delivered = (0..deliveries).map(|_| pipette.volume(chance, self.t));
        let mass = delivered.sum::<f64>() * density;
        let filled = self.shows(chance, vessel, mass, density);
        Weighing {
            empty,
            filled: self.balance.typed(filled),
            volume: match deliveries {
                1 => pipette.ware.typed(),
                several => format!("{several} × {}", pipette.ware.typed()),
            },
            pipette: None,
        }
    }

    /// The pycnometer filled.
    fn filling(&self, chance: &mut Chance, density: f64) -> String {
        let mass = (PYCNOMETER + chance.normal(self.filling)) * density;
        let shown = self.shows(chance, self.vessel, mass, density);
        self.balance.typed(shown)
    }

    /// The stock, made up to its flask, and its concentration in g/mL, given the one wanted.
    fn stock(&self, chance: &mut Chance, wanted: f64, how: Making) -> (Made, f64) {
        let salt = wanted * self.flask.ware.capacity / self.purity * chance.between(0.99, 1.01);
        let volume = self.flask.volume(chance, self.t);
        let to = self.flask.ware.capacity.to_string();
        let vessel = self.flask.ware.name;
        let made = if how == Making::Tared {
            let shown = self.shows(chance, 0.0, salt, SALT);
            let mass = self.balance.typed(shown);
            Made::Tared { mass, to, vessel }
        } else {
            let jar = 2.0 * self.vessel;
            let before = self.shows(chance, jar, salt, SALT);
            Made::ByDifference {
                before: self.balance.typed(before),
                after: self.shown(chance, jar),
                to,
                vessel,
            }
        };
        (made, salt * self.purity / volume)
    }

    /// A solution of about that strength by mass.
    fn by_mass(&self, chance: &mut Chance, name: &'static str, wanted: f64) -> (Made, True) {
        let salt = 100.0 * wanted / self.purity * chance.between(0.99, 1.01);
        let water = 100.0 - salt;
        let shown = [(salt, SALT), (water, nature::water(self.t))]
            .map(|(mass, density)| self.shows(chance, 0.0, mass, density));
        let [salt_shown, water_shown] = shown.map(|shown| self.balance.typed(shown));
        let made = Made::ByMass {
            salt: salt_shown,
            water: water_shown,
        };
        let fraction = salt * self.purity / (salt + water);
        (made, self.of(name, fraction))
    }
}
