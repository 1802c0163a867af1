//! What is calculated for many solutions by formulas written out before: a line for each solution, a column for each
//! formula.

use std::collections::BTreeMap;

use serde::Serialize;

use super::words::with_unit;
use super::written_out::{Again, Amount, Given, Subject, Symbol};

/// A table has no more columns than this beside the one of names: they stay legible on a page.
const MOST_COLUMNS: usize = 5;

/// A table of calculations by formulas written out before.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Ledger {
    /// Its columns.
    columns: Vec<Column>,
    /// Its lines.
    lines: Vec<Line>,
    /// What goes into all of them alike.
    alike: Vec<Given>,
}

/// A column of a ledger.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct Column {
    /// Symbol of the quantity whose calculation shows the formula, or of what goes into that.
    symbol: Symbol,
    /// The label of that calculation; empty for what goes in.
    equation: String,
    /// The unit of all its values; empty where they have none or tell theirs themselves.
    unit: String,
}

/// A line of a ledger.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct Line {
    /// The solution.
    solution: String,
    /// Of several lines for each solution, the symbol of the line's first result; none of a solution's only one.
    symbol: Option<Symbol>,
    /// A value for each column, with standard uncertainty; a dash where there is none.
    cells: Vec<String>,
    /// Whether it is about a weighing that is left out.
    left_out: bool,
}

/// The calculations of some solutions, each given with its name, as ledgers.
pub(super) fn ledgers(solutions: &[(String, Vec<Again>)]) -> Vec<Ledger> {
    let common = common(solutions);
    let ledgers = [true, false].map(|several| Filled::new(solutions, &common, several).ledgers());
    ledgers.concat()
}

/// What calculations by one formula have in common, over all solutions.
#[derive(Default)]
struct Common<'a> {
    /// The most of them for one solution.
    most: usize,
    /// What goes in, by place; none where it is not the same for all.
    given: Vec<Option<&'a Given>>,
}

/// By the quantity that shows the formula.
fn common(solutions: &[(String, Vec<Again>)]) -> BTreeMap<Subject, Common<'_>> {
    let mut common: BTreeMap<Subject, Common> = BTreeMap::new();
    for (_, calculations) in solutions {
        let mut times: BTreeMap<Subject, usize> = BTreeMap::new();
        for calculation in calculations {
            let times = times.entry(calculation.like.of).or_default();
            *times += 1;
            let common = common.entry(calculation.like.of).or_default();
            common.most = common.most.max(*times);
            for (place, given) in calculation.from.iter().enumerate() {
                match common.given.get_mut(place) {
                    None => common.given.push(Some(given)),
                    Some(same) if same.is_some_and(|same| same.symbol.of != given.symbol.of) => {
                        *same = None;
                    }
                    Some(_) => {}
                }
            }
        }
    }
    common
}

/// Cells by line and column before they are made text.
#[derive(Default)]
struct Filled<'a> {
    /// Whether a solution may have several lines.
    several: bool,
    /// Symbols at the heads.
    heads: Vec<&'a Symbol>,
    /// Labels of the calculations that some of these stand for.
    equations: BTreeMap<Subject, &'a str>,
    lines: Vec<Begun<'a>>,
    /// By line and column.
    cells: BTreeMap<(usize, usize), Cell>,
    alike: Vec<Given>,
}

struct Cell {
    value: Amount,
    uncertainty: Option<Amount>,
}

/// A line and what stands in it.
struct Begun<'a> {
    solution: &'a str,
    /// The symbols of its results.
    results: Vec<&'a Symbol>,
    /// Whether one of them is from a weighing that is left out.
    left_out: bool,
}

impl<'a> Filled<'a> {
    /// What comes once for each solution or, if `several`, oftener for some.
    fn new(
        solutions: &'a [(String, Vec<Again>)],
        common: &BTreeMap<Subject, Common>,
        several: bool,
    ) -> Self {
        let mut filled = Self {
            several,
            ..Self::default()
        };
        for (solution, calculations) in solutions {
            let first = filled.lines.len();
            for calculation in calculations {
                let common = &common[&calculation.like.of];
                if (common.most > 1) != several {
                    continue;
                }
                let found = if several {
                    filled.goes_on(first, calculation)
                } else {
                    (first < filled.lines.len()).then_some(first)
                };
                let line = found.unwrap_or_else(|| {
                    filled.lines.push(Begun {
                        solution,
                        results: Vec::new(),
                        left_out: false,
                    });
                    filled.lines.len() - 1
                });
                filled.lines[line].results.push(&calculation.symbol);
                filled.lines[line].left_out |= calculation.left_out;
                filled.enter(line, calculation, &common.given);
            }
        }
        filled
    }

