//! `length-match`: members of a group against each other or against a target.

use super::length_match_time::in_time;
use super::length_members::{Measure, Member, members};
use super::pair_skew_time::asked;
use super::route_subject::pad_place;
use super::{Facts, Message, Outcome, Place, Selection, Sense, Subject, Verdict, judge};
use crate::board::LayerSet;
use crate::rules::{Level, Parameter, ParameterKind, Rule, Setting};
use crate::units::{Dimension, Length, Quantity};

crate::declare_check! {
    /// # What is measured
    /// The routed length of every member of a group, or the delay of its route, whichever unit `warn` and `limit` have,
    /// held against one of them or against a target. A net counts with its own, a pair with the mean of its two legs, so
    /// groups of nets, of pairs, and of both can be matched. How a delay comes about: see `pair-skew`.
    ///
    #[doc = crate::length_rule!()]
    ///
    /// Which route of a net with more than two pads counts: if all members reach two or more parts in common, the routes
    /// between the largest of these parts and each of the others are matched, one set for each. Otherwise only nets with
    /// two pads are measured, and the others are unchecked.
    ///
    /// With `per = "link"` only members that join the same two parts are matched with each other; a pair whose legs end on
    /// parts of their own, such as capacitors, is unchecked. Without it the whole group is one set.
    ///
    /// `against = "longest"` (if not stated) takes the longest member of the set, or the latest, so the value of the shortest
    /// one is the spread; `"shortest"` and `"median"` take that member; `target = "24.5 mm"` a stated length, `"150 ps"` a
    /// stated delay.
    ///
    /// # Why it matters
    /// Signals that are sampled together must arrive together. 1 mm is 5.5 to 6.9 ps, by layer.
    ///
    /// # How to read a finding
    /// The finding names the member, how much it differs from which other, and both lengths. `unchecked` means that a
    /// member has no route, or that barrels differ and the stackup does not state their heights. Barrels between the same
    /// layers cancel and need no stackup; and no barrel is higher than the board is thick, which may be enough to tell. For
    /// delays: that there is no stackup, that the delay of a part is not known, or that a difference is within the limit by
    /// less than the method's error. A delay that is not known might be the latest: then no other member passes.
    ///
    /// # How to correct it
    /// Lengthen the shorter members near where the difference arises, or shorten the longest. Match byte by byte, not
    /// across bytes, unless the interface asks for it.
    ///
    /// # Sources
    /// By byte only, 25 mil between data and strobe: SPRSP09B table 5-58. 0.35 ns between the lanes of a card: card
    /// specification 4.0, 4.7.5, as quoted in a developer forum. 6.7 to 6.9 ps/mm in stripline, 5.9 ps/mm in microstrip,
    /// for planning: DG-10931-001.
    pub LengthMatch {
        name: "length-match",
        summary: "members of a group against each other or a target length",
        limit: &[Dimension::Length, Dimension::Time],
        level: Level::Error,
        groups: true,
        parameters: &[
            Parameter {
                key: "against",
                kind: ParameterKind::Word(&["longest", "shortest", "median"]),
                about: "the member that the others are held against; the longest if not stated",
            },
            Parameter {
                key: "per",
                kind: ParameterKind::Word(&["group", "link"]),
                about: "whether all members of the group are matched, or those that join the same parts; the group if \
                        not stated",
            },
            Parameter {
                key: "target",
                kind: ParameterKind::Quantity(&[Dimension::Length, Dimension::Time]),
                about: "a length or a delay to hold every member against, instead of another member",
            },
        ],
    }
    run = run;
    signals = asked;
}

pub(super) const NAME: &str = "length-match";

fn run(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> {
    facts.selection(rule).into_iter().flat_map(|group| group_verdicts(facts, rule, group)).collect()
}

fn group_verdicts(facts: &Facts<'_>, rule: &Rule, group: &Selection) -> Vec<Verdict> {
    let found = members(facts, group, by_link(rule));
    let mut verdicts: Vec<Verdict> = found
        .missing
        .into_iter()
        .map(|(subject, missing, place)| Verdict {
            place,
            ..verdict(subject, Outcome::Unchecked { missing: missing.clone() }, missing)
        })
        .collect();
    for set in &found.sets {
        verdicts.extend(if asked(rule) {
            in_time(facts, rule, group, set)
        } else {
            set_verdicts(facts, rule, group, set)
        });
    }
    verdicts
}

pub(super) fn verdict(subject: Subject, outcome: Outcome, message: Message) -> Verdict {
    Verdict {
        check: NAME,
        subject,
        outcome,
        value: None,
        limit: None,
        message,
        help: None,
        place: None,
        related: Vec::new(),
        layers: LayerSet::EMPTY,
    }
}

/// What members are held against.
enum Reference<'m> {
    Member(&'m Member, &'static str),
    Target(Length),
}

