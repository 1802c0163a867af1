//! The legend: what it says, and where it hides nothing.

use super::geometry::{Area, At};
use super::place::Obstacles;
use super::style;
use super::text::Line;
use crate::print::manuscript::plot::{Pen, Series, SeriesShape};
use crate::print::typeface::Typefaces;

/// Between the frame and a legend in its corner; ticks stand in between.
const MARGIN: f64 = style::TICK + 4.0;
/// Between two entries side by side.
const BETWEEN: f64 = 14.0;
/// Between a legend and the frame below it.
const ABOVE_FRAME: f64 = 4.0;
/// A name may take this share of the frame's width.
const NAME_SHARE: f64 = 0.6;

/// What an entry shows beside its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Key {
    /// A marker, hollow or not.
    Marker { hollow: bool },
    /// A curve.
    Curve(Pen),
    /// An area.
    Band,
    /// The bounds of an area.
    Bounds,
    /// A value read back.
    ReadBack,
}

impl Key {
    /// Its place among others: evidence, what is fitted to it, how far that is known, what it is compared with.
    fn rank(self) -> usize {
        match self {
            Self::Marker { hollow: false } => 0,
            Self::Curve(Pen::Main) => 1,
            Self::ReadBack => 2,
            Self::Band => 3,
            Self::Bounds => 4,
            Self::Curve(Pen::Thin) => 5,
            Self::Marker { hollow: true } => 6,
        }
    }
}

/// A named thing.
#[derive(Debug, Clone)]
pub(super) struct Entry {
    pub(super) key: Key,
    pub(super) name: Line,
}

/// Entries, each with the left end of its middle line.
#[derive(Debug, Default)]
pub(super) struct Legend {
    /// Width of a sample, points.
    pub(super) key: f64,
    pub(super) entries: Vec<(Entry, At)>,
}

/// Width of the samples: a legend of nothing but markers needs little.
fn key_width(entries: &[Entry]) -> f64 {
    if entries
        .iter()
        .all(|entry| matches!(entry.key, Key::Marker { .. }))
    {
        2.0 * style::MARKER
    } else {
        style::KEY
    }
}

/// What the legend has to say, in order of importance: the series that have a name and draw something, alike ones once.
pub(super) fn entries(all: &[Series], typefaces: &Typefaces, frame_width: f64) -> Vec<Entry> {
    let room = (frame_width * NAME_SHARE - style::KEY - style::KEY_GAP).max(0.0);
    let entries = all
        .iter()
        .enumerate()
        .filter(|(_, series)| !series.name.is_empty())
        .filter(|(index, series)| {
            let kind = |series: &Series| std::mem::discriminant(&series.shape);
            !all[..*index]
                .iter()
                .any(|before| before.name == series.name && kind(before) == kind(series))
        })
        .filter_map(|(_, series)| {
            let key = match &series.shape {
                SeriesShape::Points(points) if points.is_empty() => return None,
                SeriesShape::Points(points) => Key::Marker {
                    hollow: points.iter().all(|point| point.hollow),
                },
                SeriesShape::Curve { points, .. } | SeriesShape::Outline(points)
                    if points.len() < 2 =>
                {
                    return None;
                }
                SeriesShape::Curve { pen, .. } => Key::Curve(*pen),
                SeriesShape::Outline(_) => Key::Curve(Pen::Thin),
                SeriesShape::Band(points) | SeriesShape::Bounds(points) if points.len() < 2 => {
                    return None;
                }
                SeriesShape::Band(_) => Key::Band,
                SeriesShape::Bounds(_) => Key::Bounds,
                SeriesShape::ReadBack(_) => Key::ReadBack,
                // Their rows have names.
            };
            Some(Entry {
                key,
                name: Line::fitted(typefaces, &series.name, style::SMALL_TEXT, room),
            })
        });
    let mut entries: Vec<Entry> = entries.collect();
    entries.sort_by_key(|entry| entry.key.rank());
    entries
}

/// Returns the legend as a column in the first corner where it hides nothing; `None` if every corner is taken.
pub(super) fn in_corner(entries: &[Entry], frame: &Area, obstacles: &Obstacles) -> Option<Legend> {
    let key = key_width(entries);
    let width = key
        + style::KEY_GAP
        + entries
            .iter()
            .map(|entry| entry.name.width())
            .fold(0.0, f64::max);
    let height = entries.len() as f64 * style::LEADING;
    let (left, right) = (frame.x0 + MARGIN, frame.x1 - MARGIN - width);
    let (top, bottom) = (frame.y0 + MARGIN, frame.y1 - MARGIN - height);
    let area = [(left, top), (right, bottom), (right, top), (left, bottom)]
        .into_iter()
        .map(|(x0, y0)| Area {
            x0,
            y0,
            x1: x0 + width,
            y1: y0 + height,
        })
        .filter(|area| frame.holds(area))
        .find(|area| obstacles.cost(&area.grown(2.0), f64::MIN_POSITIVE) == 0.0)?;
    let middle = |row: usize| area.y0 + (row as f64 + 0.5) * style::LEADING;
    let placed = entries
        .iter()
        .enumerate()
        .map(|(row, entry)| (entry.clone(), (area.x0, middle(row))));
    Some(Legend {
        key,
        entries: placed.collect(),
    })
}

/// Returns the height that [`above`] takes above a frame of that width.
pub(super) fn rows_height(entries: &[Entry], frame_width: f64) -> f64 {
    rows(entries, frame_width).last().map_or(0.0, |(row, _)| {
        (row + 1) as f64 * style::LEADING + ABOVE_FRAME
    })
}

/// Returns the legend in rows above the frame, flush with its left side.
pub(super) fn above(entries: Vec<Entry>, frame: &Area) -> Legend {
    let key = key_width(&entries);
    let places = rows(&entries, frame.width());
    let top = frame.y0 - rows_height(&entries, frame.width());
    let placed = entries.into_iter().zip(places).map(|(entry, (row, x))| {
        (
            entry,
            (frame.x0 + x, top + (row as f64 + 0.5) * style::LEADING),
        )
    });
    Legend {
        key,
        entries: placed.collect(),
    }
}

/// Row and distance from the left of each entry; in several rows, entries stand in columns.
fn rows(entries: &[Entry], width: f64) -> Vec<(usize, f64)> {
    let key = key_width(entries);
    let lengths: Vec<f64> = entries
        .iter()
        .map(|entry| key + style::KEY_GAP + entry.name.width())
        .collect();
    // Widths of so many columns, filled row by row.
    let columns = |count: usize| -> Vec<f64> {
        let widest = |column| lengths.iter().skip(column).step_by(count).copied();
        (0..count)
            .map(|column| widest(column).fold(0.0, f64::max))
            .collect()
    };
    let total = |widths: &[f64]| {
        widths.iter().sum::<f64>() + BETWEEN * widths.len().saturating_sub(1) as f64
    };
    let count = (1..=entries.len())
        .rev()
        .find(|count| total(&columns(*count)) <= width)
        .unwrap_or(1);
    let widths = columns(count);
    let place = |index: usize| {
        let column = index % count;
        let before: f64 = widths[..column].iter().map(|width| width + BETWEEN).sum();
        (index / count, before)
    };
    (0..entries.len()).map(place).collect()
}
