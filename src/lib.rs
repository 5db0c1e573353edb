//! `throughline` holds the copper of high-speed interposer boards against a rule set.
//!
//! This page is the whole house. Data flows one way, left to right, and nothing reaches back:
//!
//! ```text
//! bytes ─► source ─► board ─► copper ─► signal ─► checks ─► findings ─► report
//!          spans     typed    islands   pieces    verdicts  levels      text
//!          tokens    model    routes    ohms, ps            order       line
//!          lines     stackup  stubs       ▲                 ledger      json
//!                    nets     pairs     field
//!                             reference sections
//! rules (TOML with spans) ────────────────────────►┘
//! ```
//!
//! - [`units`], [`table`], [`nearest`] and [`geometry`] are the ground floor: quantities with units, typed tables,
//!   the name that was meant, and integer-nanometre shapes. They know no boards.
//! - [`source`] holds a file's text, its spans and lines, and cuts it into tokens. It knows no boards either.
//! - [`board`] is the typed model of one board file, filled straight from the tokens.
//! - [`copper`] works out what the copper does: what touches what, which way a signal takes, what hangs off it,
//!   which net runs beside it, which plane lies under it.
//! - [`field`] solves cross-sections: impedance, delay, coupling, loss, vias, and what a chain of pieces reflects and
//!   lets through. It knows no boards.
//! - [`signal`] cuts the cross-sections that a route meets from copper and stackup, has them solved, and says what the
//!   signal sees: impedance piece by piece, delay, skew, barrels.
//! - [`width`] goes the other way: from a wanted impedance and a stackup to widths and gaps.
//! - [`rules`] reads rule sets; every value keeps the file and span it came from.
//! - [`checks`] hold facts against rules: one file per check, each a pure function.
//! - [`findings`] puts verdicts in order and counts them in a ledger.
//! - [`report`] prints findings; it computes nothing.
//! - [`cli`] is the only room that reads files, arguments and the terminal.
//!
//! A module uses only what stands left of it in this list; a test reads the `use` lines and holds that.

pub mod board;
pub mod checks;
pub mod cli;
pub mod copper;
pub mod field;
pub mod findings;
pub mod geometry;
pub mod measure;
pub mod nearest;
pub mod report;
pub mod rules;
pub mod signal;
pub mod source;
pub mod table;
pub mod units;
pub mod width;
