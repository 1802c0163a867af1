//! Traces every result of the samples back to the readings, using only numbers that the report prints. Each chain of
//! equations and each line of a table is recalculated from its printed numbers, with their units.

use crate::common::{path, read, reduced};
use crate::density_unit::in_cubic_metres;
use fillmark::bench::worksheet::{NodeId, Source};
use fillmark::maths::{Class, Math};
use fillmark::pipeline::Run;
use fillmark::print::manuscript::{Block, Inline, Table};
use fillmark::report::templates::Templates;
use std::collections::BTreeSet;

/// Exponents of kilogram, metre, mole, degree and degree Baumé.
type Dimension = [i32; 5];

/// A number as far as it is known: its value in base units, and the most that its digits leave open.
#[derive(Debug, Clone, Copy)]
struct Known {
    value: f64,
    open: f64,
    dimension: Dimension,
}

impl Known {
    fn exact(value: f64) -> Self {
        Self {
            value,
            open: 0.0,
            dimension: [0; 5],
        }
    }

    fn plus(self, sign: f64, other: Self) -> Self {
        assert_eq!(
            self.dimension, other.dimension,
            "{self:?}, {other:?} added up"
        );
        Self {
            value: self.value + sign * other.value,
            open: self.open + other.open,
            ..self
        }
    }

    fn times(self, other: Self) -> Self {
        let dimension = std::array::from_fn(|i| self.dimension[i] + other.dimension[i]);
        Self {
            value: self.value * other.value,
            open: self.open * other.value.abs() + other.open * self.value.abs(),
            dimension,
        }
    }

    fn power(self, exponent: i32) -> Self {
        let value = self.value.powi(exponent);
        Self {
            value,
            open: (value / self.value * f64::from(exponent)).abs() * self.open,
            dimension: self.dimension.map(|d| d * exponent),
        }
    }
}

/// A unit by its plain characters.
fn unit(text: &str) -> Option<Known> {
    let (factor, dimension) = match text {
        "g" => (1e-3, [1, 0, 0, 0, 0]),
        "kg" => (1.0, [1, 0, 0, 0, 0]),
        "mL" => (1e-6, [0, 3, 0, 0, 0]),
        "L" => (1e-3, [0, 3, 0, 0, 0]),
        "m³" => (1.0, [0, 3, 0, 0, 0]),
        "mol" => (1.0, [0, 0, 1, 0, 0]),
        "°C" => (1.0, [0, 0, 0, 1, 0]),
        "°C²" => (1.0, [0, 0, 0, 2, 0]),
        "°Bé" => (1.0, [0, 0, 0, 0, 1]),
        "%" => (1e-2, [0; 5]),
        "" => (1.0, [0; 5]),
        _ => {
            let inside = text.strip_prefix('(').and_then(|t| t.split_once(')'));
            let (above, below) = match inside {
                Some((above, below)) => (above, below.strip_prefix('/')?),
                None => text.rsplit_once('/')?,
            };
            return Some(unit(above)?.times(unit(below.trim_matches(['(', ')']))?.power(-1)));
        }
    };
    Some(Known {
        value: factor,
        open: 0.0,
        dimension,
    })
}

/// What stands for a quantity in a formula, part by part, and what it is.
type Symbols = Vec<(Vec<Math>, Known)>;

/// Formulas calculated by what is printed.
struct Reader<'a> {
    symbols: &'a [(Vec<Math>, Known)],
    /// Numbers of the run file, which are as they stand.
    written: &'a BTreeSet<String>,
}

