//! The slips that would explain a density that is off or densities that scatter.
//!
//! Every candidate is a change of one thing that was written or done. What it does is calculated from the numbers of the
//! solutions that it touches, in a time and memory that do not depend on the size of the run. A candidate fits where all
//! that it touches then agrees with the published densities, given what the other solutions show of the errors that all
//! share, and where the scatter of the weighings agrees with the yardstick. Each is ranked by how far χ² falls, less
//! 2 ln N for a kind of slip with N candidates: as when each of them is as likely as any other, and the kinds are too. All
//! that fit and are not far less likely than the best are named, since undoing the wrong one would do harm.
//!
//! A sentence that names a slip is believed. Therefore nothing is guessed: each candidate is tried, and its cost does not
//! grow with the number of weighings. Slips are looked for behind at most six solutions that are refused, those least
//! likely by chance; volumes that the ware cannot measure are not tried.
//!
//! | kind | what is tried |
//! |---|---|
//! | `digits-transposed`, `digit-misread`, `whole-unit`, `point-moved` | every mass, volume, density reading and temperature of the solution, of its making, and of the solution it was taken from |
//! | `delivery-count` | one delivery more or less, into a flask or a weighing |
//! | `other-mark` | marks of the run's vessels; half and double the volume if the standard lists such a flask |
//! | `exchanged` | the twelve solutions of the likeliest density, unknowns among them |
//! | `delivery-omitted` | each step of a cumulative series |
//! | `other-scale` | a temperature outside 5 °C to 45 °C that would be inside it in °F |

mod candidate;
mod making;
mod measuring;

pub use candidate::{Candidate, SlipKind};
pub(super) use candidate::{in_fahrenheit, tell};

use std::collections::BTreeMap;

use super::scene::{Comparison, Liquid, Scene, Together};
use super::series::Instead;
use crate::bench::fit::chi_squared_tail;

/// By so much at least χ² must fall: a slip is taken to be ten times less likely than none.
const LEAST_FALL: f64 = 4.5;
/// What falls by so much less than the best is not named: it is four hundred times less likely.
pub const MARGIN: f64 = 12.0;
/// A density agrees within so many standard uncertainties: one honest in a hundred does not.
const AGREES: f64 = 2.6;
/// The same of what the other solutions let expect, which rests on how well the yardstick is known.
const AGREES_WITH_OTHERS: f64 = 3.3;
/// The same of all in a class, whose scatter is known by some fifty degrees of freedom: one honest in five thousand does not.
const AGREES_IN_CLASS: f64 = 4.0;
/// Less likely scatter than this is not explained; in a class, which knows how its benches scatter, than the second.
const LEAST_LIKELY: [f64; 2] = [0.01, 0.001];
/// So many solutions up the line that one was taken from are looked at, and so many that were taken from it.
const MOST_RELATED: usize = 8;
/// So many other solutions are tried as the one that it was taken for: those of the likeliest density.
const MOST_PARTNERS: usize = 12;
/// Densities of a liquid without a published one are possible from so much below that of water, g/mL.
const BELOW_WATER: f64 = 0.01;
/// Temperatures that a liquid at a bench may have, °C.
pub const AT_A_BENCH: std::ops::RangeInclusive<f64> = 5.0..=45.0;

/// What a search found.
#[derive(Debug, Default)]
pub(super) struct Explained {
    /// The candidates that fit, the likeliest first.
    pub(super) candidates: Vec<Candidate>,
    /// How likely they are: twice the logarithm of that, but for a constant.
    pub(super) scores: Vec<f64>,
    /// How many were tried.
    #[cfg_attr(not(test), expect(dead_code, reason = "a test holds their growth"))]
    pub(super) trials: usize,
}

/// Returns the slips that would explain what is flagged of a solution: its density beside the published one and, where
/// `scatters`, the scatter of its weighings. `most` is the solution that is off most, if that is another one: what a
/// slip undone leaves off there explains nothing. `off` are all solutions whose densities are off.
pub(super) fn explaining(
    scene: &Scene,
    (solution, most): (usize, usize),
    scatters: bool,
    off: &[usize],
) -> Explained {
    let mut makers = vec![solution];
    while let Some(parent) = makers.last().and_then(|last| scene.parent(*last)) {
        if makers.len() > MOST_RELATED {
            break;
        }
        makers.push(parent);
    }
    let count = scene.liquids.len();
    let descendants = (0..count).filter(|other| scene.is_made_from(*other, solution));
    let partners = partners(scene, solution);
    let mut members: Vec<usize> = Vec::new();
    let wanted = makers.iter().copied().chain(descendants.take(MOST_RELATED));
    let wanted = wanted.chain(partners.iter().copied());
    // Another one that is off for reasons of its own says nothing of the errors that all share.
    let others = (0..count).filter(|other| !off.contains(other));
    for member in wanted.chain(others) {
        if members.len() > super::scene::MOST_TOGETHER + MOST_PARTNERS {
            break;
        }
        if !members.contains(&member) {
            members.push(member);
        }
    }
    let together = scene.together(&members);
    let mut search = Search {
        scene,
        solution,
        most,
        scatters,
        before: together.chi_squared(&together.differences),
        together,
        trials: BTreeMap::new(),
        fitting: Vec::new(),
    };
    for maker in makers {
        search.making(maker);
        search.measuring(maker);
    }
    search.temperatures();
    for partner in partners {
        search.exchanged(partner);
    }
    search.finish()
}

