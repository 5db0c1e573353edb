//! `via-stub` with `notch`: the frequency that a stub takes away against the Nyquist frequency.

use crate::route_rules::rule as length_rule;
use crate::route_rules::{at, land, open, sentence, with, word};
use crate::support::{Board as Drawn, Stack, starters};
use std::f64::consts::PI;
use throughline::board::Board;
use throughline::checks::{self, Facts, Outcome, Pair, Selection, Verdict};
use throughline::copper::Copper;
use throughline::field::{Barrel, EPS0, Impedance, MU0, Slowness, stub_notch};
use throughline::rules::{Rule, Setting};
use throughline::units::{Length, Quantity};

const W: f64 = 0.15;
/// From the middle of In2 to the far face of B.Cu.
const STUB: f64 = 0.00875 + 0.2 + 0.0175 + 0.2 + 0.0175 + 0.1 + 0.035;
/// Stubs are short enough by length alone.
const LIMIT: f64 = 1.0;

/// From U1 down to In2 of six layers and up to J1, planes on In1 and In4, ground vias `apart` to both sides of each.
fn drawn(apart: Option<f64>, stack: Stack) -> Drawn {
    let mut drawn = starters::planes_on("notch", Stack::six());
    drawn.part(land("U1", "A", (5.0, 5.0)));
    drawn.part(land("J1", "A", (15.0, 5.0)));
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (7.0, 5.0)]);
    drawn.via("A", (7.0, 5.0));
    drawn.track("A", "In2.Cu", W, &[(7.0, 5.0), (13.0, 5.0)]);
    drawn.via("A", (13.0, 5.0));
    drawn.track("A", "F.Cu", W, &[(13.0, 5.0), (15.0, 5.0)]);
    for x in [7.0, 13.0] {
        for side in apart.into_iter().flat_map(|apart| [-apart, apart]) {
            drawn.via("GND", (x, 5.0 + side));
        }
    }
    drawn.fill();
    drawn.stack = stack;
    drawn
}

fn rule(times: Option<u64>) -> Rule {
    let rule = length_rule("via-stub", None, LIMIT);
    match times {
        Some(times) => with(rule, "notch", Setting::Quantity(Quantity::Count(times))),
        None => rule,
    }
}

fn run(board: &Board, rule: &Rule, rate: Option<f64>, pair: bool) -> Vec<Verdict> {
    let net = |name: &str| board.nets.find(name).unwrap();
    let copper = Copper::new(board);
    let pairs = vec![Pair { name: "A".into(), p: net("A"), n: net(if pair { "B" } else { "A" }), proposed: false }];
    let selection = Selection {
        group: "group".into(),
        nets: if pair { Vec::new() } else { vec![net("A")] },
        pairs: if pair { pairs } else { Vec::new() },
        rate: rate.map(|gigatransfers| at(Quantity::Rate(gigatransfers * 1e9))),
        ..Selection::default()
    };
    checks::find("via-stub").unwrap().run(&Facts::new(&copper, vec![selection]), rule)
}

/// The notch of a stub as long as `STUB`, with inductance per metre, from the published forms: see `field`'s tests.
fn expected(inductance: f64) -> f64 {
    // Hole of 0.2 mm and 25 um of plating; a land of 0.45 mm, 0.2 mm from the plane.
    let (barrel, antipad) = (0.125, 0.225 + 0.2);
    let permittivity = (0.2 * 4.15 + 0.2 * 4.4 + 0.1 * 4.05) / 0.5;
    let capacitance =
        2.0 * PI * EPS0 * permittivity / (f64::ln(antipad / barrel) + 0.17 * (0.5 - 0.0175 / 2.0) / antipad);
    let mm = Length::mm;
    let hole = Barrel { radius: mm(barrel), antipad: mm(antipad), permittivity, gap: mm(0.5), plane: mm(0.0175) };
    stub_notch(
        Impedance::ohms((inductance / capacitance).sqrt()),
        Slowness::seconds_per_metre((inductance * capacitance).sqrt()),
        mm(STUB),
        hole.pad_capacitance(mm(0.225)).unwrap(),
    )
    .unwrap()
    .to_ghz()
}

fn ghz(verdict: &Verdict) -> f64 {
    match verdict.value {
        Some(Quantity::Frequency(hertz)) => hertz / 1e9,
        other => panic!("{other:?}: {}", sentence(verdict)),
    }
}

/// Two return vias on a circle of 0.6 mm: cage line.
#[test]
fn the_notch_of_a_barrel_with_return_vias() {
    let board = open(&drawn(Some(0.6), Stack::six()));
    let inductance = MU0 / (2.0 * PI) * (f64::ln(0.6 / 0.125) + f64::ln(0.6 / (2.0 * 0.125)) / 2.0);
    let expected = expected(inductance);
    let verdicts = run(&board, &rule(Some(20)), Some(16.0), false);
    assert_eq!(verdicts.iter().map(word).collect::<Vec<_>>(), ["error", "error"]);
    // Openings are polygons.
    assert!((ghz(&verdicts[0]) / expected - 1.0).abs() < 0.01, "{} {expected}", ghz(&verdicts[0]));
    assert!(verdicts[0].limit.as_ref().is_some_and(|limit| limit.value == Quantity::Frequency(160e9)));
    // Slower than its dielectric alone, but not by more than a factor of two.
    let quarter = 299.792_458 / (4.0 * STUB * f64::sqrt(4.23));
    assert!(expected < quarter && expected > 0.5 * quarter, "{expected} {quarter}");
    insta::assert_snapshot!(sentence(&verdicts[0]), @"the via of `A` is used from `F.Cu` to `In2.Cu`; its barrel goes on to `B.Cu`; its notch is at 44 GHz, 550 % of the Nyquist frequency");
}

