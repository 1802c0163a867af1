//! A logo's picture.

use std::sync::Arc;

use crate::print::page::Pixels;
use crate::print::picture::{Room, drawing};

/// No more pixels than a printer shows of a logo at the height it is set (600 to the inch).
const ROOM: Room = Room {
    columns: 2_400,
    rows: 360,
};

/// Returns the picture on white.
///
/// # Errors
/// Why it cannot be used, in words.
pub(super) fn decoded(bytes: &[u8]) -> Result<Arc<Pixels>, String> {
    drawing(bytes, ROOM).map_err(|fault| format!("it {fault}"))
}