    /// The line, from `first` on, whose results a calculation starts from, if it has room there.
    fn goes_on(&self, first: usize, calculation: &Again) -> Option<usize> {
        let column = self.found(&calculation.like);
        let starts = calculation.from.iter().map(|given| given.symbol.of);
        starts
            .filter_map(|start| {
                let mut lines = self.lines[first..].iter();
                lines.position(|line| line.results.iter().any(|result| result.of == start))
            })
            .map(|place| first + place)
            .find(|&line| column.is_none_or(|column| !self.cells.contains_key(&(line, column))))
    }

    fn enter(&mut self, line: usize, calculation: &'a Again, common: &[Option<&Given>]) {
        for (given, common) in calculation.from.iter().zip(common) {
            let Some(value) = &given.value else {
                continue;
            };
            if common.is_some() {
                if !self.alike.contains(given) {
                    self.alike.push(given.clone());
                }
                continue;
            }
            let cell = Cell {
                value: value.clone(),
                uncertainty: None,
            };
            let column = self.column(&given.like);
            self.cells.insert((line, column), cell);
        }
        self.equations
            .insert(calculation.like.of, &calculation.equation);
        let column = self.column(&calculation.like);
        let cell = Cell {
            value: calculation.value.clone(),
            uncertainty: calculation.uncertainty.clone(),
        };
        self.cells.insert((line, column), cell);
    }

    fn found(&self, symbol: &Symbol) -> Option<usize> {
        self.heads.iter().position(|head| head.of == symbol.of)
    }

    fn column(&mut self, symbol: &'a Symbol) -> usize {
        self.found(symbol).unwrap_or_else(|| {
            self.heads.push(symbol);
            self.heads.len() - 1
        })
    }

    /// The columns in as many ledgers as they need, each with as many as the others, if it can be.
    fn ledgers(self) -> Vec<Ledger> {
        let tables = self.heads.len().div_ceil(MOST_COLUMNS).max(1);
        let together = self.heads.len().div_ceil(tables).max(1);
        let numbers: Vec<usize> = (0..self.heads.len()).collect();
        let ledger = |columns: &[usize]| Ledger {
            columns: columns.iter().map(|&column| self.head(column)).collect(),
            lines: self.lines(columns),
            alike: self.alike.clone(),
        };
        numbers.chunks(together).map(ledger).collect()
    }

    fn head(&self, column: usize) -> Column {
        Column {
            symbol: self.heads[column].clone(),
            equation: self
                .equations
                .get(&self.heads[column].of)
                .map_or_else(String::new, |label| (*label).to_owned()),
            unit: self.unit(column).unwrap_or_default().to_owned(),
        }
    }

    /// The unit of all values of a column, if they have the same.
    fn unit(&self, column: usize) -> Option<&'static str> {
        let cells = || self.cells.iter().filter(|((_, at), _)| *at == column);
        let unit = cells().next()?.1.value.unit;
        cells()
            .all(|(_, cell)| cell.value.unit == unit)
            .then_some(unit)
    }

    /// The lines that have something in some columns.
    fn lines(&self, columns: &[usize]) -> Vec<Line> {
        let units: Vec<Option<&str>> = columns.iter().map(|&column| self.unit(column)).collect();
        let line = |(line, begun): (usize, &Begun)| {
            let cells = columns
                .iter()
                .map(|&column| self.cells.get(&(line, column)));
            let cells: Vec<Option<&Cell>> = cells.collect();
            let first = begun.results.first().filter(|_| self.several);
            cells.iter().any(Option::is_some).then(|| Line {
                solution: begun.solution.to_owned(),
                symbol: first.map(|symbol| (*symbol).clone()),
                left_out: begun.left_out,
                cells: cells
                    .into_iter()
                    .zip(&units)
                    .map(|(cell, unit)| cell.map_or_else(|| "–".into(), |cell| cell.text(*unit)))
                    .collect(),
            })
        };
        self.lines.iter().enumerate().filter_map(line).collect()
    }
}

