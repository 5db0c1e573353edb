//! Eleven differential impedances from an independent finite-difference program (rectangular copper, 2.5 µm grid; its
//! own error about ±1 %). Mark V, tolerance 1 %. Mask 12.5 µm of permittivity 3.8 unless said.

use crate::lines::{coated, microstrip, near, paired, solved, stripline};
use throughline::field::Section;

fn outer(width: f64, gap: f64, height: f64, permittivity: f64, mask: f64) -> Section {
    coated(paired(microstrip(width, 0.035, height, permittivity), gap), 3.8, mask, mask, mask)
}

fn hold(section: &Section, ohms: f64, permittivity: f64, ps_per_mm: f64) {
    let pair = solved(section).pair(0, 1).unwrap();
    near(pair.differential().to_ohms(), ohms, 1.0);
    near(pair.odd.permittivity, permittivity, 1.0);
    near(pair.odd.delay().to_ps_per_mm(), ps_per_mm, 1.0);
}

#[test]
fn outer_layers() {
    for (width, gap, height, permittivity, ohms, effective, delay) in [
        (0.10, 0.13, 0.10, 4.05, 102.7, 2.74, 5.52),
        (0.13, 0.13, 0.10, 4.05, 93.1, 2.78, 5.56),
        (0.15, 0.15, 0.10, 4.05, 90.2, 2.82, 5.61),
        (0.16, 0.13, 0.10, 4.05, 85.3, 2.82, 5.60),
        (0.17, 0.15, 0.10, 4.05, 85.2, 2.85, 5.63),
        (0.25, 0.15, 0.21, 4.40, 90.3, 2.86, 5.64),
        (0.28, 0.15, 0.21, 4.40, 86.3, 2.88, 5.66),
        (0.115, 0.10, 0.075, 3.85, 84.7, 2.72, 5.51),
    ] {
        hold(&outer(width, gap, height, permittivity, 0.0125), ohms, effective, delay);
    }
    let thinner = solved(&outer(0.15, 0.15, 0.10, 4.05, 0.010));
    near(thinner.pair(0, 1).unwrap().differential().to_ohms(), 91.0, 1.0);
}

#[test]
fn inner_layers() {
    for (width, gap, below, above, permittivity, ohms, delay) in [
        (0.10, 0.15, 0.10, 0.20, 4.10, 93.6, 6.75),
        (0.09, 0.13, 0.10, 0.10, 4.10, 87.4, 6.75),
        (0.12, 0.15, 0.12, 0.20, 4.20, 89.8, 6.84),
    ] {
        let section = paired(stripline(width, 0.015, below, below + 0.015 + above, permittivity), gap);
        hold(&section, ohms, permittivity, delay);
    }
}
