//! Reading and writing a log of 1,000 rows and 8 columns.

use divan::{Bencher, black_box};
use sheet::read::read_book;
use sheet::write::{CellOut, SheetOut, WorkbookOut, write_book};

fn log() -> WorkbookOut {
    let row = |n: usize| {
        let number = n as f64;
        vec![
            CellOut::text(["Mon", "Wed", "Fri"][n % 3]),
            CellOut::text(format!("Exercise {}", n % 40)),
            CellOut::number(number % 6.0, 0),
            CellOut::text("8-10"),
            CellOut::number(40.0 + number % 50.0 / 2.0, 1),
            CellOut::number(number % 4.0, 0),
            CellOut::share(0.75, 0),
            CellOut::text(format!("note {n}, slow on the way down")),
        ]
    };
    let rows = (0..1_000).map(row).collect();
    WorkbookOut { title: "log".into(), sheets: vec![SheetOut { name: "Log".into(), rows, ..SheetOut::default() }] }
}

#[divan::bench]
fn read_xlsx(bencher: Bencher) {
    let bytes = write_book(&log()).expect("the log fits");
    bencher.bench(|| read_book(black_box(&bytes), "log.xlsx"));
}

#[divan::bench]
fn read_csv(bencher: Bencher) {
    let text = "Mon;Exercise 7;3;8-10;62,5;2;75%;\"note, slow on the way down\"\n".repeat(1_000);
    bencher.bench(|| read_book(black_box(text.as_bytes()), "log.csv"));
}

#[divan::bench]
fn write_xlsx(bencher: Bencher) {
    let log = log();
    bencher.bench(|| write_book(black_box(&log)));
}

fn main() {
    divan::main();
}
