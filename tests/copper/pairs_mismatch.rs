//! Coupling and running mismatch of two routes with known lengths.

use super::pairs_routes::{Walk, blank_board, legs};
use proptest::prelude::*;
use throughline::board::LayerId;
use throughline::copper::mismatch::{Lasting, Mismatch, Sample, mismatch};
use throughline::copper::pair::{Legs, reversed};
use throughline::copper::pair_coupling::{Coupling, coupling};
use throughline::units::Length;

fn measured(legs: &Legs) -> (Coupling, Mismatch) {
    measured_with(legs, &|one, other| Some(Length::mm(0.4 * f64::from(one.0.abs_diff(other.0)))))
}

fn measured_with(legs: &Legs, height: &dyn Fn(LayerId, LayerId) -> Option<Length>) -> (Coupling, Mismatch) {
    let coupled = coupling(legs);
    let running = mismatch(&blank_board(), legs, &coupled.stretches, height);
    (coupled, running)
}

fn lasts(running: &Mismatch, limit: f64, persist: f64) -> Option<Lasting> {
    running.lasting(Length::mm(limit), Length::mm(persist))
}

#[track_caller]
fn near(found: Option<Length>, mm: f64) {
    let found = found.unwrap_or_else(|| panic!("no value, expected {mm} mm"));
    assert!((found.to_mm() - mm).abs() < 2e-6, "{} mm, expected {mm} mm", found.to_mm());
}

/// Two straight legs 0.25 mm apart (gap 0.15 mm), 10 mm long.
fn straight() -> Legs {
    legs(Walk::at(0, 0).to(10_000, 0), Walk::at(0, 250).to(10_000, 250))
}

#[test]
fn equal_legs_have_no_mismatch() {
    let (coupled, running) = measured(&straight());
    near(running.end, 0.0);
    assert!(running.samples.iter().all(|sample| sample.value == Some(Length::ZERO)));
    assert_eq!((running.peak(), lasts(&running, 0.0, 0.0)), (None, None));
    assert_eq!(coupled.p.share(), 1.0);
    let gap = coupled.gap.unwrap();
    near(Some(gap.least), 0.15);
    near(Some(gap.typical), 0.15);
    near(Some(gap.most), 0.15);
}

#[test]
fn a_bend_makes_the_outer_leg_longer_from_there_on() {
    // Right-angled bend after 6 mm, N inside: P is 2 × 0.25 mm longer.
    let (coupled, running) =
        measured(&legs(Walk::at(0, 0).to(6000, 0).to(6000, 6000), Walk::at(0, 250).to(5750, 250).to(5750, 6000)));
    near(running.end, 0.5);
    near(running.peak().unwrap().value, 0.5);
    let lasting = lasts(&running, 0.1, 2.0).unwrap();
    near(lasting.top.value, 0.5);
    // P is 0.5 mm longer once N's corner is passed; a fifth of that is reached after a fifth of the bend.
    near(lasting.from.value, 0.1);
    near(Some(lasting.from.p), 5.75 + 0.2 * 0.5);
    near(Some(lasting.to.p), 12.0);
    // Along the middle of both legs: a half of four fifths of the bend, then side by side to the end.
    near(Some(lasting.span), 0.4 * 0.5 + 5.75);
    // Around the bend the legs are still side by side.
    assert!((coupled.p.share() - 1.0).abs() < 1e-9 && (coupled.n.share() - 1.0).abs() < 1e-9, "{coupled:?}");
    near(running.left.last().unwrap().value, 0.5);
}

/// Outward and back: a left bend and, `run` micrometres later, a right bend that undoes it.
fn jog(run: i64) -> Legs {
    legs(
        Walk::at(0, 0).to(5000, 0).to(5000, run).to(10_000, run),
        Walk::at(0, 250).to(4750, 250).to(4750, run + 250).to(10_000, run + 250),
    )
}

#[test]
fn bends_that_cancel_soon_are_not_a_peak() {
    let (_, running) = measured(&jog(1500));
    near(running.end, 0.0);
    assert!(running.samples.iter().any(|sample| sample.value.unwrap().to_mm() > 0.49));
    assert_eq!(lasts(&running, 0.01, 2.0), None);
    near(running.peak().unwrap().value, 0.5);
    near(lasts(&running, 0.01, 1.0).unwrap().top.value, 0.5);
}

