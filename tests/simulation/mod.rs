//! Bench runs with a known truth, to judge what the program concludes.
//!
//! [`nature`], [`apparatus`], [`scene`] and [`notebook`] are the truth: nothing in them comes from the program. [`judge`]
//! hands the run file to the program as text and compares; [`rates`] looks at flags.
//! [`cells`] says which benches, [`slips`] which mistakes. `tests/bench/coverage.rs` prints the rates, `RATES.md` here holds
//! them.
//!
//! # What is true of a bench
//!
//! Densities of water follow Tanaka (2001), those of brine Rogers and Pitzer (1982).
//!
//! - A balance rounds, scatters (normal) and has one error of linearity for each load of 5 g. Every weighing is done in air of
//!   1.15 kg/m³ to 1.23 kg/m³ with weights of 8000 kg/m³.
//! - A piece of ware departs from its nominal volume by one error in a run, triangular within the limits of its class. Each
//!   delivery scatters (normal), and glass expands.
//! - Fillings of a pycnometer scatter by 1 to 2 parts in 10⁴, drawn once for each run, or as the run file states.
//! - The thermometer has one offset in a run, a hydrometer or density meter one error within its accuracy. Salt has a purity
//!   near the stated one. Nothing is left of rinsing.
//! - Analytic: 0.001 g, class A, 19 °C to 22 °C. Classroom: 0.01 g, class B cylinder and graduated pipette, temperature in
//!   whole degrees. Five points are water, the stock and three dilutions; nine are water, the stock and seven.
//!
//! # What is required
//!
//! Intervals hold the truth in 93.5 % to 96.5 % of runs; more is tolerated where few degrees of freedom make it so. One bench
//! covers more than 97.5 %: in a cumulative series led by the balance, the increments count its scatter twice, which is on the
//! safe side (`src/bench/reduce/cumulative.rs`).
//!
//! At most 5 % of honest runs carry a flag that judges. A slip can be seen where it moves the densities and their differences
//! from the published ones by five standard deviations of their scatter in honest runs ([`evidence`]). Of these slips, on an
//! analytic bench, at least 80 % are named and at most 2 % named wrongly only.
//!
//! Of classes of thirty benches, at most 5 % of honest ones have a bench that stands apart. A slip at one bench, in one of
//! three weighings of a liquid, that its own run does not show and that is four standard deviations of what the benches
//! differ by once errors that their readings share are taken out, is found against the class and named in at least 95 %
//! ([`classes`]).

pub(crate) mod apparatus;
pub(crate) mod cells;
pub(crate) mod chance;
pub(crate) mod claims;
pub(crate) mod classes;
pub(crate) mod earlier;
pub(crate) mod evidence;
pub(crate) mod judge;
pub(crate) mod nature;
pub(crate) mod notebook;
pub(crate) mod rates;
pub(crate) mod scene;
pub(crate) mod slips;
pub(crate) mod trade;
