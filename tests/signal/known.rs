//! Drawn boards whose sections can be written by hand: both must be the same.

use crate::drawn::{self, at, etched, hanging, layer, near, outer, pair, solved, tracks};
use crate::support::starters::{LEFT, N, P, PITCH, RIGHT, WIDTH, planes_on, straight_pair, two_pads};
use crate::support::{Pad, Part, Stack};
use throughline::field::Section;
use throughline::signal::{Leg, Role};

/// Impedances of the same section, solved once with and once without its mirror image.
const SAME: f64 = 0.01;

#[test]
fn a_pair_on_the_outer_layer_is_the_section_written_by_hand() {
    let line = pair(straight_pair("outer"));
    let pieces = tracks(&line.pieces);
    assert_eq!(pieces.len(), 1, "{pieces:?}");
    let piece = pieces[0];
    let side = PITCH / 2.0;
    let wanted = solved(&outer(vec![etched(-side, 0.1, WIDTH, 0.035), etched(side, 0.1, WIDTH, 0.035)]));
    let wanted = wanted.pair(0, 1).unwrap();
    let wave = piece.wave.as_ref().unwrap();
    near(wave.differential().unwrap().to_ohms(), wanted.differential().to_ohms(), SAME);
    near(wave.odd().unwrap().to_ohms(), wanted.odd.impedance.to_ohms(), SAME);
    near(wave.even().unwrap().to_ohms(), wanted.even.unwrap().impedance.to_ohms(), SAME);
    near(wave.common().unwrap().to_ohms(), wanted.common().unwrap().to_ohms(), SAME);
    for leg in [Leg::P, Leg::N] {
        near(wave.delay(leg).to_ps_per_mm(), wanted.odd.delay().to_ps_per_mm(), SAME);
    }
    assert_eq!(piece.gap.unwrap().map(|gap| (gap.to_mm() * 1e6).round()), [140_000.0; 2]);
    assert_eq!((piece.width.to_mm(), piece.mate_width.unwrap().to_mm()), (WIDTH, WIDTH));
    let below = piece.below.unwrap();
    assert!((below.height.to_mm() - 0.1).abs() < 1e-9 && !below.partial && below.layer.0 == 1);
    assert_eq!((piece.above, piece.beside), (None, [None; 2]));
    // From pad to pad: the pads' parts run as fast as the track.
    let length = RIGHT - LEFT;
    for leg in [&line.p, &line.n] {
        near(leg.delay.whole().unwrap().to_ps(), length * wanted.odd.delay().to_ps_per_mm(), SAME);
        assert!((leg.delay.way.to_mm() - length).abs() < 1e-6 && leg.delay.doubtful.to_nm() == 0.0);
    }
    assert!(line.skew.whole().unwrap().to_ps().abs() < 1e-9);
}

/// The CHECKS' reference for this very geometry (independent finite differences, rectangular copper, uniform mask of
/// 12.5 µm) is 85.3 ohm for a gap of 0.13 mm and 0.16 mm of width; etching and 10 µm more of gap make it higher.
#[test]
fn the_started_pair_is_in_the_right_place() {
    let line = pair(straight_pair("place"));
    let found = tracks(&line.pieces)[0].differential().unwrap().to_ohms();
    assert!((86.0..91.0).contains(&found), "{found}");
}

#[test]
fn a_pair_on_the_bottom_is_the_one_on_the_top() {
    let mut board = planes_on("bottom", Stack::four());
    for (reference, x) in [("U1", LEFT), ("J1", RIGHT)] {
        let part = Part::new(reference, (x, 5.0)).bottom();
        board.part(
            part.pad(Pad::rect("1", (0.0, -0.15), (0.3, 0.2)).net(P))
                .pad(Pad::rect("2", (0.0, 0.15), (0.3, 0.2)).net(N)),
        );
    }
    for (net, pad) in [(P, "1"), (N, "2")] {
        let (left, right) = (board.pad_at(&format!("U1.{pad}")), board.pad_at(&format!("J1.{pad}")));
        board.track(net, "B.Cu", WIDTH, &[left, right]);
    }
    let (bottom, top) = (pair(board), pair(straight_pair("top")));
    let value = |line: &throughline::signal::PairLine| tracks(&line.pieces)[0].differential().unwrap().to_ohms();
    // The four-layer stack is its own mirror image: both ask for one section.
    assert_eq!(value(&bottom), value(&top));
}

/// An inner layer: foil of 17.5 µm on the core above it, buried in the prepreg below; the next signal layer's foil is
/// filled with prepreg where it has no copper.
fn stripline(conductors: Vec<throughline::field::Conductor>) -> Section {
    Section {
        layers: vec![
            layer(0.2, 4.4, 0.019),
            layer(0.0175, 4.15, 0.02),
            layer(0.2, 4.15, 0.02),
            layer(0.0175, 4.15, 0.02),
            layer(0.2, 4.4, 0.019),
        ],
        plane_below: true,
        plane_above: true,
        conductors,
        ..Section::default()
    }
}

