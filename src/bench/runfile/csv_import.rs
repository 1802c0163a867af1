//! Weighings from a table beside the run file: made into the same tree that they would have in the run file, so that
//! they are read, named and judged by the same code.

use super::csv_header::{Table, WantedColumns};
use super::csv_rows::{Cell, DIVIDERS, Row};
use super::diagnostics::Diagnostics;
use super::fields::{Fields, Value};
use super::file_loader::{FileBeside, FileLoader, Holds, name_beside, why_refused};
use super::syntax;
use super::tree::{Content, Key, Node};
use super::vocabulary::{Form, KeyInfo};
use super::words;
use crate::problem::{Code, Problem};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Nobody weighs more often in one run.
pub(super) const MOST_WEIGHINGS: usize = 10_000;

/// Weighings that stand in a file of their own.
pub(super) struct TabledWeighings {
    /// The weighings by solution, in the form of the run file; `None` if the table could not be read.
    pub(super) weighings: Option<Node>,
    /// Whether every line of it is in there.
    pub(super) complete: bool,
    /// The file, if it could be read.
    pub(super) file: Option<FileBeside>,
}

impl TabledWeighings {
    /// Returns the weighings, where the run file has them; `None` if the table could not be read.
    pub(super) fn value<'n>(&'n self, found: &'n Diagnostics) -> Option<Value<'n>> {
        Some(Value {
            found,
            node: self.weighings.as_ref()?,
            name: words::WEIGHINGS.name.to_owned(),
            key_span: None,
        })
    }
}

/// Returns whether a section names a file instead of holding readings itself: a solution of that name would have a
/// section.
pub(super) fn names_a_file(node: &Node) -> bool {
    let from = node.get(words::FROM.name);
    from.is_some_and(|(_, from)| matches!(from.content, Content::Scalar { .. }))
}

/// Returns the weighings of a file that the run file names, if it names one.
pub(super) fn read(
    found: &Diagnostics,
    run: &Arc<str>,
    root: &Node,
    beside: &dyn FileLoader,
) -> Option<TabledWeighings> {
    let (_, density) = root.get(words::DENSITY.name)?;
    let (key, section) = density.get(words::WEIGHINGS.name)?;
    if !names_a_file(section) {
        return None;
    }
    let section = Value::at_key(found, (key, section), words::WEIGHINGS.name);
    let mut tabled = TabledWeighings {
        weighings: None,
        complete: true,
        file: None,
    };
    let Some(fields) = section.fields(&words::FROM_KEYS) else {
        return Some(tabled);
    };
    tabled.file = file(run, &fields, beside);
    let Some(wanted) = WantedColumns::read(&fields) else {
        return Some(tabled);
    };
    if let Some(file) = tabled.file.clone() {
        if file.bytes.starts_with(b"PK\x03\x04") {
            let headline = format!("{} is a spreadsheet workbook.", file.path);
            let right = "the table saved as CSV by the spreadsheet program";
            found.add(|| {
                section
                    .problem(Code::FileBesideNotRead, headline)
                    .right(right)
            });
            return Some(tabled);
        }
        let text = syntax::text(&file.file, &file.bytes);
        let table = text.and_then(|text| Table::begun(&file.file, text, &wanted));
        match table {
            Ok(table) => weighings(found, table, &wanted, &mut tabled),
            Err(problem) => found.add(|| problem),
        }
    }
    Some(tabled)
}

fn file(run: &Arc<str>, fields: &Fields<'_>, beside: &dyn FileLoader) -> Option<FileBeside> {
    let path = fields.text(&words::FROM)?;
    let from = fields.value(&words::FROM)?;
    if let Some(why) = why_refused(&path.value) {
        fields.found.add(|| {
            from.problem(
                Code::PathNotBeside,
                format!("The path {} {why}.", path.value),
            )
            .right("a path down from the run file's folder, its parts divided by /")
        });
        return None;
    }
    match beside.read(&path.value) {
        Ok(bytes) => Some(FileBeside {
            file: name_beside(run, &path.value),
            source: path.value.clone(),
            holds: Holds::Weighings,
            path: path.value,
            bytes: bytes.into(),
        }),
        Err(why) => {
            fields.found.add(|| {
                from.problem(
                    Code::FileBesideNotRead,
                    format!("{} cannot be read: {why}.", path.value),
                )
                .right("the path of a CSV file, from the run file's folder")
            });
            None
        }
    }
}

