//! Tokens and numbers against slow, obvious readings of the same rules.

use proptest::prelude::*;
use std::sync::Arc;
use throughline::board;
use throughline::source::lexer::{LexFault, Lexer, TokenKind};
use throughline::source::number::{NumberFault, nanometres, plain};
use throughline::source::{Limits, SourceFile};

/// Tokens as (kind, text), or the fault, by the lexer.
fn cut(text: &str) -> Result<Vec<(char, &str)>, LexFault> {
    let mut lexer = Lexer::new(text, &Limits::default());
    let mut tokens = Vec::new();
    loop {
        let token = lexer.next_token();
        let kind = match token.kind {
            TokenKind::Open => '(',
            TokenKind::Close => ')',
            TokenKind::Atom => 'a',
            TokenKind::Text => '"',
            TokenKind::End => return Ok(tokens),
            TokenKind::Fault(fault) => return Err(fault),
        };
        tokens.push((kind, &text[token.span.start as usize..token.span.end as usize]));
    }
}

/// The same, one character at a time.
fn slowly(text: &str) -> Result<Vec<(char, &str)>, LexFault> {
    let bytes = text.as_bytes();
    let (mut at, mut depth, mut tokens) = (0, 0, Vec::new());
    while at < bytes.len() {
        let start = at;
        at += 1;
        let kind = match bytes[start] {
            b' ' | b'\t' | b'\r' | b'\n' => continue,
            b'(' => {
                depth += 1;
                '('
            }
            b')' if depth == 0 => return Err(LexFault::Unopened),
            b')' => {
                depth -= 1;
                ')'
            }
            b'"' => {
                loop {
                    match bytes.get(at) {
                        None => return Err(LexFault::Unterminated),
                        Some(b'"') => break,
                        Some(b'\\') => at += 2,
                        Some(_) => at += 1,
                    }
                }
                at += 1;
                '"'
            }
            _ => {
                while at < bytes.len() && !b" \t\r\n()".contains(&bytes[at]) {
                    at += 1;
                }
                'a'
            }
        };
        tokens.push((kind, &text[start..at]));
    }
    Ok(tokens)
}

