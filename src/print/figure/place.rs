//! What is in the way in a plot, and names beside points that keep clear of it.

use super::geometry::{Area, At};
use super::scale::Axes;
use super::style;
use super::text::Line;
use crate::print::manuscript::plot::{Point, Series, SeriesShape};
use crate::print::page::Face;
use crate::print::typeface::Typefaces;

/// Cost of a square point of marker or text hidden.
const HIDDEN: f64 = 10.0;
/// Cost of a point of line crossed, and of the edge of an area crossed, which takes little from either.
const CROSSED: f64 = 3.0;
const EDGE_CROSSED: f64 = 0.1;
/// Cost of a place nearer to another point than to the one that is named.
const MISREAD: f64 = 40.0;
/// Cost of a place further off by one [`STEP_OUT`], against the next best direction: rather another side than far away.
const FURTHER: f64 = 1.0;
const TURNED: f64 = 0.1;
/// Distance between a marker and its name, and how much further the next tries are.
const GAP: f64 = 1.8;
const STEP_OUT: f64 = 3.0;
const TRIES_OUT: u8 = 5;
/// Kept free around a name.
const CLEARANCE: f64 = 1.0;
/// How much nearer to its own point than to another one a name must be.
const NEARER: f64 = 1.0;
/// Points of one name within this distance are named once.
const REPLICATES: f64 = 4.0 * style::MARKER;
/// How often each name looks for its place.
const ROUNDS: u8 = 3;
/// Where more measured points than this have names, none of them is named: the names would hide the points, and finding
/// places for them takes time that grows with the square of their number. A value read back is always named.
const MOST_NAMED: usize = 60;
/// A name may take this share of the frame's width.
const NAME_SHARE: f64 = 0.5;

/// Directions from a point, the best first: a rising line leaves free what is above to the left and below to the right.
const DIRECTIONS: [(f64, f64); 8] = [
    (-1.0, -1.0),
    (1.0, 1.0),
    (0.0, -1.0),
    (0.0, 1.0),
    (1.0, 0.0),
    (-1.0, 0.0),
    (1.0, -1.0),
    (-1.0, 1.0),
];

/// A name and where it goes.
#[derive(Debug)]
pub(super) struct Name {
    pub(super) line: Line,
    /// From the baseline's descent up to the capitals.
    pub(super) area: Area,
    /// The baseline.
    pub(super) baseline: f64,
    /// Whether it names a value read back.
    pub(super) read_back: bool,
}

/// A marker with the ends of its bars.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Cross {
    middle: At,
    /// Lengths of the horizontal and vertical bar from the middle.
    arms: (f64, f64),
    /// Radius of the marker.
    radius: f64,
}

impl Cross {
    fn measured(point: &Point, axes: Axes<'_>) -> Self {
        let middle = axes.at((point.x, point.y));
        let end = axes.at((point.x + point.half_x, point.y + point.half_y));
        Self {
            middle,
            arms: ((end.0 - middle.0).abs(), (end.1 - middle.1).abs()),
            radius: style::MARKER,
        }
    }

    /// Returns a value that was read back. It has no arms: its interval stands on the axes.
    fn read_back(point: &Point, axes: Axes<'_>) -> Self {
        Self {
            middle: axes.at((point.x, point.y)),
            arms: (0.0, 0.0),
            radius: style::DIAMOND,
        }
    }

    /// Returns how far a name in a direction stands off: the last try is beyond the end of the bar, those before step
    /// outward.
    fn away(&self, (dx, dy): (f64, f64), out: u8) -> (f64, f64) {
        let near = self.radius + GAP + f64::from(out) * STEP_OUT;
        if dx != 0.0 && dy != 0.0 {
            // On a diagonal the corner of the box comes nearest, so it may come nearer in each direction.
            let near = near * std::f64::consts::FRAC_1_SQRT_2;
            (near, near)
        } else if out + 1 == TRIES_OUT {
            (near.max(self.arms.0 + GAP), near.max(self.arms.1 + GAP))
        } else {
            (near, near)
        }
    }

