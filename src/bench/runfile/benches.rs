//! Runs of many benches from one run file and a table with a line for each.
//!
//! Each line gives a run file: the one that all have in common, with the values of the line in place of blanks and of
//! other values. It is read as a tree, of which the common part is read only once, so that problems of a value name its span
//! in the table; and it is written as a text, so that a report carries a run file that needs no table.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::Arc;

use super::csv_import::read_decimal_commas;
use super::csv_rows::{Cell, DIVIDERS, Row, Rows};
use super::diagnostics::Diagnostics;
use super::fields::{Fields, Value};
use super::file_loader::{FileLoader, name_beside, why_refused};
pub use super::filled::Bench;
use super::filled::{Common, Hole};
use super::model::At;
use super::syntax;
use super::tree::Node;
use super::unfinished::{Holds, Part, Unfinished, read_unfinished};
use super::vocabulary::{Form, KeyInfo};
use super::withheld::without;
use super::{root_of, whole_root, words};
use crate::problem::{Code, Problem, Span, nearest};

/// No class is larger.
const MOST_BENCHES: usize = 10_000;
/// The column of the benches' names, where none is named.
const BENCH: &str = "bench";
/// The table's problems are listed with so many known entries.
const MOST_LISTED: usize = 12;

/// What was read of a run file with a table of runs.
#[derive(Debug)]
pub struct Reading {
    /// A run for each line; absent if one of the problems is an error.
    pub benches: Option<Vec<Bench>>,
    /// What is wrong with the run file or its table.
    pub problems: Vec<Problem>,
    /// The table, if it could be read.
    pub table: Option<Table>,
}

/// A table of runs.
#[derive(Debug)]
pub struct Table {
    /// Its name in spans.
    pub name: Arc<str>,
    /// Its text.
    pub text: String,
    /// Its path from the run file's folder.
    pub path: String,
}

/// Returns whether a run file says that its runs stand in a table.
pub fn has_benches(bytes: &[u8]) -> bool {
    let key = format!("{}:", words::RUNS.name);
    let text = String::from_utf8_lossy(bytes);
    text.lines()
        .any(|line| line.trim_start_matches('\u{feff}').starts_with(&key))
}

/// Returns the runs of a run file with a table of runs.
pub fn read(file: &str, bytes: &[u8], beside: &dyn FileLoader) -> Reading {
    let name: Arc<str> = file.into();
    let refused = |problems| Reading {
        benches: None,
        problems,
        table: None,
    };
    let (root, found) = match whole_root(&name, bytes) {
        Ok(read) => read,
        Err(problem) => return refused(vec![problem]),
    };
    let text = match without(file, bytes, words::RUNS.name) {
        Ok(text) => text,
        Err(problem) => return refused(vec![problem]),
    };
    // What is wrong with the run file is wrong with each bench, and is told once.
    let (unfinished, problems) = read_unfinished(file, &text, beside);
    let Some(unfinished) = unfinished else {
        return refused(problems);
    };
    let common = match root_of(&name, unfinished.text.as_bytes()) {
        Ok((root, faults)) => Common {
            text: unfinished.text.clone(),
            root,
            faults,
        },
        Err(problem) => return refused(vec![problem]),
    };
    let mut table = None;
    let reader = Lines::new(&unfinished, common);
    let benches = runs(&found, &name, &root, &reader, beside, &mut table);
    let problems = found.into_problems(&name);
    let failed = problems.iter().any(Problem::is_error);
    Reading {
        benches: benches.filter(|_| !failed),
        problems,
        table,
    }
}

