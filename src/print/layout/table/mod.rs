//! Tables: columns measured, numbers aligned, rows as strips, the head repeated on every page.

mod cell;
mod number;
mod widths;

use std::rc::Rc;

use self::cell::Cell;
use self::number::{Number, Wrapping, plain};
use self::widths::{Need, Plan, parted, plan};
use super::fitting::fitted;
use super::flow_item::{Bond, Continued, FlowItem, rectangle, rule, shift};
use super::paragraph::Fit;
use super::words::{TextStyle, Word};
use super::{Column, LayoutError, Layouter};
use crate::maths::groups;
use crate::print::manuscript::said::plain_text;
use crate::print::manuscript::{Align, Inline, Table};
use crate::print::page::{Colour, Face, Item, Mark, Role};
use crate::print::typeface::Forms;

/// Thickness of the rules above and below a table, points.
const OUTER_RULE: f32 = 0.8;
/// Thickness of the rule under its head.
const INNER_RULE: f32 = 0.45;
/// From baseline to baseline in a cell, in sizes.
const LEADING: f32 = 1.2;
/// Room above and below the text of a row.
const ROW_PADDING: f32 = 0.8;
/// Before a row that begins with a name, where others have none.
const BETWEEN_GROUPS: f32 = 2.5;

/// Length of the bar of a whole, in sizes.
const WHOLE_BAR: f32 = 3.0;
/// Between a number and its bar, in sizes.
const BEFORE_BAR: f32 = 0.5;
/// Top and height of a bar about the baseline, in sizes.
const BAR: (f32, f32) = (-0.62, 0.58);
/// Ink of a bar, a share of the accent.
const BAR_TINT: f32 = 0.5;

/// A table of fewer rows is rather not divided.
pub(super) const DOZEN: usize = 12;

/// What a caption says of columns for which there was no room beside the first ones.
const FURTHER: &str = "further columns";

/// A table whose cells have been shaped in one size.
struct Measured {
    /// Requirements of each column.
    needs: Vec<Need>,
    /// Alignment of the numbers of each column.
    points: Vec<cell::Points>,
    cells: Cells,
}

/// The cells of a table.
struct Cells {
    head: Vec<Vec<Word>>,
    /// By row; each row has a cell for each column.
    rows: Vec<Vec<Cell>>,
}

/// Which columns of a table are set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Part {
    /// All, or the first of them.
    Whole,
    /// Some of those for which there was no room.
    Further,
}

/// A table measured and ready to be set.
struct Frame {
    left: f32,
    right: f32,
    size: f32,
    columns: Vec<Band>,
}

/// Where one column stands.
#[derive(Debug, Clone, Copy)]
struct Band {
    align: Align,
    left: f32,
    width: f32,
    /// Room for bars at its right.
    bars: f32,
    points: cell::Points,
}