impl Reader<'_> {
    fn number(&self, digits: &str) -> Known {
        let digits = digits.replace('−', "-");
        let decimals = digits.split_once('.').map_or(0, |(_, behind)| behind.len());
        let exact = self.written.contains(digits.trim_start_matches('-'));
        Known {
            open: if exact {
                0.0
            } else {
                0.5 * 10f64.powi(-(decimals as i32))
            },
            ..Known::exact(digits.parse().unwrap_or_else(|_| panic!("{digits}")))
        }
    }

    /// A number with `× 10ⁿ`, and its unit.
    fn amount(&self, text: &str, of: &str) -> Known {
        let (digits, power) = text.split_once(" × 10").unwrap_or((text, ""));
        let power: String = power.chars().map(plain_digit).collect();
        let scale = 10f64.powi(power.parse().unwrap_or(0));
        let unit = unit(of).unwrap_or_else(|| panic!("unit {of}"));
        self.number(digits).times(Known::exact(scale)).times(unit)
    }

    fn sum(&self, parts: &[Math]) -> Known {
        let parts: Vec<&Math> = parts.iter().filter(|p| **p != Math::Break).collect();
        let mut at = 0;
        let mut sum: Option<Known> = None;
        while at < parts.len() {
            let sign = match sign(parts[at]) {
                Some("+") => 1.0,
                Some("−") => -1.0,
                _ => {
                    assert!(sum.is_none(), "{parts:?}");
                    at = at.wrapping_sub(1);
                    1.0
                }
            };
            let (term, next) = self.product(&parts, at.wrapping_add(1));
            sum = Some(match sum {
                Some(sum) => sum.plus(sign, term),
                None => term.times(Known::exact(sign)),
            });
            at = next;
        }
        sum.expect("a sum")
    }

    fn product(&self, parts: &[&Math], mut at: usize) -> (Known, usize) {
        let mut product = Known::exact(1.0);
        while at < parts.len() {
            match parts[at] {
                part if matches!(sign(part), Some("+" | "−")) => break,
                Math::Space(_) => at += 1,
                part if sign(part) == Some("×") => at += 1,
                _ => {
                    let (factor, next) = self.factor(parts, at);
                    product = product.times(factor);
                    at = next;
                }
            }
        }
        (product, at)
    }

    fn factor(&self, parts: &[&Math], at: usize) -> (Known, usize) {
        let starts = |symbol: &[Math]| {
            symbol.len() <= parts.len() - at
                && symbol.iter().zip(&parts[at..]).all(|(a, b)| a == *b)
        };
        // Of the same symbols, the first: what stands in the line itself.
        let fitting = self
            .symbols
            .iter()
            .rev()
            .filter(|(symbol, _)| starts(symbol));
        if let Some((symbol, known)) = fitting.max_by_key(|(symbol, _)| symbol.len()) {
            return (*known, at + symbol.len());
        }
        if matches!(parts[at], Math::Sign(_, Class::Open(_))) {
            let closed = |part: &&&Math| matches!(part, Math::Sign(_, Class::Close(_)));
            let length = parts[at..].iter().position(|part| closed(&part));
            let end = at + length.expect("a closing bracket");
            let inside: Vec<Math> = parts[at + 1..end]
                .iter()
                .map(|part| (*part).clone())
                .collect();
            return (self.sum(&inside), end + 1);
        }
        let all = |math: &Math| self.sum(math.parts());
        let known = match parts[at] {
            Math::Number(digits) => self.number(digits),
            Math::Fraction { above, below, .. } => all(above).times(all(below).power(-1)),
            Math::Fence { inside, .. } => all(inside),
            Math::Row(inside) => self.sum(inside),
            Math::Function(name) if name == "exp" => {
                let Math::Fence { inside, .. } = parts[at + 1] else {
                    panic!("{:?}", parts[at + 1]);
                };
                let exponent = all(inside);
                assert_eq!(exponent.dimension, [0; 5], "{exponent:?}");
                let value = exponent.value.exp();
                let open = value * exponent.open;
                return (
                    Known {
                        value,
                        open,
                        ..exponent
                    },
                    at + 2,
                );
            }
            Math::Scripts(scripts) => {
                let raised = scripts.above.as_ref().map(Math::words);
                let raised = raised.unwrap_or_else(|| panic!("{} is not known", parts[at].words()));
                let raised: i32 = raised.replace('−', "-").parse().expect("a whole power");
                let base = match &scripts.below {
                    Some(below) => scripts.base.clone().subscript(below.clone()),
                    None => scripts.base.clone(),
                };
                match &base {
                    Math::Number(ten) if ten == "10" => Known::exact(10.0).power(raised),
                    Math::Upright(of) if unit(of).is_some() => unit(of).unwrap().power(raised),
                    base => all(base).power(raised),
                }
            }
            Math::Upright(of) if unit(of).is_some() => unit(of).unwrap(),
            other => panic!("{} is not known", other.words()),
        };
        // A unit is behind its number, after a thin space.
        if let (Some(Math::Space(_)), Some(Math::Row(of))) = (parts.get(at + 1), parts.get(at + 2))
        {
            if let Some(of) = unit(
                &of.iter()
                    .map(Math::words)
                    .collect::<String>()
                    .replace(' ', ""),
            ) {
                return (known.times(of), at + 3);
            }
            return (known.times(compound(of)), at + 3);
        }
        (known, at + 1)
    }
}

/// A unit of several factors, `kg/m³ °C⁻¹`.
fn compound(parts: &[Math]) -> Known {
    let mut known = Known::exact(1.0);
    let mut exponent = 1;
    for part in parts {
        match part {
            Math::Upright(of) => {
                known = known.times(unit(of).unwrap_or_else(|| panic!("{of}")).power(exponent));
                exponent = 1;
            }
            Math::Scripts(scripts) => {
                let raised = scripts.above.as_ref().expect("a power").words();
                let raised: i32 = raised.replace('−', "-").parse().expect("a whole power");
                known = known.times(unit(&scripts.base.words()).expect("a unit").power(raised));
            }
            part if sign(part) == Some("/") => exponent = -1,
            Math::Space(_) => {}
            other => panic!("{other:?} in a unit"),
        }
    }
    known
}

