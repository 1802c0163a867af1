//! `fillmark report`: run files into PDF reports.

use std::collections::BTreeSet;
use std::io::IsTerminal;
use std::path::{Path, PathBuf};

use clap::Args;

use super::command_error::{CommandError, end};
use super::fingerprint::Options;
use super::named::{self, NamedRun, Takes};
use super::other_formats::Form;
use super::outputs::{self, Inputs};
use super::report_job::{Previous, ReportJob, Target};
use super::results::{Entry, Results, Table};
use super::style_args::{chosen, styled};
use super::terminal::Terminal;
use super::{Ending, MonteCarlo, batch, watch};
use crate::files;
use crate::report::templates::SHIPPED;

/// Make the PDF report of each run file.
#[derive(Debug, Args)]
pub(super) struct Report {
    /// Run files (YAML), folders of run files, or patterns such as 'runs/*.yaml'; - for stdin.
    #[arg(value_name = "RUN.yaml", required = true)]
    runs: Vec<PathBuf>,
    /// Write the report here, or to stdout (-); for one run file. [default: beside the run file, ending in .pdf; a
    /// summary in .summary.pdf; of stdin, stdout]
    #[arg(long, value_name = "FILE", conflicts_with = "into")]
    pdf: Option<PathBuf>,
    /// Write the reports into this folder, which is created if missing.
    #[arg(long, value_name = "DIR")]
    into: Option<PathBuf>,
    /// Write the results too: of one run to this JSON file, or to stdout (-); of all runs to one table
    /// (FILE.csv), or to a JSON file each in this folder.
    #[arg(long, value_name = "FILE|DIR")]
    results: Option<PathBuf>,
    /// The set of templates: report, summary or worksheet; or a folder, whose templates (*.md) are used in place of those of the
    /// same name. [default: report]
    #[arg(long, value_name = "NAME|DIR")]
    template: Option<PathBuf>,
    /// Compare with this run file or report, and list the changes. [default: the report that is overwritten]
    #[arg(long, value_name = "OLD")]
    since: Option<PathBuf>,
    /// Leave the section `known` out of the report and of the run file attached: a copy for others, which `--pdf` or
    /// `--into` names.
    #[arg(long)]
    without_known: bool,
    /// Overwrite files that are not reports by Fillmark; of several runs, remake unchanged reports too.
    #[arg(long)]
    force: bool,
    /// The style file (YAML): paper, margins, sizes, colour, head line and logo.
    #[arg(long, value_name = "FILE")]
    style: Option<PathBuf>,
    /// Write the same report in this form too, beside the PDF; may be repeated.
    #[arg(long, value_name = "FORM")]
    also: Vec<Form>,
    /// Keep running, and remake a report whenever a file that it is made from is saved.
    #[arg(long)]
    watch: bool,
    #[command(flatten)]
    monte_carlo: MonteCarlo,
}

