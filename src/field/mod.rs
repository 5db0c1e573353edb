//! Fields of cross-sections: impedance, delay, coupling, loss, and what chains of them do.
mod between;
mod complex;
mod doubt;
mod fill;
mod flat;
mod gauss;
mod kernel;
mod lanes;
mod mask;
mod material;
mod matrix;
mod mesh;
mod outline;
mod panel;
mod quantity;
mod resist;
mod section;
mod solution;
mod square;
mod system;

pub use complex::Complex;
pub use doubt::Undetermined;
pub use material::{Dielectric, WidebandDebye};
pub use quantity::{
    Attenuation, Capacitance, Conductivity, EPS0, ETA0, Frequency, Impedance, Inductance, LIGHT, MU0, Slowness, Time,
};
pub use section::{Conductor, Layer, Mask, Net, Section};
pub use solution::{Options, Solution, solve, solve_at, solve_custom};
pub use square::Square;
