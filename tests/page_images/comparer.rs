//! Two pictures of a page: whether they are the same, and if not, where and how far they differ.

use std::fmt;

use image::{Rgb, RgbImage};

use super::picture::DOTS;

/// How much of 255 an ink may differ from the stored one: 4, by which storing rounds it, and 2 for antialiasing.
///
/// Of a dot that an edge runs through, a painter takes the share covered, and processors differ in the last digit of
/// that: with the widest and with the narrowest instructions of one processor, of the hundred million dots of 22 pages at
/// 216 to the inch 84 were off by 1 of 255 before averaging, and none by more. Nothing else is let through. An edge of
/// black that moves by a twentieth of a dot, 0.02 mm, is told wherever it stands.
pub(super) const ROOM: u8 = 6;

/// What of two pictures differs.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Difference {
    /// Width and height, in dots.
    Size { stored: (u32, u32), new: (u32, u32) },
    /// Dots.
    Dots {
        /// How many differ.
        count: usize,
        /// The farthest, of 255.
        farthest: u8,
        /// Left, top, right and bottom of what differs, mm from the left and the top of the page.
        within: [f32; 4],
    },
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Size { stored, new } => {
                let [(w, h), (new_w, new_h)] =
                    [stored, new].map(|(w, h)| (mm(*w).round(), mm(*h).round()));
                write!(f, "is {new_w} × {new_h} mm in place of {w} × {h} mm")
            }
            Self::Dots {
                count,
                farthest,
                within: [left, top, right, bottom],
            } => write!(
                f,
                "differs in {count} dots by up to {farthest} of 255, all between {left:.1} and {right:.1} mm from the left \
                 and {top:.1} and {bottom:.1} mm from the top"
            ),
        }
    }
}

fn mm(dots: u32) -> f32 {
    dots as f32 / DOTS as f32 * 25.4
}

fn apart(Rgb(one): Rgb<u8>, Rgb(other): Rgb<u8>) -> u8 {
    let each = one.into_iter().zip(other);
    each.fold(0, |most, (a, b)| most.max(a.abs_diff(b)))
}

/// What of a new picture is not as it is stored; none if it is the same but for antialiasing.
pub(super) fn difference(stored: &RgbImage, new: &RgbImage) -> Option<Difference> {
    if stored.dimensions() != new.dimensions() {
        return Some(Difference::Size {
            stored: stored.dimensions(),
            new: new.dimensions(),
        });
    }
    let (mut count, mut farthest) = (0, 0);
    let (mut low, mut high) = ((u32::MAX, u32::MAX), (0, 0));
    for ((x, y, dot), was) in new.enumerate_pixels().zip(stored.pixels()) {
        let off = apart(*dot, *was);
        if off > ROOM {
            count += 1;
            farthest = farthest.max(off);
            low = (x.min(low.0), y.min(low.1));
            high = (x.max(high.0), y.max(high.1));
        }
    }
    (count > 0).then(|| Difference::Dots {
        count,
        farthest,
        within: [low.0, low.1, high.0 + 1, high.1 + 1].map(mm),
    })
}

/// Stored, new, and what differs in red on the new one, side by side.
pub(super) fn side_by_side(stored: &RgbImage, new: &RgbImage) -> RgbImage {
    let marked = RgbImage::from_fn(new.width(), new.height(), |x, y| {
        let dot = *new.get_pixel(x, y);
        let was = stored.get_pixel_checked(x, y);
        if was.is_some_and(|was| apart(dot, *was) <= ROOM) {
            // A third of the ink, so that the red is seen.
            Rgb(dot.0.map(|ink| 255 - (255 - ink) / 3))
        } else {
            Rgb([220, 0, 0])
        }
    });
    let gap = 10;
    let panels = [stored, new, &marked];
    let width = panels.iter().map(|panel| panel.width() + gap).sum();
    let height = panels.iter().map(|panel| panel.height()).max();
    let mut whole = RgbImage::from_pixel(width, height.unwrap_or(0), Rgb([90, 90, 90]));
    let mut left = 0;
    for panel in panels {
        image::imageops::replace(&mut whole, panel, left, 0);
        left += i64::from(panel.width() + gap);
    }
    whole
}