    /// Returns the square of how near a name comes to the middle or the end of a bar.
    fn nearness_squared(&self, name: &Area) -> f64 {
        let ((x, y), (dx, dy)) = (self.middle, self.arms);
        let squares = [(x, y), (x - dx, y), (x + dx, y), (x, y - dy), (x, y + dy)].map(|point| {
            let inside = name.pulled_in(point);
            (point.0 - inside.0).powi(2) + (point.1 - inside.1).powi(2)
        });
        squares.into_iter().fold(f64::INFINITY, f64::min)
    }
}

/// What a text must not hide.
#[derive(Debug, Default)]
pub(super) struct Obstacles {
    boxes: Vec<Area>,
    /// Each with what a point of it costs.
    lines: Vec<(At, At, f64)>,
    marked: Vec<Cross>,
}

impl Obstacles {
    /// Returns all that the plot draws inside its frame.
    pub(super) fn new(drawn: &[Series], axes: Axes<'_>) -> Self {
        let mut all = Self::default();
        for series in drawn {
            match &series.shape {
                SeriesShape::Points(points) => {
                    for point in points {
                        all.add_point(point, axes);
                    }
                }
                SeriesShape::Curve { points, .. } | SeriesShape::Outline(points) => {
                    all.add_curve(points.iter().copied(), CROSSED, axes);
                }
                SeriesShape::Band(points) | SeriesShape::Bounds(points) => {
                    all.add_curve(
                        points.iter().map(|&(x, low, _)| (x, low)),
                        EDGE_CROSSED,
                        axes,
                    );
                    all.add_curve(
                        points.iter().map(|&(x, _, high)| (x, high)),
                        EDGE_CROSSED,
                        axes,
                    );
                }
                SeriesShape::ReadBack(point) => all.add_read_back(point, axes),
            }
        }
        all
    }

    fn add_point(&mut self, point: &Point, axes: Axes<'_>) {
        let cross = Cross::measured(point, axes);
        self.marked.push(cross);
        let (size, cap) = (2.0 * style::MARKER + style::BAR, 2.0 * style::CAP);
        self.boxes.push(Area::about(cross.middle, size, size));
        self.boxes
            .push(Area::about(cross.middle, 2.0 * cross.arms.0, cap));
        self.boxes
            .push(Area::about(cross.middle, cap, 2.0 * cross.arms.1));
    }

    fn add_curve(&mut self, points: impl Iterator<Item = At>, cost: f64, axes: Axes<'_>) {
        let points: Vec<At> = points.map(|point| axes.at(point)).collect();
        let parts = points
            .windows(2)
            .filter_map(|pair| axes.frame.clip(pair[0], pair[1]));
        self.lines.extend(parts.map(|(from, to)| (from, to, cost)));
    }

    fn add_read_back(&mut self, point: &Point, axes: Axes<'_>) {
        let cross = Cross::read_back(point, axes);
        let at = cross.middle;
        self.marked.push(cross);
        self.boxes
            .push(Area::about(at, 2.0 * style::DIAMOND, 2.0 * style::DIAMOND));
        self.lines.push(((axes.frame.x0, at.1), at, CROSSED));
        self.lines.push((at, (at.0, axes.frame.y1), CROSSED));
    }

    /// Returns what it costs to set something there, or part of it that is no less than `most`; 0 where it hides nothing.
    pub(super) fn cost(&self, area: &Area, most: f64) -> f64 {
        let hidden: f64 = self.boxes.iter().map(|other| other.shared(area)).sum();
        let hidden = hidden * HIDDEN;
        let mut crossed = 0.0;
        for &(from, to, cost) in &self.lines {
            if hidden + crossed >= most {
                break;
            }
            if let Some((from, to)) = area.clip(from, to) {
                crossed += distance(from, to) * cost;
            }
        }
        hidden + crossed
    }

