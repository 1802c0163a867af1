//! The heading of a table of weighings: what divides its values, and which column holds what.
//!
//! An unknown column is an error: a misspelt `left_out` would otherwise count readings that were to be left out. Columns
//! without meaning here are named under `unread`.

use super::csv_rows::{Cell, DIVIDERS, Row, Rows};
use super::diagnostics::Diagnostics;
use super::fields::{Fields, Value};
use super::model::At;
use super::syntax;
use super::vocabulary::{Form, KeyInfo};
use super::words;
use crate::problem::{Code, Problem, nearest};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// More names than these do not help.
const MOST_LISTED: usize = 12;

/// A column that is looked for.
struct Column {
    /// The key of a weighing that it holds, or `solution`.
    key: &'static str,
    required: bool,
    /// What it is called, as the run file says; by its key where it says nothing.
    named: Option<At<String>>,
}

impl Column {
    fn name(&self) -> &str {
        self.named.as_ref().map_or(self.key, |named| &named.value)
    }

    /// Returns whether a heading is its name, ignoring case; the default unit of its values may follow.
    fn is_called(&self, heading: &str) -> bool {
        let name = self.name().to_lowercase();
        let heading = heading.to_lowercase();
        let unit = || {
            heading[without_unit(&heading).len()..]
                .trim_matches([' ', '(', ')', '[', ']', '/', ','])
        };
        heading == name
            || self.named.is_none()
                && without_unit(&heading) == name
                && Some(unit()) == self.unit().as_deref()
    }

    /// Returns the default unit of its values, in small letters.
    fn unit(&self) -> Option<String> {
        match words::REPLICATE_KEYS.key(self.key)?.form() {
            Form::Measure(measure) | Form::Deliveries(measure) => {
                Some(measure.unit.symbol.to_lowercase())
            }
            _ => None,
        }
    }
}

/// The columns looked for, and those to be passed over.
pub(super) struct WantedColumns {
    columns: Vec<Column>,
    unread: Vec<At<String>>,
}

impl WantedColumns {
    pub(super) fn read(fields: &Fields<'_>) -> Option<Self> {
        let named = match fields.value(&words::COLUMNS) {
            Some(value) => {
                let before = fields.found.count();
                let named = value.fields(&words::COLUMN_KEYS)?;
                // Which column a key not understood was to be is not known.
                if fields.found.count() > before {
                    return None;
                }
                Some(named)
            }
            None => None,
        };
        let required = |key: &str| {
            let known = words::REPLICATE_KEYS.key(key);
            key == words::SOLUTION_COLUMN.name || known.is_some_and(KeyInfo::is_required)
        };
        let columns: Vec<Column> = words::COLUMNS_READ
            .iter()
            .map(|key| Column {
                key: key.name,
                required: required(key.name),
                named: named.as_ref().and_then(|named| named.text(key)),
            })
            .collect();
        let items = fields.value(&words::UNREAD).map(Value::items);
        let items = items.unwrap_or_default();
        let unread = items
            .iter()
            .filter_map(|item| Some(item.at(item.scalar("the name of a column")?.to_owned())))
            .collect();
        let mut wanted = Self { columns, unread };
        if !wanted.are_named_once(fields.found) {
            return None;
        }
        let Self { columns, unread } = &mut wanted;
        // A column that need not be there may stand there and not be meant.
        columns.retain(|column| unread.iter().all(|name| name.value != column.name()));
        Some(wanted)
    }

    /// Returns whether no name is given to two columns; noted where it is.
    fn are_named_once(&self, found: &Diagnostics) -> bool {
        let mut first: BTreeMap<&str, &Column> = BTreeMap::new();
        let mut good = true;
        for column in self.columns.iter().filter(|c| c.named.is_some()) {
            let Some(before) = first.insert(column.name(), column) else {
                continue;
            };
            good = false;
            let (Some(named), Some(earlier)) = (&column.named, &before.named) else {
                continue;
            };
            found.add(|| {
                Code::ColumnNamedTwice
                    .error(format!(
                        "The column {} is named for both {} and {}.",
                        named.value, before.key, column.key
                    ))
                    .at_entry(&named.entry)
                    .read(named.value.as_str())
                    .right("a column of its own for each")
                    .also(earlier.entry.span.clone(), "first named here")
            });
        }
        for name in &self.unread {
            let mut columns = self.columns.iter();
            let read =
                columns.find(|c| c.name() == name.value && (c.required || c.named.is_some()));
            let Some(column) = read else { continue };
            good = false;
            found.add(|| {
                Code::ColumnNamedTwice
                    .error(format!(
                        "The column {} is read as {}, but is listed under `unread`.",
                        name.value, column.key
                    ))
                    .at_entry(&name.entry)
                    .read(name.value.as_str())
                    .right("only columns that are not read")
            });
        }
        good
    }

    /// Returns whether a heading has all columns that there must be.
    fn are_all_in(&self, header: &Row) -> bool {
        let mut required = self.columns.iter().filter(|column| column.required);
        required.all(|column| header.cells.iter().any(|cell| column.is_called(&cell.text)))
    }

