//! Input that can't be read: a clear word on standard error, nothing on standard output, exit code 2.

use crate::run::Folder;
use std::fs::File;

const SOUND: &str = "(kicad_pcb (version 20171130) (general) (layers (0 F.Cu signal) (31 B.Cu signal)))\n";

#[test]
fn nothing_there() {
    insta::assert_snapshot!(Folder::new().run(&["check", "base.kicad_pcb"]).refused(), @r#"
        error unknown check `pair-skew`
              [serial-16g.toml:15:10]
         15 │ use    = "pair-skew"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `plane-gap`
              [serial-16g.toml:31:10]
         31 │ use    = "plane-gap"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-open`
             [base.toml:5:10]
         5 │ use    = "net-open"
           │          ──────────
           │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-short`
              [base.toml:10:10]
         10 │ use    = "net-short"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stale-fill`
              [base.toml:15:10]
         15 │ use    = "stale-fill"
            │          ────────────
            │                    not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stackup-missing`
              [base.toml:20:10]
         20 │ use    = "stackup-missing"
            │          ─────────────────
            │                      not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`
        "#);
}

#[test]
fn a_folder_without_a_board() {
    let folder = Folder::new();
    folder.write("boards/readme.txt", "none");
    folder.write("boards/_autosave-base.kicad_pcb", SOUND);
    insta::assert_snapshot!(folder.run(&["check", "boards"]).refused(), @r#"
    error no board in the folder `boards`
      help: expected a file that ends in `.kicad_pcb`
    "#);
    insta::assert_snapshot!(folder.run(&["check"]).refused(), @r#"
    error no board in the folder `.`
      help: expected a file that ends in `.kicad_pcb`
    "#);
}

#[test]
fn an_empty_file() {
    let folder = Folder::new();
    folder.write("base.kicad_pcb", "");
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"
        error unknown check `pair-skew`
              [serial-16g.toml:15:10]
         15 │ use    = "pair-skew"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `plane-gap`
              [serial-16g.toml:31:10]
         31 │ use    = "plane-gap"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-open`
             [base.toml:5:10]
         5 │ use    = "net-open"
           │          ──────────
           │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-short`
              [base.toml:10:10]
         10 │ use    = "net-short"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stale-fill`
              [base.toml:15:10]
         15 │ use    = "stale-fill"
            │          ────────────
            │                    not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stackup-missing`
              [base.toml:20:10]
         20 │ use    = "stackup-missing"
            │          ─────────────────
            │                      not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`
        "#);
}

#[test]
fn a_blank_file() {
    let folder = Folder::new();
    folder.write("base.kicad_pcb", "\n \n");
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"
        error unknown check `pair-skew`
              [serial-16g.toml:15:10]
         15 │ use    = "pair-skew"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `plane-gap`
              [serial-16g.toml:31:10]
         31 │ use    = "plane-gap"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-open`
             [base.toml:5:10]
         5 │ use    = "net-open"
           │          ──────────
           │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-short`
              [base.toml:10:10]
         10 │ use    = "net-short"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stale-fill`
              [base.toml:15:10]
         15 │ use    = "stale-fill"
            │          ────────────
            │                    not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stackup-missing`
              [base.toml:20:10]
         20 │ use    = "stackup-missing"
            │          ─────────────────
            │                      not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`
        "#);
}

#[test]
fn a_binary_file() {
    let folder = Folder::new();
    folder.write("base.kicad_pcb", b"\x7fELF\x02\x01\x01\x00\x00");
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"
        error unknown check `pair-skew`
              [serial-16g.toml:15:10]
         15 │ use    = "pair-skew"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `plane-gap`
              [serial-16g.toml:31:10]
         31 │ use    = "plane-gap"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-open`
             [base.toml:5:10]
         5 │ use    = "net-open"
           │          ──────────
           │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-short`
              [base.toml:10:10]
         10 │ use    = "net-short"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stale-fill`
              [base.toml:15:10]
         15 │ use    = "stale-fill"
            │          ────────────
            │                    not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stackup-missing`
              [base.toml:20:10]
         20 │ use    = "stackup-missing"
            │          ─────────────────
            │                      not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`
        "#);
}

#[test]
fn utf_16() {
    let folder = Folder::new();
    folder.write("base.kicad_pcb", b"\xff\xfe(\x00k\x00");
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"
        error unknown check `pair-skew`
              [serial-16g.toml:15:10]
         15 │ use    = "pair-skew"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `plane-gap`
              [serial-16g.toml:31:10]
         31 │ use    = "plane-gap"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-open`
             [base.toml:5:10]
         5 │ use    = "net-open"
           │          ──────────
           │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-short`
              [base.toml:10:10]
         10 │ use    = "net-short"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stale-fill`
              [base.toml:15:10]
         15 │ use    = "stale-fill"
            │          ────────────
            │                    not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stackup-missing`
              [base.toml:20:10]
         20 │ use    = "stackup-missing"
            │          ─────────────────
            │                      not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`
        "#);
}

#[test]
fn not_utf_8() {
    let folder = Folder::new();
    folder.write("base.kicad_pcb", b"(kicad_pcb\n  (net 1 \"\xc3\xa4 \xe4\")\n)\n");
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"
        error unknown check `pair-skew`
              [serial-16g.toml:15:10]
         15 │ use    = "pair-skew"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `plane-gap`
              [serial-16g.toml:31:10]
         31 │ use    = "plane-gap"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-open`
             [base.toml:5:10]
         5 │ use    = "net-open"
           │          ──────────
           │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-short`
              [base.toml:10:10]
         10 │ use    = "net-short"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stale-fill`
              [base.toml:15:10]
         15 │ use    = "stale-fill"
            │          ────────────
            │                    not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stackup-missing`
              [base.toml:20:10]
         20 │ use    = "stackup-missing"
            │          ─────────────────
            │                      not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`
        "#);
}

#[test]
fn no_board_file() {
    let folder = Folder::new();
    folder.write("base.kicad_pcb", "<svg></svg>\n");
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"
        error unknown check `pair-skew`
              [serial-16g.toml:15:10]
         15 │ use    = "pair-skew"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `plane-gap`
              [serial-16g.toml:31:10]
         31 │ use    = "plane-gap"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-open`
             [base.toml:5:10]
         5 │ use    = "net-open"
           │          ──────────
           │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-short`
              [base.toml:10:10]
         10 │ use    = "net-short"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stale-fill`
              [base.toml:15:10]
         15 │ use    = "stale-fill"
            │          ────────────
            │                    not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stackup-missing`
              [base.toml:20:10]
         20 │ use    = "stackup-missing"
            │          ─────────────────
            │                      not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`
        "#);
}

#[test]
fn a_board_cut_off() {
    let folder = Folder::new();
    folder.write("base.kicad_pcb", &SOUND[..SOUND.len() - 10]);
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"
        error unknown check `pair-skew`
              [serial-16g.toml:15:10]
         15 │ use    = "pair-skew"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `plane-gap`
              [serial-16g.toml:31:10]
         31 │ use    = "plane-gap"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-open`
             [base.toml:5:10]
         5 │ use    = "net-open"
           │          ──────────
           │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-short`
              [base.toml:10:10]
         10 │ use    = "net-short"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stale-fill`
              [base.toml:15:10]
         15 │ use    = "stale-fill"
            │          ────────────
            │                    not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stackup-missing`
              [base.toml:20:10]
         20 │ use    = "stackup-missing"
            │          ─────────────────
            │                      not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`
        "#);
}

#[test]
fn nested_without_end() {
    let folder = Folder::new();
    folder.write("base.kicad_pcb", "(kicad_pcb ".to_owned() + &"(a ".repeat(100_000));
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"
        error unknown check `pair-skew`
              [serial-16g.toml:15:10]
         15 │ use    = "pair-skew"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `plane-gap`
              [serial-16g.toml:31:10]
         31 │ use    = "plane-gap"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-open`
             [base.toml:5:10]
         5 │ use    = "net-open"
           │          ──────────
           │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-short`
              [base.toml:10:10]
         10 │ use    = "net-short"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stale-fill`
              [base.toml:15:10]
         15 │ use    = "stale-fill"
            │          ────────────
            │                    not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stackup-missing`
              [base.toml:20:10]
         20 │ use    = "stackup-missing"
            │          ─────────────────
            │                      not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`
        "#);
}

#[test]
fn too_large() {
    let folder = Folder::new();
    File::create(folder.path().join("base.kicad_pcb")).unwrap().set_len((512 << 20) + 1).unwrap();
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"
        error unknown check `pair-skew`
              [serial-16g.toml:15:10]
         15 │ use    = "pair-skew"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `plane-gap`
              [serial-16g.toml:31:10]
         31 │ use    = "plane-gap"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-open`
             [base.toml:5:10]
         5 │ use    = "net-open"
           │          ──────────
           │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-short`
              [base.toml:10:10]
         10 │ use    = "net-short"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stale-fill`
              [base.toml:15:10]
         15 │ use    = "stale-fill"
            │          ────────────
            │                    not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stackup-missing`
              [base.toml:20:10]
         20 │ use    = "stackup-missing"
            │          ─────────────────
            │                      not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`
        "#);
}

#[test]
fn every_bad_file_is_named() {
    let folder = Folder::new();
    folder.write("good.kicad_pcb", SOUND);
    folder.write("empty.kicad_pcb", "");
    let ran = folder.run(&["check", "empty.kicad_pcb", "good.kicad_pcb", "missing.kicad_pcb"]);
    insta::assert_snapshot!(ran.refused(), @r#"
        error unknown check `pair-skew`
              [serial-16g.toml:15:10]
         15 │ use    = "pair-skew"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `plane-gap`
              [serial-16g.toml:31:10]
         31 │ use    = "plane-gap"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-open`
             [base.toml:5:10]
         5 │ use    = "net-open"
           │          ──────────
           │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `net-short`
              [base.toml:10:10]
         10 │ use    = "net-short"
            │          ───────────
            │                   not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stale-fill`
              [base.toml:15:10]
         15 │ use    = "stale-fill"
            │          ────────────
            │                    not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`

        error unknown check `stackup-missing`
              [base.toml:20:10]
         20 │ use    = "stackup-missing"
            │          ─────────────────
            │                      not a check

          help: checks are `length-match`, `via-stub` and `pad-neck`
        "#);
}

#[cfg(unix)]
#[test]
fn no_permission() {
    use std::os::unix::fs::PermissionsExt;
    let folder = Folder::new();
    folder.write("base.kicad_pcb", SOUND);
    let path = folder.path().join("base.kicad_pcb");
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o000)).unwrap();
    if File::open(&path).is_ok() {
        return; // The superuser may read anything.
    }
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"
      error can't read `base.kicad_pcb`: no permission to read it
    "#);
}

#[test]
fn wrong_usage() {
    let folder = Folder::new();
    folder.write("base.kicad_pcb", SOUND);
    let refused = |arguments: &[&str]| folder.run(arguments).refused().to_owned();
    insta::assert_snapshot!(refused(&["chek"]), @r#"
    error: unrecognized subcommand 'chek'

      tip: some similar subcommands exist: 'checks', 'check'

    Usage: throughline [OPTIONS] <COMMAND>

    For more information, try '--help'.
    "#);
    insta::assert_snapshot!(refused(&["check", "--report", "sarif"]), @r#"
    error: invalid value 'sarif' for '--report <FORMAT[=PATH]>': there is no `sarif` report; there are text, line, json and csv

    For more information, try '--help'.
    "#);
    insta::assert_snapshot!(refused(&["check", "--report", "csv"]), @r#"error this command has no `csv` report; it has text, line, json"#);
    insta::assert_snapshot!(refused(&["check", "--report", "line", "--report", "json"]), @r#"error two reports can't share standard output; give one of them a path"#);
    insta::assert_snapshot!(refused(&["check", "--report", "json=a", "--report", "line=a"]), @r#"error two reports can't share the file `a`"#);
    insta::assert_snapshot!(refused(&["check", "--jobs", "0"]), @r#"
    error: invalid value '0' for '--jobs <N>': number would be zero for non-zero type

    For more information, try '--help'.
    "#);
    insta::assert_snapshot!(refused(&["explain", "nothing-like-it"]), @r#"
    error there is no check `nothing-like-it`
      help: `throughline checks` lists them all
    "#);
    insta::assert_snapshot!(refused(&[]).lines().next().unwrap(), @r#"Holds the copper of high-speed interposer boards against a rule set"#);
}
