//! Fills pages with strips, from the top down.

use std::collections::BTreeMap;

use super::flow_item::{Bond, Continued, FlowItem, PanelGround, PendingLink, rectangle, shift};
use super::style::Style;
use crate::print::page::{Item, OutlineEntry, Page};

/// A page is left with no more room than this share of it for the sake of a [`Bond`].
const VOID: f32 = 1.0 / 3.0;
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
}

/// Places strips. Strips that keep together move to the next page together, if a page can hold them.
pub(super) fn flow(slabs: Vec<FlowItem>, style: &Style) -> Placed {
    let mut flow = Flow {
        style,
        bottom: style.page.1 - style.bottom_margin,
        y: style.top_margin,
        after: 0.0,
        empty: true,
        ground: None,
        placed: Placed::default(),
    };
    flow.open_page();
    let kept = extents(&slabs, |slab| slab.kept);
    let bound = [Bond::Table, Bond::Rows]
        .map(|bond| (bond, extents(&slabs, |slab| slab.kept || slab.bond >= bond)));
    for (index, slab) in slabs.into_iter().enumerate() {
        let bound = bound
            .each_ref()
            .map(|(bond, extents)| (*bond, extents[index]));
        flow.add(slab, kept[index], bound);
    }
    flow.close_page(None);
    flow.placed
}

/// For each strip, the height of it and of those below that stay with it.
fn extents(slabs: &[FlowItem], stays: impl Fn(&FlowItem) -> bool) -> Vec<f32> {
    let mut extents = vec![0.0; slabs.len()];
    let mut below: Option<(f32, f32)> = None;
    for (index, slab) in slabs.iter().enumerate().rev() {
        let extent =
            slab.height + below.map_or(0.0, |(before, extent)| extent + before.max(slab.after));
        extents[index] = extent;
        below = (stays(slab) && !slab.new_page).then_some((slab.before, extent));
    }
    extents
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
    placed: Placed,
}

impl Flow<'_> {
    /// Adds a strip with the extent of what must stay with it, and of what would rather.
    fn add(&mut self, slab: FlowItem, extent: f32, bound: [(Bond, f32); 2]) {
        let gap = if self.empty {
            0.0
        } else {
            self.after.max(slab.before)
        };
        // A group that began on this page is only divided if no page could hold it, and then where it must be.
        let page = self.bottom - self.style.top_margin;
        let begins = |bond: Bond, extent: f32| !slab.kept && slab.bond < bond && extent <= page;
        let rather = bound
            .into_iter()
            .find(|(bond, extent)| begins(*bond, *extent) && self.bottom - self.y <= VOID * page);
        let needed = match rather {
            Some((_, extent)) => extent,
            None if slab.kept || extent > page => slab.height,
            None => extent,
        };
        if !self.empty && (slab.new_page || self.y + gap + needed > self.bottom + 0.01) {
            self.close_page(slab.continued.as_deref());
            self.open_page();
            self.reopen(&slab);
        } else {
            // A panel's ground ends with its last strip, above the gap.
            if self.panel() != slab.panel {
                self.paint_ground();
            }
            self.y += gap;
        }
        if self.panel() != slab.panel {
            self.ground = slab
                .panel
                .map(|ground| (ground, self.y, self.items().len()));
        }
        self.put(slab);
    }

    fn panel(&self) -> Option<PanelGround> {
        self.ground.map(|(ground, ..)| ground)
    }

    /// Opens the table of a strip again.
    fn reopen(&mut self, slab: &FlowItem) {
        let Some(continued) = slab.continued.clone() else {
            return;
        };
        if continued.height > 0.4 * self.style.text_height() {
            return;
        }
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
