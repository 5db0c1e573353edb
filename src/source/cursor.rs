//! Walks an S-expression node by node: heads, words and numbers, each with its place. Every fault says what was expected.

use super::lexer::{LexFault, Lexer, Token, TokenKind};
use super::limits::{COORDINATE, DEPTH, Limits, NUMBER_BYTES};
use super::number::{NumberFault, nanometres, plain};
use super::{Fault, SourceFile, Span};
use std::borrow::Cow;
use std::sync::Arc;

/// A result inside a reader. Boxed, because faults are rare and results are many.
pub type Read<T> = Result<T, Box<Fault>>;

/// A bare atom or a quoted string.
#[derive(Debug, Clone, Copy)]
pub struct Word<'a> {
    /// The text as the file has it, without quotes.
    pub text: &'a str,
    start: u32,
    /// It is a quoted string.
    pub quoted: bool,
}

impl<'a> Word<'a> {
    /// The text with its escapes resolved.
    #[must_use]
    pub fn value(&self) -> Cow<'a, str> {
        if !self.quoted || !self.text.contains('\\') {
            return Cow::Borrowed(self.text);
        }
        let mut value = String::with_capacity(self.text.len());
        let mut characters = self.text.chars();
        while let Some(character) = characters.next() {
            match character {
                '\\' => match characters.next() {
                    Some('n') => value.push('\n'),
                    Some('r') => value.push('\r'),
                    Some('t') => value.push('\t'),
                    Some(other) => value.push(other),
                    None => {}
                },
                other => value.push(other),
            }
        }
        Cow::Owned(value)
    }

    /// Where it is, quotes included. An empty word marks the `(` of a list without a head.
    #[must_use]
    pub fn span(&self) -> Span {
        let length = u32::try_from(self.text.len()).unwrap_or(u32::MAX);
        Span::new(self.start, self.start + if self.quoted { length + 2 } else { length.max(1) })
    }

    /// Where the text is, without quotes.
    #[must_use]
    pub fn text_span(&self) -> Span {
        let Span { start, end } = self.span();
        if self.quoted { Span::new(start + 1, end - 1) } else { Span::new(start, end) }
    }
}

/// What stands next inside a node.
#[derive(Debug, Clone, Copy)]
pub enum Item<'a> {
    /// A child node, entered: its head. Empty if the list is empty or starts with a list.
    Node(Word<'a>),
    /// A word.
    Word(Word<'a>),
}

/// A walk through one file.
#[derive(Debug)]
pub struct Cursor<'a> {
    file: &'a Arc<SourceFile>,
    lexer: Lexer<'a>,
    rounded: Option<(Span, u32)>,
}

impl<'a> Cursor<'a> {
    /// A walk that starts before the root.
    ///
    /// # Errors
    /// A fault if the file is larger than the limits allow.
    pub fn new(file: &'a Arc<SourceFile>, limits: &Limits) -> Read<Self> {
        let text = file.text();
        let most = limits.file_bytes.min(u32::MAX as usize - 1);
        if text.len() > most {
            return Err(Box::new(Fault {
                message: format!("the file is larger than {most} bytes"),
                file: Arc::clone(file),
                span: Span::default(),
                label: format!("{} bytes in all", text.len()),
                help: None,
            }));
        }
        Ok(Self { file, lexer: Lexer::new(text, limits), rounded: None })
    }

    /// The first place where a number was finer than the nanometre grid, and how many were.
    #[must_use]
    pub const fn rounded(&self) -> Option<(Span, u32)> {
        self.rounded
    }

    /// The first string that runs over a line break.
    #[must_use]
    pub const fn broken_string(&self) -> Option<Span> {
        self.lexer.broken_string()
    }

    /// A fault at a place.
    #[must_use]
    pub fn fault(&self, span: Span, message: impl Into<String>, label: impl Into<String>) -> Box<Fault> {
        Box::new(Fault { message: message.into(), file: Arc::clone(self.file), span, label: label.into(), help: None })
    }

