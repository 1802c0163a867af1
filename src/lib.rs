//! Fillmark turns the readings of a saline-density bench run into a written report.
//!
//! Data goes one way: [`mod@bench`] → [`report`] → [`mod@print`]. [`pipeline`] is the whole way in one file, and what a
//! program that uses this library calls; [`cli`] is that program.
//!
//! The modules, from the bench to the bytes; each imports only from those above it:
//!
//! | room | module | what it does |
//! |---|---|---|
//! | shared | [`problem`] | errors and warnings about input, and their renderings |
//! | shared | [`maths`] | formulas as trees; in words, in TeX |
//! | shared | [`threads`] | work shared among threads |
//! | bench | [`bench::quantity`] | numbers as written, units, rounding |
//! | bench | [`bench::worksheet`] | inputs, formulas, sensitivities, covariance, budget, typeset forms |
//! | bench | [`bench::fit`] | lines and curves through points with known errors; quantiles |
//! | bench | [`bench::interlaboratory`] | the results of several benches or days: robust means, scores, precision, control charts |
//! | bench | [`bench::reference`](mod@bench::reference) | published values, each with source, range, uncertainty |
//! | bench | [`bench::runfile`] | run file and files beside it → entries with their spans, or problems; schema; blank run files |
//! | bench | [`bench::reduce`](mod@bench::reduce) | preparation, density, composition, calibration, unknowns, comparison, results |
//! | bench | [`bench::practice`] | flags, one file each; slips that would explain them |
//! | bench | [`bench::claims`] | results calculated by hand, judged step by step: correct, carried forward, or by which mistake |
//! | bench | [`bench::plan`] | a plan file → ways, series, expected results; the best in words and as data |
//! | bench | [`bench::revision`] | differences between two states of a run; the record of issues |
//! | print | [`print::page`] | finished pages: items at fixed points, structure |
//! | print | [`print::picture`] | image files → pixels as printed, within limits |
//! | print | [`print::typeface`] | shaping and measuring |
//! | print | [`print::manuscript`] | content to be typeset; the readers of Markdown and TeX |
//! | print | [`print::figure`] | plots → page items |
//! | print | [`print::layout`] | manuscript → pages |
//! | print | [`print::house_style`] | style file and logo → layout's style |
//! | print | [`print::pdf`] | pages → bytes; attachments back out of bytes |
//! | print | [`print::markup`] | manuscript → HTML (MathML, SVG) or Markdown |
//! | report | [`report`] | results → templates → manuscript |
//! | report | [`report::compare`] | runs of several benches → results of each, statistics of all, outliers |
//! | report | [`report::sheet`] | a run file with blanks → a sheet to write on, a page to fill in |
//! | top | [`pipeline`] | a run file's bytes → a report's bytes, in memory |
//! | top | [`files`] | all access to the disk: limits, whole files or none, locks |
//! | top | [`cli`] | commands, terminal |

pub mod bench;
pub mod cli;
pub mod files;
pub mod maths;
pub mod pipeline;
pub mod print;
pub mod problem;
pub mod report;
pub mod threads;
