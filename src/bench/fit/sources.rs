//! Sources of error sorted into those private to a point and those shared between points.

use super::{FitError, Influence, Point, frame::Frame};
use nalgebra::DMatrix;

/// The most that points times squared shared sources may come to, as a fit takes a time proportional to that: about a
/// second.
const LARGEST: usize = 200_000_000;

/// All that touches one point alone, as two sources: one on both coordinates, one on y alone.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Private {
    /// Influence of the first on x.
    pub(super) x: f64,
    /// Influence of the first on y.
    pub(super) y: f64,
    /// Influence of the second on y.
    pub(super) y_alone: f64,
}

impl Private {
    /// Returns the two sources that stand for many of influence (x, y): a Gram–Schmidt step, which keeps a correlation
    /// of ±1 exact where differences of variances would not.
    fn standing_for(influences: &[(f64, f64)]) -> Self {
        let x = influences.iter().fold(0.0_f64, |sum, (a, _)| sum.hypot(*a));
        if x == 0.0 {
            return Self {
                y_alone: influences.iter().fold(0.0_f64, |sum, (_, b)| sum.hypot(*b)),
                ..Self::default()
            };
        }
        let y: f64 = influences.iter().map(|(a, b)| a / x * b).sum();
        let y_alone = influences
            .iter()
            .fold(0.0_f64, |sum, (a, b)| sum.hypot(b - a / x * y));
        // What rounding leaves of nothing is nothing.
        let size = y.abs().max(
            influences
                .iter()
                .fold(0.0, |most, (_, b)| b.abs().max(most)),
        );
        let y_alone = if y_alone <= 8.0 * f64::EPSILON * size {
            0.0
        } else {
            y_alone
        };
        Self { x, y, y_alone }
    }

    /// Standard uncertainty of y − slope·x, and how much a unit of it moves x at the least cost (regression of x on it).
    pub(super) fn along(&self, slope: f64) -> (f64, f64) {
        let both = self.y - slope * self.x;
        let uncertainty = both.hypot(self.y_alone);
        let regression = if uncertainty > 0.0 {
            self.x * (both / uncertainty) / uncertainty
        } else {
            0.0
        };
        (uncertainty, regression)
    }
}

/// The sources of all points, in the frame.
#[derive(Debug, Clone)]
pub(super) struct Sources {
    /// Influences of shared sources on x, points × sources.
    pub(super) x: DMatrix<f64>,
    /// Influences of shared sources on y, points × sources.
    pub(super) y: DMatrix<f64>,
    /// What touches one point only.
    pub(super) private: Vec<Private>,
}

impl Sources {
    /// Sorts the influences of the points.
    ///
    /// # Errors
    /// [`FitError::TooManyShared`].
    pub(super) fn new(points: &[Point], frame: &Frame) -> Result<Self, FitError> {
        let mut entries: Vec<(u32, usize, f64, f64)> = Vec::new();
        for (i, point) in points.iter().enumerate() {
            entries.extend(
                point
                    .x_influences
                    .iter()
                    .map(|&(s, u)| (s, i, u / frame.x_scale, 0.0)),
            );
            entries.extend(
                point
                    .y_influences
                    .iter()
                    .map(|&(s, u)| (s, i, 0.0, u / frame.y_scale)),
            );
        }
        entries.retain(|&(_, _, x, y)| x != 0.0 || y != 0.0);
        entries.sort_by_key(|&(source, point, ..)| (source, point));

        let mut private: Vec<Vec<(f64, f64)>> = vec![Vec::new(); points.len()];
        let mut shared: Vec<&[(u32, usize, f64, f64)]> = Vec::new();
        for source in entries.chunk_by(|a, b| a.0 == b.0) {
            let home = source[0].1;
            if source.iter().all(|entry| entry.1 == home) {
                private[home].push(
                    source
                        .iter()
                        .fold((0.0, 0.0), |(x, y), e| (x + e.2, y + e.3)),
                );
            } else {
                shared.push(source);
            }
        }
        let most = (LARGEST / points.len()).isqrt();
        if shared.len() > most {
            return Err(FitError::TooManyShared(shared.len(), most));
        }
        let mut sources = Self {
            x: DMatrix::zeros(points.len(), shared.len()),
            y: DMatrix::zeros(points.len(), shared.len()),
            private: private
                .iter()
                .map(|influences| Private::standing_for(influences))
                .collect(),
        };
        for (column, source) in shared.iter().enumerate() {
            for &(_, point, x, y) in *source {
                sources.x[(point, column)] += x;
                sources.y[(point, column)] += y;
            }
        }
        Ok(sources.condensed())
    }

    /// As many sources as there are coordinates suffice for any covariance: more are replaced by those.
    fn condensed(self) -> Self {
        let points = self.x.nrows();
        if self.x.ncols() <= 2 * points {
            return self;
        }
        let mut stacked = DMatrix::zeros(self.x.ncols(), 2 * points);
        stacked
            .columns_mut(0, points)
            .copy_from(&self.x.transpose());
        stacked
            .columns_mut(points, points)
            .copy_from(&self.y.transpose());
        // A Aᵀ = Rᵀ R for Aᵀ = Q R: the same covariance from fewer columns.
        let fewer = stacked.qr().r().transpose();
        Self {
            x: fewer.rows(0, points).into_owned(),
            y: fewer.rows(points, points).into_owned(),
            private: self.private,
        }
    }
}

/// Combined standard uncertainty from independent influences.
pub(super) fn combined(influences: &[Influence]) -> f64 {
    influences.iter().fold(0.0_f64, |sum, &(_, u)| sum.hypot(u))
}
