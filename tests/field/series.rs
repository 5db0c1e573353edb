//! Strips without thickness on a grounded slab, against an image series with a Chebyshev basis (below 1e-9). Mark S.
//! Tolerance 0.15 % of impedance and permittivity, 0.25 % of capacitance.

use crate::lines::{even_odd, microstrip, near, paired, relative, repeated, solved, z0};

const Z: f64 = 0.15;
const C: f64 = 0.25;

#[test]
fn single_strips() {
    for (permittivity, width, ohms, effective) in [
        (4.4, 1.0, 71.0147, 3.169_29),
        (4.4, 2.0, 48.6798, 3.344_74),
        (9.8, 1.0, 49.3058, 6.574_49),
        (3.5, 2.5, 46.8695, 2.778_99),
    ] {
        let section = microstrip(width, 0.0, 1.0, permittivity);
        near(z0(&section), ohms, Z);
        near(solved(&section).line(0).unwrap().permittivity, effective, Z);
    }
}

#[test]
fn coupled_strips() {
    for (permittivity, gap, even, odd, even_effective, odd_effective) in
        [(4.4, 1.0, 80.6988, 60.6297, 3.391_628, 2.883_722), (9.8, 0.3, 62.0441, 33.6146, 7.115_534, 5.643_887)]
    {
        let section = paired(microstrip(1.0, 0.0, 1.0, permittivity), gap);
        let found = even_odd(&section);
        near(found.0, even, Z);
        near(found.1, odd, Z);
        let pair = solved(&section).pair(0, 1).unwrap();
        near(pair.even.unwrap().permittivity, even_effective, Z);
        near(pair.odd.permittivity, odd_effective, Z);
    }
}

#[test]
fn three_strips() {
    let c = relative(&solved(&repeated(microstrip(1.0, 0.0, 1.0, 4.4), 3, 1.0)));
    near(c.get(0, 0), 9.575_14, C);
    near(c.get(1, 1), 9.703_09, C);
    near(c.get(0, 1), -0.968_899, C);
    near(c.get(0, 2), -0.074_895_3, C);
    near(c.get(2, 2), c.get(0, 0), 1e-6);
}