fn plain_digit(c: char) -> char {
    let raised = "⁰¹²³⁴⁵⁶⁷⁸⁹".chars().position(|r| r == c);
    match raised {
        Some(digit) => char::from_digit(digit as u32, 10).expect("a digit"),
        None if c == '⁻' => '-',
        None => c,
    }
}

fn sign(part: &Math) -> Option<&str> {
    match part {
        Math::Sign(sign, Class::Operator) => Some(sign),
        _ => None,
    }
}

fn divided<'m>(parts: &'m [Math], at: &Math) -> Vec<&'m [Math]> {
    parts.split(|part| part == at).collect()
}

fn text(inlines: &[Inline]) -> String {
    let one = |inline: &Inline| match inline {
        Inline::Text(text) | Inline::Code(text) => text.clone(),
        Inline::Emphasis(inside) | Inline::Strong(inside) | Inline::Struck(inside) => text(inside),
        Inline::Math(math) => math.words(),
        _ => String::new(),
    };
    let spaced: String = inlines.iter().map(one).collect();
    spaced.replace(['\u{a0}', '\u{202f}'], " ")
}

/// The characters of a label.
fn label(below: &Math) -> String {
    let one = |part: &Math| match part {
        Math::Upright(text) | Math::Number(text) | Math::Text(text) | Math::Sign(text, _) => {
            text.replace('\u{a0}', " ")
        }
        other => other.words(),
    };
    below.parts().iter().map(one).collect()
}

/// A symbol of a kind with what it is of: a name behind the kind's own label, before a state.
fn of(kind: &[Math], name: &str, number: Option<usize>) -> Vec<Math> {
    let mut parts = kind.to_vec();
    let last = parts.pop().expect("a symbol");
    let (base, below) = match last {
        Math::Scripts(scripts) if scripts.above.is_none() => {
            (scripts.base, scripts.below.expect("a label"))
        }
        last => (last, Math::Row(Vec::new())),
    };
    let below = label(&below);
    let mut labels: Vec<String> = below.split(',').map(str::to_owned).collect();
    labels.retain(|label| !label.is_empty());
    match labels.last_mut() {
        Some(state) if state.starts_with("at ") => *state = format!("{name} {state}"),
        _ => labels.push(name.to_owned()),
    }
    labels.extend(number.map(|number| number.to_string()));
    parts.push(base.subscript(Math::label(&labels.join(","))));
    parts
}

/// A symbol in another state.
fn restated(kind: &[Math], from: &str, to: &str) -> Vec<Math> {
    let mut parts = kind.to_vec();
    let last = parts.pop().expect("a symbol");
    let Math::Scripts(scripts) = last else {
        panic!("{}", last.words());
    };
    let below = scripts.below.expect("a label");
    let below = label(&below);
    let below = below.replace(from, to);
    let below = below.trim_end_matches([',', ' ']);
    parts.push(scripts.base.subscript(Math::label(below)));
    parts
}

/// A chain of equations as it is printed.
struct Chain {
    label: String,
    symbol: Vec<Math>,
    /// With symbols, and with numbers where these are shown.
    sides: Vec<Vec<Math>>,
    result: Known,
    uncertainty: Option<Known>,
    /// What is told behind it, of the example.
    told: Symbols,
}

struct Report {
    written: BTreeSet<String>,
    names: Vec<String>,
    chains: Vec<Chain>,
    tables: Vec<Table>,
    constants: Symbols,
    /// Densities as they are carried on, by solution.
    carried: Vec<(String, Known)>,
    /// Results as printed, and values that are given without a calculation.
    found: Vec<Known>,
}

const EQUALS: fn() -> Math = || Math::relation("=");

impl Report {
    fn new(run: &Run, yaml: &str) -> Self {
        let manuscript = fillmark::report::manuscript(&run.material(yaml), &Templates::default());
        let blocks = manuscript.expect("a manuscript").blocks;
        let numbers = yaml.split(|c: char| !(c.is_ascii_digit() || c == '.'));
        let mut report = Self {
            written: numbers.map(str::to_owned).collect(),
            names: run
                .reduction
                .solutions
                .iter()
                .map(|s| s.name.clone())
                .collect(),
            chains: Vec::new(),
            tables: Vec::new(),
            constants: Vec::new(),
            carried: Vec::new(),
            found: Vec::new(),
        };
        // 20 °C and 60 °F are what the scales say; a per cent and a ratio are the same.
        report.written.extend(
            [
                "20",
                "15.56",
                "1",
                "4",
                "2",
                "145",
                "100",
                "0.996",
                "0.99",
                "22.98976928",
                "35.45",
            ]
            .map(str::to_owned),
        );
        for block in blocks {
            match block {
                Block::Formula(formula) if formula.label.is_some() => {
                    let (left, right) = &formula.rows[0];
                    let chain = report.chain(formula.label.clone().unwrap(), left, right);
                    report.chains.push(chain);
                }
                Block::Table(table) => report.tables.push(table),
                Block::Paragraph(told) if text(&told).starts_with("For ") => {
                    let number = report.tables.len();
                    report.tables.extend(in_words(&told, number));
                }
                _ => {}
            }
        }
        report
    }

