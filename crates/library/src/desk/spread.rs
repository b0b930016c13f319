//! The range of a movement's stimulus, and which source makes it.

use super::references::OF_MUSCLES;
use super::*;
use stimulus::range::{body_dimension, method_spread, ranges};

/// A solved movement, around which draws are made.
pub(super) struct Centre<'a> {
    pub resolved: &'a Resolved,
    pub plan: &'a Plan,
    pub rep: &'a Rep,
    pub body: &'a Body,
    pub model: &'a MuscleModel,
    pub solved: &'a Solved,
}

/// Stimulus of every head with its range, and half-widths by source.
pub(super) struct Spread {
    pub stimulus: Vec<Range>,
    /// Of a hard set, in the movement's unit.
    pub load: Range,
    pub sources: Vec<Vec<(Source, f64)>>,
}

/// One draw.
struct Drawn {
    stimulus: Vec<f64>,
    load: f64,
}

impl Library {
    /// Range of every head's stimulus around a solved movement.
    pub(super) fn spread(
        &self,
        ask: &Ask,
        centre: &Centre,
        widths: &Widths,
        scratch: &mut Scratch,
    ) -> Result<Spread, AskError> {
        let mid_of = self.denominators(&self.reference.mid);
        let mid = self.relative(&centre.solved.raw, &mid_of);
        if ask.draws == 0 {
            return Ok(Spread {
                stimulus: mid.into_iter().map(Range::point).collect(),
                load: Range::point(centre.solved.load.load),
                sources: Vec::new(),
            });
        }
        let methods: Vec<(Source, Vec<f64>)> = method_spread(
            &self.bench(),
            centre.rep,
            centre.body,
            centre.model,
            centre.solved,
            widths,
            &mut scratch.mechanics,
        )
        .into_iter()
        .map(|(source, raw)| (source, self.relative(&raw, &mid_of)))
        .collect();
        let references = self.reference_draws(ask.seed, ask.draws, widths)?;
        let results = self.drawn(ask, centre, widths, ask.seed, &references)?;
        let sources =
            if *widths == Widths::default() { self.by_source(ask, centre, &mid, &methods)? } else { Vec::new() };
        let methods: Vec<Vec<f64>> = methods.into_iter().map(|m| m.1).collect();
        let loads: Vec<Vec<f64>> = results.iter().map(|d| vec![d.load]).collect();
        let results: Vec<Vec<f64>> = results.into_iter().map(|d| d.stimulus).collect();
        Ok(Spread {
            stimulus: ranges(&mid, &results, &methods, &self.rules),
            load: ranges(&[centre.solved.load.load], &loads, &[], &self.rules)[0],
            sources,
        })
    }

    /// Stimulus of every head, `[draw][head]`, in bodies and anatomies drawn from the spreads: what ranges are quantiles of.
    ///
    /// # Errors
    /// As [`Library::study`].
    pub fn worlds(&self, ask: &Ask, widths: &Widths) -> Result<Vec<Vec<f64>>, AskError> {
        let s = self.study(&Ask { draws: 0, ..ask.clone() }, &Widths::NONE)?;
        let references = self.reference_draws(ask.seed, ask.draws, widths)?;
        let centre = Centre {
            resolved: &s.resolved,
            plan: &s.plan,
            rep: &s.rep,
            body: &s.body,
            model: &s.model,
            solved: &s.solved,
        };
        Ok(self.drawn(ask, &centre, widths, ask.seed, &references)?.into_iter().map(|d| d.stimulus).collect())
    }

    fn relative(&self, raw: &[f64], by: &[f64]) -> Vec<f64> {
        let cap = self.rules.stimulus_cap;
        raw.iter().zip(by).map(|(r, d)| (r / d).min(cap)).collect()
    }

