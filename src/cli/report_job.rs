//! One run file into its report and the files beside it, whole or not at all.

use std::path::{Path, PathBuf};

use super::command_error::CommandError;
use super::fingerprint::{Options, is_up_to_date, made_from};
use super::named::NamedRun;
use super::other_formats;
use super::outputs::{self, Inputs};
use super::previous_report::{self, Earlier};
use super::stdout::document;
use super::terminal::Terminal;
use super::{Ending, MonteCarlo, named};
use crate::bench::revision::{Record, corrections_otherwise};
use crate::bench::runfile::model::RunFile;
use crate::files::{self, Claim};
use crate::pipeline::{self, ReportedRun, Run};
use crate::print::manuscript::Manuscript;
use crate::print::markup;
use crate::print::page::Attachment;
use crate::problem::{Code, Problem, Sources};

/// A report to be made.
#[derive(Debug, Clone, Copy)]
pub(super) struct Target<'a> {
    /// The run.
    pub(super) run: &'a NamedRun,
    /// Where its report goes.
    pub(super) output: &'a Path,
    /// Where its results go, where they are asked for.
    pub(super) results: Option<&'a Path>,
}

/// How reports are made.
pub(super) struct ReportJob<'a> {
    pub(super) means: Options<'a>,
    pub(super) monte_carlo: &'a MonteCarlo,
    /// The table of the results of all runs, where one is asked for.
    pub(super) table: Option<&'a Path>,
    /// What a report is compared with, where not with the one it replaces.
    pub(super) since: Option<&'a Path>,
    /// Whether files that are not Fillmark's are written over.
    pub(super) force: bool,
    /// Whether reports of unchanged inputs are left alone.
    pub(super) leaves_unchanged: bool,
    /// Files that the command line names, and what these name.
    pub(super) inputs: Inputs,
}

/// A report and the files beside it, ready to be typeset and written without the run.
struct Prepared {
    manuscript: Manuscript,
    attachments: Vec<Attachment>,
    made_from: String,
    /// Results, where they are asked for.
    results: Option<String>,
    /// Other forms, each with the end of its file name.
    forms: Vec<(String, String)>,
    /// Files that the run was read from.
    inputs: Inputs,
    /// Held until all is written.
    _claim: Option<Claim>,
}

/// What a report is compared with.
#[derive(Clone, Copy)]
pub(super) enum Previous<'e> {
    /// The report that stands there now, or what the command line names.
    AsItStands,
    /// This, or nothing.
    Fixed(Option<&'e Earlier>),
}

/// The number of flags listed; the report and `fillmark check` list all.
const MOST_FLAGS: usize = 12;

/// What became of an order.
pub(super) struct Outcome {
    pub(super) ending: Ending,
    /// The run; `None` if it could not be read or reduced.
    pub(super) run: Option<ReportedRun>,
    /// Whether the report was left as it stood.
    pub(super) unchanged: bool,
    /// Whether the report made is the one that stood there.
    same: bool,
    /// Files written beside the report.
    also: Vec<PathBuf>,
}

/// What was written.
struct Written {
    /// Whether the report is the one that stood there.
    same: bool,
    /// Files beside it.
    also: Vec<PathBuf>,
}

impl Outcome {
    fn failed(ending: Ending, run: Option<ReportedRun>) -> Self {
        Self {
            ending,
            run,
            unchanged: false,
            same: false,
            also: Vec::new(),
        }
    }

