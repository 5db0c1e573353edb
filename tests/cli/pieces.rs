//! The ready-made pieces for users: the scripts of the workflow are run as they stand, with a stand-in for what the host
//! puts around them; the hook's command is run on a board.

use crate::run::Folder;
use std::path::Path;
use std::process::Command;

fn piece(name: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(name)).unwrap()
}

/// The lines of a step's script, without their indent.
fn script(workflow: &str, step: &str) -> String {
    let behind = workflow.split(&format!("- name: {step}\n")).nth(1).unwrap();
    let behind = behind.split("      - ").next().unwrap();
    let lines = behind.split("run: |\n").nth(1).unwrap().lines();
    lines.take_while(|line| line.starts_with("          ")).map(|line| line[10..].to_owned() + "\n").collect()
}

/// Runs a script as the host does, with the program on the path; exit code and standard output.
fn host(folder: &Folder, script: &str) -> (i32, String) {
    let program = snapbox::cmd::cargo_bin!("throughline");
    let path = format!("{}:{}", program.parent().unwrap().display(), std::env::var("PATH").unwrap());
    let mut bash = Command::new("bash");
    bash.args(["--noprofile", "--norc", "-eo", "pipefail", "-c", script]).current_dir(folder.path()).env("PATH", path);
    bash.env("BOARDS", "boards").env("GITHUB_OUTPUT", "output").env("GITHUB_STEP_SUMMARY", "summary");
    let ran = bash.output().unwrap();
    (ran.status.code().unwrap(), String::from_utf8(ran.stdout).unwrap())
}

fn boards(fixture: &str) -> Folder {
    let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures");
    let folder = Folder::new();
    folder.write("boards/base.kicad_pcb", std::fs::read(fixtures.join(fixture).join("base.kicad_pcb")).unwrap());
    folder.write("boards/throughline.toml", std::fs::read(fixtures.join("recorder/throughline.toml")).unwrap());
    folder
}

#[test]
fn the_workflow_reports_and_then_fails_on_exactly_the_right_thing() {
    let workflow = piece(".ci/examples/pull-request.yml");
    assert!(workflow.contains(&format!("--version {}\n", env!("CARGO_PKG_VERSION"))), "it installs this version");
    let (check, gate) = (script(&workflow, "Check"), script(&workflow, "Gate"));
    for (fixture, status) in [("recorder", "0"), ("recorder-reroute", "1")] {
        let folder = boards(fixture);
        let (code, out) = host(&folder, &check);
        assert_eq!(code, 0, "the gate comes last");
        assert!(out.lines().all(|line| line.starts_with("::")), "{out}");
        assert_eq!(out.contains("::error file=boards/base.kicad_pcb,"), status == "1", "{out}");
        assert_eq!(folder.read("output"), format!("status={status}\n"));
        assert_eq!(folder.read("summary"), folder.read("comment.md"));
        assert!(folder.read("throughline.sarif").contains("\"version\": \"2.1.0\""));
        assert!(folder.read("throughline.xml").ends_with("</testsuites>\n"));
        let gate = gate.replace("${{ steps.check.outputs.status }}", status);
        assert_eq!(host(&folder, &gate).0.to_string(), status);
    }
    // A board that can't be read, and a step that died before it knew anything.
    let folder = boards("recorder");
    folder.write("boards/broken.kicad_pcb", "(kicad_pcb");
    assert_eq!(host(&folder, &check).0, 0);
    assert_eq!(folder.read("output"), "status=2\n");
    assert!(folder.read("summary").starts_with("throughline could not judge the boards"));
    assert_eq!(host(&folder, &gate.replace("${{ steps.check.outputs.status }}", "")).0, 2);
}

#[test]
fn the_hook_checks_the_boards_of_a_commit() {
    let hook = piece(".pre-commit-hooks.yaml");
    let key =
        |name: &str| hook.lines().find_map(|line| line.trim().strip_prefix(&format!("{name}: "))).unwrap().to_owned();
    assert_eq!((key("language").as_str(), key("files").as_str()), ("rust", r"\.kicad_pcb$"));
    for (fixture, status) in [("recorder", 0), ("recorder-reroute", 1)] {
        let ran = host(&boards(fixture), &format!("{} boards/base.kicad_pcb", key("entry")));
        assert_eq!(ran.0, status, "{}", ran.1);
    }
}
