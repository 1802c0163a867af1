//! Commands: arguments in, exit code out. The only part that prints.

pub mod attachments;
mod batch;
mod changes;
mod check;
mod check_json;
mod command_error;
mod compare;
mod completions;
mod explain;
mod extract;
mod fingerprint;
mod help;
mod licences;
mod manual;
mod named;
pub mod other_formats;
mod outputs;
mod plan;
mod previous_report;
mod questions;
mod reference;
mod report;
mod report_job;
mod results;
mod schema;
mod sheet;
mod start;
mod stdout;
mod stop;
mod style_args;
mod terminal;
mod watch;

use std::io::ErrorKind;
use std::path::Path;
use std::process::ExitCode;

use clap::{Args, FromArgMatches, Parser, Subcommand, ValueEnum};

use crate::bench::runfile::FileLoader;
use crate::files;
use crate::pipeline;
use crate::print::picture;
use crate::problem::{Code, Problem};
use command_error::CommandError;
use terminal::Terminal;

/// The largest run file read, bytes.
const LARGEST_RUN_FILE: u64 = 16_000_000;
/// The largest file read beside a run file, bytes.
const LARGEST_BESIDE: u64 = 4_000_000;

/// Reports from the readings of a saline-density bench run.
#[derive(Debug, Parser)]
#[command(version, about, arg_required_else_help = true)]
struct Arguments {
    /// Print only errors.
    #[arg(long, short, global = true)]
    quiet: bool,
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Make the PDF report of each run file.
    Report(report::Report),
    /// Read and reduce run files, and list every problem and flag; write nothing.
    Check(check::Check),
    /// Compare the runs of several benches: results side by side, statistics of all, and outliers.
    Compare(compare::Compare),
    /// Show the differences between two run files or reports.
    Changes(changes::Changes),
    /// Write a run file to fill in.
    Start(start::Start),
    /// Propose how to make a series with the ware at hand, with the expected uncertainty of the unknown.
    Plan(plan::Plan),
    /// Make a sheet to write readings on at the bench, or a page to fill in, from a run file with blanks.
    Sheet(sheet::Sheet),
    /// Extract the files attached to a report.
    Extract(extract::Extract),
    /// Explain the code of a problem or flag by an example; without a code, list all codes.
    Explain(explain::Explain),
    /// Print the reference: all keys, flags, commands and rules.
    Reference(reference::Reference),
    /// Print a JSON Schema of the run file, or of the plan file, for completion in editors.
    Schema(schema::Schema),
    /// Print a script that completes commands and options in a shell.
    Completions(completions::Completions),
    /// Write manual pages for `man`: one of the program and one of each command.
    Manual(manual::Manual),
    /// Print the licences of the typefaces and crates in this program.
    Licences,
}

/// Whether results are checked by a Monte Carlo run.
#[derive(Debug, Args)]
struct MonteCarlo {
    /// Check the intervals of the main results with N draws (10000 to 100000000).
    #[arg(
        long = "monte-carlo",
        value_name = "N",
        num_args = 0..=1,
        default_missing_value = "1000000",
        value_parser = clap::value_parser!(u32).range(10_000..=100_000_000),
    )]
    draws: Option<u32>,
}

impl MonteCarlo {
    /// Does the check, where it is asked for.
    fn check(&self, run: &mut pipeline::Run) {
        if let Some(draws) = self.draws {
            run.check_by_monte_carlo(draws as usize);
        }
    }
}

/// The form of a command's output.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// Plain text.
    Text,
    /// One JSON document on stdout, for other programs.
    Json,
}

/// How a command ended; the numbers are the exit codes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Ending {
    /// All was done.
    Done = 0,
    /// A run has problems.
    Problems = 1,
    /// The command line is wrong.
    Usage = 2,
    /// The machine failed: disk, permission.
    Machine = 3,
}

impl Ending {
    /// All of them.
    const ALL: [Self; 4] = [Self::Done, Self::Problems, Self::Usage, Self::Machine];

    /// Returns what it means, for people.
    const fn meaning(self) -> &'static str {
        match self {
            Self::Done => "done",
            Self::Problems => "a run has problems",
            Self::Usage => "the command line is wrong",
            Self::Machine => "a system error, such as a full disk or missing permission",
        }
    }
}