fn runs(
    found: &Diagnostics,
    file: &Arc<str>,
    root: &Node,
    reader: &Lines<'_>,
    beside: &dyn FileLoader,
    read: &mut Option<Table>,
) -> Option<Vec<Bench>> {
    let at = root.get(words::RUNS.name)?;
    let section = Value::at_key(found, at, words::RUNS.name);
    let fields = section.fields(&words::RUNS_KEYS)?;
    let path = fields.text(&words::RUNS_FROM)?;
    let named = NamedColumns::read(&fields);
    let bytes = match why_refused(&path.value) {
        Some(why) => Err(why.to_owned()),
        None => beside.read(&path.value),
    };
    let bytes = match bytes {
        Ok(bytes) => bytes,
        Err(why) => {
            found.add(|| {
                let headline = format!("{} cannot be read: {why}.", path.value);
                Code::FileBesideNotRead
                    .error(headline)
                    .at_entry(&path.entry)
                    .right("the path of a CSV file, from the run file's folder")
            });
            return None;
        }
    };
    let table_file = name_beside(file, &path.value);
    let text = match syntax::text(&table_file, &bytes) {
        Ok(text) => text,
        Err(problem) => {
            found.add(|| problem);
            return None;
        }
    };
    *read = Some(Table {
        name: Arc::clone(&table_file),
        text: text.to_owned(),
        path: path.value,
    });
    let entries = reader.run.root.entries();
    let entries: BTreeMap<&str, &Part> = entries
        .into_iter()
        .map(|part| (part.entry.as_str(), part))
        .collect();
    let (divider, heading, rows) = divided(found, &table_file, text, &named, &entries)?;
    let columns = columns(found, &heading, &named, &entries)?;
    let is_quantity = |column: &Column<'_>| match column {
        Column::Entry(entry) => entries.get(entry).is_some_and(|part| is_quantity(part)),
        Column::Bench | Column::Unread => false,
    };
    let quantities: Vec<bool> = columns.iter().map(is_quantity).collect();
    let rows = read_rows(found, &table_file, &quantities, divider, rows)?;
    let mut benches = Vec::new();
    let mut known: BTreeMap<String, Span> = BTreeMap::new();
    for row in rows {
        benches.extend(reader.bench(found, row, &columns, &mut known));
    }
    Some(benches)
}

/// What the run file says of the table's columns.
struct NamedColumns {
    /// The column with the names of the benches.
    bench: Option<At<String>>,
    /// Columns by the entries that they hold.
    columns: Vec<(At<String>, String)>,
    unread: BTreeSet<String>,
}

impl NamedColumns {
    fn read(fields: &Fields<'_>) -> Self {
        let columns = fields.value(&words::ENTRY_COLUMNS);
        let columns = columns.map(|value| value.read_named("entries"));
        let columns = columns
            .unwrap_or_default()
            .into_iter()
            .filter_map(|(entry, value)| {
                let heading = value.scalar("the heading of a column")?.to_owned();
                Some((entry, heading))
            });
        Self {
            columns: columns.collect(),
            bench: fields.text(&words::BENCH_COLUMN),
            unread: fields.texts(&words::RUNS_UNREAD).into_iter().collect(),
        }
    }

    fn bench(&self) -> &str {
        self.bench.as_ref().map_or(BENCH, |name| &name.value)
    }

    /// Returns what a column holds.
    fn meaning<'e>(
        &'e self,
        heading: &str,
        entries: &BTreeMap<&'e str, &Part>,
    ) -> Option<Column<'e>> {
        let same = |name: &str| name.eq_ignore_ascii_case(heading);
        if self.unread.contains(heading) || heading.is_empty() {
            return Some(Column::Unread);
        }
        if same(self.bench()) {
            return Some(Column::Bench);
        }
        if let Some((entry, _)) = self.columns.iter().find(|(_, column)| same(column)) {
            return Some(Column::Entry(&entry.value));
        }
        let mut names = entries.keys();
        names
            .find(|name| same(name))
            .map(|name| Column::Entry(name))
    }
}

/// What a column holds.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Column<'e> {
    Bench,
    Entry(&'e str),
    Unread,
}

