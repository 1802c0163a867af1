//! Quantities solved for together, and how to solve for them again.

use std::fmt;
use std::sync::Arc;

use super::NodeId;

/// Finds the coefficients of a curve (third argument, filled) from the x and y of its points (first and second).
///
/// At the values the coefficients were first solved from, it must give them back to rounding.
pub type Solve = dyn Fn(&[f64], &[f64], &mut [f64]) + Send + Sync;

/// Coefficients solved for together from points.
#[derive(Clone)]
pub struct Solution {
    /// x and y of each point.
    pub points: Vec<(NodeId, NodeId)>,
    /// How many coefficients there are.
    pub count: usize,
    /// Solves again for other values of the points.
    pub again: Arc<Solve>,
}

impl fmt::Debug for Solution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Solution")
            .field("points", &self.points)
            .field("count", &self.count)
            .finish_non_exhaustive()
    }
}

/// By points and count: on equal worksheets these decide what is solved for, and functions have no equality.
impl PartialEq for Solution {
    fn eq(&self, other: &Self) -> bool {
        self.points == other.points && self.count == other.count
    }
}

/// What a solved quantity is.
#[derive(Debug, Clone, PartialEq)]
pub struct Solved {
    /// The solution it belongs to, shared by all its coefficients.
    pub solution: Arc<Solution>,
    /// Which of its coefficients it is.
    pub coefficient: usize,
}
