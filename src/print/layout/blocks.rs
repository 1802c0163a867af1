//! Blocks as strips: headings, paragraphs, lists, panels, listings, figures.

use std::borrow::Borrow;
use std::sync::Arc;

use super::contents::section_label;
use super::flow_item::{FlowItem, PanelGround, Start, scaled, shift};
use super::paragraph::Fit;
use super::table::DOZEN;
use super::words::TextStyle;
use super::{Column, LayoutError, Layouter, ROOT};
use crate::print::figure::{self, Drawing};
use crate::print::manuscript::plot::Plot;
use crate::print::manuscript::said::{heading_number, plain_text, refers_to};
use crate::print::manuscript::{Block, Figure, Heading, Inline, ListMarks, Photo, Shown};
use crate::print::page::{Colour, Face, Item, Mark, Picture, Role};

/// The size of an answer, in sizes of the text.
const ANSWER: f32 = 1.6;
/// Room between a panel's edge and what is in it, points.
const PANEL_PADDING: f32 = 7.0;
/// Gaps within a panel, whose parts belong together, over those elsewhere.
const PANEL_GAPS: f32 = 0.6;
/// Room between a panel's sides and its text.
const PANEL_SIDE: f32 = 11.0;
/// A panel lower than this share of a page is not divided.
const PANEL_WHOLE: f32 = 0.45;
/// A figure takes at most this share of the height of a page.
const FIGURE_SHARE: f32 = 0.55;
/// And of the measure.
const FIGURE_WIDTH: f32 = 0.88;
/// Size of running text beside which the text of a plot is as large as it is drawn, points.
const DRAWN_FOR: f32 = 10.0;
/// How much smaller the letters of a plot that has no room for them are set at a time, and how often at most.
const SMALLER: f32 = 0.9;
const MOST_SMALLER: i32 = 8;
/// Pixels of a photograph to the inch, fewer of which would be seen one by one.
const COARSEST: f32 = 100.0;
/// A list of so many lines stays with the table below it.
const SHORT_LIST: usize = 3;
/// Indent of what stands in a list.
const LIST_INDENT: f32 = 15.0;

