//! `fillmark reference`: all keys, flags, commands and rules, as Markdown on stdout.

use clap::Args;

use super::command_error::CommandError;
use super::stdout::document;
use super::{Ending, help};
use crate::bench::runfile::key_list;
use crate::bench::runfile::model::FlagCode;

/// What no table says, with a place for each part that is written from one.
const TEXT: &str = include_str!("text.md");
/// The width of the commands' help, characters.
const WIDTH: usize = 100;

/// Print the reference: all keys, flags, commands and rules.
#[derive(Debug, Args)]
pub(super) struct Reference {
    /// Print only the parts that have this in their heading, or as a key, a flag or a command.
    word: Option<String>,
}

impl Reference {
    pub(super) fn run(&self) -> Result<Ending, CommandError> {
        let text = write_reference();
        let Some(word) = &self.word else {
            return document(&text);
        };
        let found: String = parts(&text).filter(|part| mentions(part, word)).collect();
        if found.is_empty() {
            return Err(CommandError::usage(format!(
                "no part of the reference has `{word}` in its heading, or as a key, a flag or a command"
            )));
        }
        document(&found)
    }
}

/// Returns the whole reference.
fn write_reference() -> String {
    let generated = [
        ("{keys of the run file}", key_list::run_file()),
        ("{keys of the plan file}", key_list::plan_file()),
        ("{flags}", flags()),
        ("{commands}", commands()),
        ("{exit codes}", exit_codes()),
    ];
    let filled = |text: String, (place, part): (&str, String)| text.replace(place, part.trim_end());
    generated.into_iter().fold(TEXT.to_owned(), filled)
}

fn flags() -> String {
    let flag = |(word, code): &(&str, FlagCode)| {
        let star = if code.judges() { "*" } else { "" };
        format!("- `{word}`{star}: {}\n", code.code().meaning())
    };
    FlagCode::WORDS.iter().map(flag).collect()
}

fn commands() -> String {
    let mut command = help::with_examples().term_width(WIDTH);
    command.build();
    let names: Vec<String> = command
        .get_subcommands()
        .map(|sub| sub.get_name().to_owned())
        .filter(|name| name != "help")
        .collect();
    let mut text = String::new();
    for name in names {
        if let Some(sub) = command.find_subcommand_mut(&name) {
            let help = sub.render_long_help().to_string();
            let lines = help.lines().map(|line| line.trim_end().to_owned() + "\n");
            let help: String = lines.collect();
            text += &format!("### fillmark {name}\n\n```text\n{}\n```\n\n", help.trim());
        }
    }
    text
}

fn exit_codes() -> String {
    let line = |ending: &Ending| format!("- `{}`: {}\n", *ending as u8, ending.meaning());
    Ending::ALL.iter().map(line).collect()
}

/// Returns a text cut before each of its headings, but for those in examples.
fn parts(text: &str) -> impl Iterator<Item = String> {
    let mut parts = vec![String::new()];
    let mut in_example = false;
    for line in text.lines() {
        in_example ^= line.starts_with("```");
        if line.starts_with('#') && !in_example {
            parts.push(String::new());
        }
        if let Some(part) = parts.last_mut() {
            *part += line;
            part.push('\n');
        }
    }
    parts.into_iter()
}

fn mentions(part: &str, word: &str) -> bool {
    let word = word.to_lowercase();
    let heading = part.lines().next().unwrap_or_default().to_lowercase();
    heading.contains(&word) || part.contains(&format!("- `{word}`"))
}
