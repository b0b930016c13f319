//! The worst files, read in a child process that may not take more than 500 MB of address space: those that must be
//! refused, and those just inside every limit, which must be read.

mod hostile_support;

use hostile_support::{Noise, Parts, ods, xlsx};
use sheet::read::read_book;
use std::path::PathBuf;
use std::process::Command;

/// In thousands of bytes, as `ulimit -v` counts (1024 each): 500 MB.
const ALLOWED_KIB: u64 = 488_281;

/// Not a test by itself: the child started by `check`.
#[test]
#[ignore = "run by the other tests of this file, in a child process"]
fn child_reads_one_file() {
    let Ok(path) = std::env::var("HOSTILE_FILE") else { return };
    let bytes = std::fs::read(&path).unwrap();
    match read_book(&bytes, "plan") {
        Ok(book) => {
            let filled = book.sheets.iter().flat_map(|g| &g.rows).flatten().filter(|c| !c.value.is_empty()).count();
            println!("outcome: read {filled}");
        }
        Err(error) => println!("outcome: {error}"),
    }
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    if let Some(peak) = status.lines().find(|l| l.starts_with("VmHWM")) {
        println!("{peak}");
    }
}

/// Reads `bytes` in a child under the limit; its outcome must contain `expected`.
fn check(name: &str, bytes: Vec<u8>, expected: &str) {
    let path: PathBuf = std::env::temp_dir().join(format!("{}-{name}", std::process::id()));
    std::fs::write(&path, &bytes).unwrap();
    drop(bytes);
    let this_test = std::env::current_exe().unwrap();
    let command = format!(
        "ulimit -v {ALLOWED_KIB} && exec '{}' --ignored --exact child_reads_one_file --nocapture --test-threads 1",
        this_test.display()
    );
    let child =
        Command::new("sh").arg("-c").arg(command).env("HOSTILE_FILE", &path).env("MALLOC_ARENA_MAX", "1").output();
    std::fs::remove_file(&path).unwrap();
    let Ok(child) = child else {
        eprintln!("skipped: no sh here");
        return;
    };
    let said = String::from_utf8_lossy(&child.stdout).into_owned();
    let complained = String::from_utf8_lossy(&child.stderr);
    let interesting = |l: &&str| l.contains("outcome") || l.contains("VmHWM");
    println!("{name}: {}", said.lines().filter(interesting).collect::<Vec<_>>().join("; "));
    assert!(child.status.success(), "{name}: {}\n{said}\n{complained}", child.status);
    assert!(said.contains(&format!("outcome: {expected}")), "{name}: {said}\n{complained}");
}

#[test]
fn the_limit_bites() {
    // The check can fail: a child that takes more than it may does not come back in good order.
    let taken = Command::new("sh").arg("-c").arg("ulimit -v 1000 && exec sh -c 'echo alive'").output();
    if let Ok(taken) = taken {
        assert!(!taken.status.success() || !String::from_utf8_lossy(&taken.stdout).contains("alive"));
    }
}

#[test]
fn files_that_would_exhaust_memory_are_refused() {
    let blanks = || vec![b' '; 300_000_000];
    check(
        "bomb.xlsx",
        xlsx("").with("xl/worksheets/sheet1.xml", blanks()).zip(),
        "plan, part xl/worksheets/sheet1.xml: this part swells",
    );
    check("bomb.ods", ods("").with("content.xml", blanks()).zip(), "plan, part content.xml: this part swells");
    let far = "<sheetData><row r=\"1048576\"><c r=\"XFD1048576\"><v>8</v></c></row></sheetData>";
    check("far.xlsx", xlsx(far).zip(), "read 0");
    let counted = xlsx("<sheetData><row><c t=\"s\"><v>0</v></c></row></sheetData>").with(
        "xl/sharedStrings.xml",
        "<sst count=\"4294967295\" uniqueCount=\"4294967295\"><si><t>Squat</t></si></sst>",
    );
    check("counted.xlsx", counted.zip(), "read 1");
    let repeated = "<table:table table:name=\"P\"><table:table-row table:number-rows-repeated=\"1048576\">\
                    <table:table-cell table:number-columns-repeated=\"16384\"><text:p>x</text:p></table:table-cell>\
                    </table:table-row></table:table>";
    check("repeated.ods", ods(repeated).zip(), "plan, sheet \"P\", cell A9951: the sheets spread over more than");
}

/// Close to as many small cells as one part can hold, each with a text of its own.
#[test]
fn files_just_inside_the_limits_are_read() {
    let mut noise = Noise(3);
    let mut sheet = String::with_capacity(40_000_000);
    sheet.push_str("<worksheet><sheetData>");
    let mut filled = 0;
    while sheet.len() < 39_900_000 {
        sheet.push_str("<row>");
        for _ in 0..200 {
            sheet.push_str(&format!("<c t=\"str\"><v>{}</v></c>", noise.next() % 10_000));
        }
        sheet.push_str("</row>");
        filled += 200;
    }
    sheet.push_str("</sheetData></worksheet>");
    check("texts.xlsx", xlsx("").with("xl/worksheets/sheet1.xml", sheet).zip(), &format!("read {filled}"));

    // Shared texts and a sheet that uses each of them, stored unpacked: file, texts and cells are all near their limits.
    let shared_texts = 950_000;
    let texts: String = (0..shared_texts).map(|n| format!("<si><t>{n:010}</t></si>")).collect();
    let shared = format!("<sst>{texts}</sst>");
    let mut sheet = String::from("<worksheet><sheetData>");
    let mut filled = 0;
    while sheet.len() < 29_900_000 {
        sheet.push_str("<row>");
        for col in 0..200 {
            sheet.push_str(&format!("<c t=\"s\"><v>{}</v></c>", (filled + col) % shared_texts));
        }
        sheet.push_str("</row>");
        filled += 200;
    }
    sheet.push_str("</sheetData></worksheet>");
    let parts: Parts = xlsx("").with("xl/worksheets/sheet1.xml", sheet).with("xl/sharedStrings.xml", shared);
    check("shared.xlsx", parts.unpacked().zip(), &format!("read {filled}"));
}

#[test]
fn large_text_tables_are_read() {
    let line = "Übung;3;82,5;a note of a few words only;x;y\n";
    let lines = 19_999;
    let latin: Vec<u8> = line.repeat(lines).chars().map(|c| c as u8).collect();
    check("latin.csv", latin, &format!("read {}", lines * 6));
    // Nothing but separators and short cells: the most cells a text can have.
    let dense = format!("{}\n", vec!["1"; 200].join(";")).repeat(9_900);
    check("dense.csv", dense.into_bytes(), &format!("read {}", 9_900 * 200));
    let wide: Vec<u8> =
        [0xFF, 0xFE].into_iter().chain("ab;cd\n".repeat(3_300_000).encode_utf16().flat_map(u16::to_le_bytes)).collect();
    check("wide.csv", wide, &format!("read {}", 20_000 * 2));
    let heavy = format!("{};\n", "é".repeat(1_500)).repeat(13_000).into_bytes();
    assert!(heavy.len() < 40_000_000);
    check("heavy.csv", heavy, "read 13000");
}
