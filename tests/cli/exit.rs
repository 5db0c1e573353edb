//! Exit codes with real checks: 0 judged and clean, 1 findings, 2 not judged; and what a short report looks like.

use crate::run::Folder;
use crate::schema::differences;
use crate::support::{Generation, starters};
use std::path::Path;

fn fixture(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures").join(name).to_str().unwrap().to_owned()
}

/// The demo after its hand reroute, in a folder of its own, and the given rules.
fn rerouted(rules: &str) -> Folder {
    let folder = Folder::new();
    folder.write("base.kicad_pcb", std::fs::read(fixture("recorder-reroute/base.kicad_pcb")).unwrap());
    folder.write("throughline.toml", rules);
    folder
}

/// A pair on a clean board, and the given rules.
fn pair(rules: &str, generation: Generation) -> Folder {
    let mut board = starters::bent_pair("logger", &[(7.0, 4.85), (7.5, 4.35), (8.5, 4.35), (9.0, 4.85)]);
    board.fill();
    let folder = Folder::new();
    folder.write("logger.kicad_pcb", board.text(generation));
    folder.write("throughline.toml", rules);
    folder
}

const SKEW: &str = "[groups.link]\npairs = [\"LINK_{P,N}\"]\n\n[[check]]\nuse = \"pair-skew\"\non = [\"link\"]\n";

#[test]
fn the_demo_is_clean_and_its_reroute_is_not() {
    let folder = Folder::new();
    assert_eq!(folder.run(&["check", &fixture("recorder")]).code(), 0);
    assert_eq!(folder.run(&["check", &fixture("recorder-reroute")]).code(), 1);
}

#[test]
fn the_fail_level_decides_what_a_warning_is() {
    let folder = pair(&format!("{SKEW}warn = \"0.3 mm\"\nlimit = \"0.5 mm\"\n"), Generation::V8);
    assert_eq!(folder.run(&["check"]).code(), 0);
    assert_eq!(folder.run(&["check", "--fail-on", "warning"]).code(), 1);
    let folder = pair(&format!("{SKEW}limit = \"0.3 mm\"\n"), Generation::V8);
    assert_eq!(folder.run(&["check"]).code(), 1);
    let folder = pair(&format!("{SKEW}limit = \"0.3 mm\"\nlevel = \"warning\"\n"), Generation::V8);
    assert_eq!(folder.run(&["check"]).code(), 0);
}

#[test]
fn the_same_code_for_every_report() {
    let folder = pair(&format!("{SKEW}limit = \"0.3 mm\"\n"), Generation::V8);
    for report in ["text", "line", "json"] {
        assert_eq!(folder.run(&["check", "--report", report]).code(), 1, "{report}");
    }
}

#[test]
fn the_json_report_of_a_real_run_is_what_its_schema_says() {
    let rules = fixture("recorder/throughline.toml");
    let folder = rerouted(&std::fs::read_to_string(rules).unwrap());
    let ran = folder.run(&["check", "--report", "json"]);
    let report: serde_json::Value = serde_json::from_str(ran.out()).unwrap();
    assert_eq!(differences(throughline::report::CHECK_SCHEMA, &report), [""; 0]);
    let prints: Vec<&str> =
        report["verdicts"].as_array().unwrap().iter().map(|row| row["fingerprint"].as_str().unwrap()).collect();
    assert_eq!(prints.iter().collect::<std::collections::BTreeSet<_>>().len(), prints.len(), "each has its own");
}

/// The same file twice is one board; two files of one name are two.
#[test]
fn a_board_counts_once() {
    let folder = pair(&format!("{SKEW}limit = \"0.5 mm\"\n"), Generation::V8);
    let boards = |arguments: &[&str]| {
        let ran = folder.run(&[&["check"][..], arguments].concat());
        ran.out().lines().filter(|line| line.starts_with("board  ")).count()
    };
    assert_eq!(boards(&["logger.kicad_pcb", ".", "./logger.kicad_pcb"]), 1);
    std::fs::create_dir(folder.path().join("old")).unwrap();
    std::fs::copy(folder.path().join("logger.kicad_pcb"), folder.path().join("old/logger.kicad_pcb")).unwrap();
    assert_eq!(boards(&[".", "old"]), 2);
}

