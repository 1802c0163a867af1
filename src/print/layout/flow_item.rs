//! What the passes hand to the flow: strips of fixed height, one below the other.

use std::rc::Rc;

use crate::print::page::{Colour, GlyphRun, Item, Mark, Shape, Step, Stroke};

/// A strip across the column that is never divided: a line, a row of a table, a figure.
///
/// Its marks count y from the strip's top; x is already that of the page.
#[derive(Debug, Clone, Default)]
pub(super) struct FlowItem {
    /// Least distance to the strip above; the larger of this and that one's `after` counts.
    pub before: f32,
    pub height: f32,
    pub after: f32,
    /// Stays with the strip above if the two fit on one page.
    pub kept: bool,
    /// Whether it would rather stay with the strip above.
    pub bond: Bond,
    /// What it begins.
    pub start: Start,
    pub items: Vec<Item>,
    pub links: Vec<PendingLink>,
    /// Labels whose references lead here.
    pub labels: Vec<String>,
    /// An entry for the outline: its title and level.
    pub outline: Option<(String, u8)>,
    /// The panel it stands in, if any.
    pub panel: Option<PanelGround>,
    /// What is repeated when a page ends above this strip.
    pub continued: Option<Rc<Continued>>,
    /// Begins a page.
    pub new_page: bool,
    /// Part of a list of contents.
    pub contents: bool,
    /// Ends of lines of such a list that still lack their pages.
    pub open_ends: Vec<TocEntry>,
}

/// How a strip is bound to the one above: looser bonds come first, and all hold only where they leave no void.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Bond {
    /// Not at all.
    #[default]
    None,
    /// As a row of the same long table.
    LongTable,
    /// As a row of the same short table.
    Table,
    /// As a row about the same thing.
    Rows,
}

impl Bond {
    /// Those that bind, looser ones first.
    pub(super) const ALL: [Self; 3] = [Self::LongTable, Self::Table, Self::Rows];

    /// Returns the share of a page that may be left empty for the sake of it.
    pub(super) fn largest_void(self) -> f32 {
        match self {
            Self::None => 0.0,
            Self::LongTable => 1.0 / 5.0,
            Self::Table | Self::Rows => 1.0 / 3.0,
        }
    }
}

/// What a strip begins, for figures and tables that text may pass where a page has no room for them.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) enum Start {
    /// Nothing: it goes on with what the strip above belongs to.
    #[default]
    Nothing,
    /// A block that may stand before a figure from above it.
    Passes,
    /// A block that stands below all figures from above it.
    Stops,
    /// A figure or a table of so many strips, which text from below may pass.
    Floats(usize),
}

/// The end of a line of a list of contents, open until it is known where the section begins.
#[derive(Debug, Clone)]
pub(super) struct TocEntry {
    /// The label of the section.
    pub label: String,
    /// What the line says so far.
    pub said: String,
    /// Left, top, right, bottom of all of it; y from the top of its strip.
    pub area: [f32; 4],
    /// The last baseline, and the end of the title on it.
    pub baseline: f32,
    pub end: f32,
    /// The place, among the items of the strip, of what comes next.
    pub at: usize,
    /// The link that all of it is.
    pub element: usize,
}

impl FlowItem {
    /// Returns a strip of the same height that stands where this one would, with nothing in it but its labels.
    pub(super) fn bare(&self) -> Self {
        Self {
            before: self.before,
            height: self.height,
            after: self.after,
            kept: self.kept,
            bond: self.bond,
            start: self.start,
            labels: self.labels.clone(),
            panel: self.panel,
            continued: self.continued.clone(),
            new_page: self.new_page,
            contents: self.contents,
            ..Self::default()
        }
    }

    /// Makes room at the top.
    pub(super) fn lower(&mut self, by: f32) {
        self.height += by;
        for item in &mut self.items {
            shift(&mut item.mark, 0.0, by);
        }
        for link in &mut self.links {
            link.area[1] += by;
            link.area[3] += by;
        }
    }

    /// Takes in a line whose baseline lies at `baseline`.
    pub(super) fn take(&mut self, line: SetLine, baseline: f32) {
        let mut items = line.items;
        for item in &mut items {
            shift(&mut item.mark, 0.0, baseline);
        }
        if self.items.capacity() == 0 {
            self.items = items;
        } else {
            self.items.append(&mut items);
        }
        self.links.extend(line.links.into_iter().map(|mut link| {
            link.area[1] += baseline;
            link.area[3] += baseline;
            link
        }));
    }
}

