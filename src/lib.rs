//! Fillmark turns the readings of a saline-density bench run into a written report.
//!
//! The floors, from the bench up to the bytes; data goes one way, and a module imports only from those below it:
//!
//! | floor | module | what it does |
//! |---|---|---|
//! | shared | [`problem`] | one type for all that can be wrong with an input |
//! | bench | [`quantity`] | numbers as written, units, rounding |
//! | bench | [`worksheet`] | inputs, formulas, sensitivities, covariance, budget |
//! | bench | [`fit`] | lines and curves through points with known errors |
//! | bench | [`benches`] | statistics of the results of several benches or days |
//! | bench | [`reference`](mod@reference) | published values |
//! | bench | [`runfile`] | the run file, each entry with its place |
//! | bench | [`reduce`] | from readings to results |
//! | bench | [`practice`] | flags of bench practice |
//! | bench | [`claims`] | results calculated by hand, judged step by step |
//! | bench | [`plan`] | how a series can be made, and what its run will give |
//! | bench | [`revision`] | what differs between two states of a run |
//! | shared | [`maths`] | formulas as trees: in words, in TeX |
//! | print | [`page`] | finished pages |
//! | print | [`picture`] | pictures from files into pixels |
//! | print | [`typeface`] | shaping and measuring |
//! | print | [`manuscript`] | what is to be set |
//! | print | [`figure`] | plots into page items |
//! | print | [`layout`] | manuscript into pages |
//! | print | [`pdf`] | pages into bytes |
//! | print | [`markup`] | manuscript into HTML and Markdown |
//! | bridge | [`report`] | results through templates into a manuscript |
//! | bridge | [`compare`] | the runs of several benches side by side |
//! | bridge | [`sheet`] | a run file with blanks into a sheet to write on, and a page to fill in |
//! | print | [`house_style`] | the style file into what layout goes by |
//! | top | [`cli`], [`files`] | commands, disk |

pub mod benches;
pub mod claims;
pub mod cli;
pub mod compare;
pub mod figure;
pub mod files;
pub mod fit;
pub mod house_style;
pub mod layout;
pub mod manuscript;
pub mod markup;
pub mod maths;
pub mod page;
pub mod pdf;
pub mod picture;
pub mod plan;
pub mod practice;
pub mod problem;
pub mod quantity;
pub mod reduce;
pub mod reference;
pub mod report;
pub mod revision;
pub mod runfile;
pub mod sheet;
pub mod typeface;
pub mod worksheet;
