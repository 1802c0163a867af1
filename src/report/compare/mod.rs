//! The runs of several benches side by side: what each found, what all have in common, and who differs.
//!
//! Each run is reduced by itself and leaves no more than a [`Row`], so that memory does not grow with what a run holds;
//! a run that stands apart from its class is reduced once more, for the slips that would explain it. Statistics are
//! those of [`crate::bench::interlaboratory`].

mod against_class;
mod by_date;
mod claims;
mod found;
mod group;
mod plots;
mod table;
mod values;

pub use against_class::{Class, ClassLiquid, Look, Suspect, judge};
pub use found::{Answer, Apart, Findings, Liquid, Measured, Row, slips_in_words, with_uncertainty};
pub use group::{Group, Pairs, Quantity, Score};
pub use table::{BEGINNING, cell, table};

use crate::print::manuscript::Manuscript;
use crate::problem::Problem;
use crate::report;
use crate::report::templates::Templates;
use values::ComparisonValues;

/// Returns the values that the templates of a comparison may use, by the names listed in `templates/VALUES.md`.
pub fn values(title: &str, rows: &[Row], group: &Group) -> impl serde::Serialize + use<> {
    ComparisonValues::new(title, rows, group, &plots::plots(rows, group))
}

/// Writes the manuscript of a comparison.
///
/// # Errors
/// Every problem of the templates.
pub fn manuscript(
    title: &str,
    rows: &[Row],
    group: &Group,
    templates: &Templates,
) -> Result<Manuscript, Vec<Problem>> {
    let plots = plots::plots(rows, group);
    let values = ComparisonValues::new(title, rows, group, &plots);
    let blocks = report::blocks_with(
        &values,
        templates,
        rows.len() * group.quantities.len(),
        0,
        &plots,
    )?;
    Ok(Manuscript {
        running_head: format!("{title}: comparison of {} runs", rows.len()),
        title: title.to_owned(),
        subject: format!("Comparison of {} runs", rows.len()),
        running_foot: format!("Fillmark {}", env!("CARGO_PKG_VERSION")),
        language: "en-GB".into(),
        blocks,
        ..Manuscript::default()
    })
}
