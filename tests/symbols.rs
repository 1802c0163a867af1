//! No symbol stands for two things, in any report: every letter of its formulas is known, with the kind of quantity that it
//! stands for.

use std::collections::{BTreeMap, BTreeSet};

use fillmark::bench::quantity::Unit;
use fillmark::bench::worksheet::{Source, Worksheet};
use fillmark::maths::Math;
use fillmark::print::manuscript::said::plain_text;
use fillmark::print::manuscript::walk::{each_block, each_inline};
use fillmark::print::manuscript::{Block, Inline};
use fillmark::report::templates::{SHIPPED, Templates};

use crate::common::{good_runs, reduced};

/// The letters of quantities that are read or calculated, each with what it stands for and the units of that, in base units
/// of the SI without multiples; none where constants or coefficients of several units have one letter.
const QUANTITIES: [(char, &str, &[&str]); 27] = [
    ('B', "degrees Baumé", &["°Bé"]),
    ('G', "temperature factor of the apparent density", &[""]),
    (
        'K',
        "coefficient of the equation for the mass fraction",
        &["kg m⁻³"],
    ),
    ('M', "molar mass", &["kg mol⁻¹"]),
    ('R', "molar gas constant", &["kg m² s⁻² K⁻¹ mol⁻¹"]),
    ('T', "thermodynamic temperature", &["K"]),
    ('V', "volume", &["m³"]),
    ('Z', "compressibility factor", &[""]),
    ('a', "constant of a published equation", &[]),
    ('b', "molality", &["kg⁻¹ mol"]),
    ('c', "amount concentration", &["m⁻³ mol"]),
    ('d', "specific gravity", &[""]),
    ('f', "enhancement factor of water vapour", &[""]),
    ('h', "relative humidity", &[""]),
    ('m', "mass", &["kg"]),
    ('p', "pressure", &["kg m⁻¹ s⁻²"]),
    ('q', "relative difference in density from water", &[""]),
    ('t', "Celsius temperature", &["K"]),
    ('w', "mass fraction", &[""]),
    ('x', "mole fraction", &[""]),
    ('α', "cubic expansion coefficient", &["K⁻¹"]),
    ('β', "coefficient of a fitted line", &[]),
    ('γ', "mass concentration", &["kg m⁻³"]),
    ('δ', "departure of a volume", &["m³"]),
    ('ρ', "density", &["kg m⁻³"]),
    ('ψ', "virial sum of moist air", &["kg⁻¹ m s² K"]),
    ('Ω', "percent of saturation", &[""]),
];

/// The letters of statistics, which no quantity of a worksheet has.
const STATISTICS: [(char, &str); 22] = [
    ('C', "matrix of covariances"),
    ('E', "difference over its expanded uncertainty"),
    ('F', "quantile of Fisher's distribution"),
    ('H', "factor of χ² for uncertainties from few weighings"),
    ('J', "sum for uncertainties from few weighings"),
    ('P', "probability"),
    ('Q', "sum that a fit minimises"),
    ('S', "sum of squares or of products"),
    ('U', "expanded uncertainty"),
    ('i', "running number"),
    ('j', "running number"),
    ('k', "coverage factor"),
    ('n', "number"),
    ('r', "residual"),
    ('s', "standard deviation"),
    ('u', "standard uncertainty"),
    ('η', "component of residuals along a polynomial"),
    ('ν', "degrees of freedom"),
    ('τ', "component over its standard uncertainty"),
    ('φ', "orthogonal polynomial"),
    ('χ', "χ², the least sum of squares"),
    ('Φ', "distribution function"),
];

