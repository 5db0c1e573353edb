//! A board drawn with what was told measures what was wanted: the section of a width and the section that is cut from
//! copper are one.

use crate::stacks::near;
use crate::support::{Generation, Pad, Part, Stack, starters};
use std::sync::Arc;
use throughline::board::{Board, LayerId, read};
use throughline::checks::Facts;
use throughline::copper::Copper;
use throughline::copper::pair::match_legs;
use throughline::field::Impedance;
use throughline::signal::{Assumptions, Basis, ETCH, Piece};
use throughline::source::SourceFile;
use throughline::units::Length;
use throughline::width::{Fixed, Planes, Wanted, choices};

const P_Y: f64 = 4.0;

/// A pair on a layer, its planes on the second and the last but one layer.
fn draw(layer: &str, width: f64, gap: f64) -> Board {
    let mut board = starters::planes_on("drawn", Stack::six());
    let n_y = P_Y + width + gap;
    for (net, y) in [("LINK_P", P_Y), ("LINK_N", n_y)] {
        for (name, x) in [("U", 3.0), ("J", 17.0)] {
            let pad = if layer == "F.Cu" {
                Pad::rect("1", (0.0, 0.0), (0.1, 0.1)).net(net)
            } else {
                Pad::hole(
                    "1",
                    crate::support::PadShape::Circle,
                    (0.0, 0.0),
                    (0.3, 0.3),
                    crate::support::part::Hole::Round(0.15),
                )
                .net(net)
            };
            board.part(Part::new(&format!("{name}{net}"), (x, y)).pad(pad));
        }
        board.track(net, layer, width, &[(3.0, y), (17.0, y)]);
    }
    board.fill();
    let text = board.text(Generation::V8);
    read("drawn", Arc::new(SourceFile::new("drawn.kicad_pcb", text))).unwrap()
}

/// The longest piece of the pair.
fn longest(board: &Board) -> Piece {
    let copper = Copper::new(board);
    let facts = Facts::new(&copper, Vec::new());
    let routes = |name| copper.routes(board.nets.find(name).unwrap()).routes.clone();
    let matched = match_legs(board, &routes("LINK_P"), &routes("LINK_N"));
    let line = facts.signals.pair(&matched.legs[0]).unwrap();
    line.pieces.iter().max_by(|one, other| one.length().total_cmp(&other.length())).unwrap().clone()
}

#[test]
fn a_pair_drawn_as_told_measures_as_wanted() {
    let any = draw("F.Cu", 0.15, 0.15);
    let basis = Basis::new(&any, &Assumptions::default()).unwrap();
    for (layer, planes) in [("F.Cu", (None, Some(1))), ("In2.Cu", (Some(1), Some(4)))] {
        let wanted = Wanted {
            layer: any.layers.find(layer).unwrap(),
            planes: Planes { above: planes.0.map(LayerId), below: planes.1.map(LayerId) },
            target: Impedance::ohms(95.0),
            fixed: Fixed::Gaps(vec![Length::mm(0.17)]),
            least_width: Length::mm(0.05),
            least_gap: Length::mm(0.05),
            etch: ETCH,
            frequency: None,
        };
        let line = choices(&basis, &wanted)[0].line.clone().unwrap();
        let piece = longest(&draw(layer, line.trace.width.to_mm(), 0.17));
        assert!(piece.is_coupled() && piece.length().to_mm() > 12.0, "{piece:?}");
        let ohms = piece.differential().unwrap().to_ohms();
        near(ohms, line.impedance.to_ohms(), 0.001 * ohms);
        near(ohms, 95.0, 0.005 * 95.0);
        let delay = piece.wave.as_ref().unwrap().delay(throughline::signal::Leg::P).to_ps_per_mm();
        near(delay, line.delay.to_ps_per_mm(), 0.001 * delay);
    }
}
