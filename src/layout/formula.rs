//! Displayed formulas: a chain of rows aligned at their relation, long rows broken where they allow it.

use std::borrow::Cow;
use std::sync::Arc;

use super::inline::TextStyle;
use super::line::Part;
use super::maths::{SetFormula, Stand};
use super::slab::Slab;
use super::{Column, Failure, Setter};
use crate::manuscript::Formula;
use crate::manuscript::spoken::spell;
use crate::page::{Colour, Face, Item, Role};

/// Where a row may be broken.
const BREAK: &str = "\\allowbreak";
/// Further indent of the lines that go on with a broken row, points.
const RUN_ON: f32 = 16.0;
/// A left side wider than this share of the measure has a line to itself.
const WIDE_LEFT: f32 = 0.45;
/// Between a row and the number at its right, at least.
const NUMBER_GAP: f32 = 12.0;
/// Between rows, points.
const ROW_GAP: f32 = 5.5;

/// One line of a displayed formula: sets of marks and where each begins.
type Line = Vec<(f32, Arc<SetFormula>)>;

/// A line of a broken right side.
struct Broken {
    /// From where the right side begins.
    indent: f32,
    /// Parts, each with where it begins after the indent.
    parts: Line,
}

impl Setter<'_> {
    pub(super) fn formula(
        &mut self,
        formula: &Formula,
        column: Column,
        parent: usize,
    ) -> Result<Vec<Slab>, Failure> {
        let element = self.element(Role::Formula, Some(parent), Some(formula.spoken.clone()));
        let indent = self.style.indent.min(column.width / 8.0);
        let start = column.left + indent;
        let room = column.width - indent;
        let mut sides = Vec::with_capacity(formula.rows.len());
        for (left, right) in &formula.rows {
            let left = if left.is_empty() {
                None
            } else {
                Some(self.displayed(left, Stand::Displayed)?)
            };
            sides.push((left, right));
        }
        let narrow = |left: &SetFormula| left.width <= WIDE_LEFT * room;
        let relation = sides
            .iter()
            .filter_map(|(left, _)| left.as_deref())
            .filter(|left| narrow(left))
            .fold(0.0, |widest: f32, left| widest.max(left.width));
        let mut slabs: Vec<Slab> = Vec::new();
        // Baseline and right end of the last line.
        let mut last_line = (0.0, start);
        for (left, right) in sides {
            let mut lines: Vec<Line> = Vec::new();
            let mut opening = Vec::new();
            match left {
                Some(left) if narrow(&left) => opening.push((start + relation - left.width, left)),
                Some(left) => lines.push(vec![(start, fit(left, room))]),
                None => {}
            }
            // A right side below its left one still shows where it belongs.
            let shift = if lines.is_empty() {
                relation
            } else {
                relation.max(RUN_ON)
            };
            for Broken { indent, parts } in self.broken(right, room - shift)? {
                let mut line = std::mem::take(&mut opening);
                let left = start + shift + indent;
                line.extend(parts.into_iter().map(|(x, part)| (left + x, part)));
                lines.push(line);
            }
            for (index, line) in lines.into_iter().enumerate() {
                let (mut slab, baseline) = row(&line, element);
                last_line = (baseline, end(&line));
                slab.kept = index > 0 || slabs.len() == 1;
                slab.before = if slabs.is_empty() { 0.0 } else { ROW_GAP };
                slabs.push(slab);
            }
        }
        if let Some(number) = formula.number {
            self.equation_number(number, column, parent, last_line, &mut slabs);
        }
        if let Some(first) = slabs.first_mut() {
            first.labels.extend(formula.label.clone());
            // What introduces a formula stays with it.
            first.kept = true;
            first.before = 0.7 * self.style.display_gap;
        }
        if let Some(last) = slabs.last_mut() {
            last.kept = true;
            last.after = 0.7 * self.style.display_gap;
        }
        Ok(slabs)
    }

    /// The number of a formula, at the right end of its last line or, where that is too long, below it. It is text beside the
    /// formula: what is in the formula itself is not read, its words are.
    fn equation_number(
        &mut self,
        number: u32,
        column: Column,
        parent: usize,
        (baseline, end): (f32, f32),
        slabs: &mut Vec<Slab>,
    ) {
        let style = TextStyle::new(Face::Regular, self.style.text_size, Colour::BLACK);
        let element = self.element(Role::Paragraph, Some(parent), None);
        let pieces = self.pieces(&format!("({number})"), style);
        let parts: Vec<Part<'_>> = pieces
            .iter()
            .map(|piece| Part::Piece(Cow::Borrowed(piece)))
            .collect();
        let x = column.left + column.width - self.width(&parts);
        let set = self.place(&parts, x, 0.0, Some(element));
        match slabs.last_mut() {
            Some(last) if end + NUMBER_GAP <= x => last.take(set, baseline),
            _ => {
                let mut below = Slab {
                    before: 1.0,
                    height: self.style.leading,
                    kept: true,
                    ..Slab::default()
                };
                below.take(set, 0.75 * self.style.leading);
                slabs.push(below);
            }
        }
    }

    fn displayed(&mut self, tex: &str, stand: Stand) -> Result<Arc<SetFormula>, Failure> {
        let tex = tex.replace(BREAK, " ");
        self.maths
            .set(&tex, self.style.text_size, stand, &mut self.missing)
    }

    /// The right side of a row, in as many lines as it needs; parts that share a line stand side by side. What a relation
    /// begins goes to a line of its own, below the row's first relation, rather than be broken at an operator.
    fn broken(&mut self, tex: &str, room: f32) -> Result<Vec<Broken>, Failure> {
        let mut lines: Vec<Broken> = Vec::new();
        let mut end = 0.0;
        let mut parts = Vec::new();
        for part in breakable(tex) {
            parts.extend(self.row_parts(part, room)?);
        }
        for clause in clauses(&parts) {
            let mut continued = Vec::with_capacity(clause.len());
            for part in &clause {
                continued.push(self.displayed(part, Stand::Continued)?);
            }
            let width: f32 = continued.iter().map(|set| set.width).sum();
            let mut own_line = lines
                .last()
                .is_none_or(|line| end + width > room - line.indent);
            for (part, set) in clause.iter().zip(continued) {
                let line = lines
                    .last_mut()
                    .filter(|line| !own_line && end + set.width <= room - line.indent);
                if let Some(line) = line {
                    line.parts.push((end, Arc::clone(&set)));
                    end += set.width;
                    continue;
                }
                let indent = if own_line { 0.0 } else { RUN_ON };
                let set = if own_line {
                    self.displayed(part, Stand::Displayed)?
                } else {
                    set
                };
                let set = fit(set, room - indent);
                own_line = false;
                end = set.width;
                lines.push(Broken {
                    indent,
                    parts: vec![(0.0, set)],
                });
            }
        }
        Ok(lines)
    }

    /// A part wider than there is room, divided where its writer allowed nothing: before relations, then before the operators
    /// of what is still too wide.
    fn row_parts<'t>(&mut self, part: &'t str, room: f32) -> Result<Vec<&'t str>, Failure> {
        if self.displayed(part, Stand::Displayed)?.width <= room {
            return Ok(vec![part]);
        }
        let mut divided = Vec::new();
        let mut clauses = sound(part, parted(part, Sign::Relation));
        // A short left side that nothing aligns stays with the relation behind it.
        if let [left, right, ..] = clauses[..]
            && sign(first_token(left.trim_start())) != Some(Sign::Relation)
            && self.displayed(left, Stand::Displayed)?.width <= WIDE_LEFT * room
            && let Some(both) = part.get(..left.len() + right.len())
        {
            clauses.splice(..2, [both]);
        }
        for clause in clauses {
            if self.displayed(clause, Stand::Displayed)?.width <= room {
                divided.push(clause);
            } else {
                divided.extend(sound(clause, parted(clause, Sign::Operator)));
            }
        }
        Ok(divided)
    }
}