/// Runs the command that the process was started with.
pub fn run() -> ExitCode {
    let mut command = help::with_examples();
    let matches = command.try_get_matches_from_mut(std::env::args_os());
    let arguments = match matches.and_then(|matches| {
        Arguments::from_arg_matches(&matches).map_err(|said| said.format(&mut command))
    }) {
        Ok(arguments) => arguments,
        Err(said) => return tell_usage(&said),
    };
    let mut terminal = Terminal::new(arguments.quiet);
    let done = match arguments.command {
        Command::Report(report) => report.run(&mut terminal),
        Command::Check(check) => check.run(&mut terminal),
        Command::Compare(compare) => compare.run(&mut terminal),
        Command::Changes(changes) => changes.run(&mut terminal),
        Command::Start(start) => start.run(&mut terminal),
        Command::Plan(plan) => plan.run(&mut terminal),
        Command::Sheet(sheet) => sheet.run(&mut terminal),
        Command::Extract(extract) => extract.run(&mut terminal),
        Command::Explain(explain) => explain.run(),
        Command::Reference(reference) => reference.run(),
        Command::Schema(schema) => schema.run(),
        Command::Completions(completions) => completions.run(),
        Command::Manual(manual) => manual.run(&mut terminal),
        Command::Licences => licences::run(),
    };
    let ending = done.unwrap_or_else(|error| error.tell(&mut terminal));
    ExitCode::from(ending as u8)
}

/// Returns what there is to say of arguments that are wrong, or of those that ask for help.
fn tell_usage(said: &clap::Error) -> ExitCode {
    let text = terminal::harmless(&said.render().to_string());
    let done = if said.use_stderr() {
        Err(CommandError::usage(text.trim_end()))
    } else {
        stdout::document(&text)
    };
    let ending = done.unwrap_or_else(|error| error.tell(&mut Terminal::new(false)));
    ExitCode::from(ending as u8)
}

/// Writes a file unless there is one of that name, which is left as it is.
fn write_new(path: &Path, bytes: &[u8]) -> Result<(), CommandError> {
    files::clear(files::folder_of(path));
    files::write_new(path, bytes).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => CommandError::usage(format!(
            "`{}` exists already and is not overwritten",
            path.display()
        )),
        _ => CommandError::not_written(path, &error),
    })
}

/// Reads a run file.
///
/// # Errors
/// Why it cannot be read.
fn read_run_file(path: &Path) -> Result<Vec<u8>, Problem> {
    let file = named::as_file(path).display();
    let read = if named::is_stream(path) {
        files::read_all(std::io::stdin().lock(), LARGEST_RUN_FILE)
    } else {
        files::read(path, LARGEST_RUN_FILE)
    };
    let bytes = read.map_err(|error| {
        let headline = format!("`{file}` cannot be read: {error}");
        let problem = Code::FileNotRead.error(headline);
        problem.right("the path of a YAML run file that may be read")
    })?;
    if bytes.starts_with(b"%PDF") {
        let headline = format!("`{file}` is a PDF file, not a run file.");
        let problem = Code::OtherFile.error(headline);
        let right = format!("a run file; `fillmark extract {file}` gives that of a report");
        return Err(problem.right(right));
    }
    Ok(bytes)
}

/// The files beside a run file on the disk.
struct BesideOnDisk<'p>(&'p Path);

impl FileLoader for BesideOnDisk<'_> {
    fn read(&self, path: &str) -> Result<Vec<u8>, String> {
        files::read_beside(self.0, Path::new(path), LARGEST_BESIDE)
            .map_err(|error| error.to_string())
    }

    fn photo(&self, path: &str) -> Result<Option<Vec<u8>>, String> {
        files::read_beside(self.0, Path::new(path), picture::MOST_BYTES)
            .map(Some)
            .map_err(|error| error.to_string())
    }

    fn report(&self, path: &str) -> Result<Vec<u8>, String> {
        files::read_beside(self.0, Path::new(path), pipeline::LARGEST_REPORT)
            .map_err(|error| error.to_string())
    }

    fn results_of(&self, report: &[u8]) -> Result<Vec<u8>, String> {
        attachments::results(report)
    }
}
