//! Waivers on the command line: what they waive, how they end, and how one is written.

use crate::run::Folder;
use crate::schema::differences;
use crate::support::{Generation, starters};
use serde_json::Value;

/// Two pairs, each 0.414 mm out of step, on a board whose one rule allows 0.3 mm.
const RULES: &str = "waivers = [\"waivers.toml\"]\n\n[groups.link]\npairs = [\"LINK_{P,N}\"]\n\n[[check]]\nuse = \"pair-skew\"\n\
                     on = [\"link\"]\nlimit = \"0.3 mm\"\n";

fn folder(waivers: &str) -> Folder {
    let mut board = starters::bent_pair("logger", &[(7.0, 4.85), (7.5, 4.35), (8.5, 4.35), (9.0, 4.85)]);
    board.fill();
    let folder = Folder::new();
    folder.write("logger.kicad_pcb", board.text(Generation::V8));
    folder.write("throughline.toml", RULES);
    folder.write("waivers.toml", format!("# Accepted on the logger.\n{waivers}"));
    folder
}

fn json(folder: &Folder, more: &[&str]) -> Value {
    let ran = folder.run(&[&["check", "--report", "json"][..], more].concat());
    let report = serde_json::from_str(ran.out()).unwrap();
    assert_eq!(differences(throughline::report::CHECK_SCHEMA, &report), [""; 0]);
    report
}

/// The one failure of the board.
fn fingerprint() -> String {
    let report = json(&folder(""), &[]);
    let failed = report["verdicts"].as_array().unwrap().iter().find(|verdict| verdict["outcome"] == "error");
    failed.unwrap()["fingerprint"].as_str().unwrap().to_owned()
}

fn waiver(more: &str) -> String {
    format!(
        "\n[[waive]]\ncheck  = \"pair-skew\"\nplace  = \"{}\"\nreason = \"agreed in review\"\n{more}",
        fingerprint()
    )
}

