//! Pairs and planes on real boards: what must hold whatever the copper. Needs the folder named by `THROUGHLINE_BOARDS`.

use super::routes_boards::boards;
use throughline::copper::Copper;
use throughline::copper::mismatch::mismatch;
use throughline::copper::pair::{Legs, match_legs, reversed, walked};
use throughline::copper::pair_coupling::coupling;
use throughline::units::Length;

fn all_legs(copper: &Copper<'_>) -> Vec<(String, Legs)> {
    let mut found = Vec::new();
    for pair in &copper.pairs().pairs {
        let routes = |net| copper.routes(net).routes.as_slice();
        let matched = match_legs(copper.board(), routes(pair.p), routes(pair.n));
        found.extend(matched.legs.into_iter().map(|legs| (format!("{} {}", copper.board().name, pair.name), legs)));
    }
    found
}

#[test]
fn coupling_keeps_to_the_legs_and_does_not_care_which_is_which() {
    for board in boards() {
        let copper = Copper::new(board);
        for (name, legs) in all_legs(&copper) {
            let found = coupling(&legs);
            for (leg, route) in [(&found.p, &legs.p), (&found.n, &legs.n)] {
                assert!((0.0..=1.000_001).contains(&leg.share()), "{name}: {}", leg.share());
                let open: Length = leg.uncoupled.iter().map(|(from, to)| *to - *from).sum();
                let whole = leg.coupled + open;
                assert!((whole - walked(route)).abs().to_nm() < 100_000.0, "{name}: {whole:?} of {:?}", walked(route));
            }
            let swapped = coupling(&Legs { p: legs.n.clone(), n: legs.p.clone() });
            assert!((found.p.coupled - swapped.n.coupled).abs().to_mm() < 0.1, "{name}");
            let back = coupling(&Legs { p: reversed(&legs.p), n: reversed(&legs.n) });
            assert!((found.p.coupled - back.p.coupled).abs().to_mm() < 0.1, "{name}");
        }
    }
}

#[test]
fn the_running_mismatch_ends_where_the_lengths_say() {
    for board in boards() {
        let copper = Copper::new(board);
        for (name, legs) in all_legs(&copper) {
            let height = |one, other| copper.height(one, other);
            let found = mismatch(board, &legs, &coupling(&legs).stretches, &height);
            let difference = legs.p.length.longer_than(&legs.n.length);
            if let (Some(end), Some(difference)) = (found.end, difference) {
                assert!((end - difference).abs().to_nm() < 2.0, "{name}: {end:?} and {difference:?}");
            }
            for pair in found.samples.windows(2) {
                assert!(pair[1].p.to_nm() >= pair[0].p.to_nm() - 10.0, "{name}: positions go back");
                assert!(pair[1].n.to_nm() >= pair[0].n.to_nm() - 10.0, "{name}: positions go back");
            }
        }
    }
}

#[test]
fn uncovered_stretches_lie_on_their_route() {
    for board in boards() {
        let copper = Copper::new(board);
        for (name, legs) in all_legs(&copper) {
            let own = [legs.p.net, legs.n.net];
            let search = copper.plane_search(&own, None, Length::ZERO);
            for route in [&legs.p, &legs.n] {
                for side in search.of(route).iter().flat_map(|found| found.above.iter().chain(&found.below)) {
                    assert_ne!(side.plane, side.layer, "{name}");
                    for stretch in &side.uncovered {
                        let (from, to) = (stretch.from.to_nm(), stretch.to.to_nm());
                        assert!(from < to && from > -1.0 && to < walked(route).to_nm() + 1.0, "{name}: {stretch:?}");
                        assert!((0.0..=1.0).contains(&stretch.lost), "{name}");
                        assert!(!stretch.outlines.is_empty(), "{name}");
                    }
                }
            }
        }
    }
}