#[test]
fn bends_that_cancel_late_are_a_peak_between_them() {
    let (_, running) = measured(&jog(6000));
    near(running.end, 0.0);
    let lasting = lasts(&running, 0.1, 2.0).unwrap();
    near(lasting.top.value, 0.5);
    // Both bends: 0.5 mm of P, of which a fifth each is within the limit.
    assert!(lasting.from.p.to_mm() < 5.3 && lasting.to.p.to_mm() > 10.7, "{lasting:?}");
    near(Some(lasting.span), 2.0 * 0.4 * 0.5 + 5.75);
}

#[test]
fn a_bump_on_the_shorter_leg_compensates() {
    // The bend costs P 0.5 mm; later N makes a bump of 0.25 mm height, twice 0.25 mm more.
    let (coupled, running) = measured(&legs(
        Walk::at(0, 0).to(6000, 0).to(6000, 6000),
        Walk::at(0, 250).to(5750, 250).to(5750, 4000).to(5500, 4000).to(5500, 4400).to(5750, 4400).to(5750, 6000),
    ));
    near(running.end, 0.0);
    near(lasts(&running, 0.1, 2.0).unwrap().top.value, 0.5);
    near(running.left.last().unwrap().value, 0.0);
    // The bump's top is 0.4 mm apart, more than twice the gap: that much is uncoupled, the rest is coupled.
    assert!(coupled.p.share() > 0.95, "{coupled:?}");
}

#[test]
fn fan_out_is_uncoupled_and_counts_from_the_pads() {
    // Pads 1 mm apart; P goes straight, N joins after a slanted run and is longer by √2 − 1 of 0.75 mm.
    let (coupled, running) =
        measured(&legs(Walk::at(0, 0).to(10_000, 0), Walk::at(0, 1000).to(1000, 1000).to(1750, 250).to(10_000, 250)));
    let longer = 0.75 * (std::f64::consts::SQRT_2 - 1.0);
    near(running.end, -longer);
    let lasting = lasts(&running, 0.1, 2.0).unwrap();
    near(lasting.top.value, -longer);
    assert_eq!((Some(&lasting.from), Some(&lasting.to)), (running.samples.first(), running.samples.last()));
    assert_eq!(coupled.p.uncoupled.len(), 1);
    near(Some(coupled.p.uncoupled[0].0), 0.0);
    assert!((coupled.p.uncoupled[0].1.to_mm() - 1.75).abs() < 0.1, "{coupled:?}");
    assert!(running.samples.first().unwrap().p.to_mm() > 1.6, "nothing is matched in the fan-out");
}

#[test]
fn equal_barrels_cancel_without_heights() {
    let unknown = |_: LayerId, _: LayerId| None;
    let walk = |y: i64| Walk::at(0, y).to(5000, y).through(3).to(10_000, y);
    let (_, running) = measured_with(&legs(walk(0), walk(250)), &unknown);
    near(running.end, 0.0);
    assert!(!running.has_unknown());
    assert_eq!(running.left.len(), 2, "before the via and before the pad");
    // The same height in two parts cancels too.
    let split = Walk::at(0, 250).to(5000, 250).through(1).through(3).to(10_000, 250);
    near(measured_with(&legs(walk(0), split), &unknown).1.end, 0.0);
}

#[test]
fn unequal_barrels_need_heights() {
    let deep = Walk::at(0, 0).to(5000, 0).through(2).to(7000, 0).through(0).to(10_000, 0);
    let flat = Walk::at(0, 250).to(10_000, 250);
    let (_, running) = measured_with(&legs(deep.clone(), flat.clone()), &|_, _| None);
    assert_eq!(running.end, None);
    assert!(running.has_unknown());
    let (_, running) = measured(&legs(deep, flat));
    near(running.end, 1.6);
    near(lasts(&running, 0.1, 2.0).unwrap().top.value, 1.6);
}

#[test]
fn legs_that_never_run_side_by_side_have_an_end_value_alone() {
    let (coupled, running) =
        measured(&legs(Walk::at(0, 0).to(10_000, 0), Walk::at(0, 3000).to(10_000, 3000).to(10_000, 3100)));
    near(running.end, -0.1);
    assert!(running.samples.is_empty());
    assert_eq!((running.peak(), lasts(&running, 0.0, 0.0)), (None, None));
    assert_eq!((coupled.gap, coupled.p.share()), (None, 0.0));
}

