//! Solved sections: equal ones are solved once, whichever thread asks first.

use super::section::Drawn;
use crate::field::{Options, Section, Solution, Undetermined, solve};
use rustc_hash::FxHashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

type Answer = Result<Arc<Solution>, Undetermined>;

/// A section and its solutions, each worked out on first use.
#[derive(Debug)]
pub struct Slot {
    section: Section,
    plain: OnceLock<Answer>,
    lossy: OnceLock<Answer>,
}

impl Slot {
    /// Impedance and delay.
    pub fn plain(&self) -> &Answer {
        self.plain.get_or_init(|| self.solve(false))
    }

    /// Resistance too, which takes longer.
    pub fn lossy(&self) -> &Answer {
        self.lossy.get_or_init(|| self.solve(true))
    }

    /// The section.
    pub const fn section(&self) -> &Section {
        &self.section
    }

    fn solve(&self, resistance: bool) -> Answer {
        solve(&self.section, &Options { resistance, ..Options::default() }).map(Arc::new)
    }
}

/// How much the cache was used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Places that asked for a section.
    pub asked: usize,
    /// Different sections among them.
    pub sections: usize,
}

/// All sections of a board.
#[derive(Debug, Default)]
pub struct Cache {
    slots: Mutex<FxHashMap<Box<[u64]>, Arc<Slot>>>,
    asked: AtomicUsize,
}

impl Cache {
    /// The slot of a section.
    pub fn slot(&self, drawn: &Drawn) -> Arc<Slot> {
        self.asked.fetch_add(1, Ordering::Relaxed);
        // A thread that panicked while it held the lock has left the map whole.
        let mut slots = self.slots.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(slot) = slots.get(&drawn.words) {
            return Arc::clone(slot);
        }
        let slot = Arc::new(Slot { section: drawn.section.clone(), plain: OnceLock::new(), lossy: OnceLock::new() });
        slots.insert(drawn.words.clone(), Arc::clone(&slot));
        slot
    }

    /// How much it was used.
    pub fn tally(&self) -> Tally {
        let sections = self.slots.lock().unwrap_or_else(PoisonError::into_inner).len();
        Tally { asked: self.asked.load(Ordering::Relaxed), sections }
    }
}
