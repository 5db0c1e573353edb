//! What a person at a terminal sees of a run that takes longer than a second: one line on standard error, gone at the
//! end. Nothing of it reaches a pipe, a file or a result.

use super::output;
use std::env;
use std::io::{self, IsTerminal};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

/// Runs shorter than this show nothing.
const PATIENCE: Duration = Duration::from_secs(1);
/// Between two looks at the clock.
const STEP: Duration = Duration::from_millis(250);

/// The line, while it lives.
#[derive(Debug)]
pub struct Progress {
    phase: Arc<Mutex<String>>,
    /// Dropped to end the thread.
    end: Option<Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

impl Progress {
    /// Starts counting, if somebody watches.
    pub fn start() -> Self {
        let dumb = env::var_os("TERM").is_none_or(|term| term == "dumb");
        let watched = io::stderr().is_terminal() && !dumb;
        let phase = Arc::new(Mutex::new(String::new()));
        if !watched {
            return Self { phase, end: None, thread: None };
        }
        let (end, ended) = channel();
        let shown = Arc::clone(&phase);
        let thread = thread::Builder::new().spawn(move || show(&shown, &ended, &output::complain)).ok();
        Self { phase, end: Some(end), thread }
    }

    /// Says what is being done now.
    pub fn phase(&self, words: impl Into<String>) {
        if let Ok(mut phase) = self.phase.lock() {
            *phase = words.into();
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.end = None;
        if let Some(thread) = self.thread.take() {
            // It ends on its own and has nothing to tell.
            let _ = thread.join();
        }
    }
}

/// Shows the phase and the seconds until the other end is dropped, then clears the line.
fn show(phase: &Mutex<String>, ended: &Receiver<()>, write: &dyn Fn(&str)) {
    let started = Instant::now();
    let mut wait = PATIENCE;
    let mut shown = false;
    while ended.recv_timeout(wait) == Err(RecvTimeoutError::Timeout) {
        let words = phase.lock().map_or_else(|_| String::new(), |phase| phase.clone());
        write(&format!("\r\u{1b}[2K{words}, {} s", started.elapsed().as_secs()));
        (wait, shown) = (STEP, true);
    }
    if shown {
        write("\r\u{1b}[2K");
    }
}