    /// Enters the root node, whose head must be `name`.
    ///
    /// # Errors
    /// A fault if the file is empty or starts with anything else.
    pub fn root(&mut self, name: &str) -> Read<Word<'a>> {
        let expected = format!("expected `({name} …)`");
        let token = self.lexer.next_token();
        match token.kind {
            TokenKind::Open => {}
            TokenKind::End => return Err(self.fault(token.span, "the file is empty", expected)),
            TokenKind::Fault(fault) => return Err(self.lex_fault(fault, token.span)),
            _ => return Err(self.fault(token.span, "this is not a board file", expected)),
        }
        let head = self.head(token.span)?;
        if head.text.is_empty() {
            return Err(self.fault(head.span(), "this is not a board file", expected));
        }
        if head.text != name {
            let message = format!("the root of the file is `{}`", short(head.text));
            return Err(self.fault(head.span(), message, expected));
        }
        Ok(head)
    }

    /// Makes sure that nothing follows the root.
    ///
    /// # Errors
    /// A fault if something does.
    pub fn finish(&mut self) -> Read<()> {
        let token = self.lexer.next_token();
        match token.kind {
            TokenKind::End => return Ok(()),
            TokenKind::Fault(fault) => return Err(self.lex_fault(fault, token.span)),
            _ => {}
        }
        let mut fault = self.fault(token.span, "text after the end of the board", "expected the end of the file");
        fault.help = Some("a `)` too many before this place closes the board early".to_owned());
        Err(fault)
    }

    /// The next item of the node that the walk is in, or `None` at its end, which leaves the node.
    ///
    /// # Errors
    /// A fault if the file ends or no token can be cut.
    #[inline]
    #[allow(clippy::should_implement_trait)] // `next` with `?` at every call: an iterator of results would hide faults.
    pub fn next(&mut self) -> Read<Option<Item<'a>>> {
        let token = self.lexer.next_token();
        match token.kind {
            TokenKind::Close => Ok(None),
            TokenKind::Open => Ok(Some(Item::Node(self.head(token.span)?))),
            TokenKind::Atom | TokenKind::Text => Ok(Some(Item::Word(self.word_of(token)))),
            TokenKind::End | TokenKind::Fault(_) => Err(self.broken_off(token)),
        }
    }

    /// Leaves the node that the walk is in, whatever is left in it.
    ///
    /// # Errors
    /// A fault if the file ends or no token can be cut.
    pub fn leave(&mut self) -> Read<()> {
        let token = self.lexer.leave();
        match token.kind {
            TokenKind::End | TokenKind::Fault(_) => Err(self.broken_off(token)),
            _ => Ok(()),
        }
    }

    /// Leaves the node that the walk is in, which must hold no further word: a number may have fallen in two.
    ///
    /// # Errors
    /// A fault if a word is left, the file ends or no token can be cut.
    pub fn end(&mut self) -> Read<()> {
        while let Some(item) = self.next()? {
            match item {
                Item::Word(word) => return Err(self.fault(word.span(), "a value too many", "expected `)`")),
                Item::Node(_) => self.leave()?,
            }
        }
        Ok(())
    }

    /// The next word of the node; `what` says what it stands for.
    ///
    /// # Errors
    /// A fault if the node ends or a child node comes instead.
    pub fn word(&mut self, what: &str) -> Read<Word<'a>> {
        let token = self.lexer.next_token();
        match token.kind {
            TokenKind::Atom | TokenKind::Text => Ok(self.word_of(token)),
            TokenKind::End | TokenKind::Fault(_) => Err(self.broken_off(token)),
            TokenKind::Open | TokenKind::Close => {
                Err(self.fault(token.span, format!("{what} is missing"), format!("expected {what}")))
            }
        }
    }

    /// The next word as the node's only value, then the end of the node.
    ///
    /// # Errors
    /// As [`Self::word`].
    pub fn only_word(&mut self, what: &str) -> Read<Word<'a>> {
        let word = self.word(what)?;
        self.end()?;
        Ok(word)
    }

    /// The next word as a length in nanometres.
    ///
    /// # Errors
    /// A fault if it is missing, no number or out of range.
    pub fn length(&mut self, what: &str) -> Read<i64> {
        let word = self.word(what)?;
        self.length_of(word, what)
    }

    /// The next child node, if it is an `(xy X Y)` spelled the usual way, in nanometres; see [`Lexer::usual_point`].
    #[inline]
    pub fn usual_point(&mut self) -> Option<[i64; 2]> {
        self.lexer.usual_point()
    }

    /// The next word as the node's only value, a length in nanometres, then the end of the node.
    ///
    /// # Errors
    /// As [`Self::length`].
    pub fn only_length(&mut self, what: &str) -> Read<i64> {
        let value = self.length(what)?;
        self.end()?;
        Ok(value)
    }

    /// The next word as a plain number.
    ///
    /// # Errors
    /// A fault if it is missing or no finite number.
    pub fn number(&mut self, what: &str) -> Read<f64> {
        let word = self.word(what)?;
        self.number_of(word, what)
    }

    /// A word as a length in nanometres.
    ///
    /// # Errors
    /// A fault if it is no number or out of range.
    pub fn length_of(&mut self, word: Word<'a>, what: &str) -> Read<i64> {
        match nanometres(word.text) {
            Ok(length) => {
                if length.rounded {
                    let (first, count) = self.rounded.unwrap_or((word.span(), 0));
                    self.rounded = Some((first, count.saturating_add(1)));
                }
                Ok(length.value)
            }
            Err(fault) => Err(self.number_fault(word, what, fault)),
        }
    }

    /// A word as a plain number.
    ///
    /// # Errors
    /// A fault if it is no finite number.
    pub fn number_of(&self, word: Word<'a>, what: &str) -> Read<f64> {
        plain(word.text).map_err(|fault| self.number_fault(word, what, fault))
    }

    fn number_fault(&self, word: Word<'a>, what: &str, fault: NumberFault) -> Box<Fault> {
        let message = match fault {
            NumberFault::NotANumber => format!("`{}` is not a number", short(word.text)),
            NumberFault::TooLong => format!("a number with more than {NUMBER_BYTES} characters"),
            NumberFault::TooLarge => {
                format!("`{}` lies beyond ±{} m", short(word.text), COORDINATE / 1_000_000_000)
            }
        };
        self.fault(word.span(), message, format!("expected {what}"))
    }

    #[inline]
    fn head(&mut self, open: Span) -> Read<Word<'a>> {
        match self.lexer.next_word() {
            Some(token) if matches!(token.kind, TokenKind::Atom | TokenKind::Text) => Ok(self.word_of(token)),
            Some(token) => Err(self.broken_off(token)),
            None => Ok(Word { text: "", start: open.start, quoted: false }),
        }
    }

    #[inline]
    fn word_of(&self, token: Token) -> Word<'a> {
        let Span { start, end } = token.span;
        let quotes = u32::from(token.kind == TokenKind::Text);
        let text = self.file.text().get((start + quotes) as usize..(end - quotes) as usize).unwrap_or_default();
        Word { text, start, quoted: token.kind == TokenKind::Text }
    }

    /// Instead of what was expected: a fault of the lexer, or the end of the file.
    #[cold]
    fn broken_off(&self, token: Token) -> Box<Fault> {
        match token.kind {
            TokenKind::Fault(fault) => self.lex_fault(fault, token.span),
            _ => self.unclosed(token.span),
        }
    }

    #[cold]
    fn lex_fault(&self, fault: LexFault, span: Span) -> Box<Fault> {
        match fault {
            LexFault::Unterminated => self.fault(span, "a string without an end", "expected a closing `\"` after this"),
            LexFault::TooDeep => {
                self.fault(span, format!("lists nested more than {DEPTH} deep"), "no board nests this deep")
            }
            LexFault::Unopened => self.fault(span, "a `)` that closes nothing", "expected the end of the file"),
            LexFault::TooMany => self.fault(span, "more tokens than the limit allows", "the limit is reached here"),
            LexFault::Conflict => {
                let mut fault = self.fault(span, "a merge conflict marker", "expected `(`");
                fault.help = Some("the file holds both sides of a merge; resolve it before the check".to_owned());
                fault
            }
            LexFault::TooLong => self.fault(span, "a token longer than the limit allows", "it starts here"),
        }
    }

    #[cold]
    fn unclosed(&self, end: Span) -> Box<Fault> {
        let Some(open) = self.lexer.innermost() else {
            return self.fault(end, "the file ends early", "expected `)`");
        };
        let rest = self.file.text().get(open as usize + 1..).unwrap_or_default();
        let name: &str = rest.split(|c: char| c.is_whitespace() || c == '(' || c == ')').next().unwrap_or_default();
        let place = self.file.line_column(open);
        let message = if name.is_empty() {
            "the file ends inside a list".to_owned()
        } else {
            format!("the file ends inside `{}`", short(name))
        };
        let mut fault = self.fault(end, message, "expected `)`");
        fault.help = Some(format!("the list starts at {}:{}; the file may be cut short", place.line, place.column));
        fault
    }
}

/// A text short enough for a message.
fn short(text: &str) -> Cow<'_, str> {
    match text.char_indices().nth(40) {
        Some((at, _)) => Cow::Owned(format!("{}…", text.get(..at).unwrap_or_default())),
        None => Cow::Borrowed(text),
    }
}
