//! Baselines on the command line: what is new, fixed, worse, unchanged; and how the file shrinks and grows.

use crate::run::Folder;
use crate::schema::differences;
use serde_json::Value;
use std::path::Path;

const RULES: &str = "[[check]]\nuse = \"net-open\"\n\n[[check]]\nuse = \"net-short\"\n\n[groups.clock]\npairs = [\"GEO_CLK_{P,N}\"]\n\n\
                     [[check]]\nuse = \"via-stub\"\non = [\"clock\"]\nlimit = \"0.5 mm\"\n";
const MAKE: &[&str] = &["check", "--baseline", "known.json", "--write-baseline", "--accept-new"];
const SHRINK: &[&str] = &["check", "--baseline", "known.json", "--write-baseline"];
const HOLD: &[&str] = &["check", "--baseline", "known.json"];

/// The demo after its hand reroute: an open, a short, a stub, and what could not be checked beside a stale fill.
fn folder() -> Folder {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/recorder-reroute/base.kicad_pcb");
    let folder = Folder::new();
    folder.write("base.kicad_pcb", std::fs::read(path).unwrap());
    folder.write("throughline.toml", RULES);
    folder
}

fn made() -> Folder {
    let folder = folder();
    assert_eq!(folder.run(MAKE).code(), 0);
    folder
}

fn json(folder: &Folder) -> Value {
    let ran = folder.run(&[HOLD, &["--report", "json"]].concat());
    let report = serde_json::from_str(ran.out()).unwrap();
    assert_eq!(differences(throughline::report::CHECK_SCHEMA, &report), [""; 0]);
    report
}

/// Check, subject and comparison of every finding.
fn compared(folder: &Folder) -> Vec<String> {
    let report = json(folder);
    let rows = report["verdicts"].as_array().unwrap().iter().filter(|row| !row["baseline"].is_null());
    let rows = rows.map(|row| format!("{} {} {}", row["check"], row["subject"]["name"], row["baseline"]));
    let fixed = report["baseline"]["fixed"].as_array().unwrap().iter();
    let fixed = fixed.map(|row| format!("{} {} fixed", row["check"], row["name"]));
    rows.chain(fixed).map(|row| row.replace('"', "")).collect()
}

