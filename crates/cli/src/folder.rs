//! Where the coach's data lies on this machine.

use clap::Args;
use desk::problem::{Problem, Report};
use std::ffi::OsString;
use std::path::PathBuf;

/// Environment variable that names the folder.
pub const VARIABLE: &str = "LENGTHWISE_DATA";

/// What `--help` says about the folder.
const HELP: &str = "Where your data lies, unless --data DIR or the variable LENGTHWISE_DATA says so:
  Linux    ~/.local/share/lengthwise  (or lengthwise in $XDG_DATA_HOME)
  macOS    ~/Library/Application Support/Lengthwise
  Windows  %LOCALAPPDATA%\\Lengthwise";

/// Help of a command that ends with where the data lies.
pub fn help(example: &str) -> String {
    format!("{example}\n\n{HELP}")
}

/// The folder, for commands that use it.
#[derive(Args, Clone, Debug, Default)]
pub struct Data {
    /// Folder of your data; the help's end says where it is without this
    #[arg(long = "data", value_name = "DIR")]
    given: Option<PathBuf>,
}

/// Conventions of systems.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum System {
    Linux,
    MacOs,
    Windows,
}

impl Data {
    /// The folder; it need not exist.
    pub fn folder(&self) -> Result<PathBuf, Report> {
        let system = if cfg!(target_os = "windows") {
            System::Windows
        } else if cfg!(target_os = "macos") {
            System::MacOs
        } else {
            System::Linux
        };
        let found = self.given.clone().or_else(|| by_convention(system, |name| std::env::var_os(name)));
        found.ok_or_else(|| {
            let problem = Problem::error("--data", "this system does not say where data of programs belongs");
            problem.remedy("name a folder with --data DIR").into()
        })
    }
}

/// Folder by variable, else by the convention of the system. Relative values of `XDG_DATA_HOME` are ignored, as the
/// XDG Base Directory Specification 0.8 asks.
fn by_convention(system: System, variable: impl Fn(&str) -> Option<OsString>) -> Option<PathBuf> {
    let path = |name: &str| variable(name).filter(|v| !v.is_empty()).map(PathBuf::from);
    if let Some(own) = path(VARIABLE) {
        return Some(own);
    }
    match system {
        System::Windows => path("LOCALAPPDATA").map(|p| p.join("Lengthwise")),
        System::MacOs => path("HOME").map(|p| p.join("Library/Application Support/Lengthwise")),
        System::Linux => path("XDG_DATA_HOME")
            .filter(|p| p.is_absolute())
            .or_else(|| path("HOME").map(|p| p.join(".local/share")))
            .map(|p| p.join("lengthwise")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_system_keeps_data_where_its_convention_says() {
        let check = |system: System, set: &[(&str, &str)], expected: Option<&str>| {
            let lookup = |name: &str| set.iter().find(|(n, _)| *n == name).map(|(_, v)| OsString::from(v));
            assert_eq!(by_convention(system, lookup), expected.map(PathBuf::from), "{system:?} {set:?}");
        };
        check(System::Linux, &[("HOME", "/h")], Some("/h/.local/share/lengthwise"));
        check(System::Linux, &[("HOME", "/h"), ("XDG_DATA_HOME", "/x")], Some("/x/lengthwise"));
        check(System::Linux, &[("HOME", "/h"), ("XDG_DATA_HOME", "x")], Some("/h/.local/share/lengthwise"));
        check(System::Linux, &[("HOME", "/h"), ("XDG_DATA_HOME", "")], Some("/h/.local/share/lengthwise"));
        check(System::MacOs, &[("HOME", "/h")], Some("/h/Library/Application Support/Lengthwise"));
        check(System::Windows, &[("LOCALAPPDATA", "/a"), ("HOME", "/h")], Some("/a/Lengthwise"));
        check(System::Windows, &[("HOME", "/h")], None);
        check(System::Linux, &[(VARIABLE, "/own"), ("HOME", "/h"), ("XDG_DATA_HOME", "/x")], Some("/own"));
        check(System::Linux, &[], None);
    }
}
