//! The binary as a coach runs it: exit codes, pipes, widths, files.

use assert_cmd::Command;
use cli::render::text::{WIDTH, columns};
use std::path::Path;

const COMMANDS: [&str; 15] = [
    "look",
    "compare",
    "rank",
    "audit",
    "muscles",
    "movements",
    "draw",
    "sources",
    "sure",
    "new",
    "check",
    "backup",
    "restore",
    "schema",
    "completions",
];

struct Ran {
    code: i32,
    out: String,
    err: String,
}

fn run(args: &[&str]) -> Ran {
    run_in(Path::new("."), args)
}

fn run_in(folder: &Path, args: &[&str]) -> Ran {
    let mut command = Command::cargo_bin("lengthwise").expect("the binary is built");
    let output = command.current_dir(folder).args(args).output().expect("it starts");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
    Ran { code: output.status.code().unwrap_or(-1), out: text(output.stdout), err: text(output.stderr) }
}

/// Ends with `code`; everything printed is free of escape codes and, unless it is data, at most 80 columns wide.
fn check(args: &[&str], code: i32, says: &str) -> Ran {
    let ran = run(args);
    assert_eq!(ran.code, code, "{args:?}: {}{}", ran.out, ran.err);
    assert!(ran.out.contains(says) || ran.err.contains(says), "{args:?} should say {says:?}: {}{}", ran.out, ran.err);
    narrow(&ran, args);
    ran
}

fn narrow(ran: &Ran, args: &[&str]) {
    let data = args.contains(&"--json") || ["completions", "schema", "new"].contains(&args[0]);
    for line in ran.out.lines().filter(|_| !data).chain(ran.err.lines()) {
        assert!(!line.contains('\u{1b}'), "escape code in {line:?}");
        assert!(columns(line) <= WIDTH, "{} columns: {line}", columns(line));
    }
}

#[test]
fn every_command_has_help_with_an_example() {
    for name in COMMANDS {
        let ran = check(&[name, "--help"], 0, "Example");
        assert!(ran.out.contains(&format!("lengthwise {name}")), "{name}: {}", ran.out);
        check(&[name, "-h"], 0, "Usage");
    }
    check(&["--help"], 0, "Exit codes");
    check(&["--version"], 0, "lengthwise");
}

#[test]
fn a_wrong_command_line_ends_with_two() {
    for args in [
        &["lok"][..],
        &["look"],
        &["look", "back-squat", "--set", "depth"],
        &["look", "back-squat{"],
        &["look", "back-squat", "--draws", "many"],
        &["look", "back-squat", "--figure", "squat.gif"],
        &["compare", "back-squat"],
        &["audit", "plan.xlsx", "--week", "0"],
        &["draw", "--out", "x"],
        &["schema", "nonsense"],
        &["backup"],
        &["restore", "--look"],
    ] {
        check(args, 2, "error");
    }
    assert_eq!(run(&["squint"]).code, 2);
}

#[test]
fn a_problem_with_the_input_ends_with_one_and_names_the_place() {
    check(&["look", "back-squat", "--client", "nobody.toml"], 1, "nobody.toml: cannot read it: there is no such file");
    check(&["audit", "nothing.xlsx"], 1, "nothing.xlsx");
    check(&["check", "."], 1, "folder");
    check(&["rank", "soleus", "--kit", "hom-db-24"], 1, "home-db-24");
    check(&["sources", "soleuss"], 1, "nearest: soleus");
}

#[test]
fn unknown_names_come_with_the_nearest() {
    for args in [&["look", "skwott"][..], &["rank", "soleuss"], &["compare", "back-squat", "skwott"]] {
        let ran = check(args, 1, "error");
        assert!(ran.err.contains("nearest"), "{}", ran.err);
    }
}

#[test]
fn schemas_and_sources_need_no_engine() {
    for name in ["look", "compare", "rank", "audit", "muscles", "movements", "sources"] {
        let ran = check(&["schema", name], 0, &format!("lengthwise.{name}/1"));
        serde_json::from_str::<serde_json::Value>(&ran.out).expect("JSON");
    }
    check(&["sources"], 0, "programme/bands.csv");
    check(&["sources", "grow"], 0, "data/programme/bands.csv");
    let ran = check(&["sources", "soleus", "--json"], 0, "lengthwise.sources/1");
    serde_json::from_str::<serde_json::Value>(&ran.out).expect("JSON");
}

