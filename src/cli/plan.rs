//! `fillmark plan`: how a series can be made, and the uncertainties that it will have.

use std::path::PathBuf;

use clap::Args;

use super::command_error::CommandError;
use super::stdout;
use super::terminal::Terminal;
use super::{Ending, Format, read_run_file, write_new};
use crate::bench::plan::{Proposal, propose, text};
use crate::bench::runfile;
use crate::problem::{Code, Problem, Sources};

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
    pub(super) fn run(&self, terminal: &mut Terminal) -> Result<Ending, CommandError> {
        let name = self.file.to_string_lossy().into_owned();
        let bytes = read_run_file(&self.file)
            .map_err(|problem| CommandError::of_problem(Ending::Machine, problem))?;
        let sources = Sources::new(&name, String::from_utf8_lossy(&bytes));
        let (proposal, problems) = proposal(&name, &bytes);
        terminal.problems(&problems, &sources);
        let Some(proposal) = proposal else {
            return Ok(Ending::Problems);
        };
        if let Some(run) = &self.run {
            write_new(run, proposal.run.as_bytes())?;
        }
        if self.format == Format::Json {
            return stdout::json(&proposal, "the proposal");
        }
        terminal.say(text(&proposal).trim_end());
        Ok(Ending::Done)
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
    if found.is_none() && !problems.iter().any(Problem::is_error) {
        problems.push(
            Code::NoWay
                .error("No way was found to make the series.")
                .right("more ware, or other strengths"),
        );
    }
    (found, problems)
}