#[test]
fn what_could_not_be_judged_is_no_pass() {
    // A file of generation 5 states no stackup, so no delay is known and a limit in time can't be held.
    let rules = format!("{SKEW}limit = \"1 ps\"\n");
    let folder = pair(&rules, Generation::V5);
    let ran = folder.run(&["check"]);
    assert_eq!(ran.code(), 2, "{}", ran.out());
    assert!(ran.out().ends_with("could not be checked\n"), "{}", ran.out());
    // A milder rule counts from its level on.
    let folder = pair(&format!("{rules}level = \"warning\"\n"), Generation::V5);
    assert_eq!(folder.run(&["check"]).code(), 0);
    assert_eq!(folder.run(&["check", "--fail-on", "warning"]).code(), 2);
}

#[test]
fn a_group_that_the_board_lacks_is_no_pass() {
    let rules = format!("{}limit = \"0.3 mm\"\n", SKEW.replace("LINK", "LANE"));
    let ran = pair(&rules, Generation::V8).run(&["check"]);
    assert_eq!(ran.code(), 2);
    insta::assert_snapshot!(ran.out(), @r#"
    board  logger.kicad_pcb: 4 copper layers, 3 nets, format 20240108
    rules  throughline.toml, the nearest one to the board

    not checked  no pair matches `LANE_{P,N}`
           [throughline.toml:2:10]
       2 │ pairs = ["LANE_{P,N}"]
         │          ────────────
         │                    on board `logger`
        nearest names: `LINK_N`, `LINK_P`

    not checked  1 rule found nothing to look at
        pair-skew  group `link` selects nothing here  throughline.toml:4:1

    check      examined  passed  errors  warnings  notes  not checked
    pair-skew         0       -       -         -      -            -

    0 errors, 0 warnings, 0 not checked, 0 passed
    not judged: no check looked at anything
    "#);
}

#[test]
fn checks_can_be_left_out_but_not_in_silence() {
    let rules = "[[check]]\nuse = \"net-short\"\n\n[[check]]\nuse = \"stale-fill\"\n\n[[check]]\nuse = \"net-open\"\n";
    let folder = rerouted(rules);
    let ran = folder.run(&["check", "--only", "stale-fill"]);
    insta::assert_snapshot!(ran.out(), @r#"
    board  base.kicad_pcb: 6 copper layers, 30 nets, format 20241229
    rules  throughline.toml, the nearest one to the board
           left out on the command line: net-open, net-short

    error  stale-fill  zone `VNAND_2V5 on In3.Cu`
        the fill of `VNAND_2V5` lies on foreign copper
        base.kicad_pcb:11409:3: layer `In3.Cu`, x 3.6, y 22.5 mm
               [base.kicad_pcb:11409:3]
       11409 │   (via
             │    ───
             │         via of `GND`
       11410 │     (at 3.6 22.5)
       11411 │     (size 0.4)
               [base.kicad_pcb:15877:3]
       15877 │   (zone
             │    ────
             │          the zone: layer `In3.Cu`
       15878 │     (net 4)
       15879 │     (net_name "VNAND_2V5")
        to do: fill all zones, save the board and check it again
        fingerprint d25d798bea04a270

    check       examined  passed  errors  warnings  notes  not checked
    stale-fill         7       6       1         -      -            -

    1 error, 0 warnings, 0 not checked, 6 passed
    fails: a finding is at or above the fail level `error`
    "#);
    let ran = folder.run(&["check", "--skip", "net-short", "--skip", "net-open"]);
    assert!(ran.out().contains("left out on the command line: net-open, net-short\n"), "{}", ran.out());
    let refused = folder.run(&["check", "--only", "pair-skew"]);
    assert_eq!(refused.refused(), "error the rule set `throughline.toml` doesn't ask for the check `pair-skew`\n");
    let refused = folder.run(&["check", "--skip", "pair-scew"]);
    assert_eq!(refused.refused(), "error there is no check `pair-scew`\n  help: did you mean `pair-skew`?\n");
    // Nothing is left: nothing is proven.
    let all = ["net-short", "net-open", "stale-fill"].map(|check| ["--skip", check]).concat();
    assert_eq!(folder.run(&[&["check"][..], &all].concat()).code(), 2);
}

#[test]
fn several_boards_share_a_rule_set() {
    let folder = pair(&format!("{SKEW}limit = \"0.5 mm\"\n"), Generation::V8);
    let mut other = starters::two_pads("sensor", "SENSE");
    other.fill();
    folder.write("sensor.kicad_pcb", other.text(Generation::V8));
    // One board has the pair: that the other lacks it is no problem.
    let ran = folder.run(&["check"]);
    assert_eq!(ran.code(), 0, "{}", ran.out());
    assert_eq!(folder.run(&["check", "sensor.kicad_pcb"]).code(), 2);
}

#[test]
fn every_check_explains_itself() {
    let folder = Folder::new();
    let list = folder.run(&["checks"]);
    assert_eq!((list.code(), list.err()), (0, ""));
    for check in throughline::checks::ALL {
        let info = check.info();
        let name = info.schema.name;
        assert!(list.out().contains(&format!("\n{name}  {}\n", info.summary)), "{name} is not listed");
        let page = folder.run(&["explain", name]);
        assert_eq!((page.code(), page.err()), (0, ""));
        for title in ["What is measured", "Why it matters", "How to read a finding", "How to correct it", "Sources"] {
            assert!(page.out().contains(&format!("\n{title}\n")), "{name} lacks `{title}`:\n{}", page.out());
        }
        assert!(page.out().contains("\nIn force\n  rules  serial-16g.toml, shipped with throughline"), "{name}");
        assert!(page.out().lines().all(|line| line.chars().count() <= 100), "{name} has a long line");
        assert!(!page.out().contains("\n#"), "{name}: a heading is not rendered");
    }
}

#[test]
fn a_page_tells_the_limits_in_force() {
    let folder = Folder::new();
    folder.write(
        "throughline.toml",
        "extends = [\"serial-16g\"]\n\n[[check]]\nuse = \"via-stub\"\non = [\"lanes\"]\nlimit = \"0.6 mm\"\n\n\
         [[check]]\nuse = \"pad-neck\"\non = [\"lanes\"]\nlevel = \"off\"\n",
    );
    let force = |check: &str| {
        let page = folder.run(&["explain", check]);
        page.out().split_once("In force\n").unwrap().1.to_owned()
    };
    // The line of the shipped set that states the warning, wherever it stands now.
    let shipped = include_str!("../../rules/serial-16g.toml");
    let line = 1 + shipped.lines().position(|line| line.starts_with("warn") && line.contains("0.4 mm")).unwrap();
    let told = force("via-stub").replace(&format!("serial-16g.toml:{line}:10"), "the shipped set");
    insta::assert_snapshot!(told, @r#"
    rules  throughline.toml, the nearest one
    error on `lanes`  throughline.toml:3:1
      warn 0.4 mm  the shipped set
      limit 0.6 mm  throughline.toml:6:9
    "#);
    insta::assert_snapshot!(force("pad-neck"), @r#"
    rules  throughline.toml, the nearest one
    switched off on `lanes`  throughline.toml:8:1
    "#);
    let near = folder.run(&["explain", "via-stubs"]);
    assert_eq!(near.refused(), "error there is no check `via-stubs`\n  help: did you mean `via-stub`?\n");
}