    /// Returns whether something there would hide a marker, a bar or another name, or cross a line.
    fn hides(&self, area: &Area, names: impl IntoIterator<Item = Area>) -> bool {
        let crosses = |&(from, to, cost): &(At, At, f64)| {
            cost >= CROSSED && area.clip(from, to).is_some_and(|(from, to)| from != to)
        };
        self.boxes.iter().any(|other| other.shared(area) > 0.0)
            || self.lines.iter().any(crosses)
            || names.into_iter().any(|other| other.shared(area) > 0.0)
    }

    /// Returns how many markers are about as near to a name as its own.
    fn misread(&self, name: &Area, own: &Cross) -> f64 {
        let near = (own.nearness_squared(name).sqrt() + NEARER).powi(2);
        self.marked
            .iter()
            .filter(|other| *other != own && other.nearness_squared(name) < near)
            .count() as f64
    }
}

/// A name that looks for its place.
struct Seeker {
    line: Line,
    cross: Cross,
    read_back: bool,
}

/// Finds a place for every name: each in turn, then each again now that the others are known. A measured point bears no
/// name where every place would hide something. Labels of bars stand at their ends.
pub(super) fn place_names(
    all: &[Series],
    axes: Axes<'_>,
    obstacles: &mut Obstacles,
    typefaces: &Typefaces,
) -> Vec<Name> {
    let heights = typefaces.heights(Face::Regular);
    let size = f64::from(style::SMALL_TEXT);
    let (above, below) = (
        f64::from(heights.capital) * size,
        f64::from(heights.descent) * size,
    );
    let mut seekers = seekers(all, axes, typefaces);
    if seekers.iter().filter(|seeker| !seeker.read_back).count() > MOST_NAMED {
        seekers.retain(|seeker| seeker.read_back);
    }
    let mut areas: Vec<Area> = Vec::with_capacity(seekers.len());
    for round in 0..ROUNDS {
        let before = areas.clone();
        for (index, seeker) in seekers.iter().enumerate() {
            let others: Vec<Area> = areas
                .iter()
                .enumerate()
                .filter(|(other, _)| *other != index)
                .map(|(_, area)| *area)
                .collect();
            let area = best_place(seeker, above + below, axes, obstacles, &others);
            if round == 0 {
                areas.push(area);
            } else {
                areas[index] = area;
            }
        }
        if areas == before {
            break;
        }
    }
    let placed = clear_of_each_other(seekers, areas, above + below, axes, obstacles);
    obstacles.boxes.extend(placed.iter().map(|(_, area)| area));
    placed
        .into_iter()
        .map(|(seeker, area)| Name {
            line: seeker.line,
            area,
            baseline: area.y1 - below,
            read_back: seeker.read_back,
        })
        .collect()
}

/// Returns the names that hide nothing where they stand, values read back in any case. Names that are in each other's
/// way are given up one after the other, the last first; then each looks once more for a place among those that stand.
fn clear_of_each_other(
    seekers: Vec<Seeker>,
    areas: Vec<Area>,
    height: f64,
    axes: Axes<'_>,
    obstacles: &Obstacles,
) -> Vec<(Seeker, Area)> {
    let mut places: Vec<Option<Area>> = areas.into_iter().map(Some).collect();
    for index in (0..seekers.len()).rev() {
        let others = others(&places, index);
        if let Some(area) = places[index]
            && !seekers[index].read_back
            && obstacles.hides(&area, others)
        {
            places[index] = None;
        }
    }
    for index in 0..seekers.len() {
        if places[index].is_some() {
            continue;
        }
        let others = others(&places, index);
        let area = best_place(&seekers[index], height, axes, obstacles, &others);
        if !obstacles.hides(&area, others) {
            places[index] = Some(area);
        }
    }
    seekers
        .into_iter()
        .zip(places)
        .filter_map(|(seeker, place)| Some((seeker, place?)))
        .collect()
}