    /// One result per set of reference values: posture, paths, capacity and sharing anew, in a body of that draw.
    fn drawn(
        &self,
        ask: &Ask,
        centre: &Centre,
        widths: &Widths,
        seed: u64,
        references: &[Vec<f64>],
    ) -> Result<Vec<Drawn>, AskError> {
        let draws = Draws::new(seed);
        let sampler =
            BodySampler::new(&self.spec(&ask.person)?, BodyTables::shipped(), BodySpread::scaled(widths.body))
                .map_err(|e| AskError::Problem(e.to_string()))?;
        let moves = widths.body > 0.0 || widths.posture > 0.0;
        Ok((0..references.len() as u32)
            .into_par_iter()
            .map_init(Scratch::default, |scratch, i| {
                let v = variation(&self.spreads, &draws, i, widths);
                let drawn = sampler.draw(&body_scores(&draws, i, self.spreads.len()));
                let rep = match (&drawn, moves) {
                    (Ok(body), true) => {
                        let resolved = self.performed(centre.resolved, &draws, i, widths.posture);
                        self.drawn_rep(&resolved, centre, body, ask.frames, scratch)
                    }
                    _ => None,
                };
                let d = match (&rep, &drawn) {
                    (Some(rep), Ok(body)) => draw(&self.bench(), rep, body, &v, scratch),
                    _ => draw(&self.bench(), centre.rep, centre.body, &v, scratch),
                };
                Drawn { stimulus: self.relative(&d.raw, &references[i as usize]), load: d.load }
            })
            .collect())
    }

    /// The settings as a person performs them: each a little off what was asked.
    fn performed(&self, resolved: &Resolved, draws: &Draws, i: u32, width: f64) -> Resolved {
        let mut out = resolved.clone();
        if width <= 0.0 {
            return out;
        }
        let first = body_dimension(self.spreads.len()) + anatomy::body::BODY_DIMENSIONS as u32;
        let family = self.catalogue.movement(&resolved.id).map_or("", |m| m.family.as_str());
        for (k, (key, sd)) in self.posture_spread.iter().enumerate() {
            if let Some(SettingValue::Number(v)) = out.settings.get_mut(key)
                && let Some(SettingKind::Number { min, max, .. }) = self.catalogue.setting(family, key).map(|s| &s.kind)
            {
                *v = (*v + sd * width * draws.normal(i, first + k as u32)).clamp(min.min(*v), max.max(*v));
            }
        }
        out
    }

    /// The movement in a drawn body, balanced for the load of the mid body.
    fn drawn_rep(
        &self,
        resolved: &Resolved,
        centre: &Centre,
        body: &Body,
        frames: usize,
        scratch: &mut Scratch,
    ) -> Option<Rep> {
        let mut plan = self.plan(resolved, body).ok()?;
        if let Some(kg) = centre.plan.balance_load_kg() {
            plan.set_balance_load_kg(kg);
        }
        Some(plan.rep_near(body, frames, &mut scratch.posture, Some(centre.rep)))
    }

    /// Half-width of each head's range when one source alone varies, with the default seed whatever was asked.
    fn by_source(
        &self,
        ask: &Ask,
        centre: &Centre,
        mid: &[f64],
        methods: &[(Source, Vec<f64>)],
    ) -> Result<Vec<Vec<(Source, f64)>>, AskError> {
        let mut out: Vec<Vec<(Source, f64)>> = vec![Vec::new(); mid.len()];
        for source in Source::DRAWN {
            let references: Vec<Vec<f64>> = (0..SOURCE_DRAWS)
                .map(|d| {
                    if OF_MUSCLES.contains(&source) {
                        self.reference_alone(source, d)
                    } else {
                        self.denominators(&self.reference.mid)
                    }
                })
                .collect();
            let results = self.drawn(ask, centre, &Widths::only(source), DEFAULT_SEED, &references)?;
            for (h, list) in out.iter_mut().enumerate() {
                let n = results.len() as f64;
                let mean = results.iter().map(|r| r.stimulus[h]).sum::<f64>() / n;
                let variance = results.iter().map(|r| (r.stimulus[h] - mean).powi(2)).sum::<f64>() / (n - 1.0);
                // Half of an 80 % range of a normal distribution.
                list.push((source, 1.2816 * variance.sqrt()));
            }
        }
        for source in [Source::Criterion, Source::Contact] {
            for (h, list) in out.iter_mut().enumerate() {
                let of_source = || methods.iter().filter(|m| m.0 == source).map(|m| m.1[h]).chain([mid[h]]);
                let span = of_source().fold(f64::NEG_INFINITY, f64::max) - of_source().fold(f64::INFINITY, f64::min);
                list.push((source, 0.5 * span));
            }
        }
        Ok(out)
    }
}

/// Standard normal scores of a draw for the body's dimensions.
fn body_scores(draws: &Draws, i: u32, heads: usize) -> Vec<f64> {
    let first = body_dimension(heads);
    (0..anatomy::body::BODY_DIMENSIONS as u32).map(|k| draws.normal(i, first + k)).collect()
}