/// Returns the solutions whose density is most like what is published of another, itself left out.
fn partners(scene: &Scene, solution: usize) -> Vec<usize> {
    let own = &scene.liquids[solution];
    let wanted = match scene.stands[solution] {
        Comparison::Differs(by) => own.density - by,
        Comparison::Beyond | Comparison::Open => return Vec::new(),
    };
    let others = scene.liquids.iter().enumerate();
    let mut others: Vec<(usize, f64)> = others
        .filter(|(other, liquid)| *other != solution && liquid.is_measured())
        .map(|(other, liquid)| (other, (liquid.density - wanted).abs()))
        .collect();
    others.sort_by(|a, b| a.1.total_cmp(&b.1));
    others.truncate(MOST_PARTNERS);
    others.into_iter().map(|(other, _)| other).collect()
}

/// A slip as it would be undone.
struct Undone<'u> {
    kind: SlipKind,
    /// What liquids would then be, by their places in the run.
    liquids: &'u [(usize, Liquid)],
    /// What items of the first liquid's series would then be.
    instead: &'u [Instead],
}

struct Search<'s> {
    scene: &'s Scene<'s>,
    solution: usize,
    /// The solution that is off most, which must then agree with the others as well.
    most: usize,
    scatters: bool,
    together: Together,
    /// χ² of all together as it is.
    before: f64,
    trials: BTreeMap<SlipKind, usize>,
    /// Fall of χ², and the candidate.
    fitting: Vec<(f64, Candidate)>,
}

