//! The rule sets that come with the program.

use crate::source::SourceFile;
use std::sync::Arc;

/// Names and texts of the shipped sets, in the order of lists.
pub static SHIPPED: &[(&str, &str)] = &[
    ("base", include_str!("../../rules/base.toml")),
    ("serial-8g", include_str!("../../rules/serial-8g.toml")),
    ("serial-16g", include_str!("../../rules/serial-16g.toml")),
    ("serial-32g", include_str!("../../rules/serial-32g.toml")),
];

/// A shipped set as a file of its own name.
#[must_use]
pub fn shipped(name: &str) -> Option<Arc<SourceFile>> {
    let (name, text) = SHIPPED.iter().find(|(known, _)| *known == name)?;
    Some(Arc::new(SourceFile::new(format!("{name}.toml"), *text)))
}