#[test]
fn completions_exist_for_every_shell() {
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        check(&["completions", shell], 0, "lengthwise");
    }
}

#[test]
fn new_files_pass_their_own_check_and_are_never_overwritten() {
    let folder = tempfile::tempdir().expect("a folder");
    for (kind, file) in [("client", "mia.toml"), ("plan", "plan.csv")] {
        let made = run_in(folder.path(), &["new", kind, "--out", file]);
        assert_eq!(made.code, 0, "{}", made.err);
        let again = run_in(folder.path(), &["new", kind, "--out", file]);
        assert_eq!(again.code, 1);
        assert!(again.err.contains("not overwritten"), "{}", again.err);
        let checked = run_in(folder.path(), &["check", file]);
        assert_eq!(checked.code, 0, "{kind}: {}", checked.err);
        narrow(&checked, &["check"]);
        let printed = run(&["new", kind]);
        assert_eq!(printed.out, std::fs::read_to_string(folder.path().join(file)).expect("written"));
    }
    let plan = run_in(folder.path(), &["check", "plan.csv"]);
    assert!(plan.out.contains("0 not understood"), "{}{}", plan.out, plan.err);
}

#[test]
fn all_problems_of_a_client_are_listed_at_once() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("mia.toml");
    std::fs::write(&path, "name = \"Mia\"\nhieght_cm = 168\nmass_kg = 6400\n").expect("written");
    let ran = run_in(folder.path(), &["check", "mia.toml"]);
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("mia.toml:2") && ran.err.contains("mia.toml:3"), "{}", ran.err);
    std::fs::write(&path, b"name = \"M\xfcller\"\n").expect("written");
    let ran = run_in(folder.path(), &["look", "back-squat", "--client", "mia.toml"]);
    assert!(ran.code == 1 && ran.err.contains("UTF-8"), "{}", ran.err);
}

#[test]
fn hostile_files_end_with_one_never_with_a_fault() {
    let folder = tempfile::tempdir().expect("a folder");
    let cases: [(&str, &[u8]); 6] = [
        ("empty.xlsx", b""),
        ("cut.xlsx", b"PK\x03\x04\x14\x00\x00\x00"),
        ("nul.csv", b"Day,Exercise\n\0,Squat\n"),
        ("picture.xlsx", b"\x89PNG\r\n\x1a\n0000"),
        ("deep.toml", b"[[[[[[[["),
        ("words.csv", b"nothing,to,see\n"),
    ];
    for (name, bytes) in cases {
        std::fs::write(folder.path().join(name), bytes).expect("written");
        for command in ["check", "audit"] {
            let ran = run_in(folder.path(), &[command, name]);
            assert!(
                ran.code == 1 || (command == "audit" && ran.code == 0),
                "{command} {name}: {} {}",
                ran.code,
                ran.err
            );
            narrow(&ran, &[command]);
        }
    }
}

#[test]
fn a_reader_that_closes_early_is_no_fault() {
    let program = assert_cmd::cargo::cargo_bin("lengthwise");
    let script = format!("\"{}\" sources soleus | head -n 1; exit ${{PIPESTATUS[0]}}", program.display());
    let output = std::process::Command::new("bash").args(["-c", &script]).output().expect("a shell");
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(output.stderr.is_empty());
}

