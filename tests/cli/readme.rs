//! What the README shows is what the program says.

use snapbox::cmd::{Command, cargo_bin};

/// Where the shipped sets state a limit may move between releases of this page.
fn without_places(text: &str) -> String {
    let lines = text.lines().map(|line| line.split_once("set at serial-").map_or(line, |(before, _)| before));
    lines.map(|line| line.trim_end().to_owned() + "\n").collect()
}

#[test]
fn the_sample_finding_is_a_real_one() {
    let readme = include_str!("../../README.md");
    let (_, sample) = readme.split_once("```text\n").expect("a sample");
    let (sample, _) = sample.split_once("```").expect("its end");
    let ran = Command::new(cargo_bin!("throughline"))
        .args(["check", "fixtures/recorder-reroute"])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    let said = String::from_utf8(ran.stdout).unwrap();
    assert!(sample.lines().count() > 5);
    assert!(without_places(&said).contains(&without_places(sample)), "{sample}");
}
