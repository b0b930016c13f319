//! `completions`: words the shell can fill in.

use super::{End, say};
use clap_complete::Shell;

/// Completion for your shell
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Prints the completion script of a shell.",
    after_long_help = "Example:
  lengthwise completions bash > ~/.local/share/bash-completion/completions/lengthwise"
)]
pub struct Args {
    /// The shell
    #[arg(value_enum, value_name = "SHELL")]
    shell: Shell,
}

impl Args {
    pub fn run(&self) -> End {
        let mut script = Vec::new();
        clap_complete::generate(self.shell, &mut crate::docs::command(), "lengthwise", &mut script);
        say(&String::from_utf8_lossy(&script))
    }
}