    /// Returns the names of the columns that must stand in the heading.
    fn required(&self) -> String {
        let required = self.columns.iter().filter(|column| column.required);
        let names: Vec<&str> = required.map(Column::name).collect();
        names.join(", ")
    }
}

/// A table of which the heading has been read.
pub(super) struct Table<'t> {
    pub(super) file: &'t Arc<str>,
    pub(super) header: Row,
    pub(super) rows: Rows<'t>,
    /// What divides its values.
    pub(super) divider: u8,
}

impl<'t> Table<'t> {
    /// Finds out from the heading what divides the values.
    pub(super) fn begun(
        file: &'t Arc<str>,
        text: &'t str,
        wanted: &WantedColumns,
    ) -> Result<Self, Problem> {
        let mut broken = None;
        let mut single = None;
        let mut divided = Vec::new();
        for (divider, name) in DIVIDERS {
            let mut rows = Rows::new(file, text, divider);
            match rows.next() {
                None => {
                    let problem = Code::EmptyFile.error("The table of weighings is empty.");
                    let start = syntax::start_of(file);
                    return Err(problem.at("", Some(start)).right(format!(
                        "a first line with the column names: {}",
                        wanted.required()
                    )));
                }
                Some(Err(problem)) => broken = Some(problem),
                Some(Ok(header)) if header.cells.len() == 1 => single = Some(header),
                Some(Ok(header)) => {
                    let table = Table {
                        file,
                        header,
                        rows,
                        divider,
                    };
                    divided.push((name, table));
                }
            }
        }
        if divided.len() > 1
            && divided
                .iter()
                .any(|(_, table)| wanted.are_all_in(&table.header))
        {
            divided.retain(|(_, table)| wanted.are_all_in(&table.header));
        }
        let problem = match (divided.pop(), divided.pop()) {
            (Some((_, table)), None) => return Ok(table),
            (Some((one, table)), Some((other, _))) => Code::DividerNotClear
                .error(format!(
                    "The columns of the heading could be separated by {other} or by {one}."
                ))
                .at("", Some(table.header.span)),
            (None, _) => match (broken, single) {
                (Some(problem), _) => return Err(problem),
                (None, Some(header)) => Code::OneColumn
                    .error("The heading of the table has only one column.")
                    .at("", Some(header.span)),
                // A text that says something has a first line.
                (None, None) => Code::OneColumn.error("The table has no heading."),
            },
        };
        Err(problem.right(format!(
            "a comma, semicolon or tab between all columns, and in no column name: {}",
            wanted.required()
        )))
    }

