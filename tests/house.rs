//! The house holds together: modules use only what stands left of them, and the top level holds what it may.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::string_slice)]

use std::fs;
use std::path::{Path, PathBuf};

/// Left to right, as the page of `src/lib.rs` lists them. `main.rs` and `lib.rs` see everything.
const ORDER: &[&str] = &[
    "nearest", "units", "table", "geometry", "source", "board", "copper", "field", "signal", "width", "rules",
    "checks", "measure", "findings", "report", "cli",
];

/// Uses that the order would allow but the design forbids: rules know no boards.
const FORBIDDEN: &[(&str, &str)] = &[
    ("width", "copper"),
    ("rules", "board"),
    ("rules", "copper"),
    ("rules", "field"),
    ("rules", "signal"),
    ("rules", "geometry"),
    ("source", "geometry"),
    ("geometry", "units"),
    ("units", "table"),
];

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn rust_files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            rust_files(&path, found);
        } else if path.extension().is_some_and(|end| end == "rs") {
            found.push(path);
        }
    }
}

fn module_of(path: &Path) -> String {
    let inside = path.strip_prefix(root().join("src")).unwrap();
    let first = inside.components().next().unwrap().as_os_str().to_str().unwrap();
    first.trim_end_matches(".rs").to_owned()
}

/// Names of top-level modules that a file reaches through `crate::`, with the line.
fn uses(text: &str) -> Vec<(usize, String)> {
    let mut found = Vec::new();
    for (number, line) in text.lines().enumerate() {
        let code = line.split("//").next().unwrap();
        for (at, _) in code.match_indices("crate::") {
            let rest = &code[at + "crate::".len()..];
            if let Some(list) = rest.strip_prefix('{') {
                for part in list.split(',') {
                    let name: String = part.trim().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
                    found.push((number + 1, name));
                }
            } else {
                let name: String = rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
                found.push((number + 1, name));
            }
        }
    }
    found
}

#[test]
fn data_flows_one_way() {
    let mut files = Vec::new();
    rust_files(&root().join("src"), &mut files);
    files.sort();
    let mut wrong = Vec::new();
    let mut seen = 0;
    for path in &files {
        let module = module_of(path);
        if module == "lib" || module == "main" {
            continue;
        }
        let here =
            ORDER.iter().position(|name| *name == module).unwrap_or_else(|| panic!("`{module}` is not in the order"));
        for (line, used) in uses(&fs::read_to_string(path).unwrap()) {
            let Some(there) = ORDER.iter().position(|name| *name == used) else { continue };
            seen += 1;
            if there > here || FORBIDDEN.contains(&(module.as_str(), used.as_str())) {
                wrong.push(format!("{}:{line}: `{module}` uses `{used}`", path.display()));
            }
        }
    }
    assert!(seen > 50, "the reader of `use` lines found only {seen} uses: it is broken");
    assert!(wrong.is_empty(), "uses against the flow:\n{}", wrong.join("\n"));
}

#[test]
fn the_order_names_every_room() {
    for entry in fs::read_dir(root().join("src")).unwrap() {
        let module = module_of(&entry.unwrap().path());
        assert!(["lib", "main"].contains(&module.as_str()) || ORDER.contains(&module.as_str()), "`{module}`");
    }
}

#[test]
fn only_the_command_line_reads_the_world() {
    let mut files = Vec::new();
    rust_files(&root().join("src"), &mut files);
    let mut wrong = Vec::new();
    for path in files {
        if ["cli", "main"].contains(&module_of(&path).as_str()) {
            continue;
        }
        for (number, line) in fs::read_to_string(&path).unwrap().lines().enumerate() {
            let code = line.split("//").next().unwrap();
            for world in
                ["std::fs", "std::env", "std::process", "std::time", "std::net", "std::io::stdin", "std::thread"]
            {
                if code.contains(world) {
                    wrong.push(format!("{}:{}: {world}", path.display(), number + 1));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "core rooms must not reach for the world:\n{}", wrong.join("\n"));
}

/// See `src/copper/crew.rs`: threads inside a part that is worked out once could wait for themselves.
#[test]
fn copper_shares_work_among_threads_in_one_place() {
    let mut files = Vec::new();
    rust_files(&root().join("src/copper"), &mut files);
    files.retain(|path| fs::read_to_string(path).unwrap().contains("rayon"));
    assert_eq!(files, [root().join("src/copper/crew.rs")]);
}

/// All heights come from the stackup in force, which may be the rule set's.
#[test]
fn few_look_at_the_board_file_s_own_stackup() {
    let allowed = [
        "board",
        "copper/mod.rs",
        "signal/basis.rs",
        "checks/stackup_missing.rs",
        "report/stackup.rs",
        "report/draft_stackup.rs",
    ];
    let mut files = Vec::new();
    rust_files(&root().join("src"), &mut files);
    let mut seen = 0;
    for path in files {
        let inside = path.strip_prefix(root().join("src")).unwrap();
        let text = fs::read_to_string(&path).unwrap();
        if text.contains("board.stackup") || text.contains("board().stackup") {
            seen += 1;
            let fine = allowed.iter().any(|start| inside.starts_with(start));
            assert!(fine, "{}: ask `Copper::stackup` or `Signals::basis`", inside.display());
        }
    }
    assert!(seen >= allowed.len() - 1, "the search found only {seen} files: it is broken");
}

#[test]
fn the_top_level_holds_what_it_may() {
    let allowed = [
        "Cargo.toml",
        "Cargo.lock",
        "README.md",
        "DEVELOPERS.md",
        "LICENSE-MIT",
        "LICENSE-APACHE",
        "src",
        "rules",
        "tests",
        "fixtures",
        "target",
    ];
    for entry in fs::read_dir(root()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(name.starts_with('.') || allowed.contains(&name.as_str()), "`{name}` does not belong at the top level");
    }
}

#[test]
fn every_source_file_says_what_it_holds() {
    let mut files = Vec::new();
    rust_files(&root().join("src"), &mut files);
    rust_files(&root().join("tests"), &mut files);
    for path in files {
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.starts_with("//!"), "{} has no opening line of documentation", path.display());
    }
}
