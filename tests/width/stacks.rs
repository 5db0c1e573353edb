//! Stackups for the tests: outer and inner layers between planes.

use throughline::board::layer::CopperLayer;
use throughline::board::stackup::DielectricKind;
use throughline::board::{CopperLayers, LayerId, Stackup, StackupEntry};
use throughline::field::Impedance;
use throughline::signal::{Assumptions, Basis, BasisOrigin};
use throughline::source::Span;
use throughline::units::Length;
use throughline::width::{Drawn, Fixed, Planes, Wanted, choices};

pub fn copper(layer: u8, mm: f64) -> StackupEntry {
    StackupEntry::Copper { layer: LayerId(layer), thickness: Some(Length::mm(mm)), span: Span::default() }
}

pub fn dielectric(kind: DielectricKind, mm: f64, permittivity: f64, loss_tangent: Option<f64>) -> StackupEntry {
    StackupEntry::Dielectric {
        name: String::new(),
        kind,
        thickness: Some(Length::mm(mm)),
        permittivity: Some(permittivity),
        loss_tangent,
        material: String::new(),
        span: Span::default(),
    }
}

pub fn sheet(mm: f64, permittivity: f64) -> StackupEntry {
    dielectric(DielectricKind::Prepreg, mm, permittivity, Some(0.02))
}

/// Mask all over as thick, permittivity 3.8.
pub fn mask(mm: f64) -> StackupEntry {
    dielectric(DielectricKind::Mask, mm, 3.8, Some(0.025))
}

pub fn basis(entries: Vec<StackupEntry>) -> Basis {
    let count = entries.iter().filter(|entry| entry.copper().is_some()).count();
    let layer = |at: usize| CopperLayer { name: format!("L{}", at + 1), alias: None, span: Span::default() };
    let layers = CopperLayers::new((0..count).map(layer).collect());
    let stackup = Stackup { entries, span: Span::default() };
    Basis::of(&layers, &stackup, BasisOrigin::RuleSet, &Assumptions::default()).unwrap()
}

/// A layer on top over its plane, under mask.
pub fn outer(height: f64, permittivity: f64, mask_mm: f64) -> Basis {
    basis(vec![mask(mask_mm), copper(0, 0.035), sheet(height, permittivity), copper(1, 0.035)])
}

/// A layer between two planes.
pub fn inner(below: f64, above: f64, permittivity: f64, foil: f64) -> Basis {
    basis(vec![
        copper(0, 0.015),
        sheet(above, permittivity),
        copper(1, foil),
        sheet(below, permittivity),
        copper(2, 0.015),
    ])
}

/// Planes on the neighbouring layers.
pub fn neighbours(basis: &Basis, layer: u8) -> Planes {
    let last = u8::try_from(basis.foils.len() - 1).unwrap();
    Planes { above: layer.checked_sub(1).map(LayerId), below: (layer < last).then(|| LayerId(layer + 1)) }
}

/// Rectangular copper on a layer with planes beside it, without limits of the fab.
pub fn wanted(basis: &Basis, layer: u8, ohms: f64, fixed: Fixed) -> Wanted {
    Wanted {
        layer: LayerId(layer),
        planes: neighbours(basis, layer),
        target: Impedance::ohms(ohms),
        fixed,
        least_width: Length::mm(0.02),
        least_gap: Length::mm(0.02),
        etch: 0.0,
        frequency: None,
    }
}

/// The only choice, which must be a line.
#[track_caller]
pub fn drawn(basis: &Basis, layer: u8, ohms: f64, fixed: Fixed) -> Drawn {
    let found = choices(basis, &wanted(basis, layer, ohms, fixed));
    assert_eq!(found.len(), 1);
    found.into_iter().next().unwrap().line.unwrap()
}

#[track_caller]
pub fn near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "{found} is not {expected} to {tolerance}");
}
