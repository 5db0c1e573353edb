//! The reference copper of the routes of nets that belong together, worked out once: several checks ask for it.

use super::Copper;
use super::reference::LayerReference;
use crate::board::NetId;
use crate::units::Length;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// For each of the nets, for each of its routes: the reference copper layer by layer, for the track's own width and any
/// plane.
pub type PlanesAlong = Vec<Vec<Vec<LayerReference>>>;

/// What is known so far, by nets.
pub(super) type Known = Mutex<BTreeMap<Vec<NetId>, Arc<OnceLock<Arc<PlanesAlong>>>>>;

impl Copper<'_> {
    /// The reference copper of all routes of `own`, a net or the two legs of a pair; see [`Copper::plane_search`].
    #[must_use]
    pub fn planes_along(&self, own: &[NetId]) -> Arc<PlanesAlong> {
        let slot = {
            let mut known = self.planes_along.lock().unwrap_or_else(PoisonError::into_inner);
            Arc::clone(known.entry(own.to_vec()).or_default())
        };
        let found = slot.get_or_init(|| {
            let search = self.plane_search(own, None, Length::ZERO);
            let of_net = |net: &NetId| self.routes(*net).routes.iter().map(|route| search.of(route)).collect();
            Arc::new(own.iter().map(of_net).collect())
        });
        Arc::clone(found)
    }
}
