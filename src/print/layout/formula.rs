//! Displayed formulas: a chain of rows aligned at their relation, long rows broken where they allow it.
//!
//! The number of a formula stands beside it in the document's structure, not in it: a formula is read aloud by its
//! alternative text alone, whatever is inside it.

use std::borrow::Cow;
use std::sync::Arc;

use super::flow_item::FlowItem;
use super::line::Part;
use super::math_nodes::SMALLEST;
use super::maths::{MathStyle, SetFormula};
use super::words::TextStyle;
use super::{Column, Layouter};
use crate::maths::{Class, Math};
use crate::print::manuscript::Formula;
use crate::print::page::{Colour, Face, Item, Role};

/// Further indent of the lines that go on with a broken row, points.
const RUN_ON: f32 = 16.0;
/// A left side wider than this share of the measure has a line to itself.
const WIDE_LEFT: f32 = 0.45;
/// A line is not broken where less than this share of the measure would stand before the break.
const SHORT: f32 = 0.2;
/// Between a row and the number at its right, at least.
const NUMBER_GAP: f32 = 12.0;
/// Space above a displayed formula, as a share of the display gap; less than below it, as the text above introduces it.
const INTRODUCED: f32 = 0.35;
/// Between rows, points.
const ROW_GAP: f32 = 4.5;

/// Widths for the right side of a row, points.
#[derive(Clone, Copy)]
struct Rooms {
    /// From where it begins to the number of the formula.
    beside_number: f32,
    /// From there to the end of the measure.
    whole: f32,
    /// Before it, below the left side.
    before: f32,
}

/// One line of a displayed formula: sets of marks and where each begins.
type Line = Vec<(f32, Arc<SetFormula>)>;

/// A line of a broken right side.
struct Broken {
    /// From where the right side begins.
    indent: f32,
    /// Parts, each with where it begins after the indent.
    parts: Line,
}

