//! The choice of apparatus that is not named at an entry: the only piece that fits.

use super::model::ApparatusKind;

/// A piece of apparatus to choose from.
pub(super) struct Piece<I> {
    pub(super) item: I,
    pub(super) kind: ApparatusKind,
    /// Capacity, mL, where it is known.
    pub(super) capacity: Option<f64>,
}

/// Returns the ware that measures volumes (mL): the only one-mark ware whose capacity all volumes are or, if there is
/// none, the only ware of these kinds.
pub(super) fn ware<I: Copy>(
    all: &[Piece<I>],
    kinds: &[ApparatusKind],
    volumes: &[f64],
) -> Option<I> {
    let fits = || all.iter().filter(|piece| kinds.contains(&piece.kind));
    let at_mark = |piece: &&Piece<I>| {
        piece.kind.has_one_mark()
            && piece.capacity.is_some_and(|capacity| {
                let at = |volume: &f64| (volume - capacity).abs() <= 1e-9 * capacity;
                volumes.iter().all(at)
            })
    };
    let mut marked = fits().filter(at_mark);
    match (marked.next(), marked.next()) {
        (Some(only), None) => Some(only.item),
        (Some(_), Some(_)) => None,
        (None, _) => only(all, kinds),
    }
}

/// Returns the only piece of some kinds.
pub(super) fn only<I: Copy>(all: &[Piece<I>], kinds: &[ApparatusKind]) -> Option<I> {
    let mut fits = all.iter().filter(|piece| kinds.contains(&piece.kind));
    let first = fits.next().filter(|_| fits.next().is_none());
    first.map(|piece| piece.item)
}
