//! Net classes from the project file: every form of membership, and faults of the file.

use crate::support::{corpus, read_text};
use std::path::Path;
use std::sync::Arc;
use throughline::board::{Board, NetClass, read_project};
use throughline::source::{Fault, SourceFile};

fn board() -> Board {
    let nets = ["GND", "/ddr/DQ0", "/ddr/DQ1", "/ddr/DQS_P", "/usb/D+", "CLK"];
    let rows: String = nets.iter().enumerate().map(|(at, net)| format!("(net {} \"{net}\") ", at + 1)).collect();
    read_text("b", &format!("(kicad_pcb (version 20240108) (layers (0 \"F.Cu\" signal)) (net 0 \"\") {rows})")).unwrap()
}

fn with(json: &str) -> Result<Board, Box<Fault>> {
    let mut board = board();
    read_project(&mut board, &Arc::new(SourceFile::new("b.kicad_pro", json)))?;
    Ok(board)
}

/// Classes with their members, in order.
fn members(board: &Board) -> Vec<(String, Vec<&str>)> {
    let names = |class: &NetClass| class.nets.iter().map(|&net| board.nets.name(net)).collect();
    board.classes.iter().map(|class| (class.name.clone(), names(class))).collect()
}

fn class(name: &str, members: &[&'static str]) -> (String, Vec<&'static str>) {
    (name.to_owned(), members.to_vec())
}

#[test]
fn lists_in_the_classes() {
    let board = with(
        r#"{"net_settings": {"meta": {"version": 2}, "classes": [
            {"name": "Default", "track_width": 0.15, "clearance": null},
            {"name": "ddr", "track_width": 0.1, "diff_pair_gap": 0.127, "via_drill": 0.2, "nets": ["/ddr/DQ0", "/ddr/DQ1", "/gone"]}]}}"#,
    )
    .unwrap();
    let rest = ["GND", "/ddr/DQS_P", "/usb/D+", "CLK"];
    assert_eq!(members(&board), [class("Default", &rest), class("ddr", &["/ddr/DQ0", "/ddr/DQ1"])]);
    let ddr = &board.classes[1];
    assert_eq!(ddr.track_width.unwrap().to_nm(), 100_000.0);
    assert_eq!(ddr.pair_gap.unwrap().to_nm(), 127_000.0);
    assert_eq!(ddr.via_drill.unwrap().to_nm(), 200_000.0);
    assert_eq!((ddr.clearance, board.classes[0].clearance), (None, None));
    assert_eq!(ddr.file, "b.kicad_pro");
}

#[test]
fn one_class_per_net_and_patterns() {
    let board = with(
        r#"{"net_settings": {"meta": {"version": 3}, "classes": [{"name": "Default"}, {"name": "ddr"}, {"name": "fast"}],
            "netclass_assignments": {"CLK": "fast", "/usb/D+": "ddr"},
            "netclass_patterns": [{"netclass": "ddr", "pattern": "/ddr/DQ?"}, {"netclass": "fast", "pattern": "/*"}]}}"#,
    )
    .unwrap();
    // A name that is assigned is no longer matched, and the first pattern wins.
    let want = [
        class("Default", &["GND"]),
        class("ddr", &["/ddr/DQ0", "/ddr/DQ1", "/usb/D+"]),
        class("fast", &["/ddr/DQS_P", "CLK"]),
    ];
    assert_eq!(members(&board), want);
}

#[test]
fn several_classes_per_net() {
    let board = with(
        r#"{"net_settings": {"meta": {"version": 4}, "classes": [
                {"name": "Default", "priority": 2147483647}, {"name": "ddr", "priority": 1}, {"name": "fast", "priority": 0}],
            "netclass_assignments": {"CLK": ["fast", "ddr"], "GND": null},
            "netclass_patterns": [{"netclass": "ddr", "pattern": "/ddr/*"}, {"netclass": "fast", "pattern": "*DQS*"}]}}"#,
    )
    .unwrap();
    let want = [
        class("Default", &["GND", "/usb/D+"]),
        class("ddr", &["/ddr/DQ0", "/ddr/DQ1", "/ddr/DQS_P", "CLK"]),
        class("fast", &["/ddr/DQS_P", "CLK"]),
    ];
    assert_eq!(members(&board), want);
    assert_eq!(board.classes.iter().map(|class| class.priority).collect::<Vec<_>>(), [2_147_483_647, 1, 0]);
    assert!(board.classes[2].contains(board.nets.find("CLK").unwrap()));
    assert!(!board.classes[2].contains(board.nets.find("GND").unwrap()));
}