/// The parts of a formula if each can be read alone, else the whole.
fn sound<'t>(whole: &'t str, parts: Vec<&'t str>) -> Vec<&'t str> {
    if parts.iter().all(|part| spell(part).is_ok()) {
        parts
    } else {
        vec![whole]
    }
}

/// A formula made smaller if it is wider than there is room.
fn fit(formula: Arc<SetFormula>, room: f32) -> Arc<SetFormula> {
    if formula.width <= room {
        formula
    } else {
        Arc::new(formula.scaled(room.max(1.0) / formula.width))
    }
}

/// Parts between the breaks that stand outside braces and stretched parentheses; none of them blank.
fn breakable(tex: &str) -> Vec<&str> {
    let mut parts = Vec::new();
    let mut from = 0;
    for (at, mark) in tex.match_indices(BREAK) {
        let before = &tex[..at];
        let count = |token: &str| before.matches(token).count();
        let braces = count("{") + count("\\}") == count("}") + count("\\{");
        let parentheses =
            count("\\left") + count("\\rightarrow") == count("\\right") + count("\\leftarrow");
        if braces && parentheses && count("\\begin") == count("\\end") {
            parts.push(&tex[from..at]);
            from = at + mark.len();
        }
    }
    parts.push(&tex[from..]);
    parts.retain(|part| !part.trim().is_empty());
    parts
}

