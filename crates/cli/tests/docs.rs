//! The committed help page is the one the program would write now.

use std::path::Path;

#[test]
fn commands_page_is_fresh() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/commands.md");
    let fresh = cli::docs::commands_markdown();
    if std::env::var_os("UPDATE_DOCS").is_some() {
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("docs/ can be made");
        std::fs::write(&path, &fresh).expect("docs/commands.md can be written");
    }
    let committed = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(committed == fresh, "docs/commands.md is stale: UPDATE_DOCS=1 cargo test -p lengthwise --test docs");
}

#[test]
fn no_line_of_help_is_wider_than_a_terminal() {
    for line in cli::docs::commands_markdown().lines().filter(|l| !l.starts_with("Generated")) {
        assert!(cli::render::text::columns(line) <= cli::render::text::WIDTH, "{line}");
    }
}
