//! One run file into its report and the files beside it, whole or not at all.

use std::path::{Path, PathBuf};

use super::also;
use super::earlier::{self, Earlier, NotEarlier};
use super::inputs::{Means, made_from};
use super::pipeline::{self, Run};
use super::terminal::Terminal;
use super::{BesideOnDisk, Ending, MonteCarlo, read_run_file};
use crate::files;
use crate::problem::Sources;
use crate::revision::{Record, corrections_otherwise};

/// A report to be made.
#[derive(Debug, Clone, Copy)]
pub(super) struct Order<'a> {
    /// The run file.
    pub(super) run: &'a Path,
    /// Where its report goes.
    pub(super) output: &'a Path,
}

/// How reports are made.
pub(super) struct Making<'a> {
    pub(super) means: Means<'a>,
    pub(super) monte_carlo: &'a MonteCarlo,
    /// Where the results go, where they are asked for.
    pub(super) results: Option<&'a Path>,
    /// What a report is compared with, where not with the one it replaces.
    pub(super) since: Option<&'a Path>,
    /// Whether files that are not Fillmark's are written over.
    pub(super) force: bool,
    /// Whether reports of unchanged inputs are left alone.
    pub(super) leaves_unchanged: bool,
    /// Files that the command line names, which must not be written over by others.
    pub(super) named: Vec<PathBuf>,
}

/// What a report is compared with.
#[derive(Clone, Copy)]
pub(super) enum Before<'e> {
    /// The report that stands there now, or what the command line names.
    AsItStands,
    /// This, or nothing.
    Fixed(Option<&'e Earlier>),
}

/// What became of an order.
pub(super) struct Made {
    pub(super) ending: Ending,
    /// The run; none where it could not be read or reduced.
    pub(super) run: Option<Run>,
    /// Whether the report was left as it stood.
    pub(super) left_alone: bool,
    /// Files written beside the report.
    also: Vec<PathBuf>,
}

impl Made {
    fn failed(ending: Ending, run: Option<Run>) -> Self {
        Self {
            ending,
            run,
            left_alone: false,
            also: Vec::new(),
        }
    }

    /// Says what was made.
    pub(super) fn tell(&self, order: &Order, terminal: &mut Terminal) {
        let Some(run) = self.run.as_ref().filter(|_| self.ending == Ending::Done) else {
            return;
        };
        for headline in run.headlines() {
            terminal.say(&headline);
        }
        if !run.flags.is_empty() {
            let codes: Vec<&str> = run.flags.iter().map(|flag| flag.code.word()).collect();
            terminal.say(&format!("flags: {}", codes.join(", ")));
        }
        if run.file.draft {
            terminal.say("a draft, not counted as an issue");
        } else if let Some(issue) = run.record.issues.last() {
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
        terminal.say(&format!("report: {}", order.output.display()));
        for path in &self.also {
            terminal.say(&format!("also: {}", path.display()));
        }
    }
}

impl Making<'_> {
    /// Makes one report; what is wrong is said on the terminal.
    pub(super) fn make(&self, order: &Order, before: Before, terminal: &mut Terminal) -> Made {
        let bytes = match read_run_file(order.run) {
            Ok(bytes) => bytes,
            Err(problem) => {
                terminal.problems(&[*problem], &Sources::none());
                return Made::failed(Ending::Machine, None);
            }
        };
        let name = order.run.to_string_lossy();
        let beside = BesideOnDisk(order.run);
        let (run, problems, sources) = pipeline::read_beside(&name, &bytes, &beside);
        terminal.problems(&problems, &sources);
        let Some(mut run) = run else {
            terminal.complain(&format!("{name}: no report is made"));
            return Made::failed(Ending::Problems, None);
        };
        match self.made(order, before, &bytes, &mut run, &sources, terminal) {
            Ok(also) => Made {
                ending: Ending::Done,
                run: Some(run),
                left_alone: also.is_none(),
                also: also.unwrap_or_default(),
            },
            Err(ending) => Made::failed(ending, Some(run)),
        }
    }

