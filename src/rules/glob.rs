//! Patterns over names: `*` is any text, `?` is one character, `{a,b}` is one of the alternatives; everything else
//! is itself. Braces without a comma are themselves too, so that names with markup (`~{RST}`, `{slash}`) can be
//! written as the board has them. Matching takes time proportional to pattern times name, whatever the pattern.

use std::collections::VecDeque;
use std::fmt;
use std::ops::Range;

/// A pattern made ready to match.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Glob {
    program: Vec<Step>,
    /// Characters that stand for themselves, alternatives counted once.
    literals: usize,
}

/// What is wrong with a pattern.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GlobError {
    /// The fact.
    pub message: &'static str,
    /// What to do.
    pub help: &'static str,
    /// Where in the pattern, in bytes.
    pub range: Range<usize>,
}

impl fmt::Display for GlobError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.message)
    }
}

/// One step of the matcher; a program runs from its first step to its end.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Step {
    /// This character.
    Char(char),
    /// Any one character.
    Any,
    /// Any text.
    Star,
    /// Go on at one of these steps.
    Split(Vec<usize>),
    /// Go on at this step.
    Jump(usize),
}

/// A piece of a pattern.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Piece<'p> {
    /// Text with `*` and `?`.
    Text(&'p str),
    /// `{a,b}`: the alternatives, and the whole list in the pattern.
    List(Vec<&'p str>, Range<usize>),
}

/// Cuts a pattern at its brace lists.
pub(super) fn pieces(pattern: &str) -> Result<Vec<Piece<'_>>, GlobError> {
    let mut found = Vec::new();
    let mut rest = 0;
    let mut from = 0;
    let part = |range: Range<usize>| pattern.get(range).unwrap_or("");
    while let Some(open) = part(from..pattern.len()).find('{').map(|at| from + at) {
        let Some(close) = part(open..pattern.len()).find('}').map(|at| open + at) else {
            return Err(GlobError {
                message: "a brace is not closed",
                help: "alternatives are written `{a,b}`; `?` stands for a brace that is part of a name",
                range: open..pattern.len(),
            });
        };
        let inside = part(open + 1..close);
        if let Some(inner) = inside.find('{') {
            let beyond = part(close + 1..pattern.len()).split(['{', '}']).next().unwrap_or("");
            let closed_again = part(close + 1 + beyond.len()..pattern.len()).starts_with('}');
            if inside.contains(',') || (closed_again && beyond.contains(',')) {
                return Err(GlobError {
                    message: "braces within braces",
                    help: "write the alternatives one by one: `{a,b1,b2}` instead of `{a,b{1,2}}`",
                    range: open..close + 1,
                });
            }
            from = open + 1 + inner;
            continue;
        }
        if inside.contains(',') {
            found.push(Piece::Text(part(rest..open)));
            found.push(Piece::List(inside.split(',').collect(), open..close + 1));
            rest = close + 1;
        }
        from = close + 1;
    }
    found.push(Piece::Text(part(rest..pattern.len())));
    Ok(found)
}

impl Glob {
    /// Reads a pattern.
    ///
    /// # Errors
    /// [`GlobError`] for a brace that isn't closed and for braces within braces.
    pub fn parse(pattern: &str) -> Result<Self, GlobError> {
        let mut glob = Self { program: Vec::new(), literals: 0 };
        for piece in pieces(pattern)? {
            match piece {
                Piece::Text(text) => glob.literals += glob.text(text),
                Piece::List(alternatives, _) => {
                    let split = glob.program.len();
                    glob.program.push(Step::Split(Vec::new()));
                    let mut starts = Vec::new();
                    let mut jumps = Vec::new();
                    let mut longest = 0;
                    for alternative in alternatives {
                        starts.push(glob.program.len());
                        longest = glob.text(alternative).max(longest);
                        jumps.push(glob.program.len());
                        glob.program.push(Step::Jump(0));
                    }
                    glob.literals += longest;
                    let end = glob.program.len();
                    if let Some(step) = glob.program.get_mut(split) {
                        *step = Step::Split(starts);
                    }
                    for jump in jumps {
                        if let Some(step) = glob.program.get_mut(jump) {
                            *step = Step::Jump(end);
                        }
                    }
                }
            }
        }
        Ok(glob)
    }

