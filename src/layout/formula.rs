//! Displayed formulas: a chain of rows aligned at their relation, long rows broken where they allow it.

use std::sync::Arc;

use super::maths::{SetFormula, Stand};
use super::slab::Slab;
use super::{Column, Failure, Setter};
use crate::manuscript::Formula;
use crate::page::{Item, Role};

/// Where a row may be broken.
const BREAK: &str = "\\allowbreak";
/// Further indent of the lines that go on with a broken row, points.
const RUN_ON: f32 = 16.0;
/// A left side wider than this share of the measure has a line to itself.
const WIDE_LEFT: f32 = 0.45;
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
                let mut slab = row(&line, element);
                slab.kept = index > 0 || slabs.len() == 1;
                slab.before = if slabs.is_empty() { 0.0 } else { ROW_GAP };
                slabs.push(slab);
            }
        }
        if let Some(first) = slabs.first_mut() {
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
        for clause in clauses(&breakable(tex)) {
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
    const RELATIONS: [&str; 8] = ["=", "<", ">", "\\le", "\\ge", "\\approx", "\\to", "\\sim"];
    let mut clauses: Vec<Vec<&str>> = Vec::new();
    for part in parts {
        let begins = RELATIONS
            .iter()
            .any(|relation| part.trim_start().starts_with(relation));
        match clauses.last_mut() {
            Some(clause) if !begins => clause.push(part),
            _ => clauses.push(vec![part]),
        }
    }
    clauses
}

fn row(line: &[(f32, Arc<SetFormula>)], element: usize) -> Slab {
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
    Slab {
        height: ascent + descent,
        items,
        ..Slab::default()
    }
}

#[cfg(test)]
mod tests {
    use super::{breakable, clauses};

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