/// A coach's own movement: the starting file is sound and can be looked at; each slip is told with its line, all of a
/// file's at once, and drawn.
#[test]
fn an_own_movement_is_started_checked_drawn_and_used() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let ok = |args: &[&str]| {
        let ran = run_in(at, args);
        assert_eq!(ran.code, 0, "{args:?}: {}{}", ran.out, ran.err);
        ran
    };
    ok(&["new", "movement", "squat", "--out", "own/my-squat.toml"]);
    assert!(ok(&["check", "own/my-squat.toml", "--figure", "sound.svg"]).out.contains("can do it"));
    assert!(ok(&["look", "my-squat", "--from", "own", "--draws", "0"]).out.contains("My squat"));
    let text = std::fs::read_to_string(at.join("own/my-squat.toml")).expect("written");
    let check = |from: &str, to: &str, says: &[&str]| {
        assert!(text.contains(from), "{from}");
        std::fs::write(at.join("wrong.toml"), text.replacen(from, to, 1)).expect("a place to write");
        let ran = run_in(at, &["check", "wrong.toml", "--figure", "wrong.svg"]);
        assert_eq!(ran.code, 1, "{to}: {}{}", ran.out, ran.err);
        narrow(&ran, &["check"]);
        let told = ran.err.split_whitespace().collect::<Vec<_>>().join(" ");
        for s in says {
            assert!(told.contains(s), "{to} should say {s:?}: {told}");
        }
    };
    // A joint past its range and a foot that floats, each with its line, in one go.
    let deep = "turn = \"low_knee_deg + 50\" }";
    check("turn = \"low_knee_deg\" }", deep, &["wrong.toml:", "knee.flexion is 165 degrees", "errors"]);
    check(
        "toe_out_deg = \"toe_out_deg\"",
        "toe_out_deg = \"toe_out_deg\"\ny_m = 0.15",
        &["floats 150 mm", "nothing under it"],
    );
    assert!(std::fs::read_to_string(at.join("wrong.svg")).expect("drawn").contains("floats"));
    // What cannot be read is told before anything is solved: all settings of all movements at once.
    let settings = "settings = { depth_knee_deg = 300, gripp = 2 }";
    check("settings = {}", settings, &["`depth_knee_deg` = 300", "no setting `gripp`", "2 errors"]);
    check("kind = \"bar\"", "kind = \"barr\"", &["thing \"barr\": bar, dumb-bell"]);
    check("id = \"my-squat\"", "id = \"back-squat\"", &["the id back-squat is taken by \"Back squat, high bar\""]);
    let ran = run_in(at, &["new", "movement", "sqat"]);
    assert!(ran.code == 1 && ran.err.contains("nearest: squat"), "{}", ran.err);
    let ran = run_in(at, &["new", "movement"]);
    assert!(ran.code == 1 && ran.err.contains("which family"), "{}", ran.err);
    let ran = run_in(at, &["new", "plan", "squat"]);
    assert!(ran.code == 1 && ran.err.contains("not needed"), "{}", ran.err);
}

/// A bar that passes through the thighs is found in the rep and told in words.
#[test]
fn a_bar_through_the_thigh_is_found() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    run_in(at, &["new", "movement", "deadlift", "--out", "d.toml"]);
    let text = std::fs::read_to_string(at.join("d.toml")).expect("written");
    let moved = text.replace("kind = \"bar\", at = \"hands\",", "kind = \"bar\", at = \"hands\", x_m = -0.055,");
    std::fs::write(at.join("d.toml"), moved).expect("a place to write");
    let ran = run_in(at, &["check", "d.toml"]);
    let told = ran.err.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(ran.code == 1 && told.contains("the bar passes through the"), "{told}");
}