impl Layouter<'_> {
    /// Returns a table; one whose columns fit side by side in no size becomes several, each with the names of the rows.
    pub(super) fn table(
        &mut self,
        table: &Table,
        column: Column,
        parent: usize,
    ) -> Result<Vec<FlowItem>, LayoutError> {
        let measured = self.measured(table, self.style.small_size)?;
        let groups = parted(&measured.needs, column.width, self.style.small_size);
        if groups.len() < 2 {
            return self.table_of(table, measured, Part::Whole, column, parent);
        }
        let mut slabs = Vec::new();
        for (index, group) in groups.iter().enumerate() {
            let part = if index == 0 {
                Part::Whole
            } else {
                Part::Further
            };
            let some = only(table, group);
            let measured = self.measured(&some, self.style.small_size)?;
            slabs.extend(self.table_of(&some, measured, part, column, parent)?);
        }
        Ok(slabs)
    }

    /// Returns a table whose columns have been measured.
    fn table_of(
        &mut self,
        table: &Table,
        measured: Measured,
        part: Part,
        column: Column,
        parent: usize,
    ) -> Result<Vec<FlowItem>, LayoutError> {
        let element = self.element(Role::Table, Some(parent), None);
        let mut slabs = Vec::new();
        let heading = match (&table.number, part) {
            (Some(number), Part::Whole) => Some(format!("Table {number}.")),
            (Some(number), Part::Further) => Some(format!("Table {number}, {FURTHER}.")),
            (None, Part::Whole) => None,
            (None, Part::Further) => Some("Further columns.".to_owned()),
        };
        if let Some(heading) = heading {
            let caption = self.element(Role::Caption, Some(element), None);
            let text: &[Inline] = match part {
                Part::Whole => &table.caption,
                Part::Further => &[],
            };
            slabs = self.caption(&heading, text, column, caption)?;
            for slab in slabs.iter_mut().skip(1) {
                slab.kept = true;
            }
            if let Some(last) = slabs.last_mut() {
                last.after = 4.0;
            }
        }
        let (frame, Cells { head, rows }) = self.frame(table, measured, column)?;
        let head_row = self.element(Role::Row, Some(element), None);
        let mut heads = self.head(head, &frame, head_row);
        let continued = Rc::new(self.continued(table, part, &frame, &heads)?);
        for head in &mut heads {
            head.kept = !slabs.is_empty();
        }
        slabs.append(&mut heads);
        let count = table.rows.len();
        let bonds = bonds(table);
        let name = |row: &Vec<Vec<Inline>>| row.first().is_some_and(|cell| !cell.is_empty());
        let grouped = table.names_its_rows() && !table.rows.iter().all(name);
        for (index, (row, cells)) in table.rows.iter().zip(rows).enumerate() {
            let element = self.element(Role::Row, Some(element), None);
            for (line, mut slab) in self
                .row(row, cells, &frame, element, table.names_its_rows())?
                .into_iter()
                .enumerate()
            {
                // The head never stands alone, and no row is left behind on a page of its own.
                slab.kept = line == 0 && (index < 2 || index + 1 == count);
                slab.bond = match bonds.get(index) {
                    Some(bond) if line == 0 => *bond,
                    _ => Bond::None,
                };
                if grouped && line == 0 && index > 0 && name(row) {
                    slab.before = BETWEEN_GROUPS;
                }
                slab.continued = Some(Rc::clone(&continued));
                slabs.push(slab);
            }
        }
        if let Some(last) = slabs.last_mut() {
            last.items.extend(close(&frame, last.height).map(furniture));
            last.height += OUTER_RULE;
            last.after = self.style.display_gap;
        }
        if let Some(first) = slabs.first_mut() {
            first.before = self.style.display_gap;
            if part == Part::Whole {
                first.labels.extend(table.label.clone());
            }
        }
        Ok(slabs)
    }

    /// Returns a caption: its number in bold, centred if it fills no line.
    pub(super) fn caption(
        &mut self,
        number: &str,
        text: &[Inline],
        column: Column,
        element: usize,
    ) -> Result<Vec<FlowItem>, LayoutError> {
        let style = TextStyle::new(Face::Regular, self.style.small_size, Colour::BLACK);
        let mut inlines = vec![
            Inline::Strong(vec![Inline::Text(number.replace(' ', "\u{a0}"))]),
            Inline::Text(" ".into()),
        ];
        inlines.extend_from_slice(text);
        let words = self.words(&inlines, style)?;
        let leading = 1.28 * style.size;
        let space = self.space_width(style);
        let natural: f32 = words.iter().map(|word| word.width() + space).sum();
        let fit = if natural - space <= column.width {
            Fit::Centred
        } else {
            Fit::Justified
        };
        Ok(self.paragraph(words, column, leading, fit, element))
    }

    /// Chooses the size and the widths of the columns; returns the frame and the cells shaped in that size.
    fn frame(
        &mut self,
        table: &Table,
        measured: Measured,
        column: Column,
    ) -> Result<(Frame, Cells), LayoutError> {
        let full = self.style.small_size;
        let Plan {
            factor,
            widths,
            gap,
        } = plan(&measured.needs, column.width, full);
        let size = full * factor;
        let Measured { points, cells, .. } = if factor < 1.0 {
            self.measured(table, size)?
        } else {
            measured
        };
        let width = widths.iter().sum::<f32>() + gap * widths.len().saturating_sub(1) as f32;
        let left = column.left + (column.width - width).max(0.0) / 2.0;
        let mut x = left;
        let columns = widths
            .into_iter()
            .zip(points)
            .enumerate()
            .map(|(index, (width, points))| {
                let band = Band {
                    align: align(table, index),
                    left: x,
                    width,
                    bars: bar_room(table, index, size),
                    points,
                };
                x += width + gap;
                band
            })
            .collect();
        let frame = Frame {
            left,
            right: left + width,
            size,
            columns,
        };
        Ok((frame, cells))
    }

    /// Shapes all cells and measures the columns.
    fn measured(&mut self, table: &Table, size: f32) -> Result<Measured, LayoutError> {
        let style = table_style(size);
        let count = table
            .rows
            .iter()
            .map(Vec::len)
            .chain([table.columns.len(), table.head.len()])
            .max()
            .unwrap_or(0);
        let mut measured = Measured {
            needs: Vec::with_capacity(count),
            points: Vec::with_capacity(count),
            cells: Cells {
                head: Vec::with_capacity(count),
                rows: Vec::with_capacity(table.rows.len()),
            },
        };
        let Cells { head: heads, rows } = &mut measured.cells;
        rows.resize_with(table.rows.len(), || Vec::with_capacity(count));
        for index in 0..count {
            let decimal = align(table, index) == Align::Decimal;
            let lines = table.rows.iter();
            let numbers = lines.map(|row| number(row.get(index)?, decimal));
            let numbers: Vec<_> = numbers.collect();
            // A column with a long number has all in groups, that their digits stand below each other.
            let grouped = numbers
                .iter()
                .flatten()
                .any(|(n, _)| n.digits() > groups::MOST);
            let mut points = cell::Points::grouped(grouped);
            let mut need = Need {
                body: 0.0,
                body_least: 0.0,
                head: 0.0,
                head_least: 0.0,
                numbers: 0.0,
            };
            let head = table.head.get(index).map_or(&[][..], Vec::as_slice);
            let head = self.words(head, style)?;
            (need.head, need.head_least) = self.extent(&head);
            heads.push(head);
            for ((row, number), cells) in table.rows.iter().zip(numbers).zip(&mut *rows) {
                let inlines = row.get(index).map_or(&[][..], Vec::as_slice);
                let cell = self.cell(inlines, number, grouped, style)?;
                match &cell {
                    Cell::Number(number) => points.include(number),
                    Cell::Text(words) => {
                        let (whole, least) = self.extent(words);
                        need.body = need.body.max(whole);
                        need.body_least = need.body_least.max(least);
                    }
                }
                cells.push(cell);
            }
            let bars = bar_room(table, index, size);
            need.numbers = points.width() + bars;
            need.body = need.body.max(points.width()) + bars;
            need.body_least = need.body_least.max(points.width()) + bars;
            measured.needs.push(need);
            measured.points.push(points);
        }
        Ok(measured)
    }

    fn head(&mut self, head: Vec<Vec<Word>>, frame: &Frame, element: usize) -> Vec<FlowItem> {
        let mut cells = Vec::with_capacity(frame.columns.len());
        for (band, words) in frame.columns.iter().zip(head) {
            let cell = Some(self.element(Role::HeadCell, Some(element), None));
            let fit = if band.align == Align::Left {
                Fit::Ragged
            } else {
                Fit::Centred
            };
            cells.push(self.cell_lines(words, *band, fit, cell));
        }
        let mut slabs = cell::stacked(cells, LEADING * frame.size, true, self.tallest_row());
        let across = |top, thickness| {
            furniture(rule(frame.left, frame.right, top, thickness, Colour::BLACK))
        };
        if let Some(first) = slabs.first_mut() {
            first.lower(OUTER_RULE + 2.4);
            first.items.push(across(0.0, OUTER_RULE));
        }
        if let Some(last) = slabs.last_mut() {
            last.items.push(across(last.height + 2.2, INNER_RULE));
            last.height += 2.2 + INNER_RULE + 1.0;
        }
        slabs
    }

    /// Returns a row taller than this may be divided.
    fn tallest_row(&self) -> f32 {
        0.3 * self.style.text_height()
    }

    fn row(
        &mut self,
        row: &[Vec<Inline>],
        shaped: Vec<Cell>,
        frame: &Frame,
        element: usize,
        named: bool,
    ) -> Result<Vec<FlowItem>, LayoutError> {
        let style = table_style(frame.size);
        let mut cells = Vec::with_capacity(frame.columns.len());
        for (index, (band, cell)) in frame.columns.iter().zip(shaped).enumerate() {
            let inlines = row.get(index).map_or(&[][..], Vec::as_slice);
            let band = &Band {
                width: band.width - band.bars,
                ..*band
            };
            let role = if named && index == 0 && !inlines.is_empty() {
                Role::RowHead
            } else {
                Role::Cell
            };
            let element = Some(self.element(role, Some(element), None));
            let mut lines = match cell {
                Cell::Number(number) if band.points.width() <= band.width + 0.01 => {
                    vec![self.place_number(&number, *band, element)]
                }
                // Too narrow a column even so: numbers are set smaller, since one that is divided is another.
                Cell::Number(_) => {
                    let factor = band.width / band.points.width();
                    let smaller = TextStyle {
                        size: style.size * factor,
                        ..style
                    };
                    let band = Band {
                        points: band.points.times(factor),
                        ..*band
                    };
                    let number = number(inlines, true);
                    match self.cell(inlines, number, band.points.grouped, smaller)? {
                        Cell::Number(number) => {
                            vec![self.place_number(&number, band, element)]
                        }
                        Cell::Text(words) => self.cell_lines(words, band, Fit::Ragged, element),
                    }
                }
                Cell::Text(words) if band.align == Align::Decimal => {
                    self.flush_right(words, *band, element)
                }
                Cell::Text(words) => {
                    let fit = if band.align == Align::Centre {
                        Fit::Centred
                    } else {
                        Fit::Ragged
                    };
                    self.cell_lines(words, *band, fit, element)
                }
            };
            if let (Some(line), Some(share)) = (lines.first_mut(), Table::bar(inlines)) {
                let colour = self.style.accent.on_white(BAR_TINT);
                let left = band.left + band.width + BEFORE_BAR * style.size;
                let (top, height) = (BAR.0 * style.size, BAR.1 * style.size);
                let length = share * WHOLE_BAR * style.size;
                line.items
                    .push(furniture(rectangle(left, top, length, height, colour)));
            }
            cells.push(lines);
        }
        let mut slabs = cell::stacked(cells, LEADING * frame.size, false, self.tallest_row());
        if let Some(first) = slabs.first_mut() {
            first.lower(ROW_PADDING);
        }
        if let Some(last) = slabs.last_mut() {
            last.height += ROW_PADDING;
        }
        Ok(slabs)
    }

    /// Returns the head as furniture, for the pages on which the table goes on.
    fn continued(
        &mut self,
        table: &Table,
        part: Part,
        frame: &Frame,
        head: &[FlowItem],
    ) -> Result<Continued, LayoutError> {
        let text = match (&table.number, part) {
            (Some(number), Part::Whole) => format!("Table {number}, continued"),
            (Some(number), Part::Further) => format!("Table {number}, {FURTHER}, continued"),
            (None, _) => "Continued".to_owned(),
        };
        let style = TextStyle::new(Face::Italic, self.style.small_size, self.style.quiet);
        let words = self.words(&[Inline::Text(text)], style)?;
        let width = frame.right - frame.left;
        let words = fitted(words, width);
        let mut open = Vec::new();
        let mut height = 0.0;
        for line in self.lines(&words, width, Fit::Ragged) {
            let set = self.place(&line.parts, frame.left, 0.0, None);
            height += 1.2 * style.size;
            open.extend(
                set.items
                    .into_iter()
                    .map(|item| shifted(item.mark, height - 0.3 * style.size)),
            );
        }
        height += 1.0;
        for slab in head {
            let marks = slab.items.iter().map(|item| item.mark.clone());
            open.extend(marks.map(|mark| shifted(mark, height)));
            height += slab.height;
        }
        Ok(Continued {
            close: close(frame, 0.0).collect(),
            open,
            height,
        })
    }
}

