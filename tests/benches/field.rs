//! Benchmarks of the solver, by kind of section: without resistance, with it, and with halves not taken.

#![allow(clippy::indexing_slicing)]

use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;
use throughline::field::{Conductor, Dielectric, Layer, Mask, Options, Section, solve};
use throughline::units::Length;

fn mm(value: f64) -> Length {
    Length::mm(value)
}

fn layer(thickness: f64, permittivity: f64) -> Layer {
    Layer { thickness: mm(thickness), dielectric: Dielectric::new(permittivity, 0.02) }
}

fn microstrip(width: f64, height: f64, permittivity: f64) -> Section {
    Section {
        layers: vec![layer(height, permittivity)],
        plane_below: true,
        conductors: vec![Conductor::signal(mm(0.0), mm(height), mm(width), mm(0.035))],
        ..Section::default()
    }
}

fn stripline(width: f64, below: f64, layers: Vec<Layer>) -> Section {
    Section {
        layers,
        plane_below: true,
        plane_above: true,
        conductors: vec![Conductor::signal(mm(0.0), mm(below), mm(width), mm(0.0175))],
        ..Section::default()
    }
}

fn coated(section: Section) -> Section {
    let mask = Mask {
        on_board: mm(0.02),
        over_copper: mm(0.012),
        beside_copper: mm(0.012),
        dielectric: Dielectric::new(3.5, 0.02),
    };
    Section { mask_above: Some(mask), ..section }
}

/// The section's only trace at several places.
fn at(section: Section, places: &[f64]) -> Section {
    let one = section.conductors[0];
    let conductors = places.iter().map(|&x| Conductor { centre: mm(x), ..one }).collect();
    Section { conductors, ..section }
}

fn sections() -> Vec<(&'static str, Section)> {
    let mut coplanar = coated(microstrip(0.24, 0.2, 4.2));
    for side in [-1.0, 1.0] {
        coplanar.conductors.push(Conductor::ground(mm(side * 0.42), mm(0.2), mm(0.4), mm(0.035)));
    }
    let mut broadside = stripline(0.12, 0.1325, vec![layer(0.4, 4.0)]);
    broadside.conductors.push(Conductor::signal(mm(0.0), mm(0.25), mm(0.12), mm(0.0175)));
    let mut ends = at(microstrip(0.125, 0.6, 4.2), &[-0.1375, 0.1375]);
    ends.conductors.push(Conductor::ground(mm(-1.9), mm(0.48), mm(4.0), mm(0.018)));
    vec![
        ("stripline", stripline(0.125, 0.15125, vec![layer(0.32, 4.2)])),
        ("stripline pair", at(stripline(0.12, 0.17125, vec![layer(0.36, 4.0)]), &[-0.135, 0.135])),
        (
            "stripline pair, two dielectrics",
            at(stripline(0.12, 0.1, vec![layer(0.1, 4.0), layer(0.13, 3.6)]), &[-0.14, 0.14]),
        ),
        ("broadside pair", broadside),
        ("microstrip, bare", microstrip(0.18, 0.1, 4.2)),
        ("microstrip pair, bare", at(microstrip(0.18, 0.1, 4.2), &[-0.18, 0.18])),
        ("microstrip, coated", coated(microstrip(0.18, 0.1, 4.2))),
        ("microstrip pair, coated", at(coated(microstrip(0.125, 0.1, 4.2)), &[-0.1375, 0.1375])),
        ("three uneven traces, coated", at(coated(microstrip(0.125, 0.1, 4.2)), &[0.0, 0.275, 0.7])),
        ("grounded coplanar, coated", coplanar),
        ("four traces, coated", at(coated(microstrip(0.125, 0.1, 4.2)), &[-0.45, -0.175, 0.175, 0.45])),
        ("pair over a plane that ends", ends),
    ]
}

fn solving(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("field");
    group.sample_size(20);
    for (name, section) in sections() {
        for (what, options) in [
            ("", Options { resistance: false, ..Options::default() }),
            (", with resistance", Options::default()),
            (", whole", Options { resistance: false, symmetry: false, ..Options::default() }),
        ] {
            let _ = group.bench_function(format!("{name}{what}"), |bencher| {
                bencher.iter(|| solve(black_box(&section), &options));
            });
        }
    }
    group.finish();
}

criterion_group!(benches, solving);
criterion_main!(benches);
