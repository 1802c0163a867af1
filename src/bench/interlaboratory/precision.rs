//! Repeatability and reproducibility of a method that several benches used (ISO 5725-2:1994, 7.4): what repeats at one bench
//! differ by, and what benches differ by beyond that.

use super::{Unusable, require};
use crate::bench::fit::f_tail;

/// Precision of a method, from the values of several benches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Precision {
    /// How many cells: benches, or days.
    pub cells: usize,
    /// How many values in all.
    pub values: usize,
    /// General mean: of all values, unit of the values.
    pub mean: f64,
    /// What counts as the number of values of a cell, where that differs from cell to cell.
    pub size: f64,
    /// Repeatability standard deviation `s_r`, unit of the values.
    pub repeatability: f64,
    /// Its degrees of freedom.
    pub repeatability_dof: usize,
    /// Variance between benches as estimated, unit of the values squared; below 0 where the means of benches differ by less
    /// than their repeats would let them.
    pub between_variance: f64,
    /// Standard deviation between benches `s_L`, unit of the values; 0 where its variance is estimated below 0.
    pub between: f64,
    /// Degrees of freedom of the means.
    pub between_dof: usize,
    /// Reproducibility standard deviation `s_R`, unit of the values.
    pub reproducibility: f64,
    /// Its effective degrees of freedom (Welch and Satterthwaite; JCGM 100:2008, G.4.1).
    pub reproducibility_dof: f64,
    /// The F test of whether benches differ: the variance of their means over what repeats let it be. Infinite where
    /// repeats agree perfectly and benches do not; NaN where nothing scatters.
    pub f: f64,
    /// Probability of an F as large by chance.
    pub p_value: f64,
}

/// Mean and sum of squares of a cell.
pub(super) struct Cell {
    pub(super) count: usize,
    pub(super) mean: f64,
    /// Of the deviations from its mean, unit of the values squared.
    pub(super) squares: f64,
}

impl Cell {
    fn from_values(values: &[f64]) -> Self {
        let mean = mean_near(values[0], values.iter().map(|v| (*v, 1)));
        Self {
            count: values.len(),
            mean,
            squares: values.iter().map(|v| (v - mean).powi(2)).sum(),
        }
    }

    /// Variance of its values; `None` for one alone.
    pub(super) fn variance(&self) -> Option<f64> {
        (self.count > 1).then(|| self.squares / (self.count as f64 - 1.0))
    }
}

/// The cells that statistics of several benches start from: at least two, each with a value.
pub(super) fn cells(values: &[Vec<f64>]) -> Result<Vec<Cell>, Unusable> {
    if values.len() < 2 {
        return Err(Unusable::TooFew(values.len(), 2));
    }
    if let Some(empty) = values.iter().position(Vec::is_empty) {
        return Err(Unusable::Empty(empty));
    }
    values
        .iter()
        .map(|cell| require(cell, 1).map(|()| Cell::from_values(cell)))
        .collect()
}

/// The mean of all values.
pub(super) fn general_mean(cells: &[Cell]) -> f64 {
    mean_near(cells[0].mean, cells.iter().map(|c| (c.mean, c.count)))
}

/// The mean of values that each count so many times, taken from one of them on, so that equal values have no rounding.
fn mean_near(start: f64, values: impl Iterator<Item = (f64, usize)>) -> f64 {
    let (sum, count) = values.fold((0.0, 0), |(sum, all), (value, count)| {
        (sum + count as f64 * (value - start), all + count)
    });
    start + sum / count as f64
}

/// Precision from cells of values in any one unit, one cell a bench or a day, of the same or different numbers of values
/// (ISO 5725-2:1994, 7.4.5). A cell of one value tells of the mean and of benches, not of the repeatability.
///
/// # Errors
/// Fewer than two cells, a cell without values, none with two values, a value or its square not finite.
///
/// ```
/// let found = fillmark::bench::interlaboratory::precision(&[vec![1.0, 1.2], vec![1.4, 1.6]])?;
/// assert!((found.repeatability - 0.02_f64.sqrt()).abs() < 1e-12);
/// # Ok::<(), fillmark::bench::interlaboratory::Unusable>(())
/// ```
pub fn precision(values: &[Vec<f64>]) -> Result<Precision, Unusable> {
    let cells = cells(values)?;
    let count: usize = cells.iter().map(|cell| cell.count).sum();
    let (within_dof, between_dof) = (count - cells.len(), cells.len() - 1);
    if within_dof == 0 {
        return Err(Unusable::NoRepeats);
    }
    let mean = general_mean(&cells);
    let within = cells.iter().map(|cell| cell.squares).sum::<f64>() / within_dof as f64;
    let of_means = cells
        .iter()
        .map(|cell| cell.count as f64 * (cell.mean - mean).powi(2))
        .sum::<f64>()
        / between_dof as f64;
    let total = count as f64;
    let counts_squared: f64 = cells.iter().map(|cell| (cell.count as f64).powi(2)).sum();
    let size = (total - counts_squared / total) / between_dof as f64;
    let between_variance = (of_means - within) / size;
    let variance = within + between_variance.max(0.0);
    let reproducibility_dof = if between_variance > 0.0 {
        // s_R² is of_means/size + (1 − 1/size) within.
        let share = of_means / size / variance;
        1.0 / (share.powi(2) / between_dof as f64 + (1.0 - share).powi(2) / within_dof as f64)
    } else {
        within_dof as f64
    };
    let f = of_means / within;
    Ok(Precision {
        cells: cells.len(),
        values: count,
        mean,
        size,
        repeatability: within.sqrt(),
        repeatability_dof: within_dof,
        between_variance,
        between: between_variance.max(0.0).sqrt(),
        between_dof,
        reproducibility: variance.sqrt(),
        reproducibility_dof,
        f,
        p_value: f_tail(f, between_dof as f64, within_dof as f64),
    })
}
