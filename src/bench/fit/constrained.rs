//! Linear least squares with shared errors, the kernel of every fit.
//!
//! The model is r = J δ + F s + D e, where s (shared sources) and e (one private source a point) are independent and of
//! unit variance, and D is diagonal. Minimising sᵀs + eᵀe gives the δ that minimises (r − J δ)ᵀ C⁻¹ (r − J δ) with
//! C = D² + F Fᵀ, the generalised least-squares estimate, without forming C: the shared sources are unknowns beside δ,
//! each with an observation of zero of its own. With n points, k shared sources and p coefficients this takes
//! O(n (k + p)²) operations and O(n (k + p)) memory.
//!
//! Points without a private source need no inverse of D: they are equations to be met exactly, and are solved first,
//! by orthogonal factors (null-space method; Golub and Van Loan 2013, section 6.2; Paige 1979 on why this is the meaning
//! of generalised least squares when C is singular).

use super::FitError;
use nalgebra::{DMatrix, DVector, RowDVector};

/// A private standard uncertainty below this share of the largest uncertainty of any point counts as none.
const EXACT: f64 = 1e-12;
/// An exact equation with less than this share of the largest left, once others are taken out of it, repeats them.
const DEPENDENT: f64 = 1e-12;

/// A linear problem, rows being points.
pub(super) struct Problem<'a> {
    /// J, points × coefficients; must have full column rank.
    pub(super) design: &'a DMatrix<f64>,
    /// F, points × shared sources.
    pub(super) shared: &'a DMatrix<f64>,
    /// Diagonal of D, at least 0.
    pub(super) private: &'a [f64],
    /// r.
    pub(super) right: &'a DVector<f64>,
    /// By how much exact equations may fail to be met, in the unit of r.
    pub(super) slack: f64,
}

/// What minimises it.
pub(super) struct Solution {
    /// δ.
    pub(super) step: DVector<f64>,
    /// s.
    pub(super) sources: DVector<f64>,
    /// H, coefficients × points: δ = H r.
    pub(super) gain: DMatrix<f64>,
    /// Covariance of δ, (Jᵀ C⁻¹ J)⁻¹ where C is regular; always H C Hᵀ.
    pub(super) covariance: DMatrix<f64>,
    /// What is left to the private sources, D e; zero for points without one.
    pub(super) remainder: Vec<f64>,
    /// Total standard uncertainty of each point.
    pub(super) total: Vec<f64>,
    /// sᵀs + eᵀe.
    pub(super) chi_squared: f64,
    /// How many exact equations only repeat others.
    pub(super) redundant: usize,
    /// Rows, one a point, of an orthonormal basis of what the unknowns can follow; zero for points without a private
    /// source.
    pub(super) basis: DMatrix<f64>,
}

