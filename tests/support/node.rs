//! Nested lists as text, in the two layouts that the format has had.

use super::Generation;
use std::fmt::Write as _;

/// One node of the file.
#[derive(Debug, Clone, PartialEq)]
pub enum Node {
    /// A word or number, written bare.
    Word(String),
    /// A name: quoted from v6 on, before only when it must be.
    Name(String),
    /// A list; the first child is its head.
    List(Vec<Node>),
}

/// A list with a head and children.
pub fn list(head: &str, children: impl IntoIterator<Item = Node>) -> Node {
    Node::List(std::iter::once(word(head)).chain(children).collect())
}

/// A bare word.
pub fn word(text: &str) -> Node {
    Node::Word(text.into())
}

/// A name.
pub fn name(text: &str) -> Node {
    Node::Name(text.into())
}

/// Millimetres on the nanometre grid, as the format writes them: no exponent, no trailing zero.
pub fn millimetres(nm: i64) -> String {
    let (sign, nm) = (if nm < 0 { "-" } else { "" }, nm.abs());
    let text = format!("{sign}{}.{:06}", nm / 1_000_000, nm % 1_000_000);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A plain decimal of at most six places.
pub fn decimal(value: f64) -> String {
    millimetres(super::nm(value))
}

/// A number node.
pub fn number(value: f64) -> Node {
    word(&decimal(value))
}

/// `(head x y)`.
pub fn xy(head: &str, point: super::Point) -> Node {
    list(head, [number(point.0), number(point.1)])
}

/// `(head x)`.
pub fn value(head: &str, x: f64) -> Node {
    list(head, [number(x)])
}

impl Node {
    /// Adds a child to a list.
    pub fn push(&mut self, child: Node) {
        match self {
            Self::List(children) => children.push(child),
            _ => panic!("only a list has children"),
        }
    }

    fn is_list(&self) -> bool {
        matches!(self, Self::List(_))
    }

    fn head(&self) -> &str {
        match self {
            Self::List(children) => match children.first() {
                Some(Self::Word(head)) => head,
                _ => "",
            },
            _ => "",
        }
    }

    /// The file's text.
    pub fn text(&self, generation: Generation) -> String {
        let mut out = String::new();
        if generation >= Generation::V8 {
            self.tall(generation, 0, &mut out);
        } else {
            self.wide(generation, 0, &mut out);
        }
        out.push('\n');
        out
    }

    fn atom(&self, generation: Generation, out: &mut String) {
        match self {
            Self::Word(text) => out.push_str(text),
            Self::Name(text) => {
                let bare = generation <= Generation::V5
                    && !text.is_empty()
                    && !text.contains(|c: char| c.is_whitespace() || "()\"".contains(c));
                if bare {
                    out.push_str(text);
                } else {
                    out.push('"');
                    out.push_str(&text.replace('\\', "\\\\").replace('"', "\\\"").replace('\n', "\\n"));
                    out.push('"');
                }
            }
            Self::List(_) => panic!("a list is no atom"),
        }
    }

    /// On one line.
    fn inline(&self, generation: Generation, out: &mut String) {
        let Self::List(children) = self else {
            self.atom(generation, out);
            return;
        };
        out.push('(');
        for (index, child) in children.iter().enumerate() {
            if index > 0 {
                out.push(' ');
            }
            child.inline(generation, out);
        }
        out.push(')');
    }

    /// v8 and later: a line per list, tabs; points share lines.
    fn tall(&self, generation: Generation, depth: usize, out: &mut String) {
        let Self::List(children) = self else {
            self.atom(generation, out);
            return;
        };
        if !children.iter().any(Self::is_list) {
            self.inline(generation, out);
            return;
        }
        out.push('(');
        let mut line = 0;
        for (index, child) in children.iter().enumerate() {
            if child.is_list() {
                if self.head() == "pts" && line > 0 && out.len() - line < 90 {
                    out.push(' ');
                } else {
                    out.push('\n');
                    line = out.len();
                    out.push_str(&"\t".repeat(depth + 1));
                }
                child.tall(generation, depth + 1, out);
            } else {
                if index > 0 {
                    out.push(' ');
                }
                child.atom(generation, out);
            }
        }
        let _ = write!(out, "\n{})", "\t".repeat(depth));
    }

    /// v7 and before: two spaces, an item per line at the top and within items that hold items.
    fn wide(&self, generation: Generation, depth: usize, out: &mut String) {
        const BROKEN: [&str; 14] = [
            "kicad_pcb",
            "general",
            "layers",
            "setup",
            "stackup",
            "net_class",
            "module",
            "footprint",
            "zone",
            "polygon",
            "filled_polygon",
            "pts",
            "primitives",
            "title_block",
        ];
        let Self::List(children) = self else {
            self.atom(generation, out);
            return;
        };
        let broken = BROKEN.contains(&self.head()) && (self.head() != "layers" || depth == 1) && depth < 6;
        if !broken {
            self.inline(generation, out);
            return;
        }
        out.push('(');
        let mut line = 0;
        for (index, child) in children.iter().enumerate() {
            // The header shares the first line; the rest starts lines of its own.
            let header = self.head() == "kicad_pcb" && index < 3;
            if child.is_list() && !header {
                if self.head() == "pts" && line > 0 && out.len() - line < 90 {
                    out.push(' ');
                } else {
                    out.push('\n');
                    line = out.len();
                    out.push_str(&"  ".repeat(depth + 1));
                }
                child.wide(generation, depth + 1, out);
            } else {
                if index > 0 {
                    out.push(' ');
                }
                child.inline(generation, out);
            }
        }
        let _ = write!(out, "\n{})", "  ".repeat(depth));
    }
}