    /// Says what was made.
    pub(super) fn tell(&self, order: &Target, terminal: &mut Terminal) {
        let Some(run) = self.run.as_ref().filter(|_| self.ending == Ending::Done) else {
            return;
        };
        for headline in &run.headlines {
            terminal.say(headline);
        }
        for flag in run.flags.iter().take(MOST_FLAGS) {
            let span = run.file.span_of(&flag.entry);
            let line = span.map_or_else(String::new, |span| format!(", line {}", span.line));
            terminal.flag(
                "flag",
                flag.code.word(),
                &format!(" at {}{line}", flag.entry),
            );
        }
        if let Some(more) = run.flags.len().checked_sub(MOST_FLAGS + 1) {
            terminal.say(&format!("flags: {} more", more + 1));
        }
        if run.file.draft {
            terminal.say("a draft, not counted as an issue");
        } else if self.same {
            terminal.say("nothing has changed since this report was made");
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

impl ReportJob<'_> {
    /// Makes one report; what is wrong is said on the terminal.
    pub(super) fn make(
        &self,
        order: &Target,
        before: Previous,
        terminal: &mut Terminal,
    ) -> Outcome {
        let bytes = match order.run.read() {
            Ok(bytes) => bytes,
            Err(problem) => {
                let ending = match problem.code {
                    Code::SectionNotApart => Ending::Problems,
                    _ => Ending::Machine,
                };
                let error = CommandError::of_problem(ending, problem);
                return Outcome::failed(error.tell(terminal), None);
            }
        };
        let name = order.run.shown();
        let (run, problems, sources) = order.run.reduced(&bytes);
        terminal.problems(&problems, &sources);
        let Some(mut run) = run else {
            terminal.complain(&format!("{name}: no report is made"));
            return Outcome::failed(Ending::Problems, None);
        };
        let prepared = self.prepare(order, before, &bytes, &mut run, &sources, terminal);
        // A large run's worksheet takes about as much memory as its pages: it is freed before they are typeset.
        let run = ReportedRun::from(run);
        let written = prepared.and_then(|prepared| {
            let written = prepared.map(|prepared| self.write(order, prepared, &sources, terminal));
            written.transpose()
        });
        match written {
            Ok(written) => Outcome {
                ending: Ending::Done,
                run: Some(run),
                unchanged: written.is_none(),
                same: written.as_ref().is_some_and(|written| written.same),
                also: written.map(|written| written.also).unwrap_or_default(),
            },
            Err(error) => Outcome::failed(error.tell(terminal), Some(run)),
        }
    }

    /// Prepares a report; `None` if the one already there is up to date.
    fn prepare(
        &self,
        order: &Target,
        before: Previous,
        bytes: &[u8],
        run: &mut Run,
        sources: &Sources,
        terminal: &mut Terminal,
    ) -> Result<Option<Prepared>, CommandError> {
        let output = order.output;
        let Options {
            templates,
            style,
            also,
            ..
        } = self.means;
        let mut inputs = Inputs::default();
        for (path, what) in beside(order.run, &run.file) {
            inputs.add(&path, what);
        }
        let forms: Vec<PathBuf> = also.iter().map(|form| form.path(output)).collect();
        self.free(order, &forms, &inputs)?;
        let word = self.means.word(&run.file, bytes);
        if self.leaves_unchanged && is_up_to_date(output, &word, also, order.results) {
            self.monte_carlo.check(run);
            return Ok(None);
        }
        // From here on the report that stands there is the one that this one replaces.
        let claim = (!named::is_stream(output)).then(|| files::claim(output));
        let claim = claim
            .transpose()
            .map_err(|error| CommandError::not_written(output, &error))?;
        self.compared(order, before, bytes, run, sources, terminal)?;
        let made_from = made_from(&word, &run.record);
        self.monte_carlo.check(run);
        let manuscript = run.manuscript_in(bytes, templates, style);
        let prepared = manuscript.and_then(|manuscript| {
            let stem = other_formats::stem(output);
            let forms = other_formats::forms(&manuscript, style, stem, &made_from, also)?;
            let json = order.results.map(|_| run.results_json_from(&made_from));
            Ok(Prepared {
                attachments: run.attachments(bytes, &made_from)?,
                results: json.transpose().map_err(|problem| vec![problem])?,
                manuscript,
                forms,
                made_from,
                inputs,
                _claim: claim,
            })
        });
        prepared
            .map(Some)
            .map_err(|problems| self.failure(order, problems))
    }

    /// Returns the error that ends a report with problems.
    fn failure(&self, order: &Target, problems: Vec<Problem>) -> CommandError {
        let line = format!("{}: no report is made", order.run.shown());
        CommandError::new(Ending::Problems, line).with(problems, self.means.templates.sources())
    }

    /// Typesets a report and writes it with the files beside it.
    fn write(
        &self,
        order: &Target,
        prepared: Prepared,
        sources: &Sources,
        terminal: &mut Terminal,
    ) -> Result<Written, CommandError> {
        let output = order.output;
        let Prepared {
            manuscript,
            attachments,
            made_from,
            results,
            forms,
            inputs,
            _claim,
        } = prepared;
        let set = pipeline::set(manuscript, attachments, self.means.style, &made_from);
        let (pdf, warnings) = set.map_err(|problems| self.failure(order, problems))?;
        terminal.problems(&warnings, sources);
        let forms: Vec<(PathBuf, String)> = forms
            .into_iter()
            .map(|(ending, text)| (other_formats::beside(output, &ending), text))
            .collect();
        let paths: Vec<PathBuf> = forms.iter().map(|(path, _)| path.clone()).collect();
        let same = files::read(output, pipeline::LARGEST_REPORT).is_ok_and(|stands| stands == pdf);
        self.free(order, &paths, &inputs)?;
        // The report, by which it is known that all the others are there, comes last.
        let forms = forms.iter().map(|(path, text)| (&**path, text.as_bytes()));
        let results = order.results.zip(results.as_deref().map(str::as_bytes));
        let all = forms.chain(results).chain([(output, &*pdf)]);
        let (to_stdout, to_files): (Vec<_>, Vec<_>) =
            all.partition(|(path, _)| named::is_stream(path));
        outputs::write(to_files)?;
        for (_, bytes) in to_stdout {
            document(bytes)?;
        }
        Ok(Written { same, also: paths })
    }

    /// Refuses outputs that are inputs, that are one another, or that are not Fillmark's. What stands in the report's own
    /// place is judged as it is read.
    fn free(&self, order: &Target, forms: &[PathBuf], inputs: &Inputs) -> Result<(), CommandError> {
        let outputs = forms.iter().map(PathBuf::as_path).chain(order.results);
        let outputs = outputs
            .chain([order.output])
            .chain(self.table)
            .filter(|path| !named::is_stream(path));
        outputs::apart(
            outputs.map(|path| (path, order.run.path())),
            &[&self.inputs, inputs],
        )?;
        if !named::is_stream(order.output) {
            outputs::stands(order.output)?;
        }
        for form in forms {
            outputs::free(form, markup::is_ours, self.force)?;
        }
        let results = order.results.filter(|path| !named::is_stream(path));
        results.map_or(Ok(()), |results| {
            outputs::free(results, pipeline::is_results, self.force)
        })
    }

    /// Compares the run with what it was before, if there is anything, and enters it into the record of issues.
    fn compared(
        &self,
        order: &Target,
        before: Previous,
        bytes: &[u8],
        run: &mut Run,
        sources: &Sources,
        terminal: &mut Terminal,
    ) -> Result<(), CommandError> {
        let standing = self.standing(order.output, before)?;
        let earlier = match before {
            Previous::Fixed(earlier) => earlier,
            Previous::AsItStands => standing.as_ref(),
        };
        if let Some(earlier) = earlier {
            let otherwise = corrections_otherwise(&earlier.run.file, &run.file);
            terminal.problems(&otherwise, sources);
            let record = earlier.record.clone().explained_by(&run.file);
            let record = if run.file.draft {
                Record {
                    last_counted: Some(earlier.source.clone()),
                    ..record
                }
            } else {
                record.with(run.changes_since(&earlier.run))
            };
            let beside = run.file.beside.iter().map(|file| file.bytes.len());
            run.record = record.within(bytes.len() + beside.sum::<usize>());
        }
        Ok(())
    }

    /// Returns what the report is compared with, unless something else is fixed: what `--since` names, or the report
    /// that is written over, if any. A file that is not Fillmark's is not written over, whatever is compared.
    fn standing(&self, output: &Path, before: Previous) -> Result<Option<Earlier>, CommandError> {
        let stands = !named::is_stream(output) && outputs::stands(output)?;
        let written_over = stands
            .then(|| previous_report::last_issue(output))
            .transpose();
        let written_over = match written_over {
            Ok(written_over) => written_over.flatten(),
            Err(_) if self.force => None,
            Err(why) => {
                return Err(CommandError::usage(format!(
                    "`{}` {why}: it is not a report by Fillmark and is not overwritten; use `--force` to overwrite it",
                    output.display()
                )));
            }
        };
        match self
            .since
            .filter(|_| matches!(before, Previous::AsItStands))
        {
            None => Ok(written_over),
            Some(since) => previous_report::read(since).map(Some).map_err(|why| {
                let line = format!("`{}` {why}; nothing is written", since.display());
                CommandError::new(Ending::Problems, line)
            }),
        }
    }
}

/// Returns the files beside a run file that its report is made from, and what each of them holds.
pub(super) fn beside(named: &NamedRun, run: &RunFile) -> Vec<(PathBuf, &'static str)> {
    let tables = run.beside.iter();
    let tables = tables.map(|table| (&table.source, "a file that it reads"));
    let photos = run.photos.iter();
    let photos = photos.map(|photo| (&photo.path.value, "a photograph"));
    let named_there = tables.chain(photos);
    let named_there = named_there.map(|(name, what)| (named.path().with_file_name(name), what));
    let table = named.table().map(|path| (path, "a table of runs"));
    named_there.chain(table).collect()
}
