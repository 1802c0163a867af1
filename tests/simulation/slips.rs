//! Slips as people make them: each changes what was typed of an honest run.

use super::chance::Chance;
use super::notebook::{Found, Made, Notebook, Solution};
use super::scene::{UNKNOWN, WATER};

/// A kind of slip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Two neighbouring digits exchanged in a reading of the empty vessel, the filled vessel, the salt, the temperature.
    Transposed(Place),
    /// The decimal point one place off in the mass of salt.
    PointMoved,
    /// One digit taken for another.
    Misread,
    /// One gram or ten too many or too few.
    WholeGram,
    /// One delivery more or fewer than was done.
    Count,
    /// A dilution made up in another flask than is written.
    Mark,
    /// The stock made up in another flask: one cause for it and its dilutions.
    StockMark,
    /// Two solutions taken for each other when they were weighed.
    Swapped,
    /// The same with the unknown.
    SwappedWithUnknown,
    /// A reading of successive deliveries left out.
    Skipped,
}

/// Where a digit is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Place {
    Empty,
    Filled,
    Salt,
    Temperature,
    Cumulative,
}

impl Kind {
    /// Every kind, by the words for it.
    pub(crate) const ALL: [(&'static str, Self); 14] = [
        (
            "digits transposed, empty vessel",
            Self::Transposed(Place::Empty),
        ),
        (
            "digits transposed, filled vessel",
            Self::Transposed(Place::Filled),
        ),
        ("digits transposed, salt", Self::Transposed(Place::Salt)),
        (
            "digits transposed, temperature",
            Self::Transposed(Place::Temperature),
        ),
        ("decimal point moved, salt", Self::PointMoved),
        ("one digit misread", Self::Misread),
        ("a whole gram or ten", Self::WholeGram),
        ("a delivery too many or too few", Self::Count),
        ("a dilution made up to another mark", Self::Mark),
        ("the stock made up to another mark", Self::StockMark),
        ("two solutions swapped", Self::Swapped),
        ("the unknown swapped with another", Self::SwappedWithUnknown),
        ("cumulative, a reading skipped", Self::Skipped),
        (
            "cumulative, digits transposed",
            Self::Transposed(Place::Cumulative),
        ),
    ];

    /// Whether it is made in a series of deliveries.
    pub(crate) fn of_series(self) -> bool {
        matches!(self, Self::Skipped | Self::Transposed(Place::Cumulative))
    }
}

/// What undoes a slip.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Undone {
    /// At this entry it should read so.
    Reading { entry: String, right: String },
    /// So many deliveries went into the solution.
    Count {
        solution: &'static str,
        right: usize,
    },
    /// The solution was made up to so many mL.
    Mark {
        solution: &'static str,
        right: String,
    },
    /// Two solutions exchanged.
    Swap(&'static str, &'static str),
    /// A reading is missing in the series of the solution.
    Missing { solution: &'static str },
}

/// A run with a slip of a kind in it, and what undoes it; none where there is no place for it.
pub(crate) fn slipped(
    kind: Kind,
    honest: &Notebook,
    chance: &mut Chance,
) -> Option<(Notebook, Undone)> {
    let mut book = honest.clone();
    let undone = match kind {
        Kind::Transposed(Place::Temperature) => temperature(&mut book, chance),
        Kind::Transposed(place) => reading(&mut book, chance, &[place], transposed),
        Kind::PointMoved => reading(&mut book, chance, &[Place::Salt], point_moved),
        Kind::Misread => {
            let places = [Place::Empty, Place::Filled, Place::Salt];
            reading(&mut book, chance, &places, misread)
        }
        Kind::WholeGram => {
            let places = [Place::Empty, Place::Filled];
            reading(&mut book, chance, &places, whole_gram)
        }
        Kind::Count => count(&mut book, chance),
        Kind::Mark => mark(&mut book, chance, false),
        Kind::StockMark => mark(&mut book, chance, true),
        Kind::Swapped => swapped(&mut book, chance, false),
        Kind::SwappedWithUnknown => swapped(&mut book, chance, true),
        Kind::Skipped => skipped(&mut book, chance),
    }?;
    Some((book, undone))
}

/// Spoils a typed number.
type Spoil = fn(&str, &mut Chance) -> Option<String>;

fn reading(
    book: &mut Notebook,
    chance: &mut Chance,
    places: &[Place],
    spoil: Spoil,
) -> Option<Undone> {
    let place = *chance.one_of(places)?;
    let mut all: Vec<(String, &mut String)> = book
        .solutions
        .iter_mut()
        .flat_map(|solution| readings(solution, place))
        .collect();
    let index = chance.below(all.len())?;
    let (entry, text) = &mut all[index];
    let right = text.clone();
    **text = spoil(&right, chance)?;
    Some(Undone::Reading {
        entry: entry.clone(),
        right,
    })
}

/// The readings of a solution at a place, by their entries in the run file.
fn readings(solution: &mut Solution, place: Place) -> Vec<(String, &mut String)> {
    let name = solution.name;
    match place {
        Place::Salt => match &mut solution.made {
            Made::ByDifference { before, after, .. } => vec![
                (format!("solutions.{name}.weighed.before"), before),
                (format!("solutions.{name}.weighed.after"), after),
            ],
            Made::Tared { mass, .. } => vec![(format!("solutions.{name}.weighed.mass"), mass)],
            _ => Vec::new(),
        },
        Place::Empty | Place::Filled => {
            let Some(Found::Weighings(all)) = &mut solution.found else {
                return Vec::new();
            };
            // Nothing at the bench could contradict a single weighing of the unknown.
            if name == UNKNOWN && all.len() == 1 {
                return Vec::new();
            }
            let numbered = all.iter_mut().enumerate();
            numbered
                .map(|(i, w)| match place {
                    Place::Empty => (format!("weighings.{name}.{}.empty", i + 1), &mut w.empty),
                    _ => (format!("weighings.{name}.{}.filled", i + 1), &mut w.filled),
                })
                .collect()
        }
        Place::Cumulative => {
            let Some(Found::Cumulative { masses, .. }) = &mut solution.found else {
                return Vec::new();
            };
            let numbered = masses.iter_mut().enumerate();
            numbered
                .map(|(i, m)| {
                    (
                        format!("density.cumulative.{name}.deliveries.{}.mass", i + 1),
                        m,
                    )
                })
                .collect()
        }
        Place::Temperature => Vec::new(),
    }
}

/// The places of the digits of a number.
fn digits(text: &str) -> Vec<usize> {
    let all = text.bytes().enumerate();
    all.filter(|(_, byte)| byte.is_ascii_digit())
        .map(|(at, _)| at)
        .collect()
}

/// Whether somebody would write it: no needless zero in front.
fn written(text: &str) -> bool {
    !(text.starts_with('0') && text[1..].starts_with(|c: char| c.is_ascii_digit()))
}

fn transposed(text: &str, chance: &mut Chance) -> Option<String> {
    let digits = digits(text);
    let all: Vec<String> = digits
        .windows(2)
        .filter(|pair| text.as_bytes()[pair[0]] != text.as_bytes()[pair[1]])
        .filter_map(|pair| {
            let mut bytes = text.as_bytes().to_vec();
            bytes.swap(pair[0], pair[1]);
            String::from_utf8(bytes).ok()
        })
        .filter(|text| written(text))
        .collect();
    chance.one_of(&all).cloned()
}

fn misread(text: &str, chance: &mut Chance) -> Option<String> {
    let at = *chance.one_of(&digits(text))?;
    let mut bytes = text.as_bytes().to_vec();
    let shift = 1 + chance.below(9)? as u8;
    bytes[at] = b'0' + (bytes[at] - b'0' + shift) % 10;
    String::from_utf8(bytes).ok().filter(|text| written(text))
}

fn point_moved(text: &str, chance: &mut Chance) -> Option<String> {
    let point = text.find('.')?;
    let digits = text.replace('.', "");
    let all: Vec<String> = [point - 1, point + 1]
        .into_iter()
        .filter(|at| (1..digits.len()).contains(at))
        .map(|at| format!("{}.{}", &digits[..at], &digits[at..]))
        .collect();
    chance.one_of(&all).cloned()
}

fn whole_gram(text: &str, chance: &mut Chance) -> Option<String> {
    let value: f64 = text.parse().ok()?;
    let decimals = text.len() - text.find('.').map_or(text.len(), |at| at + 1);
    let apart = *chance.one_of(&[1.0, -1.0, 10.0, -10.0])?;
    Some(format!("{:.decimals$}", value + apart))
}

fn temperature(book: &mut Notebook, chance: &mut Chance) -> Option<Undone> {
    let (read, rest) = match book.liquid.split_once(' ') {
        Some((read, rest)) => (read.to_owned(), format!(" {rest}")),
        None => (book.liquid.clone(), String::new()),
    };
    book.liquid = transposed(&read, chance)? + &rest;
    Some(Undone::Reading {
        entry: "conditions.liquid".into(),
        right: read,
    })
}

fn count(book: &mut Notebook, chance: &mut Chance) -> Option<Undone> {
    let dilutions = book.solutions.iter_mut();
    let mut dilutions: Vec<(&'static str, &mut usize)> = dilutions
        .filter_map(|s| match &mut s.made {
            Made::Dilution { count, .. } => Some((s.name, count)),
            _ => None,
        })
        .collect();
    let index = chance.below(dilutions.len())?;
    let (solution, count) = &mut dilutions[index];
    let right = **count;
    **count = match chance.one_of(&[right - 1, right + 1])? {
        0 => right + 1,
        typed => *typed,
    };
    Some(Undone::Count { solution, right })
}

/// The vessels are of 250 mL and 100 mL; what is made up to one is written as made up to the other.
fn mark(book: &mut Notebook, chance: &mut Chance, stock: bool) -> Option<Undone> {
    let solutions = book.solutions.iter_mut();
    let mut all: Vec<(&'static str, &mut String, &mut &'static str)> = solutions
        .filter_map(|s| match &mut s.made {
            Made::ByDifference { to, vessel, .. } | Made::Tared { to, vessel, .. } if stock => {
                Some((s.name, to, vessel))
            }
            Made::Dilution { to, vessel, .. } if !stock => Some((s.name, to, vessel)),
            _ => None,
        })
        .filter(|(_, _, vessel)| ["flask", "small"].contains(*vessel))
        .collect();
    let index = chance.below(all.len())?;
    let (solution, to, vessel) = &mut all[index];
    let right = to.clone();
    let other = if right == "250" {
        ("100", "small")
    } else {
        ("250", "flask")
    };
    other.0.clone_into(to);
    **vessel = other.1;
    Some(Undone::Mark { solution, right })
}

fn swapped(book: &mut Notebook, chance: &mut Chance, with_unknown: bool) -> Option<Undone> {
    let of_kind = |s: &Solution, unknown: bool| s.found.is_some() && (s.name == UNKNOWN) == unknown;
    let places = |unknown: bool| -> Vec<usize> {
        (0..book.solutions.len())
            .filter(|i| of_kind(&book.solutions[*i], unknown))
            .collect()
    };
    let a = *chance.one_of(&places(with_unknown))?;
    let others: Vec<usize> = places(false).into_iter().filter(|b| *b != a).collect();
    let b = *chance.one_of(&others)?;
    let found = book.solutions[a].found.take();
    let other = std::mem::replace(&mut book.solutions[b].found, found);
    book.solutions[a].found = other;
    Some(Undone::Swap(book.solutions[a].name, book.solutions[b].name))
}

fn skipped(book: &mut Notebook, chance: &mut Chance) -> Option<Undone> {
    let solutions = book.solutions.iter_mut();
    let mut all: Vec<(&'static str, &mut Vec<String>)> = solutions
        .filter(|s| s.name != WATER)
        .filter_map(|s| match &mut s.found {
            Some(Found::Cumulative { masses, .. }) => Some((s.name, masses)),
            _ => None,
        })
        .collect();
    let index = chance.below(all.len())?;
    let (solution, masses) = &mut all[index];
    // Were it the last, nothing would be wrong.
    let at = chance.below(masses.len() - 1)?;
    masses.remove(at);
    Some(Undone::Missing { solution })
}