/// Returns the table with some of its columns only.
fn only(table: &Table, columns: &[usize]) -> Table {
    let of = |row: &Vec<Vec<Inline>>| -> Vec<Vec<Inline>> {
        let cells = columns.iter().map(|&column| row.get(column).cloned());
        cells.map(Option::unwrap_or_default).collect()
    };
    Table {
        caption: table.caption.clone(),
        label: table.label.clone(),
        number: table.number.clone(),
        columns: columns.iter().map(|&column| align(table, column)).collect(),
        head: of(&table.head),
        rows: table.rows.iter().map(of).collect(),
    }
}

fn table_style(size: f32) -> TextStyle {
    let forms = Forms {
        tabular: true,
        ..Forms::default()
    };
    TextStyle {
        forms,
        ..TextStyle::new(Face::Regular, size, Colour::BLACK)
    }
}

fn align(table: &Table, index: usize) -> Align {
    table.columns.get(index).copied().unwrap_or(Align::Left)
}

/// Returns the number that a cell of a column of numbers is, if it is one.
fn number(cell: &[Inline], decimal: bool) -> Option<(Number<'_>, Wrapping)> {
    let (text, wrapping) = plain(cell).filter(|_| decimal)?;
    Some((Number::read(text)?, wrapping))
}

/// Returns how rows are bound to those above.
fn bonds(table: &Table) -> Vec<Bond> {
    let whole = if table.rows.len() < DOZEN {
        Bond::Table
    } else {
        Bond::LongTable
    };
    let named = table.head.first().is_some_and(|head| !head.is_empty());
    let name = |row: &Vec<Vec<Inline>>| row.first().map(|cell| plain_text(cell));
    // A name stands once, beside the first of the rows that are about it.
    let same = |pair: &[Vec<Vec<Inline>>]| match (name(&pair[0]), name(&pair[1])) {
        (Some(above), Some(below)) => {
            (named && below.is_empty()) || (!below.is_empty() && above == below)
        }
        _ => false,
    };
    let others = table
        .rows
        .windows(2)
        .map(|pair| if same(pair) { Bond::Rows } else { whole });
    std::iter::once(whole).chain(others).collect()
}

/// Returns the width that bars take in a column, with the gap before them.
fn bar_room(table: &Table, column: usize, size: f32) -> f32 {
    let mut cells = table.rows.iter().filter_map(|row| row.get(column));
    if cells.any(|cell| Table::bar(cell).is_some()) {
        (BEFORE_BAR + WHOLE_BAR) * size
    } else {
        0.0
    }
}

fn close(frame: &Frame, top: f32) -> impl Iterator<Item = Mark> + use<> {
    std::iter::once(rule(
        frame.left,
        frame.right,
        top,
        OUTER_RULE,
        Colour::BLACK,
    ))
}

fn furniture(mark: Mark) -> Item {
    Item {
        mark,
        element: None,
    }
}

fn shifted(mut mark: Mark, dy: f32) -> Mark {
    shift(&mut mark, 0.0, dy);
    mark
}
