//! Streams, colour, threads: the same bytes whatever runs beside them.

use crate::run::Folder;
use std::path::Path;
use std::process::{Command, Stdio};

fn fixtures() -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/recorder").to_str().unwrap().to_owned()
}

/// A rule set of its own, so that the shipped ones may change.
fn folder() -> Folder {
    let folder = Folder::new();
    folder.write("own.toml", "[groups.all]\nproposed = true\n");
    folder
}

#[test]
fn any_number_of_threads_gives_the_same_bytes() {
    let folder = folder();
    let base = format!("{}/base.kicad_pcb", fixtures());
    for arguments in [
        &["check", &*fixtures(), "--rules", "own.toml", "--report", "text", "--report", "json=J"][..],
        &["measure", &base, "--rules", "own.toml", "--report", "text", "--report", "json=J"][..],
    ] {
        let run = |jobs: &str| {
            let path = format!("out-{jobs}.json");
            let with: Vec<String> =
                arguments.iter().map(|word| word.replace("json=J", &format!("json={path}"))).collect();
            let mut with: Vec<&str> = with.iter().map(|word| &**word).collect();
            with.extend(["--jobs", jobs]);
            let ran = folder.run(&with);
            (ran.code(), ran.out().to_owned(), ran.err().to_owned(), folder.read(&path))
        };
        let one = run("1");
        assert!(one.1.lines().count() > 5, "{}{}", one.1, one.2);
        assert_eq!(one, run("4"));
        assert_eq!(one, run("13"));
    }
}

#[test]
fn colour_is_for_terminals_and_for_those_who_ask() {
    let folder = folder();
    let colours = |arguments: &[&str]| {
        let boards = fixtures();
        let all = [&["check", &*boards, "--rules", "own.toml"][..], arguments].concat();
        folder.run(&all).out().contains('\u{1b}')
    };
    assert!(!colours(&[]), "a pipe is no terminal");
    assert!(!colours(&["--color", "never"]));
    assert!(colours(&["--color", "always"]));
    assert!(!colours(&["--color", "always", "--report", "line"]));
    for command in [&["check", &*fixtures()][..], &["measure", &*fixtures()], &["checks"], &["explain", "net-open"]] {
        let all = [command, &["--rules", "own.toml", "--color", "always", "--report", "text=out.txt"]].concat();
        folder.run(&all);
        assert!(!folder.read("out.txt").contains('\u{1b}'), "a file is no terminal: {command:?}");
    }
    let complaint = folder.run(&["check", "missing", "--color", "always"]);
    assert!(complaint.err().contains('\u{1b}'));
}

#[test]
fn a_reader_that_goes_away_is_no_fault() {
    let folder = folder();
    let expected = folder.run(&["check", &fixtures(), "--rules", "own.toml"]).code();
    let mut child = Command::new(snapbox::cmd::cargo_bin!("throughline"))
        .args(["check", &fixtures(), "--rules", "own.toml"])
        .current_dir(folder.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let ended = child.wait_with_output().unwrap();
    assert_eq!(ended.status.code(), Some(expected));
    let plain = folder.run(&["check", &fixtures(), "--rules", "own.toml"]);
    assert_eq!(String::from_utf8(ended.stderr).unwrap(), plain.err(), "nothing more is said");
}

#[test]
fn help_and_version_are_results() {
    let folder = Folder::new();
    for arguments in [&["--help"][..], &["-h"], &["check", "--help"], &["--version"]] {
        let ran = folder.run(arguments);
        assert_eq!((ran.code(), ran.err()), (0, ""), "{arguments:?}");
        assert!(!ran.out().is_empty());
    }
    assert_eq!(folder.run(&["--version"]).out(), format!("throughline {}\n", env!("CARGO_PKG_VERSION")));
}

/// What is worked out once must not be shared among threads that can ask for it: such a thread waits for itself, and
/// this test for ever.
#[test]
fn threads_never_wait_for_themselves() {
    use rayon::prelude::*;
    use std::sync::Arc;
    use throughline::{board, copper::Copper, source::SourceFile};
    let path = format!("{}/base.kicad_pcb", fixtures());
    let text = std::fs::read_to_string(path).unwrap();
    let board = board::read("base", Arc::new(SourceFile::new("base.kicad_pcb", text))).unwrap();
    let pool = rayon::ThreadPoolBuilder::new().num_threads(8).build().unwrap();
    for _ in 0..10 {
        let copper = Copper::new(&board);
        let counts: Vec<usize> = pool.install(|| {
            (0..32)
                .into_par_iter()
                .map(|_| copper.shorts().len() + copper.items().len() + copper.islands().len())
                .collect()
        });
        assert!(counts.iter().all(|count| *count == counts[0] && *count > 0));
    }
}