    /// Makes and writes the report; the files written beside it, or none where it was left alone.
    fn made(
        &self,
        order: &Order,
        before: Before,
        bytes: &[u8],
        run: &mut Run,
        sources: &Sources,
        terminal: &mut Terminal,
    ) -> Result<Option<Vec<PathBuf>>, Ending> {
        let Order { run: path, output } = *order;
        self.spare_inputs(order, run, terminal)?;
        let word = self.means.word(&run.file, bytes);
        let forms_stand = || {
            let stand = |form: &also::Form| form.path(output).exists();
            self.means.also.iter().all(stand)
        };
        if self.leaves_unchanged && forms_stand() && made_from(output, &word) {
            // A process that was killed while it made this report again may have left something.
            files::clear(output);
            return Ok(None);
        }
        let standing = self.standing(output, before, terminal)?;
        let earlier = match before {
            Before::Fixed(earlier) => earlier,
            Before::AsItStands => standing.as_ref(),
        };
        if let Some(earlier) = earlier {
            let otherwise = corrections_otherwise(&earlier.run.file, &run.file);
            terminal.problems(&otherwise, sources);
            let record = earlier.record.clone().explained_by(&run.file);
            run.record = if run.file.draft {
                Record {
                    last_counted: Some(earlier.source.clone()),
                    ..record
                }
            } else {
                record.with(run.changes_since(&earlier.run))
            };
        }
        self.monte_carlo.check(run);
        let Means {
            templates, style, ..
        } = self.means;
        let made = run
            .manuscript_in(bytes, templates, style)
            .and_then(|manuscript| {
                let (pdf, warnings) = run.set(&manuscript, bytes, style, &word)?;
                let json = self.results.map(|_| run.results_json()).transpose();
                let json = json.map_err(|problem| vec![*problem])?;
                let forms = if self.means.also.is_empty() {
                    Vec::new()
                } else {
                    also::forms(&manuscript, style, &also::stem(output), self.means.also)?
                };
                Ok((pdf, warnings, json, forms))
            });
        let (pdf, warnings, json, forms) = made.map_err(|problems| {
            terminal.problems(&problems, &templates.sources());
            terminal.complain(&format!("{}: no report is made", path.display()));
            Ending::Problems
        })?;
        terminal.problems(&warnings, sources);
        let mut taken = self.named.clone();
        taken.push(output.to_path_buf());
        taken.extend(beside(order, run).into_iter().map(|(path, _)| path));
        let forms = also::placed(&forms, output, &taken, self.force, terminal)?;
        let results = self.results.zip(json.as_deref().map(str::as_bytes));
        let placed = forms.iter().map(|(path, bytes)| (path.as_path(), *bytes));
        let written = [(output, pdf.as_slice())].into_iter().chain(results);
        for (path, bytes) in written.chain(placed) {
            files::write(path, bytes).map_err(|error| {
                terminal.complain(&format!("`{}` cannot be written: {error}", path.display()));
                Ending::Machine
            })?;
        }
        Ok(Some(forms.into_iter().map(|(path, _)| path).collect()))
    }

    /// Refuses to write over what the run file takes readings and photographs from.
    fn spare_inputs(
        &self,
        order: &Order,
        run: &Run,
        terminal: &mut Terminal,
    ) -> Result<(), Ending> {
        for (beside, what) in beside(order, run) {
            let beside = files::resolved(&beside);
            let written = [Some(order.output), self.results];
            let over = |file: &Path| files::resolved(file) == beside;
            if let Some(file) = written.into_iter().flatten().find(|file| over(file)) {
                terminal.complain(&format!(
                    "`{}` holds {what} of {} and would be written over; nothing is written",
                    file.display(),
                    order.run.display()
                ));
                return Err(Ending::Usage);
            }
        }
        Ok(())
    }

    /// What the report is compared with, unless something else is fixed: what `--since` names, or the report that is
    /// written over, if any. A file that is not Fillmark's is not written over, whatever is compared.
    fn standing(
        &self,
        output: &Path,
        before: Before,
        terminal: &mut Terminal,
    ) -> Result<Option<Earlier>, Ending> {
        let written_over = if output.exists() {
            match earlier::last_issue(output) {
                Ok(earlier) => earlier,
                Err(NotEarlier::Foreign(_)) if self.force => None,
                Err(NotEarlier::Foreign(why)) => {
                    terminal.complain(&format!(
                        "`{}` is no report of Fillmark's ({why}) and is not written over; `--force` does so",
                        output.display()
                    ));
                    return Err(Ending::Usage);
                }
                Err(NotEarlier::Because(why)) => {
                    if self.since.is_none() && matches!(before, Before::AsItStands) {
                        terminal.complain(&format!(
                            "`{}` {why}; the record of issues begins anew",
                            output.display()
                        ));
                    }
                    None
                }
            }
        } else {
            None
        };
        match self.since.filter(|_| matches!(before, Before::AsItStands)) {
            None => Ok(written_over),
            Some(since) => earlier::read(since).map(Some).map_err(|not| {
                let (since, why) = (since.display(), not.why());
                terminal.complain(&format!("`{since}` {why}; nothing is written"));
                Ending::Problems
            }),
        }
    }
}

/// The files beside a run file that its report is made from, and what each of them holds.
pub(super) fn beside(order: &Order, run: &Run) -> Vec<(PathBuf, &'static str)> {
    let tables = run.file.beside.iter();
    let tables = tables.map(|table| (&table.path, "readings"));
    let photos = run.file.photos.iter();
    let photos = photos.map(|photo| (&photo.path.value, "a photograph"));
    let all = tables.chain(photos);
    all.map(|(path, what)| (order.run.with_file_name(path), what))
        .collect()
}