    fn reader<'a>(&'a self, symbols: &'a [(Vec<Math>, Known)]) -> Reader<'a> {
        Reader {
            symbols,
            written: &self.written,
        }
    }

    fn chain(&self, label: String, left: &Math, right: &Math) -> Chain {
        let comma = Math::Sign(",".into(), Class::Punctuation);
        let clauses = divided(right.parts(), &comma);
        let sides = divided(clauses[0], &EQUALS());
        let reader = self.reader(&[]);
        let (mut uncertainty, mut told) = (None, Vec::new());
        for clause in &clauses[1..] {
            let clause: Vec<Math> = clause
                .iter()
                .filter(|p| !matches!(p, Math::Space(18_000) | Math::Break))
                .cloned()
                .collect();
            let [symbol, value] = divided(&clause, &EQUALS())[..] else {
                panic!("{clause:?}");
            };
            let value = reader.sum(value);
            if symbol.first() == Some(&Math::Variable('u')) {
                uncertainty = Some(value);
            } else {
                told.push((symbol.to_vec(), value));
            }
        }
        let sides: Vec<Vec<Math>> = sides[1..].iter().map(|side| side.to_vec()).collect();
        let (result, sides) = sides.split_last().expect("a result");
        Chain {
            label,
            symbol: left.parts().to_vec(),
            sides: sides.to_vec(),
            result: reader.sum(result),
            uncertainty,
            told,
        }
    }

    /// Compares a calculated value with the printed one.
    fn agrees(&mut self, what: &str, again: Known, printed: Known, u: Option<Known>) {
        let dimension = (again.dimension, printed.dimension);
        assert_eq!(dimension.0, dimension.1, "{what}");
        let off = (again.value - printed.value).abs();
        let room = again.open + printed.open * 1.001 + 1e-12 * printed.value.abs();
        assert!(off <= room, "{what}: {again:?}, printed is {printed:?}");
        if let Some(u) = u {
            // The rounding of printed digits is a small part of the uncertainty.
            assert!(again.open < 0.1 * u.value, "{what}: {again:?} beside {u:?}");
        }
        self.found.push(printed);
    }

    /// Evaluates a formula by its symbols. The effect of each symbol's rounding is found by varying it, as it may occur
    /// several times.
    fn by_symbols(&self, formula: &[Math], symbols: &[(Vec<Math>, Known)]) -> Known {
        let sharp = |moved: Option<usize>| {
            let all = symbols.iter().enumerate().map(|(at, (symbol, known))| {
                let by = if moved == Some(at) { known.open } else { 0.0 };
                let value = known.value + by;
                (
                    symbol.clone(),
                    Known {
                        value,
                        open: 0.0,
                        ..*known
                    },
                )
            });
            self.reader(&all.collect::<Vec<_>>()).sum(formula)
        };
        let known = sharp(None);
        let each = (0..symbols.len()).filter(|at| symbols[*at].1.open > 0.0);
        let open: f64 = each
            .map(|at| (sharp(Some(at)).value - known.value).abs())
            .sum();
        Known {
            open: known.open + open,
            ..known
        }
    }

    fn constants_told(&mut self) {
        let tables = self.tables.iter().filter(|t| {
            t.label
                .as_deref()
                .is_some_and(|l| l.starts_with("tab-constants"))
        });
        let cells = tables
            .flat_map(|table| &table.rows)
            .map(|row| (row[0].clone(), row[1].clone()));
        let cells: Vec<_> = cells.collect();
        for (equation, cell) in cells {
            let Some(Inline::Number(label)) = equation.first() else {
                panic!("{equation:?}");
            };
            for inline in &cell {
                let Inline::Math(math) = inline else { continue };
                let [symbol, value] = divided(math.parts(), &EQUALS())[..] else {
                    panic!("{}", math.words());
                };
                let mut value = self.reader(&[]).sum(value);
                value.open = 0.0;
                // The label before the symbol: constants of other equations have the same.
                let mut key = vec![Math::Text(label.as_str().into())];
                key.extend(symbol.iter().cloned());
                self.constants.push((key, value));
            }
        }
    }

    fn constants_of(&self, label: &str) -> Symbols {
        let own = self
            .constants
            .iter()
            .filter(|(key, _)| key[0] == Math::Text(label.into()));
        own.map(|(key, value)| (key[1..].to_vec(), *value))
            .collect()
    }