impl Layouter<'_> {
    pub(super) fn formula(
        &mut self,
        formula: &Formula,
        column: Column,
        parent: usize,
    ) -> Vec<FlowItem> {
        let element = self.element(Role::Formula, Some(parent), Some(formula.words()));
        let indent = self.style.indent.min(column.width / 8.0);
        let start = column.left + indent;
        // A number stands beside the last row, not below it.
        let number = formula.number.map_or(0.0, |number| {
            let style = TextStyle::new(Face::Regular, self.style.text_size, Colour::BLACK);
            NUMBER_GAP + self.width_of(&format!("({number})"), style)
        });
        let whole = column.width - indent;
        let room = whole - number;
        let mut sides = Vec::with_capacity(formula.rows.len());
        for (left_parts, right) in &formula.rows {
            let left = (!left_parts.is_empty())
                .then(|| self.displayed(left_parts.parts(), MathStyle::Displayed));
            sides.push((left, left_parts, right));
        }
        let narrow = |left: &SetFormula| left.width <= WIDE_LEFT * room;
        let relation = sides
            .iter()
            .filter_map(|(left, ..)| left.as_deref())
            .filter(|left| narrow(left))
            .fold(0.0, |widest: f32, left| widest.max(left.width));
        let mut slabs: Vec<FlowItem> = Vec::new();
        // Baseline and right end of the last line.
        let mut last_line = (0.0, start);
        for (left, left_parts, right) in sides {
            let mut lines: Vec<Line> = Vec::new();
            let mut opening = Vec::new();
            match left {
                Some(left) if narrow(&left) => opening.push((start + relation - left.width, left)),
                Some(_) => {
                    let left = self.fitting(left_parts.parts(), MathStyle::Displayed, room);
                    lines.push(vec![(start, left)]);
                }
                None => {}
            }
            // A right side below its left one still shows where it belongs.
            let shift = if lines.is_empty() {
                relation
            } else {
                relation.max(RUN_ON)
            };
            let rooms = Rooms {
                beside_number: room - shift,
                whole: whole - shift,
                before: shift,
            };
            for Broken { indent, parts } in self.broken(right.parts(), rooms) {
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
            first.before = INTRODUCED * self.style.display_gap;
        }
        if let Some(last) = slabs.last_mut() {
            last.kept = true;
            last.after = 0.7 * self.style.display_gap;
        }
        slabs
    }

    /// The number of a formula, at the right end of its last line or, where that is too long, below it. It is text beside the
    /// formula: what is in the formula itself is not read, its words are.
    fn equation_number(
        &mut self,
        number: u32,
        column: Column,
        parent: usize,
        (baseline, end): (f32, f32),
        slabs: &mut Vec<FlowItem>,
    ) {
        let style = TextStyle::new(Face::Regular, self.style.text_size, Colour::BLACK);
        let element = self.element(Role::Paragraph, Some(parent), None);
        let pieces = self.pieces(&format!("({number})"), style);
        let parts: Vec<Part<'_>> = pieces.map(|piece| Part::Piece(Cow::Owned(piece))).collect();
        let x = column.left + column.width - self.width(&parts);
        let set = self.place(&parts, x, 0.0, Some(element));
        match slabs.last_mut() {
            Some(last) if end + NUMBER_GAP <= x => last.take(set, baseline),
            _ => {
                let mut below = FlowItem {
                    before: 1.0,
                    height: self.style.leading,
                    kept: true,
                    ..FlowItem::default()
                };
                below.take(set, 0.75 * self.style.leading);
                slabs.push(below);
            }
        }
    }

    fn displayed(&mut self, parts: &[Math], stand: MathStyle) -> Arc<SetFormula> {
        // A relation is spaced alike with and without an operand at its left: such a part is set once for both.
        let stand = if begins_with_relation(parts) {
            MathStyle::Displayed
        } else {
            stand
        };
        let math = Arc::new(Math::Row(parts.to_vec()));
        self.maths
            .set(&math, self.style.text_size, stand, &mut self.missing)
    }

    /// Returns the same in a smaller size if it is wider than there is room: smaller letters, while scripts keep the
    /// least size.
    fn fitting(&mut self, parts: &[Math], stand: MathStyle, room: f32) -> Arc<SetFormula> {
        let room = room.max(1.0);
        let math = Arc::new(Math::Row(parts.to_vec()));
        let mut size = self.style.text_size;
        loop {
            let set = self.maths.set(&math, size, stand, &mut self.missing);
            if set.width <= room {
                return set;
            }
            // By hairs less, as scripts do not become as much smaller.
            let fits = (0.999 * size * room / set.width).max(SMALLEST);
            if fits >= size {
                return Arc::new(set.scaled(room / set.width));
            }
            size = fits;
        }
    }

    /// Returns the right side of a row, in as many lines as it needs; parts that share a line stand side by side. What
    /// a relation begins goes to a line of its own, below the row's first relation, rather than be broken at an
    /// operator. There is room beside the formula's number, and the whole width for what is too wide for that; below the
    /// first line, what is still too wide begins further left.
    fn broken(&mut self, row: &[Math], rooms: Rooms) -> Vec<Broken> {
        let room = rooms.beside_number;
        let mut lines: Vec<Broken> = Vec::new();
        let mut end = 0.0;
        let mut parts = Vec::new();
        for part in row.split(|part| *part == Math::Break) {
            if part.iter().any(|part| !matches!(part, Math::Space(_))) {
                // The first part begins the line; the others continue it if all fit on one.
                let stand = if parts.is_empty() {
                    MathStyle::Displayed
                } else {
                    MathStyle::Continued
                };
                parts.extend(self.row_parts(part, stand, rooms));
            }
        }
        for clause in clauses(&parts) {
            let mut own_line = true;
            if let Some(line) = lines.last() {
                let widths = clause.iter();
                let widths = widths.map(|part| self.displayed(part, MathStyle::Continued).width);
                let widths: Vec<f32> = widths.collect();
                let total: f32 = widths.iter().sum();
                own_line = end + total > room - line.indent;
                // A line that would be broken after a few signs begins further left.
                let most = rooms.whole + rooms.before;
                if own_line && total > room && total <= most && widths[0] < SHORT * room {
                    let whole = self.displayed(&clause.concat(), MathStyle::Displayed);
                    end = whole.width;
                    lines.push(Broken {
                        indent: (rooms.whole - total).min(0.0),
                        parts: vec![(0.0, whole)],
                    });
                    continue;
                }
            }
            for part in clause {
                let stand = if own_line {
                    MathStyle::Displayed
                } else {
                    MathStyle::Continued
                };
                let set = self.displayed(part, stand);
                let line = lines
                    .last_mut()
                    .filter(|line| !own_line && end + set.width <= room - line.indent);
                if let Some(line) = line {
                    line.parts.push((end, Arc::clone(&set)));
                    end += set.width;
                    continue;
                }
                let mut indent = if own_line { 0.0 } else { RUN_ON };
                if !lines.is_empty() {
                    let over = indent + self.displayed(part, stand).width - rooms.whole;
                    indent -= over.clamp(0.0, indent + rooms.before);
                }
                let set = self.fitting(part, stand, rooms.whole - indent);
                own_line = false;
                end = set.width;
                lines.push(Broken {
                    indent,
                    parts: vec![(0.0, set)],
                });
            }
        }
        lines
    }

    /// Returns a part wider than there is room, divided where its writer allowed nothing: before relations, then before
    /// the operators of what is still too wide.
    fn row_parts<'m>(
        &mut self,
        part: &'m [Math],
        stand: MathStyle,
        rooms: Rooms,
    ) -> Vec<&'m [Math]> {
        let room = rooms.beside_number;
        // A part is no wider at the beginning of a line than within it.
        if self.displayed(part, stand).width <= room
            || self.displayed(part, MathStyle::Displayed).width <= room
        {
            return vec![part];
        }
        let mut divided = Vec::new();
        let mut clauses = parted(part, Joint::Relation);
        // A short left side that nothing aligns stays with the relation behind it.
        if let [left, right, ..] = clauses[..]
            && left.first().and_then(joint) != Some(Joint::Relation)
            && self.displayed(left, MathStyle::Displayed).width <= WIDE_LEFT * room
        {
            clauses.splice(..2, [&part[..left.len() + right.len()]]);
        }
        for clause in clauses {
            if self.displayed(clause, MathStyle::Displayed).width <= rooms.whole {
                divided.push(clause);
            } else {
                divided.extend(parted(clause, Joint::Operator));
            }
        }
        divided
    }
}

