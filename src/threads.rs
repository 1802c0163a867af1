//! Work shared among threads: what is made is the same, and in the same order, on any number of them.

use std::num::NonZero;
use std::sync::{Mutex, PoisonError};
use std::thread;

/// Returns how many threads the machine runs at once.
pub fn processors() -> usize {
    thread::available_parallelism().map_or(1, NonZero::get)
}

/// Makes something of each of some things, on so many threads at most; what is made comes in the order of the things.
pub fn make_each<T: Send, M: Send>(
    threads: usize,
    things: impl ExactSizeIterator<Item = T> + Send,
    make: impl Fn(T) -> M + Sync,
) -> Vec<M> {
    let threads = threads.min(things.len());
    let mut made: Vec<Option<M>> = Vec::new();
    made.resize_with(things.len(), || None);
    let waiting = Mutex::new(things.zip(&mut made));
    let make_all = || {
        // The next one is taken before it is made, so that others can take theirs.
        let next = || {
            waiting
                .lock()
                .unwrap_or_else(PoisonError::into_inner)
                .next()
        };
        while let Some((thing, place)) = next() {
            *place = Some(make(thing));
        }
    };
    thread::scope(|scope| {
        for _ in 1..threads {
            // A machine that gives no more threads leaves the work to this one.
            let _ = thread::Builder::new().spawn_scoped(scope, make_all);
        }
        make_all();
    });
    made.into_iter().flatten().collect()
}