    fn chains_agree(&mut self) {
        for chain in std::mem::take(&mut self.chains) {
            let mut symbols = self.constants_of(&chain.label);
            symbols.extend(chain.told.iter().cloned());
            let again = self.by_symbols(chain.sides.last().expect("a formula"), &symbols);
            let words = Math::Row(chain.symbol.clone()).words();
            self.agrees(&words, again, chain.result, chain.uncertainty);
            self.chains.push(chain);
        }
    }

    fn table(&self, label: &str) -> Option<&Table> {
        self.tables
            .iter()
            .find(|table| table.label.as_deref() == Some(label))
    }

    /// Weighings: density by each reading, and its mean, as it is carried on.
    fn weighings_agree(&mut self) {
        let table = |report: &Self, label| report.table(label).expect("the table").clone();
        let weighings = table(self, "tab-weighings");
        let densities = table(self, "tab-densities");
        let carried = text(&densities.head[6]);
        let (_, carried) = carried.split_once(" / ").expect("a unit");
        let carried = carried.trim_matches(['(', ')']);
        let heads: Vec<String> = weighings.head.iter().map(|head| text(head)).collect();
        let caption = text(&weighings.caption);
        let mut single: Vec<(String, Known, bool)> = Vec::new();
        let mut name = String::new();
        for row in weighings.rows {
            let struck = matches!(row[1][0], Inline::Struck(_));
            let cells: Vec<String> = row.iter().map(|cell| text(cell)).collect();
            // A name stands in the first of its rows.
            if !cells[0].is_empty() {
                name.clone_from(&cells[0]);
            }
            let reader = self.reader(&[]);
            let read = |head: &str| {
                let (_, unit) = head.split_once(" / ").expect("a unit");
                let unit = unit.trim_matches(['(', ')']);
                let column = heads.iter().position(|each| each == head);
                // What all rows share stands in the caption.
                let shared = || {
                    caption
                        .strip_prefix("Weighings of ")?
                        .split_once(" mL each")
                };
                let of_all = || shared().expect("a volume").0;
                reader.amount(column.map_or_else(of_all, |column| &cells[column]), unit)
            };
            let again = read("Filled / g")
                .plus(-1.0, read("Empty / g"))
                .times(read("Volume / mL").power(-1));
            let density = heads.iter().find(|head| head.starts_with("ρ / "));
            let printed = read(density.expect("a column of densities"));
            self.agrees(&format!("{name}, {}", cells[1]), again, printed, None);
            single.push((name.clone(), again, struck));
        }
        for row in densities.rows {
            let cells: Vec<String> = row.iter().map(|cell| text(cell)).collect();
            let own = single
                .iter()
                .filter(|(name, _, struck)| *name == cells[0] && !struck);
            let own: Vec<Known> = own.map(|(_, density, _)| *density).collect();
            let sum = own
                .iter()
                .skip(1)
                .fold(own[0], |sum, one| sum.plus(1.0, *one));
            let again = sum.times(Known::exact(own.len() as f64).power(-1));
            let (value, u) = cells[6].split_once(" ± ").expect("an uncertainty");
            let [value, u] = [value, u].map(|text| self.reader(&[]).amount(text, carried));
            self.agrees(&cells[0], again, value, Some(u));
            self.carried.push((cells[0].clone(), value));
        }
    }

    /// Results of the report's own tables are what was calculated, rounded.
    fn results_agree(&self) {
        let reader = self.reader(&[]);
        for label in ["tab-composition", "tab-unknowns", "tab-densities"] {
            let table = self.table(label).expect("a table of results");
            for row in &table.rows {
                for (head, cell) in table.head.iter().zip(row) {
                    let (head, cell) = (text(head), text(cell));
                    let (Some((_, unit)), Some((value, _))) =
                        (head.split_once(" / "), cell.split_once(" ± "))
                    else {
                        continue;
                    };
                    let unit = unit.trim_matches(['(', ')']);
                    let printed = reader.amount(value, unit);
                    let rounded = |known: &&Known| {
                        let off = (known.value - printed.value).abs();
                        known.dimension == printed.dimension && off <= printed.open + known.open
                    };
                    assert!(
                        self.found.iter().any(|known| rounded(&known)),
                        "{label}: {value} {unit}"
                    );
                }
            }
        }
    }

    fn uses(&self) -> impl Iterator<Item = &Table> {
        let named = |table: &&Table| {
            table
                .label
                .as_deref()
                .is_some_and(|l| l.starts_with("tab-uses"))
        };
        self.tables.iter().filter(named)
    }

