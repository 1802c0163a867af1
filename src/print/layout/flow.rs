//! Fills pages with strips, from the top down.
//!
//! A figure or a short table for which the rest of a page has no room waits for the top of the next page, and the text
//! below it moves up: at most to the next section, table or figure. Figures that wait stay in their order. Where a page
//! begins within a paragraph, they stand above its rest but are painted after it, so that it is read to its end first.

use std::collections::{BTreeMap, VecDeque};
use std::ops::Range;

use super::flow_item::{
    Bond, Continued, FlowItem, PanelGround, PendingLink, Start, rectangle, shift,
};
use super::style::Style;
use crate::print::page::{Item, OutlineEntry, Page};

/// Width of the rule beside a panel, points.
const PANEL_RULE: f32 = 2.2;

/// Pages with all strips placed, and where things are.
#[derive(Debug, Default)]
pub(super) struct Placed {
    pub pages: Vec<Page>,
    pub outline: Vec<OutlineEntry>,
    /// Page and height of everything that bears a label.
    pub labels: BTreeMap<String, (usize, f32)>,
    /// Links with the page they stand on.
    pub links: Vec<(usize, PendingLink)>,
    /// Whether text has passed a figure.
    pub passed: bool,
}

/// Places strips. Strips that keep together move to the next page together, if a page can hold them.
pub(super) fn flow(strips: Vec<FlowItem>, style: &Style) -> Placed {
    let kept = extents(&strips, |strip| strip.kept);
    let bound = Bond::ALL.map(|bond| {
        let stays = |strip: &FlowItem| strip.kept || strip.bond >= bond;
        (bond, extents(&strips, stays))
    });
    let mut flow = Flow {
        style,
        bottom: style.page.1 - style.bottom_margin,
        y: style.top_margin,
        after: 0.0,
        empty: true,
        ground: None,
        strips,
        kept,
        bound,
        waiting: VecDeque::new(),
        above: Vec::new(),
        placed: Placed::default(),
    };
    flow.open_page();
    let mut at = 0;
    while at < flow.strips.len() {
        at = match flow.waiting.iter().find(|figure| figure.start == at) {
            Some(figure) => figure.end,
            None => flow.add(at),
        };
    }
    while !flow.waiting.is_empty() {
        flow.turn_page(at);
    }
    flow.close_page(None);
    flow.placed
}

/// For each strip, the height of it and of those below that stay with it.
fn extents(strips: &[FlowItem], stays: impl Fn(&FlowItem) -> bool) -> Vec<f32> {
    let mut extents = vec![0.0; strips.len()];
    let mut below: Option<(f32, f32)> = None;
    for (index, strip) in strips.iter().enumerate().rev() {
        let extent =
            strip.height + below.map_or(0.0, |(before, extent)| extent + before.max(strip.after));
        extents[index] = extent;
        below = (stays(strip) && !strip.new_page).then_some((strip.before, extent));
    }
    extents
}

/// Strips one below the other.
#[derive(Debug, Default, Clone, Copy)]
struct Stack {
    /// Least distance to what is above them.
    before: f32,
    height: f32,
    /// Distance that the last of them asks for below it; `None` of no strips.
    after: Option<f32>,
}

impl Stack {
    fn of(strips: &[FlowItem]) -> Self {
        let mut stack = Self::default();
        for strip in strips {
            stack.take(strip);
        }
        stack
    }

    fn take(&mut self, strip: &FlowItem) {
        match self.after {
            None => self.before = strip.before,
            Some(after) => self.height += after.max(strip.before),
        }
        self.height += strip.height;
        self.after = Some(strip.after);
    }
}

/// A strip and those that stay with it, with the figures among them.
#[derive(Debug, Default)]
struct Group {
    figures: Vec<Range<usize>>,
    /// All down to the end of the first figure.
    whole: Stack,
    /// All but the figures, with the text that moves up below it.
    passing: Stack,
    /// The first strip of the text that moves up below the figures.
    first_below: Option<usize>,
    /// Whether figures must be placed before the text goes on.
    stops: bool,
}

/// What becomes of a strip.
enum Step {
    Place,
    TurnPage,
    /// Figures of the group wait.
    Wait(Group),
}

struct Flow<'a> {
    style: &'a Style,
    bottom: f32,
    y: f32,
    /// Distance that the last strip asks for below it.
    after: f32,
    empty: bool,
    /// The panel that is open: its ground, its top and the item it is painted before.
    ground: Option<(PanelGround, f32, usize)>,
    strips: Vec<FlowItem>,
    /// For each strip, the extent of what must stay with it, and of what would rather.
    kept: Vec<f32>,
    bound: [(Bond, Vec<f32>); 3],
    /// Figures that text has passed.
    waiting: VecDeque<Range<usize>>,
    /// What is painted after the block that goes on below it.
    above: Vec<Item>,
    placed: Placed,
}

