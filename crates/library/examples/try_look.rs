//! Print a compact look: a quick check while writing movements.
use library::{Ask, Library};
fn main() {
    let lib = Library::embedded().unwrap_or_else(|e| panic!("{e}"));
    let mut args: Vec<String> = std::env::args().skip(1).collect();
    if args.first().map(String::as_str) == Some("reference") {
        print!("{}", lib.reference_values().unwrap_or_else(|e| panic!("{e}")));
        return;
    }
    let all = args.first().map(String::as_str) == Some("all");
    if all {
        args = lib.movements().into_iter().map(|m| m.id).collect();
    }
    for a in args {
        let ask = Ask::middle(&a);
        let t = std::time::Instant::now();
        match lib.look(&ask) {
            Ok(l) => {
                let h: Vec<String> = l
                    .heads
                    .iter()
                    .filter(|h| h.stimulus.mid > 0.1)
                    .take(if all { 6 } else { 40 })
                    .map(|h| {
                        format!(
                            "{}{} {:.2}",
                            h.id,
                            if all {
                                String::new()
                            } else {
                                format!(
                                    " a{:.2} l{:.2}-{:.2} dL{:+.0} o{:.1}",
                                    h.activation, h.length.min, h.length.max, h.length_change_mm.total, h.opposition
                                )
                            },
                            h.stimulus.mid
                        )
                    })
                    .collect();
                let us = t.elapsed().as_micros();
                println!(
                    "{a}: {:.1} {} limit {} stick {:.2} res {:.1} {}us | {}",
                    l.load_kg,
                    l.load_unit,
                    l.limiting_joint,
                    l.sticking_phase,
                    l.residual_nm,
                    us,
                    h.join(if all { ", " } else { "\n   " })
                );
                if !all {
                    println!(
                        "   moments {:?}\n   contact {:?}\n   notes {:?} {}",
                        l.moments
                            .iter()
                            .map(|m| format!("{} {:.0}@{:.1}", m.axis, m.peak_nm, m.peak_phase))
                            .collect::<Vec<_>>(),
                        l.contact_forces,
                        l.notes,
                        l.load_note
                    );
                } else if !l.notes.is_empty() || !l.load_note.is_empty() {
                    println!(
                        "      ! {:?} {}",
                        l.notes.iter().filter(|n| !n.starts_with("Balance")).collect::<Vec<_>>(),
                        l.load_note.chars().take(90).collect::<String>()
                    );
                }
            }
            Err(e) => println!("{a}: ERROR {e}"),
        }
    }
}
