//! Uses of formulas in tables: a line for each solution or weighing, with what goes in and what comes out.

use std::collections::BTreeMap;

use serde::Serialize;
use smol_str::SmolStr;

use super::words::with_unit;
use super::written_out::{Given, Writer};
use crate::maths::{Class, Math};
use crate::worksheet::NodeId;

/// Characters of one line that a page has room for, the solution's name and room between columns among them.
const WIDTH: usize = 96;

/// Characters between two columns.
const BETWEEN: usize = 3;

/// A use of a formula.
pub(super) struct Use {
    /// What comes out.
    pub(super) result: NodeId,
    /// The label of the calculation that shows the formula.
    pub(super) equation: String,
    /// What goes in: one quantity, or several that are added up, and whether it is the same for all uses.
    pub(super) places: Vec<(Vec<NodeId>, bool)>,
    /// Labels of the tables that have more of what goes in.
    pub(super) outside: Vec<String>,
    /// Whether it is about a weighing that is left out.
    pub(super) left_out: bool,
}

/// A table of uses.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Uses {
    /// Its label.
    label: String,
    /// Labels of the calculations that show the formulas.
    equations: Vec<String>,
    /// Labels of tables that have more of what goes in.
    outside: Vec<String>,
    /// What goes into all uses alike.
    alike: Vec<Given>,
    columns: Vec<Column>,
    lines: Vec<Line>,
}

/// A column of a table of uses.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct Column {
    /// The symbol of all quantities in it, without what each is of.
    symbol: String,
    /// The label of the calculation that shows the formula; empty for what goes in.
    equation: String,
    /// The unit of all its values; empty for pure numbers.
    unit: &'static str,
}

/// A line of a table of uses.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct Line {
    /// The solution or piece of ware; empty where the line is of none.
    of: String,
    /// The symbol of what the line is of, where it is of no solution and no ware.
    symbol: Option<String>,
    /// Which of several weighings.
    number: Option<usize>,
    /// Whether it is about a weighing that is left out.
    left_out: bool,
    /// A value for each column, results with their standard uncertainties; a dash where there is none.
    cells: Vec<String>,
}

/// What a line is of.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Of {
    /// A solution or piece of ware as a whole.
    Whole(SmolStr),
    /// One of its weighings.
    Numbered(SmolStr, usize),
    /// Nothing but itself.
    Alone(NodeId),
}

/// The same for what is in one column.
#[derive(PartialEq)]
struct Kind<'a> {
    symbol: &'a Math,
    unit: &'static str,
    /// Whether it is of something else than its line.
    foreign: bool,
}

struct Head<'a> {
    kind: Kind<'a>,
    /// Whether values are added up in it.
    summed: bool,
    equation: String,
    /// Labels of the tables that have more of what goes in.
    outside: Vec<String>,
    /// What goes into all uses of its formula alike.
    alike: Vec<NodeId>,
}

/// The uses in tables: lines of one sort in each.
pub(super) fn tables(writer: &Writer, uses: Vec<Use>, before: usize) -> Vec<Uses> {
    let sort = |u: &Use| match of(writer, u.result) {
        Of::Numbered(..) => 0,
        Of::Whole(_) => 1,
        Of::Alone(_) => 2,
    };
    let mut sorted: [Vec<Use>; 3] = Default::default();
    for u in uses {
        sorted[sort(&u)].push(u);
    }
    let mut made = Vec::new();
    for uses in sorted {
        let mut filled = Filled {
            writer,
            heads: Vec::new(),
            lines: Vec::new(),
            places: BTreeMap::new(),
        };
        for u in uses {
            filled.enter(u);
        }
        filled.divided(before, &mut made);
    }
    made
}

fn of(writer: &Writer, id: NodeId) -> Of {
    let symbol = &writer.ws.node(id).symbol;
    match symbol.number {
        _ if symbol.of.is_empty() => Of::Alone(id),
        Some(number) => Of::Numbered(symbol.of.clone(), number),
        None => Of::Whole(symbol.of.clone()),
    }
}

struct Filled<'a> {
    writer: &'a Writer<'a>,
    heads: Vec<Head<'a>>,
    /// Each with whether it is left out, and its cells by column.
    lines: Vec<(Of, bool, BTreeMap<usize, String>)>,
    places: BTreeMap<Of, usize>,
}

impl<'a> Filled<'a> {
    fn enter(&mut self, u: Use) {
        let writer = self.writer;
        let key = of(writer, u.result);
        let next = self.lines.len();
        let line = *self.places.entry(key.clone()).or_insert(next);
        if line == next {
            self.lines.push((key.clone(), false, BTreeMap::new()));
        }
        self.lines[line].1 |= u.left_out;
        let mut alike = Vec::new();
        for (ids, same) in u.places {
            if same {
                alike.push(ids[0]);
                continue;
            }
            let column = self.column(ids[0], &key);
            self.heads[column].summed |= ids.len() > 1;
            let text = self.given(&ids, self.heads[column].kind.foreign);
            self.lines[line].2.insert(column, text);
        }
        let column = self.column(u.result, &key);
        let head = &mut self.heads[column];
        head.equation = u.equation;
        head.alike.extend(alike);
        head.alike.sort();
        head.alike.dedup();
        for label in u.outside {
            if !head.outside.contains(&label) {
                head.outside.push(label);
            }
        }
        let value = writer.ws.printed(u.result);
        let text = match writer.uncertainty(u.result) {
            Some(uncertainty) => format!("{value} ± {uncertainty}"),
            None => value,
        };
        self.lines[line].2.insert(column, text);
    }