/// The parts in groups, each of which, the first aside, a relation begins.
fn clauses<'t>(parts: &[&'t str]) -> Vec<Vec<&'t str>> {
    let mut clauses: Vec<Vec<&str>> = Vec::new();
    for part in parts {
        let begins = sign(first_token(part.trim_start())) == Some(Sign::Relation);
        match clauses.last_mut() {
            Some(clause) if !begins => clause.push(part),
            _ => clauses.push(vec![part]),
        }
    }
    clauses
}

/// A sign that a formula may be divided before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sign {
    Relation,
    Operator,
}

fn sign(token: &str) -> Option<Sign> {
    const RELATIONS: [&str; 20] = [
        "=",
        "<",
        ">",
        "\\lt",
        "\\gt",
        "\\le",
        "\\leq",
        "\\ge",
        "\\geq",
        "\\ne",
        "\\neq",
        "\\approx",
        "\\to",
        "\\sim",
        "\\simeq",
        "\\equiv",
        "\\propto",
        "\\rightarrow",
        "\\ll",
        "\\gg",
    ];
    const OPERATORS: [&str; 10] = [
        "+", "-", "−", "±", "\\pm", "\\mp", "\\cdot", "·", "\\times", "×",
    ];
    if RELATIONS.contains(&token) {
        Some(Sign::Relation)
    } else {
        OPERATORS.contains(&token).then_some(Sign::Operator)
    }
}

/// A command or one character.
fn first_token(tex: &str) -> &str {
    let Some(first) = tex.chars().next() else {
        return tex;
    };
    let name = |text: &str| text.bytes().take_while(u8::is_ascii_alphabetic).count();
    let length = match tex.strip_prefix('\\') {
        None => first.len_utf8(),
        Some(after) if name(after) > 0 => 1 + name(after),
        Some(after) => 1 + after.chars().next().map_or(0, char::len_utf8),
    };
    &tex[..length]
}

