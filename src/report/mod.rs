//! The bridge: results through templates into a manuscript.
//!
//! [`mod@values`] says what templates can use, [`calculations`] writes every calculation out, [`plots`] makes the plots,
//! [`templates`] renders. The print side sees only the manuscript.
//!
//! Markdown stands between results and pages so that somebody who has never seen the layout can read and change a template,
//! and so that other forms of the report come from the same text.

mod adjustments;
mod allowances;
mod budgets;
mod calculations;
mod calibration;
pub mod claims;
pub mod compare;
mod comparisons;
mod contrast;
mod densities;
mod derivation;
mod earlier;
mod effects;
mod flags;
mod known;
mod limits;
mod line_choice;
mod monte_carlo;
mod origin;
mod plots;
mod printed;
mod record;
mod rows;
pub mod sheet;
mod shipped;
mod shown;
mod spreads;
mod strength;
mod template;
mod template_error;
mod template_limits;
pub mod templates;
mod test_statistics;
mod uses;
mod values;
mod ware;
mod words;

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::bench::claims::Judged;
use crate::bench::practice::Flag;
use crate::bench::reduce::{Reduction, monte_carlo::MonteCarloStated, results::Results};
use crate::bench::revision::Record;
use crate::bench::runfile::model::RunFile;
use crate::maths::handles::Handles;
use crate::print::manuscript::plot::Plot;
use crate::print::manuscript::{Block, Manuscript, Photo, markdown};
use crate::problem::Problem;
use templates::Templates;

/// What a report is made from.
#[derive(Debug, Clone, Copy)]
pub struct Material<'a> {
    /// The run file, read.
    pub run: &'a RunFile,
    /// The run file's text, as written.
    pub text: &'a str,
    /// The run, reduced.
    pub reduction: &'a Reduction,
    /// Its results.
    pub results: &'a Results,
    /// What asks for a second look.
    pub flags: &'a [Flag],
    /// Results calculated by hand, judged.
    pub claims: &'a [Judged],
    /// The Monte Carlo check, where one was asked for.
    pub monte_carlo: Option<&'a MonteCarloStated>,
    /// The photographs, in the order of the run file; none where they are not kept with it.
    pub photos: &'a [Photo],
    /// The issues of the report so far, this one included.
    pub record: &'a Record,
}

/// Returns the values that templates may use, by the names listed in `templates/VALUES.md`.
pub fn values(material: &Material) -> impl serde::Serialize + use<> {
    values::Values::new(material, &plots::plots(material), &Handles::default())
}

/// Writes the manuscript of a report.
///
/// # Errors
/// Every problem of the templates: what minijinja cannot render, what the Markdown reader does not understand.
pub fn manuscript(material: &Material, templates: &Templates) -> Result<Manuscript, Vec<Problem>> {
    let run = material.run;
    let plots = plots::plots(material);
    let handles = Arc::new(Handles::default());
    let values = values::Values::new(material, &plots, &handles);
    let limits = template_limits::Limits::new(material);
    let text = templates
        .render(&values, &handles, limits)
        .map_err(|problem| vec![problem])?;
    let blocks = markdown::read(&text, templates::ORDER, &plots, material.photos, &handles)
        .map_err(|problems| templates.traced(problems, &values, &handles, limits))?;
    Ok(Manuscript {
        title: run.title.value.clone(),
        authors: run.analysts.clone(),
        subject: subject(run),
        date: Some(run.date.value),
        running_head: run.title.value.clone(),
        mark: if run.draft { "Draft" } else { "" }.into(),
        running_foot: format!("Fillmark {}", env!("CARGO_PKG_VERSION")),
        language: "en-GB".into(),
        blocks,
    })
}

/// Returns what templates write of other values than those of a report: the blocks of another document. It may be as
/// long as one of so many `quantities` and so many bytes of `entries`.
///
/// # Errors
/// As [`manuscript`].
pub fn blocks(
    values: &impl serde::Serialize,
    templates: &Templates,
    quantities: usize,
    entries: usize,
) -> Result<Vec<Block>, Vec<Problem>> {
    blocks_with(values, templates, quantities, entries, &BTreeMap::new())
}

/// Returns the same, with plots by name.
///
/// # Errors
/// As [`manuscript`].
pub fn blocks_with(
    values: &impl serde::Serialize,
    templates: &Templates,
    quantities: usize,
    entries: usize,
    plots: &BTreeMap<String, Plot>,
) -> Result<Vec<Block>, Vec<Problem>> {
    let handles = Arc::new(Handles::default());
    let limits = template_limits::Limits::for_so_much(quantities, entries);
    let text = templates
        .render(values, &handles, limits)
        .map_err(|problem| vec![problem])?;
    markdown::read(&text, templates::ORDER, plots, &[], &handles)
        .map_err(|problems| templates.traced(problems, values, &handles, limits))
}

/// Returns one line on what the report is.
fn subject(run: &RunFile) -> String {
    let place = run
        .place
        .as_deref()
        .map(|place| format!(", {place}"))
        .unwrap_or_default();
    format!(
        "Composition and density of {} solutions{place}",
        run.solute.name.value
    )
}