#[test]
fn a_net_of_an_undescribed_class_is_not_standard() {
    let board =
        with(r#"{"net_settings": {"classes": [{"name": "Default"}], "netclass_assignments": {"CLK": "gone"}}}"#)
            .unwrap();
    assert!(!members(&board)[0].1.contains(&"CLK"));
}

#[test]
fn patterns_with_stars_match_whole_names_and_end() {
    let matching = |pattern: &str| {
        let json = format!(
            r#"{{"net_settings": {{"classes": [{{"name": "x"}}], "netclass_patterns": [{{"netclass": "x", "pattern": "{pattern}"}}]}}}}"#
        );
        let board = with(&json).unwrap();
        members(&board).remove(0).1.into_iter().map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(matching("CLK"), ["CLK"]);
    assert_eq!(matching("CL"), Vec::<String>::new());
    assert_eq!(matching("*"), ["GND", "/ddr/DQ0", "/ddr/DQ1", "/ddr/DQS_P", "/usb/D+", "CLK"]);
    assert_eq!(matching("/*/D*"), ["/ddr/DQ0", "/ddr/DQ1", "/ddr/DQS_P", "/usb/D+"]);
    assert_eq!(matching("*Q?"), ["/ddr/DQ0", "/ddr/DQ1"]);
    assert_eq!(matching("/usb/D+"), ["/usb/D+"], "no regular expressions");
    assert_eq!(matching(""), Vec::<String>::new());
    // Hostile patterns take no longer than name × stars.
    assert_eq!(matching(&format!("{}x", "*?".repeat(2000))), Vec::<String>::new());
}

#[test]
fn projects_without_classes_add_none() {
    for json in ["{}", r#"{"net_settings": null}"#, r#"{"net_settings": {}}"#, r#"{"net_settings": {"classes": null}}"#]
    {
        assert_eq!(with(json).unwrap().classes, []);
    }
}

#[test]
fn absurd_lengths_are_not_taken() {
    let board =
        with(r#"{"net_settings": {"classes": [{"name": "x", "track_width": -1, "clearance": 1e300}]}}"#).unwrap();
    assert_eq!((board.classes[0].track_width, board.classes[0].clearance), (None, None));
}

#[test]
fn bad_projects_are_told_with_place() {
    let told = |json: &str| {
        let fault = with(json).unwrap_err();
        let at = fault.file.line_column(fault.span.start);
        format!("{}:{}:{}: {}; {}", fault.file.name(), at.line, at.column, fault.message, fault.label)
    };
    insta::assert_snapshot!(told(""), @"b.kicad_pro:1:1: the project file cannot be read; the file ends early");
    insta::assert_snapshot!(told("{\n  \"net_settings\": {\"classes\": [}\n}"), @"b.kicad_pro:2:32: the project file cannot be read; expected value");
    insta::assert_snapshot!(told("{\n  \"net_settings\": {\"classes\": [{\"name\": 5}]}\n}"), @"b.kicad_pro:2:41: the project file cannot be read; invalid type: integer `5`, expected a string");
    insta::assert_snapshot!(told("{\"net_settings\": {\"classes\": [{\"track_width\": \"0.1\"}]}}"), @r#"b.kicad_pro:1:51: the project file cannot be read; invalid type: string "0.1", expected a number"#);
    insta::assert_snapshot!(told(&"[".repeat(100_000)), @"b.kicad_pro:1:4: the project file cannot be read; invalid type: sequence, expected a string");
}

#[test]
fn every_project_of_the_corpus_reads() {
    for board in corpus() {
        let path = Path::new(board.source.name()).with_extension("kicad_pro");
        let Ok(text) = std::fs::read_to_string(&path) else { continue };
        let mut again = read_text("b", board.source.text()).unwrap();
        read_project(&mut again, &Arc::new(SourceFile::new(path.display().to_string(), text))).unwrap();
        let members: usize = again.classes.iter().map(|class| class.nets.len()).sum();
        assert!(members + 1 >= again.nets.len(), "{}: every net has a class", path.display());
    }
}
