//! Words of a table that has a run of each bench in a line.

use super::{optional, required};
use crate::bench::runfile::vocabulary::{Form, Key, Section, Text, Texts};

keys! {
    RUNS: Form = optional("runs", Form::Section(&RUNS_KEYS),
        "A table with a line for each bench: entries that this run file leaves blank, or that differ. `report`, `check` and \
        `compare` then treat each line as a run.");
}

section! {
    RUNS_KEYS = "a table of runs";
    RUNS_FROM: Text = required("from", Text,
        "Path, from the run file's folder, of a CSV file with a run in each line.");
    BENCH_COLUMN: Text = optional("name", Text,
        "The column with the name of each bench; if omitted, the column bench.");
    ENTRY_COLUMNS: Form = optional("columns", Form::NamedValues(&COLUMN_HEADING),
        "Headings of columns that differ from the name of their entry: weighings.A.1.empty: Tare A.");
    RUNS_UNREAD: Texts = optional("unread", Texts, "Columns that contain no entries.");
}

keys! {
    COLUMN_HEADING: Text = optional("heading", Text, "The heading of its column.");
}