    /// The column of a quantity in a line.
    fn column(&mut self, id: NodeId, line: &Of) -> usize {
        let node = self.writer.ws.node(id);
        let foreign = match line {
            Of::Whole(of) | Of::Numbered(of, _) => {
                !node.symbol.of.is_empty() && node.symbol.of != *of
            }
            Of::Alone(_) => false,
        };
        let kind = Kind {
            symbol: &node.symbol.kind,
            unit: node.unit,
            foreign,
        };
        let found = self.heads.iter().position(|head| head.kind == kind);
        found.unwrap_or_else(|| {
            self.heads.push(Head {
                kind,
                summed: false,
                equation: String::new(),
                outside: Vec::new(),
                alike: Vec::new(),
            });
            self.heads.len() - 1
        })
    }

    /// What goes in, in digits: equal ones that are added up by their number, and with what it is of, if that is not what
    /// its line is of.
    fn given(&self, ids: &[NodeId], foreign: bool) -> String {
        let ws = self.writer.ws;
        let digits: Vec<String> = ids.iter().map(|id| ws.printed(*id)).collect();
        let terms = digits.chunk_by(|a, b| a == b).map(|run| match run.len() {
            1 => run[0].clone(),
            times => format!("{times} × {}", run[0]),
        });
        let sum = terms.collect::<Vec<_>>().join(" + ");
        if foreign {
            format!("{sum} ({})", ws.node(ids[0]).symbol.of)
        } else {
            sum
        }
    }

    /// The columns in as many tables as they need.
    fn divided(&self, before: usize, onto: &mut Vec<Uses>) {
        let width = |column: usize| {
            let cells = self.lines.iter().filter_map(|line| line.2.get(&column));
            let widest = cells.map(|cell| cell.chars().count()).max().unwrap_or(0);
            let head = &self.heads[column];
            let of_head = 2 + head.kind.unit.chars().count() + 4 * usize::from(!head.equation.is_empty());
            widest.max(of_head) + BETWEEN
        };
        let names = self.lines.iter().map(|(of, ..)| match of {
            Of::Whole(name) => name.chars().count(),
            Of::Numbered(name, _) => name.chars().count() + 4,
            Of::Alone(_) => 6,
        });
        let names = names.max().unwrap_or(0).max(8);
        let (mut columns, mut taken) = (Vec::new(), names);
        for column in 0..self.heads.len() {
            if taken + width(column) > WIDTH && !columns.is_empty() {
                onto.push(self.table(&std::mem::take(&mut columns), before + onto.len()));
                taken = names;
            }
            taken += width(column);
            columns.push(column);
        }
        if !columns.is_empty() {
            onto.push(self.table(&columns, before + onto.len()));
        }
    }

    fn table(&self, columns: &[usize], before: usize) -> Uses {
        let writer = self.writer;
        let mut equations: Vec<String> = Vec::new();
        let mut alike: Vec<NodeId> = Vec::new();
        let mut outside: Vec<String> = Vec::new();
        for head in columns.iter().map(|column| &self.heads[*column]) {
            if !head.equation.is_empty() && !equations.contains(&head.equation) {
                equations.push(head.equation.clone());
            }
            alike.extend(&head.alike);
            for label in &head.outside {
                if !outside.contains(label) {
                    outside.push(label.clone());
                }
            }
        }
        alike.sort();
        alike.dedup();
        let alike = alike.into_iter().map(|id| Given {
            symbol: writer.symbol(id),
            value: with_unit(&writer.ws.printed(id), writer.ws.node(id).unit),
        });
        Uses {
            label: format!("tab-uses-{}", before + 1),
            equations,
            outside,
            alike: alike.collect(),
            columns: columns.iter().map(|column| self.head(*column)).collect(),
            lines: self.lines.iter().filter_map(|line| self.line(line, columns)).collect(),
        }
    }

    fn head(&self, column: usize) -> Column {
        let head = &self.heads[column];
        let symbol = head.kind.symbol.clone();
        let symbol = if head.summed {
            Math::row([Math::Sign("∑".into(), Class::Large)]).then(symbol.into_parts())
        } else {
            symbol
        };
        Column {
            symbol: self.writer.handles.text(symbol),
            equation: head.equation.clone(),
            unit: head.kind.unit,
        }
    }

    /// A line that has something in some columns.
    fn line(
        &self,
        (of, left_out, cells): &(Of, bool, BTreeMap<usize, String>),
        columns: &[usize],
    ) -> Option<Line> {
        if !columns.iter().any(|column| cells.contains_key(column)) {
            return None;
        }
        let (name, symbol, number) = match of {
            Of::Whole(name) => (name.to_string(), None, None),
            Of::Numbered(name, number) => (name.to_string(), None, Some(*number)),
            Of::Alone(id) => (String::new(), Some(self.writer.symbol(*id)), None),
        };
        let cell = |column: &usize| cells.get(column).cloned().unwrap_or_else(|| "–".into());
        Some(Line {
            of: name,
            symbol,
            number,
            left_out: *left_out,
            cells: columns.iter().map(cell).collect(),
        })
    }
}
