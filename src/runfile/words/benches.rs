//! Words of a table that has a run of each bench in a line.

use super::{optional, required};
use crate::runfile::vocabulary::{Form, Key, Section, Text, Texts};

pub(in crate::runfile) static RUNS: Key<Form> = optional(
    "runs",
    Form::Section(&RUNS_KEYS),
    "A table with a line for each bench: what this run file leaves blank, or what is different there. `report`, `check` and \
     `compare` then take each line for a run.",
);
pub(in crate::runfile) static RUNS_KEYS: Section = Section::of(
    "a table of runs",
    &[&RUNS_FROM, &BENCH_COLUMN, &ENTRY_COLUMNS, &RUNS_UNREAD],
);
pub(in crate::runfile) static RUNS_FROM: Key<Text> = required(
    "from",
    Text,
    "A CSV file with a run in each line: its path from the run file's folder.",
);
pub(in crate::runfile) static BENCH_COLUMN: Key<Text> = optional(
    "name",
    Text,
    "The column with the name of each bench; without it, the column bench.",
);
pub(in crate::runfile) static ENTRY_COLUMNS: Key<Form> = optional(
    "columns",
    Form::NamedValues(&COLUMN_HEADING),
    "What columns are called that are not called by the entry that they hold: weighings.A.1.empty: Tare A.",
);
static COLUMN_HEADING: Key<Text> = optional("heading", Text, "The heading of its column.");
pub(in crate::runfile) static RUNS_UNREAD: Key<Texts> =
    optional("unread", Texts, "Columns of it that hold no entries.");
