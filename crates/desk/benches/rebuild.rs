//! Time of a rebuilt week with the shipped library; credits of movements are worked out before the clock starts.

use desk::{Desk, House, PresentWeek, RebuildRequest, rebuild};
use std::sync::{Arc, OnceLock};

fn main() {
    divan::main();
}

fn desk() -> &'static Desk {
    static DESK: OnceLock<Desk> = OnceLock::new();
    DESK.get_or_init(|| {
        let house = Arc::new(House::embedded().expect("the shipped data"));
        let client = include_str!("../../../examples/demo-client.toml");
        let client = desk::read_client(client, "demo-client.toml").expect("the demo client").0;
        Desk::of(house, Some(client), 0, 1)
    })
}

fn built(request: &RebuildRequest) -> f64 {
    rebuild(desk(), request, &mut |_| true).expect("a week").proof.gap
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn six_days_of_the_whole_library(bencher: divan::Bencher) {
    let request = RebuildRequest { days: Some("6"), ..RebuildRequest::default() };
    println!("gap {:.4}", built(&request));
    bencher.bench_local(|| built(divan::black_box(&request)));
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn the_demo_week(bencher: divan::Bencher) {
    let bytes = include_bytes!("../../../examples/demo-week.xlsx");
    let present = PresentWeek::File { bytes, name: "demo-week.xlsx" };
    let request = RebuildRequest { present, ..RebuildRequest::default() };
    println!("gap {:.4}", built(&request));
    bencher.bench_local(|| built(divan::black_box(&request)));
}