/// Returns the heading, and the lines below it, divided by what makes most of the heading known.
fn divided<'t>(
    found: &Diagnostics,
    file: &Arc<str>,
    text: &'t str,
    named: &NamedColumns,
    entries: &BTreeMap<&str, &Part>,
) -> Option<(u8, Row, Rows<'t>)> {
    let mut best: Option<(usize, u8, Row, Rows<'t>)> = None;
    let mut broken = None;
    for (divider, _) in DIVIDERS {
        let mut rows = Rows::new(file, text, divider);
        match rows.next() {
            Some(Ok(heading)) => {
                let cells = heading.cells.iter();
                let known = cells.filter(|cell| named.meaning(&cell.text, entries).is_some());
                let known = known.count();
                if best.as_ref().is_none_or(|(most, ..)| known > *most) {
                    best = Some((known, divider, heading, rows));
                }
            }
            Some(Err(problem)) => broken = Some(problem),
            None => {}
        }
    }
    let Some((_, divider, heading, rows)) = best else {
        found.add(|| {
            broken.unwrap_or_else(|| {
                let problem = Code::EmptyFile.error("The table of runs is empty.");
                problem.at("", Some(syntax::start_of(file))).right(format!(
                    "a first line with the column {} and the names of entries",
                    named.bench()
                ))
            })
        });
        return None;
    };
    Some((divider, heading, rows))
}

/// Returns what each column holds; noted and `None` if one is not known, comes twice or is missing.
fn columns<'e>(
    found: &Diagnostics,
    heading: &Row,
    named: &'e NamedColumns,
    entries: &BTreeMap<&'e str, &Part>,
) -> Option<Vec<Column<'e>>> {
    let before = found.count();
    let mut columns = Vec::new();
    let mut first: Vec<(Column<'e>, &Cell)> = Vec::new();
    for cell in &heading.cells {
        let column = named.meaning(&cell.text, entries);
        match column {
            None => found.add(|| {
                let meant = nearest(&cell.text, entries.keys().copied());
                let some: Vec<&str> = entries.keys().take(MOST_LISTED).copied().collect();
                let headline = format!("The column {} is unknown.", cell.text);
                Code::UnknownColumn.error(headline)
                    .at("", Some(cell.span.clone()))
                    .read(cell.text.as_str())
                    .perhaps(meant, &format!("{}, the entries of the run file ({}, …), the names under `columns` and `unread`", named.bench(), some.join(", ")))
            }),
            Some(Column::Unread) => {}
            Some(column) => match first.iter().find(|(known, _)| *known == column) {
                Some((_, earlier)) => found.add(|| {
                    let headline = format!("Two columns are for the same entry: {}.", cell.text);
                    Code::ColumnUsedTwice.error(headline)
                        .at("", Some(cell.span.clone()))
                        .right("a column of its own for each entry")
                        .also(earlier.span.clone(), "the other column")
                }),
                None => first.push((column, cell)),
            },
        }
        columns.push(column.unwrap_or(Column::Unread));
    }
    let missing = |heading_named: &str, at: Option<&At<String>>| {
        found.add(|| {
            let headline = format!("The table of runs has no column {heading_named}.");
            let problem = Code::MissingColumn.error(headline);
            let problem = match at {
                Some(at) => problem.at_entry(&at.entry),
                None => problem.at("", Some(heading.span.clone())),
            };
            problem.right("a column of that name in the first line")
        });
    };
    if !columns.contains(&Column::Bench) {
        missing(named.bench(), named.bench.as_ref());
    }
    for (entry, column) in &named.columns {
        if !columns.contains(&Column::Entry(&entry.value)) {
            missing(column, Some(entry));
        }
    }
    for (entry, _) in &named.columns {
        if !entries.contains_key(entry.value.as_str()) {
            found.add(|| {
                let headline = format!("The run file has no entry {}.", entry.value);
                let meant = nearest(&entry.value, entries.keys().copied());
                Code::UnknownColumn
                    .error(headline)
                    .at_entry(&entry.entry)
                    .perhaps(meant, "the entries of the run file, blank ones too")
            });
        }
    }
    (found.count() == before).then_some(columns)
}

/// Returns whether a quantity stands at an entry.
fn is_quantity(part: &Part) -> bool {
    let form = part.word.map(KeyInfo::form);
    matches!(
        form,
        Some(Form::Measure(_) | Form::Scaled(_) | Form::Deliveries(_))
    )
}

/// Returns the lines below the heading, with points for decimal commas.
fn read_rows(
    found: &Diagnostics,
    file: &Arc<str>,
    quantities: &[bool],
    divider: u8,
    rows: Rows<'_>,
) -> Option<Vec<Row>> {
    let mut rows: Vec<_> = rows.take(MOST_BENCHES + 1).collect();
    if let Some(Ok(row)) = rows.get(MOST_BENCHES) {
        let span = row.span.clone();
        found.add(|| {
            let headline = format!("{file} has more than {MOST_BENCHES} runs.");
            let problem = Code::TooManyRuns.error(headline);
            problem
                .at("", Some(span))
                .right("a table of at most that many")
        });
        return None;
    }
    read_decimal_commas(found, file, divider, &mut rows, quantities);
    let mut good = Vec::new();
    for row in rows {
        match row {
            Ok(row) => good.push(row),
            Err(problem) => {
                found.add(|| problem);
                break;
            }
        }
    }
    Some(good)
}

/// A run file's text, into which values are filled.
struct Lines<'r> {
    run: &'r Unfinished,
    common: Arc<Common>,
    /// The first byte of each line.
    starts: Vec<usize>,
    /// The holes by entry; `None` if the entry is not written in one piece.
    holes: BTreeMap<&'r str, Option<Hole>>,
}

