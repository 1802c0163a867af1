//! `fillmark check`: every problem and flag, nothing written.

use std::path::{Path, PathBuf};

use clap::Args;

use super::pipeline::Run;
use super::plain::{Checks, FileCheck, Outcome};
use super::terminal::Terminal;
use super::{BesideOnDisk, Ending, Format, MonteCarlo, earlier, pipeline, read_run_file};
use crate::problem::{Code, Problem, Severity, Sources, sort_from};
use crate::revision::{changes_not_explained, corrections_otherwise};

/// Read and reduce run files, and list every problem and flag; write nothing.
#[derive(Debug, Args)]
pub(super) struct Check {
    /// Run files (YAML).
    #[arg(value_name = "RUN.yaml", required = true)]
    runs: Vec<PathBuf>,
    /// How what is found is told.
    #[arg(long, value_name = "FORMAT", value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Compare with this run file or report, and tell of changes that no correction explains; for one run file.
    #[arg(long, value_name = "OLD")]
    since: Option<PathBuf>,
    #[command(flatten)]
    monte_carlo: MonteCarlo,
}

/// What was found in a run file.
struct Found {
    name: String,
    outcome: Outcome,
    sources: Sources<'static>,
    problems: Vec<Problem>,
    run: Option<Run>,
}

impl Check {
    pub(super) fn run(&self, terminal: &mut Terminal) -> Ending {
        if self.since.is_some() && self.runs.len() > 1 {
            terminal.complain("`--since` names one file and goes with one run file");
            return Ending::Usage;
        }
        let mut ending = Ending::Done;
        let mut all = Vec::new();
        for path in &self.runs {
            let found = self.check(path);
            ending = ending.max(found.outcome.ending());
            match self.format {
                Format::Text => found.tell(terminal),
                Format::Json => all.push(found),
            }
        }
        match self.format {
            Format::Text => ending,
            Format::Json => ending.max(document(&all, terminal)),
        }
    }

    fn check(&self, path: &Path) -> Found {
        let name = path.to_string_lossy().into_owned();
        let bytes = match read_run_file(path) {
            Ok(bytes) => bytes,
            Err(problem) => {
                return Found {
                    name,
                    outcome: Outcome::NotRead,
                    sources: Sources::none(),
                    problems: vec![*problem],
                    run: None,
                };
            }
        };
        let beside = BesideOnDisk(path);
        let (mut run, mut problems, sources) = pipeline::read_beside(&name, &bytes, &beside);
        if let (Some(since), Some(run)) = (&self.since, &run) {
            problems.extend(since_problems(since, run));
            sort_from(&mut problems, &name);
        }
        problems.sort_by_key(|problem| problem.severity);
        if let Some(run) = &mut run {
            self.monte_carlo.check(run);
        }
        Found {
            outcome: Outcome::of(run.as_ref(), &problems),
            sources: sources.into_owned(),
            name,
            problems,
            run,
        }
    }
}

/// What a comparison with an earlier state finds wrong.
fn since_problems(since: &Path, run: &Run) -> Vec<Problem> {
    match earlier::read(since) {
        Ok(earlier) => {
            let (was, now) = (&earlier.run.file, &run.file);
            let mut problems = corrections_otherwise(was, now);
            problems.extend(changes_not_explained(was, now));
            problems
        }
        Err(not) => vec![
            Problem::warning(
                Code::NotCompared,
                format!(
                    "`{}` {}, so that nothing is compared.",
                    since.display(),
                    not
                ),
            )
            .right("an earlier run file, or a report made from one"),
        ],
    }
}

/// What was found in all files as one document on stdout.
fn document(all: &[Found], terminal: &mut Terminal) -> Ending {
    let files = all
        .iter()
        .map(|found| {
            FileCheck::of(
                &found.name,
                found.outcome,
                &found.problems,
                found.run.as_ref(),
            )
        })
        .collect();
    terminal.json(&Checks { files }, "what was found")
}

impl Found {
    /// In words: problems on stderr, the rest on stdout.
    fn tell(&self, terminal: &mut Terminal) {
        let name = &self.name;
        terminal.problems(&self.problems, &self.sources);
        let Some(run) = &self.run else {
            if self.outcome != Outcome::NotRead {
                terminal.complain(&format!("{name}: {}", self.counted()));
            }
            return;
        };
        for flag in &run.flags {
            let place = run.file.place_of(&flag.entry);
            let place = place.map_or_else(
                || name.clone(),
                |place| format!("{}:{}", place.file, place.line),
            );
            terminal.say(&format!(
                "{place}: {} at {}: {}",
                flag.code.word(),
                flag.entry,
                flag.message
            ));
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

    /// How many problems of each sort there are.
    fn counted(&self) -> String {
        let of = |is: &dyn Fn(&Problem) -> bool, one: &str, many: &str| {
            let count = self.problems.iter().filter(|problem| is(problem)).count();
            match count {
                0 => None,
                1 => Some(format!("1 {one}")),
                n => Some(format!("{n} {many}")),
            }
        };
        let error = |problem: &Problem| problem.severity == Severity::Error;
        let parts = [
            of(
                &|p| error(p) && p.code != Code::Blank,
                "problem",
                "problems",
            ),
            of(
                &|p| p.code == Code::Blank,
                "entry still blank",
                "entries still blank",
            ),
            of(&|p| !error(p), "warning", "warnings"),
        ];
        let counted = parts.into_iter().flatten().collect::<Vec<_>>().join(", ");
        match self.outcome {
            Outcome::Unfinished => format!("unfinished, {counted}"),
            _ => counted,
        }
    }
}
