//! Sizes, distances and inks of a report.

use crate::page::Colour;

/// How a report looks. Lengths are points.
#[derive(Debug, Clone, PartialEq)]
pub struct Style {
    /// Width and height of a page.
    pub page: (f32, f32),
    /// Left and right margin.
    pub side_margin: f32,
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
    /// Ground of a panel.
    pub tint: Colour,
}

impl Style {
    /// Width of the text.
    #[must_use]
    pub fn measure(&self) -> f32 {
        (self.page.0 - 2.0 * self.side_margin).max(1.0)
    }

    /// Height of the text.
    #[must_use]
    pub fn text_height(&self) -> f32 {
        (self.page.1 - self.top_margin - self.bottom_margin).max(1.0)
    }
}

impl Default for Style {
    /// A4 (ISO 216), one column, as a scientific paper.
    fn default() -> Self {
        Self {
            page: (595.276, 841.89),
            side_margin: 76.0,
            top_margin: 78.0,
            bottom_margin: 78.0,
            text_size: 10.0,
            leading: 13.0,
            small_size: 9.0,
            listing_size: 7.6,
            paragraph_gap: 5.0,
            display_gap: 11.0,
            indent: 20.0,
            accent: Colour(0.11, 0.29, 0.44),
            quiet: Colour(0.40, 0.41, 0.43),
            tint: Colour(0.949, 0.961, 0.973),
        }
    }
}
