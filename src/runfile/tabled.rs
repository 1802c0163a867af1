//! Weighings from a table beside the run file: made into the same tree that they would have in the run file, so that
//! they are read, named and judged by the same code.

use super::beside::{Beside, FileBeside, name_beside, refused};
use super::fields::{Fields, Value};
use super::found::Found;
use super::model::At;
use super::syntax;
use super::table::{Cell, DIVIDERS, Row, Rows};
use super::tree::{Content, Key, Node};
use super::words;
use crate::problem::{Problem, nearest};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Nobody weighs more often in one run.
const MOST_ROWS: usize = 10_000;
/// More names than these do not help.
const MOST_LISTED: usize = 12;

/// Weighings that stand in a file of their own.
pub(super) struct Tabled {
    /// As in the run file: by solution, lists of sections; none where the table could not be made out.
    pub(super) weighings: Option<Node>,
    /// Whether every line of it is in there.
    pub(super) complete: bool,
    /// The file, if it could be read.
    pub(super) file: Option<FileBeside>,
}

/// Whether a section names a file instead of holding readings itself: a solution of that name would have a section.
pub(super) fn names_a_file(node: &Node) -> bool {
    let from = node.get(words::FROM.name);
    from.is_some_and(|(_, from)| matches!(from.content, Content::Scalar { .. }))
}

/// The weighings of a file that the run file names, if it names one.
pub(super) fn read(
    found: &mut Found,
    run: &Arc<str>,
    root: &Node,
    beside: &dyn Beside,
) -> Option<Tabled> {
    let (_, density) = root.get(words::DENSITY.name)?;
    let (key, section) = density.get(words::WEIGHINGS.name)?;
    if !names_a_file(section) {
        return None;
    }
    let section = Value {
        node: section,
        name: words::WEIGHINGS.name.to_owned(),
        key_place: Some(key.place.clone()),
    };
    let mut tabled = Tabled {
        weighings: None,
        complete: true,
        file: None,
    };
    let Some(fields) = section.fields(found, &words::FROM_KEYS) else {
        return Some(tabled);
    };
    tabled.file = file(found, run, &fields, beside);
    let Some(wanted) = Wanted::read(found, &fields) else {
        return Some(tabled);
    };
    if let Some(file) = tabled.file.clone() {
        let text = syntax::text(&file.file, &file.bytes);
        let table = text.and_then(|text| Table::begun(&file.file, text, &wanted));
        match table {
            Ok(table) => table.weighings(found, &wanted, &mut tabled),
            Err(problem) => found.add(|| *problem),
        }
    }
    Some(tabled)
}

fn file(
    found: &mut Found,
    run: &Arc<str>,
    fields: &Fields<'_>,
    beside: &dyn Beside,
) -> Option<FileBeside> {
    let path = fields.text(found, &words::FROM)?;
    let from = fields.value(&words::FROM)?;
    if let Some(why) = refused(&path.value) {
        found.add(|| {
            from.problem("path-not-beside", format!("The path {} {why}.", path.value))
                .right("a path down from the run file's folder, its parts divided by /")
        });
        return None;
    }
    match beside.read(&path.value) {
        Ok(bytes) => Some(FileBeside {
            file: name_beside(run, &path.value),
            path: path.value,
            bytes: bytes.into(),
        }),
        Err(why) => {
            found.add(|| {
                from.problem(
                    "file-beside-not-read",
                    format!("{} cannot be read: {why}.", path.value),
                )
                .right("the path of a CSV file, from the run file's folder")
            });
            None
        }
    }
}

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
}

/// The columns looked for, and those to be passed over.
struct Wanted {
    columns: Vec<Column>,
    unread: Vec<At<String>>,
}

impl Wanted {
    fn read(found: &mut Found, fields: &Fields<'_>) -> Option<Self> {
        let named = match fields.value(&words::COLUMNS) {
            Some(value) => Some(value.fields(found, &words::COLUMN_KEYS)?),
            None => None,
        };
        let required = |key: &str| {
            let keys = words::REPLICATE_KEYS.keys;
            key == words::SOLUTION_COLUMN.name
                || keys.iter().any(|k| k.name() == key && k.required())
        };
        let columns: Vec<Column> = words::COLUMNS_READ
            .iter()
            .map(|key| Column {
                key: key.name,
                required: required(key.name),
                named: named.as_ref().and_then(|named| named.text(found, key)),
            })
            .collect();
        let items = fields.value(&words::UNREAD).map(Value::items);
        let items = items.unwrap_or_default();
        let unread = items
            .iter()
            .filter_map(|item| {
                Some(item.at(item.scalar(found, "the name of a column")?.to_owned()))
            })
            .collect();
        let wanted = Self { columns, unread };
        wanted.once_each(found).then_some(wanted)
    }

