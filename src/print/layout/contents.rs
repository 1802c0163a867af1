//! The list of contents: a line for each section that follows, with the page on which it begins.
//!
//! It is set with its lines' ends left open. When all strips are known, their heights alone are sent through the flow,
//! which tells on which pages sections begin; then the ends are filled in, or the list is taken out of a short document.

use std::borrow::Cow;
use std::ops::Range;

use super::fitting::fitted;
use super::flow::flow;
use super::flow_item::{FlowItem, PendingLink, TocEntry};
use super::line::Part;
use super::paragraph::Fit;
use super::words::TextStyle;
use super::{Column, LayoutError, Layouter};
use crate::print::manuscript::said::plain_text;
use crate::print::manuscript::{Heading, Inline};
use crate::print::page::{Colour, Face, Item, Mark, Role, Shape, Step, Stroke};

/// A document of no more pages than this is seen through without a list.
const SHORT: usize = 12;
/// Fewer sections than this stand in one column.
const FEWEST_IN_TWO: usize = 5;
/// No more than this stand in one column of a strip, so that a page can end between strips.
const MOST_IN_COLUMN: usize = 20;
/// Between the columns, points.
const GUTTER: f32 = 26.0;
/// Between the number of a section and its title.
const AFTER_NUMBER: f32 = 8.0;
/// Between the end of a title, or the number of the page, and the dots.
const AROUND_DOTS: f32 = 4.0;
/// Title and dots leave so much for the number of the page.
const PAGE_ROOM: f32 = 30.0;
/// From baseline to baseline, in sizes.
const LEADING: f32 = 1.32;

/// A section as a list of contents names it.
#[derive(Debug, Clone)]
pub(super) struct Listed {
    /// The label that [`section_label`] gives it.
    label: String,
    number: String,
    title: Vec<Inline>,
}

/// Returns the label of a section by its number among all, from 1. No label that is written has a blank.
pub(super) fn section_label(number: usize) -> String {
    format!("section {number}")
}

/// Returns what lists of contents name.
pub(super) fn list(sections: Vec<(usize, &Heading)>) -> Vec<Listed> {
    sections
        .into_iter()
        .map(|(number, heading)| Listed {
            label: section_label(number),
            number: heading
                .number
                .as_ref()
                .map_or_else(String::new, |number| number.text.clone()),
            title: heading.text.clone(),
        })
        .collect()
}

