//! Reports: one file per output. They print what findings hold and compute nothing.

mod checks;
mod facts;
mod json;
mod line;
mod page;
mod paint;
mod run;
mod text;

pub use checks::{checks, explain};
pub use json::{SCHEMA as CHECK_SCHEMA, json};
pub use line::line;
pub use paint::Paint;
pub use run::Run;
pub use text::text;
