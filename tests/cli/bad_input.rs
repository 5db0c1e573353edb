//! Input that can't be read: a clear word on standard error, nothing on standard output, exit code 2.

use crate::run::Folder;
use std::fs::File;

const SOUND: &str = "(kicad_pcb (version 20171130) (general) (layers (0 F.Cu signal) (31 B.Cu signal)))\n";

/// With a rule set of its own, so that the shipped ones may change.
fn folder() -> Folder {
    let folder = Folder::new();
    folder.write("throughline.toml", "# asks for nothing\n");
    folder
}

#[test]
fn nothing_there() {
    insta::assert_snapshot!(folder().run(&["check", "base.kicad_pcb"]).refused(), @r#"error can't read `base.kicad_pcb`: there is no such file or folder"#);
}

#[test]
fn a_folder_without_a_board() {
    let folder = folder();
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
    let folder = folder();
    folder.write("base.kicad_pcb", "");
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"error `base.kicad_pcb` is empty"#);
}

#[test]
fn a_blank_file() {
    let folder = folder();
    folder.write("base.kicad_pcb", "\n \n");
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"
    error the file is empty
         [base.kicad_pcb:1:1]
     1 │
       │ ─
       │     expected `(kicad_pcb …)`
    "#);
}

#[test]
fn a_binary_file() {
    let folder = folder();
    folder.write("base.kicad_pcb", b"\x7fELF\x02\x01\x01\x00\x00");
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"error `base.kicad_pcb` is no text file: byte 7 is zero"#);
}

#[test]
fn utf_16() {
    let folder = folder();
    folder.write("base.kicad_pcb", b"\xff\xfe(\x00k\x00");
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"
    error `base.kicad_pcb` is UTF-16 text
      help: save it as UTF-8
    "#);
}

#[test]
fn not_utf_8() {
    let folder = folder();
    folder.write("base.kicad_pcb", b"(kicad_pcb\n  (net 1 \"\xc3\xa4 \xe4\")\n)\n");
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"
    error not UTF-8 text: byte 24 is 0xe4
         [base.kicad_pcb:2:13]
     2 │   (net 1 "ä �
       │             ─
       │                 expected UTF-8 from here on

      help: save the file as UTF-8, or restore it from a sound copy
    "#);
}

#[test]
fn no_board_file() {
    let folder = folder();
    folder.write("base.kicad_pcb", "<svg></svg>\n");
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"
    error this is not a board file
         [base.kicad_pcb:1:1]
     1 │ <svg></svg>
       │ ───────────
       │          expected `(kicad_pcb …)`
    "#);
}

#[test]
fn a_board_cut_off() {
    let folder = folder();
    folder.write("base.kicad_pcb", &SOUND[..SOUND.len() - 10]);
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"
    error the file ends inside `31`
         [base.kicad_pcb:1:72]
     1 │ (kicad_pcb (version 20171130) (general) (layers (0 F.Cu signal) (31 B.Cu
       │                                                                        ──
       │                                                                             expected `)`

      help: the list starts at 1:65; the file may be cut short
    "#);
}

#[test]
fn nested_without_end() {
    let folder = folder();
    folder.write("base.kicad_pcb", "(kicad_pcb ".to_owned() + &"(a ".repeat(100_000));
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"
    error lists nested more than 64 deep
         [base.kicad_pcb:1:201]
     1 │ (a (a (a (a (a (a (a (a (a (a (a (a (a (a (a (a (a (a (a (a (a (a (a (a (a (a (a (a (a (a (a (a (
       │                                                 ─
       │                                                     no board nests this deep
    "#);
}

#[test]
fn too_large() {
    let folder = folder();
    File::create(folder.path().join("base.kicad_pcb")).unwrap().set_len((512 << 20) + 1).unwrap();
    insta::assert_snapshot!(folder.run(&["check", "base.kicad_pcb"]).refused(), @r#"error `base.kicad_pcb` is larger than 512 MiB, the most that is read"#);
}

/// Net classes never change copper: the board is judged, and what is missing is said.
#[test]
fn a_project_file_that_is_not_json() {
    let folder = folder();
    folder.write("base.kicad_pcb", SOUND);
    folder.write("base.kicad_pro", "{\n  \"net_settings\": {,}\n}\n");
    let ran = folder.run(&["check", "base.kicad_pcb"]);
    assert_eq!(ran.err(), "");
    insta::assert_snapshot!(ran.out().lines().find(|line| line.contains("net classes")).unwrap().trim(), @r#"1:1  net classes are not known: base.kicad_pro:2:20: the project file cannot be read, key must be a string"#);
}

#[test]
fn every_bad_file_is_named() {
    let folder = folder();
    folder.write("good.kicad_pcb", SOUND);
    folder.write("empty.kicad_pcb", "");
    let ran = folder.run(&["check", "empty.kicad_pcb", "good.kicad_pcb", "missing.kicad_pcb"]);
    insta::assert_snapshot!(ran.refused(), @r#"
    error `empty.kicad_pcb` is empty

    error can't read `missing.kicad_pcb`: there is no such file or folder
    "#);
}

#[cfg(unix)]
#[test]
fn no_permission() {
    use std::os::unix::fs::PermissionsExt;
    let folder = folder();
    folder.write("base.kicad_pcb", SOUND);
    let path = folder.path().join("base.kicad_pcb");
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o000)).unwrap();
    if File::open(&path).is_ok() {
        return; // The superuser may read anything.
    }
    let refused = folder.run(&["check", "base.kicad_pcb"]);
    assert_eq!(refused.refused(), "error can't read `base.kicad_pcb`: no permission to read it\n");
}

#[test]
fn wrong_usage() {
    let folder = folder();
    folder.write("base.kicad_pcb", SOUND);
    let refused = |arguments: &[&str]| folder.run(arguments).refused().to_owned();
    insta::assert_snapshot!(refused(&["chek"]), @r#"
    error: unrecognized subcommand 'chek'

      tip: some similar subcommands exist: 'schema', 'checks', 'check'

    Usage: throughline [OPTIONS] <COMMAND>

    For more information, try '--help'.
    "#);
    insta::assert_snapshot!(refused(&["check", "--report", "sarfi"]), @r#"
    error: invalid value 'sarfi' for '--report <FORMAT[=PATH]>': there is no `sarfi` report; there are text, line, json, csv, svg, touchstone, sarif, junit, markdown, annotations; did you mean `sarif`?

    For more information, try '--help'.
    "#);
    insta::assert_snapshot!(refused(&["check", "--report", "csv"]), @r#"
    error this command has no `csv` report; it has text, line, json, sarif, junit, markdown,
      │ annotations
    "#);
    insta::assert_snapshot!(refused(&["check", "--report", "line", "--report", "json"]), @r#"error two reports can't share standard output; give one of them a path"#);
    insta::assert_snapshot!(refused(&["check", "--report", "json=a", "--report", "line=a"]), @r#"error two reports can't share the file `a`"#);
    insta::assert_snapshot!(refused(&["check", "--jobs", "0"]), @r#"
    error: invalid value '0' for '--jobs <N>': expected a number of threads, at least 1

    For more information, try '--help'.
    "#);
    insta::assert_snapshot!(refused(&["explain", "nothing-like-it"]), @r#"
    error there is no check `nothing-like-it`
      help: `throughline checks` lists them all
    "#);
    insta::assert_snapshot!(refused(&[]).lines().next().unwrap(), @r#"Holds the copper of high-speed interposer boards against a rule set"#);
}
