//! What keeps a command from doing its job.

use crate::source::excerpt::{Gravity, Look, Notice, render};
use crate::source::{Fault, printable};

/// One thing that went wrong.
#[derive(Debug)]
pub enum Trouble {
    /// A fault at a place of a file.
    Fault(Box<Fault>),
    /// Anything else: the fact, and advice.
    Plain(String, Option<String>),
}

/// All that went wrong, in order; at least one.
#[derive(Debug)]
pub struct Troubles(pub Vec<Trouble>);

impl Troubles {
    /// One fact without a place, and advice.
    pub fn plain(fact: impl Into<String>, help: Option<String>) -> Self {
        Self(vec![Trouble::Plain(fact.into(), help)])
    }

    /// As text for people.
    pub fn render(&self, look: &Look) -> String {
        let texts: Vec<_> = self.0.iter().map(|trouble| trouble.render(look)).collect();
        texts.join("\n")
    }
}

impl Trouble {
    /// The fact alone.
    pub fn fact(&self) -> String {
        match self {
            Self::Fault(fault) => fault.message.clone(),
            Self::Plain(fact, _) => fact.clone(),
        }
    }

    fn render(&self, look: &Look) -> String {
        match self {
            Self::Fault(fault) => render(&**fault, look),
            Self::Plain(fact, help) => Notice {
                gravity: Gravity::Error,
                text: printable(fact).into_owned(),
                excerpt: None,
                help: help.as_ref().map(|help| printable(help).into_owned()),
            }
            .render(look),
        }
    }
}

impl From<Fault> for Troubles {
    fn from(fault: Fault) -> Self {
        Self(vec![Trouble::Fault(Box::new(fault))])
    }
}
