//! What every head does over the lift, frame by frame: for studies that weigh lengths in another way than the rules.

use super::*;

/// One head over the lift, one number a frame; the first frame is the turning point.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Trace {
    /// Index in the table of heads.
    pub head: usize,
    /// 0 to 1.
    pub activation: Vec<f64>,
    /// Active force factor f_L, 0 to 1.
    pub active: Vec<f64>,
    /// Normalised fibre length.
    pub fibre_norm: Vec<f64>,
}

impl Library {
    /// Every head that the movement moves or asks for, at the load of a hard set: first middle values, then one list a
    /// draw of muscles (`ask.draws`), all draws in the same posture. Draw i is the same anatomy in every movement.
    ///
    /// # Errors
    /// As [`Library::study`]; a movement that no muscle limits.
    pub fn traces(&self, ask: &Ask) -> Result<Vec<Vec<Trace>>, AskError> {
        let middle = Ask { scene: false, draws: 0, ..ask.clone() };
        let s = self.study(&middle, &Widths::NONE)?;
        if s.solved.load.unlimited {
            return Err(AskError::Problem("no muscle limits it, so its load says nothing".into()));
        }
        let seen: Vec<usize> = (0..s.lengths.len()).filter(|&h| s.lengths[h].is_some()).collect();
        let mut out = vec![traces_of(&s.solved, &seen)];
        let draws = Draws::new(ask.seed);
        out.extend(
            (0..ask.draws as u32)
                .into_par_iter()
                .map_init(Scratch::default, |scratch, i| {
                    let v = variation(&self.spreads, &draws, i, &Widths::default());
                    traces_of(&draw(&self.bench(), &s.rep, &s.body, &v, scratch).solved, &seen)
                })
                .collect::<Vec<_>>(),
        );
        Ok(out)
    }
}

fn traces_of(solved: &Solved, heads: &[usize]) -> Vec<Trace> {
    let frames = || solved.prepared.frames.iter().zip(&solved.shares.activation);
    heads
        .iter()
        .map(|&head| Trace {
            head,
            activation: frames().map(|(_, a)| a[head]).collect(),
            active: frames().map(|(f, _)| f.muscles.heads[head].active).collect(),
            fibre_norm: frames().map(|(f, _)| f.muscles.heads[head].fibre_norm).collect(),
        })
        .collect()
}
