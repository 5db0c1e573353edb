//! The demo boards: drawn as an engineer would accept them, and kept as files that are what the code draws.

use crate::support::recorder::{self, BASE, CARTRIDGE, LANES, Plan};
use crate::support::{Board, Generation, fixture, pair, read, recorder::net_of};

/// The smallest gap that the boards allow, mm.
const GAP: f64 = 0.1;

fn track_length(board: &Board, net: &str) -> f64 {
    let of_net: Vec<_> = board.tracks.iter().filter(|track| track.net == net).map(|track| track.path).collect();
    pair::total(&of_net)
}

#[test]
fn fixtures_are_current() {
    fixture::hold("recorder/base.kicad_pcb", &recorder::draw(&BASE).text(Generation::V9));
    fixture::hold("recorder/cartridge.kicad_pcb", &recorder::draw(&CARTRIDGE).text(Generation::V8));
    fixture::hold("recorder-reroute/base.kicad_pcb", &recorder::rerouted().0.text(Generation::V9));
}

#[test]
fn nets_keep_apart_and_hang_together() {
    for plan in [BASE, CARTRIDGE] {
        let board = recorder::draw(&plan);
        assert_eq!(board.too_close(GAP), Vec::<String>::new(), "{}", plan.name);
        assert_eq!(board.torn(), Vec::new(), "{}", plan.name);
    }
}

#[test]
fn legs_of_a_pair_are_equally_long() {
    for plan in [BASE, CARTRIDGE] {
        let board = recorder::unfilled(&plan);
        for lane in LANES {
            let [p, n] = ["P", "N"].map(|leg| track_length(&board, &format!("{}_{leg}", lane.name)));
            // Ends are rounded to the nanometre: a few of them per leg.
            assert!((p - n).abs() < 1e-4, "{} {}: {p} against {n}", plan.name, lane.name);
        }
    }
}

#[test]
fn both_boards_join_the_same_ball_to_the_same_contact() {
    let nets = |plan: &Plan, part: &str| {
        let board = recorder::unfilled(plan);
        board.find(part).pads.iter().map(|pad| (pad.number.clone(), pad.net.clone())).collect::<Vec<_>>()
    };
    for part in ["U1", "J1"] {
        assert_eq!(nets(&BASE, part), nets(&CARTRIDGE, part), "{part}");
    }
    // Seen from above, both grids lie the same way, one on the bottom and one on the top.
    let (base, cartridge) = (recorder::unfilled(&BASE), recorder::unfilled(&CARTRIDGE));
    for ball in ["B1", "A14", "T1", "T14"] {
        assert_eq!(base.find("U1").pad_at(ball), cartridge.find("U1").pad_at(ball), "{ball}");
    }
    assert!(base.find("U1").bottom && !cartridge.find("U1").bottom);
}

#[test]
fn the_grid_is_what_the_text_says() {
    let board = recorder::unfilled(&BASE);
    let balls = &board.find("U1").pads;
    assert_eq!(balls.len(), 175);
    assert!(balls.iter().all(|ball| ball.number != "A1"), "A1 is left out, so that the grid fits one way only");
    let on = |net: &str| balls.iter().filter(|ball| ball.net == net).count();
    let rails = ["VCORE_0V9", "VIO_1V2", "VNAND_2V5"].map(on);
    assert_eq!((on("GND"), rails, on("")), (85, [22, 6, 25], 11));
    assert_eq!(net_of(14, 1).as_deref(), Some("MEM_TX0_P"));
}

#[test]
fn lanes_are_measured_as_long_as_they_were_drawn() {
    for plan in [BASE, CARTRIDGE] {
        let drawn = recorder::unfilled(&plan);
        for generation in [Generation::V6, Generation::V10] {
            let board = read(&drawn, generation);
            let copper = throughline::copper::Copper::new(&board);
            for net in LANES.iter().flat_map(|lane| ["P", "N"].map(|leg| format!("{}_{leg}", lane.name))) {
                let found = &copper.routes(board.nets.find(&net).expect("the net is there")).routes;
                assert_eq!(found.len(), 1, "{net}");
                let length = &found[0].length;
                let measured = (length.tracks + length.arcs + length.pads).to_mm();
                let expected = track_length(&drawn, &net);
                // Every corner is rounded to the nanometre.
                assert!((measured - expected).abs() < 1e-4, "{} {net}: {measured} against {expected}", plan.name);
            }
        }
    }
}
