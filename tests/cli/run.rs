//! Running the program as people do.

use std::path::{Path, PathBuf};
use std::process::Output;
use std::sync::atomic::{AtomicUsize, Ordering};

/// A folder of a test's own, gone when the test ends.
pub struct Folder(PathBuf);

impl Folder {
    pub fn new() -> Self {
        static NEXT: AtomicUsize = AtomicUsize::new(0);
        let name = format!("{}-{}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed));
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    pub fn path(&self) -> &Path {
        &self.0
    }

    pub fn write(&self, name: &str, content: impl AsRef<[u8]>) {
        let path = self.0.join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, content).unwrap();
    }

    pub fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.0.join(name)).unwrap()
    }

    /// Runs the program in this folder.
    pub fn run(&self, arguments: &[&str]) -> Ran {
        Ran(snapbox::cmd::Command::new(snapbox::cmd::cargo_bin!("throughline"))
            .args(arguments)
            .current_dir(&self.0)
            .env_remove("NO_COLOR")
            .env_remove("COLUMNS")
            .output()
            .unwrap())
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// What the program did.
pub struct Ran(Output);

impl Ran {
    pub fn code(&self) -> i32 {
        self.0.status.code().expect("no signal ends the program")
    }

    pub fn out(&self) -> &str {
        std::str::from_utf8(&self.0.stdout).unwrap()
    }

    pub fn err(&self) -> &str {
        std::str::from_utf8(&self.0.stderr).unwrap()
    }

    /// What a run complained of that should have ended with `code`.
    pub fn refused_or(&self, code: i32) -> &str {
        assert_eq!(self.code(), code, "{}", self.err());
        self.err()
    }

    /// The complaint of a run that judged nothing: exit code 2, nothing on standard output.
    pub fn refused(&self) -> &str {
        assert_eq!(self.code(), 2, "{}\n{}", self.out(), self.err());
        assert_eq!(self.out(), "");
        self.err()
    }
}
