//! Sections without any plane: only coplanar grounds, or only the pair's own legs.

use crate::lines::{coated, ground, layer, microstrip, mm, near, solved, solved_finely, trace, z0};
use throughline::field::{Conductor, Dielectric, ETA0, Mask, Mode, Section, Undetermined};

/// Two legs on a slab or in air, without reference.
fn floating(width: f64, thickness: f64, gap: f64, slab: Option<(f64, f64)>) -> Section {
    let place = 0.5 * (width + gap);
    let (layers, foot) =
        slab.map_or((Vec::new(), 0.0), |(height, permittivity)| (vec![layer(height, permittivity)], height));
    Section {
        layers,
        conductors: vec![trace(-place, foot, width, thickness), trace(place, foot, width, thickness)],
        ..Section::default()
    }
}

/// Arithmetic-geometric mean, for complete elliptic integrals K(k) = π/(2 agm(1, k')).
fn agm(mut a: f64, mut b: f64) -> f64 {
    for _ in 0..40 {
        (a, b) = (0.5 * (a + b), (a * b).sqrt());
    }
    a
}

/// Mark F: two coplanar strips in air, Z = η0 K(k)/K(k') with k = s/(s + 2w).
#[test]
fn coplanar_pair_in_air() {
    for (width, gap) in [(0.2, 0.1), (0.1, 0.3)] {
        let k: f64 = gap / (gap + 2.0 * width);
        let ratio = agm(1.0, k) / agm(1.0, (1.0 - k * k).sqrt());
        let solution = solved(&floating(width, 0.0, gap, None));
        near(solution.pair(0, 1).unwrap().differential().to_ohms(), ETA0 * ratio, 0.15);
    }
}

/// Without reference there is a differential wave and nothing else.
#[test]
fn only_the_differential_wave() {
    let solution = solved(&floating(0.15, 0.035, 0.15, Some((0.8, 4.4))));
    let pair = solution.pair(0, 1).unwrap();
    assert_eq!((pair.even, pair.common(), pair.near()), (None, None, None));
    assert_eq!(solution.line(0), Err(Undetermined::NoReturn));
    assert_eq!(solution.coupling(0, 1), Err(Undetermined::NoReturn));
    assert_eq!(solution.inductance(), None);
    assert!(solution.modes().is_empty() && solution.characteristic().is_none());
    assert!(pair.odd.permittivity > 2.3 && pair.odd.permittivity < 2.8, "{pair:?}");
    let loss = crate::lines::crowding(&solution, Mode::Odd(0, 1));
    assert!(loss > 0.0);
}

/// Legs that are not each other's mirror image are solved as a whole, to the same answer where they nearly are.
#[test]
fn uneven_legs_without_reference() {
    let even = floating(0.15, 0.035, 0.15, Some((0.8, 4.4)));
    let mut uneven = even.clone();
    uneven.conductors[1].foot_width = mm(0.150_01);
    uneven.conductors[1].top_width = mm(0.150_01);
    let (one, two) = (solved(&even), solved(&uneven));
    near(two.pair(0, 1).unwrap().differential().to_ohms(), one.pair(0, 1).unwrap().differential().to_ohms(), 0.1);
    near(crate::lines::crowding(&two, Mode::Odd(0, 1)), crate::lines::crowding(&one, Mode::Odd(0, 1)), 0.5);
    assert_eq!(two.line(0), Err(Undetermined::NoReturn));
}

/// A plane far away does not matter to a pair: no plane and a far plane agree.
#[test]
fn no_plane_is_a_far_plane() {
    let open = floating(0.15, 0.035, 0.15, Some((0.8, 4.4)));
    let over = Section {
        layers: vec![layer(30.0, 1.0), layer(0.8, 4.4)],
        plane_below: true,
        conductors: open.conductors.iter().map(|c| Conductor { foot: c.foot + mm(30.0), ..*c }).collect(),
        ..Section::default()
    };
    let (none, far) = (solved_finely(&open).pair(0, 1).unwrap(), solved_finely(&over).pair(0, 1).unwrap());
    near(none.differential().to_ohms(), far.differential().to_ohms(), 0.15);
    near(none.odd.permittivity, far.odd.permittivity, 0.15);
}

/// A coplanar waveguide on a slab without plane: between air and half its permittivity, and lower with a mask.
#[test]
fn coplanar_waveguide_without_plane() {
    let guide = |slab: f64| Section {
        layers: vec![layer(slab, 4.4)],
        conductors: vec![trace(0.0, slab, 0.3, 0.035), ground(-2.4, slab, 4.0, 0.035), ground(2.4, slab, 4.0, 0.035)],
        ..Section::default()
    };
    let solution = solved(&guide(1.6));
    let line = solution.line(0).unwrap();
    // A thick slab fills one half of the space.
    assert!(line.permittivity > 2.3 && line.permittivity < 2.7, "{line:?}");
    near(z0(&guide(1.6)), solved_finely(&guide(1.6)).line(0).unwrap().impedance.to_ohms(), 0.2);
    let masked = coated(guide(1.6), 3.5, 0.02, 0.012, 0.012);
    assert!(z0(&masked) < z0(&guide(1.6)));
}

/// Traces on both faces of a core without planes, masks on both: turned over it is the same section.
#[test]
fn both_faces() {
    let mask = |over: f64| {
        Some(Mask {
            on_board: mm(0.02),
            over_copper: mm(over),
            beside_copper: mm(0.012),
            dielectric: Dielectric::new(3.5, 0.02),
        })
    };
    let upright = Section {
        layers: vec![layer(0.2, 4.2)],
        mask_above: mask(0.012),
        mask_below: mask(0.02),
        conductors: vec![trace(0.0, 0.2, 0.2, 0.035), ground(0.1, -0.018, 0.6, 0.018)],
        ..Section::default()
    };
    let turned = Section {
        mask_above: upright.mask_below,
        mask_below: upright.mask_above,
        conductors: vec![trace(0.0, -0.035, 0.2, 0.035), ground(0.1, 0.2, 0.6, 0.018)],
        ..upright.clone()
    };
    near(z0(&upright), z0(&turned), 0.05);
    // The finite ground is near: about a microstrip.
    near(z0(&upright), z0(&coated(microstrip(0.2, 0.035, 0.2, 4.2), 3.5, 0.02, 0.012, 0.012)), 12.0);
}
