//! What help and manual pages say below the options: examples, and what the exit codes mean.
//!
//! A test runs every example, in a folder that holds the shipped samples, a run file `bath.yaml` and its report `bath.pdf`.

use clap::{Command, CommandFactory};

use super::{Arguments, Ending};

/// A command line as it is typed, and what it does.
type Example = (&'static str, &'static str);

/// Examples by command; those of the program itself stand under no name.
const EXAMPLES: [(&str, &[Example]); 15] = [
    (
        "",
        &[
            (
                "fillmark report sample_runs/creamery_brine_bath.yaml",
                "Make the report of a shipped sample, beside its run file.",
            ),
            ("fillmark start monday.yaml", "Write a run file to fill in."),
            (
                "fillmark check bath.yaml",
                "List blank entries, problems and flags of a run file.",
            ),
        ],
    ),
    (
        "report",
        &[
            ("fillmark report bath.yaml", "Write bath.pdf."),
            (
                "fillmark report bath.yaml --template summary --also html",
                "Write the short report as bath.summary.pdf and bath.summary.html.",
            ),
            (
                "fillmark report sample_runs/*.yaml --into reports",
                "Make the reports of many runs.",
            ),
        ],
    ),
    (
        "check",
        &[
            (
                "fillmark check bath.yaml",
                "List every problem and flag of a run file.",
            ),
            (
                "fillmark check bath.yaml --since bath.pdf",
                "List also what has changed since that report without a correction.",
            ),
        ],
    ),
    (
        "compare",
        &[
            (
                "fillmark compare bath.yaml bath.pdf",
                "Compare run files and reports in comparison.pdf.",
            ),
            (
                "fillmark compare sample_runs --table all.csv",
                "Compare the run files of a folder, and write a table too.",
            ),
        ],
    ),
    (
        "reference",
        &[
            (
                "fillmark reference aliquot",
                "Print the parts about aliquots.",
            ),
            (
                "fillmark reference > reference.md",
                "Write the whole reference to a file.",
            ),
        ],
    ),
    (
        "changes",
        &[
            (
                "fillmark changes bath.pdf bath.yaml",
                "Show differences between a report and the present run file.",
            ),
            (
                "fillmark changes bath.pdf bath.yaml --format json",
                "Show them as JSON, for other programs.",
            ),
        ],
    ),
    (
        "start",
        &[
            (
                "fillmark start monday.yaml",
                "A stock, three dilutions and an unknown, each weighed three times.",
            ),
            (
                "fillmark start tuesday.yaml --dilutions 5 --density pycnometer",
                "Five dilutions, and densities by pycnometer.",
            ),
        ],
    ),
    (
        "plan",
        &[
            (
                "fillmark plan sample_runs/plans/teaching_bench.yaml",
                "Show what to weigh and pipette, and the expected uncertainty.",
            ),
            (
                "fillmark plan sample_runs/plans/teaching_bench.yaml --run monday.yaml",
                "Write the run file for that series too, ready for readings.",
            ),
        ],
    ),
    (
        "sheet",
        &[
            (
                "fillmark sheet bath.yaml",
                "Write bath.sheet.pdf, to print and write on.",
            ),
            (
                "fillmark sheet bath.yaml --html",
                "Write bath.sheet.html, to fill in with a browser.",
            ),
        ],
    ),
    (
        "extract",
        &[
            (
                "fillmark extract bath.pdf --into again",
                "Write the run file and the results of a report into the folder `again`.",
            ),
            (
                "fillmark extract bath.pdf --into again --quiet",
                "The same without messages; identical files may be there already.",
            ),
        ],
    ),
    (
        "explain",
        &[
            (
                "fillmark explain decimal-comma",
                "Show the mistake and its correction.",
            ),
            ("fillmark explain", "List all codes."),
        ],
    ),
    (
        "schema",
        &[
            (
                "fillmark schema > run.schema.json",
                "Write the schema of run files.",
            ),
            (
                "fillmark schema --plan > plan.schema.json",
                "Write the schema of plan files.",
            ),
        ],
    ),
    (
        "completions",
        &[
            (
                "eval \"$(fillmark completions bash)\"",
                "Turn on completion in this shell; in all shells, as a line of ~/.bashrc.",
            ),
            (
                "fillmark completions zsh > _fillmark",
                "Write the script for zsh; put it into a folder of $fpath.",
            ),
        ],
    ),
    (
        "manual",
        &[
            (
                "fillmark manual man",
                "Write the pages into the folder `man`; `man man/fillmark.1` shows the first.",
            ),
            (
                "fillmark manual man --quiet",
                "Write them again without messages, e.g. after an update.",
            ),
        ],
    ),
    (
        "licences",
        &[
            (
                "fillmark licences",
                "Print the licences of all parts of the program.",
            ),
            (
                "fillmark licences > LICENCES.txt",
                "Write them to a file, to distribute with the program.",
            ),
        ],
    ),
];

/// Returns the command line with examples and exit codes below the help of every command.
pub(super) fn with_examples() -> Command {
    Arguments::command()
        .after_help(below(""))
        .mut_subcommands(|command| {
            let below = below(command.get_name());
            command.after_help(below)
        })
}

/// Returns the examples of a command; of the program itself those of no name.
pub(super) fn examples(command: &str) -> &'static [Example] {
    let found = EXAMPLES.iter().find(|(name, _)| *name == command);
    found.map_or(&[], |(_, examples)| examples)
}

/// Returns what stands below the options of a command.
fn below(command: &str) -> String {
    let examples = examples(command).iter();
    let examples = examples.map(|(line, does)| format!("  {line}\n      {does}\n"));
    let codes = Ending::ALL.iter();
    let codes = codes.map(|ending| format!("  {}  {}\n", *ending as u8, ending.meaning()));
    let (examples, codes): (Vec<String>, Vec<String>) = (examples.collect(), codes.collect());
    let (examples, codes) = (examples.concat(), codes.concat());
    format!("Examples:\n{examples}\nExit codes:\n{codes}")
}
