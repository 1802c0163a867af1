//! Sizes, distances and inks of a report.

use std::sync::Arc;

use crate::print::page::{Colour, Pixels};

/// How a report looks. Lengths are points.
#[derive(Debug, Clone, PartialEq)]
pub struct Style {
    /// Width and height of a page.
    pub page: (f32, f32),
    /// From the left edge to the text.
    pub left_margin: f32,
    /// From the text to the right edge.
    pub right_margin: f32,
    /// From the top edge to the text.
    pub top_margin: f32,
    /// From the text to the bottom edge.
    pub bottom_margin: f32,
    /// Size of running text.
    pub text_size: f32,
    /// From baseline to baseline of running text.
    pub leading: f32,
    /// Size of captions, running heads and tables at their largest.
    pub small_size: f32,
    /// Size of entries as written.
    pub listing_size: f32,
    /// Between paragraphs.
    pub paragraph_gap: f32,
    /// Around tables, figures, formulas and panels.
    pub display_gap: f32,
    /// Indent of lists and displayed formulas.
    pub indent: f32,
    /// Ink of headings, links and the rule beside a panel.
    pub accent: Colour,
    /// Ink of what should not draw the eye: running heads, line numbers.
    pub quiet: Colour,
    /// Texts left and right in the head line of every page; where there is none, pages after the first show title and
    /// date.
    pub head: [Option<String>; 2],
    /// A picture at the top right of the first page, on white.
    pub logo: Option<Arc<Pixels>>,
}

impl Style {
    /// Ground of a panel: the accent, so thin that text stands on it as on white.
    pub fn tint(&self) -> Colour {
        /// Of the accent: enough to be seen, too little to dim what stands on it.
        const SHARE: f32 = 0.055;
        self.accent.on_white(SHARE)
    }

    /// Width of the text.
    pub fn measure(&self) -> f32 {
        (self.page.0 - self.left_margin - self.right_margin).max(1.0)
    }

    /// Returns the same with text, and what is set in proportion to it, so many times as large.
    #[must_use]
    pub fn scaled(mut self, times: f32) -> Self {
        for size in [
            &mut self.text_size,
            &mut self.leading,
            &mut self.small_size,
            &mut self.listing_size,
            &mut self.paragraph_gap,
            &mut self.display_gap,
            &mut self.indent,
        ] {
            *size *= times;
        }
        self
    }

    /// Returns the largest width and height of a photograph, points.
    pub fn photograph(&self) -> (f32, f32) {
        /// Of the height of the text: room is left for its caption, and for a sentence.
        const SHARE: f32 = 0.6;
        (self.measure(), SHARE * self.text_height())
    }

    /// Height of the text.
    pub fn text_height(&self) -> f32 {
        (self.page.1 - self.top_margin - self.bottom_margin).max(1.0)
    }
}

impl Default for Style {
    /// A4 (ISO 216), one column of some 85 characters: more than prose alone would want, as tables and formulas need it.
    fn default() -> Self {
        Self {
            page: (595.276, 841.89),
            left_margin: 90.0,
            right_margin: 90.0,
            top_margin: 64.0,
            bottom_margin: 64.0,
            text_size: 10.5,
            leading: 14.0,
            small_size: 9.4,
            listing_size: 7.2,
            paragraph_gap: 5.2,
            display_gap: 8.4,
            indent: 21.0,
            accent: Colour(0.11, 0.29, 0.44),
            quiet: Colour(0.40, 0.41, 0.43),
            head: [None, None],
            logo: None,
        }
    }
}
