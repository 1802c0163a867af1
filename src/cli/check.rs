//! `fillmark check`: every problem and flag, nothing written.

use std::path::{Path, PathBuf};

use clap::Args;

use super::check_json::{Checks, FileCheck, Outcome};
use super::command_error::{CommandError, end};
use super::named::{self, NamedRun, Takes};
use super::outputs::Inputs;
use super::results::{self, Entry, Results, Table};
use super::stdout;
use super::terminal::Terminal;
use super::{Ending, Format, MonteCarlo, previous_report};
use crate::bench::revision::{changes_not_explained, corrections_otherwise};
use crate::pipeline::Run;
use crate::problem::{Code, Problem, Sources, sort_from};

/// Read and reduce run files, and list every problem and flag; write nothing.
#[derive(Debug, Args)]
pub(super) struct Check {
    /// Run files (YAML), folders of run files, or patterns such as 'runs/*.yaml'; - for stdin.
    #[arg(value_name = "RUN.yaml", required = true)]
    runs: Vec<PathBuf>,
    /// The form of the output.
    #[arg(long, value_name = "FORMAT", value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Compare with this run file or report, and list changes that no correction explains; for one run file.
    #[arg(long, value_name = "OLD")]
    since: Option<PathBuf>,
    /// Write the results without a report: of one run to this JSON file, or to stdout (-); of all runs to one
    /// table (FILE.csv), or to a JSON file each in this folder.
    #[arg(long, value_name = "FILE|DIR")]
    results: Option<PathBuf>,
    #[command(flatten)]
    monte_carlo: MonteCarlo,
}

/// What was found in a run file.
struct Checked {
    name: String,
    outcome: Outcome,
    sources: Sources<'static>,
    problems: Vec<Problem>,
    run: Option<Run>,
}

/// How many of several run files can be reported, and how many flags they carry.
#[derive(Default)]
struct Totals {
    files: usize,
    good: usize,
    flagged: usize,
}

impl Totals {
    fn add(&mut self, found: &Checked) {
        self.files += 1;
        self.good += usize::from(found.run.is_some());
        let flags = found.run.as_ref().map_or(0, |run| run.flags.len());
        self.flagged += usize::from(flags > 0);
    }

    fn describe(&self) -> String {
        let Self {
            files,
            good,
            flagged,
        } = self;
        format!("of {files} run files, {good} can be reported, {flagged} of them with flags")
    }
}

impl Check {
    pub(super) fn run(&self, terminal: &mut Terminal) -> Result<Ending, CommandError> {
        let (runs, read) = named::runs(&self.runs, Takes::Runs, terminal)?;
        let results = Results::new(self.results.as_deref(), runs.len())?;
        self.go_together(&runs, results)?;
        let inputs = Inputs::of_runs(&runs);
        results.prepared(&inputs, false)?;
        if results.goes_to_stdout() {
            terminal.hush();
        }
        let mut ending = read;
        let (mut all, mut table) = (Vec::new(), Table::new());
        let mut totals = Totals::default();
        for named in &runs {
            let found = self.check(named);
            ending = ending.max(found.outcome.ending());
            if let Some(run) = &found.run {
                if let Some(file) = results.file_of(named) {
                    let written = results::write(run, &file, &inputs);
                    ending = ending.max(end(written, terminal));
                }
                if results.table().is_some() {
                    table.add(&Entry::checked(named, &run.file, &run.results));
                }
            }
            totals.add(&found);
            match self.format {
                Format::Text => found.tell(terminal),
                Format::Json => all.push(found),
            }
        }
        if let Results::Table(path) = results {
            ending = ending.max(end(table.write(path), terminal));
        }
        match self.format {
            Format::Text if runs.len() > 1 => terminal.say(&totals.describe()),
            Format::Text => {}
            Format::Json => ending = ending.max(document(&all)?),
        }
        Ok(ending)
    }

    /// Refuses options that do not go together.
    fn go_together(&self, runs: &[NamedRun], results: Results) -> Result<(), CommandError> {
        let refused = |message: &str| Err(CommandError::usage(message));
        if self.since.is_some() && runs.len() > 1 {
            return refused("`--since` takes one file and needs exactly one run file");
        }
        if runs.len() > 1 && runs.iter().any(NamedRun::is_stream) {
            return refused("`-` reads one run file from stdin and cannot be combined with others");
        }
        if results.goes_to_stdout() && self.format == Format::Json {
            return refused("the problems and the results cannot both go to stdout");
        }
        Ok(())
    }