    /// The lines of a table of uses, each result by its formula.
    fn uses_agree(&mut self) {
        for table in self.uses().cloned().collect::<Vec<_>>() {
            let heads: Vec<Head> = table.head[1..].iter().map(|cell| Head::of(cell)).collect();
            for row in &table.rows {
                let name = text(&row[0]);
                for (column, head) in heads.iter().enumerate() {
                    let cell = text(&row[column + 1]);
                    // What has no uncertainty beside it goes in, but where the line is of no solution.
                    let result = cell.contains('±') || cell != "–" && !self.names.contains(&name);
                    let (Some(label), true) = (&head.equation, result) else {
                        continue;
                    };
                    let at = self.chains.iter().position(|chain| chain.label == *label);
                    let at = at.unwrap_or_else(|| panic!("no {label}"));
                    let mut symbols = self.in_state(head, &heads, row, &table, at);
                    symbols.extend(self.line(&heads, row, &name, at));
                    symbols.extend(self.constants_of(label));
                    symbols.extend(self.caption(&table, at));
                    // What does not stand in the line stands as in the line of the same before.
                    symbols.extend(self.before(&table, &name, at));
                    let again = self.by_symbols(&self.chains[at].sides[0], &symbols);
                    let mut amounts = cell
                        .split(" ± ")
                        .map(|text| self.reader(&[]).amount(text, &head.unit));
                    let (value, u) = (amounts.next().expect("a value"), amounts.next());
                    self.agrees(&format!("{name}, {}", head.words), again, value, u);
                }
            }
        }
    }

    /// What stands in the place of what the example has at 20 °C, for a result at a temperature of a scale.
    fn in_state(
        &self,
        head: &Head,
        heads: &[Head],
        row: &[Vec<Inline>],
        table: &Table,
        at: usize,
    ) -> Symbols {
        let states = [
            ("at 20 °C", "d_(20/20)", "t_20", "ρ_(w, 20 °C)", "20"),
            ("at 15.56 °C", "d_(60/60)", "t_60F", "ρ_(w, 60 °F)", "15.56"),
        ];
        let words = head.words.replace('\u{a0}', " ");
        let state = states
            .iter()
            .find(|state| words.contains(state.0) || words.starts_with(state.1));
        let Some((own, _, t, water, celsius)) = state else {
            return Vec::new();
        };
        // An example that is in no state has its quantities in none.
        let example = Math::Row(self.chains[at].symbol.clone()).words();
        let example = example.replace('\u{a0}', " ");
        let stated = example.contains("at 20 °C") || example.starts_with("d_(20/20");
        let instead = if stated { "at 20 °C" } else { "" };
        let mut symbols: Symbols = Vec::new();
        let mut lines = vec![(heads.to_vec(), row.to_vec())];
        let name = text(&row[0]);
        let earlier = self.uses().take_while(|other| other.label != table.label);
        for other in earlier.collect::<Vec<_>>().into_iter().rev() {
            let heads: Vec<Head> = other.head[1..].iter().map(|cell| Head::of(cell)).collect();
            let rows = other.rows.iter().filter(|row| text(&row[0]) == name);
            lines.extend(rows.map(|row| (heads.clone(), row.clone())));
        }
        for (heads, row) in lines {
            for (column, other) in heads.iter().enumerate() {
                let cell = text(&row[column + 1]);
                let there = other.words.replace('\u{a0}', " ");
                if cell != "–" && there.contains(own) && other.words != head.words {
                    let digits = cell.split(" ± ").next().expect("a number");
                    let kind = restated(&other.kind, own, instead);
                    let other = Head {
                        kind,
                        ..other.clone()
                    };
                    symbols.extend(self.valued(&other, digits, false, at));
                }
            }
        }
        let told = Self::told(table);
        let by_name = |name: &str| {
            told.iter()
                .find(|(symbol, ..)| symbol.words().replace('\u{a0}', " ") == name)
        };
        let mut temperatures = vec![vec![Math::from("t")]];
        temperatures.extend(
            self.names
                .iter()
                .map(|name| of(&[Math::from("t").bar()], name, None)),
        );
        for temperature in temperatures {
            if let Some((_, digits, unit)) = by_name(&format!("ρ_w(t_{})", &t[2..])) {
                let function = Math::from("ρ_w").applied_to(Math::Row(temperature.clone()));
                symbols.push((
                    function.parts().to_vec(),
                    self.reader(&[]).amount(digits, unit),
                ));
            }
            symbols.push((temperature, self.reader(&[]).amount(celsius, "°C")));
        }
        if let Some((_, digits, unit)) = by_name(water) {
            let key = Math::from("ρ").subscript(Math::label("w,20 °C"));
            symbols.push((vec![key], self.reader(&[]).amount(digits, unit)));
        }
        symbols
    }

    /// The name that the example of a chain is of.
    fn example(&self, at: usize) -> Option<&String> {
        let Some(Math::Scripts(scripts)) = self.chains[at].symbol.last() else {
            return None;
        };
        let below = label(scripts.below.as_ref()?).replace("°C", "");
        let named = self
            .names
            .iter()
            .filter(|name| below.contains(name.as_str()));
        named.max_by_key(|name| name.len())
    }

