//! Reports: one file per output. They print what findings hold and compute nothing.

mod accepted;
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
mod width;
mod width_csv;
mod width_json;
mod width_text;

pub use checks::{checks, explain};
pub use facts::subject_words;
pub use json::{SCHEMA as CHECK_SCHEMA, json};
pub use line::line;
pub use measure_csv::measure_csv;
pub use measure_json::{SCHEMA as MEASURE_SCHEMA, measure_json};
pub use measure_text::measure_text;
pub use measured::{Measured, MeasuredBoard};
pub use paint::Paint;
pub use run::{Problem, Run};
pub use stackup::StackupOf;
pub use text::{board_line, text};
pub use width::{PlaneOf, Rate, Widths};
pub use width_csv::width_csv;
pub use width_json::{SCHEMA as WIDTH_SCHEMA, width_json};
pub use width_text::{MADE_UP, width_text};