/// All pictures of a family, with the page that shows them.
#[test]
fn a_family_is_drawn_with_a_page_that_shows_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let ran = run_in(folder.path(), &["draw", "--family", "leg-curl", "--out", "out"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let page = std::fs::read_to_string(folder.path().join("out/index.html")).expect("written");
    let pictures = page.matches("<img").count();
    assert!(pictures >= 6 && pictures.is_multiple_of(2), "{pictures}");
    for name in page.split("src=\"").skip(1).filter_map(|s| s.split('"').next()) {
        assert!(folder.path().join("out").join(name).is_file(), "{name}");
    }
    assert!(!page.contains("http"), "nothing is fetched");
}

/// A copy is made, looked at and put back; nothing that was there is lost, and what cannot be a backup changes nothing.
#[test]
fn a_backup_brings_everything_back() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let check = |args: &[&str], code: i32, says: &[&str]| {
        let ran = run_in(at, args);
        let told = format!("{}{}", ran.out, ran.err).split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(ran.code, code, "{args:?}: {told}");
        narrow(&ran, args);
        for s in says {
            assert!(told.contains(s), "{args:?} should say {s:?}: {told}");
        }
    };
    let clients = || store::Store::open(&at.join("data")).expect("it opens").0.clients(true).expect("clients").len();
    let add = |name: &str| {
        let (store, _) = store::Store::open(&at.join("data")).expect("it opens");
        store.add_client(&store::NewClient { name, file: "name = \"x\"\n" }).expect("a client");
    };
    check(&["backup", "b.db", "--data", "data"], 1, &["nothing to back up yet", "--data DIR"]);
    assert!(!at.join("data").exists() && !at.join("b.db").exists(), "asking made files");
    add("Mia (invented)");
    check(&["backup", "b.db", "--data", "data"], 0, &["b.db holds 1 client and 0 weeks", "last changed 20"]);
    check(&["backup", "b.db", "--data", "data"], 1, &["not overwritten"]);
    check(&["backup", "no/such/b.db", "--data", "data"], 1, &["could not be written", "folder is missing"]);
    add("Ole (invented)");
    check(&["restore", "b.db", "--look", "--data", "data"], 0, &["1 client", "Nothing was changed"]);
    assert_eq!(clients(), 2);
    std::fs::write(at.join("plan.xlsx"), b"PK\x03\x04 a workbook").expect("a file");
    for wrong in [&["restore", "plan.xlsx", "--data", "data"][..], &["restore", "plan.xlsx", "--look"]] {
        check(wrong, 1, &["plan.xlsx: this is no backup of Lengthwise", "what to do"]);
    }
    check(&["restore", "gone.db", "--data", "data"], 1, &["gone.db"]);
    let (open, _) = store::Store::open(&at.join("data")).expect("it opens");
    check(&["restore", "b.db", "--data", "data"], 1, &["a running Lengthwise has it open", "Ctrl-C"]);
    check(&["backup", "while-open.db", "--data", "data"], 0, &["2 clients"]);
    drop(open);
    check(&["restore", "b.db", "--data", "data"], 0, &["data now holds 1 client", "before-restore-1.db"]);
    assert_eq!(clients(), 1);
    // The way back that the message names.
    check(&["restore", "data/lengthwise-before-restore-1.db", "--data", "data"], 0, &["2 clients"]);
    assert_eq!(clients(), 2);
    check(&["restore", "b.db", "--data", "new"], 0, &["There was nothing there before"]);
    // A damaged store is not copied as if it were sound.
    let damaged = at.join("new").join(store::FILE);
    let bytes = std::fs::read(&damaged).expect("the store");
    std::fs::write(&damaged, &bytes[..bytes.len() / 2]).expect("cut");
    check(&["backup", "c.db", "--data", "new"], 1, &["damaged", "restore"]);
    assert!(!at.join("c.db").exists());
    let mut command = Command::cargo_bin("lengthwise").expect("the binary is built");
    let output = command.current_dir(at).env("LENGTHWISE_DATA", "data").args(["backup", "by-variable.db"]).output();
    assert!(output.expect("it starts").status.success() && at.join("by-variable.db").exists());
}

/// The app answers on this machine alone, and its data cannot be exchanged under it by another process.
#[test]
fn the_app_opens_and_holds_its_data() {
    use std::io::{BufRead, BufReader, Read, Write};
    struct Running(std::process::Child);
    impl Drop for Running {
        fn drop(&mut self) {
            let _ = self.0.kill();
            let _ = self.0.wait();
        }
    }
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let program = assert_cmd::cargo::cargo_bin("lengthwise");
    let started = std::process::Command::new(program)
        .current_dir(at)
        .args(["open", "--no-browser", "--port", "0", "--data", "data"])
        .stdout(std::process::Stdio::piped())
        .spawn();
    let mut running = Running(started.expect("it starts"));
    let mut out = BufReader::new(running.0.stdout.take().expect("its output"));
    let mut line = String::new();
    out.read_line(&mut line).expect("a line");
    let host =
        line.trim().rsplit_once("http://").map(|(_, h)| h.trim_end_matches('/').to_string()).expect("an address");
    assert!(host.starts_with("127.0.0.1:"), "{line}");
    let mut socket = std::net::TcpStream::connect(&host).expect("it listens");
    write!(socket, "GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n").expect("asked");
    let mut page = String::new();
    socket.read_to_string(&mut page).expect("answered");
    assert!(page.starts_with("HTTP/1.1 200") && page.contains("Lengthwise"), "{page}");
    let ran = run_in(at, &["backup", "b.db", "--data", "data"]);
    assert_eq!(ran.code, 0, "a backup is made while the app is open: {}", ran.err);
    let ran = run_in(at, &["restore", "b.db", "--data", "data"]);
    assert!(ran.code == 1 && ran.err.contains("has it open"), "{} {}", ran.code, ran.err);
    drop(running);
    let ran = run_in(at, &["restore", "b.db", "--data", "data"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
}