pub(super) fn word<'r>(rule: &'r Rule, key: &str) -> Option<&'r str> {
    match rule.settings.get(key).map(|at| &at.value) {
        Some(Setting::Word(word)) => Some(word),
        _ => None,
    }
}

fn by_link(rule: &Rule) -> bool {
    word(rule, "per") == Some("link")
}

fn set_verdicts(facts: &Facts<'_>, rule: &Rule, group: &Selection, set: &[Member]) -> Vec<Verdict> {
    let target = match rule.settings.get("target").map(|at| &at.value) {
        Some(Setting::Quantity(Quantity::Length(target))) => Some(*target),
        _ => None,
    };
    let reference = match target {
        Some(target) => Some(Reference::Target(target)),
        None => reference(rule, set),
    };
    match reference {
        Some(reference) => set.iter().map(|member| member_verdict(facts, rule, group, member, &reference)).collect(),
        None => set.iter().map(|member| bounded(facts, rule, group, member, set)).collect(),
    }
}

/// A verdict where barrels of unknown height differ: no barrel is higher than the board is thick.
fn bounded(facts: &Facts<'_>, rule: &Rule, group: &Selection, member: &Member, set: &[Member]) -> Verdict {
    let place = Some(pad_place(facts, member.pads.0, Message::new("this member")));
    let layers = set.iter().fold(member.layers, |layers, other| layers.or(other.layers));
    let sign = match word(rule, "against") {
        None | Some("longest") => Some(1.0),
        Some("shortest") => Some(-1.0),
        Some(_) => None,
    };
    if let (Some(thickness), Some(sign)) = (facts.thickness(), sign) {
        let others = set.iter().map(|other| {
            let (least, most) = other.measure.bounds(&member.measure, thickness.to_nm());
            if sign > 0.0 { (least, most) } else { (-most, -least) }
        });
        let (least, most) =
            others.fold((0.0f64, 0.0f64), |(least, most), (low, high)| (least.max(low), most.max(high)));
        // The most that it can be tells of a pass, the least of a failure.
        for (value, most) in [(most, true), (least, false)] {
            let value = Length::nm(value);
            let (outcome, limit) = judge(rule, Quantity::Length(value), Sense::AtMost);
            if matches!(outcome, Outcome::Pass) == most {
                let message = Message::new(match (most, sign > 0.0) {
                    (true, true) => "{member} is at most {value} shorter than the longest of {group}, {whatever}",
                    (false, true) => "{member} is at least {value} shorter than the longest of {group}, {whatever}",
                    (true, false) => "{member} is at most {value} longer than the shortest of {group}, {whatever}",
                    (false, false) => "{member} is at least {value} longer than the shortest of {group}, {whatever}",
                })
                .with("member", member.subject.name.as_str())
                .with("value", value)
                .with("group", group.group.as_str())
                .with("whatever", super::Value::Word("whatever heights its barrels have within the board"));
                let value = Some(Quantity::Length(value));
                return Verdict { value, limit, place, layers, ..verdict(member.subject.clone(), outcome, message) };
            }
        }
    }
    let missing = Message::new(if facts.has_unfit_stackup() {
        "the barrels of {group} differ and their heights are not known: the rule set's stackup does not fit the board"
    } else {
        "the barrels of {group} differ and their heights are not known: the board has no stackup"
    })
    .with("group", group.group.as_str());
    let outcome = Outcome::Unchecked { missing: missing.clone() };
    Verdict { place, layers, ..verdict(member.subject.clone(), outcome, missing) }
}

