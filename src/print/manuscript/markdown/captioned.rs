//! What bears a caption: tables and figures.

use std::ops::Range;

use pulldown_cmark::{Alignment, Event, Tag, TagEnd};

use super::inline::{Kind, Opening};
use super::{Read, Reader};
use crate::print::manuscript::{Align, Block, Figure, Inline, Shown, Table};
use crate::problem::{Code, Problem, Span};

/// A caption that waits for what it describes.
pub(super) struct Caption {
    pub(super) opening: Opening,
    pub(super) text: Vec<Inline>,
    pub(super) span: Span,
}

/// In a head, a unit is not broken off the stroke before it: *ρ* / (g/mL).
fn bind_units(head: &mut [Inline]) {
    for inline in head {
        if let Inline::Text(text) = inline {
            *text = text.replace(" / ", " /\u{a0}");
        }
    }
}

impl Reader<'_> {
    pub(super) fn caption_misplaced(&mut self, caption: &Caption) {
        let what = if caption.opening.kind == Kind::Table {
            "table"
        } else {
            "plot"
        };
        let headline = format!("a {what}'s caption is not followed by a {what}");
        self.problems.push(
            Code::CaptionMisplaced
                .error(headline)
                .at("", Some(caption.span.clone())),
        );
    }

    pub(super) fn caption_for(&mut self, kind: Kind, caption: Option<Caption>) -> Option<Caption> {
        let caption = caption?;
        if caption.opening.kind == kind {
            return Some(caption);
        }
        self.caption_misplaced(&caption);
        None
    }

    /// If the paragraph that has begun holds one image and nothing else, takes it: its address and place.
    pub(super) fn lone_image(&mut self) -> Option<(String, Range<usize>)> {
        let Some((Event::Start(Tag::Image { dest_url, .. }), range)) = self.events.peek() else {
            return None;
        };
        let (name, range) = (dest_url.to_string(), range.clone());
        self.events.next();
        let mut inside = true;
        let mut trailing = false;
        for (event, _) in self.events.by_ref() {
            match event {
                Event::End(TagEnd::Image) => inside = false,
                Event::End(TagEnd::Paragraph) => break,
                _ if !inside => trailing = true,
                _ => {}
            }
        }
        if trailing {
            self.problem(
                Code::TextBesideImage,
                "an image must stand alone in its paragraph",
                &range,
            );
        }
        Some((name, range))
    }

    pub(super) fn figure(
        &mut self,
        address: &str,
        range: &Range<usize>,
        caption: Option<Caption>,
    ) -> Read {
        let shows = match self.shown(address) {
            Ok(shows) => shows,
            Err(problem) => {
                let span = self.locate(range);
                self.problems.push(problem.at("", Some(span)).read(address));
                return Read::Nothing;
            }
        };
        let number = caption.is_some().then(|| self.numbering.figure());
        let (caption, label) = caption
            .map(|c| (c.text, c.opening.label))
            .unwrap_or_default();
        Read::Block(Block::Figure(Figure {
            caption,
            label,
            number,
            shows,
        }))
    }

    /// Returns what an image's address names; a problem without its place where it names nothing.
    fn shown(&self, address: &str) -> Result<Shown, Problem> {
        if let Some(number) = address.strip_prefix("photo:") {
            let photo = number
                .parse::<usize>()
                .ok()
                .and_then(|number| self.photos.get(number.checked_sub(1)?));
            return photo.cloned().map(Shown::Photo).ok_or_else(|| {
                let problem = Code::UnknownPhoto
                    .error("an image names a photograph that this report does not have");
                match self.photos.len() {
                    0 => problem.right("a run file that names photographs"),
                    1 => problem.right("photo:1"),
                    last => problem.right(format!("photo:1 to photo:{last}")),
                }
            });
        }
        let plot = address
            .strip_prefix("plot:")
            .and_then(|name| self.plots.get(name));
        plot.map(|plot| Shown::Plot(Box::new(plot.clone())))
            .ok_or_else(|| {
                let known = self.plots.keys().map(|name| format!("plot:{name}"));
                let known = known.collect::<Vec<_>>().join(", ");
                let problem =
                    Code::UnknownPlot.error("an image names a plot that this report does not have");
                if known.is_empty() {
                    problem
                } else {
                    problem.right(format!("one of {known}"))
                }
            })
    }

    /// A row must have as many cells as the head: what is over would be dropped, and what lacks would be blank.
    fn check_row(&mut self, row: &Range<usize>, last_cell: &Range<usize>, wanted: usize) {
        let over = self.text.get(last_cell.end..row.end).unwrap_or_default();
        let over = over.trim_start_matches('|').trim();
        // A cell that is not written is said to stand behind the row.
        let fewer = last_cell.start >= row.end;
        if !fewer && over.is_empty() {
            return;
        }
        let what = if fewer { "fewer" } else { "more" };
        let headline = format!("a row of a table has {what} cells than its heading");
        let span = self.locate(row);
        self.problems.push(
            Code::CellsDiffer
                .error(headline)
                .at("", Some(span))
                .right(format!("{wanted} cells, as in the heading")),
        );
    }

    pub(super) fn table(&mut self, alignments: &[Alignment], caption: Option<Caption>) -> Table {
        let columns = alignments
            .iter()
            .map(|alignment| match alignment {
                Alignment::None | Alignment::Left => Align::Left,
                Alignment::Center => Align::Centre,
                Alignment::Right => Align::Decimal,
            })
            .collect();
        let mut head = Vec::new();
        let mut rows: Vec<Vec<Vec<Inline>>> = Vec::new();
        let mut in_head = false;
        // Where the row stands, and its last cell so far.
        let (mut row_at, mut cell_at) = (0..0, 0..0);
        while let Some((event, range)) = self.events.next() {
            match event {
                Event::Start(Tag::TableHead) => in_head = true,
                Event::End(TagEnd::TableHead) => in_head = false,
                Event::Start(Tag::TableRow) => {
                    rows.push(Vec::new());
                    row_at = range;
                }
                Event::End(TagEnd::TableRow) => self.check_row(&row_at, &cell_at, head.len()),
                Event::Start(Tag::TableCell) => {
                    cell_at = range;
                    let mut cell = self.inlines();
                    if in_head {
                        bind_units(&mut cell);
                    }
                    match rows.last_mut() {
                        Some(row) if !in_head => row.push(cell),
                        _ => head.push(cell),
                    }
                }
                Event::End(TagEnd::Table) => break,
                _ => {}
            }
        }
        let number = caption.is_some().then(|| self.numbering.table());
        let (caption, label) = caption
            .map(|c| (c.text, c.opening.label))
            .unwrap_or_default();
        Table {
            caption,
            label,
            number,
            columns,
            head,
            rows,
        }
    }
}
