//! Boxes, and what of a line or an area lies inside one.

/// A point, in whichever plane is meant.
pub(super) type At = (f64, f64);

/// An upright box; `x0 <= x1` and `y0 <= y1`, whichever way the axes run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Area {
    pub(super) x0: f64,
    pub(super) y0: f64,
    pub(super) x1: f64,
    pub(super) y1: f64,
}

impl Area {
    /// Returns the box of that width and height about a point.
    pub(super) fn about((x, y): At, width: f64, height: f64) -> Self {
        Self {
            x0: x - width / 2.0,
            y0: y - height / 2.0,
            x1: x + width / 2.0,
            y1: y + height / 2.0,
        }
    }

    pub(super) fn width(&self) -> f64 {
        self.x1 - self.x0
    }

    pub(super) fn height(&self) -> f64 {
        self.y1 - self.y0
    }

    /// Returns the box larger by `by` on each side.
    pub(super) fn grown(&self, by: f64) -> Self {
        Self {
            x0: self.x0 - by,
            y0: self.y0 - by,
            x1: self.x1 + by,
            y1: self.y1 + by,
        }
    }

    /// Returns whether all of `other` lies inside.
    pub(super) fn holds(&self, other: &Self) -> bool {
        self.x0 <= other.x0 && other.x1 <= self.x1 && self.y0 <= other.y0 && other.y1 <= self.y1
    }

    /// Returns the area that both have.
    pub(super) fn shared(&self, other: &Self) -> f64 {
        let width = self.x1.min(other.x1) - self.x0.max(other.x0);
        let height = self.y1.min(other.y1) - self.y0.max(other.y0);
        width.max(0.0) * height.max(0.0)
    }

    /// Returns the part of a straight line that lies inside (the parametric clipping of Liang and Barsky, 1984).
    pub(super) fn clip(&self, from: At, to: At) -> Option<(At, At)> {
        // Most lines lie wholly to one side of most boxes.
        if from.0.max(to.0) < self.x0
            || from.0.min(to.0) > self.x1
            || from.1.max(to.1) < self.y0
            || from.1.min(to.1) > self.y1
        {
            return None;
        }
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let (mut start, mut end) = (0.0_f64, 1.0_f64);
        let sides = [
            (-dx, from.0 - self.x0),
            (dx, self.x1 - from.0),
            (-dy, from.1 - self.y0),
            (dy, self.y1 - from.1),
        ];
        for (rate, room) in sides {
            if rate == 0.0 {
                if room < 0.0 {
                    return None;
                }
            } else if rate < 0.0 {
                start = start.max(room / rate);
            } else {
                end = end.min(room / rate);
            }
        }
        (start <= end).then(|| {
            // The ends themselves are kept to the last bit where nothing is cut off.
            let point = |t: f64| (from.0 + t * dx, from.1 + t * dy);
            (
                if start <= 0.0 {
                    from
                } else {
                    self.pulled_in(point(start))
                },
                if end >= 1.0 {
                    to
                } else {
                    self.pulled_in(point(end))
                },
            )
        })
    }

    /// Returns the parts of a line through points that lie inside.
    pub(super) fn clip_line(&self, points: &[At]) -> Vec<Vec<At>> {
        let mut parts: Vec<Vec<At>> = Vec::new();
        for pair in points.windows(2) {
            let Some((from, to)) = self.clip(pair[0], pair[1]) else {
                continue;
            };
            match parts.last_mut() {
                Some(part) if part.last() == Some(&from) => part.push(to),
                _ => parts.push(vec![from, to]),
            }
        }
        parts
    }

    /// Returns the part of a polygon that lies inside, cut at one side after another (Sutherland and Hodgman, 1974).
    pub(super) fn clip_polygon(&self, corners: &[At]) -> Vec<At> {
        // Each side as the signed distance of a point inward from it.
        let sides: [&dyn Fn(At) -> f64; 4] = [
            &|p| p.0 - self.x0,
            &|p| self.x1 - p.0,
            &|p| p.1 - self.y0,
            &|p| self.y1 - p.1,
        ];
        let mut corners = corners.to_vec();
        for inward in sides {
            let mut kept = Vec::with_capacity(corners.len() + 4);
            for (index, &to) in corners.iter().enumerate() {
                let from = corners[(index + corners.len() - 1) % corners.len()];
                let (a, b) = (inward(from), inward(to));
                if (a < 0.0) != (b < 0.0) {
                    let t = a / (a - b);
                    kept.push((from.0 + t * (to.0 - from.0), from.1 + t * (to.1 - from.1)));
                }
                if b >= 0.0 {
                    kept.push(to);
                }
            }
            corners = kept;
        }
        corners
            .into_iter()
            .map(|corner| self.pulled_in(corner))
            .collect()
    }

    /// Returns the nearest point inside; takes away what rounding left outside.
    pub(super) fn pulled_in(&self, (x, y): At) -> At {
        (x.max(self.x0).min(self.x1), y.max(self.y0).min(self.y1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const UNIT: Area = Area {
        x0: 0.0,
        y0: 0.0,
        x1: 1.0,
        y1: 1.0,
    };

    #[test]
    fn a_line_is_cut_at_the_sides() {
        assert_eq!(
            UNIT.clip((-1.0, 0.5), (2.0, 0.5)),
            Some(((0.0, 0.5), (1.0, 0.5))),
            "both ends"
        );
        assert_eq!(
            UNIT.clip((0.5, 0.5), (0.5, 3.0)),
            Some(((0.5, 0.5), (0.5, 1.0))),
            "one end"
        );
        assert_eq!(UNIT.clip((-1.0, 2.0), (2.0, 2.0)), None, "outside");
        assert_eq!(UNIT.clip((-1.0, 0.5), (0.5, 2.5)), None, "past a corner");
    }

    #[test]
    fn a_line_that_leaves_and_returns_comes_in_parts() {
        let parts = UNIT.clip_line(&[(0.0, 0.0), (0.25, 0.5), (0.5, 2.0), (0.75, 0.5), (1.0, 0.0)]);
        assert_eq!(parts.len(), 2, "{parts:?}");
        assert_eq!(parts[0][1], (0.25, 0.5), "an inner point stays as it is");
    }

    #[test]
    fn a_polygon_keeps_what_is_inside() {
        let cut = UNIT.clip_polygon(&[(-1.0, 0.25), (2.0, 0.25), (2.0, 0.75), (-1.0, 0.75)]);
        let twice: f64 = (0..cut.len())
            .map(|i| {
                let (a, b) = (cut[i], cut[(i + 1) % cut.len()]);
                a.0 * b.1 - b.0 * a.1
            })
            .sum();
        assert!((twice.abs() / 2.0 - 0.5).abs() < 1e-12, "area of {cut:?}");
        assert!(
            UNIT.clip_polygon(&[(2.0, 2.0), (3.0, 2.0), (3.0, 3.0)])
                .is_empty(),
            "outside"
        );
        assert!(UNIT.clip_polygon(&[]).is_empty(), "nothing");
    }

    #[test]
    fn shared_area() {
        assert!(
            (UNIT.shared(&Area::about((1.0, 1.0), 1.0, 1.0)) - 0.25).abs() < 1e-12,
            "a quarter"
        );
        assert!(
            UNIT.shared(&Area::about((3.0, 0.0), 1.0, 1.0)) == 0.0,
            "none"
        );
    }
}