impl<'r> Lines<'r> {
    fn new(run: &'r Unfinished, common: Common) -> Self {
        let ends = run.text.match_indices('\n').map(|(at, _)| at + 1);
        let mut lines = Self {
            run,
            common: Arc::new(common),
            starts: std::iter::once(0).chain(ends).collect(),
            holes: BTreeMap::new(),
        };
        let entries = run.root.entries();
        let mut taken = BTreeSet::new();
        for part in entries {
            let bytes = match &part.holds {
                Holds::Blank(blank) => Some(blank.hole.clone()),
                Holds::Written(text) => lines.find_written(&part.span, text),
                Holds::Parts(_) => None,
            };
            // An alias stands where its anchor does, and others with it.
            let own = bytes.filter(|bytes| taken.insert(bytes.start));
            let at = (part.span.line, part.span.column);
            let hole = own.map(|bytes| Hole { bytes, at });
            lines.holes.insert(&part.entry, hole);
        }
        lines
    }

    /// Returns where a value that is written in one piece stands.
    fn find_written(&self, span: &Span, text: &str) -> Option<Range<usize>> {
        let start = *self.starts.get(span.line.checked_sub(1)?)?;
        let rest = self.run.text.get(start..)?;
        let at = |column: usize| {
            rest.char_indices()
                .nth(column)
                .map_or(rest.len(), |(at, _)| at)
        };
        let range = start + at(span.column - 1)..start + at(span.column - 1 + span.length);
        let stands = self.run.text.get(range.clone())?.trim();
        let bare = stands.trim_matches(['"', '\'']);
        (stands == text || bare == text).then_some(range)
    }

    /// Returns the run of a line; noted and `None` if its bench has no name, or one of its values has no place.
    fn bench(
        &self,
        found: &Diagnostics,
        row: Row,
        columns: &[Column<'_>],
        known: &mut BTreeMap<String, Span>,
    ) -> Option<Bench> {
        let before = found.count();
        let beyond = row.cells.get(columns.len()).map(|cell| {
            let headline = "A value has no column in the heading.";
            Code::ValueWithoutColumn
                .error(headline)
                .at("", Some(cell.span.clone()))
                .right("no more values than columns; a decimal comma divides one value into two")
        });
        let mut name = None;
        let mut values: Vec<(Hole, Cell)> = Vec::new();
        for (cell, column) in row.cells.into_iter().zip(columns) {
            match column {
                Column::Unread => {}
                Column::Bench => name = Some(cell),
                // What a line leaves out is the run file's own.
                Column::Entry(_) if cell.text.is_empty() => {}
                Column::Entry(entry) => match self.holes.get(entry).cloned().flatten() {
                    Some(hole) => values.push((hole, cell)),
                    None => found.add(|| {
                        let headline = format!("The entry {entry} of the run file cannot be replaced: it is not a single plain value.");
                        Code::EntryNotReplaced.error(headline)
                            .at(*entry, Some(cell.span.clone()))
                            .read(cell.text.as_str())
                            .right("an entry that is blank in the run file, or a single value without an alias")
                    }),
                },
            }
        }
        let span = name.as_ref().map_or(row.span, |cell| cell.span.clone());
        let name = name.map(|cell| cell.text).filter(|name| !name.is_empty());
        let Some(name) = name else {
            found.add(|| {
                let problem = Code::NoName.error("A line of the table of runs names no bench.");
                problem
                    .at("", Some(span))
                    .right("a name of its own for each bench")
            });
            return None;
        };
        // As files are named, in which capitals may count for nothing.
        if let Some(first) = known.insert(file_part(&name).to_lowercase(), span.clone()) {
            found.add(|| {
                let headline = format!("Two lines of the table of runs are for the bench {name}.");
                Code::BenchTwice
                    .error(headline)
                    .at("", Some(span))
                    .read(name.as_str())
                    .right("a name of its own for each bench, in letters and digits")
                    .also(first, "the other line")
            });
            return None;
        }
        values.sort_by_key(|(hole, _)| hole.bytes.start);
        (found.count() == before).then(|| Bench {
            name,
            common: Arc::clone(&self.common),
            values,
            beyond,
        })
    }
}

/// Returns a name as part of the name of a file, on whatever system.
pub fn file_part(name: &str) -> String {
    let kept = |c: char| {
        if c.is_alphanumeric() || c == '-' {
            c
        } else {
            '_'
        }
    };
    name.trim().chars().map(kept).collect()
}