    fn check(&self, named: &NamedRun) -> Checked {
        let name = named.shown();
        let bytes = match named.read() {
            Ok(bytes) => bytes,
            Err(problem) => {
                return Checked {
                    name,
                    outcome: Outcome::NotRead,
                    sources: Sources::none(),
                    problems: vec![problem],
                    run: None,
                };
            }
        };
        let (mut run, mut problems, sources) = named.reduced(&bytes);
        if let (Some(since), Some(run)) = (&self.since, &run) {
            problems.extend(since_problems(since, run));
            sort_from(&mut problems, &name);
        }
        problems.sort_by_key(|problem| problem.severity);
        if let Some(run) = &mut run {
            self.monte_carlo.check(run);
        }
        Checked {
            outcome: Outcome::from_problems(run.as_ref(), &problems),
            sources: sources.into_owned(),
            name,
            problems,
            run,
        }
    }
}

/// Returns what a comparison with an earlier state finds wrong.
fn since_problems(since: &Path, run: &Run) -> Vec<Problem> {
    match previous_report::read(since) {
        Ok(earlier) => {
            let (was, now) = (&earlier.run.file, &run.file);
            let mut problems = corrections_otherwise(was, now);
            problems.extend(changes_not_explained(was, now));
            problems
        }
        Err(not) => vec![
            Code::NotCompared
                .warning(format!(
                    "`{}` {}; nothing is compared.",
                    since.display(),
                    not
                ))
                .right("an earlier run file, or a report made from one"),
        ],
    }
}

/// Returns what was found in all files as one document on stdout.
fn document(all: &[Checked]) -> Result<Ending, CommandError> {
    let files = all
        .iter()
        .map(|found| {
            FileCheck::new(
                &found.name,
                found.outcome,
                &found.problems,
                found.run.as_ref(),
            )
        })
        .collect();
    stdout::json(&Checks { files }, "the problems")
}

impl Checked {
    /// In words: problems on stderr, the rest on stdout.
    fn tell(&self, terminal: &mut Terminal) {
        let name = &self.name;
        terminal.problems(&self.problems, &self.sources);
        let Some(run) = &self.run else {
            if self.outcome != Outcome::NotRead {
                terminal.complain(&format!("{name}: {}", self.count_problems()));
            }
            return;
        };
        for flag in &run.flags {
            let span = run.file.span_of(&flag.entry);
            let place = span.map_or_else(
                || name.clone(),
                |span| format!("{}:{}", span.file, span.line),
            );
            let rest = format!(" at {}: {}", flag.entry, flag.message);
            terminal.flag(&place, flag.code.word(), &rest);
            if let Some(effect) = &flag.effect {
                terminal.say(&format!("  effect: {effect}"));
            }
            if let Some(known) = &flag.acknowledged {
                terminal.say(&format!("  acknowledged: {}", known.why));
            }
        }
        for result in run.monte_carlo.iter().flat_map(|check| &check.results) {
            let verdict = if result.validated {
                "confirmed"
            } else {
                "not confirmed"
            };
            let narrowly = if result.settled { "" } else { ", narrowly" };
            terminal.say(&format!(
                "{name}: {} of {}: {verdict} by Monte Carlo{narrowly}",
                result.quantity.replace('_', " "),
                result.name
            ));
        }
        let flags = match run.flags.len() {
            0 => "no flags".to_owned(),
            1 => "1 flag".to_owned(),
            n => format!("{n} flags"),
        };
        terminal.say(&format!("{name}: can be reported, {flags}"));
    }

    /// Returns how many problems of each sort there are.
    fn count_problems(&self) -> String {
        let of = |is: &dyn Fn(&Problem) -> bool, one: &str, many: &str| {
            let count = self.problems.iter().filter(|problem| is(problem)).count();
            match count {
                0 => None,
                1 => Some(format!("1 {one}")),
                n => Some(format!("{n} {many}")),
            }
        };
        let parts = [
            of(
                &|p| p.is_error() && p.code != Code::Blank,
                "problem",
                "problems",
            ),
            of(
                &|p| p.code == Code::Blank,
                "entry still blank",
                "entries still blank",
            ),
            of(&|p| !p.is_error(), "warning", "warnings"),
        ];
        let counted = parts.into_iter().flatten().collect::<Vec<_>>().join(", ");
        match self.outcome {
            Outcome::Unfinished => format!("unfinished, {counted}"),
            _ => counted,
        }
    }
}
