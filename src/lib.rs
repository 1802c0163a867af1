//! Fillmark turns the readings of a saline-density bench run into a written report.
//!
//! Data goes one way: [`mod@bench`] → [`report`] → [`mod@print`]. [`pipeline`] is the whole way in one file, and what a
//! program that uses this library calls; [`cli`] is that program.
//!
//! The modules, from the bench to the bytes; each imports only from those above it:
//!
//! | room | module | what it does |
//! |---|---|---|
//! | shared | [`problem`] | one type for all that can be wrong with an input |
//! | shared | [`maths`] | formulas as trees: in words, in TeX |
//! | bench | [`bench::quantity`] | numbers as written, units, rounding |
//! | bench | [`bench::worksheet`] | inputs, formulas, sensitivities, covariance, budget |
//! | bench | [`bench::fit`] | lines and curves through points with known errors |
//! | bench | [`bench::interlaboratory`] | statistics of the results of several benches or days |
//! | bench | [`bench::reference`](mod@bench::reference) | published values |
//! | bench | [`bench::runfile`] | the run file, each entry with its place |
//! | bench | [`bench::reduce`](mod@bench::reduce) | from readings to results |
//! | bench | [`bench::practice`] | flags of bench practice |
//! | bench | [`bench::claims`] | results calculated by hand, judged step by step |
//! | bench | [`bench::plan`] | how a series can be made, and what its run will give |
//! | bench | [`bench::revision`] | what differs between two states of a run |
//! | print | [`print::page`] | finished pages |
//! | print | [`print::picture`] | pictures from files into pixels |
//! | print | [`print::typeface`] | shaping and measuring |
//! | print | [`print::manuscript`] | what is to be set |
//! | print | [`print::figure`] | plots into page items |
//! | print | [`print::layout`] | manuscript into pages |
//! | print | [`print::house_style`] | reads style files |
//! | print | [`print::pdf`] | pages into bytes |
//! | print | [`print::markup`] | manuscript into HTML and Markdown |
//! | report | [`report`] | results through templates into a manuscript |
//! | report | [`report::compare`] | the runs of several benches side by side |
//! | report | [`report::sheet`] | a run file with blanks into a sheet to write on, and a page to fill in |
//! | top | [`pipeline`] | a run file's bytes into a report's bytes, in memory |
//! | top | [`files`], [`cli`] | disk, commands |

pub mod bench;
pub mod cli;
pub mod files;
pub mod maths;
pub mod pipeline;
pub mod print;
pub mod problem;
pub mod report;
