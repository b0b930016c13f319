//! Time of a rebuilt week with the shipped library; credits of movements are worked out before the clock starts.

use desk::{AuditRequest, Desk, House, PresentWeek, ProposeRequest, RebuildRequest, rebuild};
use programme::rules::Aim;
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

/// The workbook of a rebuilt week of six days.
fn six_days() -> &'static [u8] {
    static BOOK: OnceLock<Vec<u8>> = OnceLock::new();
    BOOK.get_or_init(|| {
        let request = RebuildRequest { days: Some("6"), ..RebuildRequest::default() };
        let week = rebuild(desk(), &request, &mut |_| true).expect("a week");
        desk::rebuilt_workbook(&week).expect("a workbook")
    })
}

/// Reading, judging and proposing, as `lengthwise audit` does it.
#[divan::bench(sample_count = 10, sample_size = 1)]
fn audit_and_proposals_of_six_days(bencher: divan::Bencher) {
    let request = AuditRequest { bytes: six_days(), name: "six.xlsx", week: None, kit: None };
    bencher.bench_local(|| desk().audit(divan::black_box(&request)).expect("an audit"));
}

/// Judged twice, as read and with the proposals taken.
#[divan::bench(sample_count = 10, sample_size = 1)]
fn propose_for_the_demo_week(bencher: divan::Bencher) {
    let bytes = include_bytes!("../../../examples/demo-week.xlsx");
    let plan = AuditRequest { bytes, name: "demo-week.xlsx", week: None, kit: None };
    let request = ProposeRequest { plan, apply: None };
    bencher.bench_local(|| desk().propose(divan::black_box(&request)).expect("proposals").answer);
}

/// INVENTED clients: the demo client with other days, minutes and aims.
#[divan::bench(sample_count = 1, sample_size = 1, args = [3, 50])]
fn clients(bencher: divan::Bencher, count: u32) {
    let house = Arc::new(House::embedded().expect("the shipped data"));
    let client = include_str!("../../../examples/demo-client.toml");
    let client = desk::read_client(client, "demo-client.toml").expect("the demo client").0;
    bencher.bench_local(|| {
        for i in 0..count {
            let mut client = client.clone();
            let group = ["Hamstrings", "Chest", "Triceps", "Lats", "Quadriceps"][(i % 5) as usize];
            client.aims.retain(|a| a.0 != group);
            client.aims.push((group.into(), Aim::Focus));
            let days = (1 + i % 6).to_string();
            let minutes = Some(30.0 + f64::from(i % 7) * 10.0);
            let request = RebuildRequest { days: Some(&days), minutes, ..RebuildRequest::default() };
            let desk = Desk::of(house.clone(), Some(client), 0, 1);
            divan::black_box(rebuild(&desk, &request, &mut |_| true).expect("a week").proof.gap);
        }
    });
}
