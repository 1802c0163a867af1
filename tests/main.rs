//! Every test from outside, in one program, so that it is linked once.

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::unreadable_literal,
    reason = "a test fails by panicking and prints its seed; published digits stand as published"
)]

mod apart;
mod archive;
mod as_typed;
mod bad_runs;
mod batches;
mod benches_of_a_table;
mod blank_runs;
mod calibration_statistics;
mod claims;
mod cli;
mod common;
mod comparing;
mod comparison_laws;
mod completions;
mod corrections;
mod coverage;
mod density_unit;
mod docs;
mod earlier_calibration;
mod estimated_variances;
mod explain;
mod extract;
mod figures;
mod fit_laws;
mod floors;
mod full_pages;
mod fuzzed;
mod generated_runs;
mod help;
mod hostile;
mod house_style;
mod layout_laws;
mod licences;
mod limits;
mod line_choice;
mod line_ends;
mod long_runs;
mod manual;
mod many_runs;
mod mutants;
mod other_formats;
mod outputs;
mod page_images;
mod pdf_bytes;
mod photos;
mod plain_checks;
mod planning;
mod practice;
mod published_comparisons;
mod published_fits;
mod published_montecarlo;
mod published_references;
mod published_rounding;
mod published_runs;
mod published_strength;
mod published_weighing;
mod published_worksheets;
mod readings_beside;
mod reduction_laws;
mod reference;
mod reports;
mod revision;
mod run_file;
#[path = "bench/runs.rs"]
mod runs;
mod same_bytes;
mod schema;
mod screen_reader;
mod second_reduction;
mod second_spreads;
mod sensitivities;
mod sheet;
mod simulation;
mod strength;
mod symbols;
mod template_values;
mod templates;
mod tex_formulas;
mod text_as_meant;
mod traceability;
mod uncorrected;
mod ware;
mod ways_to_a_density;
mod weighing_model;