impl Cell {
    /// Its text; with its unit, unless the column's head tells that.
    fn text(&self, head: Option<&str>) -> String {
        let digits = match &self.uncertainty {
            Some(u) => format!("{} ± {}", self.value.digits, u.digits),
            None => self.value.digits.clone(),
        };
        match head {
            Some(_) => digits,
            None => with_unit(&digits, self.value.unit),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn amount(digits: &str, unit: &'static str) -> Amount {
        Amount {
            digits: digits.into(),
            unit,
        }
    }

    /// A symbol of a quantity of its own; the same for the same text.
    fn symbol(text: &str) -> Symbol {
        let number = text
            .bytes()
            .fold(0, |sum: usize, b| 31 * sum % 65_521 + usize::from(b));
        Symbol {
            of: Subject::OfMean {
                spread: None,
                used: number,
            },
            text: text.to_owned(),
        }
    }

    fn weighed(solution: usize, number: usize, mass: &str) -> Again {
        Again {
            like: symbol("r_{1,1}"),
            equation: "equation-1".into(),
            from: vec![
                Given {
                    symbol: symbol(&format!("m_{{{solution},{number}}}")),
                    like: symbol("m_{1,1}"),
                    value: Some(amount(mass, "g")),
                },
                Given {
                    symbol: symbol("t"),
                    like: symbol("t_0"),
                    value: Some(amount("20.0", "°C")),
                },
            ],
            symbol: symbol(&format!("r_{{{solution},{number}}}")),
            value: amount("1.05", "g/mL"),
            uncertainty: Some(amount("0.01", "g/mL")),
            left_out: false,
        }
    }

    fn mean(unit: &'static str) -> Again {
        Again {
            like: symbol("r_1"),
            equation: String::new(),
            from: Vec::new(),
            symbol: symbol("r_2"),
            value: amount("3", unit),
            uncertainty: None,
            left_out: false,
        }
    }

    #[test]
    fn weighings_have_lines_of_their_own_and_solutions_one_each() {
        let solutions = [
            (
                "B".into(),
                vec![weighed(2, 1, "5.1"), weighed(2, 2, "5.2"), mean("")],
            ),
            ("C".into(), vec![weighed(3, 1, "5.3"), mean("%")]),
        ];
        let [weighings, means] = ledgers(&solutions).try_into().expect("two");
        let heads: Vec<[&str; 3]> = weighings
            .columns
            .iter()
            .map(|column| [&column.symbol.text, &column.unit, &column.equation].map(String::as_str))
            .collect();
        assert_eq!(
            heads,
            [["m_{1,1}", "g", ""], ["r_{1,1}", "g/mL", "equation-1"]]
        );
        let lines: Vec<(&str, String)> = weighings
            .lines
            .iter()
            .map(|line| {
                (
                    line.symbol.as_ref().map_or("", |symbol| &symbol.text),
                    line.cells.join("; "),
                )
            })
            .collect();
        assert_eq!(
            lines,
            [
                ("r_{2,1}", "5.1; 1.05 ± 0.01".to_owned()),
                ("r_{2,2}", "5.2; 1.05 ± 0.01".to_owned()),
                ("r_{3,1}", "5.3; 1.05 ± 0.01".to_owned()),
            ]
        );
        assert_eq!(weighings.alike.len(), 1, "the same for all");
        // Units that differ are told by each value.
        assert_eq!(means.columns[0].unit, "");
        assert_eq!(means.lines[1].cells, ["3\u{202f}%"]);
    }

    /// What is reached from nothing in the table begins a line of its own, and does not push what follows off its line.
    #[test]
    fn a_result_stands_in_the_line_that_it_starts_from() {
        let again = |like: &str, result: &str, from: &str| Again {
            like: symbol(like),
            symbol: symbol(result),
            from: vec![Given {
                symbol: symbol(from),
                like: symbol("f"),
                value: None,
            }],
            ..mean("")
        };
        let calculations = vec![
            again("a", "a_1", "t_1"),
            again("b", "b_0", "elsewhere"),
            again("a", "a_2", "t_2"),
            again("b", "b_1", "a_1"),
            again("b", "b_2", "a_2"),
        ];
        let ledgers = ledgers(&[("B".into(), calculations)]);
        let lines: Vec<(&str, String)> = ledgers[0]
            .lines
            .iter()
            .map(|line| {
                (
                    line.symbol.as_ref().map_or("", |symbol| &symbol.text),
                    line.cells.join(" "),
                )
            })
            .collect();
        let line = |symbol, cells: &str| (symbol, cells.to_owned());
        assert_eq!(
            lines,
            [line("a_1", "3 3"), line("b_0", "– 3"), line("a_2", "3 3")]
        );
    }

    #[test]
    fn columns_are_shared_out_evenly() {
        let calculations = (0..6).map(|k| Again {
            like: symbol(&format!("r_{k}")),
            ..mean("")
        });
        let ledgers = ledgers(&[("B".into(), calculations.collect())]);
        let columns: Vec<usize> = ledgers.iter().map(|ledger| ledger.columns.len()).collect();
        assert_eq!(columns, [3, 3]);
    }
}
