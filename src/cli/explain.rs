//! `fillmark explain`: what a code means, with an example of the mistake and its mending.

use clap::Args;

use super::Ending;
use super::command_error::CommandError;
use super::stdout::document;
use crate::problem::Code;
use crate::problem::code::{Example, Place};

/// Columns of the list of all codes, and the one in which their meanings begin.
const WIDTH: usize = 100;
const MEANINGS: usize = 26;

/// Explain the code of a problem or flag by an example; without a code, list all codes.
#[derive(Debug, Args)]
pub(super) struct Explain {
    /// The code, as shown below a problem or before a flag.
    code: Option<String>,
}

impl Explain {
    pub(super) fn run(self) -> Result<Ending, CommandError> {
        let Some(name) = self.code else {
            let lines = Code::ALL.iter().map(|code| line(*code));
            return document(lines.collect::<String>());
        };
        match Code::of_name(&name) {
            Ok(code) => {
                let (name, meaning, example) = (code.name(), code.meaning(), show(code.example()));
                document(format!("{name}: {meaning}\n\n{example}"))
            }
            Err(like) => {
                let like: Vec<&str> = like.into_iter().map(Code::name).collect();
                let perhaps = match like.as_slice() {
                    [] => String::new(),
                    like => format!("; similar codes: {}", like.join(", ")),
                };
                Err(CommandError::usage(format!(
                    "`{name}` is not a code{perhaps}\n`fillmark explain` lists all codes"
                )))
            }
        }
    }
}

/// Returns a code in the list of all.
fn line(code: Code) -> String {
    let (first, others) = (format!("{:<MEANINGS$}", code.name()), " ".repeat(MEANINGS));
    let options = textwrap::Options::new(WIDTH)
        .initial_indent(&first)
        .subsequent_indent(&others);
    textwrap::fill(code.meaning(), options) + "\n"
}

fn show(example: &Example) -> String {
    let (typed, before) = match example.span {
        Place::RunFile => ("As typed in a run file or its table:", None),
        Place::ChangedRunFile { before } => ("As typed in the run file:", Some(before)),
        Place::PlanFile => ("As typed in a plan file:", None),
        Place::StyleFile => ("As typed in a style file:", None),
        Place::Template => ("As typed in a template:", None),
        Place::Elsewhere => ("For example:", None),
    };
    let before = before.map(|before| ("In the last report:", before));
    let parts = before
        .into_iter()
        .chain([(typed, example.typed), ("Corrected:", example.mended)]);
    let parts = parts.map(|(head, text)| {
        let lines: Vec<String> = text.lines().map(|line| format!("    {line}\n")).collect();
        format!("{head}\n{}", lines.concat())
    });
    parts.collect::<Vec<_>>().join("\n")
}
