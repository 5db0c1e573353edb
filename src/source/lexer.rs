//! Cuts an S-expression into tokens, one per call: no tree, no recursion, no allocation.
//!
//! The traps of real files decide the rules: a quote opens a string only where a token starts (inside a bare atom it is
//! an ordinary character, as in `0.96"`), `|` is an ordinary character, and there are no comments.

use super::Span;
use super::limits::{COORDINATE, DEPTH, Limits, NUMBER_BYTES};
use super::number::usual_start;
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
    Text,
    /// The end of the file.
    End,
    /// No token could be cut.
    Fault(LexFault),
}

/// One token. The span of a string includes its quotes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Token {
    /// What it is.
    pub kind: TokenKind,
    /// Where it is.
    pub span: Span,
}

impl Token {
    fn at(kind: TokenKind, start: usize, length: usize) -> Self {
        Self { kind, span: Span::new(offset(start), offset(start + length)) }
    }
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
    /// A line that starts with a merge conflict marker: both sides of the conflict are in the file.
    Conflict,
}

/// Length of a merge conflict marker.
const MARKER: usize = 7;

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

/// A pull lexer over one file's text.
#[derive(Debug, Clone)]
pub struct Lexer<'a> {
    bytes: &'a [u8],
    at: usize,
    depth: usize,
    opens: [u32; DEPTH],
    broken: Option<Span>,
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
        Self { bytes, at, depth: 0, opens: [0; DEPTH], broken: None, tokens: 0, max_tokens, max_token_bytes }
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

    /// The place of the first string that holds a raw line break, which no writer of the format produces: a quote may
    /// be missing.
    #[must_use]
    pub const fn broken_string(&self) -> Option<Span> {
        self.broken
    }

    /// The next token. After [`TokenKind::End`] or a fault it stays where it is.
    #[inline]
    pub fn next_token(&mut self) -> Token {
        let rest = self.bytes.get(self.at..).unwrap_or_default();
        let Some(blank) = rest.iter().position(|&byte| class(byte) != Class::Space) else {
            self.at = self.bytes.len();
            return Token::at(TokenKind::End, self.at, 0);
        };
        self.at += blank;
        match rest.get(blank).map_or(Class::Space, |&byte| class(byte)) {
            Class::Open => self.open(),
            Class::Close => self.close(),
            Class::Quote => self.string(),
            Class::Atom | Class::Space => self.atom(),
        }
    }

    /// The next token if it is no parenthesis, in front of which the lexer stays.
    #[inline]
    pub fn next_word(&mut self) -> Option<Token> {
        let rest = self.bytes.get(self.at..).unwrap_or_default();
        let blank = rest.iter().position(|&byte| class(byte) != Class::Space).unwrap_or(rest.len());
        self.at += blank;
        match rest.get(blank).map(|&byte| class(byte)) {
            Some(Class::Open | Class::Close) => None,
            Some(Class::Quote) => Some(self.string()),
            Some(Class::Atom | Class::Space) => Some(self.atom()),
            None => Some(Token::at(TokenKind::End, self.at, 0)),
        }
    }

    /// `(xy X Y)` spelled the way that nearly every point is, in nanometres. `None`, and nothing taken, if anything is
    /// different: the tokens one by one tell what. Most of a board file is such points, and this halves their time.
    #[inline]
    pub fn usual_point(&mut self) -> Option<[i64; 2]> {
        const TOKENS: u32 = 5;
        let rest = self.bytes.get(self.at..).unwrap_or_default();
        let blank = rest.iter().position(|&byte| class(byte) != Class::Space)?;
        let mut rest = rest.get(blank..)?.strip_prefix(b"(xy ")?;
        let mut point = [0; 2];
        for (value, end) in point.iter_mut().zip([b' ', b')']) {
            let (number, length) = usual_start(rest).filter(|(number, _)| number.abs() <= COORDINATE)?;
            rest = rest.get(length..).and_then(|rest| rest.strip_prefix(&[end]))?;
            *value = number;
        }
        if self.depth >= DEPTH
            || self.max_tokens.saturating_sub(self.tokens) < TOKENS
            || self.max_token_bytes < NUMBER_BYTES
        {
            return None;
        }
        self.tokens += TOKENS;
        self.at = self.bytes.len() - rest.len();
        Some(point)
    }

    /// Leaves the innermost open list without cutting what is left in it into tokens: only parentheses and strings are
    /// looked at, and counted. Gives the closing parenthesis, [`TokenKind::End`] or a fault.
    pub fn leave(&mut self) -> Token {
        let outside = self.depth.saturating_sub(1);
        let mut token_start = self.at;
        loop {
            let rest = self.bytes.get(self.at..).unwrap_or_default();
            let Some(found) = memchr3(b'(', b')', b'"', rest) else {
                self.at = self.bytes.len();
                return Token::at(TokenKind::End, self.at, 0);
            };
            self.at += found;
            let token = match rest.get(found) {
                Some(b'(') => self.open(),
                Some(b')') => self.close(),
                _ if self.at == token_start || self.is_token_start() => self.string(),
                _ => {
                    self.at += 1;
                    continue;
                }
            };
            match token.kind {
                TokenKind::Close if self.depth == outside => return token,
                TokenKind::Fault(_) => return token,
                _ => token_start = self.at,
            }
        }
    }

    /// Whether a quote at the present place starts a token; inside a bare atom it is an ordinary character.
    fn is_token_start(&self) -> bool {
        let before = self.at.checked_sub(1).and_then(|at| self.bytes.get(at));
        before.is_none_or(|&byte| !matches!(class(byte), Class::Atom | Class::Quote))
    }

    #[inline]
    fn open(&mut self) -> Token {
        let Some(slot) = self.opens.get_mut(self.depth) else { return self.fault(LexFault::TooDeep, self.at) };
        *slot = offset(self.at);
        self.depth += 1;
        self.token(TokenKind::Open, self.at + 1)
    }

    #[inline]
    fn close(&mut self) -> Token {
        let Some(depth) = self.depth.checked_sub(1) else { return self.fault(LexFault::Unopened, self.at) };
        self.depth = depth;
        self.token(TokenKind::Close, self.at + 1)
    }

    #[inline]
    fn atom(&mut self) -> Token {
        let rest = self.bytes.get(self.at..).unwrap_or_default();
        let length = rest
            .iter()
            .position(|&byte| matches!(class(byte), Class::Space | Class::Open | Class::Close))
            .unwrap_or(rest.len());
        if length == MARKER && self.is_conflict(rest) {
            return Token::at(TokenKind::Fault(LexFault::Conflict), self.at, length);
        }
        self.token(TokenKind::Atom, self.at + length)
    }

    #[cold]
    fn is_conflict(&self, rest: &[u8]) -> bool {
        let starts_line = self.at.checked_sub(1).and_then(|before| self.bytes.get(before)) == Some(&b'\n');
        starts_line && [b"<<<<<<<", b"|||||||", b">>>>>>>"].iter().any(|&marker| rest.starts_with(marker))
    }

    fn string(&mut self) -> Token {
        let start = self.at;
        let mut at = start + 1;
        loop {
            let rest = self.bytes.get(at..).unwrap_or_default();
            let Some(found) = memchr3(b'"', b'\\', b'\n', rest) else {
                return self.fault(LexFault::Unterminated, start);
            };
            match rest.get(found) {
                Some(b'"') => return self.token(TokenKind::Text, at + found + 1),
                Some(b'\\') => at += found + 2,
                _ => {
                    self.broken = self.broken.or(Some(Span::new(offset(start), offset(start + 1))));
                    at += found + 1;
                }
            }
        }
    }

    /// The token from the present place to `end`.
    #[inline]
    fn token(&mut self, kind: TokenKind, end: usize) -> Token {
        let (start, length) = (self.at, end - self.at);
        self.tokens += 1;
        if self.tokens > self.max_tokens {
            return self.fault(LexFault::TooMany, start);
        }
        if length > self.max_token_bytes {
            return self.fault(LexFault::TooLong, start);
        }
        self.at = end;
        Token::at(kind, start, length)
    }

    #[cold]
    fn fault(&self, fault: LexFault, at: usize) -> Token {
        Token::at(TokenKind::Fault(fault), at, 1)
    }
}

/// A byte offset: the reader refuses files of 4 GiB and more before it makes a lexer.
fn offset(at: usize) -> u32 {
    u32::try_from(at).unwrap_or(u32::MAX)
}
