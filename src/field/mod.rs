//! Fields of cross-sections: impedance, delay, coupling, loss, and what chains of them do.
mod between;
mod chain;
mod complex;
mod corner;
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