/// The member that the rule names; `None` if the members can't be put in order.
fn reference<'m>(rule: &Rule, set: &'m [Member]) -> Option<Reference<'m>> {
    let first = set.first()?;
    let mut order: Vec<(f64, &Member)> =
        set.iter().map(|member| Some((member.measure.longer_than(&first.measure)?, member))).collect::<Option<_>>()?;
    order.sort_by(|one, other| one.0.total_cmp(&other.0).then_with(|| one.1.subject.cmp(&other.1.subject)));
    let (at, word) = match word(rule, "against") {
        Some("shortest") => (0, "the shortest"),
        // Of an even number the longer of the two in the middle.
        Some("median") => (order.len() / 2, "the median"),
        _ => (order.len() - 1, "the longest"),
    };
    order.get(at).map(|(_, member)| Reference::Member(member, word))
}

fn member_verdict(
    facts: &Facts<'_>,
    rule: &Rule,
    group: &Selection,
    member: &Member,
    reference: &Reference<'_>,
) -> Verdict {
    let difference = match reference {
        Reference::Member(other, _) => member.measure.longer_than(&other.measure),
        Reference::Target(target) => member.measure.total().map(|total| total - target.to_nm()),
    };
    let label = Message::new("one end of {member}").with("member", member.subject.name.as_str());
    let place = Some(pad_place(facts, member.pads.0, label));
    let Some(difference) = difference else {
        let missing = Message::new(if facts.has_unfit_stackup() {
            "the rule set's stackup does not fit the board, so the barrels of {member} have no known height"
        } else {
            "the board has no stackup, so the barrels of {member} have no known height"
        })
        .with("member", member.subject.name.as_str());
        let outcome = Outcome::Unchecked { missing: missing.clone() };
        return Verdict { place, layers: member.layers, ..verdict(member.subject.clone(), outcome, missing) };
    };
    let value = Length::nm(difference.abs());
    let (outcome, limit) = judge(rule, Quantity::Length(value), Sense::AtMost);
    let failed = matches!(outcome, Outcome::Fail(_));
    let mut related: Vec<Place> = member.loops.clone();
    let mut layers = member.layers;
    if let Reference::Member(other, word) = reference
        && other.subject != member.subject
    {
        let label = Message::new("one end of {member}, {word}")
            .with("member", other.subject.name.as_str())
            .with("word", super::Value::Word(word));
        related.insert(0, pad_place(facts, other.pads.0, label));
        layers = layers.or(other.layers);
    }
    Verdict {
        value: Some(Quantity::Length(value)),
        limit,
        help: failed.then(|| {
            if difference < 0.0 {
                Message::new("lengthen {member}, near where it became the shorter one")
            } else {
                Message::new("shorten {member}, or lengthen the others")
            }
            .with("member", member.subject.name.as_str())
        }),
        place,
        related,
        layers,
        ..verdict(member.subject.clone(), outcome, sentence(group, by_link(rule), member, reference, difference))
    }
}

fn sentence(group: &Selection, by_link: bool, member: &Member, reference: &Reference<'_>, difference: f64) -> Message {
    let value = Length::nm(difference.abs());
    let shorter = difference < 0.0;
    let message = match reference {
        Reference::Target(_) if shorter => Message::new("{member} is {value} shorter than the target of {target}"),
        Reference::Target(_) => Message::new("{member} is {value} longer than the target of {target}"),
        Reference::Member(other, _) if other.subject == member.subject && member.alone => Message::new(if by_link {
            "{member} is the only member of {group} on its link"
        } else {
            "{member} is the only member of {group}"
        }),
        Reference::Member(other, _) if other.subject == member.subject => Message::new("{member} is {word} of {group}"),
        Reference::Member(..) if shorter => Message::new("{member} is {value} shorter than {other}, {word} of {group}"),
        Reference::Member(..) => Message::new("{member} is {value} longer than {other}, {word} of {group}"),
    };
    let mut message = message
        .with("member", member.subject.name.as_str())
        .with("value", value)
        .with("group", group.group.as_str())
        .with("length", member.measure.shown());
    match reference {
        Reference::Target(target) => message = message.with("target", *target),
        Reference::Member(other, word) => {
            message = message.with("other", other.subject.name.as_str()).with("word", super::Value::Word(word));
        }
    }
    message
}

impl Measure {
    /// The length to show: with barrels if their heights are known.
    fn shown(&self) -> Length {
        Length::nm(self.total().unwrap_or(self.planar))
    }
}
