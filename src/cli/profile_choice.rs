//! Which channel `profile` looks at: by its name, and by its ends where it has several.

use super::arguments::ProfileArguments;
use super::trouble::Troubles;
use crate::board::{Board, NetId, PadId};
use crate::checks::{Facts, Pair};
use crate::copper::pad_name;
use crate::copper::pair::{Legs, reversed};
use crate::measure::{Aim, Ways, matched, pairs};
use crate::nearest::nearest;
use crate::source::printable_name;

/// The channel.
pub struct Choice {
    /// Its name.
    pub name: String,
    /// Its routes.
    pub ways: Ways,
    /// What the rule set says of it.
    pub aim: Aim,
}

/// How many ways a complaint lists.
const LISTED: usize = 6;

/// The channel that the arguments name.
pub fn choose(arguments: &ProfileArguments, facts: &Facts<'_>) -> Result<Choice, Troubles> {
    let ends = Ends { from: arguments.from.as_deref(), to: arguments.to.as_deref() };
    match (&arguments.pair, &arguments.net) {
        (Some(name), _) => of_pair(facts, name, ends),
        (None, Some(name)) => of_net(facts, name, ends),
        (None, None) => Err(Troubles::plain("no channel is named", Some("name one with `--pair` or `--net`".into()))),
    }
}

fn of_pair(facts: &Facts<'_>, name: &str, ends: Ends<'_>) -> Result<Choice, Troubles> {
    let all = pairs(facts);
    let names: Vec<&str> = all.iter().map(|pair| pair.name.as_str()).collect();
    let board = facts.board;
    let at = named(&names, name).map_err(|found| match found.as_slice() {
        [] => {
            let leg = net(board, name).ok().and_then(|net| all.iter().find(|pair| pair.p == net || pair.n == net));
            let help = match (leg, near(&names, name)) {
                (Some(pair), _) => format!("it is a net, a leg of the pair `{}`", printable_name(&pair.name)),
                (None, Some(near)) => format!("did you mean `{}`?", printable_name(near)),
                (None, None) => "`throughline measure` lists the pairs of a board".to_owned(),
            };
            Troubles::plain(format!("no pair of this board is called `{}`", printable_name(name)), Some(help))
        }
        several => ambiguous("pair", name, several),
    })?;
    let Some(pair): Option<&Pair> = all.get(at) else {
        return Err(Troubles::plain(format!("no pair of this board is called `{}`", printable_name(name)), None));
    };
    let ways = matched(facts, pair).legs;
    let turned = |legs: &Legs| Legs { p: reversed(&legs.p), n: reversed(&legs.n) };
    let pads = |legs: &Legs| [vec![legs.p.from, legs.n.from], vec![legs.p.to, legs.n.to]];
    let legs = pick(board, "pair", &pair.name, ways, ends, pads, turned)?;
    Ok(Choice { name: pair.name.clone(), ways: Ways::Pair(Box::new(legs)), aim: Aim::of_pair(facts, pair) })
}

fn of_net(facts: &Facts<'_>, name: &str, ends: Ends<'_>) -> Result<Choice, Troubles> {
    let board = facts.board;
    let id = net(board, name).map_err(|found| match found.as_slice() {
        [] => {
            let names: Vec<&str> = net_names(board).map(|(_, name)| name).collect();
            let help = near(&names, name).map_or_else(
                || "`throughline measure` lists the nets of a board".to_owned(),
                |near| format!("did you mean `{}`?", printable_name(near)),
            );
            Troubles::plain(format!("no net of this board is called `{}`", printable_name(name)), Some(help))
        }
        several => ambiguous("net", name, several),
    })?;
    let found = facts.copper.routes(id);
    let mut ways = found.routes.clone();
    // A net of many pads has no route for every two of them; two named ones get theirs.
    if let (Some(from), Some(to)) = (ends.from, ends.to) {
        let only = |end: &str| match found.pads.iter().filter(|pad| is_end(board, **pad, end)).collect::<Vec<_>>()[..] {
            [pad] => Some(*pad),
            _ => None,
        };
        if let (Some(from), Some(to)) = (only(from), only(to)) {
            ways = facts.copper.route(from, to).into_iter().collect();
        }
    }
    let full = board.nets.name(id);
    let route = pick(board, "net", full, ways, ends, |route| [vec![route.from], vec![route.to]], reversed)?;
    Ok(Choice { name: full.to_owned(), ways: Ways::Net(route), aim: Aim::of_net(facts, id) })
}

fn net_names(board: &Board) -> impl Iterator<Item = (NetId, &str)> {
    board.nets.iter().filter(|(id, net)| id.is_some() && !net.name.is_empty()).map(|(id, net)| (id, net.name.as_str()))
}

