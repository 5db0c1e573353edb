//! Delay and skew in time: what a detour costs, where it runs, and how the running skew follows it.

use crate::drawn::{near, pair, tracks};
use crate::support::starters::{P_Y, bent_pair, straight_pair};
use throughline::signal::Leg;

#[test]
fn a_detour_costs_its_length_at_its_own_speed() {
    // P goes 1.5 mm up and back: 3 mm more.
    let line = pair(bent_pair("detour", &[(8.0, P_Y), (8.0, P_Y - 1.5), (10.0, P_Y - 1.5), (10.0, P_Y)]));
    let skew = line.skew.whole().unwrap().to_ps();
    let alone = line.pieces.iter().find(|piece| piece.leg == Leg::P && !piece.is_coupled() && piece.single().is_some());
    let slowness = alone.unwrap().wave.as_ref().unwrap().delay(Leg::P).to_ps_per_mm();
    // Alone the line is slower than beside its mate: beside the detour N is alone too.
    near(skew, 3.0 * slowness, 3.0);
    let total = line.p.delay.whole().unwrap().to_ps() - line.n.delay.whole().unwrap().to_ps();
    near(skew, total, 1e-6);
    let last = line.running.last().unwrap();
    near(last.value.unwrap().to_ps(), skew, 0.5);
    assert!(line.running.first().unwrap().value.unwrap().to_ps().abs() < 1e-9);
}

#[test]
fn the_running_skew_has_the_samples_of_the_running_mismatch() {
    use throughline::copper::mismatch::mismatch;
    let board = bent_pair("samples", &[(8.0, P_Y), (8.0, P_Y - 1.5), (10.0, P_Y - 1.5), (10.0, P_Y)]);
    crate::drawn::with(board, throughline::signal::Assumptions::default(), |board, copper, signals| {
        let legs = crate::drawn::legs(copper, crate::support::starters::P, crate::support::starters::N);
        let stretches = throughline::copper::pair_coupling::coupling(&legs).stretches;
        let lengths = mismatch(board, &legs, &stretches, &|_, _| None);
        let line = signals.pair(&legs).unwrap();
        let places =
            |p: throughline::units::Length, n: throughline::units::Length| (p.to_nm().round(), n.to_nm().round());
        let [mm, ps] = [
            lengths.samples.iter().map(|sample| places(sample.p, sample.n)).collect::<Vec<_>>(),
            line.running.iter().map(|sample| places(sample.p, sample.n)).collect(),
        ];
        assert_eq!(mm, ps);
    });
}

#[test]
fn pieces_cover_both_legs_without_gaps() {
    for (name, through) in
        [("straight", vec![]), ("bent", vec![(8.0, P_Y), (8.0, P_Y - 1.0), (9.0, P_Y - 1.0), (9.0, P_Y)])]
    {
        let line = pair(bent_pair(name, &through));
        for leg in [Leg::P, Leg::N] {
            let mut spans: Vec<(f64, f64)> = line
                .pieces
                .iter()
                .filter_map(|piece| match (&piece.mate, leg) {
                    (Some(mate), Leg::N) => Some(*mate),
                    (None, leg) if piece.leg != leg => None,
                    _ => Some(piece.along),
                })
                .map(|[from, to]| (from.to_nm(), to.to_nm()))
                .collect();
            spans.sort_by(|one, other| one.0.total_cmp(&other.0));
            assert!(spans[0].0 == 0.0);
            assert!(spans.windows(2).all(|pair| (pair[1].0 - pair[0].1).abs() < 3.0), "{spans:?}");
            let way = if leg == Leg::P { &line.p } else { &line.n }.delay.way;
            assert!((spans.last().unwrap().1 - way.to_nm()).abs() < 3.0);
        }
    }
}

#[test]
fn the_error_is_told() {
    let line = pair(straight_pair("error"));
    let piece = tracks(&line.pieces)[0];
    let error = piece.wave.as_ref().unwrap().error();
    assert!(error > 0.0 && error < 0.01);
    near(line.p.delay.error.to_ps(), line.p.delay.known.to_ps() * error, 1e-6);
}
