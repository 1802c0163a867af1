//! `fillmark plan`: how a series can be made, and the uncertainties that it will have.

use std::path::PathBuf;

use clap::Args;

use super::terminal::Terminal;
use super::{Ending, Format, read_run_file, write_new};
use crate::bench::plan::{Proposal, propose, text};
use crate::bench::runfile;
use crate::problem::{Code, Problem, Severity, Sources};

/// Propose how to make a series with the ware at hand, and foretell the uncertainties.
#[derive(Debug, Args)]
pub(super) struct Plan {
    /// The plan file (YAML).
    #[arg(value_name = "PLAN.yaml")]
    file: PathBuf,
    /// Write the run file that follows the plan, ready for readings; an existing file is not overwritten.
    #[arg(long, value_name = "RUN.yaml")]
    run: Option<PathBuf>,
    /// The form of the proposal.
    #[arg(long, value_name = "FORMAT", value_enum, default_value_t = Format::Text)]
    format: Format,
}

impl Plan {
    pub(super) fn run(&self, terminal: &mut Terminal) -> Ending {
        let name = self.file.to_string_lossy().into_owned();
        let bytes = match read_run_file(&self.file) {
            Ok(bytes) => bytes,
            Err(problem) => {
                terminal.problems(&[problem], &Sources::none());
                return Ending::Machine;
            }
        };
        let sources = Sources::new(&name, String::from_utf8_lossy(&bytes));
        let (proposal, problems) = proposal(&name, &bytes);
        terminal.problems(&problems, &sources);
        let Some(proposal) = proposal else {
            return Ending::Problems;
        };
        let written = self
            .run
            .as_ref()
            .map(|run| write_new(run, proposal.run.as_bytes(), terminal));
        match (written, self.format) {
            (Some(ending), _) if ending != Ending::Done => ending,
            (_, Format::Json) => terminal.json(&proposal, "the proposal"),
            (_, Format::Text) => {
                terminal.say(text(&proposal).trim_end());
                Ending::Done
            }
        }
    }
}

/// Returns the proposal for a plan file, and what is wrong with it.
fn proposal(name: &str, bytes: &[u8]) -> (Option<Proposal>, Vec<Problem>) {
    let (plan, mut problems) = runfile::read_plan(name, bytes);
    let found = plan.and_then(|plan| match propose(&plan) {
        Ok(proposal) => Some(proposal),
        Err(more) => {
            problems.extend(more);
            None
        }
    });
    if found.is_none() && !problems.iter().any(|p| p.severity == Severity::Error) {
        problems.push(
            Problem::error(Code::NoWay, "No way was found to make the series.")
                .right("more ware, or other strengths"),
        );
    }
    (found, problems)
}
