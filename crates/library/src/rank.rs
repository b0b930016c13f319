//! Movements ranked for one head.

use crate::{Ask, AskError, Library};
use answer::{HeadLook, Look, Rank, RankRow};
use movement::names::nearest_words;
use rayon::prelude::*;

impl Library {
    /// Movements ranked for a head; `kit` limits to what stands there.
    ///
    /// # Errors
    /// Unknown head or kit with the nearest names.
    pub fn rank(&self, head: &str, kit: Option<&str>, like: &Ask) -> Result<Rank, AskError> {
        let Some(h) = self.find_head(head) else {
            let names = self.tables.heads.iter().flat_map(|h| [h.id.as_str(), h.plain.as_str()]);
            return Err(AskError::UnknownHead { name: head.into(), nearest: nearest_words(head, names, 4) });
        };
        let kit = match kit {
            None => None,
            Some(k) => Some(self.catalogue.kit(k).ok_or_else(|| {
                let names = nearest_words(k, self.catalogue.kits.iter().map(|q| q.id.as_str()), 4);
                AskError::Problem(format!("no kit called \"{k}\"; nearest: {}", names.join("; ")))
            })?),
        };
        let mut left_out = Vec::new();
        let mut asks: Vec<Ask> = Vec::new();
        for m in self.catalogue.movements.iter().filter(|m| self.checked.contains(&m.id)) {
            if kit.is_some_and(|k| !k.allows(&m.equipment)) {
                continue;
            }
            asks.push(Ask { movement: m.id.clone(), settings: answer::Settings::new(), scene: false, ..like.clone() });
        }
        // Once, before the movements ask for them side by side.
        if like.draws > 0 {
            self.reference_draws(like.seed, like.draws, &stimulus::range::Widths::default())?;
        }
        let id = self.tables.heads[h].id.clone();
        let answers: Vec<(String, Result<Look, AskError>)> =
            asks.par_iter().map(|a| (a.movement.clone(), self.look(a))).collect();
        let mut rows: Vec<RankRow> = Vec::new();
        for (movement, look) in answers {
            match look {
                Ok(l) => {
                    if let Some(q) = l.heads.iter().find(|q| q.id == id) {
                        let equipment =
                            self.catalogue.movement(&movement).map(|m| m.equipment.clone()).unwrap_or_default();
                        rows.push(RankRow {
                            movement,
                            name: l.name.clone(),
                            equipment,
                            class: q.class,
                            stimulus: q.stimulus,
                            length: q.length,
                            credit: q.credit.clone(),
                            limiting_joint: l.limiting_joint.clone(),
                            reason: reason(q),
                        });
                    }
                }
                Err(e) => left_out.push(format!("{movement}: {e}")),
            }
        }
        rows.sort_by(|a, b| b.stimulus.mid.total_cmp(&a.stimulus.mid).then(a.movement.cmp(&b.movement)));
        Ok(Rank {
            schema: "lengthwise.rank/1".into(),
            plain: self.tables.heads[h].plain.clone(),
            marks: self.tables.heads[h]
                .confidence_low
                .then(|| answer::LOW_CONFIDENCE.to_string())
                .into_iter()
                .collect(),
            head: id,
            kit: kit.map(|k| k.id.clone()),
            rows,
            left_out,
        })
    }

    /// A head by id, or by its Latin or coach's name.
    pub fn find_head(&self, name: &str) -> Option<usize> {
        let n = name.trim().to_lowercase().replace([' ', '_'], "-");
        self.tables.head_index(&n).or_else(|| {
            self.tables
                .heads
                .iter()
                .position(|h| h.plain.eq_ignore_ascii_case(name.trim()) || h.latin.eq_ignore_ascii_case(name.trim()))
        })
    }
}

/// One line: what pulls at the head, else how hard and how long it works.
fn reason(h: &HeadLook) -> String {
    let joint = |k: &str| h.length_change_mm.by_joint.get(k).copied().unwrap_or(0.0);
    if h.opposition > 0.4 {
        let mut parts: Vec<(String, f64)> =
            h.length_change_mm.by_joint.keys().map(|k| (k.clone(), joint(k))).filter(|p| p.1.abs() > 2.0).collect();
        parts.sort_by(|a, b| a.1.total_cmp(&b.1));
        if let (Some(s), Some(g)) = (parts.first(), parts.last())
            && s.1 < 0.0
            && g.1 > 0.0
        {
            let [short, long] = [&s.0, &g.0].map(|j| answer::joint_word(j));
            return format!("shortens {:.0} mm at the {short} while it lengthens {:.0} mm at the {long}", -s.1, g.1);
        }
    }
    let length = if h.long_share > 0.6 {
        "loaded long"
    } else if h.length.max < 0.85 {
        "loaded short only"
    } else {
        "loaded through the middle"
    };
    format!("mean activation {:.0} %, {length}", h.activation * 100.0)
}
