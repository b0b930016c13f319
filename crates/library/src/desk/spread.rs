//! The ranges of a movement's numbers, and which source makes those of its stimulus.

use super::references::OF_MUSCLES;
use super::*;
use stimulus::range::{Otherwise, body_dimension, method_spread, ranges, shown};
use stimulus::rules::Rules;

/// A solved movement, around which draws are made.
pub(super) struct Centre<'a> {
    pub resolved: &'a Resolved,
    pub plan: &'a Plan,
    pub rep: &'a Rep,
    pub body: &'a Body,
    pub model: &'a MuscleModel,
    pub solved: &'a Solved,
    pub lengths: &'a [Option<HeadLengths>],
}

impl Centre<'_> {
    /// Its numbers beside the stimulus.
    fn shown(&self) -> Shown<f64> {
        shown(self.rep, self.body, self.model, self.solved, self.lengths, None)
    }
}

/// Stimulus of every head with its range, half-widths by source, and the other numbers with theirs.
pub(super) struct Spread {
    pub stimulus: Vec<Range>,
    pub shown: Shown<Range>,
    pub sources: Vec<Vec<(Source, f64)>>,
    pub behind: Behind,
}

/// Stimuli of every head that a range was made of.
#[derive(Clone, Debug, Default)]
pub struct Behind {
    pub mid: Vec<f64>,
    /// By draw.
    pub draws: Vec<Vec<f64>>,
    /// Under the other criteria, then under other contacts where there are any.
    pub methods: Vec<Vec<f64>>,
}

impl Behind {
    /// Range of one head's change from this movement to another: draw by draw and method by method, because the same
    /// person with the same anatomy does both.
    pub(super) fn change(&self, to: &Behind, head: usize, rules: &Rules) -> Range {
        let less = |a: &[f64], b: &[f64]| vec![b[head] - a[head]];
        let draws: Vec<Vec<f64>> = self.draws.iter().zip(&to.draws).map(|(a, b)| less(a, b)).collect();
        // A movement without free contacts stays as it is under any.
        let method = |s: &Behind, k: usize| s.methods.get(k).unwrap_or(&s.mid).clone();
        let count = self.methods.len().max(to.methods.len());
        let methods: Vec<Vec<f64>> = (0..count).map(|k| less(&method(self, k), &method(to, k))).collect();
        ranges(&less(&self.mid, &to.mid), &draws, &methods, rules)[0]
    }
}

/// One person doing the movement.
pub struct World {
    /// Of every head, relative to its reference.
    pub stimulus: Vec<f64>,
    /// `None` where only stimuli were asked for.
    pub shown: Option<Shown<f64>>,
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
        let mid_shown = centre.shown();
        if ask.draws == 0 {
            return Ok(Spread {
                stimulus: mid.iter().copied().map(Range::point).collect(),
                shown: mid_shown.points(),
                sources: Vec::new(),
                behind: Behind { mid, ..Behind::default() },
            });
        }
        let otherwise = method_spread(
            &self.bench(),
            centre.rep,
            centre.body,
            centre.model,
            centre.solved,
            centre.lengths,
            &mid_shown,
            widths,
            &mut scratch.mechanics,
        );
        let mut methods: Vec<(Source, Vec<f64>)> = Vec::new();
        let mut shown_methods = Vec::new();
        for Otherwise { source, raw, shown } in otherwise {
            methods.push((source, self.relative(&raw, &mid_of)));
            shown_methods.push(shown);
        }
        let references = self.reference_draws(ask.seed, ask.draws, widths)?;
        let worlds = self.drawn(ask, centre, widths, ask.seed, &references, Some(&mid_shown))?;
        let sources =
            if *widths == Widths::default() { self.by_source(ask, centre, &mid, &methods)? } else { Vec::new() };
        let methods: Vec<Vec<f64>> = methods.into_iter().map(|m| m.1).collect();
        let (stimuli, shown): (Vec<_>, Vec<_>) = worlds.into_iter().map(|w| (w.stimulus, w.shown)).unzip();
        let shown: Vec<Shown<f64>> = shown.into_iter().flatten().collect();
        Ok(Spread {
            stimulus: ranges(&mid, &stimuli, &methods, &self.rules),
            shown: mid_shown.with_ranges(&shown, &shown_methods, &self.rules),
            sources,
            behind: Behind { mid, draws: stimuli, methods },
        })
    }

    /// People drawn from the spreads, doing the movement: what ranges are quantiles of.
    ///
    /// # Errors
    /// As [`Library::study`].
    pub fn worlds(&self, ask: &Ask, widths: &Widths) -> Result<Vec<World>, AskError> {
        let s = self.study(&Ask { draws: 0, ..ask.clone() }, &Widths::NONE)?;
        let references = self.reference_draws(ask.seed, ask.draws, widths)?;
        let centre = Centre {
            resolved: &s.resolved,
            plan: &s.plan,
            rep: &s.rep,
            body: &s.body,
            model: &s.model,
            solved: &s.solved,
            lengths: &s.lengths,
        };
        self.drawn(ask, &centre, widths, ask.seed, &references, Some(&centre.shown()))
    }

    fn relative(&self, raw: &[f64], by: &[f64]) -> Vec<f64> {
        let cap = self.rules.stimulus_cap;
        raw.iter().zip(by).map(|(r, d)| (r / d).min(cap)).collect()
    }

    /// One result per set of reference values: posture, paths, capacity and sharing anew, in a body of that draw. The
    /// numbers beside the stimulus come with it where `like` holds those of the centre.
    fn drawn(
        &self,
        ask: &Ask,
        centre: &Centre,
        widths: &Widths,
        seed: u64,
        references: &[Vec<f64>],
        like: Option<&Shown<f64>>,
    ) -> Result<Vec<World>, AskError> {
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
                let (rep, body) = match (&rep, &drawn) {
                    (Some(rep), Ok(body)) => (rep, body),
                    _ => (centre.rep, centre.body),
                };
                let d = draw(&self.bench(), rep, body, &v, scratch);
                World {
                    stimulus: self.relative(&d.solved.raw, &references[i as usize]),
                    shown: like.map(|like| d.shown(&self.bench(), rep, body, like)),
                }
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
            let results = self.drawn(ask, centre, &Widths::only(source), DEFAULT_SEED, &references, None)?;
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
