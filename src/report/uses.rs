//! Uses of formulas in tables: a line for each solution or weighing, with what goes in and what comes out.

use std::collections::BTreeMap;

use serde::Serialize;
use smol_str::SmolStr;

use super::words::with_unit;
use super::written_out::{Given, Writer};
use crate::maths::{Class, Math};
use crate::worksheet::NodeId;

/// Width of a table on a page of the usual size, in tenths of a character.
const WIDTH: usize = 1080;

/// Between two columns, likewise.
const BETWEEN: usize = 24;

/// A use of a formula.
pub(super) struct Use {
    /// What comes out.
    pub(super) result: NodeId,
    /// The quantity whose calculation shows the formula, and the label of that.
    pub(super) example: NodeId,
    pub(super) equation: String,
    /// What goes in.
    pub(super) places: Vec<Place>,
    /// Labels of the tables that have more of what goes in.
    pub(super) outside: Vec<String>,
    /// Whether it is about a weighing that is left out.
    pub(super) left_out: bool,
}

/// What goes into a formula in one place.
pub(super) struct Place {
    /// One quantity, or several that are added up.
    pub(super) ids: Vec<NodeId>,
    /// Whether it is the same for all uses.
    pub(super) same: bool,
    /// What stands in its place in the example.
    pub(super) like: NodeId,
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

/// What is in a column.
#[derive(Clone, Copy, PartialEq)]
enum Content {
    /// Results of a kind, by the first of them.
    Results(NodeId),
    /// What goes into a formula, given by its example, in the place of another quantity.
    Inputs(NodeId, NodeId),
}

struct Head {
    content: Content,
    /// The quantity whose symbol stands at the head.
    like: NodeId,
    /// Whether values are added up in it.
    summed: bool,
    /// Of results: the quantity whose calculation shows their formula, and the label of that.
    example: Option<NodeId>,
    equation: String,
    /// Labels of the tables that have more of what goes in.
    outside: Vec<String>,
    /// What goes into all uses of its formula alike.
    alike: Vec<NodeId>,
    /// Whether what is in it is of nothing else than its line.
    own: bool,
}

/// A line and its cells by column, each with the quantities in it.
struct Begun {
    of: Of,
    left_out: bool,
    cells: BTreeMap<usize, (Vec<NodeId>, String)>,
}

impl Begun {
    fn has(&self, ids: &[NodeId]) -> Option<usize> {
        let found = self.cells.iter().find(|(_, (there, _))| there == ids);
        found.map(|(column, _)| *column)
    }
}

/// The uses in tables: lines of one sort in each.
pub(super) fn tables(writer: &Writer, uses: Vec<Use>, before: usize) -> Vec<Uses> {
    let mut filled = [(); 3].map(|()| Filled {
        writer,
        heads: Vec::new(),
        lines: Vec::new(),
        places: BTreeMap::new(),
    });
    let (alone, of_liquids): (Vec<Use>, Vec<Use>) = uses
        .into_iter()
        .partition(|u| matches!(of(writer, u.result), Of::Alone(_)));
    for u in of_liquids {
        let sort = usize::from(matches!(of(writer, u.result), Of::Whole(_)));
        filled[sort].enter(&u);
    }
    for u in alone {
        // What goes into a line of a solution is calculated in that line, if all that goes into it can stand there too.
        let inside = filled[..2].iter_mut().any(|table| table.takes(&u));
        if !inside {
            filled[2].enter(&u);
        }
    }
    let mut made = Vec::new();
    for table in filled {
        table.divided(before, &mut made);
    }
    made
}

fn of(writer: &Writer, id: NodeId) -> Of {
    let symbol = &writer.ws.node(id).symbol;
    match symbol.number {
        // What goes by one quantity alone is of that.
        _ if symbol.of.is_empty() => Of::Alone(match writer.ws.places(id).as_slice() {
            [only] => only[0],
            _ => id,
        }),
        Some(number) => Of::Numbered(symbol.of.clone(), number),
        None => Of::Whole(symbol.of.clone()),
    }
}

struct Filled<'a> {
    writer: &'a Writer<'a>,
    heads: Vec<Head>,
    lines: Vec<Begun>,
    places: BTreeMap<Of, usize>,
}