/// Returns the parts in groups, each of which, the first aside, a relation begins.
fn clauses<'p, 'm>(parts: &'p [&'m [Math]]) -> impl Iterator<Item = &'p [&'m [Math]]> {
    parts.chunk_by(|_, next| !begins_with_relation(next))
}

fn begins_with_relation(part: &[Math]) -> bool {
    let first = part.iter().find(|part| !matches!(part, Math::Space(_)));
    first.and_then(joint) == Some(Joint::Relation)
}

/// A sign that a formula may be divided before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Joint {
    Relation,
    Operator,
}

fn joint(part: &Math) -> Option<Joint> {
    match part {
        Math::Sign(_, Class::Relation) => Some(Joint::Relation),
        Math::Sign(sign, Class::Operator) => {
            matches!(sign.as_str(), "+" | "−" | "±" | "∓" | "⋅" | "·" | "×")
                .then_some(Joint::Operator)
        }
        _ => None,
    }
}

/// Returns the parts before each sign of a kind that stands outside brackets with something on both sides that it can
/// join; one at the beginning or after another sign is part of what follows. A power of ten stays with its number.
fn parted(row: &[Math], kind: Joint) -> Vec<&[Math]> {
    let mut parts = Vec::new();
    let (mut from, mut depth, mut joins) = (0, 0_usize, false);
    for (at, part) in row.iter().enumerate() {
        let found = joint(part);
        if found == Some(kind) && depth == 0 && joins && !is_power_of_ten(&row[at..]) {
            parts.push(&row[from..at]);
            from = at;
        }
        match part {
            Math::Sign(_, Class::Open(_)) => depth += 1,
            Math::Sign(_, Class::Close(_)) => depth = depth.saturating_sub(1),
            _ => {}
        }
        if !matches!(part, Math::Space(_)) {
            joins = found.is_none() && !matches!(part, Math::Sign(_, Class::Open(_)));
        }
    }
    parts.push(&row[from..]);
    parts.retain(|part| !part.is_empty());
    parts
}

/// Returns whether a row begins with the sign that multiplies by a power of ten.
fn is_power_of_ten(row: &[Math]) -> bool {
    let mut parts = row.iter().filter(|part| !matches!(part, Math::Space(_)));
    let times = matches!(parts.next(), Some(Math::Sign(sign, _)) if matches!(sign.as_str(), "×" | "⋅" | "·"));
    times
        && matches!(
            parts.next(),
            Some(Math::Scripts(power)) if power.base == Math::Number("10".into())
        )
}

/// Right end of a line.
fn end(line: &[(f32, Arc<SetFormula>)]) -> f32 {
    line.iter()
        .fold(0.0, |end: f32, (x, set)| end.max(x + set.width))
}

/// Returns a line as a strip, and its baseline.
fn row(line: &[(f32, Arc<SetFormula>)], element: usize) -> (FlowItem, f32) {
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
    let slab = FlowItem {
        height: ascent + descent,
        items,
        ..FlowItem::default()
    };
    (slab, ascent)
}

#[cfg(test)]
mod tests {
    use super::{Joint, Math, clauses, parted};
    use crate::maths::handles::Handles;
    use crate::print::manuscript::tex;

    fn read(tex: &str) -> Result<Math, String> {
        tex::read(tex, &Handles::default())
    }

    fn tex(parts: &[&[Math]]) -> Vec<String> {
        let of = |part: &&[Math]| Math::Row(part.to_vec()).tex();
        parts.iter().map(of).collect()
    }

    #[test]
    fn a_row_without_breaks_is_divided_at_signs_between_operands() {
        let parts = |row: &str, kind| tex(&parted(read(row).unwrap().parts(), kind));
        assert_eq!(
            parts(r"x = a + b \leq \frac{c = d}{e}", Joint::Relation),
            ["x", "= a + b", r"\le \frac{c = d}{e}"]
        );
        assert_eq!(
            parts(
                r"= -a + b^{+1} - \left( c + d \right) \cdot (e - f) + 1.5 \times 10^{-3}",
                Joint::Operator
            ),
            [
                "= -a",
                "+b^{+1}",
                r"-\left(c + d\right)",
                r"\cdot(e - f)",
                r"+1.5 \times 10^{-3}"
            ]
        );
        assert_eq!(
            parts(r"a \left] b + c \right[ + d", Joint::Operator),
            [r"a\left\rbrack b + c\right\lbrack", "+d"]
        );
    }

    #[test]
    fn relations_begin_clauses() {
        let row = read(r"= a \allowbreak + b \allowbreak = 1 \allowbreak + 2").unwrap();
        let parts: Vec<&[Math]> = row.parts().split(|part| *part == Math::Break).collect();
        let clauses: Vec<_> = clauses(&parts).map(tex).collect();
        assert_eq!(clauses, [["= a", "+b"], ["= 1", "+2"]]);
    }
}
