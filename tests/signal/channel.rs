//! Routes and pairs as chains: the same delays as the pieces, stubs where barrels go on, and an end at the first doubt.

use crate::drawn::{legs, near, with};
use crate::support::starters::{LEFT, N, P, RIGHT, WIDTH, bent_pair, planes_on, straight_pair};
use crate::support::{Board as Drawn, Pad, Part, Stack};
use throughline::field::{Element, Frequency, Impedance, stub_notch};
use throughline::signal::{Assumptions, Channel, Doubt, PairChannel};
use throughline::units::Length;

/// A line that runs on In2 of six layers from x = 7 to 13 mm, and on top before and behind; with return vias or not.
fn down(returns: bool) -> Drawn {
    let mut board = planes_on("down", Stack::six());
    board.part(Part::new("U1", (LEFT, 5.0)).pad(Pad::rect("1", (0.0, 0.0), (0.3, 0.3)).net(P)));
    board.part(Part::new("J1", (RIGHT, 5.0)).pad(Pad::rect("1", (0.0, 0.0), (0.3, 0.3)).net(P)));
    board.track(P, "F.Cu", WIDTH, &[(LEFT, 5.0), (7.0, 5.0)]);
    board.via(P, (7.0, 5.0));
    board.track(P, "In2.Cu", WIDTH, &[(7.0, 5.0), (13.0, 5.0)]);
    board.via(P, (13.0, 5.0));
    board.track(P, "F.Cu", WIDTH, &[(13.0, 5.0), (RIGHT, 5.0)]);
    if returns {
        for x in [7.0, 13.0] {
            board.via("GND", (x, 5.8));
            board.via("GND", (x, 4.2));
        }
    }
    board
}

fn channel(drawn: Drawn, ask: impl FnOnce(&throughline::signal::Line, Channel)) {
    with(drawn, Assumptions::default(), |board, copper, signals| {
        let net = board.nets.find(P).unwrap();
        let line = signals.line(&copper.routes(net).routes[0]).unwrap();
        let channel = Channel::new(&line, signals.basis().unwrap(), copper.stubs(net));
        ask(&line, channel);
    });
}

#[test]
fn a_chain_takes_as_long_as_its_pieces() {
    channel(down(true), |line, channel| {
        assert_eq!((channel.broken, channel.lossless), (None, false));
        let whole = line.delay.whole().unwrap().to_ps();
        near(channel.knots.last().unwrap().delay.to_ps(), whole, 1e-6);
        near(channel.chain.delay().unwrap().to_ps(), whole, 0.01);
        assert!(channel.knots.windows(2).all(|two| two[0].along <= two[1].along && two[0].delay <= two[1].delay));
        let jump = |at: usize| (channel.knots[at + 1].along - channel.knots[at].along).to_nm().abs() < 1.0;
        let jumps = (0..channel.knots.len() - 1).filter(|at| jump(*at)).count();
        assert_eq!(jumps, 2, "one for each barrel");
    });
}

/// The part of the barrel below In2 hangs off the way, and takes from it where its end is a quarter wave away.
#[test]
fn a_barrel_that_goes_on_is_a_stub() {
    channel(down(true), |line, channel| {
        let stubs: Vec<_> = channel
            .chain
            .elements()
            .iter()
            .filter_map(|element| match element {
                Element::Stub { length, end, .. } => Some((*length, *end)),
                _ => None,
            })
            .collect();
        assert_eq!(stubs.len(), 2, "one for each barrel");
        let barrel = line.barrels[0].line.as_ref().unwrap();
        let (length, end) = stubs[0];
        assert!(length > Length::mm(0.4) && length < Length::mm(0.7), "{length}");
        let notch = stub_notch(barrel.impedance, barrel.slowness, length, end).unwrap().to_ghz();
        let through =
            |ghz: f64| channel.chain.scattering(Frequency::ghz(ghz), Impedance::ohms(50.0)).unwrap().insertion_loss();
        assert!(through(notch) > through(0.7 * notch) + 20.0, "{notch} GHz {}", through(notch));
    });
}

#[test]
fn a_chain_ends_where_the_first_doubt_begins() {
    channel(down(false), |line, channel| {
        let broken = channel.broken.unwrap();
        assert_eq!(broken.doubt, Doubt::NoReturnVia);
        near(broken.along.to_mm(), 4.0, 1e-6);
        near(channel.chain.delay().unwrap().to_ps(), broken.delay.to_ps(), 0.01);
        assert!(broken.delay < line.delay.known);
    });
}

#[test]
fn legs_keep_their_difference() {
    let bump = [(7.0, 4.85), (7.5, 4.35), (8.5, 4.35), (9.0, 4.85)];
    for drawn in [straight_pair("straight"), bent_pair("bent", &bump)] {
        with(drawn, Assumptions::default(), |_, copper, signals| {
            let legs = legs(copper, P, N);
            let line = signals.pair(&legs).unwrap();
            let stubs = [copper.stubs(legs.p.net), copper.stubs(legs.n.net)];
            let channel = PairChannel::new(&line, signals.basis().unwrap(), stubs);
            assert_eq!((channel.broken, channel.lossless), (None, false));
            let [p, n] = channel.knots.each_ref().map(|knots| knots.last().unwrap().delay.to_ps());
            near(p, line.p.delay.whole().unwrap().to_ps(), 1e-6);
            near(n, line.n.delay.whole().unwrap().to_ps(), 1e-6);
            assert!((p - n - line.skew.whole().unwrap().to_ps()).abs() < 1e-6);
            near(channel.chain.delay().unwrap().to_ps(), p.max(n), 0.05);
        });
    }
}
