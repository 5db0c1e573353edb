//! What a net's name says of pairs: the ways in which it reads as one leg. Names alone; no copper, no board.

/// A leg of a pair.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Leg {
    /// The positive (true) leg.
    P,
    /// The negative (complement) leg.
    N,
}

impl Leg {
    /// The other leg.
    #[must_use]
    pub const fn mate(self) -> Self {
        match self {
            Self::P => Self::N,
            Self::N => Self::P,
        }
    }
}

/// How a name marks its leg, strongest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Marking {
    /// A letter on its own: `TX_P`, `CLK_N0`, `CK_P_A`.
    Letter,
    /// `+` or `-`: `RX0+`, `D-_L`, `CLK+1`.
    Sign,
    /// T and C for true and complement: `DQS0_T`, `CK_CA`, `CKt`.
    TrueComplement,
    /// A letter that ends a longer word: `TXP`, `DM`, `L3N`.
    Glued,
    /// The words POS and NEG, or PLUS and MINUS.
    Word,
    /// The plain name is one leg; `#`, an overbar or an added N makes the other: `CK0` and `CK#0`.
    Complement,
}

/// One way in which a name reads as a leg.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Reading {
    /// How the leg is marked.
    pub marking: Marking,
    /// What both legs share: the mate reads with the same key and the other leg.
    pub key: String,
    /// The leg.
    pub leg: Leg,
}

/// Stand in a key where the leg was marked, so that `A_P0` and `A0_P` differ, and so do `A_P` and `A_p`.
const HOLE: char = '\u{1}';
const SMALL_HOLE: char = '\u{2}';

/// All ways in which a net name reads as a leg of a pair, strongest marking first. A [`Marking::Complement`] reading
/// of leg N has the plain name of its mate as key; plain names themselves get no such reading.
#[must_use]
pub fn readings(name: &str) -> Vec<Reading> {
    let parts = Parts::of(name);
    if parts.auto_pad {
        return Vec::new();
    }
    let text: Vec<char> = parts.local.chars().collect();
    let mut found = Vec::new();
    let mut push = |marking, leg, from: usize, to: usize, fill: bool| {
        let before: String = text.get(..from).unwrap_or(&[]).iter().collect();
        let after: String = text.get(to..).unwrap_or(&[]).iter().collect();
        let named = before.chars().chain(after.chars()).any(char::is_alphabetic);
        if !named && (parts.prefix.is_empty() || parts.auto) {
            return;
        }
        let small = text.get(from).is_some_and(|mark| mark.is_ascii_lowercase());
        let hole = match (fill, small) {
            (false, _) => String::new(),
            (true, false) => HOLE.to_string(),
            (true, true) => SMALL_HOLE.to_string(),
        };
        let key = format!("{}{before}{hole}{after}{}", parts.prefix, parts.suffix);
        let reading = Reading { marking, key, leg };
        if !found.contains(&reading) {
            found.push(reading);
        }
    };
    for (at, &sign) in text.iter().enumerate() {
        match sign {
            '+' | '-' if sign_marks_leg(&text, at) => {
                push(Marking::Sign, if sign == '+' { Leg::P } else { Leg::N }, at, at + 1, true);
            }
            '#' => push(Marking::Complement, Leg::N, at, at + 1, false),
            _ => {}
        }
    }
    for (from, to) in words(&text) {
        let word = text.get(from..to).unwrap_or(&[]);
        let body = word.iter().rposition(|c| !c.is_ascii_digit()).map_or(0, |last| last + 1);
        if let Some((&letter, stem)) = word.get(..body).and_then(|head| head.split_last())
            && let Some(leg) = letter_leg(letter)
        {
            let at = from + body - 1;
            // In front of other words, P3 or N1 is more often a port or a ball.
            let leads = from == 0 && to < text.len();
            let marking = if stem.is_empty() && !leads { Marking::Letter } else { Marking::Glued };
            push(marking, leg, at, at + 1, true);
            if leg == Leg::N && stem.is_empty() && matches!(letter, 'N' | 'n') {
                push(Marking::Complement, leg, from.saturating_sub(1), at + 1, false);
            }
        }
        if let Some((at, leg)) = true_complement(word) {
            push(Marking::TrueComplement, leg, from + at, from + at + 1, true);
        }
        let spelled: String = word.iter().map(char::to_ascii_uppercase).collect();
        let spelled_leg = match spelled.as_str() {
            "POS" | "PLUS" => Some(Leg::P),
            "NEG" | "MINUS" => Some(Leg::N),
            _ => None,
        };
        if let Some(leg) = spelled_leg {
            push(Marking::Word, leg, from, to, true);
        }
    }
    if parts.overbar {
        push(Marking::Complement, Leg::N, 0, 0, false);
    }
    found.sort();
    found
}

