//! Which piece of apparatus is meant where none is named: the only one that fits.

use super::model::ApparatusKind;

/// A piece of apparatus that may be meant.
pub(super) struct Piece<I> {
    pub(super) item: I,
    pub(super) kind: ApparatusKind,
    /// Capacity, mL, where it is known.
    pub(super) capacity: Option<f64>,
}

/// The piece that measures volumes (mL): of those with one mark, the only one whose mark all volumes are measured at; else
/// the only one of these kinds.
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

/// The only piece of some kinds.
pub(super) fn only<I: Copy>(all: &[Piece<I>], kinds: &[ApparatusKind]) -> Option<I> {
    let mut fits = all.iter().filter(|piece| kinds.contains(&piece.kind));
    let first = fits.next().filter(|_| fits.next().is_none());
    first.map(|piece| piece.item)
}
