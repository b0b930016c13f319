//! Numbers of the planner from `data/planner/constants.csv`.

macro_rules! constants {
    ($($name:ident),* $(,)?) => {
        /// Numbers of `constants.csv`; unit, meaning and source of each stand in the file.
        #[derive(Clone, Debug, Default, PartialEq)]
        pub struct Constants { $(#[allow(missing_docs)] pub $name: f64,)* }
        impl Constants {
            const NAMES: &[&str] = &[$(stringify!($name)),*];
            fn slot(&mut self, name: &str) -> Option<&mut f64> {
                match name { $(stringify!($name) => Some(&mut self.$name),)* _ => None }
            }
        }
    };
}

constants!(
    least_sets,
    least_sets_short_day,
    short_day_min,
    most_sets,
    most_exercises,
    middle_gain,
    long_price,
    price_line,
    price_new,
    price_stay,
    rise_factor,
    rise_sets,
    rest_multi_s,
    rest_single_s,
    usual_rir,
);

impl Constants {
    /// Reads the table; every name once, every value a number from 0, with source and how it is known.
    pub fn parse(text: &str) -> Result<Constants, String> {
        let mut out = Constants::default();
        let mut seen = std::collections::BTreeSet::new();
        let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(text.as_bytes());
        for record in reader.records() {
            let r = record.map_err(|e| format!("constants.csv: {e}"))?;
            let line = r.position().map_or(0, |p| p.line());
            let cell = |i: usize| r.get(i).unwrap_or_default();
            let value = cell(1).parse::<f64>().ok().filter(|v| v.is_finite() && *v >= 0.0);
            let value = value.ok_or_else(|| format!("constants.csv:{line}: \"{}\" is no number from 0", cell(1)))?;
            if cell(4).is_empty() || cell(5).is_empty() {
                return Err(format!("constants.csv:{line}: {} has no source or how it is known", cell(0)));
            }
            let unknown = || format!("constants.csv:{line}: no constant called \"{}\"", cell(0));
            *out.slot(cell(0)).ok_or_else(unknown)? = value;
            seen.insert(cell(0).to_string());
        }
        match Constants::NAMES.iter().find(|n| !seen.contains(**n)) {
            Some(missing) => Err(format!("constants.csv: \"{missing}\" is missing")),
            None => Ok(out),
        }
    }
}
