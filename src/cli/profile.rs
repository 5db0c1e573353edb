//! `throughline profile`: one channel from end to end, as a picture, values, or a Touchstone file.

use super::arguments::{Global, ProfileArguments};
use super::outcome::Exit;
use super::output::{self, Format, Report, Streams, deliver};
use super::profile_choice::{Choice, choose};
use super::trouble::Troubles;
use super::{groups, load, rule_set, stackup};
use crate::board::Board;
use crate::checks::{Facts, Stated};
use crate::measure::{Ports, Profile, Wanted, Ways};
use crate::report::{self, Profiled, StackupOf};
use crate::signal::NoBasis;
use crate::source::excerpt::{Gravity, Notice};
use crate::source::printable_name;

/// Reports of this command, the default first.
const FORMATS: &[Format] = &[Format::Svg, Format::Csv, Format::Touchstone];

/// Runs the command.
pub fn run(arguments: &ProfileArguments, global: &Global, streams: &Streams) -> Result<Exit, Troubles> {
    let reports = global.reports_as_asked(FORMATS).map_err(|fact| Troubles::plain(fact, None))?;
    let is_pair = arguments.pair.is_some();
    for report in &reports {
        ending(report, is_pair)?;
    }
    let paths = load::board_paths(std::slice::from_ref(&arguments.input))?;
    let [_] = paths.as_slice() else {
        let names: Vec<_> = paths.iter().map(|path| format!("`{}`", path.display())).collect();
        let help = Some(format!("name one of {}", names.join(", ")));
        return Err(Troubles::plain(format!("`{}` holds {} boards", arguments.input.display(), paths.len()), help));
    };
    let chosen = rule_set::choose(global, &paths)?;
    let boards = load::boards(&paths)?;
    let stated = stackup::stated(&chosen, &boards);
    for (board, stated) in boards.iter().zip(&stated) {
        let copper = stackup::copper(board, stated.as_ref());
        let selected = groups::on(&copper, &chosen);
        for problem in stackup::problems(std::slice::from_ref(stated)) {
            output::complain(&Notice::of(&problem.fault, Gravity::Warning).render(&streams.complaints()));
        }
        let facts = Facts::resting_on(&copper, stated.as_ref(), selected.selections);
        one(arguments, &reports, &facts, streams)?;
    }
    Ok(Exit::Clean)
}

fn one(arguments: &ProfileArguments, reports: &[Report], facts: &Facts<'_>, streams: &Streams) -> Result<(), Troubles> {
    let Choice { name, ways, aim } = choose(arguments, facts)?;
    let wanted = Wanted { rise: arguments.rise, source: arguments.source };
    let profile = Profile::of(facts, &name, &ways, aim, wanted)
        .map_err(|missing| no_basis(facts.board, facts.stated, missing))?;
    let profiled = Profiled { board: facts.board, stackup: StackupOf::of(facts.board, facts.stated), profile };
    if matches!(profiled.stackup, StackupOf::Placeholder) {
        let notice = Notice {
            gravity: Gravity::Warning,
            text: "the stackup looks as if nobody had entered it; every ohm and ps rests on it".to_owned(),
            excerpt: None,
            help: Some("state what the fab will build in the rule file: `[stackup]`".to_owned()),
        };
        output::complain(&notice.render(&streams.complaints()));
    }
    let (files, others): (Vec<Report>, Vec<Report>) =
        reports.iter().cloned().partition(|report| report.format == Format::Touchstone);
    deliver(&others, streams, |format, _| match format {
        Format::Csv => report::profile_csv(&profiled),
        _ => report::profile_svg(&profiled),
    })?;
    if files.is_empty() {
        return Ok(());
    }
    let ports = ports(facts, &ways, &profiled)?;
    deliver(&files, streams, |_, _| report::profile_touchstone(&profiled, &ports))
}

fn ports(facts: &Facts<'_>, ways: &Ways, profiled: &Profiled<'_>) -> Result<Ports, Troubles> {
    let frequencies = report::sweep(&profiled.profile.aim);
    Ports::of(facts, ways, &frequencies, report::REFERENCE).map_err(|why| {
        let fact =
            format!("no Touchstone file of {} `{}`: {why}", profiled.kind(), printable_name(&profiled.profile.name));
        Troubles::plain(fact, Some("the picture shows where: `--report svg=PATH`".to_owned()))
    })
}

/// A file's ending says how many ports it has; other programs believe it.
fn ending(report: &Report, is_pair: bool) -> Result<(), Troubles> {
    let (ports, wanted) = if is_pair { ("four", "s4p") } else { ("two", "s2p") };
    let ending = report.path.as_ref().and_then(|path| path.extension()).map(|end| end.to_string_lossy().to_lowercase());
    match ending {
        Some(ending) if report.format == Format::Touchstone && ending != wanted => {
            let kind = if is_pair { "pair" } else { "net" };
            Err(Troubles::plain(
                format!("a {kind} has {ports} ports, but the Touchstone file ends in `.{ending}`"),
                Some(format!("name it `.{wanted}`")),
            ))
        }
        _ => Ok(()),
    }
}

fn no_basis(board: &Board, stated: Option<&Stated<'_>>, missing: NoBasis) -> Troubles {
    let fact = match stated.and_then(|stated| stated.unfit.as_ref()) {
        Some(_) => "the rule set's stackup does not fit this board".to_owned(),
        None => missing.to_string(),
    };
    Troubles::plain(
        format!("no profile on board `{}`: {fact}", printable_name(&board.name)),
        Some("state what the fab will build in the rule file: `[stackup]`".to_owned()),
    )
}