/// The parts before each sign of a kind that stands outside braces, brackets and environments with something on both sides
/// that it can join; one at the beginning, after another sign or in an exponent is part of what follows. A power of ten
/// stays with its number.
fn parted(tex: &str, kind: Sign) -> Vec<&str> {
    let mut parts = Vec::new();
    let (mut from, mut at, mut depth) = (0, 0, 0_usize);
    let mut joins = false;
    while at < tex.len() {
        let token = first_token(&tex[at..]);
        let after = &tex[at + token.len()..];
        let found = sign(token);
        let power = matches!(token, "\\times" | "×" | "\\cdot" | "·")
            && after.trim_start().starts_with("10^");
        if found == Some(kind) && depth == 0 && joins && !power {
            parts.push(&tex[from..at]);
            from = at;
        }
        match token {
            // All that stands beside these is theirs.
            "\\over" | "\\atop" | "\\choose" if depth == 0 => return vec![tex],
            "{" | "(" | "[" | "\\{" | "\\left" | "\\begin" => depth += 1,
            "}" | ")" | "]" | "\\}" | "\\right" | "\\end" => depth = depth.saturating_sub(1),
            _ => {}
        }
        at += token.len();
        // The bracket behind `\left` or `\right` is theirs.
        if matches!(token, "\\left" | "\\right") {
            let blank = tex[at..].len() - tex[at..].trim_start().len();
            at += blank + first_token(&tex[at + blank..]).len();
        }
        if !token.trim().is_empty() && !matches!(token, "\\," | "\\;" | "\\:" | "\\!") {
            joins = found.is_none() && !matches!(token, "^" | "_" | "(" | "[" | "\\{");
        }
    }
    parts.push(&tex[from..]);
    parts.retain(|part| !part.trim().is_empty());
    parts
}

/// Right end of a line.
fn end(line: &[(f32, Arc<SetFormula>)]) -> f32 {
    line.iter()
        .fold(0.0, |end: f32, (x, set)| end.max(x + set.width))
}

/// A line as a strip, and its baseline.
fn row(line: &[(f32, Arc<SetFormula>)], element: usize) -> (Slab, f32) {
    let ascent = line
        .iter()
        .fold(7.0, |most: f32, (_, set)| most.max(set.ascent));
    let descent = line
        .iter()
        .fold(2.5, |most: f32, (_, set)| most.max(set.descent));
    let items = line
        .iter()
        .flat_map(|(x, set)| set.marks_at(*x, ascent))
        .map(|mark| Item {
            mark,
            element: Some(element),
        })
        .collect();
    let slab = Slab {
        height: ascent + descent,
        items,
        ..Slab::default()
    };
    (slab, ascent)
}

#[cfg(test)]
mod tests {
    use super::{Sign, breakable, clauses, parted};

    #[test]
    fn a_row_without_breaks_is_divided_at_signs_between_operands() {
        assert_eq!(
            parted(r"x = a + b \leq \frac{c = d}{e}", Sign::Relation),
            ["x ", "= a + b ", r"\leq \frac{c = d}{e}"]
        );
        assert_eq!(
            parted(
                r"= -a + b^{+1} - \left( c + d \right) \cdot (e - f) + 1.5 \times 10^{-3}",
                Sign::Operator
            ),
            [
                "= -a ",
                "+ b^{+1} ",
                r"- \left( c + d \right) ",
                r"\cdot (e - f) ",
                r"+ 1.5 \times 10^{-3}"
            ]
        );
        assert_eq!(
            parted(r"a \left] b + c \right[ + d", Sign::Operator),
            [r"a \left] b + c \right[ ", "+ d"]
        );
    }

    #[test]
    fn rows_break_outside_braces_and_stretched_parentheses_only() {
        assert_eq!(breakable(r"= a \allowbreak + b"), ["= a ", " + b"]);
        assert_eq!(
            breakable(r"= \sqrt{a \allowbreak b}"),
            [r"= \sqrt{a \allowbreak b}"]
        );
        assert_eq!(
            breakable(r"= \left( a \allowbreak b \right)"),
            [r"= \left( a \allowbreak b \right)"]
        );
        assert_eq!(
            breakable(r"a \rightarrow \allowbreak b"),
            [r"a \rightarrow ", " b"]
        );
    }

    #[test]
    fn relations_begin_clauses() {
        let parts = breakable(r"= a \allowbreak + b \allowbreak = 1 \allowbreak + 2");
        assert_eq!(
            clauses(&parts),
            [vec!["= a ", " + b "], vec![" = 1 ", " + 2"]]
        );
    }
}