#[test]
fn wide_meanders_don_t_match_across() {
    // P folds back on itself 1 mm away and passes N again: only the first pass counts.
    let (_, running) = measured(&legs(
        Walk::at(0, 0).to(8000, 0).to(8000, -600).to(2000, -600).to(2000, -1200).to(10_000, -1200),
        Walk::at(0, 250).to(10_000, 250),
    ));
    assert!(running.samples.iter().all(|sample| sample.value == Some(Length::ZERO)), "{running:?}");
}

fn any_legs() -> impl Strategy<Value = Legs> {
    prop::collection::vec((5_i64..40, -1_i64..=1, prop::bool::weighted(0.2)), 1..9).prop_map(|steps| {
        let (mut p, mut n) = (Walk::at(0, 0), Walk::at(0, 250));
        let (mut x, mut y, mut layer) = (0, 0, 0);
        for (length, turn, via) in steps {
            (x, y) = (x + length * 100, y + turn * length * 100);
            p = p.to(x, y);
            n = n.to(x, y + 250);
            if via {
                layer = 3 - layer;
                (p, n) = (p.through(layer), n.through(layer));
            }
        }
        legs(p, n.to(x, y + 400))
    })
}

proptest! {
    #[test]
    fn swapping_the_legs_flips_the_sign(legs in any_legs()) {
        let swapped = Legs { p: legs.n.clone(), n: legs.p.clone() };
        let (one, two) = (measured(&legs).1, measured(&swapped).1);
        prop_assert!((one.end.unwrap() + two.end.unwrap()).abs().to_nm() < 0.01);
        let peaks = [&one, &two].map(|found| found.peak().map_or(0.0, |peak| peak.value.unwrap().to_nm()));
        prop_assert!((peaks[0].abs() - peaks[1].abs()).abs() < 0.1, "{peaks:?}");
        for persist in [0.0, 1.0, 2.0] {
            let [one, two] = [&one, &two].map(|found| lasts(found, 0.05, persist));
            prop_assert_eq!(one.is_some(), two.is_some());
            if let (Some(one), Some(two)) = (one, two) {
                prop_assert!((one.top.value.unwrap() + two.top.value.unwrap()).abs().to_nm() < 0.1);
                prop_assert!((one.span - two.span).abs().to_nm() < 0.1, "{:?} {:?}", one, two);
            }
        }
    }

    #[test]
    fn what_lasts_is_beyond_the_limit_from_end_to_end(legs in any_legs(), limit in 0.01..0.4_f64) {
        let running = measured(&legs).1;
        if let Some(found) = lasts(&running, limit, 1.0) {
            let middle = |sample: &Sample| (sample.p + sample.n).to_mm() / 2.0;
            let matched = running.samples.last().map(middle).unwrap() - middle(&running.samples[0]);
            prop_assert!(found.span.to_mm() > matched.min(1.0) - 1e-6);
            let range = middle(&found.from)..=middle(&found.to);
            let within = |sample: &&Sample| range.contains(&middle(sample));
            for sample in running.samples.iter().filter(within).chain([&found.from, &found.to]) {
                let value = sample.value.unwrap().to_mm() * found.top.value.unwrap().to_mm().signum();
                prop_assert!(value > limit - 2e-6 && value <= found.top.value.unwrap().to_mm().abs() + 1e-9, "{sample:?}");
            }
        }
    }

    #[test]
    fn walking_from_the_other_end_keeps_the_end_value_and_the_coupling(legs in any_legs()) {
        let back = Legs { p: reversed(&legs.p), n: reversed(&legs.n) };
        let ((coupled, one), (coupled_back, two)) = (measured(&legs), measured(&back));
        prop_assert!((one.end.unwrap() - two.end.unwrap()).abs().to_nm() < 0.01);
        prop_assert!((coupled.p.coupled - coupled_back.p.coupled).abs().to_nm() < 1.0);
        prop_assert!((coupled.n.coupled - coupled_back.n.coupled).abs().to_nm() < 1.0);
    }
}