    /// Returns the key of each column of the heading, `None` for those passed over; noted and `None` if one that must be
    /// there is not.
    pub(super) fn columns(
        &self,
        found: &Diagnostics,
        wanted: &WantedColumns,
    ) -> Option<Vec<Option<&'static str>>> {
        let header = &self.header;
        let mut keys: Vec<Option<&'static str>> = vec![None; header.cells.len()];
        let mut known: BTreeSet<&str> = wanted
            .unread
            .iter()
            .map(|name| name.value.as_str())
            .collect();
        let mut missing = Vec::new();
        let mut good = true;
        for column in &wanted.columns {
            let mut standing = header
                .cells
                .iter()
                .enumerate()
                .filter(|(_, cell)| column.is_called(&cell.text));
            match standing.next() {
                Some((index, first)) => {
                    keys[index] = Some(column.key);
                    known.insert(first.text.as_str());
                    known.insert(column.name());
                    if let Some((_, second)) = standing.next() {
                        good = false;
                        found.add(|| twice(second, first));
                    }
                }
                None if column.required || column.named.is_some() => missing.push(column),
                None => {}
            }
        }
        if keys.iter().all(Option::is_none) && wanted.columns.iter().all(|c| c.named.is_none()) {
            found.add(|| {
                Code::NoHeading
                    .error(format!("The first line of {} names no column.", self.file))
                    .at("", Some(header.span.clone()))
                    .right(format!(
                        "a first line with the column names: {}",
                        wanted.required()
                    ))
            });
            return None;
        }
        let mut strangers: Vec<&Cell> = header
            .cells
            .iter()
            .filter(|cell| !cell.text.is_empty() && !known.contains(cell.text.as_str()))
            .collect();
        good &= missing.is_empty();
        let mut renamed: Vec<(&Column, &Cell)> = Vec::new();
        for column in missing {
            let meant = standing_for(column, &strangers);
            // A misspelt column is not unknown as well.
            strangers.retain(|cell| meant.is_none_or(|meant| meant.text != cell.text));
            match meant {
                Some(meant) if column.named.is_none() => renamed.push((column, meant)),
                meant => {
                    let meant = meant.map(|cell| cell.text.as_str());
                    found.add(|| self.no_column(column.name(), column.named.as_ref(), meant));
                }
            }
        }
        match renamed.as_slice() {
            [] => {}
            [(column, meant)] => {
                found.add(|| self.no_column(column.name(), None, Some(&meant.text)));
            }
            renamed => found.add(|| self.other_names(renamed)),
        }
        for name in &wanted.unread {
            if !header.cells.iter().any(|cell| cell.text == name.value) {
                let meant = nearest(&name.value, strangers.iter().map(|cell| cell.text.as_str()));
                found.add(|| self.no_column(&name.value, Some(name), meant));
                good = false;
                if let Some(meant) = meant.map(str::to_owned) {
                    strangers.retain(|cell| cell.text != meant);
                }
            }
        }
        let unused = || {
            let unused = wanted.columns.iter().filter(|c| !known.contains(c.name()));
            unused.map(Column::name)
        };
        for cell in strangers {
            good = false;
            found.add(|| {
                let perhaps = nearest(&cell.text, unused())
                    .map(|meant| format!("perhaps {meant}; "))
                    .unwrap_or_default();
                let read: Vec<&str> = wanted.columns.iter().map(Column::name).collect();
                Code::UnknownColumn
                    .error(format!("{} is not a column of the weighings.", cell.text))
                    .at("", Some(cell.span.clone()))
                    .read(cell.text.as_str())
                    .right(format!(
                        "{perhaps}one of {}; list others as `weighings: unread: [{}]`",
                        read.join(", "),
                        cell.text
                    ))
            });
        }
        good.then_some(keys)
    }

    /// That columns are not there by their names, but perhaps by others.
    fn other_names(&self, renamed: &[(&Column, &Cell)]) -> Problem {
        let lacking: Vec<&str> = renamed.iter().map(|(column, _)| column.name()).collect();
        let plain = |text: &str| {
            text.chars()
                .all(|c| c.is_alphanumeric() || c == ' ' || c == '_')
        };
        let named: Vec<String> = renamed
            .iter()
            .map(|(column, cell)| match cell.text.as_str() {
                text if plain(text) => format!("{}: {text}", column.key),
                text => format!("{}: '{}'", column.key, text.replace('\'', "''")),
            })
            .collect();
        let problem = Code::MissingColumn.error(format!("{} has no columns {}.", self.file, lacking.join(", ")))
        .at("", Some(self.header.span.clone()))
        .right(format!(
            "these names in the heading; or, if these are their own names, `columns: {{{}}}` under `weighings`",
            named.join(", ")
        ));
        renamed.iter().fold(problem, |problem, (column, cell)| {
            problem.also(cell.span.clone(), format!("perhaps {}", column.name()))
        })
    }

    /// That a column is not there: told where the run file names it, or at the heading.
    fn no_column(&self, name: &str, named: Option<&At<String>>, meant: Option<&str>) -> Problem {
        let heading = self.header.span.clone();
        let problem = Code::MissingColumn.error(format!("{} has no column {name}.", self.file));
        let perhaps = meant
            .map(|meant| format!("perhaps {meant}; "))
            .unwrap_or_default();
        let Some(named) = named else {
            return problem.at("", Some(heading)).right(format!(
                "{perhaps}a column {name}, or its own name: `weighings: columns: {{{name}: …}}`"
            ));
        };
        let there: Vec<&str> = self
            .header
            .cells
            .iter()
            .map(|cell| cell.text.as_str())
            .collect();
        let more = if there.len() > MOST_LISTED {
            ", …"
        } else {
            ""
        };
        let there = there[..there.len().min(MOST_LISTED)].join(", ");
        problem
            .at_entry(&named.entry)
            .read(name)
            .right(format!("{perhaps}its columns are {there}{more}"))
            .also(heading, "its heading")
    }
}

/// Returns the column of the heading that may be the one looked for: by a slip, by another word of the trade, or with
/// its unit.
fn standing_for<'c>(column: &Column, strangers: &[&'c Cell]) -> Option<&'c Cell> {
    let by_name = |name: &str| strangers.iter().copied().find(|cell| cell.text == name);
    let there = || strangers.iter().map(|cell| cell.text.as_str());
    let keys = || words::COLUMNS_READ.iter().map(|key| key.name);
    let stands_for = |text: &str| {
        let word = without_unit(text);
        word == column.key || words::synonym(word, keys()) == Some(column.key)
    };
    let own = || there().find(|name| *name == column.key);
    nearest(column.name(), there())
        .or_else(own)
        .or_else(|| there().find(|text| stands_for(&text.to_lowercase())))
        .and_then(by_name)
}

/// Returns what a column is called, without the unit after it: `empty (g)`, `empty [g]`, `empty / g`.
fn without_unit(text: &str) -> &str {
    text.split(['(', '[', '/', ','])
        .next()
        .unwrap_or(text)
        .trim()
}

fn twice(second: &Cell, first: &Cell) -> Problem {
    Code::ColumnUsedTwice
        .error(format!("The column {} occurs twice.", second.text))
        .at("", Some(second.span.clone()))
        .read(second.text.as_str())
        .right("a name of its own for each column that is read")
        .also(first.span.clone(), "first here")
}