/// A line with its pieces placed; the baseline is at y = 0.
#[derive(Debug, Default)]
pub(super) struct SetLine {
    pub items: Vec<Item>,
    pub links: Vec<PendingLink>,
    /// Right end of what was set.
    pub end: f32,
    pub ascent: f32,
    pub descent: f32,
}

/// A link before it is known where it leads.
#[derive(Debug, Clone)]
pub(super) struct PendingLink {
    /// Left, top, right, bottom; y as in the marks.
    pub area: [f32; 4],
    pub label: String,
    pub description: String,
    pub element: usize,
}

/// The ground of a panel, painted behind the strips of one number that meet on a page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PanelGround {
    pub number: usize,
    pub left: f32,
    pub right: f32,
}

/// What closes a table at the foot of a page and opens it again on the next.
#[derive(Debug, Clone)]
pub(super) struct Continued {
    /// Marks under the last strip of the page.
    pub close: Vec<Mark>,
    /// Marks of the repeated head, y from its top.
    pub open: Vec<Mark>,
    /// Height of the repeated head.
    pub height: f32,
}

/// Moves a mark.
pub(super) fn shift(mark: &mut Mark, dx: f32, dy: f32) {
    match mark {
        Mark::Glyphs(run) => {
            run.x += dx;
            run.y += dy;
        }
        Mark::Picture(picture) => {
            picture.x += dx;
            picture.y += dy;
        }
        Mark::Shape(shape) => {
            for step in &mut shape.steps {
                match step {
                    Step::Move(x, y) | Step::Line(x, y) => {
                        *x += dx;
                        *y += dy;
                    }
                    Step::Curve(x1, y1, x2, y2, x3, y3) => {
                        for x in [x1, x2, x3] {
                            *x += dx;
                        }
                        for y in [y1, y2, y3] {
                            *y += dy;
                        }
                    }
                    Step::Close => {}
                }
            }
        }
    }
}

/// Returns the outline of a rectangle.
pub(super) fn outline(left: f32, top: f32, width: f32, height: f32) -> Vec<Step> {
    let (right, bottom) = (left + width, top + height);
    vec![
        Step::Move(left, top),
        Step::Line(right, top),
        Step::Line(right, bottom),
        Step::Line(left, bottom),
        Step::Close,
    ]
}

/// Returns a filled rectangle.
pub(super) fn rectangle(left: f32, top: f32, width: f32, height: f32, fill: Colour) -> Mark {
    Mark::Shape(Shape {
        steps: outline(left, top, width, height),
        fill: Some(fill),
        stroke: None,
    })
}

/// Returns a horizontal rule whose top is at `top`: a line that is stroked, which screens draw in one width wherever it
/// falls.
pub(super) fn rule(left: f32, right: f32, top: f32, thickness: f32, colour: Colour) -> Mark {
    let y = top + thickness / 2.0;
    Mark::Shape(Shape {
        steps: vec![Step::Move(left, y), Step::Line(right, y)],
        fill: None,
        stroke: Some(Box::new(Stroke {
            colour,
            width: thickness,
            dashes: Vec::new(),
        })),
    })
}

/// Returns a mark so many times as large, about the origin.
pub(super) fn scaled(mark: &Mark, factor: f32) -> Mark {
    match mark {
        Mark::Glyphs(run) => Mark::Glyphs(GlyphRun {
            size: run.size * factor,
            x: run.x * factor,
            y: run.y * factor,
            ..run.clone()
        }),
        Mark::Picture(picture) => Mark::Picture(picture.clone()),
        Mark::Shape(shape) => Mark::Shape(Shape {
            steps: shape
                .steps
                .iter()
                .map(|step| scaled_step(*step, factor))
                .collect(),
            fill: shape.fill,
            stroke: shape.stroke.as_ref().map(|stroke| {
                Box::new(Stroke {
                    colour: stroke.colour,
                    width: stroke.width * factor,
                    dashes: stroke.dashes.iter().map(|dash| dash * factor).collect(),
                })
            }),
        }),
    }
}

fn scaled_step(step: Step, f: f32) -> Step {
    match step {
        Step::Move(x, y) => Step::Move(x * f, y * f),
        Step::Line(x, y) => Step::Line(x * f, y * f),
        Step::Curve(x1, y1, x2, y2, x3, y3) => {
            Step::Curve(x1 * f, y1 * f, x2 * f, y2 * f, x3 * f, y3 * f)
        }
        Step::Close => Step::Close,
    }
}
