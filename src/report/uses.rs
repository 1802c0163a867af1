//! Tables of the uses of formulas: a line for each solution or weighing, with its input quantities and results.
//!
//! A formula written out for every solution fills pages that nobody reads. It stands once, and a table has a line for each
//! use: of a solution, of one of its weighings, or of a quantity of neither, named by its symbol. Values that all lines
//! share stand in the caption, and values that a table of the report lists already are referred to.

use std::collections::BTreeMap;

use serde::Serialize;
use smol_str::SmolStr;

use super::printed::{Operand, Printed};
use super::words::with_unit;
use crate::bench::worksheet::NodeId;
use crate::maths::{Class, Math};

/// Width of a table on a page of the usual size, in tenths of a character.
const WIDTH: usize = 1080;

/// Gap between two columns, in tenths of a character.
const GAP: usize = 24;

/// A use of a formula.
pub(super) struct Use {
    /// The result.
    pub(super) result: NodeId,
    /// The quantity whose calculation shows the formula, and the label of that calculation.
    pub(super) example: NodeId,
    pub(super) equation: String,
    /// The input quantities.
    pub(super) inputs: Vec<InputPlace>,
    /// Labels of the body's tables that hold further input quantities.
    pub(super) outside: Vec<String>,
    /// Whether it belongs to a weighing that is left out.
    pub(super) left_out: bool,
}

/// A place of a formula where input quantities stand.
pub(super) struct InputPlace {
    /// One quantity, or the terms of a sum.
    pub(super) ids: Vec<NodeId>,
    /// Whether all uses have the same there.
    pub(super) shared: bool,
    /// The quantity that stands there in the example.
    pub(super) like: NodeId,
}

/// A table of the uses of formulas, with a line for each solution or weighing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Uses {
    /// Its label.
    label: String,
    /// Labels of the equations that show the formulas.
    equations: Vec<String>,
    /// Labels of tables of the report that list further inputs.
    outside: Vec<String>,
    /// Inputs that all uses share.
    shared: Vec<Operand>,
    /// The columns after the first.
    columns: Vec<Column>,
    /// The lines.
    lines: Vec<Line>,
}

/// A column of a table of uses.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct Column {
    /// Formula of its quantities, without the name of a solution or piece of ware.
    symbol: String,
    /// The label of the equation that shows the formula; empty for inputs.
    equation: String,
    /// The unit of all values; empty for pure numbers.
    unit: &'static str,
    /// The unit as a divisor in the head: in brackets if it is a product or quotient of others.
    divisor: String,
}

/// A line of a table of uses.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct Line {
    /// The name of the solution or piece of ware; empty for neither.
    of: String,
    /// Formula of the quantity that names a line of neither.
    symbol: Option<String>,
    /// The number of the weighing.
    number: Option<usize>,
    /// Whether it belongs to a weighing that is left out.
    left_out: bool,
    /// A value for each column, results ± standard uncertainty; a dash where there is none.
    cells: Vec<String>,
}

/// The subject of a line.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Subject {
    /// A solution or piece of ware.
    Whole(SmolStr),
    /// One of its weighings.
    Weighing(SmolStr, usize),
    /// A quantity of no solution and no ware.
    Quantity(NodeId),
}

/// The contents of a column.
#[derive(Clone, Copy, PartialEq)]
enum Content {
    /// Results of a kind, by the first of them.
    Results(NodeId),
    /// Input quantities: the example of the formula, and the quantity that stands in their place there.
    Inputs(NodeId, NodeId),
}

struct Head {
    content: Content,
    /// The quantity whose symbol stands in the head.
    like: NodeId,
    /// Whether its values are sums.
    summed: bool,
    /// Of results: the example of their formula, and the label of its calculation.
    example: Option<NodeId>,
    equation: String,
    /// Labels of the body's tables that hold further input quantities.
    outside: Vec<String>,
    /// Input quantities that all uses of its formula share.
    shared: Vec<NodeId>,
    /// Whether its quantities belong to the subjects of their lines.
    own: bool,
}

/// A line being built: its cells by column, each with the quantities in it.
struct Row {
    subject: Subject,
    left_out: bool,
    cells: BTreeMap<usize, (Vec<NodeId>, String)>,
}

