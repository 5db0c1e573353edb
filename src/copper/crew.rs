//! Work shared among threads inside a part that is worked out once.
//!
//! A thread of the pool that waits for its share takes up other work meanwhile. If that work asks for the very part
//! the thread is working out, it waits for itself, for ever. So a part that a pool thread works out on first use is
//! worked out by that thread alone; [`super::Copper::prepare`], called before threads share the copper, uses them all.

use rayon::prelude::*;

/// What `work` makes of each row, in order.
pub fn map<T: Sync, R: Send>(rows: &[T], work: impl Fn(&T) -> R + Sync + Send) -> Vec<R> {
    if rayon::current_thread_index().is_some() {
        rows.iter().map(work).collect()
    } else {
        rows.par_iter().map(work).collect()
    }
}
