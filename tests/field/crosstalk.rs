//! Delay and coupling.

use crate::lines::{centred, microstrip, mm, near, paired, repeated, solved};
use throughline::field::{Impedance, Pair, Time, Wave};

/// Mark F.
#[test]
fn delay_of_a_homogeneous_line() {
    let line = solved(&centred(0.1, 0.0175, 0.3, 4.0)).line(0).unwrap();
    near(line.delay().to_ps_per_mm(), 6.671_282, 1e-4);
    near(line.delay().to_ps_per_mm() * 25.4, 169.4506, 1e-4);
}

/// Mark F.
#[test]
fn saturated_near_end() {
    let wave = |ohms| Wave { impedance: Impedance::ohms(ohms), permittivity: 3.0 };
    let pair = Pair { odd: wave(49.083), even: Some(wave(63.788)) };
    near(pair.saturated().unwrap(), 0.065_42, 0.02);
    near(pair.near().unwrap(), 0.065_14, 0.02);
}

/// Mark F: all modes of a homogeneous section are equally fast.
#[test]
fn far_end_is_quiet_in_one_dielectric() {
    let solution = solved(&paired(centred(0.12, 0.0175, 0.36, 4.0), 0.15));
    let coupling = solution.coupling(0, 1).unwrap();
    assert!(coupling.far.to_ps_per_mm().abs() < 1e-9, "{:?}", coupling.far);
    near(coupling.near, 0.061_288, 1.5);
    for (permittivity, _) in solution.modes() {
        near(permittivity, 4.0, 1e-6);
    }
}

#[test]
fn near_end_saturates_and_far_end_grows() {
    let coupling = solved(&paired(microstrip(0.15, 0.035, 0.1, 4.2), 0.15)).coupling(0, 1).unwrap();
    let rise = Time::ps(40.0);
    let short = coupling.near_peak(mm(1.0), rise);
    near(coupling.near_peak(mm(2.0), rise), 2.0 * short, 1e-9);
    near(coupling.near_peak(mm(100.0), rise), coupling.near, 1e-9);
    assert!(coupling.far_peak(mm(10.0), rise) < 0.0, "an outer layer's far end sees the slower even mode's want");
    near(coupling.far_peak(mm(10.0), rise), 2.0 * coupling.far_peak(mm(5.0), rise), 1e-9);
    assert_eq!(coupling.far_peak(mm(1e5), rise), -0.5);
}

/// The differential coupling of two pairs, from their matrices, against the modes' delays and the single lines'.
#[test]
fn pairs_couple_less_than_lines() {
    let section = repeated(microstrip(0.12, 0.035, 0.1, 4.2), 4, 0.15);
    let solution = solved(&section);
    let lines = solution.coupling(1, 2).unwrap();
    let pairs = solution.pair_coupling((0, 1), (2, 3)).unwrap();
    assert!(pairs.near.abs() < lines.near, "{pairs:?} against {lines:?}");
    let turned = solution.pair_coupling((1, 0), (2, 3)).unwrap();
    near(turned.near, -pairs.near, 1e-9);
    let back = solution.pair_coupling((2, 3), (0, 1)).unwrap();
    near(back.near, pairs.near, 1e-6);
    assert!(solution.pair_coupling((0, 1), (1, 2)).is_err());
}

/// The characteristic matrix of a symmetric pair holds its even and odd impedances.
#[test]
fn characteristic_matrix_of_a_pair() {
    let solution = solved(&paired(microstrip(0.15, 0.035, 0.1, 4.2), 0.15));
    let pair = solution.pair(0, 1).unwrap();
    let z = solution.characteristic().unwrap();
    near(z.get(0, 0) - z.get(0, 1), pair.odd.impedance.to_ohms(), 1e-6);
    near(z.get(0, 0) + z.get(0, 1), pair.even.unwrap().impedance.to_ohms(), 1e-6);
    let modes = solution.modes();
    near(modes[0].0, pair.odd.permittivity, 1e-6);
    near(modes[1].0, pair.even.unwrap().permittivity, 1e-6);
    assert!(modes[0].1[0] * modes[0].1[1] < 0.0 && modes[1].1[0] * modes[1].1[1] > 0.0);
}
