//! What a reader accepts at most. Real boards stay far below every limit; a file beyond one is damaged or hostile.

/// Nesting depth of lists. The deepest real board seen has 8 levels.
pub const DEPTH: usize = 64;
/// Length of a number's text in bytes. The longest seen has 19.
pub const NUMBER_BYTES: usize = 64;
/// Largest magnitude of a length or coordinate in nanometres (10 m): sums and differences cannot overflow an `i64`.
pub const COORDINATE: i64 = 10_000_000_000;
/// Copper layers of a board: a set of them is held in 64 bits.
pub const COPPER_LAYERS: usize = 64;

/// Limits that a caller may move, with their standard values as [`Default`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Size of a file in bytes: 512 MiB. Spans are 32 bits wide, so at most 4 GiB − 1 can ever be allowed.
    pub file_bytes: usize,
    /// Tokens in a file: 50 million.
    pub tokens: u32,
    /// One token in bytes: 64 MiB.
    pub token_bytes: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self { file_bytes: 512 << 20, tokens: 50_000_000, token_bytes: 64 << 20 }
    }
}
