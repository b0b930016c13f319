//! What a stimulus is measured against: the reference movements, solved or as shipped.

use super::*;

/// Sources of the muscles, whose single effects ship with the reference values.
pub(super) const OF_MUSCLES: [Source; 3] = [Source::Strength, Source::Arms, Source::Anchors];

impl Library {
    /// Reference value of each head; heads without a direct movement refer to full activation at a good length.
    pub(crate) fn denominators(&self, values: &[Option<f64>]) -> Vec<f64> {
        let law = &self.tables.fibre_law;
        let l = self.rules.free_length;
        let free = law.active(l) * self.rules.length_weight(l);
        values.iter().map(|v| v.unwrap_or(free).max(self.rules.reference_floor)).collect()
    }

    /// Reference values per draw: shipped for the default seed at full widths, else solved anew.
    pub(crate) fn reference_draws(&self, seed: u64, count: usize, widths: &Widths) -> Result<Vec<Vec<f64>>, AskError> {
        let muscles = [widths.strength, widths.arms, widths.anchors];
        if muscles == [0.0; 3] {
            return Ok(vec![self.denominators(&self.reference.mid); count]);
        }
        if seed == DEFAULT_SEED && count <= self.reference.draws.len() && muscles == [1.0; 3] {
            return Ok(self.reference.draws[..count].iter().map(|d| self.denominators(d)).collect());
        }
        // Kept only at full widths, which is what coaches ask with.
        let key = (muscles == [1.0; 3]).then_some((seed, count));
        let kept = |k: &(u64, usize)| self.more_references.lock().ok().and_then(|m| m.get(k).cloned());
        if let Some(found) = key.as_ref().and_then(kept) {
            return Ok(found.to_vec());
        }
        let draws = Draws::new(seed);
        let jobs = self.reference_reps()?;
        let values: Vec<Vec<f64>> = (0..count as u32)
            .into_par_iter()
            .map_init(Scratch::default, |scratch, i| {
                let v = variation(&self.spreads, &draws, i, widths);
                self.denominators(&self.reference_raw(&jobs, &v, scratch))
            })
            .collect();
        // Not locked while solving: a thread that waits for others' draws may take up a question that asks for the same.
        if let (Some(key), Ok(mut m)) = (key, self.more_references.lock()) {
            m.insert(key, std::sync::Arc::new(values.clone()));
        }
        Ok(values)
    }

    /// Reference values of the draws in which one source alone varies, as shipped.
    pub(super) fn reference_alone(&self, source: Source, draw: usize) -> Vec<f64> {
        let shipped = self.reference.alone.get(source.id()).and_then(|d| d.get(draw));
        self.denominators(shipped.unwrap_or(&self.reference.mid))
    }

    /// Reps of the reference movements in the average man.
    pub(super) fn reference_reps(&self) -> Result<Vec<(Vec<usize>, Rep, Body)>, AskError> {
        let body = Body::average_man();
        let mut scratch = Scratch::default();
        self.reference
            .movements
            .iter()
            .map(|(id, heads)| {
                let r = self.resolve(id, &Settings::new())?;
                let mut plan = self.plan(&r, &body)?;
                let model = MuscleModel::new(&self.tables, &body, &Variation::none());
                let (rep, _) = self.settle(&mut plan, &body, &model, 21, &mut scratch);
                Ok((heads.clone(), rep, body.clone()))
            })
            .collect()
    }

    pub(super) fn reference_raw(
        &self,
        jobs: &[(Vec<usize>, Rep, Body)],
        v: &Variation,
        scratch: &mut Scratch,
    ) -> Vec<Option<f64>> {
        let mut out = vec![None; self.tables.heads.len()];
        for (heads, rep, body) in jobs {
            let d = draw(&self.bench(), rep, body, v, scratch);
            for &h in heads {
                out[h] = Some(out[h].unwrap_or(0.0f64).max(d.solved.raw[h]));
            }
        }
        out
    }

    /// Text of `reference_values.csv` as this build computes it.
    ///
    /// # Errors
    /// A reference movement that does not solve.
    pub fn reference_values(&self) -> Result<String, AskError> {
        let jobs = self.reference_reps()?;
        let named = |v: &[Option<f64>]| -> BTreeMap<String, f64> {
            v.iter().enumerate().filter_map(|(h, x)| Some((self.tables.heads[h].id.clone(), (*x)?))).collect()
        };
        let mid = named(&self.reference_raw(&jobs, &Variation::none(), &mut Scratch::default()));
        let draws = Draws::new(DEFAULT_SEED);
        let drawn = |count: usize, widths: Widths| -> Vec<BTreeMap<String, f64>> {
            (0..count as u32)
                .into_par_iter()
                .map_init(Scratch::default, |scratch, i| {
                    named(&self.reference_raw(&jobs, &variation(&self.spreads, &draws, i, &widths), scratch))
                })
                .collect()
        };
        let mut columns = vec![("d", drawn(crate::DEFAULT_DRAWS, Widths::default()))];
        columns.extend(OF_MUSCLES.map(|s| (s.id(), drawn(SOURCE_DRAWS, Widths::only(s)))));
        Ok(ReferenceTable::write(&mid, &columns))
    }
}
