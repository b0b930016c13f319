//! `docs/commands.md`, generated from the commands themselves so that it cannot go stale.

use crate::commands::Cli;
use clap::{Command, CommandFactory};
use std::fmt::Write;

/// Columns of help texts.
const HELP_WIDTH: usize = 80;

/// The whole command line with help of every command at 80 columns.
pub fn command() -> Command {
    let mut cli = Cli::command().term_width(HELP_WIDTH);
    cli.build();
    cli
}

/// Text of `docs/commands.md`.
pub fn commands_markdown() -> String {
    let mut cli = command();
    let mut text = String::from(
        "# Commands\n\nGenerated from the program (`UPDATE_DOCS=1 cargo test -p lengthwise --test docs`); do not edit by \
         hand.\n",
    );
    let mut section = |title: &str, help: String| {
        let help: Vec<&str> = help.lines().map(str::trim_end).collect();
        write!(text, "\n## {title}\n\n```text\n{}\n```\n", help.join("\n").trim_end())
            .expect("a string takes any text");
    };
    section("lengthwise", cli.render_long_help().to_string());
    for sub in cli.get_subcommands_mut().filter(|c| !c.is_hide_set() && c.get_name() != "help") {
        let title = format!("lengthwise {}", sub.get_name());
        section(&title, sub.render_long_help().to_string());
    }
    text
}
