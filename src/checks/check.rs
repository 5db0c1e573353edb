//! What a check is.

use super::{Facts, Verdict};
use crate::rules::{CheckSchema, Rule};

/// The fixed facts about a check.
#[derive(Debug, Clone, Copy)]
pub struct Info {
    /// What it accepts in a rule file; `schema.name` is the check's name.
    pub schema: CheckSchema,
    /// One line for lists.
    pub summary: &'static str,
    /// The explain page (Markdown), from the doc comment: what is measured, why it matters, how to read a finding,
    /// how to correct it, sources.
    pub page: &'static str,
}

/// A check: a pure function of facts and parameters.
pub trait Check: Sync {
    /// The fixed facts about it.
    fn info(&self) -> &'static Info;

    /// One verdict per subject examined, in any order. A subject that can't be judged gets `Outcome::Unchecked`
    /// with the missing input; it is never left out.
    fn run(&self, facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict>;

    /// Whether a rule makes it look at the signals of its groups: they are worked out before, with all threads.
    fn needs_signals(&self, _rule: &Rule) -> bool {
        false
    }
}

/// Declares a check: its doc comment becomes the explain page.
///
/// ```text
/// declare_check! {
///     /// # What is measured
///     /// …
///     pub ViaStub {
///         name: "via-stub",
///         summary: "barrel beyond the layers a signal uses",
///         limit: &[Dimension::Length],
///         level: Level::Error,
///         groups: true,
///         parameters: &[],
///     }
///     run = run;
///     signals = |_| true; // left out by checks of geometry
///     tolerance = true; // if the tolerance of a group's target may stand in for `limit`
/// }
/// fn run(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> { … }
/// ```
#[macro_export]
macro_rules! declare_check {
    ($(#[doc = $doc:expr])+ pub $check:ident {
        name: $name:expr, summary: $summary:expr, limit: $limit:expr, level: $level:expr, groups: $groups:expr,
        parameters: $parameters:expr $(,)?
    } run = $run:path; $(signals = $signals:expr;)? $(tolerance = $tolerance:expr;)?) => {
        $(#[doc = $doc])+
        pub struct $check;
        impl $crate::checks::Check for $check {
            fn info(&self) -> &'static $crate::checks::Info {
                static INFO: $crate::checks::Info = $crate::checks::Info {
                    schema: $crate::rules::CheckSchema {
                        name: $name, limit: $limit, tolerance: false $(|| $tolerance)?, level: $level, groups: $groups, parameters: $parameters,
                    },
                    summary: $summary,
                    page: concat!($($doc, "\n"),+),
                };
                &INFO
            }
            fn run(
                &self,
                facts: &$crate::checks::Facts<'_>,
                rule: &$crate::rules::Rule,
            ) -> Vec<$crate::checks::Verdict> {
                $run(facts, rule)
            }
            $(fn needs_signals(&self, rule: &$crate::rules::Rule) -> bool {
                let needs: fn(&$crate::rules::Rule) -> bool = $signals;
                needs(rule)
            })?
        }
    };
}
