//! The legs of the pairs that groups select, and where they run side by side: worked out once, shared by the checks.

use super::{Pair, Selection};
use crate::board::NetId;
use crate::copper::Copper;
use crate::copper::pair::{Legs, match_legs};
use crate::copper::pair_coupling::{Coupling, coupling};
use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

/// The two legs of a pair between two ends.
#[derive(Debug)]
pub struct PairRoute {
    /// Both legs, walked the same way.
    pub legs: Legs,
    coupling: OnceLock<Coupling>,
}

impl PairRoute {
    /// Where the legs run side by side.
    #[must_use]
    pub fn coupling(&self) -> &Coupling {
        self.coupling.get_or_init(|| coupling(&self.legs))
    }
}

type Found = Arc<Vec<PairRoute>>;

/// The legs of all selected pairs.
#[derive(Debug, Default)]
pub(super) struct PairRoutes {
    pairs: BTreeMap<(NetId, NetId), OnceLock<Found>>,
}

impl PairRoutes {
    pub fn new(selections: &[Selection]) -> Self {
        let pairs = selections.iter().flat_map(|selection| &selection.pairs);
        Self { pairs: pairs.map(|pair| ((pair.p, pair.n), OnceLock::new())).collect() }
    }

    /// The legs of a pair; worked out anew for one that no group selects.
    pub fn of(&self, copper: &Copper<'_>, pair: &Pair) -> Found {
        let find = || {
            let (p, n) = (copper.routes(pair.p), copper.routes(pair.n));
            let legs = match_legs(copper.board(), &p.routes, &n.routes).legs;
            Arc::new(legs.into_iter().map(|legs| PairRoute { legs, coupling: OnceLock::new() }).collect())
        };
        self.pairs.get(&(pair.p, pair.n)).map_or_else(find, |slot| Arc::clone(slot.get_or_init(find)))
    }
}
