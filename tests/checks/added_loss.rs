//! `added-loss`: known losses, limits, missing inputs.

use crate::route_rules::{at, fast, only, open, rule, run_group, sentence, with, word};
use crate::support::Board as Drawn;
use crate::support::starters::{LEFT, N, N_Y, P, P_Y, RIGHT, WIDTH, straight_pair, two_pad_pair};
use throughline::checks::{Selection, Verdict};
use throughline::rules::{Rule, Setting};
use throughline::units::Quantity;

const PAIR: &[(&str, &str)] = &[(P, N)];

fn loss(limit: f64) -> Rule {
    Rule { limit: Some(at(Quantity::Decibel(limit))), ..rule("added-loss", None, 1.0) }
}

fn judged(mut drawn: Drawn, rule: &Rule) -> Verdict {
    drawn.fill_missing();
    only(run_group(&open(&drawn), rule, &[], PAIR, fast(16.0, "85 ohm")))
}

#[track_caller]
fn decibel(verdict: &Verdict) -> f64 {
    match verdict.value {
        Some(Quantity::Decibel(value)) => value,
        other => panic!("{other:?} is no loss: {}", sentence(verdict)),
    }
}

#[test]
fn ordinary_laminate_loses_what_tables_say() {
    let verdict = judged(straight_pair("loss"), &loss(3.0));
    assert_eq!(word(&verdict), "pass", "{}", sentence(&verdict));
    // Ordinary laminate with lines of 0.1 to 0.13 mm: 0.065 to 0.085 dB/mm at 8 GHz, derived from closed formulas,
    // good to a quarter; ours are wider.
    let per_mm = decibel(&verdict) / 14.0;
    assert!((0.045..0.085).contains(&per_mm), "{per_mm}");
    insta::assert_snapshot!(sentence(&verdict), @"`LINK` takes 0.65 dB at 8 GHz over 14 mm: 0.34 dB by metal, 0.31 dB by dielectrics, 0 dB by its barrels");
}

#[test]
fn loss_grows_with_frequency_and_shows_where_it_comes_from() {
    let at = |ghz: f64| {
        let rule = with(loss(9.0), "frequency", Setting::Quantity(Quantity::Frequency(ghz * 1e9)));
        decibel(&judged(straight_pair("frequency"), &rule))
    };
    let (four, sixteen) = (at(4.0), at(16.0));
    assert!(sixteen > 2.5 * four && sixteen < 4.5 * four, "{four} {sixteen}");
}

#[test]
fn near_the_limit_the_scatter_decides() {
    let value = decibel(&judged(straight_pair("value"), &loss(9.0)));
    assert_eq!(word(&judged(straight_pair("beyond"), &loss(value - 0.01))), "error");
    assert_eq!(word(&judged(straight_pair("at"), &loss(value))), "unchecked");
    assert_eq!(word(&judged(straight_pair("within"), &loss(value * 1.11))), "pass");
    let warn = Rule { warn: Some(at(Quantity::Decibel(value))), ..loss(value * 1.2) };
    assert_eq!(word(&judged(straight_pair("warn"), &warn)), "warning");
}

#[test]
fn what_is_missing_is_named() {
    let judge = |drawn: &mut Drawn, group: Selection| {
        drawn.fill_missing();
        let verdict = only(run_group(&open(drawn), &loss(3.0), &[], PAIR, group));
        assert_eq!(word(&verdict), "unchecked", "{}", sentence(&verdict));
        sentence(&verdict)
    };
    let text = judge(&mut straight_pair("rate"), Selection::default());
    insta::assert_snapshot!(text, @"group `group` states no rate: enter `rate` in the group");
    let mut lossless = straight_pair("lossless");
    for sheet in &mut lossless.stack.sheets {
        sheet.loss = 0.0;
    }
    let text = judge(&mut lossless, fast(16.0, "85 ohm"));
    insta::assert_snapshot!(text, @"the loss of `LINK` is not known over 14 mm: the stackup does not state a loss tangent: enter it");
    let mut bald = straight_pair("bald");
    bald.stack = bald.stack.clone().unstated();
    assert!(judge(&mut bald, fast(16.0, "85 ohm")).contains("no stackup"));
}

#[test]
fn barrels_add_what_they_reflect() {
    let through = |layer: &str| {
        let mut drawn = two_pad_pair("barrels");
        for (net, y, side) in [(P, P_Y, -1.0), (N, N_Y, 1.0)] {
            let out = y + side * 0.3;
            drawn.track(net, "F.Cu", WIDTH, &[(LEFT, y), (9.7, y), (10.0, out)]);
            drawn.via(net, (10.0, out));
            drawn.via("GND", (10.0, out + side * 0.7));
            drawn.track(net, layer, WIDTH, &[(10.0, out), (10.3, y), (RIGHT - 0.3, y), (RIGHT, out)]);
            drawn.via(net, (RIGHT, out));
        }
        let verdict = judged(drawn, &loss(9.0));
        assert_eq!(word(&verdict), "pass", "{}", sentence(&verdict));
        decibel(&verdict)
    };
    let straight = decibel(&judged(straight_pair("straight"), &loss(9.0)));
    let deep = through("B.Cu");
    assert!(deep > straight, "{deep} {straight}");
}
