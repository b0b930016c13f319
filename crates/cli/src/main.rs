//! The binary. Everything happens in [`cli::run`]; here only the process ends.

use std::process::ExitCode;

fn main() -> ExitCode {
    cli::run(std::env::args_os()).into()
}
