//! Mandel's h and k: how far each bench's mean and scatter lie from those of all (ISO 5725-2:1994, 7.3.1).

use std::collections::BTreeMap;

use super::outliers::share_critical;
use super::precision::{Cell, cells, general_mean};
use super::{Critical, Standing, Unusable};
use crate::bench::fit::standardised_critical;

/// h and k of one cell, pure numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CellConsistency {
    /// Mean of the cell, unit of the values.
    pub mean: f64,
    /// Standard deviation of the cell, unit of the values; `None` for one value alone.
    pub standard_deviation: Option<f64>,
    /// Its mean less the general mean, over the standard deviation of the means; NaN where they are all equal.
    pub h: f64,
    /// Critical values of the size of h.
    pub h_critical: Critical,
    /// What h says.
    pub h_standing: Standing,
    /// Its standard deviation over the root mean square of those of all cells; `None` for one value alone, or if no cell
    /// scatters.
    pub k: Option<f64>,
    /// Critical values of k for cells of its number of values.
    pub k_critical: Option<Critical>,
    /// What k says.
    pub k_standing: Option<Standing>,
}

/// Mandel's h and k of each cell of values in any one unit; critical values of h for the number of cells, of k for cells
/// that all have as many values as this one.
///
/// # Errors
/// Fewer than three cells, a cell without values, a value or its square not finite.
pub fn consistency(values: &[Vec<f64>]) -> Result<Vec<CellConsistency>, Unusable> {
    if values.len() < 3 {
        return Err(Unusable::TooFew(values.len(), 3));
    }
    let cells = cells(values)?;
    let mean = general_mean(&cells);
    let squares: f64 = cells.iter().map(|cell| (cell.mean - mean).powi(2)).sum();
    let spread = (squares / (cells.len() as f64 - 1.0)).sqrt();
    let variances: Vec<f64> = cells.iter().filter_map(Cell::variance).collect();
    let typical = crate::bench::fit::mean(&variances).sqrt();
    let h_critical = Critical::by(|level| mandel_h_critical(cells.len(), level));
    let mut k_criticals: BTreeMap<usize, Critical> = BTreeMap::new();
    let found = cells.iter().map(|cell| {
        let standard_deviation = cell.variance().map(f64::sqrt);
        let h = (cell.mean - mean) / spread;
        let k = standard_deviation
            .filter(|_| typical > 0.0)
            .map(|s| s / typical);
        let k_critical = k.map(|_| {
            *k_criticals.entry(cell.count).or_insert_with(|| {
                Critical::by(|level| mandel_k_critical(variances.len(), cell.count, level))
            })
        });
        CellConsistency {
            mean: cell.mean,
            standard_deviation,
            h,
            h_critical,
            h_standing: h_critical.of_large(h.abs()),
            k,
            k_critical,
            k_standing: k_critical.zip(k).map(|(critical, k)| critical.of_large(k)),
        }
    });
    Ok(found.collect())
}

/// The h that one cell, of a number of `cells`, exceeds in size with probability `significance`: (p − 1) t/√(p (t² + p − 2))
/// with the two-sided t of p − 2 degrees of freedom (ISO 5725-2:1994, Tables 6 and 7).
///
/// NaN for fewer than three cells, or a significance outside ]0, 1[.
#[must_use]
pub fn mandel_h_critical(cells: usize, significance: f64) -> f64 {
    standardised_critical(cells, 0.5 * significance)
}

/// The k that one cell, of a number of `cells` of `size` values each, exceeds with probability `significance`:
/// √(p/(1 + (p − 1)/F)) with F of n − 1 and (p − 1)(n − 1) degrees of freedom (ISO 5725-2:1994, Tables 6 and 7).
///
/// NaN for fewer than two cells or two values, or a significance outside ]0, 1[.
#[must_use]
pub fn mandel_k_critical(cells: usize, size: usize, significance: f64) -> f64 {
    let dof = size as f64 - 1.0;
    let count = cells as f64;
    (count * share_critical(significance, dof, (count - 1.0) * dof)).sqrt()
}
