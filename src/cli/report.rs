//! `fillmark report`: run files into PDF reports.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use clap::Args;

use super::also::Form;
use super::inputs::Means;
use super::looks::{chosen, styled};
use super::making::{Before, Making, Order};
use super::outputs::{self, Inputs, Refusal};
use super::terminal::Terminal;
use super::{Ending, MonteCarlo, batch, watch};
use crate::files;
use crate::report::templates::SHIPPED;

/// Make the PDF report of each run file.
#[derive(Debug, Args)]
pub(super) struct Report {
    /// Run files (YAML).
    #[arg(value_name = "RUN.yaml", required = true)]
    runs: Vec<PathBuf>,
    /// Write the report here; for one run file. [default: beside the run file, ending in .pdf; a summary
    /// in .summary.pdf]
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
    /// Leave the section `known` out of the report and of the run file attached: a copy for others, which `--pdf` or
    /// `--into` names.
    #[arg(long)]
    without_known: bool,
    /// Write over a file that is no report of Fillmark's; of several runs, make unchanged reports too.
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
        if self.without_known && self.pdf.is_none() && self.into.is_none() {
            terminal.complain(
                "`--without-known` makes a copy for others: name it with `--pdf FILE` or `--into DIR`",
            );
            return Ending::Usage;
        }
        let is_pdf = |run: &&PathBuf| run.extension().is_some_and(|ending| ending == "pdf");
        if let Some(pdf) = self.runs.iter().find(is_pdf) {
            let pdf = pdf.display();
            terminal.complain(&format!(
                "`{pdf}` is named as a run file and is a PDF file; `fillmark extract {pdf}` gives the run file of a report"
            ));
            return Ending::Usage;
        }
        let outputs: Vec<PathBuf> = self.runs.iter().map(|run| self.output(run)).collect();
        if let Err(refusal) = self.apart(&outputs) {
            terminal.complain(&refusal.message);
            return refusal.ending;
        }
        if let Some(folder) = &self.into
            && let Err(error) = files::make_folder(folder)
        {
            let folder = folder.display();
            terminal.complain(&format!("the folder `{folder}` cannot be made: {error}"));
            return Ending::Machine;
        }
        clear(outputs.iter().chain(&self.results));
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
        let mut inputs = self.inputs();
        let templates = chosen(self.template.as_deref(), &mut inputs, terminal)?;
        let style = styled(self.style.as_deref(), &mut inputs, terminal)?;
        let also = self.forms();
        let making = Making {
            means: Means {
                templates: &templates,
                style: &style,
                draws: self.monte_carlo.draws.map(|draws| draws as usize),
                also: &also,
            },
            monte_carlo: &self.monte_carlo,
            results: self.results.as_deref(),
            since: self.since.as_deref(),
            without_known: self.without_known,
            force: self.force,
            leaves_unchanged: self.runs.len() > 1 && !self.force && !self.watch,
            inputs,
        };
        Ok(does(making, terminal))
    }

    /// The forms asked for, each once.
    fn forms(&self) -> Vec<Form> {
        let forms: BTreeSet<Form> = self.also.iter().copied().collect();
        forms.into_iter().collect()
    }

    /// The files that the command line names to be read.
    fn inputs(&self) -> Inputs {
        let mut inputs = Inputs::default();
        for run in &self.runs {
            inputs.add(run, "a run file");
        }
        if let Some(since) = &self.since {
            inputs.add(since, "what `--since` names");
        }
        inputs
    }

    /// Refuses outputs that are known beforehand and are one file, or a run file.
    fn apart(&self, outputs: &[PathBuf]) -> Result<(), Refusal> {
        let mut all: Vec<(PathBuf, &Path)> = Vec::new();
        for (run, output) in self.runs.iter().zip(outputs) {
            let forms = self.forms().into_iter().map(|form| form.path(output));
            let every = forms.chain(self.results.clone()).chain([output.clone()]);
            all.extend(every.map(|path| (path, run.as_path())));
        }
        outputs::apart(
            all.iter().map(|(path, run)| (path.as_path(), *run)),
            [&self.inputs(), &Inputs::default()],
        )
    }

    /// Where a run's report goes.
    fn output(&self, run: &Path) -> PathBuf {
        // Another document than the report stands beside it.
        let named = self.template.as_deref().and_then(Path::to_str);
        let other = SHIPPED.iter().skip(1).find(|set| named == Some(set.name));
        let beside = other.map_or_else(
            || run.with_extension("pdf"),
            |set| run.with_extension(format!("{}.pdf", set.name)),
        );
        match (&self.pdf, &self.into) {
            (Some(pdf), _) => pdf.clone(),
            (None, Some(folder)) => folder.join(beside.file_name().unwrap_or_default()),
            (None, None) => beside,
        }
    }
}

/// Removes what killed processes left in the folders of some outputs.
fn clear<'p>(outputs: impl Iterator<Item = &'p PathBuf>) {
    let folders: BTreeSet<&Path> = outputs.map(|output| files::folder_of(output)).collect();
    folders.into_iter().for_each(files::clear);
}