impl Filled<'_> {
    fn enter(&mut self, u: &Use) {
        let of = of(self.writer, u.result);
        let next = self.lines.len();
        let line = *self.places.entry(of.clone()).or_insert(next);
        if line == next {
            self.lines.push(Begun {
                of,
                left_out: false,
                cells: BTreeMap::new(),
            });
        }
        self.enter_at(line, u);
    }

    /// Enters a use in all lines that its result goes into; tells whether there are any.
    fn takes(&mut self, u: &Use) -> bool {
        let wanted = [u.result];
        let into = |line: &usize| self.lines[*line].has(&wanted).is_some();
        let lines: Vec<usize> = (0..self.lines.len()).filter(into).collect();
        for line in &lines {
            self.enter_at(*line, u);
        }
        !lines.is_empty()
    }

    fn enter_at(&mut self, line: usize, u: &Use) {
        self.lines[line].left_out |= u.left_out;
        for place in u.places.iter().filter(|place| !place.same) {
            if self.lines[line].has(&place.ids).is_some() {
                continue;
            }
            let column = self.column(line, Content::Inputs(u.example, place.like), &place.ids);
            self.heads[column].summed |= place.ids.len() > 1;
            let text = self.given(&place.ids, line);
            self.lines[line]
                .cells
                .insert(column, (place.ids.clone(), text));
        }
        let ids = vec![u.result];
        let found = self.lines[line].has(&ids);
        let column = found.unwrap_or_else(|| self.column(line, Content::Results(u.result), &ids));
        let alike = u.places.iter().filter(|place| place.same);
        let head = &mut self.heads[column];
        head.equation.clone_from(&u.equation);
        head.example = Some(u.example);
        for id in alike.map(|place| place.ids[0]) {
            if !head.alike.contains(&id) {
                head.alike.push(id);
            }
        }
        for label in &u.outside {
            if !head.outside.contains(label) {
                head.outside.push(label.clone());
            }
        }
        let value = self.writer.ws.printed(u.result);
        let text = match self.writer.uncertainty(u.result) {
            Some(uncertainty) => format!("{value} ± {uncertainty}"),
            None => value,
        };
        self.lines[line].cells.insert(column, (ids, text));
    }

    /// The column for some quantities in a line where these are not yet: one of their kind that is free there, or that of
    /// their place in the formula, or else a new one.
    fn column(&mut self, line: usize, content: Content, ids: &[NodeId]) -> usize {
        let free = |column: &usize| !self.lines[line].cells.contains_key(column);
        let own = self.is_own(line, ids[0]);
        let kind = |id: NodeId| {
            let node = self.writer.ws.node(id);
            (&node.symbol.kind, node.unit)
        };
        let alike = |head: &Head| {
            let of_place = matches!(content, Content::Inputs(..)) && head.content == content;
            of_place || own && head.own && kind(head.like) == kind(ids[0])
        };
        let mut all = 0..self.heads.len();
        if let Some(found) = all.find(|column| free(column) && alike(&self.heads[*column])) {
            return found;
        }
        self.heads.push(Head {
            content,
            like: match content {
                // That of the example, unless it stands there for another quantity of the kind.
                Content::Inputs(_, like)
                    if self.heads.iter().all(|head| head.content != content) =>
                {
                    like
                }
                _ => ids[0],
            },
            own,
            summed: false,
            example: None,
            equation: String::new(),
            outside: Vec::new(),
            alike: Vec::new(),
        });
        self.heads.len() - 1
    }

    /// Whether a quantity is of nothing else than its line.
    fn is_own(&self, line: usize, id: NodeId) -> bool {
        let symbol = &self.writer.ws.node(id).symbol;
        match &self.lines[line].of {
            Of::Whole(of) | Of::Numbered(of, _) => symbol.of.is_empty() || symbol.of == *of,
            Of::Alone(_) => true,
        }
    }

    /// Where a line stands among the others: in the order of the run file.
    fn place(&self, line: &Begun) -> (Option<NodeId>, usize) {
        match &line.of {
            Of::Whole(of) => (self.writer.order.get(of).copied(), 0),
            Of::Numbered(of, number) => (self.writer.order.get(of).copied(), *number),
            Of::Alone(id) => (Some(*id), 0),
        }
    }

    /// What goes in, in digits: equal ones that are added up by their number, and with what it is of, if that is not what
    /// its line is of.
    fn given(&self, ids: &[NodeId], line: usize) -> String {
        let ws = self.writer.ws;
        let digits: Vec<String> = ids.iter().map(|id| ws.printed_in(*id)).collect();
        let terms = digits.chunk_by(|a, b| a == b).map(|run| match run.len() {
            1 => run[0].clone(),
            times => format!("{times} × {}", run[0]),
        });
        let sum = terms.collect::<Vec<_>>().join(" + ");
        if self.is_own(line, ids[0]) {
            sum
        } else {
            format!("{sum} ({})", ws.node(ids[0]).symbol.of)
        }
    }

    /// The columns in as many tables as they need.
    fn divided(&self, before: usize, onto: &mut Vec<Uses>) {
        let width = |column: usize| {
            let cells = self.lines.iter().filter_map(|line| line.cells.get(&column));
            let widest = cells
                .map(|(_, cell)| cell.chars().count())
                .max()
                .unwrap_or(0);
            let head = &self.heads[column];
            let of_head = 2
                + self.writer.ws.node(head.like).unit.chars().count()
                + 4 * usize::from(!head.equation.is_empty());
            10 * widest.max(of_head) + BETWEEN
        };
        let names = self.lines.iter().map(|line| match &line.of {
            Of::Whole(name) => name.chars().count(),
            Of::Numbered(name, _) => name.chars().count() + 4,
            Of::Alone(_) => 6,
        });
        let names = 10 * names.max().unwrap_or(0);
        let (mut columns, mut taken) = (Vec::new(), names);
        for column in (0..self.heads.len()).filter(|column| self.constant(*column).is_none()) {
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

    /// What stands in all of several lines that have something in a column of readings.
    fn constant(&self, column: usize) -> Option<&str> {
        let head = &self.heads[column];
        let mut cells = self.lines.iter().filter_map(|line| line.cells.get(&column));
        let (_, first) = cells.next()?;
        let second = cells.next()?;
        let same = first == &second.1 && cells.all(|(_, cell)| cell == first);
        (head.equation.is_empty() && same).then_some(first)
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
        let mut lines: Vec<&Begun> = self.lines.iter().collect();
        lines.sort_by_key(|line| self.place(line));
        let alike = alike.into_iter().map(|id| Given {
            symbol: writer.symbol(id),
            value: with_unit(&writer.ws.printed_in(id), writer.ws.node(id).unit),
        });
        // Readings of the same value, by the formulas that they go into.
        let constant = (0..self.heads.len()).filter_map(|column| {
            let head = &self.heads[column];
            let Content::Inputs(example, _) = head.content else {
                return None;
            };
            let into = |of: &usize| self.heads[*of].example == Some(example);
            let value = self.constant(column).filter(|_| columns.iter().any(into))?;
            Some(Given {
                symbol: self.head(column).symbol,
                value: with_unit(value, writer.ws.node(head.like).unit),
            })
        });
        let alike = alike.chain(constant);
        Uses {
            label: format!("tab-uses-{}", before + 1),
            equations,
            outside,
            alike: alike.collect(),
            columns: columns.iter().map(|column| self.head(*column)).collect(),
            lines: lines
                .into_iter()
                .filter_map(|line| self.line(line, columns))
                .collect(),
        }
    }

    fn head(&self, column: usize) -> Column {
        let head = &self.heads[column];
        let node = self.writer.ws.node(head.like);
        let symbol = node.symbol.kind.clone();
        let symbol = if head.summed {
            Math::row([Math::Sign("∑".into(), Class::Large)]).then(symbol.into_parts())
        } else {
            symbol
        };
        Column {
            symbol: self.writer.handles.text(symbol),
            equation: head.equation.clone(),
            unit: node.unit,
        }
    }

    /// A line that has something in some columns.
    fn line(&self, line: &Begun, columns: &[usize]) -> Option<Line> {
        if !columns.iter().any(|column| line.cells.contains_key(column)) {
            return None;
        }
        let (name, symbol, number) = match &line.of {
            Of::Whole(name) => (name.to_string(), None, None),
            Of::Numbered(name, number) => (name.to_string(), None, Some(*number)),
            Of::Alone(id) => (String::new(), Some(self.writer.symbol(*id)), None),
        };
        let cell = |column: &usize| match line.cells.get(column) {
            Some((_, text)) => text.clone(),
            None => "–".into(),
        };
        Some(Line {
            of: name,
            symbol,
            number,
            left_out: line.left_out,
            cells: columns.iter().map(cell).collect(),
        })
    }
}