    /// What stands in a line, by the symbols of the example.
    fn line(&self, heads: &[Head], row: &[Vec<Inline>], name: &str, at: usize) -> Symbols {
        let mut symbols: Symbols = Vec::new();
        for (column, head) in heads.iter().enumerate() {
            let cell = text(&row[column + 1]);
            if cell == "–" {
                continue;
            }
            let digits = cell.split(" ± ").next().expect("a number");
            let (digits, foreign) = match digits.split_once(" (") {
                Some((digits, _)) => (digits, true),
                None => (digits, false),
            };
            symbols.extend(self.valued(head, digits, foreign, at));
        }
        if let Some((_, carried)) = self.carried.iter().find(|(of, _)| of == name) {
            let example = self.example(at).map_or("", |name| name.as_str());
            symbols.push((of(&[Math::from("ρ").bar()], example, None), *carried));
        }
        symbols
    }

    /// The symbols that a column may stand for in the formula of a chain.
    fn valued(&self, head: &Head, digits: &str, foreign: bool, at: usize) -> Symbols {
        let value = digits.split(" + ").map(|term| {
            let (times, each) = match term.split_once(" × ") {
                Some((times, each)) if !each.starts_with("10") => (times, each),
                _ => ("1", term),
            };
            let times = Known::exact(times.parse().expect("a count"));
            self.reader(&[]).amount(each, &head.unit).times(times)
        });
        let value = value
            .reduce(|sum, term| sum.plus(1.0, term))
            .expect("a value");
        let example = self.example(at);
        let mut symbols = vec![(head.kind.clone(), value)];
        for name in &self.names {
            if example.is_some() && foreign == (Some(name) == example) {
                continue;
            }
            symbols.push((of(&head.kind, name, None), value));
            // Of several that are added up, the first stands for all.
            for number in (1..=9).filter(|_| head.summed) {
                let value = if number == 1 {
                    value
                } else {
                    value.times(Known::exact(0.0))
                };
                symbols.push((of(&head.kind, name, Some(number)), value));
            }
            // The density of water is a function of the temperature.
            let mean = Math::Row(of(&[Math::from("t").bar()], name, None));
            for t in [Math::from("t"), mean] {
                let function = Math::Row(head.kind.clone()).applied_to(t);
                symbols.push((function.parts().to_vec(), value));
            }
            if head.words.starts_with('t') {
                let bar = vec![Math::from("t").bar()];
                symbols.push((of(&bar, name, None), value));
                symbols.push((vec![Math::from("t")], value));
            }
        }
        symbols
    }

    /// What a caption tells: symbol, digits and unit.
    fn told(table: &Table) -> Vec<(std::sync::Arc<Math>, String, String)> {
        let mut told = Vec::new();
        for pair in table.caption.windows(2) {
            let [Inline::Math(symbol), Inline::Text(text)] = pair else {
                continue;
            };
            let text = text.replace(['\u{a0}', '\u{202f}'], " ");
            let text = text.strip_prefix(" = ").unwrap_or_else(|| panic!("{text}"));
            let text = text.split(", ").next().expect("a value");
            let text = text.strip_suffix(" and ").unwrap_or(text);
            let text = text.trim_end_matches('.').trim();
            let (digits, unit) = text.rsplit_once(' ').unwrap_or((text, ""));
            told.push((symbol.clone(), digits.to_owned(), unit.to_owned()));
        }
        told
    }

    fn caption(&self, table: &Table, at: usize) -> Symbols {
        let mut symbols: Symbols = Vec::new();
        for (symbol, digits, unit) in Self::told(table) {
            let head = Head {
                unit,
                ..Head::of(&[Inline::Math(symbol)])
            };
            symbols.extend(self.valued(&head, &digits, false, at));
            symbols.extend(self.valued(&head, &digits, true, at).into_iter().take(1));
        }
        symbols
    }

    /// What stands of the same in tables before.
    fn before(&self, until: &Table, name: &str, at: usize) -> Symbols {
        let mut symbols = Vec::new();
        for table in self.uses().take_while(|table| table.label != until.label) {
            let heads: Vec<Head> = table.head[1..].iter().map(|cell| Head::of(cell)).collect();
            for row in table.rows.iter().filter(|row| text(&row[0]) == name) {
                symbols.extend(self.line(&heads, row, name, at));
            }
        }
        symbols.reverse();
        symbols
    }
}