impl Row {
    /// Returns the column that holds just these quantities.
    fn column_of(&self, ids: &[NodeId]) -> Option<usize> {
        let found = self.cells.iter().find(|(_, (there, _))| there == ids);
        found.map(|(column, _)| *column)
    }
}

/// Tables of some uses: one for solutions, one for weighings, one for other quantities, each in as many parts as it needs.
/// `order` gives the first quantity of each solution and piece of ware; `before` tables stand before these.
pub(super) fn tables(
    printed: Printed,
    order: &BTreeMap<SmolStr, NodeId>,
    uses: Vec<Use>,
    before: usize,
) -> Vec<Uses> {
    let builder = || Builder {
        printed,
        order,
        heads: Vec::new(),
        rows: Vec::new(),
        by_subject: BTreeMap::new(),
        by_quantity: BTreeMap::new(),
    };
    let (mut weighings, mut wholes, mut others) = (builder(), builder(), builder());
    let mut of_quantities = Vec::new();
    for u in uses {
        match subject(printed, u.result) {
            Subject::Weighing(..) => weighings.add(&u),
            Subject::Whole(_) => wholes.add(&u),
            Subject::Quantity(_) => of_quantities.push(u),
        }
    }
    for u in of_quantities {
        // An input quantity of a line is calculated in that line, rather than in one of its own.
        if !weighings.add_where_used(&u) && !wholes.add_where_used(&u) {
            others.add(&u);
        }
    }
    let mut made = Vec::new();
    for table in [weighings, wholes, others] {
        table.finish(before, &mut made);
    }
    made
}

fn subject(printed: Printed, id: NodeId) -> Subject {
    let symbol = &printed.ws.node(id).symbol;
    match symbol.label().number {
        // A function of one quantity is named by that.
        _ if symbol.label().of.is_empty() => {
            Subject::Quantity(match printed.ws.places(id).as_slice() {
                [only] => only[0],
                _ => id,
            })
        }
        Some(number) => Subject::Weighing(symbol.label().of.clone(), number),
        None => Subject::Whole(symbol.label().of.clone()),
    }
}

/// A table of uses being built.
struct Builder<'a> {
    printed: Printed<'a>,
    order: &'a BTreeMap<SmolStr, NodeId>,
    heads: Vec<Head>,
    rows: Vec<Row>,
    by_subject: BTreeMap<Subject, usize>,
    /// The rows that have a cell of a quantity alone.
    by_quantity: BTreeMap<NodeId, Vec<usize>>,
}

