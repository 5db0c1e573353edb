//! Cuts an S-expression into tokens, one per call: no tree, no recursion, no allocation.
//!
//! The traps of real files decide the rules: a quote opens a string only where a token starts (inside a bare atom it is
//! an ordinary character, as in `0.96"`), `|` is an ordinary character, and there are no comments.

use super::Span;
use super::limits::{DEPTH, Limits};
use memchr::memchr3;

/// What a token is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TokenKind {
    /// `(`.
    Open,
    /// `)`.
    Close,
    /// A bare atom.
    Atom,
    /// A quoted string.
    Text {
        /// It holds a backslash.
        escaped: bool,
        /// It holds a raw line break, which no writer of the format produces: a quote may be missing.
        broken: bool,
    },
    /// The end of the file.
    End,
}

/// One token. The span of a string includes its quotes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Token {
    /// What it is.
    pub kind: TokenKind,
    /// Where it is.
    pub span: Span,
}

/// Why no token could be cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LexFault {
    /// A string has no closing quote.
    Unterminated,
    /// Lists are nested deeper than [`DEPTH`].
    TooDeep,
    /// A `)` closes nothing.
    Unopened,
    /// More tokens than [`Limits::tokens`].
    TooMany,
    /// A token longer than [`Limits::token_bytes`].
    TooLong,
}

/// A byte's part in the grammar.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Class {
    Atom,
    Space,
    Open,
    Close,
    Quote,
}

// Indices are ASCII bytes, below 256.
#[allow(clippy::indexing_slicing)]
const CLASSES: [Class; 256] = {
    let mut table = [Class::Atom; 256];
    table[b' ' as usize] = Class::Space;
    table[b'\t' as usize] = Class::Space;
    table[b'\n' as usize] = Class::Space;
    table[b'\r' as usize] = Class::Space;
    table[b'(' as usize] = Class::Open;
    table[b')' as usize] = Class::Close;
    table[b'"' as usize] = Class::Quote;
    table
};

fn class(byte: u8) -> Class {
    CLASSES.get(usize::from(byte)).copied().unwrap_or(Class::Atom)
}

/// Where a lexer stands, so that it can come back.
#[derive(Debug, Clone, Copy)]
pub struct Mark {
    at: usize,
    depth: usize,
    tokens: u32,
}

/// A pull lexer over one file's text.
#[derive(Debug, Clone)]
pub struct Lexer<'a> {
    bytes: &'a [u8],
    at: usize,
    depth: usize,
    opens: [u32; DEPTH],
    tokens: u32,
    max_tokens: u32,
    max_token_bytes: usize,
}

impl<'a> Lexer<'a> {
    /// A lexer at the start of `text`, behind a byte-order mark if there is one.
    #[must_use]
    pub fn new(text: &'a str, limits: &Limits) -> Self {
        let bytes = text.as_bytes();
        let at = if bytes.starts_with(b"\xEF\xBB\xBF") { 3 } else { 0 };
        let (max_tokens, max_token_bytes) = (limits.tokens, limits.token_bytes);
        Self { bytes, at, depth: 0, opens: [0; DEPTH], tokens: 0, max_tokens, max_token_bytes }
    }

    /// Number of lists that are open.
    #[must_use]
    pub const fn depth(&self) -> usize {
        self.depth
    }

    /// Offset of the `(` of the innermost open list.
    #[must_use]
    pub fn innermost(&self) -> Option<u32> {
        self.depth.checked_sub(1).and_then(|at| self.opens.get(at)).copied()
    }

    /// The present place.
    #[must_use]
    pub const fn mark(&self) -> Mark {
        Mark { at: self.at, depth: self.depth, tokens: self.tokens }
    }

    /// Goes back to a place. Valid while no list that was open there has been closed.
    pub const fn rewind(&mut self, mark: Mark) {
        self.at = mark.at;
        self.depth = mark.depth;
        self.tokens = mark.tokens;
    }

    /// The next token.
    ///
    /// # Errors
    /// A [`LexFault`] with its place.
    #[inline]
    pub fn next_token(&mut self) -> Result<Token, (LexFault, Span)> {
        let bytes = self.bytes;
        while let Some(&byte) = bytes.get(self.at) {
            match class(byte) {
                Class::Space => self.at += 1,
                Class::Open => return self.open(),
                Class::Close => return self.close(),
                Class::Quote => return self.string(),
                Class::Atom => return self.atom(),
            }
        }
        let end = offset(bytes.len());
        Ok(Token { kind: TokenKind::End, span: Span::new(end, end) })
    }

    fn open(&mut self) -> Result<Token, (LexFault, Span)> {
        let span = Span::new(offset(self.at), offset(self.at + 1));
        let Some(slot) = self.opens.get_mut(self.depth) else { return Err((LexFault::TooDeep, span)) };
        *slot = span.start;
        self.depth += 1;
        self.at += 1;
        self.token(TokenKind::Open, span)
    }

    fn close(&mut self) -> Result<Token, (LexFault, Span)> {
        let span = Span::new(offset(self.at), offset(self.at + 1));
        let Some(depth) = self.depth.checked_sub(1) else { return Err((LexFault::Unopened, span)) };
        self.depth = depth;
        self.at += 1;
        self.token(TokenKind::Close, span)
    }

    fn atom(&mut self) -> Result<Token, (LexFault, Span)> {
        let rest = self.bytes.get(self.at..).unwrap_or_default();
        let length = rest
            .iter()
            .position(|&byte| matches!(class(byte), Class::Space | Class::Open | Class::Close))
            .unwrap_or(rest.len());
        let span = Span::new(offset(self.at), offset(self.at + length));
        self.at += length;
        self.token(TokenKind::Atom, span)
    }

    fn string(&mut self) -> Result<Token, (LexFault, Span)> {
        let start = self.at;
        let (mut at, mut escaped, mut broken) = (start + 1, false, false);
        loop {
            let rest = self.bytes.get(at..).unwrap_or_default();
            let Some(found) = memchr3(b'"', b'\\', b'\n', rest) else {
                return Err((LexFault::Unterminated, Span::new(offset(start), offset(start + 1))));
            };
            match rest.get(found) {
                Some(b'"') => {
                    self.at = at + found + 1;
                    let span = Span::new(offset(start), offset(self.at));
                    return self.token(TokenKind::Text { escaped, broken }, span);
                }
                Some(b'\\') => {
                    escaped = true;
                    at += found + 2;
                }
                _ => {
                    broken = true;
                    at += found + 1;
                }
            }
        }
    }

    fn token(&mut self, kind: TokenKind, span: Span) -> Result<Token, (LexFault, Span)> {
        self.tokens += 1;
        if self.tokens > self.max_tokens {
            return Err((LexFault::TooMany, span));
        }
        if (span.end - span.start) as usize > self.max_token_bytes {
            return Err((LexFault::TooLong, Span::new(span.start, span.start + 1)));
        }
        Ok(Token { kind, span })
    }
}

/// A byte offset: the reader refuses files of 4 GiB and more before it makes a lexer.
fn offset(at: usize) -> u32 {
    u32::try_from(at).unwrap_or(u32::MAX)
}