/// Returns the places of all names but one.
fn others(places: &[Option<Area>], index: usize) -> Vec<Area> {
    let others = places.iter().enumerate();
    others
        .filter(|(other, _)| *other != index)
        .filter_map(|(_, place)| *place)
        .collect()
}

/// Returns all names of points. Of points close together with one name, the first alone bears it: replicates of one
/// solution.
fn seekers(all: &[Series], axes: Axes<'_>, typefaces: &Typefaces) -> Vec<Seeker> {
    let named = all.iter().flat_map(|series| {
        let (points, read_back) = match &series.shape {
            SeriesShape::Points(points) => (points.as_slice(), false),
            SeriesShape::ReadBack(point) => (std::slice::from_ref(point), true),
            SeriesShape::Curve { .. }
            | SeriesShape::Outline(_)
            | SeriesShape::Band(_)
            | SeriesShape::Bounds(_) => (&[][..], false),
        };
        points.iter().map(move |point| (point, read_back))
    });
    let mut placed: Vec<(&str, At)> = Vec::new();
    let mut seekers = Vec::new();
    for (point, read_back) in named.filter(|(point, _)| !point.label.is_empty()) {
        let cross = if read_back {
            Cross::read_back(point, axes)
        } else {
            Cross::measured(point, axes)
        };
        let label = point.label.as_str();
        let near = |place| distance(cross.middle, place) < REPLICATES;
        if placed
            .iter()
            .any(|&(other, place)| other == label && near(place))
        {
            continue;
        }
        placed.push((label, cross.middle));
        let line = Line::fitted(
            typefaces,
            label,
            style::SMALL_TEXT,
            axes.frame.width() * NAME_SHARE,
        );
        seekers.push(Seeker {
            line,
            cross,
            read_back,
        });
    }
    seekers
}

fn distance(one: At, other: At) -> f64 {
    (one.0 - other.0).hypot(one.1 - other.1)
}

/// Returns the place about a marker where a box of the name's width and that height hides least and is least misread.
fn best_place(
    seeker: &Seeker,
    height: f64,
    axes: Axes<'_>,
    obstacles: &Obstacles,
    names: &[Area],
) -> Area {
    let inside = axes.frame.grown(-(style::TICK + 1.0));
    let Seeker { cross, line, .. } = seeker;
    let width = line.width();
    let mut best = (f64::INFINITY, Area::about(cross.middle, width, height));
    for out in 0..TRIES_OUT {
        for (rank, (dx, dy)) in (0_u8..).zip(DIRECTIONS) {
            let (away_x, away_y) = cross.away((dx, dy), out);
            let middle = (
                cross.middle.0 + dx * (away_x + width / 2.0),
                cross.middle.1 + dy * (away_y + height / 2.0),
            );
            let area = pushed_in(Area::about(middle, width, height), &inside);
            let distant = f64::from(out) * FURTHER + f64::from(rank) * TURNED;
            if best.0 <= distant {
                continue;
            }
            let roomy = area.grown(CLEARANCE);
            let on_names: f64 = names.iter().map(|name| name.shared(&roomy)).sum();
            let cost = distant + obstacles.cost(&roomy, best.0) + on_names * HIDDEN;
            if cost >= best.0 {
                continue;
            }
            let cost = cost + obstacles.misread(&area, cross) * MISREAD;
            if cost < best.0 {
                best = (cost, area);
            }
        }
    }
    best.1
}

/// Returns the box moved so that it lies inside, or in the middle where it is too large for that.
fn pushed_in(area: Area, inside: &Area) -> Area {
    let (width, height) = (area.width(), area.height());
    let middle = (
        f64::midpoint(area.x0, area.x1),
        f64::midpoint(area.y0, area.y1),
    );
    let free = Area {
        x0: inside.x0 + width / 2.0,
        y0: inside.y0 + height / 2.0,
        x1: inside.x1 - width / 2.0,
        y1: inside.y1 - height / 2.0,
    };
    Area::about(free.pulled_in(middle), width, height)
}
