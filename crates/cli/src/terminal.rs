//! What depends on the terminal: ink, progress, pipes that close early.

use std::io::{ErrorKind, IsTerminal, Write};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// Bold and dim, or nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Ink {
    on: bool,
}

impl Ink {
    pub const PLAIN: Ink = Ink { on: false };

    /// Ink on a terminal, none when piped, with `NO_COLOR`, or on a dumb terminal.
    pub fn for_stdout() -> Ink {
        let unset = |name: &str| std::env::var_os(name).is_none_or(|v| v.is_empty());
        let dumb = std::env::var_os("TERM").is_some_and(|t| t == "dumb");
        Ink { on: std::io::stdout().is_terminal() && unset("NO_COLOR") && !dumb }
    }
    pub fn bold(self, line: &str) -> String {
        self.wrapped(line, "1")
    }
    pub fn dim(self, line: &str) -> String {
        self.wrapped(line, "2")
    }
    fn wrapped(self, line: &str, code: &str) -> String {
        if self.on && !line.is_empty() { format!("\u{1b}[{code}m{line}\u{1b}[0m") } else { line.to_string() }
    }
}

/// Writes to standard output. A reader that has seen enough (`| head`) is no error.
pub fn print(text: &str) -> std::io::Result<()> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() == ErrorKind::BrokenPipe => Ok(()),
        other => other,
    }
}

/// Writes to standard error; nothing can be done when that fails.
pub fn warn(text: &str) {
    let _ = std::io::stderr().lock().write_all(text.as_bytes());
}

/// A line on standard error for work over a second; silent when standard error is no terminal.
pub struct Progress {
    stop: Option<Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

impl Progress {
    pub fn start(what: &str) -> Progress {
        if !std::io::stderr().is_terminal() {
            return Progress { stop: None, thread: None };
        }
        let (stop, stopped) = channel();
        let what = what.to_string();
        let thread = std::thread::spawn(move || show_until(&stopped, &what));
        Progress { stop: Some(stop), thread: Some(thread) }
    }
}

fn show_until(stopped: &Receiver<()>, what: &str) {
    let began = Instant::now();
    let mut wait = Duration::from_secs(1);
    let mut shown = false;
    while stopped.recv_timeout(wait) == Err(RecvTimeoutError::Timeout) {
        warn(&format!("\r{what} … {} s", began.elapsed().as_secs()));
        shown = true;
        wait = Duration::from_millis(500);
    }
    if shown {
        warn("\r\u{1b}[K");
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        drop(self.stop.take());
        if let Some(thread) = self.thread.take() {
            // A progress line that broke must not break the answer.
            let _ = thread.join();
        }
    }
}