/// A net name as a [`Marking::Complement`] key spells it: overbars stripped, escapes resolved.
#[must_use]
pub fn plain(name: &str) -> String {
    let parts = Parts::of(name);
    format!("{}{}{}", parts.prefix, parts.local, parts.suffix)
}

/// A key made insensitive to what designers vary by mistake: sheet, case, separators and the way the leg is marked.
#[must_use]
pub fn loose(key: &str) -> String {
    let local = key.rsplit('/').next().unwrap_or(key);
    let one_hole = local.chars().map(|c| if c == SMALL_HOLE { HOLE } else { c });
    one_hole.filter(|&c| c == HOLE || c.is_alphanumeric()).flat_map(char::to_uppercase).collect()
}

/// A key with each number replaced by `0`: what the members of one bus share.
#[must_use]
pub fn family(key: &str) -> String {
    let mut out = String::with_capacity(key.len());
    let mut digits = false;
    for c in key.chars() {
        if !c.is_ascii_digit() {
            out.push(c);
        } else if !digits {
            out.push('0');
        }
        digits = c.is_ascii_digit();
    }
    out
}

/// The name of the pair that two nets make: what their names share, without the leg marks and the separator that
/// would be left dangling: `TX_P` and `TX_N` give `TX`, `D+_L` and `D-_L` give `D_L`.
#[must_use]
pub fn pair_name(p: &str, n: &str) -> String {
    if p.contains('~') != n.contains('~') && plain(p) == plain(n) {
        return plain(p);
    }
    let p: Vec<char> = p.chars().collect();
    let n: Vec<char> = n.chars().collect();
    let head = p.iter().zip(&n).take_while(|(a, b)| a == b).count();
    let room = p.len().min(n.len()).saturating_sub(head);
    let tail = p.iter().rev().zip(n.iter().rev()).take(room).take_while(|(a, b)| a == b).count();
    let mut before: Vec<char> = p.get(..head).unwrap_or(&[]).to_vec();
    let mut after: Vec<char> = p.get(p.len() - tail..).unwrap_or(&[]).to_vec();
    let loose_end = |c: Option<&char>| c.is_none_or(|c| !c.is_alphanumeric());
    let separator = |c: char| matches!(c, '_' | '-' | '.' | ' ' | '~');
    // A separator stays only where it still parts two words.
    while loose_end(after.first()) && before.last().copied().is_some_and(separator) {
        before.pop();
    }
    while before.is_empty() && after.first().copied().is_some_and(separator) {
        after.remove(0);
    }
    let name: String = before.into_iter().chain(after).collect();
    if name.chars().any(char::is_alphanumeric) { name } else { p.iter().chain(['|'].iter()).chain(&n).collect() }
}

/// A name taken apart: sheet path or part before, what may mark a leg, and what closes it.
struct Parts {
    prefix: String,
    local: String,
    suffix: &'static str,
    /// Named by the drawing program after a part's pin.
    auto: bool,
    /// Such a name that says only a pad number (`PadN3`), a running number (`N-000012`) or no connection.
    auto_pad: bool,
    overbar: bool,
}

