//! Reports: one file per output. They print what findings hold and compute nothing.

mod checks;
mod facts;
mod json;
mod line;
mod measure_csv;
mod measure_json;
mod measure_text;
mod measured;
mod page;
mod paint;
mod run;
mod stackup;
mod table;
mod text;

pub use checks::{checks, explain};
pub use json::{SCHEMA as CHECK_SCHEMA, json};
pub use line::line;
pub use measure_csv::measure_csv;
pub use measure_json::{SCHEMA as MEASURE_SCHEMA, measure_json};
pub use measure_text::measure_text;
pub use measured::{Measured, MeasuredBoard};
pub use paint::Paint;
pub use run::{Problem, Run};
pub use stackup::StackupOf;
pub use text::text;