impl Layouter<'_> {
    /// Sets blocks one below the other.
    pub(super) fn blocks(
        &mut self,
        blocks: impl IntoIterator<Item = impl Borrow<Block>>,
        column: Column,
        parent: usize,
    ) -> Result<Vec<FlowItem>, LayoutError> {
        let mut slabs = Vec::new();
        let mut leads_on = false;
        // A heading, a sentence below it, and what introduces the rest: none of them is left behind.
        let (mut heading, mut lead) = (false, false);
        // Nor is a single line above a list or a table, or a short list above a table: they say what follows.
        let mut line = false;
        let mut short_list = 0..0;
        let mut new_page = false;
        let mut labels = Vec::new();
        for block in blocks {
            let block = block.borrow();
            match block {
                Block::NewPage => {
                    new_page = true;
                    continue;
                }
                Block::Label(label) => {
                    labels.push(label.clone());
                    continue;
                }
                _ => {}
            }
            let mut set = self.block(block, column, parent)?;
            if let Some(first) = set.first_mut() {
                let listed = matches!(block, Block::List { .. } | Block::Table(_));
                first.kept |= leads_on || (lead && introduces(block)) || (line && listed);
                if matches!(block, Block::Table(_)) && !short_list.is_empty() {
                    first.kept = true;
                    let lines: &mut [FlowItem] = &mut slabs[short_list];
                    lines.iter_mut().skip(1).for_each(|line| line.kept = true);
                }
                first.new_page = std::mem::take(&mut new_page);
                first.labels.append(&mut labels);
            }
            if parent == ROOT {
                let start = self.start(block, &set);
                if let Some(first) = set.first_mut() {
                    first.start = start;
                }
            }
            leads_on = matches!(block, Block::Heading(_) | Block::Answer(_)) || introduces(block);
            lead = heading && matches!(block, Block::Paragraph(_));
            heading = matches!(block, Block::Heading(_));
            line = matches!(block, Block::Paragraph(_) | Block::List { .. }) && set.len() == 1;
            let is_short = matches!(block, Block::List { .. }) && set.len() <= SHORT_LIST;
            let end = if is_short { set.len() } else { 0 };
            short_list = slabs.len()..slabs.len() + end;
            slabs.extend(set);
        }
        if !labels.is_empty() {
            // What is named shows nothing; links to it still lead there.
            slabs.push(FlowItem {
                labels,
                ..FlowItem::default()
            });
        }
        Ok(slabs)
    }

    /// Returns what the strips of a block of the document begin.
    ///
    /// Text passes a figure or an undivided table that it refers to, or that refers to an equation or another table:
    /// of others, only their place says what they belong to.
    fn start(&self, block: &Block, set: &[FlowItem]) -> Start {
        if set.first().is_some_and(|first| first.new_page) {
            return Start::Stops;
        }
        let (label, whole) = match block {
            Block::Figure(figure) => (&figure.label, true),
            Block::Table(table) => (&table.label, table.rows.len() < DOZEN),
            Block::Heading(heading) if heading.level == 1 => return Start::Stops,
            _ => return Start::Passes,
        };
        let referred = |label: &String| self.referred.contains(label.as_str());
        let named = label.as_ref().is_some_and(referred) || !refers_to(block).is_empty();
        let height: f32 = set.iter().map(|strip| strip.before + strip.height).sum();
        if named && whole && height <= self.style.text_height() {
            Start::Floats(set.len())
        } else {
            Start::Stops
        }
    }

    fn block(
        &mut self,
        block: &Block,
        column: Column,
        parent: usize,
    ) -> Result<Vec<FlowItem>, LayoutError> {
        match block {
            Block::Heading(heading) => self.heading(heading, column, parent),
            Block::Paragraph(text) => {
                let set = (self.style.text_size, self.style.leading, Fit::Justified);
                self.text(text, set, column, parent)
            }
            Block::Answer(text) => {
                let size = ANSWER * self.style.text_size;
                self.text(text, (size, 1.2 * size, Fit::Ragged), column, parent)
            }
            Block::List { marks, items } => self.list(*marks, items, column, parent),
            Block::Panel(blocks) => self.panel(blocks, column, parent),
            Block::Table(table) => self.table(table, column, parent),
            Block::Figure(figure) => self.figure(figure, column, parent),
            Block::Formula(formula) => Ok(self.formula(formula, column, parent)),
            Block::Listing(text) => Ok(self.listing(text, column, parent)),
            Block::Contents => self.contents(column, parent),
            Block::Label(_) | Block::NewPage => Ok(Vec::new()),
        }
    }

    /// Returns a paragraph of a size, in points, with its lines so far apart.
    fn text(
        &mut self,
        text: &[Inline],
        (size, leading, fit): (f32, f32, Fit),
        column: Column,
        parent: usize,
    ) -> Result<Vec<FlowItem>, LayoutError> {
        let element = self.element(Role::Paragraph, Some(parent), None);
        let words = self.words(text, TextStyle::new(Face::Regular, size, Colour::BLACK))?;
        let mut slabs = self.paragraph(words, column, leading, fit, element);
        spaced(&mut slabs, self.style.paragraph_gap);
        Ok(slabs)
    }

    fn heading(
        &mut self,
        heading: &Heading,
        column: Column,
        parent: usize,
    ) -> Result<Vec<FlowItem>, LayoutError> {
        let text_size = self.style.text_size;
        let (size, face, before, after) = match heading.level {
            1 => (1.35 * text_size, Face::Bold, 14.0, 5.0),
            2 => (1.12 * text_size, Face::Bold, 10.0, 3.0),
            _ => (text_size, Face::Italic, 9.0, 3.0),
        };
        // The title is the only heading of level 1.
        let role = Role::Heading(heading.level.saturating_add(1).clamp(2, 6));
        let element = self.element(role, Some(parent), None);
        let mut text = Vec::with_capacity(heading.text.len() + 1);
        if let Some(number) = heading_number(heading) {
            text.push(Inline::Text(format!("{number}\u{2003}")));
        }
        text.extend_from_slice(&heading.text);
        let words = self.words(&text, TextStyle::new(face, size, self.style.accent))?;
        let mut slabs = self.paragraph(words, column, 1.2 * size, Fit::Balanced, element);
        for slab in slabs.iter_mut().skip(1) {
            slab.kept = true;
        }
        if let Some(last) = slabs.last_mut() {
            last.after = after;
        }
        if heading.level == 1 {
            self.sections += 1;
        }
        if let Some(first) = slabs.first_mut() {
            first.before = before;
            first.labels.extend(heading.label.clone());
            if heading.level == 1 && !self.listed.is_empty() {
                first.labels.push(section_label(self.sections));
            }
            let number = heading
                .number
                .as_ref()
                .map(|number| format!("{} ", number.text))
                .unwrap_or_default();
            first.outline = Some((
                format!("{number}{}", plain_text(&heading.text)),
                heading.level.max(1),
            ));
        }
        Ok(slabs)
    }

    fn list(
        &mut self,
        marks: ListMarks,
        items: &[Vec<Block>],
        column: Column,
        parent: usize,
    ) -> Result<Vec<FlowItem>, LayoutError> {
        let list = self.element(Role::List, Some(parent), None);
        let style = TextStyle::new(Face::Regular, self.style.text_size, Colour::BLACK);
        let mut slabs = Vec::new();
        let widest = marks.mark(items.len()) + "\u{a0}";
        let label_width: f32 = self.pieces(&widest, style).map(|piece| piece.width).sum();
        let inner = column.inset(LIST_INDENT.max(label_width + 2.0), 0.0);
        for (index, blocks) in items.iter().enumerate() {
            let item = self.element(Role::ListItem, Some(list), None);
            let label = self.element(Role::ListLabel, Some(item), None);
            let body = self.element(Role::ListBody, Some(item), None);
            let words = self.words(&[Inline::Text(marks.mark(index + 1))], style)?;
            let gutter = Column {
                left: column.left,
                width: inner.left - column.left,
            };
            let label = self.paragraph(words, gutter, self.style.leading, Fit::Ragged, label);
            let mut set = self.blocks(blocks, inner, body)?;
            if set.is_empty() {
                set.push(FlowItem {
                    height: self.style.leading,
                    ..FlowItem::default()
                });
            }
            // Items of one paragraph stand close together.
            let shown = blocks
                .iter()
                .filter(|block| !matches!(block, Block::Label(_)));
            let gap = if shown.count() > 1 {
                self.style.paragraph_gap
            } else {
                1.5
            };
            if let (Some(first), Some(label)) = (set.first_mut(), label.into_iter().next()) {
                let mut items = label.items;
                // What stands in the first line may be tall.
                let lower = baseline(&first.items).zip(baseline(&items));
                let lower = lower.map_or(0.0, |(line, label)| (line - label).max(0.0));
                let by = if matches!(blocks.first(), Some(Block::Paragraph(_))) {
                    lower
                } else {
                    0.0
                };
                for item in &mut items {
                    shift(&mut item.mark, 0.0, by);
                }
                first.items.splice(0..0, items);
                first.before = gap;
            }
            if let Some(last) = set.last_mut() {
                last.after = gap;
            }
            if let [line] = &mut set[..] {
                // As with the lines of a paragraph, neither the first nor the last of them stands alone.
                line.kept = index == 1 || index > 0 && index + 1 == items.len();
            }
            slabs.extend(set);
        }
        spaced(&mut slabs, self.style.paragraph_gap);
        Ok(slabs)
    }

    fn panel(
        &mut self,
        blocks: &[Block],
        column: Column,
        parent: usize,
    ) -> Result<Vec<FlowItem>, LayoutError> {
        let element = self.element(Role::Panel, Some(parent), None);
        let mut inside = self.blocks(blocks, column.inset(PANEL_SIDE, PANEL_SIDE), element)?;
        if inside.is_empty() {
            return Ok(inside);
        }
        for slab in &mut inside {
            slab.before *= PANEL_GAPS;
            slab.after *= PANEL_GAPS;
        }
        self.panels += 1;
        let ground = PanelGround {
            number: self.panels,
            left: column.left,
            right: column.left + column.width,
        };
        let padding = FlowItem {
            height: PANEL_PADDING,
            ..FlowItem::default()
        };
        let mut slabs = Vec::with_capacity(inside.len() + 2);
        slabs.push(FlowItem {
            before: self.style.display_gap,
            ..padding.clone()
        });
        slabs.extend(inside);
        slabs.push(FlowItem {
            kept: true,
            after: self.style.display_gap,
            ..padding
        });
        let height: f32 = slabs.iter().map(|slab| slab.height + slab.before).sum();
        let whole = height < PANEL_WHOLE * self.style.text_height();
        let count = slabs.len();
        for (index, slab) in slabs.iter_mut().enumerate() {
            slab.panel.get_or_insert(ground);
            slab.kept |= index == 1 || (whole && index > 0);
            // The ground's own padding is all that stands at its edges.
            if index == 1 {
                slab.before = 0.0;
            }
            if index + 2 == count {
                slab.after = 0.0;
            }
        }
        Ok(slabs)
    }

    /// Returns a plot in the middle of the column, its text in proportion to that around it.
    fn plot(&self, plot: &Plot, column: Column) -> Result<Drawing, LayoutError> {
        let tallest = FIGURE_SHARE * self.style.text_height();
        let width = |share: f32| match plot.aspect() {
            Some(aspect) if aspect > 0.0 => (share * column.width).min(tallest / aspect as f32),
            _ => share * column.width,
        };
        let lettering = self.style.text_size / DRAWN_FOR;
        let draw = |width: f32, times: f32| {
            let drawn = figure::draw(plot, width / times, self.style.accent, self.typefaces)?;
            let marks = drawn.marks.iter().map(|mark| scaled(mark, times));
            Ok(Drawing {
                width,
                height: drawn.height * times,
                marks: marks.collect(),
            })
        };
        let mut drawing = draw(width(FIGURE_WIDTH), lettering);
        // Large letters in a narrow column may leave no room for what they name: then all of the column is taken, and at
        // last they are set smaller.
        for step in 0..=MOST_SMALLER {
            if !matches!(drawing, Err(figure::FigureError::NoRoom { .. })) {
                break;
            }
            drawing = draw(width(1.0), lettering * SMALLER.powi(step));
        }
        let mut drawing = drawing.map_err(LayoutError::Figure)?;
        let x = column.left + (column.width - drawing.width) / 2.0;
        for mark in &mut drawing.marks {
            shift(mark, x, 0.0);
        }
        Ok(drawing)
    }

    /// Returns a photograph in the middle of the column, as large as there is room; one of few pixels is set smaller.
    fn photograph(&self, photo: &Photo, column: Column) -> Picture {
        let (columns, rows) = (photo.pixels.columns as f32, photo.pixels.rows as f32);
        let (_, highest) = self.style.photograph();
        let side = (column.width / columns)
            .min(highest / rows)
            .min(72.0 / COARSEST);
        let (width, height) = (side * columns, side * rows);
        Picture {
            pixels: Arc::clone(&photo.pixels),
            x: column.left + (column.width - width) / 2.0,
            y: 0.0,
            width,
            height,
        }
    }

    fn figure(
        &mut self,
        figure: &Figure,
        column: Column,
        parent: usize,
    ) -> Result<Vec<FlowItem>, LayoutError> {
        let (alternative, marks, height) = match &figure.shows {
            Shown::Plot(plot) => {
                let drawing = self.plot(plot, column)?;
                (&plot.alternative, drawing.marks, drawing.height)
            }
            Shown::Photo(photo) => {
                let picture = self.photograph(photo, column);
                let height = picture.height;
                (&photo.alternative, vec![Mark::Picture(picture)], height)
            }
        };
        let element = self.element(Role::Figure, Some(parent), Some(alternative.clone()));
        let items = marks
            .into_iter()
            .map(|mark| Item {
                mark,
                element: Some(element),
            })
            .collect();
        let gap = self.style.display_gap;
        let mut slabs = vec![FlowItem {
            before: gap,
            height,
            after: 5.0,
            items,
            ..FlowItem::default()
        }];
        slabs[0].labels.extend(figure.label.clone());
        if let Some(number) = figure.number {
            let caption = self.element(Role::Caption, Some(element), None);
            let lines = self.caption(
                &format!("Figure {number}."),
                &figure.caption,
                column,
                caption,
            )?;
            slabs.extend(
                lines
                    .into_iter()
                    .map(|line| FlowItem { kept: true, ..line }),
            );
        }
        if let Some(last) = slabs.last_mut() {
            last.after = gap;
        }
        Ok(slabs)
    }
}

/// Returns the baseline of the first glyphs among some marks.
fn baseline(items: &[Item]) -> Option<f32> {
    items.iter().find_map(|item| match &item.mark {
        Mark::Glyphs(run) => Some(run.y),
        _ => None,
    })
}

/// A bold text of no more characters than this, alone in its paragraph, is a lead.
const LONGEST_LEAD: usize = 60;

/// Returns whether a paragraph leads into what comes next: it ends in a colon, or is a few words in bold.
fn introduces(block: &Block) -> bool {
    match block {
        Block::Paragraph(text) => match text.as_slice() {
            [Inline::Strong(inside)] => plain_text(inside).chars().count() <= LONGEST_LEAD,
            [.., Inline::Text(last)] => last.ends_with(':'),
            _ => false,
        },
        _ => false,
    }
}

/// Sets a distance above and below.
pub(super) fn spaced(slabs: &mut [FlowItem], gap: f32) {
    if let Some(first) = slabs.first_mut() {
        first.before = first.before.max(gap);
    }
    if let Some(last) = slabs.last_mut() {
        last.after = last.after.max(gap);
    }
}