/// Calls `with` for every letter of a formula that stands for a quantity, those of indices too.
fn letters(math: &Math, with: &mut impl FnMut(char)) {
    match math {
        Math::Variable(letter) => with(*letter),
        Math::Upright(text) => {
            // A Greek capital is upright.
            let greek = text
                .chars()
                .filter(|c| ('Α'..='Ω').contains(c) && *c != 'Δ');
            greek.for_each(with);
        }
        Math::Row(parts) => parts.iter().for_each(|part| letters(part, with)),
        Math::Fraction { above, below, .. } => [above, below]
            .into_iter()
            .for_each(|part| letters(part, with)),
        Math::Scripts(scripts) => {
            letters(&scripts.base, with);
            [&scripts.below, &scripts.above]
                .into_iter()
                .flatten()
                .for_each(|part| letters(part, with));
        }
        Math::Root { of, degree } => {
            letters(of, with);
            if let Some(degree) = degree {
                letters(degree, with);
            }
        }
        Math::Fence { inside, .. } | Math::Accent { on: inside, .. } | Math::Styled(_, inside) => {
            letters(inside, with);
        }
        Math::Table { rows, .. } => rows.iter().flatten().for_each(|cell| letters(cell, with)),
        Math::Function(_)
        | Math::Number(_)
        | Math::Text(_)
        | Math::Sign(..)
        | Math::Space(_)
        | Math::Break => {}
    }
}

/// The letters of formulas of a report, with one formula that has each.
#[derive(Default)]
struct Letters(BTreeMap<char, String>);

impl Letters {
    fn formula(&mut self, math: &Math) {
        letters(math, &mut |letter| {
            self.0.entry(letter).or_insert_with(|| math.tex_unbroken());
        });
    }

    fn inlines(&mut self, inlines: &[Inline]) {
        each_inline(inlines, &mut |inline| match inline {
            Inline::Math(math) => self.formula(math),
            // A symbol in a sentence or in the head of a table.
            Inline::Emphasis(inside) => {
                if let [Inline::Text(text)] = inside.as_slice()
                    && text.chars().count() == 1
                {
                    self.formula(&Math::from(text.as_str()));
                }
            }
            _ => {}
        });
    }

    fn of(blocks: &[Block]) -> Self {
        let mut letters = Self::default();
        each_block(blocks, &mut |block| {
            let label = match block {
                Block::Table(table) => table.label.as_deref().unwrap_or_default(),
                _ => "",
            };
            // Constants have letters of their sources beside them, in italics.
            let quotes = label.starts_with("tab-constants-");
            let quoted = |inline: &&Inline| !(quotes && matches!(inline, Inline::Emphasis(_)));
            for text in block.texts() {
                let own: Vec<Inline> = text.iter().filter(quoted).cloned().collect();
                letters.inlines(&own);
            }
            if let Block::Formula(formula) = block {
                let sides = formula.rows.iter().flat_map(|(left, right)| [left, right]);
                sides.for_each(|side| letters.formula(side));
            }
        });
        letters
    }
}

/// A unit in base units of the SI, without its factor.
fn base_units(unit: &Unit) -> String {
    let unit = unit.in_si().to_string();
    unit.split_once(' ')
        .map_or("", |(_, units)| units)
        .to_owned()
}

/// The quantities and constants that formulas of a worksheet show: letter, unit, name.
fn quantities(ws: &Worksheet) -> Vec<(char, String, String)> {
    let mut found = Vec::new();
    for (id, node) in ws.nodes() {
        let unseen = match &node.source {
            Source::Input(input) => input.unseen,
            Source::Neglected(_) | Source::Correction(_) => true,
            Source::Calculated(_) | Source::Solved(_) => false,
        };
        if !unseen {
            let mut first = None;
            letters(&node.symbol.kind(), &mut |letter| {
                first = first.or(Some(letter));
            });
            let letter = first.unwrap_or_else(|| panic!("{} has no symbol", node.name));
            found.push((letter, base_units(node.unit), node.name.clone()));
        }
        for constant in ws.coefficients(id) {
            if let Some(symbol) = constant.role.symbol() {
                let letter = symbol.chars().next().unwrap();
                let name = format!("{symbol} of {}", node.name);
                found.push((letter, base_units(constant.unit), name));
            }
        }
    }
    found
}

