//! `fillmark report`: run files into PDF reports.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use clap::Args;

use super::also::Form;
use super::inputs::Means;
use super::looks::{chosen, styled};
use super::making::{Before, Making, Order};
use super::terminal::Terminal;
use super::{Ending, MonteCarlo, batch, watch};
use crate::files;

/// Make the PDF report of each run file.
#[derive(Debug, Args)]
pub(super) struct Report {
    /// Run files (YAML).
    #[arg(value_name = "RUN.yaml", required = true)]
    runs: Vec<PathBuf>,
    /// Write the report here; for one run file. [default: beside the run file, ending in .pdf]
    #[arg(long, value_name = "FILE", conflicts_with = "into")]
    pdf: Option<PathBuf>,
    /// Write the reports into this folder, which is made if it is not there.
    #[arg(long, value_name = "DIR")]
    into: Option<PathBuf>,
    /// Write the results here as JSON; for one run file.
    #[arg(long, value_name = "FILE.json")]
    results: Option<PathBuf>,
    /// What is made: report, summary or worksheet; or a folder, whose templates (*.md) are used in place of those of the
    /// same name. [default: report]
    #[arg(long, value_name = "NAME|DIR")]
    template: Option<PathBuf>,
    /// Compare with this run file or report, and tell what changed. [default: the report that is written over]
    #[arg(long, value_name = "OLD")]
    since: Option<PathBuf>,
    /// Write over a file that is no report of Fillmark's; of several runs, make the unchanged again too.
    #[arg(long)]
    force: bool,
    /// How it looks: paper, margins, sizes, colour, head line and logo, by a style file (YAML).
    #[arg(long, value_name = "FILE")]
    style: Option<PathBuf>,
    /// Write the same report in this form too, beside the PDF; may be given again.
    #[arg(long, value_name = "FORM")]
    also: Vec<Form>,
    /// Stay, and make a report again whenever a file that it is made from is saved.
    #[arg(long)]
    watch: bool,
    #[command(flatten)]
    monte_carlo: MonteCarlo,
}

impl Report {
    pub(super) fn run(&self, terminal: &mut Terminal) -> Ending {
        let names_one = self.pdf.is_some() || self.results.is_some() || self.since.is_some();
        if self.runs.len() > 1 && names_one {
            terminal.complain("`--pdf`, `--results` and `--since` name one file and go with one run file; use `--into DIR` for several");
            return Ending::Usage;
        }
        let outputs: Vec<PathBuf> = self.runs.iter().map(|run| self.output(run)).collect();
        let inputs: Vec<PathBuf> = self.runs.iter().chain(&self.style).cloned().collect();
        if let Some(clash) = clash(&inputs, &outputs, self.results.as_deref()) {
            terminal.complain(&format!("{clash}; nothing is written"));
            return Ending::Usage;
        }
        if let Some(folder) = &self.into
            && let Err(error) = files::make_folder(folder)
        {
            let folder = folder.display();
            terminal.complain(&format!("the folder `{folder}` cannot be made: {error}"));
            return Ending::Machine;
        }
        let orders: Vec<Order> = self
            .runs
            .iter()
            .zip(&outputs)
            .map(|(run, output)| Order { run, output })
            .collect();
        if self.watch {
            let make = |terminal: &mut Terminal, order: &Order, before: Before<'_>| {
                self.with_making(terminal, |making, terminal| {
                    making.make(order, before, terminal)
                })
            };
            let looks = [self.template.as_deref(), self.style.as_deref()];
            let looks: Vec<&Path> = looks.into_iter().flatten().collect();
            return watch::watch(&orders, &looks, self.since.as_deref(), make, terminal);
        }
        let made = self.with_making(terminal, |making, terminal| match orders.as_slice() {
            [order] => {
                let made = making.make(order, Before::AsItStands, terminal);
                made.tell(order, terminal);
                made.ending
            }
            several => batch::make(&making, several, terminal),
        });
        made.unwrap_or_else(|ending| ending)
    }

    /// Reads what reports are made with, and does something with it.
    fn with_making<T>(
        &self,
        terminal: &mut Terminal,
        does: impl FnOnce(Making, &mut Terminal) -> T,
    ) -> Result<T, Ending> {
        let templates = chosen(self.template.as_deref(), terminal)?;
        let style = styled(self.style.as_deref(), terminal)?;
        let named = [&self.results, &self.style, &self.since];
        let named = named.into_iter().flatten().chain(&self.runs);
        let making = Making {
            means: Means {
                templates: &templates,
                style: &style,
                draws: self.monte_carlo.draws.map(|draws| draws as usize),
                also: &self.also,
            },
            monte_carlo: &self.monte_carlo,
            results: self.results.as_deref(),
            since: self.since.as_deref(),
            force: self.force,
            leaves_unchanged: self.runs.len() > 1 && !self.force && !self.watch,
            named: named.cloned().collect(),
        };
        Ok(does(making, terminal))
    }

    /// Where a run's report goes.
    fn output(&self, run: &Path) -> PathBuf {
        match (&self.pdf, &self.into) {
            (Some(pdf), _) => pdf.clone(),
            (None, Some(folder)) => {
                folder.join(run.with_extension("pdf").file_name().unwrap_or_default())
            }
            (None, None) => run.with_extension("pdf"),
        }
    }
}

/// Two files that would be written to one place, or a run file that would be written over, if any: in words.
fn clash(runs: &[PathBuf], outputs: &[PathBuf], results: Option<&Path>) -> Option<String> {
    let mut taken: BTreeMap<PathBuf, &Path> = BTreeMap::new();
    for (run, output) in runs.iter().zip(outputs) {
        if let Some(other) = taken.insert(files::resolved(output), run) {
            let (run, other, output) = (run.display(), other.display(), output.display());
            return Some(format!(
                "`{other}` and `{run}` would both be written to `{output}`"
            ));
        }
    }
    if let Some(results) = results.filter(|results| taken.contains_key(&files::resolved(results))) {
        return Some(format!(
            "report and results would both be written to `{}`",
            results.display()
        ));
    }
    if let Some(results) = results {
        taken.insert(files::resolved(results), results);
    }
    let over = runs
        .iter()
        .find(|run| taken.contains_key(&files::resolved(run)))?;
    Some(format!(
        "the file `{}`, which is read, would be written over",
        over.display()
    ))
}
