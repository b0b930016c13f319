//! The anchors of the shoulder heads in `data/anatomy/shoulder_anchors.csv` are those of the centre-of-range rule.
//!
//! To write them anew (after a change of paths, rhythm or grid):
//! `cargo test -p anatomy --test heads_anchors -- --ignored`, then look at the difference.

mod heads_support;

use anatomy::body::Body;
use anatomy::heads::shoulder_anchors;
use heads_support::tables;

/// Anchors are written with three digits.
const ROUNDING: f64 = 0.000_51;

#[test]
fn the_shipped_anchors_are_fresh() {
    let tables = tables();
    let anchors = shoulder_anchors(&tables, &Body::average_man());
    assert_eq!(anchors.len(), 15, "deltoid 3, pectoralis major 3, latissimus 3, teres 2, cuff 3, coracobrachialis");
    for a in anchors {
        let h = &tables.heads[a.head];
        assert!(
            (h.anchor_length - a.anchor_length).abs() < ROUNDING,
            "{}: {} in the file, {:.3} by the rule",
            h.id,
            h.anchor_length,
            a.anchor_length
        );
    }
}

#[test]
#[ignore = "writes data/anatomy/shoulder_anchors.csv"]
fn write_the_anchors() {
    let tables = tables();
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../data/anatomy/shoulder_anchors.csv");
    let old = std::fs::read_to_string(path).expect("the file exists");
    let source = old.lines().nth(1).and_then(|l| l.rsplit(',').next()).expect("a first row with a source").to_string();
    let mut text = "head,range_centre,anchor_length,source\n".to_string();
    for a in shoulder_anchors(&tables, &Body::average_man()) {
        let h = &tables.heads[a.head];
        let centre = h.range_centre.expect("only heads with a centre are listed");
        text += &format!("{},{centre},{:.3},{source}\n", h.id, a.anchor_length);
        println!("{}: {:.0}–{:.0} mm", h.id, a.shortest_m * 1e3, a.longest_m * 1e3);
    }
    std::fs::write(path, text).expect("the data folder can be written");
}