impl Parts {
    fn of(name: &str) -> Self {
        let (path, last) = name.rsplit_once('/').map_or(("", name), |(path, last)| (path, last));
        let mut prefix = if path.is_empty() && !name.starts_with('/') { String::new() } else { format!("{path}/") };
        let mut local = last;
        let mut suffix = "";
        let numbered = |head| name.strip_prefix(head).is_some_and(|rest| rest.chars().all(|c| c.is_ascii_digit()));
        let mut auto_pad = name.starts_with("unconnected-(") || name.starts_with("no_connect_") || numbered("N-");
        let inside = name.strip_prefix("Net-(").and_then(|rest| rest.strip_suffix(')'));
        let auto = inside.and_then(|inside| inside.split_once('-'));
        if let Some((part, pin)) = auto {
            prefix = format!("Net-({part}-");
            local = pin;
            suffix = ")";
            auto_pad = pin.starts_with("Pad");
        }
        let (local, overbar) = strip_overbar(&local.replace("{slash}", "/"));
        Self { prefix, local, suffix, auto: auto.is_some(), auto_pad, overbar }
    }
}

/// Removes overbar marks, new (`~{X}`) and old (`~X`, `~X~`); tells whether there was one.
fn strip_overbar(text: &str) -> (String, bool) {
    if !text.contains('~') {
        return (text.to_owned(), false);
    }
    let mut out = String::with_capacity(text.len());
    let mut open = 0_u32;
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '~' if chars.peek() == Some(&'{') => {
                chars.next();
                open += 1;
            }
            '~' => {}
            '}' if open > 0 => open -= 1,
            _ => out.push(c),
        }
    }
    (out, true)
}

/// Runs of letters and digits, as ranges.
fn words(text: &[char]) -> Vec<(usize, usize)> {
    let mut out = Vec::new();
    let mut start = None;
    for (at, c) in text.iter().enumerate() {
        if c.is_alphanumeric() {
            start.get_or_insert(at);
        } else if let Some(from) = start.take() {
            out.push((from, at));
        }
    }
    if let Some(from) = start {
        out.push((from, text.len()));
    }
    out
}

const fn letter_leg(letter: char) -> Option<Leg> {
    match letter {
        'P' | 'p' => Some(Leg::P),
        'N' | 'n' | 'M' | 'm' => Some(Leg::N),
        _ => None,
    }
}

/// Whether a sign at this place can mark a leg: at the end, before an index or before a separator. A sign in front
/// of a word is a voltage (`+3V3`), a dash between words is a separator.
fn sign_marks_leg(text: &[char], at: usize) -> bool {
    let after = text.get(at + 1..).unwrap_or(&[]);
    let before = text.get(..at).unwrap_or(&[]);
    let word = |c: &char| c.is_alphanumeric();
    if !before.last().is_some_and(|c| word(c) || matches!(c, ']' | ')' | '}' | '_')) {
        return false;
    }
    let rest = after.iter().position(|c| !c.is_ascii_digit()).unwrap_or(after.len());
    after.get(rest).is_none_or(|c| !word(c))
}

/// The T or C of a word that marks true or complement, with its place: the whole word, before an index or a channel
/// letter (`TA`, `C0`), or in lower case behind capitals (`CKt`).
fn true_complement(word: &[char]) -> Option<(usize, Leg)> {
    let leg = |c: char| match c {
        'T' | 't' => Some(Leg::P),
        'C' | 'c' => Some(Leg::N),
        _ => None,
    };
    let (&first, rest) = word.split_first()?;
    let channel = match rest {
        [] => true,
        [c] => c.is_ascii_digit() || matches!(c, 'A'..='D' | 'a'..='d'),
        _ => rest.iter().all(char::is_ascii_digit),
    };
    if channel && let Some(leg) = leg(first) {
        return Some((0, leg));
    }
    let (&last, stem) = word.split_last()?;
    let capitals = stem.last().is_some_and(|c| c.is_ascii_uppercase() || c.is_ascii_digit());
    (capitals && last.is_ascii_lowercase()).then(|| leg(last)).flatten().map(|leg| (word.len() - 1, leg))
}
