//! Places of copper items, for the checks that look at single items.

use super::{Message, Place};
use crate::board::{Board, NetId};
use crate::copper::{Copper, Item, ItemId, ItemRef, pad_name};
use crate::geometry::Point;

/// The place of an item at a point, labelled with what it is: "via of `GND`".
pub(super) fn place(copper: &Copper<'_>, item: ItemId, at: Point) -> Option<Place> {
    let row = copper.items().get(item)?;
    let board = copper.board();
    Some(Place { span: row.source.span(board), at: Some(at), layer: Some(row.layer), label: label(board, row) })
}

/// The place of an item at a point of its own.
pub(super) fn own_place(copper: &Copper<'_>, item: ItemId) -> Option<Place> {
    place(copper, item, copper.items().get(item)?.shape.anchor()?)
}

fn label(board: &Board, item: &Item<'_>) -> Message {
    let with_net = |template| Message::new(template).with("net", net_name(board, item.net));
    match (item.source, item.net.is_some()) {
        (ItemRef::Pad(pad), true) => with_net("pad {pad} of {net}").with("pad", pad_name(board, pad)),
        (ItemRef::Pad(pad), false) => Message::new("pad {pad} without net").with("pad", pad_name(board, pad)),
        (ItemRef::Track(_), true) => with_net("track of {net}"),
        (ItemRef::Track(_), false) => Message::new("track without net"),
        (ItemRef::Via(_), true) => with_net("via of {net}"),
        (ItemRef::Via(_), false) => Message::new("via without net"),
        (ItemRef::Fill(_), true) => with_net("fill of {net}"),
        (ItemRef::Fill(_), false) => Message::new("fill without net"),
        (ItemRef::Graphic(_), true) => with_net("graphic copper of {net}"),
        (ItemRef::Graphic(_), false) => Message::new("graphic copper without net"),
    }
}

/// A net's name for a message.
pub(super) fn net_name(board: &Board, net: NetId) -> String {
    board.nets.name(net).to_owned()
}