#[test]
fn exactly_so_many_times_the_nyquist_frequency_passes() {
    let board = open(&drawn(Some(0.6), Stack::six()));
    let notch = ghz(&run(&board, &rule(Some(20)), Some(16.0), false)[0]);
    for (rate, expected) in [(2.0 * notch / 5.0, "pass"), (2.0 * notch / 5.0 + 1e-6, "error")] {
        assert_eq!(word(&run(&board, &rule(Some(5)), Some(rate), false)[0]), expected);
    }
}

/// The other leg's barrel is the return: half the loop of two round wires.
#[test]
fn legs_side_by_side_return_for_each_other() {
    let mut drawn = drawn(None, Stack::six());
    drawn.part(land("U2", "B", (5.0, 6.0)));
    drawn.part(land("J2", "B", (15.0, 6.0)));
    drawn.track("B", "F.Cu", W, &[(5.0, 6.0), (7.0, 6.0)]);
    drawn.via("B", (7.0, 6.0));
    drawn.track("B", "In2.Cu", W, &[(7.0, 6.0), (13.0, 6.0)]);
    drawn.via("B", (13.0, 6.0));
    drawn.track("B", "F.Cu", W, &[(13.0, 6.0), (15.0, 6.0)]);
    drawn.fill();
    let expected = expected(MU0 / (2.0 * PI) * f64::ln(1.0 / 0.125));
    let verdicts = run(&open(&drawn), &rule(Some(20)), Some(16.0), true);
    assert_eq!(verdicts.len(), 4);
    for verdict in &verdicts {
        assert!((ghz(verdict) / expected - 1.0).abs() < 0.01, "{} {expected}", ghz(verdict));
    }
}

#[test]
fn what_is_missing_is_said_and_nothing_passes_for_it() {
    let missing = |verdict: &Verdict| match &verdict.outcome {
        Outcome::Unchecked { missing } => sentence(&Verdict { message: missing.clone(), ..verdict.clone() }),
        other => panic!("{other:?}"),
    };
    let alone = open(&drawn(None, Stack::six()));
    insta::assert_snapshot!(missing(&run(&alone, &rule(Some(5)), Some(16.0), false)[0]), @"the notch of the stub of `A` from `In2.Cu` to `B.Cu` is not known: no return via is within 1.5 mm of it");
    let caged = open(&drawn(Some(0.6), Stack::six()));
    insta::assert_snapshot!(missing(&run(&caged, &rule(Some(5)), None, false)[0]), @"no group of `A` states a rate, so its Nyquist frequency is not known");
    // Without a stackup the stub is shorter than the board is thick, which says nothing of its notch.
    let flat = open(&drawn(Some(0.6), Stack::six().unstated()));
    insta::assert_snapshot!(missing(&run(&flat, &rule(Some(5)), Some(16.0), false)[0]), @"the notch of the stub of `A` from `In2.Cu` to `B.Cu` is not known: its length is not known");
    let mut bare = drawn(Some(0.6), Stack::six());
    bare.zones.clear();
    insta::assert_snapshot!(missing(&run(&open(&bare), &rule(Some(5)), Some(16.0), false)[0]), @"the notch of the stub of `A` from `In2.Cu` to `B.Cu` is not known: no plane that it passes has an opening of its own around it");
}

/// Not asked for, it is told where it is known, and what is missing for it matters to nobody.
#[test]
fn without_the_parameter_it_is_only_told() {
    let told = |apart, rate| {
        let verdicts = run(&open(&drawn(apart, Stack::six())), &rule(None), rate, false);
        assert_eq!(word(&verdicts[0]), "pass");
        sentence(&verdicts[0])
    };
    insta::assert_snapshot!(told(Some(0.6), None), @"the via of `A` is used from `F.Cu` to `In2.Cu`; its barrel goes on to `B.Cu`; its notch is at 44 GHz");
    insta::assert_snapshot!(told(None, Some(16.0)), @"the via of `A` is used from `F.Cu` to `In2.Cu`; its barrel goes on to `B.Cu`");
}

/// A stub that is too long is too long, whatever its notch.
#[test]
fn the_length_comes_first() {
    let board = open(&drawn(None, Stack::six()));
    let long = Rule { limit: length_rule("via-stub", None, 0.5).limit, ..rule(Some(5)) };
    let verdicts = run(&board, &long, Some(16.0), false);
    assert_eq!(word(&verdicts[0]), "error");
    assert!(matches!(verdicts[0].value, Some(Quantity::Length(length)) if (length.to_mm() - STUB).abs() < 1e-9));
}
