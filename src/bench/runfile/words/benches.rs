//! Words of a table that has a run of each bench in a line.

use super::{optional, required};
use crate::bench::runfile::vocabulary::{Form, Key, Section, Text, Texts};

pub(in crate::bench::runfile) static RUNS: Key<Form> = optional(
    "runs",
    Form::Section(&RUNS_KEYS),
    "A table with a line for each bench: entries that this run file leaves blank, or that differ. `report`, `check` and \
     `compare` then treat each line as a run.",
);
pub(in crate::bench::runfile) static RUNS_KEYS: Section = Section::of(
    "a table of runs",
    &[&RUNS_FROM, &BENCH_COLUMN, &ENTRY_COLUMNS, &RUNS_UNREAD],
);
pub(in crate::bench::runfile) static RUNS_FROM: Key<Text> = required(
    "from",
    Text,
    "Path, from the run file's folder, of a CSV file with a run in each line.",
);
pub(in crate::bench::runfile) static BENCH_COLUMN: Key<Text> = optional(
    "name",
    Text,
    "The column with the name of each bench; if omitted, the column bench.",
);
pub(in crate::bench::runfile) static ENTRY_COLUMNS: Key<Form> = optional(
    "columns",
    Form::NamedValues(&COLUMN_HEADING),
    "Headings of columns that differ from the name of their entry: weighings.A.1.empty: Tare A.",
);
static COLUMN_HEADING: Key<Text> = optional("heading", Text, "The heading of its column.");
pub(in crate::bench::runfile) static RUNS_UNREAD: Key<Texts> =
    optional("unread", Texts, "Columns that contain no entries.");
