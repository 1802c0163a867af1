//! `fillmark completions`: what a shell needs to complete commands and options.

use clap::Args;
use clap::builder::PossibleValuesParser;
use clap_complete::Shell;

use super::command_error::CommandError;
use super::stdout::document;
use super::{Ending, help};
use crate::problem::Code;

/// Print a script that completes commands and options in a shell.
#[derive(Debug, Args)]
pub(super) struct Completions {
    /// The shell.
    #[arg(value_name = "SHELL")]
    shell: Shell,
}

impl Completions {
    pub(super) fn run(&self) -> Result<Ending, CommandError> {
        // Any text may stand for a code, so that a wrong one is answered with similar ones; shells that complete words are told
        // which there are.
        let codes = PossibleValuesParser::new(Code::ALL.iter().map(|code| code.name()));
        let mut command = help::with_examples().mut_subcommand("explain", |explain| {
            explain.mut_arg("code", |code| code.value_parser(codes))
        });
        let mut script = Vec::new();
        clap_complete::generate(self.shell, &mut command, "fillmark", &mut script);
        document(script)
    }
}