#[test]
fn quotes_bars_and_backslashes_inside_atoms_are_ordinary() {
    let atoms = |text| cut(text).unwrap().into_iter().map(|(_, text)| text).collect::<Vec<_>>();
    assert_eq!(atoms("(fp_text user 0.96\" (at 1))"), ["(", "fp_text", "user", "0.96\"", "(", "at", "1", ")", ")"]);
    assert_eq!(atoms("|KLUv/a= b|"), ["|KLUv/a=", "b|"]);
    assert_eq!(atoms(r"a\b\ c d"), [r"a\b\", "c", "d"]);
    assert_eq!(atoms(r#""a\"b" "c\\""d""#), [r#""a\"b""#, r#""c\\""#, r#""d""#]);
    assert_eq!(atoms("4.7µ ~{RESET} {slash}"), ["4.7µ", "~{RESET}", "{slash}"]);
}

#[test]
fn escapes_resolve() {
    let text = r#"(kicad_pcb (layers (0 F.Cu signal)) (net 1 "/G\\SD \"q\" \n\r\t\x") (segment (start 0 0) (end 1 0) (width 0.1) (layer F.Cu) (net 1)))"#;
    let board = board::read("b", Arc::new(SourceFile::new("b", text))).unwrap();
    assert_eq!(board.nets.name(board.tracks.values().next().unwrap().net), "/G\\SD \"q\" \n\r\tx");
}

#[test]
fn numbers_by_example() {
    let exact = |text| nanometres(text).map(|length| (length.value, length.rounded));
    assert_eq!(exact("0.150000"), Ok((150_000, false)));
    assert_eq!(exact("-0.000001"), Ok((-1, false)));
    assert_eq!(exact("-0"), Ok((0, false)));
    assert_eq!(exact("128.69926"), Ok((128_699_260, false)));
    assert_eq!(exact("0.09259299999999999"), Ok((92_593, true)));
    assert_eq!(exact("1.0000005"), Ok((1_000_001, true)));
    assert_eq!(exact("-1.0000005"), Ok((-1_000_001, true)));
    assert_eq!(exact("1.0000000000"), Ok((1_000_000, false)));
    assert_eq!(exact("6.366197738e-06"), Ok((6, true)));
    assert_eq!(exact("2e-3"), Ok((2_000, false)));
    assert_eq!(exact(".5"), Ok((500_000, false)));
    for bad in ["", "-", ".", "1.", "1.2.3", "1,5", "0x10", "inf", "nan", "1e", "e5", "--1", "1 ", "5626E998x"] {
        assert_eq!(nanometres(bad), Err(NumberFault::NotANumber), "{bad:?}");
    }
    assert_eq!(nanometres("5626E998"), Err(NumberFault::TooLarge));
    assert_eq!(plain("5626E998"), Err(NumberFault::TooLarge));
    assert_eq!(plain("infinity"), Err(NumberFault::NotANumber));
    assert_eq!(plain("-95.20697574"), Ok(-95.20697574));
}

proptest! {
    #[test]
    fn tokens_equal_those_of_a_slow_reading(text in "[ \\n()\"\\\\|a.µ]{0,40}") {
        prop_assert_eq!(cut(&text), slowly(&text));
    }

    #[test]
    fn lengths_are_exact(value in -10_000_000_000_i64..=10_000_000_000) {
        let text = format!("{}{}.{:06}", if value < 0 { "-" } else { "" }, value.abs() / 1_000_000, value.abs() % 1_000_000);
        let length = nanometres(&text).unwrap();
        prop_assert_eq!((length.value, length.rounded), (value, false));
        let short = text.trim_end_matches('0').trim_end_matches('.');
        prop_assert_eq!(nanometres(if short == "-" || short.is_empty() { "0" } else { short }).unwrap().value, value);
    }

    #[test]
    fn lengths_equal_floating_point_to_the_grid(text in "-?[0-9]{1,4}(\\.[0-9]{1,12})?") {
        let length = nanometres(&text).unwrap();
        let float = text.parse::<f64>().unwrap() * 1e6;
        prop_assert!((length.value as f64 - float).abs() <= 0.5 + 1e-5, "{} {} {}", text, length.value, float);
    }

    #[test]
    fn no_text_makes_the_reader_panic(text in "\\PC{0,200}") {
        let _ = board::read("b", Arc::new(SourceFile::new("b", text)));
    }

    /// Words of the format in any order, balanced or not.
    #[test]
    fn no_soup_of_words_makes_the_reader_panic(words in prop::collection::vec(0..WORDS.len(), 0..80)) {
        let soup: Vec<&str> = words.into_iter().map(|at| WORDS[at]).collect();
        let text = format!("(kicad_pcb (version 20240108) (layers (0 F.Cu signal) (31 B.Cu signal)) {}", soup.join(" "));
        let _ = board::read("b", Arc::new(SourceFile::new("b", text)));
    }
}

const WORDS: [&str; 48] = [
    "(",
    "(",
    "(",
    ")",
    ")",
    ")",
    ")",
    "\"\"",
    "0",
    "-1",
    "10000",
    "1e3",
    "F.Cu",
    "*.Cu",
    "yes",
    "no",
    "segment",
    "arc",
    "via",
    "(at 1 1)",
    "(start 0 0)",
    "(mid 1 1)",
    "(end 0 0)",
    "(width 0)",
    "(layer F.Cu)",
    "(layers F.Cu B.Cu)",
    "(net 1)",
    "(net 0 \"\")",
    "footprint",
    "(footprint x (at 0 0)",
    "(pad 1 smd custom",
    "(size 0 0)",
    "(primitives",
    "(gr_poly (pts",
    "(xy 0 0)",
    "(arc (start 0 0) (mid 0 0) (end 0 0))",
    "(gr_curve",
    "(gr_arc",
    "(angle 1e9)",
    "(zone",
    "(filled_polygon",
    "(pts)",
    "(padstack",
    "(stackup",
    "(layer d (thickness 1)",
    "addsublayer",
    "(drill 0)",
    "(gr_circle (center 0 0)",
];
