//! Files under `fixtures/` that are drawn by code: compared byte for byte, or written anew with `UPDATE=1`.

use std::path::{Path, PathBuf};

/// A path under `fixtures/`.
pub fn path(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures").join(name)
}

/// Holds a fixture against what the code draws.
pub fn hold(name: &str, text: &str) {
    let path = path(name);
    if std::env::var_os("UPDATE").is_some_and(|value| value == "1") {
        std::fs::create_dir_all(path.parent().expect("a fixture lies in a folder")).expect("the folder can be made");
        std::fs::write(&path, text).expect("the fixture can be written");
        return;
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    if kept != text {
        let line = kept.lines().zip(text.lines()).take_while(|(kept, drawn)| kept == drawn).count() + 1;
        let of = |text: &str| text.lines().nth(line - 1).unwrap_or("(end)").trim().to_owned();
        panic!(
            "fixtures/{name} is not what the code draws; first difference in line {line}: `{}` in the file, `{}` drawn. \
             If the drawing is right: UPDATE=1 cargo test --test checks fixtures_are_current",
            of(&kept),
            of(text)
        );
    }
}