impl Layouter<'_> {
    /// Returns the list, the ends of its lines open.
    pub(super) fn contents(
        &mut self,
        column: Column,
        parent: usize,
    ) -> Result<Vec<FlowItem>, LayoutError> {
        if self.listed.is_empty() {
            return Ok(Vec::new());
        }
        let first = self.structure.len();
        let title = TextStyle::new(Face::Bold, self.style.text_size, self.style.accent);
        let element = self.element(Role::Paragraph, Some(parent), None);
        let words = self.words(&[Inline::Text("Contents".to_owned())], title)?;
        let mut slabs = self.paragraph(words, column, 1.2 * title.size, Fit::Ragged, element);
        let list = self.element(Role::Contents, Some(parent), None);
        let listed = std::mem::take(&mut self.listed);
        let columns = if listed.len() < FEWEST_IN_TWO { 1 } else { 2 };
        let width = (column.width - GUTTER * (columns - 1) as f32) / columns as f32;
        let widest = listed.iter().fold(0.0, |widest: f32, entry| {
            widest.max(self.width_of(&entry.number, self.entry_style()))
        });
        let indent = if widest > 0.0 {
            widest + AFTER_NUMBER
        } else {
            0.0
        };
        for strip in listed.chunks(columns * MOST_IN_COLUMN) {
            let mut slab = FlowItem {
                kept: true,
                ..FlowItem::default()
            };
            for (index, entries) in strip.chunks(strip.len().div_ceil(columns)).enumerate() {
                let column = Column {
                    left: column.left + index as f32 * (width + GUTTER),
                    width,
                };
                let mut y = 0.0;
                for entry in entries {
                    y = self.entry(entry, (column, indent), y, list, &mut slab)?;
                }
                slab.height = slab.height.max(y);
            }
            slabs.push(slab);
        }
        self.listed = listed;
        if let Some(first) = slabs.first_mut() {
            first.before = self.style.display_gap;
            first.after = 3.0;
        }
        if let Some(last) = slabs.last_mut() {
            last.after = self.style.display_gap;
        }
        for slab in &mut slabs {
            slab.contents = true;
        }
        self.lists.push(first..self.structure.len());
        Ok(slabs)
    }

    /// Returns a line of the list, or several of a long title, from `top` on; returns where the next may begin.
    fn entry(
        &mut self,
        entry: &Listed,
        (column, indent): (Column, f32),
        top: f32,
        list: usize,
        slab: &mut FlowItem,
    ) -> Result<f32, LayoutError> {
        let style = self.entry_style();
        let item = self.element(Role::ContentsItem, Some(list), None);
        let reference = self.element(Role::Reference, Some(item), None);
        let element = self.element(Role::Link, Some(reference), None);
        let mut baseline = top + style.size;
        if !entry.number.is_empty() {
            let pieces = self.pieces(&entry.number, style);
            let mut parts: Vec<Part<'_>> =
                pieces.map(|piece| Part::Piece(Cow::Owned(piece))).collect();
            parts.push(Part::Space(style));
            let set = self.place(&parts, column.left, 0.0, Some(element));
            slab.take(set, baseline);
        }
        let words = self.words(&unlinked(&entry.title), style)?;
        let measure = (column.width - indent - PAGE_ROOM).max(1.0);
        let words = fitted(words, measure);
        let lines = self.lines(&words, measure, Fit::Ragged);
        let mut end = column.left + indent;
        let count = lines.len();
        for (index, line) in lines.into_iter().enumerate() {
            if index > 0 {
                baseline += LEADING * style.size;
            }
            let mut parts = line.with_last_space();
            end = column.left + indent + self.width(&parts);
            if index + 1 == count {
                parts.push(Part::Space(style));
            }
            let set = self.place(&parts, column.left + indent, 0.0, Some(element));
            slab.take(set, baseline);
        }
        let bottom = baseline + (LEADING - 1.0) * style.size;
        slab.open_ends.push(TocEntry {
            label: entry.label.clone(),
            said: format!("{} {}", entry.number, plain_text(&entry.title))
                .trim()
                .to_owned(),
            area: [column.left, top, column.left + column.width, bottom],
            baseline,
            end,
            at: slab.items.len(),
            element,
        });
        Ok(bottom)
    }

    /// Fills in what lists of contents leave open, or takes the lists out of a document that is short without them.
    pub(super) fn close_contents(&mut self, slabs: Vec<FlowItem>) -> Vec<FlowItem> {
        if self.lists.is_empty() {
            return slabs;
        }
        let bare = || slabs.iter().map(FlowItem::bare).collect();
        if flow(without(bare()), self.style).pages.len() <= SHORT {
            return self.without_contents(slabs);
        }
        let places = flow(bare(), self.style).labels;
        let mut slabs = slabs;
        for slab in &mut slabs {
            // From the last on, so that the places of the others stay what they are.
            for open in std::mem::take(&mut slab.open_ends).into_iter().rev() {
                if let Some((page, _)) = places.get(&open.label) {
                    self.fill_page_number(open, page + 1, slab);
                }
            }
            if slab.contents {
                slab.links.reverse();
            }
        }
        slabs
    }

    fn entry_style(&self) -> TextStyle {
        TextStyle::new(Face::Regular, self.style.small_size, Colour::BLACK)
    }

    fn fill_page_number(&mut self, open: TocEntry, page: usize, slab: &mut FlowItem) {
        let style = self.entry_style();
        let pieces = self.pieces(&page.to_string(), style);
        let parts: Vec<Part<'_>> = pieces.map(|piece| Part::Piece(Cow::Owned(piece))).collect();
        let right = open.area[2];
        let x = right - self.width(&parts);
        let set = self.place(&parts, x, 0.0, Some(open.element));
        let mut line = FlowItem::default();
        line.take(set, open.baseline);
        slab.items.splice(open.at..open.at, line.items);
        let (from, to) = (open.end + AROUND_DOTS, x - AROUND_DOTS);
        if from < to {
            slab.items.push(Item {
                mark: dots(from, to, open.baseline - 0.6, self.style.quiet),
                element: None,
            });
        }
        slab.links.push(PendingLink {
            area: open.area,
            label: open.label,
            description: format!("{}, page {page}", open.said),
            element: open.element,
        });
    }

    /// Returns the strips without lists of contents, and the structure without their elements.
    fn without_contents(&mut self, slabs: Vec<FlowItem>) -> Vec<FlowItem> {
        let mut gone = std::mem::take(&mut self.lists);
        // From the last on, so that the others still are where they were.
        gone.reverse();
        for gone in &gone {
            self.structure.drain(gone.clone());
            for parent in self.structure.iter_mut().filter_map(|e| e.parent.as_mut()) {
                *parent = moved(*parent, gone);
            }
        }
        let mut left = without(slabs);
        for slab in &mut left {
            for gone in &gone {
                for element in slab
                    .items
                    .iter_mut()
                    .filter_map(|item| item.element.as_mut())
                {
                    *element = moved(*element, gone);
                }
                for link in &mut slab.links {
                    link.element = moved(link.element, gone);
                }
            }
        }
        left
    }
}

