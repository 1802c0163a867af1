//! `fillmark report`: run files into PDF reports.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use clap::Args;

use super::also::{self, Form};
use super::earlier::{self, Earlier, NotEarlier};
use super::looks::{chosen, styled};
use super::terminal::Terminal;
use super::{BesideOnDisk, Ending, MonteCarlo, pipeline, read_run_file};
use crate::files;
use crate::layout::Style;
use crate::problem::Sources;
use crate::report::templates::Templates;
use crate::revision::corrections_otherwise;

/// Make the PDF report of each run file.
#[derive(Debug, Args)]
pub(super) struct Report {
    /// Run files (YAML).
    #[arg(value_name = "RUN.yaml", required = true)]
    runs: Vec<PathBuf>,
    /// Write the report here; for one run file. [default: beside the run file, ending in .pdf]
    #[arg(long, value_name = "FILE", conflicts_with = "into")]
    pdf: Option<PathBuf>,
    /// Write the reports into this folder.
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
    /// Write over a file that is no report of Fillmark's.
    #[arg(long)]
    force: bool,
    /// How it looks: paper, margins, sizes, colour, head line and logo, by a style file (YAML).
    #[arg(long, value_name = "FILE")]
    style: Option<PathBuf>,
    /// Write the same report in this form too, beside the PDF; may be given again.
    #[arg(long, value_name = "FORM")]
    also: Vec<Form>,
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
        let templates = match chosen(self.template.as_deref(), terminal) {
            Ok(templates) => templates,
            Err(ending) => return ending,
        };
        let style = match styled(self.style.as_deref(), terminal) {
            Ok(style) => style,
            Err(ending) => return ending,
        };
        let looks = (&templates, &style);
        let made = self.runs.iter().zip(&outputs);
        made.map(|(run, output)| self.make(run, output, looks, terminal))
            .max()
            .unwrap_or(Ending::Done)
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

    /// Every file that the command line names or that is written for it, `output` included.
    fn named(&self, output: &Path) -> Vec<PathBuf> {
        let single = [&self.results, &self.style, &self.since];
        let single = single.into_iter().flatten().chain(&self.runs);
        single.cloned().chain([output.to_path_buf()]).collect()
    }

    /// What the report is compared with: what `--since` names, or the report that is written over, if any.
    fn earlier(&self, output: &Path, terminal: &mut Terminal) -> Result<Option<Earlier>, Ending> {
        if let Some(since) = &self.since {
            return earlier::read(since).map(Some).map_err(|not| {
                let (since, why) = (since.display(), not.why());
                terminal.complain(&format!("`{since}` {why}; nothing is written"));
                Ending::Problems
            });
        }
        if self.force || !output.exists() {
            return Ok(None);
        }
        match earlier::of_report(output) {
            Ok(earlier) => Ok(Some(earlier)),
            Err(NotEarlier::Foreign(why)) => {
                terminal.complain(&format!(
                    "`{}` is no report of Fillmark's ({why}) and is not written over; `--force` does so",
                    output.display()
                ));
                Err(Ending::Usage)
            }
            Err(NotEarlier::Because(why)) => {
                terminal.complain(&format!(
                    "`{}` {why}; the record of issues begins anew",
                    output.display()
                ));
                Ok(None)
            }
        }
    }

    fn make(
        &self,
        path: &Path,
        output: &Path,
        (templates, style): (&Templates, &Style),
        terminal: &mut Terminal,
    ) -> Ending {
        let bytes = match read_run_file(path) {
            Ok(bytes) => bytes,
            Err(problem) => {
                terminal.problems(&[*problem], &Sources::none());
                return Ending::Machine;
            }
        };
        let name = path.to_string_lossy();
        let beside = BesideOnDisk(path);
        let (run, problems, sources) = pipeline::read_beside(&name, &bytes, &beside);
        terminal.problems(&problems, &sources);
        let Some(mut run) = run else {
            terminal.complain(&format!("{name}: no report is made"));
            return Ending::Problems;
        };
        let tables = run
            .file
            .beside
            .iter()
            .map(|table| (&table.path, "readings"));
        let photos = run.file.photos.iter();
        let photos = photos.map(|photo| (&photo.path.value, "a photograph"));
        for (beside, what) in tables.chain(photos) {
            let beside = files::resolved(&path.with_file_name(beside));
            let written = [Some(output), self.results.as_deref()];
            let over = |file: &Path| files::resolved(file) == beside;
            if let Some(file) = written.into_iter().flatten().find(|file| over(file)) {
                terminal.complain(&format!(
                    "`{}` holds {what} of {name} and would be written over; nothing is written",
                    file.display()
                ));
                return Ending::Usage;
            }
        }
        match self.earlier(output, terminal) {
            Ok(None) => {}
            Ok(Some(earlier)) => {
                let otherwise = corrections_otherwise(&earlier.run.file, &run.file);
                terminal.problems(&otherwise, &sources);
                let changes = run.changes_since(&earlier.run);
                run.record = earlier.record.with(changes);
            }
            Err(ending) => return ending,
        }
        self.monte_carlo.check(&mut run);
        let made = run
            .report_in(&bytes, templates, style)
            .and_then(|(pdf, warnings)| {
                let json = self
                    .results
                    .as_ref()
                    .map(|_| run.results_json())
                    .transpose();
                let forms = if self.also.is_empty() {
                    Vec::new()
                } else {
                    let stem = also::stem(output);
                    run.forms(&bytes, templates, style, &stem, &self.also)?
                };
                Ok((
                    pdf,
                    warnings,
                    json.map_err(|problem| vec![*problem])?,
                    forms,
                ))
            });
        let (pdf, warnings, json, forms) = match made {
            Ok(made) => made,
            Err(problems) => {
                terminal.problems(&problems, &templates.sources());
                terminal.complain(&format!("{name}: no report is made"));
                return Ending::Problems;
            }
        };
        terminal.problems(&warnings, &sources);
        let mut taken = self.named(output);
        let beside = run.file.beside.iter();
        taken.extend(beside.map(|beside| path.with_file_name(&beside.path)));
        let forms = match also::placed(&forms, output, &taken, self.force, terminal) {
            Ok(forms) => forms,
            Err(ending) => return ending,
        };
        let results = self
            .results
            .as_deref()
            .zip(json.as_deref().map(str::as_bytes));
        let forms_placed = forms.iter().map(|(path, bytes)| (path.as_path(), *bytes));
        let written = [(output, pdf.as_slice())].into_iter().chain(results);
        for (path, bytes) in written.chain(forms_placed) {
            if let Err(error) = files::write(path, bytes) {
                terminal.complain(&format!("`{}` cannot be written: {error}", path.display()));
                return Ending::Machine;
            }
        }
        for headline in run.headlines() {
            terminal.say(&headline);
        }
        if !run.flags.is_empty() {
            let codes: Vec<&str> = run.flags.iter().map(|flag| flag.code.word()).collect();
            terminal.say(&format!("flags: {}", codes.join(", ")));
        }
        if let Some(issue) = run.record.issues.last() {
            let unexplained = issue.changes.unexplained().count();
            let told = match unexplained {
                0 => String::new(),
                n => format!(", {n} not explained"),
            };
            let entries = issue.changes.entries.len();
            terminal.say(&format!(
                "issue {}: {entries} entr{} changed{told}",
                issue.number,
                if entries == 1 { "y" } else { "ies" }
            ));
        }
        terminal.say(&format!("report: {}", output.display()));
        for (path, _) in &forms {
            terminal.say(&format!("also: {}", path.display()));
        }
        Ending::Done
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
