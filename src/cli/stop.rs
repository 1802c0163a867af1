//! Whether the person at the terminal asked to stop (Ctrl-C).

use std::sync::atomic::{AtomicBool, Ordering};

static ASKED: AtomicBool = AtomicBool::new(false);

/// From now on a first Ctrl-C is only noted; a second one ends the process at once, which no file minds: what is half
/// written stands beside it.
pub(super) fn listen() {
    // Without a handler Ctrl-C ends the process at once.
    let _ = ctrlc::set_handler(|| {
        if ASKED.swap(true, Ordering::SeqCst) {
            std::process::exit(super::Ending::Problems as i32);
        }
    });
}

/// Returns whether it was asked for.
pub(super) fn is_asked() -> bool {
    ASKED.load(Ordering::SeqCst)
}