/// Reads the lines below the heading.
fn weighings(
    found: &Diagnostics,
    table: Table<'_>,
    wanted: &WantedColumns,
    tabled: &mut TabledWeighings,
) {
    let Some(columns) = table.columns(found, wanted) else {
        return;
    };
    let Table {
        file,
        header,
        rows,
        divider,
    } = table;
    let mut rows: Vec<_> = rows.take(MOST_WEIGHINGS + 1).collect();
    let quantities = columns.iter().map(|key| key.is_some_and(is_quantity));
    let quantities: Vec<bool> = quantities.collect();
    read_decimal_commas(found, file, divider, &mut rows, &quantities);
    let mut by_solution = BySolution::default();
    for (count, row) in rows.into_iter().enumerate() {
        let row = match row {
            Ok(row) if count < MOST_WEIGHINGS => row,
            Ok(row) => {
                found.add(|| {
                    Code::TooManyWeighings
                        .error(format!("{file} has more than {MOST_WEIGHINGS} weighings."))
                        .at("", Some(row.span))
                        .right("the weighings of one run")
                });
                tabled.complete = false;
                break;
            }
            Err(problem) => {
                found.add(|| problem);
                tabled.complete = false;
                break;
            }
        };
        tabled.complete &= by_solution.add(found, &header, &columns, row);
    }
    if by_solution.weighings.is_empty() && tabled.complete {
        found.add(|| {
            Code::NoWeighing
                .error(format!("{file} has no weighings."))
                .at("", Some(header.span.clone()))
                .right("a line for each weighing below the column names")
        });
        return;
    }
    tabled.weighings = Some(by_solution.into_node(&header));
}

/// Returns whether a key of a weighing has a quantity.
fn is_quantity(key: &str) -> bool {
    let key = words::REPLICATE_KEYS.key(key);
    key.is_some_and(|key| matches!(key.form(), Form::Measure(_) | Form::Deliveries(_)))
}

/// Reads decimal commas as points where commas do not divide the values, and notes that it does.
pub(super) fn read_decimal_commas(
    found: &Diagnostics,
    file: &str,
    divider: u8,
    rows: &mut [Result<Row, Problem>],
    quantities: &[bool],
) {
    if divider == b',' {
        return;
    }
    let Some(first) = points_for_commas(rows, quantities) else {
        return;
    };
    let headline = format!("{file} has decimal commas; they are read as points.");
    let point = first.text.replace(',', ".");
    found.add(|| {
        let problem = Code::DecimalCommasRead.warning(headline);
        let problem = problem.at("", Some(first.span)).read(first.text);
        problem.right(format!("nothing to do, if {point} is meant"))
    });
}

/// Replaces decimal commas by points in the columns of quantities, if none of them has a point. Returns the first cell with
/// a comma, as it was.
fn points_for_commas(rows: &mut [Result<Row, Problem>], quantities: &[bool]) -> Option<Cell> {
    let cells = || {
        let rows = rows.iter().flatten();
        let cells = rows.flat_map(|row| row.cells.iter().zip(quantities));
        cells.filter_map(|(cell, quantity)| quantity.then_some(cell))
    };
    let first = cells().find(|cell| has_decimal_comma(&cell.text))?.clone();
    if cells().any(|cell| cell.text.contains('.')) {
        return None;
    }
    for row in rows.iter_mut().flatten() {
        for (cell, _) in row
            .cells
            .iter_mut()
            .zip(quantities)
            .filter(|(_, quantity)| **quantity)
        {
            if has_decimal_comma(&cell.text) {
                cell.text = cell.text.replace(',', ".");
            }
        }
    }
    Some(first)
}

/// Returns whether a text has one comma, between two digits.
fn has_decimal_comma(text: &str) -> bool {
    let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
    text.split_once(',').is_some_and(|(before, after)| {
        digit(before.chars().last()) && digit(after.chars().next()) && !after.contains(',')
    })
}

/// Returns what divides a line, with its name, that has come as one value and seems to be several.
fn divided_otherwise(text: &str) -> Option<(char, &'static str)> {
    DIVIDERS
        .into_iter()
        .map(|(divider, name)| (char::from(divider), name))
        .find(|(divider, _)| text.matches(*divider).count() > 1)
}