/// Returns the strips that are no part of a list of contents. What would have begun a page with the list begins it
/// without.
fn without(slabs: Vec<FlowItem>) -> Vec<FlowItem> {
    let mut left = Vec::with_capacity(slabs.len());
    let mut new_page = false;
    for mut slab in slabs {
        new_page |= slab.new_page;
        if !slab.contents {
            slab.new_page = std::mem::take(&mut new_page);
            left.push(slab);
        }
    }
    left
}

/// Returns the number of an element once some before it are gone.
fn moved(element: usize, gone: &Range<usize>) -> usize {
    if element >= gone.end {
        element - gone.len()
    } else {
        element
    }
}

/// Returns a title as text without links: all of its line is one.
fn unlinked(title: &[Inline]) -> Vec<Inline> {
    let mut left = Vec::with_capacity(title.len());
    for inline in title {
        left.push(match inline {
            Inline::Linked { text, .. } => {
                left.extend(unlinked(text));
                continue;
            }
            Inline::Reference(_) | Inline::Number(_) | Inline::Tick | Inline::WriteIn(_) => {
                continue;
            }
            Inline::LineEnd => Inline::Text(" ".to_owned()),
            Inline::Emphasis(inside) => Inline::Emphasis(unlinked(inside)),
            Inline::Strong(inside) => Inline::Strong(unlinked(inside)),
            Inline::Struck(inside) => Inline::Struck(unlinked(inside)),
            Inline::Text(_) | Inline::Code(_) | Inline::Math(_) | Inline::Share { .. } => {
                inline.clone()
            }
        });
    }
    left
}

/// Returns a row of dots, which leads the eye and says nothing.
fn dots(from: f32, to: f32, y: f32, colour: Colour) -> Mark {
    /// From dot to dot, points.
    const STEP: f32 = 4.0;
    // On one grid for all lines, so that dots stand one below the other.
    let from = (from / STEP).ceil() * STEP;
    Mark::Shape(Shape {
        steps: vec![Step::Move(from, y), Step::Line(to.max(from + 0.1), y)],
        fill: None,
        stroke: Some(Box::new(Stroke {
            colour,
            width: 0.6,
            dashes: vec![0.6, STEP - 0.6],
        })),
    })
}