impl Search<'_> {
    fn attempt(&mut self, undone: &Undone, name: impl FnOnce() -> (String, String, String)) {
        *self.trials.entry(undone.kind).or_insert(0) += 1;
        if let Some(fall) = self.fall(undone).filter(|fall| *fall >= LEAST_FALL) {
            let (entry, read, meant) = name();
            let candidate = Candidate {
                kind: undone.kind,
                entry,
                read,
                meant,
            };
            self.fitting.push((fall, candidate));
        }
    }

    /// Returns how far χ² falls; `None` if the slip does not fit.
    fn fall(&self, undone: &Undone) -> Option<f64> {
        let scene = self.scene;
        let (agrees, with_others, least_likely) = if scene.is_in_class() {
            (AGREES_IN_CLASS, AGREES_IN_CLASS, LEAST_LIKELY[1])
        } else {
            (AGREES, AGREES_WITH_OTHERS, LEAST_LIKELY[0])
        };
        let first = undone.liquids.first()?.0;
        let mut fall = 0.0;
        if undone.instead.is_empty() {
            if self.scatters {
                return None;
            }
        } else {
            if self.scatters && first != self.solution {
                return None;
            }
            let series = scene.series[first].as_ref()?;
            let (was, now) = (series.found().1, series.with(undone.instead).1);
            if series.dof() > 0.0
                && chi_squared_tail(now / scene.inflation[first], series.dof()) < least_likely
            {
                return None;
            }
            fall += (was - now) / scene.inflation[first];
        }
        let mut differences = self.together.differences.clone();
        let mut explains = first == self.solution;
        for (touched, liquid) in self.touched(undone.liquids) {
            let stand = scene.stand(touched, &liquid);
            if stand == Comparison::Open && liquid.is_measured() && !self.is_possible(&liquid) {
                return None;
            }
            let Some(index) = self.together.index(touched) else {
                continue;
            };
            let agrees = agrees * self.together.deviations[index];
            let was = differences[index].abs() <= agrees;
            differences[index] = self.together.with(index, stand);
            let is = differences[index].abs() <= agrees;
            if !is && (was || touched == self.solution) {
                return None;
            }
            explains |= touched == self.solution;
        }
        for of in [self.solution, self.most] {
            let Some(index) = self.together.index(of) else {
                continue;
            };
            let departure = self.together.departure(index, &differences);
            if departure.abs() > with_others {
                return None;
            }
        }
        fall += self.before - self.together.chi_squared(&differences);
        explains.then_some(fall)
    }

    /// Returns some liquids with those that were taken from them, as far as they are looked at.
    fn touched(&self, liquids: &[(usize, Liquid)]) -> Vec<(usize, Liquid)> {
        let mut all = liquids.to_vec();
        for (changed, liquid) in liquids {
            let was = self.scene.liquids[*changed].mass_concentration();
            let ratio = match (was, liquid.mass_concentration()) {
                (Some(was), Some(is)) if was > 0.0 && was.to_bits() != is.to_bits() => is / was,
                _ => continue,
            };
            for member in &self.together.members {
                if self.scene.is_made_from(*member, *changed) {
                    all.push((*member, self.scene.liquids[*member].times(ratio)));
                }
            }
        }
        all
    }

    /// Returns whether a liquid without a published density may be what the run's solutions are.
    fn is_possible(&self, liquid: &Liquid) -> bool {
        let Some(salt) = self.scene.bench.reduction.salt else {
            return true;
        };
        let t = liquid.temperature;
        let published = &self.scene.published;
        let low = published.brine(0.0, t);
        let high = published.brine(salt.largest_mass_fraction, t);
        let room = BELOW_WATER;
        low.is_none_or(|low| liquid.density >= low - room)
            && high.is_none_or(|high| liquid.density <= high + room)
    }

    /// Returns the candidates that fit, the likeliest first.
    fn finish(self) -> Explained {
        let trials = self.trials.values().sum();
        let mut scored: Vec<(f64, Candidate)> = self
            .fitting
            .into_iter()
            .map(|(fall, candidate)| {
                let alike = self.trials.get(&candidate.kind).copied().unwrap_or(1);
                (fall - 2.0 * (alike as f64).ln(), candidate)
            })
            .collect();
        scored.sort_by(|a, b| b.0.total_cmp(&a.0));
        let best = scored.first().map_or(0.0, |(score, _)| *score);
        let least = if best < LEAST_FALL {
            f64::INFINITY
        } else {
            best - MARGIN
        };
        let named = scored.into_iter().take_while(|(score, _)| *score >= least);
        let (scores, candidates) = named.unzip();
        Explained {
            candidates,
            scores,
            trials,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::practice::Bench;
    use crate::bench::reduce::reduce;
    use crate::bench::reduce::results::Results;

    /// Returns a brine weighed so many times, with a slip in the last weighing.
    fn weighed(count: usize) -> String {
        let mut text = String::from(
            "title: Many\ndate: 2026-03-04\nanalysts: [R. Example]\nconditions: {liquid: 20.0 °C}\n\
             solute: sodium chloride\napparatus:\n  scale: {kind: balance, readability: 0.001 g, repeatability: 0.001 g}\n\
             \x20 ten: {kind: pipette, capacity: 10 mL, class: A, repeatability: 0.008 mL}\nsolutions:\n\
             \x20 A: {weighed: {mass: 5.000 g, balance: scale}, solvent: {mass: 95.000 g, balance: scale}}\n\
             density:\n  balance: scale\n  pipette: ten\n  weighings:\n    A:\n",
        );
        for index in 1..=count {
            let filled = if index == count { "41.451" } else { "41.541" };
            text += &format!(
                "      - {{empty: 31.20{} g, filled: {filled} g, volume: 10.00 mL}}\n",
                index % 5
            );
        }
        text
    }

    fn tried(count: usize) -> Explained {
        let text = weighed(count);
        let (run, problems) = crate::bench::runfile::read("run.yaml", text.as_bytes());
        let run = run.unwrap_or_else(|| panic!("{problems:#?}"));
        let reduction = reduce(&run).unwrap_or_else(|problems| panic!("{problems:#?}"));
        let results = Results::new(&run, &reduction);
        let bench = Bench {
            run: &run,
            reduction: &reduction,
            results: &results,
        };
        explaining(&Scene::new(&bench), (0, 0), true, &[0])
    }

    #[test]
    fn trials_grow_as_the_weighings_do() {
        let (few, many) = (tried(20), tried(200));
        assert!(few.trials > 20 * 20, "{few:?}");
        assert!(
            many.trials <= 10 * few.trials,
            "{} {}",
            few.trials,
            many.trials
        );
        for (count, found) in [(20, few), (200, many)] {
            let right = Candidate {
                kind: SlipKind::DigitsTransposed,
                entry: format!("weighings.A.{count}.filled"),
                read: "41.451 g".into(),
                meant: "41.541 g".into(),
            };
            assert!(found.candidates.contains(&right), "{found:#?}");
        }
    }
}