/// Solves the problem; `FitError::Contradiction` where exact equations cannot be met together.
pub(super) fn solve(problem: &Problem<'_>) -> Result<Solution, FitError> {
    let &Problem {
        design,
        shared,
        private,
        right,
        slack,
    } = problem;
    let (count, sources) = (design.ncols(), shared.ncols());
    let finite = |m: &DMatrix<f64>| m.iter().all(|v| v.is_finite());
    if !(finite(design) && finite(shared) && right.iter().chain(private).all(|v| v.is_finite())) {
        return Err(FitError::NotFinite);
    }
    let total: Vec<f64> = private
        .iter()
        .zip(shared.row_iter())
        .map(|(d, row)| d.hypot(row.norm()))
        .collect();
    // The largest uncertainty is the unit of all uncertainties, so that their size does not matter.
    let largest = total.iter().copied().fold(0.0, f64::max);
    let unit = if largest > 0.0 { largest } else { 1.0 };

    let (exact, mut free): (Vec<usize>, Vec<usize>) =
        (0..private.len()).partition(|&i| private[i] <= EXACT * unit);
    // Heavy rows first: Householder's method then keeps the digits of the light ones (Cox and Higham 1998).
    free.sort_by(|&a, &b| private[a].total_cmp(&private[b]));

    // Unknowns: shared sources, then coefficients. Rows: weighted points, then the observations s = 0.
    let entry = |i: usize, j: usize| {
        if j < sources {
            shared[(i, j)] / unit
        } else {
            design[(i, j - sources)]
        }
    };
    let weights: Vec<f64> = free.iter().map(|&i| unit / private[i]).collect();
    let rows = free.len() + sources;
    let weighted = DMatrix::from_fn(rows, sources + count, |row, j| match free.get(row) {
        Some(&i) => weights[row] * entry(i, j),
        None => f64::from(u8::from(row - free.len() == j)),
    });
    let observed = DVector::from_fn(rows, |row, _| {
        free.get(row).map_or(0.0, |&i| weights[row] * right[i])
    });

    let met = Exact::solve(&exact, sources + count, entry, right, slack)?;
    let (reduced, target) = match &met {
        Some(met) => (&weighted * &met.free, &observed - &weighted * &met.point),
        None => (weighted.clone(), observed),
    };
    let unknowns = reduced.ncols();
    if rows < unknowns {
        return Err(FitError::NoSpread);
    }
    let factors = reduced.qr();
    let (orthogonal, triangle) = (factors.q(), factors.r());

    // Rows of the null-space basis that belong to the coefficients: how the unknowns left free move them.
    let moves = match &met {
        Some(met) => met.free.rows(sources, count).into_owned(),
        None => DMatrix::from_fn(count, unknowns, |k, j| {
            f64::from(u8::from(sources + k == j))
        }),
    };
    let solved = triangle
        .solve_upper_triangular(&(orthogonal.transpose() * target))
        .ok_or(FitError::NoSpread)?;
    let spread = triangle
        .tr_solve_upper_triangular(&moves.transpose())
        .ok_or(FitError::NoSpread)?;
    let by_row = spread.transpose() * orthogonal.transpose();
    let all = match &met {
        Some(met) => &met.point + &met.free * solved,
        None => solved,
    };
    let (step, drawn) = (
        all.rows(sources, count).into_owned(),
        all.rows(0, sources).into_owned(),
    );

    let mut gain = DMatrix::zeros(count, private.len());
    for (row, &i) in free.iter().enumerate() {
        gain.set_column(i, &(by_row.column(row) * weights[row]));
    }
    if let Some(met) = &met {
        let direct = met.inverse.rows(sources, count) - &by_row * (&weighted * &met.inverse);
        for (column, &i) in exact.iter().enumerate() {
            gain.set_column(i, &direct.column(column));
        }
    }
    let mut basis = DMatrix::zeros(private.len(), unknowns);
    for (row, &i) in free.iter().enumerate() {
        basis.set_row(i, &orthogonal.row(row));
    }
    let mut remainder = vec![0.0; private.len()];
    let mut squares = drawn.norm_squared();
    for (row, &i) in free.iter().enumerate() {
        let explained: f64 = (0..sources + count).map(|j| entry(i, j) * all[j]).sum();
        remainder[i] = right[i] - explained;
        squares += (remainder[i] * weights[row]).powi(2);
    }
    Ok(Solution {
        step,
        sources: drawn / unit,
        gain,
        covariance: spread.transpose() * spread * (unit * unit),
        remainder,
        total,
        chi_squared: squares / (unit * unit),
        redundant: met.map_or(0, |met| exact.len() - met.rank),
        basis,
    })
}

/// The solutions of the exact equations: point + free · w for any w.
struct Exact {
    /// The solution of least norm.
    point: DVector<f64>,
    /// Orthonormal basis of what the equations leave free.
    free: DMatrix<f64>,
    /// Point = inverse · right sides; nothing is taken from equations that repeat others.
    inverse: DMatrix<f64>,
    /// Number of independent equations.
    rank: usize,
}

impl Exact {
    /// `None` if there are no exact equations.
    fn solve(
        exact: &[usize],
        unknowns: usize,
        entry: impl Fn(usize, usize) -> f64,
        right: &DVector<f64>,
        slack: f64,
    ) -> Result<Option<Self>, FitError> {
        if exact.is_empty() {
            return Ok(None);
        }
        let equations = DMatrix::from_fn(exact.len(), unknowns, |row, j| entry(exact[row], j));
        // The equations as columns, and columns of zeros until the orthogonal factor spans all unknowns. (Singular
        // values would do as well, but those of nalgebra 0.34 are wrong for some matrices of deficient rank.)
        let columns = exact.len().max(unknowns);
        let padded = equations.transpose().resize_horizontally(columns, 0.0);
        let factors = padded.col_piv_qr();
        let (orthogonal, triangle) = (factors.q(), factors.r());
        let mut order = RowDVector::from_fn(columns, |_, j| j);
        factors.p().permute_columns(&mut order);

        let pivots: Vec<f64> = (0..unknowns).map(|j| triangle[(j, j)].abs()).collect();
        let rank = pivots
            .iter()
            .filter(|&&pivot| pivot > DEPENDENT * pivots[0])
            .count();
        let leading = triangle.view((0, 0), (rank, rank));
        let independent = leading
            .tr_solve_upper_triangular(&DMatrix::identity(rank, rank))
            .ok_or(FitError::NoSpread)?;
        let chosen = orthogonal.columns(0, rank) * independent;
        let mut inverse = DMatrix::zeros(unknowns, exact.len());
        for (column, &equation) in chosen.column_iter().zip(&order) {
            inverse.set_column(equation, &column);
        }
        let wanted = DVector::from_fn(exact.len(), |row, _| right[exact[row]]);
        let point = &inverse * &wanted;
        let missed = (equations * &point - wanted).abs();
        // Sources drawn far out to meet an equation magnify its rounding.
        if missed.max() > slack * (1.0 + point.amax()) {
            return Err(FitError::Contradiction(exact[missed.imax()]));
        }
        let free = orthogonal.columns(rank, unknowns - rank).into_owned();
        Ok(Some(Self {
            point,
            free,
            inverse,
            rank,
        }))
    }
}