/// The weighings by solution, in the order in which the solutions come up.
#[derive(Default)]
struct BySolution {
    weighings: Vec<(Key, Vec<Node>)>,
    index: BTreeMap<String, usize>,
    /// Solutions of which a line could not be made out; what holds for all their weighings cannot be judged.
    spoiled: BTreeSet<String>,
}

impl BySolution {
    /// Adds a line; noted and false where it cannot be one weighing.
    fn add(
        &mut self,
        found: &Diagnostics,
        header: &Row,
        columns: &[Option<&'static str>],
        row: Row,
    ) -> bool {
        let mut keys = columns.iter();
        let named = keys.position(|key| *key == Some(words::SOLUTION_COLUMN.name));
        let nameless = |index: usize| header.cells.get(index).map(|cell| cell.text.is_empty());
        if let [only] = row.cells.as_slice()
            && header.cells.len() > 1
            && let Some((other, name)) = divided_otherwise(&only.text)
        {
            found.add(|| {
                Code::DividerNotClear
                    .error(format!(
                        "The line is separated by {name}, but its heading is not."
                    ))
                    .at("", Some(row.span.clone()))
                    .right("the same separator in all lines: comma, semicolon or tab")
                    .also(header.span.clone(), "the heading")
            });
            let mut parts = only.text.split(other).map(|part| part.trim().to_owned());
            self.spoiled
                .extend(named.and_then(|index| parts.nth(index)));
            return false;
        }
        // Even an empty value too many tells that the others may have moved.
        let mut cells = row.cells.iter().enumerate();
        let beyond = cells.find(|(index, cell)| match nameless(*index) {
            Some(nameless) => nameless && !cell.text.is_empty(),
            None => true,
        });
        if let Some((_, cell)) = beyond {
            found.add(|| {
                let problem = Code::ValueWithoutColumn
                    .error("A value has no column in the heading.")
                    .at("", Some(cell.span.clone()))
                    .right(
                        "no more values than columns; a decimal comma divides one value into two",
                    );
                match cell.text.as_str() {
                    "" => problem,
                    text => problem.read(text),
                }
            });
            let name = named.and_then(|index| row.cells.get(index));
            self.spoiled.extend(name.map(|cell| cell.text.clone()));
            return false;
        }
        let end = row
            .cells
            .last()
            .map_or(&row.span, |cell| &cell.span)
            .clone();
        let mut solution = None;
        let mut pairs = Vec::new();
        for (index, key) in columns.iter().enumerate() {
            let Some(key) = *key else { continue };
            let cell = row.cells.get(index);
            let span = cell.map_or_else(|| end.clone(), |cell| cell.span.clone());
            let text = cell.map(|cell| cell.text.clone()).unwrap_or_default();
            if key == words::SOLUTION_COLUMN.name {
                solution = Some((text, span));
                continue;
            }
            let known = words::REPLICATE_KEYS.key(key);
            let required = known.is_some_and(KeyInfo::is_required);
            if text.is_empty() && !required {
                continue;
            }
            let content = Content::Scalar { text, plain: false };
            let node = Node::new(content, span.clone());
            pairs.push((Key::new(key, span), node));
        }
        // The heading has the column.
        let Some((name, span)) = solution else {
            return false;
        };
        if name.is_empty() {
            found.add(|| {
                Code::NoName
                    .error("A weighing names no solution.")
                    .at("", Some(span))
                    .right("the solution's name in every line")
            });
            return false;
        }
        let weighings = &mut self.weighings;
        let at = *self.index.entry(name.clone()).or_insert_with(|| {
            weighings.push((Key::new(name, span), Vec::new()));
            weighings.len() - 1
        });
        weighings[at]
            .1
            .push(Node::new(Content::Map(pairs), row.span));
        true
    }

    fn into_node(self, header: &Row) -> Node {
        let Self {
            weighings, spoiled, ..
        } = self;
        let whole = weighings
            .into_iter()
            .filter(|(key, _)| !spoiled.contains(&key.text));
        let solutions = whole.map(|(key, weighings)| {
            let node = Node::new(Content::List(weighings), key.span.clone());
            (key, node)
        });
        Node::new(Content::Map(solutions.collect()), header.span.clone())
    }
}
