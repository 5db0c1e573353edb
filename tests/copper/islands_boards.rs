//! Islands on real boards. Needs the folder named by `THROUGHLINE_BOARDS`; without it there is nothing to hold.

use crate::routes_boards::boards;
use throughline::board::PadKind;
use throughline::copper::{Copper, ItemRef, TOUCH};
use throughline::geometry::to_f64;

/// Boards that were released have practically no shorts, and their copper hangs together: a fault of the geometry or
/// of the reader would show here by the dozen.
#[test]
fn released_boards_have_hardly_any_shorts() {
    let (mut nets, mut shorts) = (0, 0);
    for board in boards() {
        let copper = Copper::new(board);
        nets += copper.connections().len();
        shorts += copper.shorts().len();
    }
    assert!(shorts * 1000 <= nets, "{shorts} shorts on {nets} nets");
}

#[test]
fn every_object_lies_where_its_rules_say() {
    for board in boards() {
        let copper = Copper::new(board);
        let (items, islands) = (copper.items(), copper.islands());
        assert_eq!(islands.iter().map(|(_, island)| island.items.len()).sum::<usize>(), items.len(), "{}", board.name);
        for (id, via) in board.vias.iter() {
            let mut own: Vec<_> = items.of(ItemRef::Via(id)).collect();
            assert_eq!(own.len(), via.layers().len() as usize, "{}: a via has copper on all its layers", board.name);
            own.dedup_by_key(|(item, _)| islands.of(*item));
            assert_eq!(own.len(), 1, "{}: a via is on one island", board.name);
        }
        for (id, pad) in board.pads.iter().filter(|(_, pad)| pad.kind == PadKind::Plated) {
            let mut own: Vec<_> = items.of(ItemRef::Pad(id)).collect();
            own.dedup_by_key(|(item, _)| islands.of(*item));
            assert_eq!(own.len(), usize::from(!pad.layers.is_empty()), "{}: a plated pad is on one island", board.name);
        }
    }
}

/// Large fills are searched through an index of their own; the plain formulas must say the same.
#[test]
fn gaps_to_fills_are_those_of_the_plain_formulas() {
    for board in boards() {
        let copper = Copper::new(board);
        let items = copper.items();
        let fills: Vec<_> = items.iter().filter(|(id, _)| items.ring(*id).is_some()).collect();
        for (number, (id, item)) in items.iter().filter(|(id, _)| items.ring(*id).is_none()).enumerate() {
            // Plain formulas are slow on large fills: a sample will do.
            if number % 499 != 0 {
                continue;
            }
            for (fill, row) in fills.iter().filter(|(_, fill)| fill.layer == item.layer) {
                if row.envelope.distance(item.envelope) > 1e6 {
                    continue;
                }
                let plain = item.shape.gap(row.shape).distance;
                let indexed = items.gap(id, *fill).unwrap().distance;
                assert!((plain - indexed).abs() < 1e-3, "{}: {plain} is not {indexed}", board.name);
                assert_eq!(items.touch(id, *fill).is_some(), plain <= to_f64(TOUCH), "{}", board.name);
            }
        }
    }
}