    /// Whether no name is given to two columns; noted where it is.
    fn once_each(&self, found: &mut Found) -> bool {
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
                Problem::error(
                    "column-named-twice",
                    format!(
                        "The column {} is named for {} and for {}.",
                        named.value, before.key, column.key
                    ),
                )
                .at(named.entry.name.clone(), Some(named.entry.place.clone()))
                .read(named.value.as_str())
                .right("a column of its own for each")
                .also(earlier.entry.place.clone(), "named here first")
            });
        }
        good
    }

    /// Whether a heading has all columns that there must be.
    fn all_in(&self, header: &Row) -> bool {
        let mut required = self.columns.iter().filter(|column| column.required);
        required.all(|column| header.cells.iter().any(|cell| cell.text == column.name()))
    }

    /// The names of the columns that must stand in the heading.
    fn required(&self) -> String {
        let required = self.columns.iter().filter(|column| column.required);
        let names: Vec<&str> = required.map(Column::name).collect();
        names.join(", ")
    }
}

/// A table of which the heading has been read.
struct Table<'t> {
    file: &'t Arc<str>,
    header: Row,
    rows: Rows<'t>,
}

impl<'t> Table<'t> {
    /// Finds out from the heading what divides the values.
    fn begun(file: &'t Arc<str>, text: &'t str, wanted: &Wanted) -> Result<Self, Box<Problem>> {
        let mut broken = None;
        let mut single = None;
        let mut divided = Vec::new();
        for (divider, name) in DIVIDERS {
            let mut rows = Rows::of(file, text, divider);
            match rows.next() {
                None => {
                    let problem =
                        Problem::error("empty-file", "The file of the weighings says nothing.");
                    let start = syntax::start_of(file);
                    return Err(Box::new(problem.at("", Some(start)).right(format!(
                        "a first line with the columns' names: {}",
                        wanted.required()
                    ))));
                }
                Some(Err(problem)) => broken = Some(problem),
                Some(Ok(header)) if header.cells.len() == 1 => single = Some(header),
                Some(Ok(header)) => divided.push((name, Table { file, header, rows })),
            }
        }
        if divided.len() > 1
            && divided
                .iter()
                .any(|(_, table)| wanted.all_in(&table.header))
        {
            divided.retain(|(_, table)| wanted.all_in(&table.header));
        }
        let problem = match (divided.pop(), divided.pop()) {
            (Some((_, table)), None) => return Ok(table),
            (Some((one, table)), Some((other, _))) => Problem::error(
                "divider-not-clear",
                format!("The columns of the heading could be divided by {other} or by {one}."),
            )
            .at("", Some(table.header.place)),
            (None, _) => match (single, broken) {
                (Some(header), _) => Problem::error(
                    "one-column",
                    "The heading of the table has one column only.",
                )
                .at("", Some(header.place)),
                (None, Some(problem)) => return Err(problem),
                (None, None) => {
                    return Err(Box::new(Problem::error(
                        "one-column",
                        "The table has no heading.",
                    )));
                }
            },
        };
        Err(Box::new(problem.right(format!(
            "one of comma, semicolon and tab between all columns, in no column's name: {}",
            wanted.required()
        ))))
    }

    /// Reads the lines below the heading.
    fn weighings(self, found: &mut Found, wanted: &Wanted, tabled: &mut Tabled) {
        let Some(columns) = self.columns(found, wanted) else {
            return;
        };
        let Self { file, header, rows } = self;
        let mut by_solution = BySolution::default();
        for (count, row) in rows.enumerate() {
            let row = match row {
                Ok(row) if count < MOST_ROWS => row,
                Ok(row) => {
                    found.add(|| {
                        Problem::error(
                            "too-many-weighings",
                            format!("{file} has more than {MOST_ROWS} weighings."),
                        )
                        .at("", Some(row.place))
                        .right("the weighings of one run")
                    });
                    tabled.complete = false;
                    break;
                }
                Err(problem) => {
                    found.add(|| *problem);
                    tabled.complete = false;
                    break;
                }
            };
            tabled.complete &= by_solution.add(found, &header, &columns, row);
        }
        if by_solution.0.is_empty() && tabled.complete {
            found.add(|| {
                Problem::error("no-weighing", format!("{file} has no weighing."))
                    .at("", Some(header.place.clone()))
                    .right("a line for each weighing below the columns' names")
            });
            return;
        }
        tabled.weighings = Some(by_solution.into_node(&header));
    }

