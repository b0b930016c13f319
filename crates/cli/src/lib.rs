//! The command line. In: words a coach types and files a coach has; out: text for 80 columns, JSON or a figure, and
//! an exit code. Must never know: how a number is computed; the [`desk`] asks for it.
//!
//! Commands stand one to a file in [`commands`], texts in [`render`]; problems of input leave as one [`desk::problem::Report`].

pub mod args;
pub mod commands;
pub mod docs;
pub mod exit;
pub mod folder;
pub mod render;
pub mod terminal;

use clap::Parser;
use commands::Cli;
use exit::Exit;
use std::ffi::OsString;

/// Runs one command line and says how it ended. Never panics: a fault inside ends as [`Exit::Internal`].
pub fn run(args: impl IntoIterator<Item = OsString>) -> Exit {
    let args: Vec<OsString> = args.into_iter().collect();
    exit::guard(move || match Cli::try_parse_from(&args) {
        Ok(cli) => cli.run(),
        Err(e) if e.use_stderr() => {
            terminal::warn(&narrow(&e.render().to_string()));
            Exit::Usage
        }
        Err(e) => {
            // A closed pipe while help is printed is no fault.
            let _ = e.print();
            Exit::Done
        }
    })
}

/// A text whose long lines are wrapped with their own indent.
fn narrow(text: &str) -> String {
    let mut page = render::text::Page::default();
    for line in text.lines() {
        let indent = &line[..line.len() - line.trim_start().len()];
        let lines = render::text::wrap(line.trim_start(), render::text::WIDTH, indent, &format!("{indent}  "));
        page.lines(&lines);
    }
    page.text
}
