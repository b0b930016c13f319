//! How a run ends.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::process::ExitCode;

/// Exit codes, as documented in the help.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// The question was answered.
    Done = 0,
    /// Something is wrong with the input: a file, a name, a setting, a body.
    Input = 1,
    /// The command line itself is wrong.
    Usage = 2,
    /// A fault of the program.
    Internal = 3,
}

impl From<Exit> for ExitCode {
    fn from(e: Exit) -> ExitCode {
        ExitCode::from(e as u8)
    }
}

/// Runs `work`; a panic inside becomes one plain sentence on standard error and [`Exit::Internal`].
pub fn guard(work: impl FnOnce() -> Exit) -> Exit {
    std::panic::set_hook(Box::new(|info| {
        let place = info.location().map_or_else(|| "an unknown place".into(), |l| format!("{}:{}", l.file(), l.line()));
        let what = info.payload_as_str().unwrap_or("no further word");
        eprintln!(
            "lengthwise broke at {place}: {what}.\nThis is a fault of the program, not of your input; nothing was \
             changed. Please report this line with the command."
        );
    }));
    let end = catch_unwind(AssertUnwindSafe(work)).unwrap_or(Exit::Internal);
    drop(std::panic::take_hook());
    end
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_inside_ends_with_code_three() {
        assert_eq!(guard(|| panic!("a test of the hook")), Exit::Internal);
        assert_eq!(guard(|| Exit::Input) as u8, 1);
    }
}
