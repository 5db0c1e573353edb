//! Fields of cross-sections: impedance, delay, coupling, loss, and what a chain of them reflects and lets through.
//! Knows no boards: a [`Section`] is copper and dielectrics, wherever they come from.
//!
//! ```
//! use throughline::field::{Conductor, Dielectric, Layer, Mask, Options, Section, solve};
//! use throughline::units::Length;
//!
//! // A pair on an outer layer, 0.13 mm wide and apart, 0.1 mm over its plane, under mask.
//! let trace = |x: f64| Conductor::signal(Length::mm(x), Length::mm(0.1), Length::mm(0.13), Length::mm(0.035));
//! let section = Section {
//!     layers: vec![Layer { thickness: Length::mm(0.1), dielectric: Dielectric::new(4.05, 0.02) }],
//!     plane_below: true,
//!     mask_above: Some(Mask {
//!         on_board: Length::mm(0.0125),
//!         over_copper: Length::mm(0.0125),
//!         beside_copper: Length::mm(0.0125),
//!         dielectric: Dielectric::new(3.8, 0.025),
//!     }),
//!     conductors: vec![trace(-0.13), trace(0.13)],
//!     ..Section::default()
//! };
//! let solution = solve(&section, &Options::default())?;
//! let pair = solution.pair(0, 1)?;
//! assert!((pair.differential().to_ohms() - 93.1).abs() < 1.0);
//! assert!((pair.odd.delay().to_ps_per_mm() - 5.56).abs() < 0.05);
//! assert!(solution.error() < 0.01); // told by the solver itself, and more than the true error
//! # Ok::<(), throughline::field::Undetermined>(())
//! ```
//!
//! # Method
//! Boundary elements: the unknown is the total (free and bound) charge on conductors and on faces between dielectrics, in
//! Legendre polynomials on panels that shrink toward corners. Charge and potential go together by closed forms
//! (`panel`), with solid planes folded in (`flat`, `between`). Conductors hold their potential at points, faces
//! hold their balance of flux along stretches (`fill`). The conductors' equations come first, so that their factors alone are
//! the section in air, which gives the inductance (`matrix`, `system`). A section that is its own mirror image is
//! solved by its half. The way from a [`Section`] to panels is `stack`, `trapezoid`, `mask`, `corner`, `outline`, `mesh`.
//!
//! # Accuracy
//! Each section is solved on two meshes; their difference, against the errors found on hundreds of random sections, is
//! the error that [`Solution::error`] tells. If it is more than [`Options::accuracy`] finer meshes follow, and then a
//! refusal: [`Undetermined`] gives a reason, never a number. Against exact conformal maps capacitances are within 0.03 %,
//! bare traces on a dielectric within 0.3 %, resistance within 0.4 % (of a smooth surface, at high frequency).
//! The field is static: above some tens of GHz outer layers become slower than told (0.6 % at 16 GHz on 0.1 mm, 1.7 % on
//! 0.25 mm).
mod between;
mod chain;
mod complex;
mod corner;
mod coupled_chain;
mod coupling;
mod direct;
mod doubt;
mod fill;
mod flat;
mod fourier;
mod gauss;
mod kernel;
mod lanes;
mod loss;
mod mask;
mod material;
mod matrix;
mod mesh;
mod modes;
mod outline;
mod panel;
mod planes;
mod quantity;
mod reflection;
mod resist;
mod roughness;
mod section;
mod solution;
mod square;
mod stack;
mod steep;
mod system;
pub mod touchstone;
mod trapezoid;
mod via;

pub use chain::{Chain, Element, Medium, MediumId, Scattering};
pub use complex::Complex;
pub use coupled_chain::{CoupledChain, CoupledElement, FourPort};
pub use coupling::Coupling;
pub use direct::{
    COPPER, CORNER_SQUARES, Cooling, carried_current, carrying_width, disc_squares, ring_squares, sheet_resistance,
    trace_resistance, via_resistance,
};
pub use doubt::Undetermined;
pub use loss::{Constants, Dispersion, Metal, Mode};
pub use material::{Dielectric, WidebandDebye};
pub use modes::{Pair, Wave};
pub use quantity::{
    Attenuation, Capacitance, Conductivity, EPS0, ETA0, Frequency, Impedance, Inductance, LIGHT, MU0, Slowness, Time,
};
pub use reflection::{Edge, Load, Waveform};
pub use roughness::{Roughness, skin_depth, surface_resistance};
pub use section::{Conductor, Layer, Mask, Net, Section};
pub use solution::{Options, Solution, solve};
pub use square::Square;
pub use via::{
    Barrel, Returns, grounded_via_inductance, quarter_wave, rule_of_thumb_capacitance, rule_of_thumb_inductance,
    stub_notch,
};
