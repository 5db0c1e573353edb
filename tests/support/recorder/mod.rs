//! The demo: the two boards that turn the soldered memory of a glacier-seismology recorder into a cartridge.
//!
//! The **base** is soldered onto the host's land pattern where the memory was: its balls `U1` are on its bottom and
//! seen through the board. A mezzanine connector `J1` on its top carries everything to the **cartridge**, which hangs
//! over the base with its `J1` below and the memory `U1` on top. Both boards are drawn by one plan, so that the same
//! ball meets the same contact; they differ in sides, size and style of corners (round on the base, sharp on the
//! cartridge).
//!
//! Six layers, 0.86 mm: signals outside, ground planes next to them, an inner signal layer on the connector's side
//! and a split supply layer on the balls' side.
//!
//! | what | how |
//! | --- | --- |
//! | `MEM_TX0` … `MEM_TX3` | through via at the ball, then microstrip on the connector's side |
//! | `MEM_RX0` … `MEM_RX3` | microstrip on the balls' side around a corner, bumps on the inner leg, via at the connector |
//! | `GEO_CLK` | stripline on the inner signal layer; a short stub at the ball, blind vias L1-L3 at the connector |
//! | `BOOT_*`, sidebands | inner signal layer, blind vias at the connector |
//! | `VCORE_0V9` `VIO_1V2` `VNAND_2V5` | pours on the supply layer, two vias per contact, one per ball |

mod balls;
mod connector;
mod lanes;
mod reroute;
mod supply;

use super::{Board, Part, Point, Sheet, Stack, rectangle};

pub use balls::{PITCH as BALL_PITCH, ball_at, net_of};
pub use lanes::{LANES, Lane};
pub use reroute::{FAULTS, Fault, rerouted};

/// Width of the outer pairs' tracks: 85 ohm with [`GAP`] on 0.1 mm prepreg of permittivity 4.05 under 15 um of mask, with
/// tracks that etching leaves narrower on top by the foil's thickness (what the project's own solver says).
pub const WIDTH: f64 = 0.17;
/// Gap between the legs.
pub const GAP: f64 = 0.13;
/// Width of the stripline pair's tracks.
pub const INNER_WIDTH: f64 = 0.14;
/// Via pad and hole.
pub const VIA: Point = (0.4, 0.2);
/// Height of both boards.
pub const HEIGHT: f64 = 26.0;
/// Middle of balls and connector.
pub const MIDDLE: f64 = HEIGHT / 2.0;
/// Middle of the balls.
pub const BALLS_X: f64 = 9.0;

/// What tells one board of the two from the other.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Name.
    pub name: &'static str,
    /// Layers from the connector's side to the balls' side.
    pub layers: [&'static str; 6],
    /// x of the connector's contact row A.
    pub row_a: f64,
    /// Corner radius of the pairs; 0 for sharp corners.
    pub radius: f64,
    /// Length of the connector's pads.
    pub pad: f64,
}

/// The base board.
pub const BASE: Plan = Plan {
    name: "recorder-base",
    layers: ["F.Cu", "In1.Cu", "In2.Cu", "In3.Cu", "In4.Cu", "B.Cu"],
    row_a: 32.0,
    radius: 1.5,
    pad: 1.2,
};

/// The cartridge board.
pub const CARTRIDGE: Plan = Plan {
    name: "recorder-cartridge",
    layers: ["B.Cu", "In4.Cu", "In3.Cu", "In2.Cu", "In1.Cu", "F.Cu"],
    row_a: 28.5,
    radius: 0.0,
    pad: 0.9,
};

impl Plan {
    /// The connector's side.
    pub fn mate(&self) -> &'static str {
        self.layers[0]
    }

    /// The inner signal layer.
    pub fn inner(&self) -> &'static str {
        self.layers[2]
    }

    /// The supply layer.
    pub fn supply(&self) -> &'static str {
        self.layers[3]
    }

    /// The balls' side.
    pub fn ball(&self) -> &'static str {
        self.layers[5]
    }

    /// The ground planes.
    pub fn planes(&self) -> [&'static str; 2] {
        [self.layers[1], self.layers[4]]
    }

    /// Whether a side's parts are on the bottom.
    fn bottom(layer: &str) -> bool {
        layer == "B.Cu"
    }

    /// Right edge of the board.
    pub fn width(&self) -> f64 {
        self.row_a + 6.5
    }
}

/// Upper and lower end of a span, as a via names them.
fn ends<'a>(one: &'a str, other: &'a str) -> (&'a str, &'a str) {
    let depth = |layer: &str| match layer {
        "F.Cu" => 0,
        "B.Cu" => 9,
        inner => inner[2..3].parse().expect("an inner layer"),
    };
    if depth(one) < depth(other) { (one, other) } else { (other, one) }
}

/// A part on a board's side whose pads are given as seen through the board from above.
fn seen_from_above(reference: &str, at: Point, layer: &str) -> Part {
    let part = Part::new(reference, at);
    if Plan::bottom(layer) { part.bottom() } else { part }
}

/// A pad position as seen from above, in the library's frame of a part on a side.
fn library(layer: &str, (x, y): Point) -> Point {
    if Plan::bottom(layer) { (x, -y) } else { (x, y) }
}

/// The stackup of both boards: dielectric values by glass style.
pub fn stack() -> Stack {
    let prepreg = |thickness, glass, er| Sheet::dielectric("prepreg", thickness, glass, er, 0.02);
    let core = || Sheet::dielectric("core", 0.125, "FR4 2116", 4.15, 0.019);
    let mut stack = Stack::of(vec![
        Sheet::mask(0.015),
        Sheet::copper("F.Cu", 0.035),
        prepreg(0.1, "FR4 3313", 4.05),
        Sheet::copper("In1.Cu", 0.0175),
        core(),
        Sheet::copper("In2.Cu", 0.0175),
        prepreg(0.12, "FR4 2116", 4.15),
        prepreg(0.12, "FR4 2116", 4.15).joined(),
        Sheet::copper("In3.Cu", 0.0175),
        core(),
        Sheet::copper("In4.Cu", 0.0175),
        prepreg(0.1, "FR4 3313", 4.05),
        Sheet::copper("B.Cu", 0.035),
        Sheet::mask(0.015),
    ]);
    // Outside: 2 x (0.015 + 0.035 + 0.1); inside: 4 x 0.0175 + 2 x 0.125 + 0.24.
    stack.thickness = 0.86;
    stack
}

/// Names of the legs of every lane.
pub fn pair_names() -> Vec<[String; 2]> {
    LANES.iter().map(|lane| ["P", "N"].map(|leg| format!("{}_{leg}", lane.name))).collect()
}

/// Draws a board without its fills.
pub fn unfilled(plan: &Plan) -> Board {
    let mut board = Board::new(plan.name, stack());
    board.revision = "A".into();
    for net in ["GND", "VCORE_0V9", "VIO_1V2", "VNAND_2V5"] {
        board.net(net);
    }
    board.rounded_outline((0.0, 0.0), (plan.width(), HEIGHT), 1.0);
    balls::draw(&mut board, plan);
    connector::draw(&mut board, plan);
    lanes::draw(&mut board, plan);
    supply::draw(&mut board, plan);
    let silk = if Plan::bottom(plan.mate()) { "B.SilkS" } else { "F.SilkS" };
    board.texts.push((silk.into(), (5.5, 1.6), 0.9, format!("{} rev A", plan.name)));
    board
}

/// Draws a board with its fills.
pub fn draw(plan: &Plan) -> Board {
    let mut board = unfilled(plan);
    board.fill();
    board
}
