//! Why the planes that accompany a route can't be believed: zones without fill, meshes, fills that are out of date.

use super::{Facts, Message};
use crate::board::{LayerId, NetId};
use crate::copper::{ItemRef, PlaneDoubt};

/// What is missing to tell where the planes of `name` are.
pub(super) fn doubtful(facts: &Facts<'_>, name: &str, doubt: PlaneDoubt) -> Message {
    match doubt {
        PlaneDoubt::Unfilled(zone) => {
            let net = facts.board.zones.get(zone).map_or("", |zone| facts.board.nets.name(zone.net));
            Message::new("a zone of {net} under or over {name} is not filled").with("net", net).with("name", name)
        }
        PlaneDoubt::Meshed => {
            Message::new("the plane of {name} is a mesh; its openings can't be told from gaps").with("name", name)
        }
    }
}

/// One of the planes' fills lies on foreign copper, so it was made before that copper.
pub(super) fn out_of_date(facts: &Facts<'_>, name: &str, planes: &[(LayerId, NetId)]) -> Option<Message> {
    let items = facts.copper.items();
    let overlaps = facts.copper.islands().overlaps.iter();
    let mut fills = overlaps.flat_map(|contact| [contact.one, contact.other]).filter_map(|id| items.get(id));
    let stale =
        fills.find(|item| matches!(item.source, ItemRef::Fill(_)) && planes.contains(&(item.layer, item.net)))?;
    Some(
        Message::new("the fill of {net} on {layer}, the plane of {name}, is out of date: it lies on other copper")
            .with("net", facts.board.nets.name(stale.net))
            .with("layer", facts.board.layers.name(stale.layer))
            .with("name", name),
    )
}