/// The net of a name; else the names that it may mean.
fn net(board: &Board, name: &str) -> Result<NetId, Vec<String>> {
    let (ids, names): (Vec<NetId>, Vec<&str>) = net_names(board).unzip();
    named(&names, name).and_then(|at| ids.get(at).copied().ok_or_else(Vec::new))
}

/// Which of some names is meant: the whole name, or the last part of a path.
fn named(names: &[&str], wanted: &str) -> Result<usize, Vec<String>> {
    let place = |fits: &dyn Fn(&str) -> bool| {
        let found: Vec<usize> = names.iter().zip(0..).filter(|(name, _)| fits(name)).map(|(_, at)| at).collect();
        found
    };
    let whole = place(&|name| name == wanted);
    let found = if whole.is_empty() { place(&|name| last(name) == wanted) } else { whole };
    match found.as_slice() {
        [at] => Ok(*at),
        several => Err(several.iter().filter_map(|at| names.get(*at)).map(|name| (*name).to_owned()).collect()),
    }
}

fn last(name: &str) -> &str {
    name.rsplit('/').next().unwrap_or(name)
}

fn near<'n>(names: &[&'n str], wanted: &str) -> Option<&'n str> {
    let lasts = names.iter().map(|name| last(name));
    let short = || nearest(wanted, lasts).and_then(|near| names.iter().find(|name| last(name) == near).copied());
    nearest(wanted, names.iter().copied()).or_else(short)
}

fn ambiguous(kind: &str, name: &str, several: &[String]) -> Troubles {
    let list: Vec<_> = several.iter().map(|name| format!("`{}`", printable_name(name))).collect();
    Troubles::plain(
        format!("{} {kind}s are called `{}`", several.len(), printable_name(name)),
        Some(format!("name it in full: {}", list.join(", "))),
    )
}

/// The ends that are asked for: pads or parts.
#[derive(Clone, Copy)]
struct Ends<'a> {
    from: Option<&'a str>,
    to: Option<&'a str>,
}

/// Whether a pad is the one that is named, or of the part that is.
fn is_end(board: &Board, pad: PadId, end: &str) -> bool {
    let part = board.pads.get(pad).and_then(|pad| board.footprints.get(pad.footprint));
    pad_name(board, pad) == end || part.is_some_and(|part| part.reference == end)
}

/// The only way that has the ends asked for, walked from the first of them.
fn pick<W>(
    board: &Board,
    kind: &str,
    name: &str,
    ways: Vec<W>,
    ends: Ends<'_>,
    pads: impl Fn(&W) -> [Vec<PadId>; 2],
    turned: impl Fn(&W) -> W,
) -> Result<W, Troubles> {
    let name = printable_name(name);
    let listed: Vec<String> = ways.iter().map(|way| words(board, &pads(way))).collect();
    let list = || {
        let more = listed.len().saturating_sub(LISTED);
        let mut text = listed.iter().take(LISTED).cloned().collect::<Vec<_>>().join(", ");
        if more > 0 {
            text.push_str(&format!(", and {more} more"));
        }
        text
    };
    let count = ways.len();
    if count == 0 {
        return Err(Troubles::plain(format!("copper joins no two pads of {kind} `{name}`"), None));
    }
    let fits = |at: &[PadId], end: Option<&str>| end.is_none_or(|end| at.iter().any(|pad| is_end(board, *pad, end)));
    let mut found: Vec<W> = ways
        .into_iter()
        .filter_map(|way| {
            let [from, to] = pads(&way);
            if fits(&from, ends.from) && fits(&to, ends.to) {
                Some(way)
            } else if fits(&to, ends.from) && fits(&from, ends.to) {
                Some(turned(&way))
            } else {
                None
            }
        })
        .collect();
    match (found.pop(), found.len()) {
        (Some(way), 0) => Ok(way),
        (None, _) => {
            let asked = [("from", ends.from), ("to", ends.to)];
            let asked: Vec<_> = asked
                .into_iter()
                .filter_map(|(word, end)| Some(format!("{word} `{}`", printable_name(end?))))
                .collect();
            Err(Troubles::plain(
                format!("{kind} `{name}` has no way {}", asked.join(" ")),
                Some(format!("it has {}", list())),
            ))
        }
        (Some(_), others) => Err(Troubles::plain(
            format!("{kind} `{name}` has {} ways that fit, of {count}", others + 1),
            Some(format!("choose one with `--from` and `--to`, a pad or a part: {}", list())),
        )),
    }
}

fn words(board: &Board, [from, to]: &[Vec<PadId>; 2]) -> String {
    let both = |pads: &[PadId]| {
        pads.iter().map(|pad| printable_name(&pad_name(board, *pad)).into_owned()).collect::<Vec<_>>().join("/")
    };
    format!("{} to {}", both(from), both(to))
}