impl Report {
    pub(super) fn run(&self, terminal: &mut Terminal) -> Result<Ending, CommandError> {
        let (mut runs, read) = named::runs(&self.runs, Takes::Runs, terminal)?;
        if self.without_known {
            runs.iter_mut().for_each(NamedRun::leave_out_known);
        }
        if runs.is_empty() {
            return Ok(read);
        }
        let results = Results::new(self.results.as_deref(), runs.len())?;
        self.go_together(&runs, results)?;
        let outputs: Vec<PathBuf> = runs.iter().map(|run| self.output(run)).collect();
        let results_files: Vec<Option<PathBuf>> =
            runs.iter().map(|run| results.file_of(run)).collect();
        let orders = runs.iter().zip(&outputs).zip(&results_files);
        let orders: Vec<Target> = orders
            .map(|((run, output), results)| Target {
                run,
                output,
                results: results.as_deref(),
            })
            .collect();
        let inputs = self.inputs(&runs);
        self.apart(&orders, &inputs)
            .and_then(|()| results.prepared(&inputs, self.force))?;
        if let Some(folder) = &self.into {
            files::make_folder(folder).map_err(|error| {
                let line = format!("the folder `{}` cannot be made: {error}", folder.display());
                CommandError::new(Ending::Machine, line)
            })?;
        }
        clear(outputs.iter().chain(results_files.iter().flatten()));
        if results.goes_to_stdout() || outputs.iter().any(|output| named::is_stream(output)) {
            terminal.hush();
        }
        if self.watch {
            let make = |terminal: &mut Terminal, order: &Target, before: Previous<'_>| {
                self.with_making(&runs, None, terminal, |making, terminal| {
                    making.make(order, before, terminal)
                })
            };
            let looks = [self.template.as_deref(), self.style.as_deref()];
            let looks: Vec<&Path> = looks.into_iter().flatten().collect();
            return Ok(watch::watch(
                &orders,
                &looks,
                self.since.as_deref(),
                make,
                terminal,
            ));
        }
        self.with_making(&runs, results.table(), terminal, |making, terminal| {
            let mut table = Table::new();
            let ending = match orders.as_slice() {
                [order] => {
                    let made = making.make(order, Previous::AsItStands, terminal);
                    made.tell(order, terminal);
                    if making.table.is_some() {
                        table.add(&Entry::new(order, &made));
                    }
                    made.ending
                }
                several => batch::make(&making, several, &mut table, terminal),
            };
            let written = making.table.map_or(Ok(()), |path| table.write(path));
            ending.max(end(written, terminal)).max(read)
        })
    }

    /// Refuses options that do not go together.
    fn go_together(&self, runs: &[NamedRun], results: Results) -> Result<(), CommandError> {
        let refused = |message: &str| Err(CommandError::usage(message));
        if runs.len() > 1 && (self.pdf.is_some() || self.since.is_some()) {
            return refused(
                "`--pdf` and `--since` take one file and need exactly one run file; use `--into DIR` for several",
            );
        }
        if self.without_known && self.pdf.is_none() && self.into.is_none() {
            return refused(
                "`--without-known` makes a copy for others: name it with `--pdf FILE` or `--into DIR`",
            );
        }
        let is_pdf = |run: &&Path| run.extension().is_some_and(|ending| ending == "pdf");
        if let Some(pdf) = runs.iter().map(NamedRun::path).find(is_pdf) {
            let pdf = pdf.display();
            return refused(&format!(
                "`{pdf}` is named as a run file but is a PDF file; `fillmark extract {pdf}` gives the run file of a report"
            ));
        }
        let from_stdin = runs.iter().filter(|run| run.is_stream()).count();
        if from_stdin > 0 && (runs.len() > 1 || self.watch) {
            return refused(
                "`-` reads one run file from stdin and cannot be combined with others or with `--watch`",
            );
        }
        if self.watch && runs.iter().any(|run| run.table().is_some()) {
            return refused("`--watch` does not follow a table of runs");
        }
        let to_stdout = runs.iter().any(|run| named::is_stream(&self.output(run)));
        if to_stdout && (!self.also.is_empty() || self.watch) {
            return refused(
                "a report to stdout cannot be combined with other forms or with `--watch`; name it with `--pdf FILE`",
            );
        }
        if to_stdout && results.goes_to_stdout() {
            return refused("the report and its results cannot both go to stdout");
        }
        if to_stdout && std::io::stdout().is_terminal() {
            return refused(
                "a PDF file is not written to a terminal; name it with `--pdf FILE`, or send stdout to a file",
            );
        }
        if self.watch
            && !matches!(
                results,
                Results::Nowhere | Results::File(_) | Results::Folder(_)
            )
        {
            return refused(
                "`--watch` makes reports one by one and does not keep a table of all up to date",
            );
        }
        Ok(())
    }

    /// Reads what reports are made with, and does something with it.
    fn with_making<T>(
        &self,
        runs: &[NamedRun],
        table: Option<&Path>,
        terminal: &mut Terminal,
        does: impl FnOnce(ReportJob, &mut Terminal) -> T,
    ) -> Result<T, CommandError> {
        let mut inputs = self.inputs(runs);
        let templates = chosen(self.template.as_deref(), &mut inputs, terminal)?;
        let style = styled(self.style.as_deref(), &mut inputs)?;
        let also = self.forms();
        let making = ReportJob {
            means: Options {
                templates: &templates,
                style: &style,
                draws: self.monte_carlo.draws.map(|draws| draws as usize),
                also: &also,
            },
            monte_carlo: &self.monte_carlo,
            table,
            since: self.since.as_deref(),
            force: self.force,
            leaves_unchanged: runs.len() > 1 && !self.force && !self.watch,
            inputs,
        };
        Ok(does(making, terminal))
    }

    /// Returns the forms asked for, each once.
    fn forms(&self) -> Vec<Form> {
        let forms: BTreeSet<Form> = self.also.iter().copied().collect();
        forms.into_iter().collect()
    }

    /// Returns the files that the command line names to be read.
    fn inputs(&self, runs: &[NamedRun]) -> Inputs {
        let mut inputs = Inputs::of_runs(runs);
        if let Some(since) = &self.since {
            inputs.add(since, "the file named with `--since`");
        }
        inputs
    }

    /// Refuses outputs that are known beforehand and are one file, or a run file.
    fn apart(&self, orders: &[Target], inputs: &Inputs) -> Result<(), CommandError> {
        let forms = self.forms();
        let mut all: Vec<(PathBuf, &Path)> = Vec::new();
        for order in orders {
            let forms = forms.iter().map(|form| form.path(order.output));
            let others = order.results.into_iter().chain([order.output]);
            let every = forms.chain(others.map(Path::to_path_buf));
            let files = every.filter(|path| !named::is_stream(path));
            all.extend(files.map(|path| (path, order.run.path())));
        }
        outputs::apart(
            all.iter().map(|(path, run)| (path.as_path(), *run)),
            &[inputs],
        )
    }

    /// Returns where a run's report goes.
    fn output(&self, run: &NamedRun) -> PathBuf {
        if run.is_stream() && self.into.is_none() && self.pdf.is_none() {
            return run.path().to_path_buf();
        }
        let run = run.file();
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
