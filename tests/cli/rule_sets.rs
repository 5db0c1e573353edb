//! Which rule set is in force, and that the output says so.

use crate::run::Folder;

const BOARD: &str = "(kicad_pcb (version 20171130) (general) (layers (0 F.Cu signal) (31 B.Cu signal)))\n";
const EMPTY: &str = "# asks for nothing\n";

/// The second line of the text report.
fn rules(folder: &Folder, arguments: &[&str]) -> String {
    let ran = folder.run(arguments);
    ran.out().lines().nth(1).unwrap_or_else(|| panic!("{}", ran.err())).to_owned()
}

#[test]
fn the_nearest_file_counts_and_a_named_one_wins() {
    let folder = Folder::new();
    folder.write("throughline.toml", EMPTY);
    folder.write("near/throughline.toml", EMPTY);
    folder.write("near/deep/base.kicad_pcb", BOARD);
    folder.write("far/base.kicad_pcb", BOARD);
    folder.write("own.toml", EMPTY);
    insta::assert_snapshot!(rules(&folder, &["check", "near/deep/base.kicad_pcb"]), @r#"rules  near/throughline.toml, the nearest one to the board"#);
    insta::assert_snapshot!(rules(&folder, &["check", "near/deep"]), @r#"rules  near/throughline.toml, the nearest one to the board"#);
    insta::assert_snapshot!(rules(&folder, &["check", "far"]), @r#"rules  throughline.toml, the nearest one to the board"#);
    insta::assert_snapshot!(rules(&folder, &["check", "far", "--rules", "own.toml"]), @r#"rules  own.toml, named on the command line"#);
    insta::assert_snapshot!(folder.run(&["check", "far", "near/deep"]).refused(), @r#"
    error `far/base.kicad_pcb` and `near/deep/base.kicad_pcb` have different rule files:
      │ `throughline.toml` and `near/throughline.toml`
      help: name one for all with `--rules`, or check the boards one by one
    "#);
}

#[test]
fn a_rule_set_that_cannot_be_read_is_refused() {
    let folder = Folder::new();
    folder.write("base.kicad_pcb", BOARD);
    folder.write("bad.toml", "[[check]]\nuse = \"pair-scew\"\n");
    folder.write("worse.toml", "[[check]\n");
    insta::assert_snapshot!(folder.run(&["check", "--rules", "serial-61g"]).refused(), @r#"
    error there is no rule set `serial-61g`
      help: did you mean `serial-16g`? shipped sets are base, serial-8g, serial-16g, serial-32g; a
            file is named with its ending, `serial-61g.toml`
    "#);
    insta::assert_snapshot!(folder.run(&["check", "--rules", "missing.toml"]).refused(), @r#"error can't read `missing.toml`: there is no such file or folder"#);
    // The label lists all checks, which grow in number.
    let unknown = folder.run(&["check", "--rules", "bad.toml"]);
    assert!(
        unknown.refused().starts_with("error unknown check `pair-scew`\n     [bad.toml:2:7]\n"),
        "{}",
        unknown.err()
    );
    insta::assert_snapshot!(folder.run(&["check", "--rules", "worse.toml"]).refused(), @r#"
    error unclosed array table
         [worse.toml:1:8]
     1 │ [[check]
       │        ─
       │            expected `]`
    "#);
    insta::assert_snapshot!(folder.run(&["check", "--rules", "base.kicad_pcb"]).refused().lines().next().unwrap(), @r#"error invalid unquoted key"#);
}

#[test]
fn a_set_that_asks_for_nothing_proves_nothing() {
    let folder = Folder::new();
    folder.write("base.kicad_pcb", BOARD);
    folder.write("throughline.toml", EMPTY);
    let ran = folder.run(&["check"]);
    assert_eq!(ran.code(), 2);
    insta::assert_snapshot!(ran.out(), @r#"
    board  base.kicad_pcb: 2 copper layers, 0 nets, format 20171130
    rules  throughline.toml, the nearest one to the board

    The rule set asks for no check.

    0 errors, 0 warnings, 0 not checked, 0 passed
    not judged: no check looked at anything
    "#);
}

#[test]
fn a_shipped_set_that_finds_no_pair_is_not_plainly_clean() {
    let folder = Folder::new();
    folder.write("base.kicad_pcb", BOARD);
    let ran = folder.run(&["check", "--only", "stackup-missing", "--only", "via-stub"]);
    assert_eq!(ran.code(), 0, "{}", ran.err());
    insta::assert_snapshot!(ran.out().lines().last().unwrap(), @"clean in part: no finding at or above the fail level `error`, but 1 rule found nothing to look at");
}