    /// The key of each column of the heading, none for those passed over; noted and none where one that must be there
    /// is not.
    fn columns(&self, found: &mut Found, wanted: &Wanted) -> Option<Vec<Option<&'static str>>> {
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
                .filter(|(_, cell)| cell.text == column.name());
            match standing.next() {
                Some((index, first)) => {
                    keys[index] = Some(column.key);
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
        let mut strangers: Vec<&Cell> = header
            .cells
            .iter()
            .filter(|cell| !cell.text.is_empty() && !known.contains(cell.text.as_str()))
            .collect();
        for column in missing {
            good = false;
            let meant = nearest(
                column.name(),
                strangers.iter().map(|cell| cell.text.as_str()),
            );
            found.add(|| self.no_column(column.name(), column.named.as_ref(), meant));
            // A misspelt column is not unknown as well.
            if let Some(meant) = meant.map(str::to_owned) {
                strangers.retain(|cell| cell.text != meant);
            }
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
                Problem::error(
                    "unknown-column",
                    format!("{} is not a column of the weighings.", cell.text),
                )
                .at("", Some(cell.place.clone()))
                .read(cell.text.as_str())
                .right(format!(
                    "{perhaps}read are {}; others are named under weighings: unread: [{}]",
                    read.join(", "),
                    cell.text
                ))
            });
        }
        good.then_some(keys)
    }

    /// That a column is not there: told where the run file names it, or at the heading.
    fn no_column(&self, name: &str, named: Option<&At<String>>, meant: Option<&str>) -> Problem {
        let heading = self.header.place.clone();
        let problem = Problem::error(
            "missing-column",
            format!("{} has no column {name}.", self.file),
        );
        let perhaps = meant
            .map(|meant| format!("perhaps {meant}; "))
            .unwrap_or_default();
        let Some(named) = named else {
            return problem.at("", Some(heading)).right(format!(
                "{perhaps}a column {name}, or what it is called: weighings: columns: {{{name}: …}}"
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
            .at(named.entry.name.clone(), Some(named.entry.place.clone()))
            .read(name)
            .right(format!("{perhaps}its columns are {there}{more}"))
            .also(heading, "its heading")
    }
}

fn twice(second: &Cell, first: &Cell) -> Problem {
    Problem::error(
        "column-used-twice",
        format!("The column {} stands twice.", second.text),
    )
    .at("", Some(second.place.clone()))
    .read(second.text.as_str())
    .right("a name of its own for each column that is read")
    .also(first.place.clone(), "stands here first")
}

/// The weighings by solution, in the order in which the solutions come up.
#[derive(Default)]
struct BySolution(Vec<(Key, Vec<Node>)>, BTreeMap<String, usize>);

impl BySolution {
    /// Adds a line; noted and false where it cannot be one weighing.
    fn add(
        &mut self,
        found: &mut Found,
        header: &Row,
        columns: &[Option<&'static str>],
        row: Row,
    ) -> bool {
        let nameless = |index: usize| {
            header
                .cells
                .get(index)
                .is_none_or(|cell| cell.text.is_empty())
        };
        let beyond = row
            .cells
            .iter()
            .enumerate()
            .find(|(i, cell)| nameless(*i) && !cell.text.is_empty());
        if let Some((_, cell)) = beyond {
            found.add(|| {
                Problem::error(
                    "value-without-column",
                    "A value stands in no column of the heading.",
                )
                .at("", Some(cell.place.clone()))
                .read(cell.text.as_str())
                .right("as many values as columns; a decimal comma would make two of one")
            });
            return false;
        }
        let end = row
            .cells
            .last()
            .map_or(&row.place, |cell| &cell.place)
            .clone();
        let mut solution = None;
        let mut pairs = Vec::new();
        for (index, key) in columns.iter().enumerate() {
            let Some(key) = *key else { continue };
            let cell = row.cells.get(index);
            let place = cell.map_or_else(|| end.clone(), |cell| cell.place.clone());
            let text = cell.map(|cell| cell.text.clone()).unwrap_or_default();
            if key == words::SOLUTION_COLUMN.name {
                solution = Some((text, place));
                continue;
            }
            let required = words::REPLICATE_KEYS
                .keys
                .iter()
                .any(|k| k.name() == key && k.required());
            if text.is_empty() && !required {
                continue;
            }
            let content = Content::Scalar { text, plain: false };
            let node = Node {
                content,
                place: place.clone(),
            };
            pairs.push((
                Key {
                    text: key.to_owned(),
                    place,
                },
                node,
            ));
        }
        // The heading has the column.
        let Some((name, place)) = solution else {
            return false;
        };
        if name.is_empty() {
            found.add(|| {
                Problem::error("no-name", "A weighing does not say of which solution.")
                    .at("", Some(place))
                    .right("the solution's name in every line")
            });
            return false;
        }
        let Self(solutions, index) = self;
        let at = *index.entry(name.clone()).or_insert_with(|| {
            solutions.push((Key { text: name, place }, Vec::new()));
            solutions.len() - 1
        });
        solutions[at].1.push(Node {
            content: Content::Map(pairs),
            place: row.place,
        });
        true
    }

    fn into_node(self, header: &Row) -> Node {
        let solutions = self.0.into_iter().map(|(key, weighings)| {
            let place = key.place.clone();
            (
                key,
                Node {
                    content: Content::List(weighings),
                    place,
                },
            )
        });
        Node {
            content: Content::Map(solutions.collect()),
            place: header.place.clone(),
        }
    }
}
