//! Bench runs with a known truth, to judge what the program concludes.
//!
//! [`nature`], [`apparatus`], [`scene`] and [`notebook`] are the truth: nothing in them comes from the program. [`judge`]
//! hands the run file to the program as text and compares; [`rates`] looks at flags.
//! [`cells`] says which benches, [`slips`] which mistakes.

pub(crate) mod apparatus;
pub(crate) mod cells;
pub(crate) mod chance;
pub(crate) mod evidence;
pub(crate) mod judge;
pub(crate) mod nature;
pub(crate) mod notebook;
pub(crate) mod rates;
pub(crate) mod scene;
pub(crate) mod slips;