/// A table of one line, which is told in words.
fn in_words(told: &[Inline], number: usize) -> Option<Table> {
    let name = text(&told[..1]);
    let name = name
        .strip_prefix("For ")?
        .split([',', ':'])
        .next()?
        .to_owned();
    let (mut caption, mut head, mut row) = (Vec::new(), Vec::new(), Vec::new());
    let plain = |text: &str| vec![Inline::Text(text.to_owned())];
    head.push(plain("Of"));
    row.push(plain(&name));
    let colon = |inline: &Inline| matches!(inline, Inline::Text(text) if text.contains(':'));
    let colon = told.iter().position(colon)?;
    for (at, inline) in told.iter().enumerate() {
        let (Inline::Math(symbol), Some(Inline::Text(behind))) = (inline, told.get(at + 1)) else {
            continue;
        };
        let behind = behind.replace(['\u{a0}', '\u{202f}'], " ");
        let value = behind.strip_prefix(" = ")?;
        let end = [", ", ": ", " by ", " and "]
            .iter()
            .filter_map(|end| value.find(end))
            .min();
        let value = value[..end.unwrap_or(value.len())].trim_end_matches('.');
        if at < colon {
            caption.extend([
                Inline::Math(symbol.clone()),
                Inline::Text(format!(" = {value}")),
            ]);
        } else {
            let (digits, unit) = value.rsplit_once(' ').unwrap_or((value, ""));
            let mut cell = vec![
                Inline::Math(symbol.clone()),
                Inline::Text(format!(" / {unit}")),
            ];
            cell.extend(match told.get(at + 2) {
                Some(Inline::Number(label)) => Some(Inline::Number(label.clone())),
                _ => None,
            });
            head.push(cell);
            row.push(plain(digits));
        }
    }
    Some(Table {
        caption,
        label: Some(format!("tab-uses-in-words-{number}")),
        number: None,
        columns: Vec::new(),
        head,
        rows: vec![row],
    })
}

/// The head of a column.
#[derive(Clone)]
struct Head {
    kind: Vec<Math>,
    words: String,
    unit: String,
    equation: Option<String>,
    summed: bool,
}

impl Head {
    fn of(cell: &[Inline]) -> Self {
        let Some(Inline::Math(symbol)) = cell.iter().find(|i| matches!(i, Inline::Math(_))) else {
            panic!("{cell:?}");
        };
        let mut kind = symbol.parts().to_vec();
        let summed = matches!(kind.first(), Some(Math::Sign(_, Class::Large)));
        if summed {
            kind.remove(0);
        }
        let equation = cell.iter().find_map(|inline| match inline {
            Inline::Number(label) => Some(label.clone()),
            _ => None,
        });
        let unit = text(&cell[1..]);
        let unit = unit.trim().strip_prefix("/ ").unwrap_or("").trim();
        Self {
            words: Math::Row(kind.clone()).words(),
            unit: unit
                .strip_prefix('(')
                .and_then(|u| u.strip_suffix(')'))
                .unwrap_or(unit)
                .to_owned(),
            kind,
            equation,
            summed,
        }
    }
}

/// Values without a calculation: readings, published values, corrections, coefficients of a fit.
fn told(run: &Run, id: NodeId) -> bool {
    let ws = &run.reduction.worksheet;
    !matches!(ws.node(id).source, Source::Calculated(_)) || ws.is_reading(id)
}

#[test]
fn every_result_is_followed_by_hand_back_to_readings() {
    let files = ["creamery_brine_bath", "teaching_bench_saline"];
    let in_millilitres = files.map(|file| read(&path(&format!("sample_runs/{file}.yaml"))));
    let in_cubic_metres = in_millilitres.each_ref().map(|yaml| in_cubic_metres(yaml));
    for yaml in in_millilitres.into_iter().chain(in_cubic_metres) {
        let run = reduced(&yaml);
        let mut report = Report::new(&run, &yaml);
        report.constants_told();
        report.weighings_agree();
        report.chains_agree();
        report.uses_agree();

        report.results_agree();

        // Everything that the results depend on was recalculated.
        let ws = &run.reduction.worksheet;
        let reader = report.reader(&[]);
        let all = run.reduction.solutions.iter().flat_map(|s| {
            let c = &s.composition;
            let compared = s.comparison.as_ref().and_then(|c| c.as_ref().ok());
            let strength = s.strength.iter();
            let scales =
                strength.flat_map(|s| [s.specific_gravity, s.degrees_baume, s.percent_saturation]);
            let mut all = vec![c.mass_percent, c.mass_concentration, c.molarity, c.molality];
            all.extend(compared.map(|c| Some(c.difference)));
            all.extend(scales);
            all
        });
        let mut stack: Vec<NodeId> = all.flatten().collect();
        let title = &run.file.title.value;
        assert!(stack.len() >= 20, "{title}");
        let mut seen = BTreeSet::new();
        while let Some(id) = stack.pop() {
            if !seen.insert(id) || told(&run, id) {
                continue;
            }
            let node = ws.node(id);
            let printed = reader.amount(&ws.printed(id), ws.shown_in(id).unit.symbol);
            let found = report.found.iter().any(|known| {
                known.dimension == printed.dimension
                    && (known.value - printed.value).abs() <= known.open + printed.open
            });
            assert!(
                found,
                "{title}: {} = {} is not followed",
                node.name,
                ws.printed(id)
            );
            stack.extend(ws.places(id).into_iter().flatten());
        }
    }
}
