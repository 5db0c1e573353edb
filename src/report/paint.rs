//! Colour for a few words. Eight-colour codes only, so that the reader's own terminal theme decides the shade.

use crate::checks::Outcome;
use crate::rules::Level;

/// Paints words, or leaves them alone.
#[derive(Debug, Clone, Copy)]
pub struct Paint {
    /// Whether to paint.
    pub on: bool,
}

impl Paint {
    fn wrap(self, code: &str, text: &str) -> String {
        if self.on { format!("\u{1b}[{code}m{text}\u{1b}[0m") } else { text.to_owned() }
    }

    /// A word in the colour of an outcome.
    #[must_use]
    pub fn outcome(self, outcome: &Outcome, text: &str) -> String {
        match outcome {
            Outcome::Fail(Level::Error) => self.wrap("1;31", text),
            Outcome::Fail(Level::Warning) => self.wrap("1;33", text),
            Outcome::Fail(Level::Note) => self.wrap("1;36", text),
            Outcome::Unchecked { .. } => self.wrap("1;35", text),
            Outcome::Pass => self.wrap("32", text),
        }
    }

    /// A word that stands out.
    #[must_use]
    pub fn strong(self, text: &str) -> String {
        self.wrap("1", text)
    }

    /// Words that stand back.
    #[must_use]
    pub fn faint(self, text: &str) -> String {
        self.wrap("2", text)
    }
}