#[test]
fn a_pair_between_planes_is_the_section_written_by_hand() {
    let mut board = planes_on("inner", Stack::six());
    for (reference, x) in [("U1", LEFT), ("J1", RIGHT)] {
        let pad = |number, y, net| Pad::rect(number, (0.0, y), (0.3, 0.2)).layers(&["In2.Cu"]).net(net);
        board.part(Part::new(reference, (x, 5.0)).pad(pad("1", -0.15, P)).pad(pad("2", 0.15, N)));
    }
    for (net, y) in [(P, 4.85), (N, 5.15)] {
        board.track(net, "In2.Cu", 0.12, &[(LEFT, y), (RIGHT, y)]);
    }
    let line = pair(board);
    let piece = at(&line.pieces, 7.0);
    let foot = 0.2 + 0.0175 + 0.2;
    let section = stripline(vec![hanging(-0.15, foot, 0.12, 0.0175), hanging(0.15, foot, 0.12, 0.0175)]);
    near(piece.differential().unwrap().to_ohms(), drawn::differential(&section), SAME);
    assert_eq!((piece.above.unwrap().layer.0, piece.below.unwrap().layer.0), (1, 4));
    assert!((piece.below.unwrap().height.to_mm() - 0.4175).abs() < 1e-9);
    // Nothing but planes: both legs' waves run as in the dielectrics, between the slower and the faster.
    let delay = piece.wave.as_ref().unwrap().delay(Leg::N).to_ps_per_mm();
    assert!((4.15_f64.sqrt() * 3.33564..4.4_f64.sqrt() * 3.33564).contains(&delay), "{delay}");
}

#[test]
fn a_single_line_is_the_section_written_by_hand() {
    let mut board = two_pads("single", P);
    board.track(P, "F.Cu", 0.18, &[(LEFT, 5.0), (RIGHT, 5.0)]);
    let line = drawn::line(board, P);
    let pieces = tracks(&line.pieces);
    assert_eq!(pieces.len(), 1);
    near(pieces[0].single().unwrap().to_ohms(), drawn::single(&outer(vec![etched(0.0, 0.1, 0.18, 0.035)])), SAME);
    assert_eq!(pieces[0].differential().unwrap().to_ohms(), 2.0 * pieces[0].single().unwrap().to_ohms());
    // Three pieces in order: pad, track, pad; together the whole way.
    assert_eq!(line.pieces.iter().map(|piece| piece.role).collect::<Vec<_>>(), [Role::Land, Role::Track, Role::Land]);
    assert!((line.delay.way.to_mm() - (RIGHT - LEFT)).abs() < 1e-6);
    assert_eq!(line.delay.share_in_doubt(), 0.0);
}

#[test]
fn legs_that_are_not_alike_have_their_own_delays() {
    let mut board = straight_pair("uneven");
    for track in board.tracks.iter_mut().filter(|track| track.net == N) {
        track.width = 0.3;
    }
    let line = pair(board);
    let piece = tracks(&line.pieces)[0];
    // Edge to edge: 0.3 mm between the centre lines less half of each width.
    assert!((piece.gap.unwrap()[0].to_mm() - 0.07).abs() < 1e-6);
    let wave = piece.wave.as_ref().unwrap();
    let section = outer(vec![etched(0.0, 0.1, WIDTH, 0.035), etched(PITCH, 0.1, 0.3, 0.035)]);
    near(wave.differential().unwrap().to_ohms(), drawn::differential(&section), SAME);
    // The wider leg holds more of its field in the board and is slower.
    let [p, n] = [Leg::P, Leg::N].map(|leg| wave.delay(leg).to_ps_per_mm());
    assert!(n > p * 1.01, "{p} {n}");
    let skew = line.skew.whole().unwrap().to_ps();
    near(skew, (p - n) * (RIGHT - LEFT), 1e-6);
}

#[test]
fn loss_is_told_where_the_stackup_tells_it() {
    use throughline::field::{Frequency, Mode, solve};
    use throughline::signal::{Assumptions, Doubt, Travel};
    let ask = |board, assumptions: Assumptions| {
        drawn::with(board, assumptions, |_, copper, signals| {
            let line = signals.pair(&drawn::legs(copper, P, N)).unwrap();
            let wave = tracks(&line.pieces)[0].wave.clone().unwrap();
            let basis = signals.basis().unwrap();
            wave.loss(basis, Travel::Differential, Frequency::ghz(8.0)).map(|loss| loss.to_db_per_inch())
        })
    };
    let stated = ask(straight_pair("loss"), Assumptions::default()).unwrap();
    // By hand: the section's own constants, with the roughness that is assumed.
    let side = PITCH / 2.0;
    let section = outer(vec![etched(-side, 0.1, WIDTH, 0.035), etched(side, 0.1, WIDTH, 0.035)]);
    let solution = solve(&section, &throughline::field::Options::default()).unwrap();
    let metal =
        throughline::field::Metal::copper(throughline::field::Roughness::Cannonball(throughline::signal::ROUGHNESS));
    let dispersion = throughline::field::Dispersion::Debye(Frequency::ghz(1.0));
    let wanted = solution.constants(Mode::Odd(0, 1), Frequency::ghz(8.0), &metal, dispersion).unwrap();
    near(stated, wanted.loss().to_db_per_inch(), SAME);
    let smooth = Assumptions { roughness: Some(drawn::mm(0.0005)), ..Assumptions::default() };
    assert!(ask(straight_pair("smooth"), smooth).unwrap() < 0.8 * stated);
    let mut unknown = straight_pair("unknown");
    unknown.stack.sheets[2].loss = 0.0;
    assert_eq!(ask(unknown, Assumptions::default()), Err(Doubt::NoLossTangent));
}