impl Builder<'_> {
    fn add(&mut self, u: &Use) {
        let subject = subject(self.printed, u.result);
        let next = self.rows.len();
        let row = *self.by_subject.entry(subject.clone()).or_insert(next);
        if row == next {
            self.rows.push(Row {
                subject,
                left_out: false,
                cells: BTreeMap::new(),
            });
        }
        self.add_to(row, u);
    }

    /// Adds a use to all rows that have its result as an input quantity; tells whether there are any.
    fn add_where_used(&mut self, u: &Use) -> bool {
        let rows = self.by_quantity.get(&u.result).cloned();
        for row in rows.iter().flatten() {
            self.add_to(*row, u);
        }
        rows.is_some()
    }

    fn add_to(&mut self, row: usize, u: &Use) {
        self.rows[row].left_out |= u.left_out;
        for place in u.inputs.iter().filter(|place| !place.shared) {
            if self.rows[row].column_of(&place.ids).is_none() {
                let content = Content::Inputs(u.example, place.like);
                let column = self.column(row, content, &place.ids);
                self.heads[column].summed |= place.ids.len() > 1;
                let text = self.inputs(&place.ids, row);
                self.fill(row, column, place.ids.clone(), text);
            }
        }
        let ids = vec![u.result];
        let found = self.rows[row].column_of(&ids);
        let column = found.unwrap_or_else(|| self.column(row, Content::Results(u.result), &ids));
        let head = &mut self.heads[column];
        head.equation.clone_from(&u.equation);
        head.example = Some(u.example);
        let shared = u.inputs.iter().filter(|place| place.shared);
        add_new(&mut head.shared, shared.map(|place| place.ids[0]));
        add_new(&mut head.outside, u.outside.iter().cloned());
        let value = self.printed.ws.printed(u.result);
        let text = match self.printed.uncertainty(u.result) {
            Some(uncertainty) => format!("{value} ± {uncertainty}"),
            None => value,
        };
        self.fill(row, column, ids, text);
    }

    fn fill(&mut self, row: usize, column: usize, ids: Vec<NodeId>, text: String) {
        if let [only] = ids[..] {
            let rows = self.by_quantity.entry(only).or_default();
            if rows.last() != Some(&row) {
                rows.push(row);
            }
        }
        self.rows[row].cells.insert(column, (ids, text));
    }

    /// Returns a free column of a row for some quantities: of their kind, or of their place in the formula, or else a
    /// new one.
    fn column(&mut self, row: usize, content: Content, ids: &[NodeId]) -> usize {
        let free = |column: &usize| !self.rows[row].cells.contains_key(column);
        let own = self.is_own(row, ids[0]);
        let of_one_kind = |one: NodeId, other: NodeId| {
            let [one, other] = [one, other].map(|id| self.printed.ws.node(id));
            one.unit == other.unit && one.symbol.is_of_kind(&other.symbol)
        };
        let fits = |head: &Head| {
            let of_place = matches!(content, Content::Inputs(..)) && head.content == content;
            of_place || own && head.own && of_one_kind(head.like, ids[0])
        };
        let mut all = 0..self.heads.len();
        if let Some(found) = all.find(|column| free(column) && fits(&self.heads[*column])) {
            return found;
        }
        let is_new = self.heads.iter().all(|head| head.content != content);
        self.heads.push(Head {
            content,
            like: match content {
                Content::Inputs(_, like) if is_new => like,
                _ => ids[0],
            },
            own,
            summed: false,
            example: None,
            equation: String::new(),
            outside: Vec::new(),
            shared: Vec::new(),
        });
        self.heads.len() - 1
    }

    /// Returns whether a quantity belongs to the subject of a row.
    fn is_own(&self, row: usize, id: NodeId) -> bool {
        let symbol = &self.printed.ws.node(id).symbol;
        match &self.rows[row].subject {
            Subject::Whole(of) | Subject::Weighing(of, _) => {
                symbol.label().of.is_empty() || symbol.label().of == *of
            }
            Subject::Quantity(_) => true,
        }
    }

    /// Returns the key that sorts rows in the order of the run file.
    fn position(&self, row: &Row) -> (Option<NodeId>, usize) {
        match &row.subject {
            Subject::Whole(of) => (self.order.get(of).copied(), 0),
            Subject::Weighing(of, number) => (self.order.get(of).copied(), *number),
            Subject::Quantity(id) => (Some(*id), 0),
        }
    }

    /// Returns the digits of input quantities: equal terms of a sum by their number, and with the name of another
    /// subject than the row's.
    fn inputs(&self, ids: &[NodeId], row: usize) -> String {
        let ws = self.printed.ws;
        let digits: Vec<String> = ids.iter().map(|id| ws.printed_in(*id)).collect();
        let terms = digits.chunk_by(|a, b| a == b).map(|run| match run.len() {
            1 => run[0].clone(),
            times => format!("{times} × {}", run[0]),
        });
        let sum = terms.collect::<Vec<_>>().join(" + ");
        if self.is_own(row, ids[0]) {
            sum
        } else {
            format!("{sum} ({})", ws.node(ids[0]).symbol.label().of)
        }
    }

    /// Adds the table to those made, in as many parts as its columns need.
    fn finish(&self, before: usize, made: &mut Vec<Uses>) {
        let width = |column: usize| {
            let cells = self.rows.iter().filter_map(|row| row.cells.get(&column));
            let widest = cells.map(|(_, cell)| cell.chars().count()).max();
            let head = &self.heads[column];
            let of_head = 2
                + self
                    .printed
                    .ws
                    .shown_in(head.like)
                    .unit
                    .symbol
                    .chars()
                    .count()
                + 4 * usize::from(!head.equation.is_empty());
            10 * widest.unwrap_or(0).max(of_head) + GAP
        };
        let names = self.rows.iter().map(|row| match &row.subject {
            Subject::Whole(name) => name.chars().count(),
            Subject::Weighing(name, _) => name.chars().count() + 4,
            Subject::Quantity(_) => 6,
        });
        let names = 10 * names.max().unwrap_or(0);
        let constants: Vec<Option<&str>> =
            (0..self.heads.len()).map(|at| self.constant(at)).collect();
        let (mut columns, mut taken) = (Vec::new(), names);
        for column in (0..self.heads.len()).filter(|column| constants[*column].is_none()) {
            if taken + width(column) > WIDTH && !columns.is_empty() {
                let columns = std::mem::take(&mut columns);
                made.push(self.table(&columns, &constants, before + made.len()));
                taken = names;
            }
            taken += width(column);
            columns.push(column);
        }
        if !columns.is_empty() {
            made.push(self.table(&columns, &constants, before + made.len()));
        }
    }

    /// Returns the one value of a column of input quantities that has the same in all of several rows.
    fn constant(&self, column: usize) -> Option<&str> {
        let head = &self.heads[column];
        let mut cells = self.rows.iter().filter_map(|row| row.cells.get(&column));
        let (_, first) = cells.next()?;
        let second = cells.next()?;
        let same = first == &second.1 && cells.all(|(_, cell)| cell == first);
        (head.equation.is_empty() && same).then_some(first)
    }

    fn table(&self, columns: &[usize], constants: &[Option<&str>], before: usize) -> Uses {
        let (mut equations, mut outside) = (Vec::new(), Vec::new());
        let mut shared: Vec<NodeId> = Vec::new();
        for head in columns.iter().map(|column| &self.heads[*column]) {
            if !head.equation.is_empty() {
                add_new(&mut equations, [head.equation.clone()]);
            }
            add_new(&mut outside, head.outside.iter().cloned());
            shared.extend(&head.shared);
        }
        shared.sort();
        shared.dedup();
        let shared = shared.into_iter().map(|id| self.printed.as_input(id));
        // Columns of one value, where a formula of the table uses it.
        let constant = constants.iter().enumerate().filter_map(|(column, value)| {
            let head = &self.heads[column];
            let Content::Inputs(example, _) = head.content else {
                return None;
            };
            let used = |of: &usize| self.heads[*of].example == Some(example);
            let value = value.filter(|_| columns.iter().any(used))?;
            Some(Operand {
                symbol: self.head(column).symbol,
                value: with_unit(value, self.printed.ws.shown_in(head.like).unit.symbol),
            })
        });
        let mut rows: Vec<&Row> = self.rows.iter().collect();
        rows.sort_by_key(|row| self.position(row));
        Uses {
            label: format!("tab-uses-{}", before + 1),
            equations,
            outside,
            shared: shared.chain(constant).collect(),
            columns: columns.iter().map(|column| self.head(*column)).collect(),
            lines: rows
                .into_iter()
                .filter_map(|row| self.line(row, columns))
                .collect(),
        }
    }

    fn head(&self, column: usize) -> Column {
        let head = &self.heads[column];
        let unit = self.printed.ws.shown_in(head.like).unit;
        let symbol = self.printed.ws.node(head.like).symbol.kind();
        let symbol = if head.summed {
            Math::row([Math::Sign("∑".into(), Class::Large)]).then(symbol.into_parts())
        } else {
            symbol
        };
        Column {
            symbol: self.printed.handles.text(symbol),
            equation: head.equation.clone(),
            unit: unit.symbol,
            divisor: unit.as_divisor(),
        }
    }

    /// Returns a row as a line of some columns; `None` if all its cells there are empty.
    fn line(&self, row: &Row, columns: &[usize]) -> Option<Line> {
        if !columns.iter().any(|column| row.cells.contains_key(column)) {
            return None;
        }
        let (of, symbol, number) = match &row.subject {
            Subject::Whole(name) => (name.to_string(), None, None),
            Subject::Weighing(name, number) => (name.to_string(), None, Some(*number)),
            Subject::Quantity(id) => (String::new(), Some(self.printed.symbol(*id)), None),
        };
        let cell = |column: &usize| match row.cells.get(column) {
            Some((_, text)) => text.clone(),
            None => "–".into(),
        };
        Some(Line {
            of,
            symbol,
            number,
            left_out: row.left_out,
            cells: columns.iter().map(cell).collect(),
        })
    }
}

/// Adds those of some items that are not there yet.
fn add_new<T: PartialEq>(to: &mut Vec<T>, items: impl IntoIterator<Item = T>) {
    for item in items {
        if !to.contains(&item) {
            to.push(item);
        }
    }
}
