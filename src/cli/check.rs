//! `fillmark check`: every problem and flag, nothing written.

use std::path::PathBuf;

use clap::Args;

use super::terminal::Terminal;
use super::{Ending, pipeline, read_run_file};

/// Read and reduce run files, and list every problem and flag; write nothing.
#[derive(Debug, Args)]
pub(super) struct Check {
    /// Run files (YAML).
    #[arg(value_name = "RUN.yaml", required = true)]
    runs: Vec<PathBuf>,
}

impl Check {
    pub(super) fn run(&self, terminal: &mut Terminal) -> Ending {
        self.runs
            .iter()
            .map(|path| check(path, terminal))
            .max()
            .unwrap_or(Ending::Done)
    }
}

fn check(path: &std::path::Path, terminal: &mut Terminal) -> Ending {
    let bytes = match read_run_file(path, terminal) {
        Ok(bytes) => bytes,
        Err(ending) => return ending,
    };
    let name = path.to_string_lossy();
    let (run, problems) = pipeline::read(&name, &bytes);
    terminal.problems(&problems, &String::from_utf8_lossy(&bytes));
    let Some(run) = run else {
        let count = problems.len();
        terminal.complain(&format!(
            "{name}: {count} problem{}",
            if count == 1 { "" } else { "s" }
        ));
        return Ending::Problems;
    };
    for flag in &run.flags {
        terminal.say(&format!(
            "{name}: {} at {}: {}",
            flag.code, flag.entry, flag.message
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