#[test]
fn a_waived_finding_no_longer_fails_but_stays_in_every_report() {
    let folder = folder(&waiver("accepted = \"0.5 mm\"\nuntil = 2027-03-01\n"));
    let ran = folder.run(&["check", "--as-of", "2027-02-01"]);
    assert_eq!(ran.code(), 0);
    insta::assert_snapshot!(ran.out(), @r#"
    board  logger.kicad_pcb: 4 copper layers, 3 nets, format 20240108
    rules  throughline.toml, the nearest one to the board
           waivers judged on 2027-02-01

    waivers  1 in force
        waived error  pair-skew  pair `LINK`, ends J1.1, J1.2, U1.1, U1.2, 0.414 mm  6e869c429628a5eb
          agreed in review; no worse than 0.5 mm; until 2027-03-01  waivers.toml:3:1

    check      examined  passed  errors  warnings  notes  not checked  waived
    pair-skew         1       -       -         -      -            -       1

    0 errors, 0 warnings, 0 not checked, 1 waived, 0 passed
    clean: no finding beyond the waived ones is at or above the fail level `error`
    "#);
    let line = folder.run(&["check", "--as-of", "2027-02-01", "--report", "line"]);
    insta::assert_snapshot!(line.out(), @"logger.kicad_pcb:226:3: waived pair-skew pair `LINK`, ends J1.1, J1.2, U1.1, U1.2: agreed in review; no worse than 0.5 mm; until 2027-03-01");
    let report = json(&folder, &["--as-of", "2027-02-01"]);
    insta::assert_snapshot!(report["waivers"].to_string(), @r#"[{"check":"pair-skew","place":"6e869c429628a5eb","board":null,"accepted":{"number":0.5,"unit":"mm"},"reason":"agreed in review","until":"2027-03-01","origin":{"file":"waivers.toml","line":3,"column":1},"fate":"in force","level":null,"message":null,"help":null}]"#);
    insta::assert_snapshot!(report["verdicts"][0]["waiver"].to_string(), @r#"{"of":"error","reason":"agreed in review","origin":{"file":"waivers.toml","line":3,"column":1}}"#);
    assert_eq!(report["verdicts"][0]["outcome"], "waived");
}

/// What a run says of a waiver: exit code, fate, level, message, label.
fn told(waivers: &str, day: &str) -> String {
    let folder = folder(waivers);
    let report = json(&folder, &["--as-of", day]);
    let code = folder.run(&["check", "--as-of", day]).code();
    let mut lines = vec![format!("exit {code}")];
    for row in report["waivers"].as_array().unwrap() {
        let text = |key: &str| row[key].as_str().unwrap_or("-").to_owned();
        lines.push(format!("{}: {}: {}", text("fate"), text("level"), text("message")));
    }
    lines.join("\n")
}

#[test]
fn a_waiver_holds_until_its_day_and_no_longer() {
    let until = waiver("accepted = \"0.5 mm\"\nuntil = 2027-03-01\n");
    insta::assert_snapshot!(told(&until, "2027-02-14"), @r#"
    exit 0
    in force: -: -
    "#);
    insta::assert_snapshot!(told(&until, "2027-02-15"), @r#"
    exit 0
    lapsing: note: the waiver of `LINK` expires in 14 days
    "#);
    insta::assert_snapshot!(told(&until, "2027-02-28"), @r#"
    exit 0
    lapsing: note: the waiver of `LINK` expires tomorrow
    "#);
    insta::assert_snapshot!(told(&until, "2027-03-01"), @r#"
    exit 0
    lapsing: note: the waiver of `LINK` expires today
    "#);
    insta::assert_snapshot!(told(&until, "2027-03-02"), @r#"
    exit 1
    expired: error: the waiver of `LINK` expired on 2027-03-01
    "#);
}

#[test]
fn a_waiver_accepts_its_value_and_nothing_worse() {
    let accepting = |value: &str| told(&waiver(&format!("accepted = {value}\n")), "2027-01-01");
    insta::assert_snapshot!(accepting("\"0.415 mm\""), @r#"
    exit 0
    in force: -: -
    "#);
    // As the report prints it: 0.4142 mm is 0.414 mm to a reader.
    insta::assert_snapshot!(accepting("\"0.414 mm\""), @r#"
    exit 0
    in force: -: -
    "#);
    insta::assert_snapshot!(accepting("\"0.413 mm\""), @r#"
    exit 1
    exceeded: error: `LINK` is 0.414 mm, worse than what is waived
    "#);
    insta::assert_snapshot!(accepting("\"3 ps\""), @r#"
    exit 1
    unclear: error: `LINK` is 0.414 mm, a length
    "#);
    insta::assert_snapshot!(accepting("\"not checked\""), @r#"
    exit 1
    exceeded: error: `LINK` can be checked now, and fails
    "#);
    insta::assert_snapshot!(told(&waiver(""), "2027-01-01"), @r#"
    exit 1
    unclear: error: the waiver of `LINK` does not say which value it accepts
    "#);
}

#[test]
fn a_waiver_without_its_finding_is_told() {
    let print = fingerprint();
    let of = |place: &str, more: &str| {
        let text = format!(
            "\n[[waive]]\ncheck = \"pair-skew\"\nplace = \"{place}\"\nreason = \"a\"\naccepted = \"1 mm\"\n{more}"
        );
        told(&text, "2027-01-01")
    };
    insta::assert_snapshot!(of("0123456789abcdef", ""), @r#"
    exit 1
    unmatched: warning: no verdict has the fingerprint `0123456789abcdef`
    "#);
    // Another board's waiver has no part in this run.
    insta::assert_snapshot!(of("0123456789abcdef", "board = \"other\"\n"), @r#"
    exit 1
    aside: -: -
    "#);
    insta::assert_snapshot!(of(&print, "board = \"other\"\n"), @r#"
    exit 1
    aside: -: -
    "#);
    // The first digits do, and so does a second waiver that names more of them.
    insta::assert_snapshot!(of(&print[..8], ""), @r#"
    exit 0
    in force: -: -
    "#);
    let twice =
        [waiver("accepted = \"1 mm\"\n"), waiver("accepted = \"1 mm\"\n").replace(&print, &print[..9])].concat();
    insta::assert_snapshot!(told(&twice, "2027-01-01").replace(&print, "PRINT"), @r#"
    exit 0
    in force: -: -
    unmatched: warning: the finding `PRINT` is waived at waivers.toml:5:10 already
    "#);
    let other = waiver("accepted = \"1 mm\"\n").replace("pair-skew", "via-stub");
    insta::assert_snapshot!(told(&other, "2027-01-01").replace(&print, "PRINT"), @r#"
    exit 1
    unclear: error: the finding `PRINT` is one of `pair-skew`
    "#);
}

#[test]
fn a_waiver_of_a_check_that_is_left_out_is_not_judged() {
    let folder = folder(&waiver("accepted = \"0.5 mm\"\n"));
    folder.write("throughline.toml", format!("{RULES}\n[[check]]\nuse = \"net-short\"\n"));
    let report = json(&folder, &["--skip", "pair-skew"]);
    assert_eq!(report["waivers"][0]["fate"], "aside");
    assert_eq!(report["whole"]["status"], "clean");
}

#[test]
fn what_passes_needs_no_waiver() {
    let folder = folder(&waiver("accepted = \"0.5 mm\"\n"));
    folder.write("throughline.toml", RULES.replace("0.3 mm", "0.6 mm"));
    let ran = folder.run(&["check", "--report", "line"]);
    assert_eq!(ran.code(), 0);
    insta::assert_snapshot!(ran.out(), @"waivers.toml:5:10: warning waiver `LINK` passes");
    assert_eq!(folder.run(&["check", "--fail-on", "warning"]).code(), 1);
}

#[test]
fn what_could_not_be_checked_is_waived_by_name_alone() {
    let board = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/recorder-reroute/base.kicad_pcb");
    let folder = Folder::new();
    folder.write("base.kicad_pcb", std::fs::read(board).unwrap());
    let waived = |accepted: &str| {
        // A net that hangs together only through an outdated fill.
        let waiver =
            format!("[[waive]]\ncheck = \"net-open\"\nplace = \"83ce9149a0f3e20d\"\nreason = \"a\"\n{accepted}");
        folder.write("throughline.toml", format!("[[check]]\nuse = \"net-open\"\n\n{waiver}"));
        let report = json(&folder, &[]);
        let row = &report["waivers"][0];
        format!("{} not checked: {} {}", report["whole"]["unchecked"], row["fate"], row["message"])
    };
    insta::assert_snapshot!(waived("accepted = \"not checked\"\n"), @r#"0 not checked: "in force" null"#);
    insta::assert_snapshot!(waived("accepted = \"0.5 mm\"\n"), @r#"1 not checked: "exceeded" "`VNAND_2V5` could not be checked""#);
    insta::assert_snapshot!(waived(""), @r#"1 not checked: "exceeded" "`VNAND_2V5` could not be checked""#);
}

#[test]
fn a_waiver_is_appended_and_the_file_keeps_all_it_holds() {
    let print = fingerprint();
    let odd = "# kept   as it is\n\n\n  # and this\n[[waive]]   # odd\ncheck='via-stub'\nplace = 'aaaaaaaa'\nreason=\"b\"   # why";
    let folder = folder("");
    for before in [odd.to_owned(), format!("{odd}\n"), odd.replace('\n', "\r\n") + "\r\n"] {
        folder.write("waivers.toml", &before);
        let ran =
            folder.run(&["waive", &print, "--reason", " flex in the \"bend\" \\ agreed ", "--until", "2031-12-31"]);
        assert_eq!((ran.code(), ran.err()), (0, ""));
        let after = folder.read("waivers.toml");
        let added = after.strip_prefix(&before).expect("what was there stays");
        let ends = if before.contains("\r\n") { "\r\n" } else { "\n" };
        assert!(!added.replace(ends, "").contains(['\r', '\n']), "line ends as in the file");
        insta::allow_duplicates! {
            insta::assert_snapshot!(added.trim().replace("\r\n", "\n"), @r#"
            # error: pair `LINK`, ends J1.1, J1.2, U1.1, U1.2
            [[waive]]
            check    = "pair-skew"
            place    = "6e869c429628a5eb"
            board    = "logger"
            accepted = "0.414 mm"
            reason   = "flex in the \"bend\" \\ agreed"
            until    = 2031-12-31
            "#);
            insta::assert_snapshot!(ran.out(), @"waived 6e869c429628a5eb pair-skew pair `LINK`, ends J1.1, J1.2, U1.1, U1.2, in waivers.toml");
        }
        assert_eq!(folder.run(&["check", "--as-of", "2030-01-01"]).code(), 0, "and it waives");
    }
    // Once is enough.
    insta::assert_snapshot!(folder.run(&["waive", &print[..10], "--reason", "again"]).refused(), @r#"
    error the finding `6e869c4296` is waived already
          [waivers.toml:11:1]
     11 │ [[waive]]
        │ ─────────
        │         this one

      help: change that waiver
    "#);
}

#[test]
fn a_waiver_goes_to_the_rule_file_if_there_is_no_other() {
    let print = fingerprint();
    let folder = folder("");
    let rules = RULES.split_once("\n\n").unwrap().1;
    folder.write("throughline.toml", rules);
    assert_eq!(folder.run(&["waive", &print, "--reason", "agreed"]).code(), 0);
    assert!(folder.read("throughline.toml").starts_with(rules));
    assert_eq!(folder.run(&["check"]).code(), 0);
    // Nothing is written into a set that comes with the program, nor into a file that is no part of the rule set.
    let other = folder.run(&["waive", &print, "--rules", "serial-16g", "--reason", "agreed"]);
    assert_eq!(other.code(), 2);
    folder.write("throughline.toml", rules);
    insta::assert_snapshot!(folder.run(&["waive", &print, "--reason", "a", "--into", "waivers.toml"]).refused(), @r#"
    error `waivers.toml` is no part of the rule set
      help: name it in the rule file: `waivers = ["waivers.toml"]`
    "#);
}

#[test]
fn a_waiver_that_would_waive_nothing_is_not_written() {
    let print = fingerprint();
    let folder = folder("");
    let refused = |arguments: &[&str]| folder.run(&[&["waive"][..], arguments].concat()).refused().to_owned();
    insta::assert_snapshot!(refused(&["0123456789abcdef", "--reason", "a"]), @r#"
    error no finding has the fingerprint `0123456789abcdef`
      help: the text report shows it below each finding; the finding's board must be among the inputs
    "#);
    let late = ["--reason", "a", "--until", "2026-12-31", "--as-of", "2027-01-01"];
    insta::assert_snapshot!(refused(&[&[print.as_str()][..], &late].concat()), @"error 2026-12-31 is past: it is 2027-01-01 now");
    assert!(refused(&["0123", "--reason", "a"]).contains("expected 8 to 16 digits"));
    assert!(refused(&[&print, "--reason", " "]).contains("expected a reason"));
    assert!(refused(&[&print]).contains("--reason"));
    // Passes have fingerprints, too.
    folder.write("throughline.toml", RULES.replace("0.3 mm", "0.6 mm"));
    insta::assert_snapshot!(refused(&[&print, "--reason", "a"]), @"error pair-skew of pair `LINK`, ends J1.1, J1.2, U1.1, U1.2 passes: there is nothing to waive");
    // A list in one line can't be appended to.
    folder.write("throughline.toml", RULES);
    folder.write("waivers.toml", "waive = []\n");
    insta::assert_snapshot!(refused(&[&print, "--reason", "a"]).replace(&print, "PRINT"), @r#"
    error `waivers.toml` states its waivers in a way that nothing can be appended to
      help: add it by hand:
            # error: pair `LINK`, ends J1.1, J1.2, U1.1, U1.2
            [[waive]]
            check    = "pair-skew"
            place    = "PRINT"
            board    = "logger"
            accepted = "0.414 mm"
            reason   = "a"
    "#);
    assert_eq!(folder.read("waivers.toml"), "waive = []\n");
}