    /// Adds text with `*` and `?`; returns how many of its characters stand for themselves.
    fn text(&mut self, text: &str) -> usize {
        let mut literals = 0;
        for c in text.chars() {
            self.program.push(match c {
                '*' => Step::Star,
                '?' => Step::Any,
                _ => {
                    literals += 1;
                    Step::Char(c)
                }
            });
        }
        literals
    }

    /// Whether the whole of `name` fits.
    #[must_use]
    pub fn matches(&self, name: &str) -> bool {
        self.edits(name, 0) == Some(0)
    }

    /// How many letters of the pattern may be wrong before a name has nothing to do with it.
    #[must_use]
    pub fn reach(&self) -> usize {
        self.literals / 3
    }

    /// The fewest edits (insert, delete, replace) that make `name` fit, if no more than `most`.
    #[must_use]
    pub fn edits(&self, name: &str, most: usize) -> Option<usize> {
        let mut states = Costs::new(self.program.len() + 1);
        states.lower(0, 0);
        self.settle(&mut states, most);
        for c in name.chars() {
            let mut next = Costs::new(self.program.len() + 1);
            for at in 0..=self.program.len() {
                let Some(cost) = states.get(at) else { continue };
                // A letter of the name too many, unless a star takes it.
                let (stay, on) = match self.program.get(at) {
                    Some(Step::Star) => (cost, None),
                    Some(Step::Any) => (cost + 1, Some(cost)),
                    Some(Step::Char(wanted)) => (cost + 1, Some(if *wanted == c { cost } else { cost + 1 })),
                    Some(Step::Split(_) | Step::Jump(_)) | None => (cost + 1, None),
                };
                if stay <= most {
                    next.lower(at, stay);
                }
                if let Some(on) = on.filter(|&on| on <= most) {
                    next.lower(at + 1, on);
                }
            }
            if next.is_empty() {
                return None;
            }
            self.settle(&mut next, most);
            states = next;
        }
        states.get(self.program.len())
    }

    /// Follows what needs no letter: splits, jumps, empty stars, and letters of the pattern that the name lacks.
    fn settle(&self, states: &mut Costs, most: usize) {
        let mut queue: VecDeque<usize> = (0..self.program.len()).filter(|&at| states.get(at).is_some()).collect();
        while let Some(at) = queue.pop_front() {
            let Some(cost) = states.get(at) else { continue };
            let mut go = |to: usize, cost: usize| {
                if cost <= most && states.lower(to, cost) {
                    queue.push_back(to);
                }
            };
            match self.program.get(at) {
                Some(Step::Star) => go(at + 1, cost),
                Some(Step::Jump(to)) => go(*to, cost),
                Some(Step::Split(starts)) => starts.iter().for_each(|&to| go(to, cost)),
                Some(Step::Char(_) | Step::Any) => go(at + 1, cost + 1),
                None => {}
            }
        }
    }
}

/// The least cost at which each step has been reached.
struct Costs {
    least: Vec<usize>,
    reached: usize,
}

impl Costs {
    fn new(steps: usize) -> Self {
        Self { least: vec![usize::MAX; steps], reached: 0 }
    }

    fn get(&self, at: usize) -> Option<usize> {
        self.least.get(at).copied().filter(|&cost| cost != usize::MAX)
    }

    /// Notes a cost; tells whether it is less than before.
    fn lower(&mut self, at: usize, cost: usize) -> bool {
        let Some(least) = self.least.get_mut(at) else { return false };
        if cost >= *least {
            return false;
        }
        self.reached += usize::from(*least == usize::MAX);
        *least = cost;
        true
    }

    fn is_empty(&self) -> bool {
        self.reached == 0
    }
}
