//! Drawn boards through the program as a user runs it: `check` with a rule file, its JSON report read back.

use super::{Board, Generation, Point, fixture};
use std::path::Path;
use std::process::Command;
use std::sync::atomic::{AtomicUsize, Ordering};

/// What a check said of one subject.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    /// Name of the check.
    pub check: String,
    /// `pass`, `unchecked`, or the level of a failure.
    pub outcome: String,
    /// The finding's identity.
    pub fingerprint: String,
    /// Kind and name of the subject, and its ends.
    pub subject: String,
    /// What was found.
    pub message: String,
    /// Layer of its place.
    pub layer: Option<String>,
    /// Point of its place.
    pub at: Option<Point>,
}

impl Said {
    /// What stays the same if the same thing is said again.
    pub fn key(&self) -> (String, String, String) {
        (self.check.clone(), self.outcome.clone(), self.subject.clone())
    }
}

/// Exit status and all verdicts of a run over a drawn board with the demo's rules, worst first.
pub fn judge(board: &Board, generation: Generation) -> (i32, Vec<Said>) {
    judge_text(&board.name, &board.text(generation), &fixture::path("recorder/throughline.toml"))
}

/// The same for a board's text and any rules: a file, or the name of a shipped set.
pub fn judge_text(name: &str, text: &str, rules: &Path) -> (i32, Vec<Said>) {
    static COUNT: AtomicUsize = AtomicUsize::new(0);
    let count = COUNT.fetch_add(1, Ordering::Relaxed);
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("judged-{}-{count}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("the build folder can be written");
    let path = folder.join(format!("{name}.kicad_pcb"));
    std::fs::write(&path, text).expect("the build folder can be written");
    let found = judge_files(&[&path], rules);
    std::fs::remove_dir_all(&folder).expect("what was made can be removed");
    found
}

/// The same for files.
pub fn judge_files(paths: &[&Path], rules: &Path) -> (i32, Vec<Said>) {
    let mut program = Command::new(env!("CARGO_BIN_EXE_throughline"));
    program.arg("check").args(paths).arg("--rules").arg(rules).args(["--report", "json"]);
    let run = program.output().expect("the program runs");
    let report: serde_json::Value = serde_json::from_slice(&run.stdout)
        .unwrap_or_else(|error| panic!("no report: {error}\n{}", String::from_utf8_lossy(&run.stderr)));
    let text = |value: &serde_json::Value| value.as_str().unwrap_or_default().to_owned();
    let said = |verdict: &serde_json::Value| {
        let (subject, place) = (&verdict["subject"], &verdict["place"]);
        let ends: Vec<String> = subject["ends"].as_array().into_iter().flatten().map(text).collect();
        let words = [text(&subject["kind"]), text(&subject["name"]), ends.join(" ")];
        Said {
            check: text(&verdict["check"]),
            outcome: text(&verdict["outcome"]),
            fingerprint: text(&verdict["fingerprint"]),
            subject: words.join(" ").trim_end().to_owned(),
            message: [text(&verdict["message"]), text(&verdict["missing"])].join(" | "),
            layer: place["layer"].as_str().map(str::to_owned),
            at: place["x_mm"].as_f64().zip(place["y_mm"].as_f64()),
        }
    };
    let verdicts = report["verdicts"].as_array().expect("a report lists verdicts").iter().map(said).collect();
    (run.status.code().unwrap_or(-1), verdicts)
}