#[test]
fn no_symbol_stands_for_two_things() {
    let known: BTreeMap<char, (&str, &[&str])> = QUANTITIES
        .into_iter()
        .map(|(letter, meaning, units)| (letter, (meaning, units)))
        .collect();
    let statistics: BTreeMap<char, &str> = STATISTICS.into_iter().collect();
    let apart = QUANTITIES.len() + STATISTICS.len();
    let all: BTreeSet<&char> = known.keys().chain(statistics.keys()).collect();
    assert_eq!(all.len(), apart, "a letter is listed twice");

    let mut wrong = BTreeSet::new();
    let mut met = BTreeSet::new();
    for (name, text) in good_runs() {
        let run = reduced(&text);
        let manuscript =
            fillmark::report::manuscript(&run.material(&text), &Templates::default()).unwrap();
        let seen = Letters::of(&manuscript.blocks);
        let quantities = quantities(&run.reduction.worksheet);
        let here: BTreeSet<char> = quantities.iter().map(|(letter, ..)| *letter).collect();
        for (letter, formula) in &seen.0 {
            met.insert(*letter);
            let quantity = known.contains_key(letter) && here.contains(letter);
            if !(statistics.contains_key(letter) || quantity) {
                wrong.insert(format!("{name}: {letter} is unknown in {formula}"));
            }
        }
        for (letter, unit, of) in quantities {
            if !seen.0.contains_key(&letter) {
                continue;
            }
            if let Some(meaning) = statistics.get(&letter) {
                wrong.insert(format!("{name}: {letter} is {of}, and {meaning}"));
            } else if let Some((meaning, units)) = known.get(&letter)
                && !(units.is_empty() || units.contains(&&*unit))
            {
                wrong.insert(format!("{name}: {letter} is {of} in {unit}, and {meaning}"));
            }
        }
    }
    let wrong: Vec<String> = wrong.into_iter().collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let missing: Vec<&&char> = all
        .iter()
        .filter(|letter| !met.contains(**letter))
        .collect();
    assert!(missing.is_empty(), "no report has {missing:?}");
}

/// Letters of quantities that are no words: where one stands alone and is not a name of the run, it is a symbol.
const NEVER_WORDS: &str = "EFPQUbhknprstuwxzαβγδηνρστφχψ";

/// Symbols that are not in italics, with what they stand in: those in plain text, and those in bold, as no face is both
/// bold and italic.
fn upright_symbols(inlines: &[Inline], names: &str, found: &mut BTreeSet<String>) {
    for inline in inlines {
        match inline {
            Inline::Text(text) => {
                let signs: Vec<char> = text.chars().collect();
                let alone = |at: usize| {
                    let (before, after) = (signs[..at].last(), signs.get(at + 1));
                    let apart = |sign: Option<&char>| {
                        sign.is_none_or(|sign| {
                            !(sign.is_alphanumeric() || "°/.·'’-".contains(*sign))
                        })
                    };
                    // After a number, it is a unit.
                    let unit = signs[..at].iter().rev().find(|sign| !sign.is_whitespace());
                    apart(before) && apart(after) && !unit.is_some_and(char::is_ascii_digit)
                };
                let symbols = (0..signs.len())
                    .filter(|at| NEVER_WORDS.contains(signs[*at]) && !names.contains(signs[*at]));
                if symbols.into_iter().any(alone) {
                    found.insert(text.clone());
                }
            }
            Inline::Strong(inside) => {
                let italic = |inline: &Inline| matches!(inline, Inline::Emphasis(_));
                if inside.iter().any(italic) {
                    found.insert(format!("in bold: {}", plain_text(inside)));
                }
                upright_symbols(inside, names, found);
            }
            // Letters that lead to observations are links.
            Inline::Struck(inside) => upright_symbols(inside, names, found),
            _ => {}
        }
    }
}

#[test]
fn symbols_in_a_sentence_are_italic() {
    let mut found = BTreeSet::new();
    let mut all = vec![(String::new(), crate::comparing::manuscript().blocks)];
    for (_, text) in good_runs() {
        let run = reduced(&text);
        let solutions = run.file.solutions.iter().map(|of| &of.name.value);
        let apparatus = run.file.apparatus.iter().map(|of| &of.name.value);
        let names = solutions
            .chain(apparatus)
            .filter(|name| name.chars().count() == 1);
        let names: String = names.cloned().collect();
        for set in SHIPPED {
            let templates = Templates::shipped(set.name).expect("the set");
            let manuscript = fillmark::report::manuscript(&run.material(&text), &templates);
            all.push((names.clone(), manuscript.expect("a manuscript").blocks));
        }
    }
    for (names, blocks) in &all {
        each_block(blocks, &mut |block| {
            for text in block.texts() {
                upright_symbols(text, names, &mut found);
            }
        });
    }
    assert!(found.is_empty(), "{found:#?}");
}