#[test]
fn the_baseline_is_a_file_that_can_be_reviewed() {
    let folder = made();
    let text = folder.read("known.json");
    insta::assert_snapshot!(text, @r#"
    {
      "schema": "throughline/baseline/1",
      "findings": [
        {"fingerprint":"2a0232688764ea2d","check":"net-open","board":"base","kind":"net","name":"MEM_RST_B","ends":[],"outcome":"error","value":null},
        {"fingerprint":"83ce9149a0f3e20d","check":"net-open","board":"base","kind":"net","name":"VNAND_2V5","ends":[],"outcome":"unchecked","value":null},
        {"fingerprint":"054eca3947ff04ed","check":"net-short","board":"base","kind":"net","name":"GND","ends":[],"outcome":"unchecked","value":null},
        {"fingerprint":"d9401ef5914bd557","check":"net-short","board":"base","kind":"net","name":"VNAND_2V5","ends":[],"outcome":"unchecked","value":null},
        {"fingerprint":"c53ef9e060e99c20","check":"net-short","board":"base","kind":"nets","name":"CART_DETECT, CART_ID","ends":[],"outcome":"error","value":null},
        {"fingerprint":"2fb14019c04b37ff","check":"via-stub","board":"base","kind":"via","name":"GEO_CLK_P","ends":[],"outcome":"error","value":{"number":0.54375,"unit":"mm"}}
      ]
    }
    "#);
    let schema = include_str!("../../src/report/baseline.schema.json");
    assert_eq!(differences(schema, &serde_json::from_str(&text).unwrap()), [""; 0]);
}

#[test]
fn what_the_baseline_knows_does_not_fail_the_run() {
    let folder = made();
    let ran = folder.run(HOLD);
    assert_eq!(ran.code(), 0);
    insta::assert_snapshot!(ran.out(), @r#"
    board  base.kicad_pcb: 6 copper layers, 30 nets, format 20241229
    rules  throughline.toml, the nearest one to the board

    baseline  6 findings are in `known.json` and no worse
        net-open  2
        net-short  3
        via-stub  1

    check      examined  passed  errors  warnings  notes  not checked  known
    net-open         30      28       -         -      -            -      2
    net-short        29      26       -         -      -            -      3
    via-stub          4       3       -         -      -            -      1

    0 errors, 0 warnings, 0 not checked, 6 known, 57 passed
    clean: no finding beyond the baseline is at or above the fail level `error`
    "#);
    assert_eq!(folder.run(&[HOLD, &["--fail-on", "warning"]].concat()).code(), 0);
    assert_eq!(folder.run(&[HOLD, &["--report", "line"]].concat()).out(), "");
    assert_eq!(folder.run(&["check"]).code(), 1, "without it, all counts");
}

#[test]
fn new_worse_and_fixed_findings_are_told_apart() {
    let folder = made();
    insta::assert_snapshot!(compared(&folder).join("\n"), @r#"
    net-open MEM_RST_B same
    net-short CART_DETECT, CART_ID same
    via-stub GEO_CLK_P same
    net-open VNAND_2V5 same
    net-short GND same
    net-short VNAND_2V5 same
    "#);
    // The file as if the run had found other things: one finding less, one milder, one that is gone.
    let text = folder.read("known.json");
    let lines: Vec<&str> = text.lines().filter(|line| !line.contains("MEM_RST_B")).collect();
    let text = lines.join("\n").replace("0.543", "0.51").replace(
        "\"findings\": [\n",
        "\"findings\": [\n{\"fingerprint\":\"0000000000000000\",\"check\":\"net-open\",\"board\":\"base\",\"kind\":\"net\",\
         \"name\":\"GONE\",\"ends\":[],\"outcome\":\"error\",\"value\":null},\n",
    );
    folder.write("known.json", &text);
    insta::assert_snapshot!(compared(&folder).join("\n"), @r#"
    net-open MEM_RST_B new
    via-stub GEO_CLK_P worse
    net-short CART_DETECT, CART_ID same
    net-open VNAND_2V5 same
    net-short GND same
    net-short VNAND_2V5 same
    net-open GONE fixed
    "#);
    let ran = folder.run(HOLD);
    assert_eq!(ran.code(), 1);
    assert!(ran.out().contains("fixed since then: 1 finding\n"), "{}", ran.out());
    assert!(ran.out().contains("    worse than in the baseline\n"), "{}", ran.out());
}

#[test]
fn a_baseline_shrinks_in_silence_and_grows_only_if_asked() {
    let folder = made();
    let whole = folder.read("known.json");
    let without = |text: &str, word: &str| {
        let mut kept: Vec<&str> = text.lines().filter(|line| !line.contains(word)).collect();
        // The last finding has no comma behind it.
        let last = kept.len() - 3;
        let bare = kept[last].trim_end_matches(',').to_owned();
        kept[last] = &bare;
        kept.join("\n") + "\n"
    };
    // A finding that the file does not have is new.
    let shrunk = without(&whole, "MEM_RST_B");
    folder.write("known.json", &shrunk);
    let ran = folder.run(SHRINK);
    assert_eq!(ran.code(), 1, "the new finding still fails");
    insta::assert_snapshot!(ran.err(), @r#"
    warning 1 finding is new or worse and not taken into the baseline
      help: `--accept-new` takes them in
    "#);
    assert_eq!(folder.read("known.json"), shrunk, "it does not grow");
    let ran = folder.run(MAKE);
    assert_eq!((ran.code(), ran.err()), (0, ""));
    assert_eq!(folder.read("known.json"), whole, "unless it is asked to");

    folder.write("throughline.toml", RULES.replace("0.5 mm", "0.6 mm"));
    let ran = folder.run(SHRINK);
    assert_eq!((ran.code(), ran.err()), (0, ""));
    assert_eq!(folder.read("known.json"), without(&whole, "via-stub"), "what was fixed is gone");
}

#[test]
fn better_values_are_kept_and_worse_ones_are_not() {
    let folder = made();
    let whole = folder.read("known.json");
    let value = |text: &str| text.split("\"number\":").nth(1).unwrap().split(',').next().unwrap().to_owned();
    let measured = value(&whole);
    folder.write("known.json", whole.replace(&measured, "0.7"));
    assert_eq!(folder.run(SHRINK).code(), 0);
    assert_eq!(folder.read("known.json"), whole, "held to what it is now");
    folder.write("known.json", whole.replace(&measured, "0.51"));
    assert_eq!(folder.run(&[SHRINK, &["--fail-on", "warning"]].concat()).code(), 1);
    assert_eq!(value(&folder.read("known.json")), "0.51");
}

#[test]
fn what_a_run_does_not_judge_stays_in_the_baseline() {
    let folder = made();
    let whole = folder.read("known.json");
    let ran = folder.run(&[SHRINK, &["--skip", "net-open"]].concat());
    assert_eq!(ran.code(), 0);
    assert_eq!(folder.read("known.json"), whole, "a check that was left out");
    let other = whole.replace("\"base\"", "\"other\"").replace("\"fingerprint\":\"", "\"fingerprint\":\"x");
    folder.write("known.json", &other);
    folder.run(SHRINK);
    assert_eq!(folder.read("known.json"), other, "a board that had no part in it");
    assert!(compared(&folder).iter().all(|row| row.ends_with(" new")), "and it is not called fixed");
}

#[test]
fn waived_findings_have_no_place_in_a_baseline() {
    let folder = made();
    let print = folder.read("known.json").split("\"fingerprint\":\"").nth(1).unwrap()[..16].to_owned();
    assert_eq!(folder.run(&["waive", &print, "--reason", "agreed"]).code(), 0);
    assert_eq!(folder.run(SHRINK).code(), 0);
    assert!(!folder.read("known.json").contains(&print));
    assert!(!compared(&folder).iter().any(|row| row.ends_with("fixed")));
}

#[test]
fn a_baseline_that_is_none_is_refused() {
    let folder = folder();
    insta::assert_snapshot!(folder.run(HOLD).refused(), @r#"
    error there is no baseline `known.json`
      help: `--write-baseline --accept-new` makes one of what this run finds
    "#);
    insta::assert_snapshot!(folder.run(SHRINK).refused(), @r#"
    error there is no baseline `known.json`
      help: `--write-baseline --accept-new` makes one of what this run finds
    "#);
    folder.write("known.json", "{\n  \"schema\": \"throughline/baseline/1\",\n  \"findings\": [ {\"check\": 1} ]\n}\n");
    insta::assert_snapshot!(folder.run(HOLD).refused(), @r#"
    error not a baseline: invalid type: integer `1`, expected a string
         [known.json:3:27]
     3 │   "findings": [ {"check": 1} ]
       │                           ─
       │                               expected a file that this program wrote

      help: once it is gone, `--write-baseline --accept-new` makes a new one
    "#);
    folder.write("known.json", "{ \"schema\": \"throughline/baseline/2\", \"findings\": [] }\n");
    insta::assert_snapshot!(folder.run(HOLD).refused(), @r#"
    error a baseline of another format: `throughline/baseline/2`
         [known.json:1:1]
     1 │ { "schema": "throughline/baseline/2", "findings": [] }
       │ ─
       │     expected `throughline/baseline/1`

      help: once it is gone, `--write-baseline --accept-new` makes a new one
    "#);
    let odd = "{\"fingerprint\":\"0\",\"check\":\"c\",\"board\":\"b\",\"kind\":\"k\",\"name\":\"n\",\"ends\":[],\"outcome\":\"pass\",\"value\":null}";
    folder.write("known.json", format!("{{ \"schema\": \"throughline/baseline/1\", \"findings\": [{odd}] }}\n"));
    assert!(folder.run(HOLD).refused().contains("has no known outcome or unit"));
    assert!(folder.run(&["check", "--write-baseline"]).refused().contains("--baseline"));
    assert!(folder.run(&["check", "--accept-new"]).refused().contains("--write-baseline"));
}
