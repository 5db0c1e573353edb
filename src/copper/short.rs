//! Shorts: copper that joins two nets.

use super::{Contact, Islands, ItemId, Items};
use crate::board::{Board, NetId};
use std::collections::BTreeMap;

/// Two nets that copper joins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Short {
    /// The two nets, sorted by id.
    pub nets: (NetId, NetId),
    /// Where their copper touches, in order of place. A short through copper without net has its contact with either.
    pub contacts: Vec<Contact>,
    /// Copper without net that joins them, if they don't touch themselves.
    pub through: Option<ItemId>,
}

/// The shorts of a board, by pairs of nets that meet.
pub(super) fn shorts(board: &Board, items: &Items<'_>, islands: &Islands) -> Vec<Short> {
    let net = |item: ItemId| items.get(item).map_or_else(NetId::none, |item| item.net);
    let mut found: BTreeMap<(NetId, NetId), Short> = BTreeMap::new();
    for contact in &islands.shorts {
        let (one, other) = (net(contact.one), net(contact.other));
        let nets = (one.min(other), one.max(other));
        let short = found.entry(nets).or_insert_with(|| Short { nets, contacts: Vec::new(), through: None });
        short.contacts.push(*contact);
    }
    for short in found.values_mut() {
        short.contacts.sort_unstable_by_key(|contact| (contact.at, contact.one, contact.other));
    }
    for bridge in &islands.bridges {
        // Neighbours in the order of names, which the file's order does not change.
        let mut ends: Vec<(NetId, &Contact)> = bridge.nets.iter().copied().zip(&bridge.contacts).collect();
        ends.sort_by_key(|&(net, _)| board.nets.name(net));
        for (&(one, first), &(other, second)) in ends.iter().zip(ends.iter().skip(1)) {
            let loose = if net(second.one).is_some() { second.other } else { second.one };
            let nets = (one.min(other), one.max(other));
            found.entry(nets).or_insert_with(|| Short { nets, contacts: vec![*first, *second], through: Some(loose) });
        }
    }
    found.into_values().collect()
}
