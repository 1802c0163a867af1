//! `fillmark check`: every problem and flag, nothing written.

use std::path::{Path, PathBuf};

use clap::Args;

use super::terminal::Terminal;
use super::{BesideOnDisk, Ending, MonteCarlo, pipeline, read_run_file};

/// Read and reduce run files, and list every problem and flag; write nothing.
#[derive(Debug, Args)]
pub(super) struct Check {
    /// Run files (YAML).
    #[arg(value_name = "RUN.yaml", required = true)]
    runs: Vec<PathBuf>,
    #[command(flatten)]
    monte_carlo: MonteCarlo,
}

impl Check {
    pub(super) fn run(&self, terminal: &mut Terminal) -> Ending {
        self.runs
            .iter()
            .map(|path| self.check(path, terminal))
            .max()
            .unwrap_or(Ending::Done)
    }

    fn check(&self, path: &Path, terminal: &mut Terminal) -> Ending {
        let bytes = match read_run_file(path, terminal) {
            Ok(bytes) => bytes,
            Err(ending) => return ending,
        };
        let name = path.to_string_lossy();
        let beside = BesideOnDisk(path);
        let (run, problems, sources) = pipeline::read_beside(&name, &bytes, &beside);
        terminal.problems(&problems, &sources);
        let Some(mut run) = run else {
            let count = problems.len();
            terminal.complain(&format!(
                "{name}: {count} problem{}",
                if count == 1 { "" } else { "s" }
            ));
            return Ending::Problems;
        };
        self.monte_carlo.check(&mut run);
        for flag in &run.flags {
            terminal.say(&format!(
                "{name}: {} at {}: {}",
                flag.code, flag.entry, flag.message
            ));
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
        Ending::Done
    }
}