impl Flow<'_> {
    /// Adds a strip, or lets it wait; returns which is next.
    fn add(&mut self, at: usize) -> usize {
        let mut turned = false;
        loop {
            match self.step(at) {
                Step::TurnPage if !(turned && self.empty) => {
                    self.turn_page(at);
                    turned = true;
                }
                Step::Wait(group) => {
                    self.placed.passed = true;
                    if let Some(first_below) = group.first_below {
                        self.strips[first_below].kept = true;
                    }
                    let itself = group.figures.first().is_some_and(|first| first.start == at);
                    self.waiting.extend(group.figures);
                    if itself {
                        return at;
                    }
                    break;
                }
                Step::Place | Step::TurnPage => break,
            }
        }
        if turned {
            self.reopen(at);
        }
        self.put_below(at);
        at + 1
    }

    fn step(&self, at: usize) -> Step {
        let strip = &self.strips[at];
        let late = !self.waiting.is_empty();
        if !strip.kept {
            let group = self.group(at);
            if late && (group.stops || strip.start == Start::Stops) {
                return Step::TurnPage;
            }
            let stays = !late && (self.empty || self.fits(group.whole));
            if !(group.figures.is_empty() || stays) {
                if !group.stops && !strip.new_page && self.fits(group.passing) {
                    return Step::Wait(group);
                }
                if late {
                    return Step::TurnPage;
                }
            }
        }
        let needed = Stack {
            before: strip.before,
            height: self.needed(at),
            after: None,
        };
        if !self.empty && (strip.new_page || !self.fits(needed)) {
            Step::TurnPage
        } else {
            Step::Place
        }
    }

    /// Returns a strip and those that stay with it. Those below a figure that waits stay with what is above it.
    fn group(&self, at: usize) -> Group {
        let mut group = Group::default();
        let mut next = at;
        let mut stays = true;
        while let Some(strip) = self.strips.get(next)
            && (stays || strip.kept)
        {
            match strip.start {
                Start::Floats(count) => {
                    let figure = next..next + count;
                    if group.figures.is_empty() {
                        group.whole = group.passing;
                        for strip in &self.strips[figure.clone()] {
                            group.whole.take(strip);
                        }
                    }
                    next = figure.end;
                    group.figures.push(figure);
                    stays = true;
                    continue;
                }
                Start::Stops if next > at => {
                    group.stops = true;
                    break;
                }
                _ => {}
            }
            if stays && group.passing.after.is_some() {
                group.first_below.get_or_insert(next);
            }
            stays = false;
            group.passing.take(strip);
            next += 1;
        }
        group.stops |= next == self.strips.len() && stays;
        group
    }

    fn fits(&self, stack: Stack) -> bool {
        let gap = if self.empty {
            0.0
        } else {
            self.after.max(stack.before)
        };
        self.y + gap + stack.height <= self.bottom + 0.01
    }

    /// The height of a strip and of what must come onto the page with it.
    fn needed(&self, at: usize) -> f32 {
        let strip = &self.strips[at];
        let kept = self.kept[at];
        // A group that began on this page is only divided if no page could hold it, and then where it must be.
        let page = self.bottom - self.style.top_margin;
        let left = self.bottom - self.y;
        let begins = |bond: Bond, extent: f32| {
            let whole = !strip.kept && strip.bond < bond && extent <= page;
            whole && left <= bond.largest_void() * page
        };
        let rather = self
            .bound
            .iter()
            .map(|(bond, extents)| (*bond, extents[at]))
            .find(|(bond, extent)| begins(*bond, *extent));
        match rather {
            Some((_, extent)) => extent,
            None if strip.kept || kept > page => strip.height,
            None => kept,
        }
    }

    /// Ends the page above a strip and begins the next, with figures that wait at its top.
    fn turn_page(&mut self, next: usize) {
        let continued = self
            .strips
            .get(next)
            .and_then(|strip| strip.continued.clone());
        self.close_page(continued.as_deref());
        self.open_page();
        // What goes on from the page before.
        let mut rest = Stack::default();
        for strip in self.strips.get(next..).unwrap_or_default() {
            if strip.start != Start::Nothing || rest.height > self.style.text_height() {
                break;
            }
            if rest.after.is_none() {
                rest.height = continued.as_ref().map_or(0.0, |continued| continued.height);
            }
            rest.take(strip);
        }
        while let Some(figure) = self.waiting.front().cloned() {
            let mut stack = Stack::of(&self.strips[figure.clone()]);
            let goes_on = rest.after.is_some();
            if goes_on {
                stack.height += stack.after.unwrap_or_default().max(rest.before) + rest.height;
            }
            if !self.fits(stack) && (goes_on || !self.empty) {
                break;
            }
            self.waiting.pop_front();
            let from = self.items().len();
            figure.for_each(|strip| self.put_below(strip));
            if goes_on {
                let painted = self.items().split_off(from);
                self.above.extend(painted);
            }
        }
    }

    /// Puts a strip below what is on the page.
    fn put_below(&mut self, at: usize) {
        let strip = std::mem::take(&mut self.strips[at]);
        if strip.start != Start::Nothing {
            self.paint_above();
        }
        // A panel's ground ends with its last strip, above the gap.
        if self.panel() != strip.panel {
            self.paint_ground();
        }
        if !self.empty {
            self.y += self.after.max(strip.before);
        }
        if self.panel() != strip.panel {
            self.ground = strip
                .panel
                .map(|ground| (ground, self.y, self.items().len()));
        }
        self.put(strip);
    }

    fn paint_above(&mut self) {
        let mut above = std::mem::take(&mut self.above);
        self.items().append(&mut above);
    }

    fn panel(&self) -> Option<PanelGround> {
        self.ground.map(|(ground, ..)| ground)
    }

    /// Opens the table of a strip again.
    fn reopen(&mut self, at: usize) {
        let Some(continued) = self.strips[at].continued.clone() else {
            return;
        };
        if continued.height > 0.4 * self.style.text_height() {
            return;
        }
        self.y += self.after;
        self.after = 0.0;
        let top = self.y;
        self.items()
            .extend(continued.open.iter().cloned().map(|mut mark| {
                shift(&mut mark, 0.0, top);
                Item {
                    mark,
                    element: None,
                }
            }));
        self.y += continued.height;
        self.empty = false;
        self.strips[at].before = 0.0;
    }

    fn put(&mut self, slab: FlowItem) {
        let y = self.y;
        let page = self.placed.pages.len().saturating_sub(1);
        let FlowItem {
            height,
            after,
            items,
            links,
            labels,
            outline,
            ..
        } = slab;
        self.items().extend(items.into_iter().map(|mut item| {
            shift(&mut item.mark, 0.0, y);
            item
        }));
        self.placed.links.extend(links.into_iter().map(|mut link| {
            link.area[1] += y;
            link.area[3] += y;
            (page, link)
        }));
        self.placed
            .labels
            .extend(labels.into_iter().map(|label| (label, (page, y))));
        self.placed
            .outline
            .extend(outline.map(|(title, level)| OutlineEntry {
                title,
                level,
                page,
                y,
            }));
        self.y += height;
        self.after = after;
        self.empty = false;
    }

    fn items(&mut self) -> &mut Vec<Item> {
        if self.placed.pages.is_empty() {
            self.open_page();
        }
        let last = self.placed.pages.len() - 1;
        &mut self.placed.pages[last].items
    }

    fn open_page(&mut self) {
        let (width, height) = self.style.page;
        self.placed.pages.push(Page {
            width,
            height,
            items: Vec::new(),
            links: Vec::new(),
        });
        self.y = self.style.top_margin;
        self.after = 0.0;
        self.empty = true;
    }

    /// Ends the page, and on it the panel and the table that go on.
    fn close_page(&mut self, continued: Option<&Continued>) {
        self.paint_ground();
        self.paint_above();
        if let Some(continued) = continued {
            let y = self.y;
            self.items()
                .extend(continued.close.iter().cloned().map(|mut mark| {
                    shift(&mut mark, 0.0, y);
                    Item {
                        mark,
                        element: None,
                    }
                }));
        }
        self.items().shrink_to_fit();
    }

    fn paint_ground(&mut self) {
        let Some((ground, top, index)) = self.ground.take() else {
            return;
        };
        let (tint, accent, height) = (self.style.tint(), self.style.accent, self.y - top);
        let marks = [
            rectangle(ground.left, top, ground.right - ground.left, height, tint),
            rectangle(ground.left, top, PANEL_RULE, height, accent),
        ];
        let items = self.items();
        let at = index.min(items.len());
        items.splice(
            at..at,
            marks.into_iter().map(|mark| Item {
                mark,
                element: None,
            }),
        );
    }
}
