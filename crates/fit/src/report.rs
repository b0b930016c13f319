//! The page and the tables that tell what a fit did.

use crate::arms::{FOLDS, Said, pair, pairs, said};
use crate::sheet::{Problem, Sheet, to_csv};
use crate::targets::{Arm, Targets, Trust};
use crate::unit::{Fitted, Unit};
use crate::{Files, HELD_OUT};
use anatomy::body::Body;
use std::fmt::Write;

/// The log: one row per fitted cell.
pub fn log_csv(log: &[(String, Fitted)], units: &[Unit], targets: &Targets) -> String {
    let header = ["unit", "strand", "what", "start_mm", "low_mm", "high_mm", "value_mm", "at_bound", "saw", "how"];
    let rows: Vec<Vec<String>> = log
        .iter()
        .map(|(name, f)| {
            let near = (f.value_mm - f.low_mm).abs().min((f.high_mm - f.value_mm).abs()) < 0.05;
            let numbers = [f.start_mm, f.low_mm, f.high_mm, f.value_mm].map(|v| format!("{v:.1}"));
            let mut row = vec![name.clone(), f.strand.clone(), f.what.clone()];
            row.extend(numbers);
            let seen = units.iter().find(|u| u.name() == *name).map_or(String::new(), |u| saw(targets, u));
            row.extend([if near { "yes" } else { "no" }.into(), seen, "fitted".into()]);
            row
        })
        .collect();
    to_csv(&header, &rows)
}

/// Which rows a unit saw: axes with their number of rows, lines of action, one-sided facts.
fn saw(targets: &Targets, unit: &Unit) -> String {
    let mut parts: Vec<(String, usize)> = Vec::new();
    let mut count = |name: &str| match parts.iter_mut().find(|p| p.0 == name) {
        Some(p) => p.1 += 1,
        None => parts.push((name.into(), 1)),
    };
    let own = |heads: &[String]| unit.shares(heads).is_some();
    for a in targets.arms.iter().filter(|a| a.superseded.is_none() && a.asked.by_path() && own(&a.asked.heads)) {
        count(&a.asked.axis_name);
    }
    targets.lines.iter().filter(|l| l.used && own(&l.asked.heads)).for_each(|_| count("lines of action"));
    targets.one_sided.iter().filter(|o| own(&o.asked.heads)).for_each(|_| count("one-sided"));
    parts.iter().map(|(n, c)| format!("{n} {c}")).collect::<Vec<_>>().join("; ")
}

/// Held-out predictions by the id of the published row.
pub fn held_out_csv(targets: &Targets, held_out_mm: &[f64], bones_mm: &[f64]) -> String {
    let header = ["id", "held_out_mm", "bones_held_out_mm"];
    let all = targets.arms.iter().zip(held_out_mm).zip(bones_mm);
    let rows: Vec<Vec<String>> = all
        .filter(|((_, v), _)| v.is_finite())
        .map(|((a, v), b)| vec![a.id.clone(), format!("{v:.1}"), format!("{b:.1}")])
        .collect();
    to_csv(&header, &rows)
}

/// Held-out predictions of the arm targets, mm; NaN where there is none. First by the whole fit, then by the shared
/// movement of the bones alone.
fn held_out(files: &Files, targets: &Targets) -> Result<[Vec<f64>; 2], Problem> {
    let mut out = [vec![f64::NAN; targets.arms.len()], vec![f64::NAN; targets.arms.len()]];
    if !files.iter().any(|f| f.0 == HELD_OUT) {
        return Ok(out);
    }
    let s = Sheet::find(files, HELD_OUT)?;
    for row in 0..s.rows.len() {
        let id = s.text(row, "id")?;
        let Some(i) = targets.arms.iter().position(|a| a.id == id) else {
            return Err(s.problem(row, "id", format!("there is no published row {id}: fit again")));
        };
        out[0][i] = s.number(row, "held_out_mm")?;
        out[1][i] = s.number(row, "bones_held_out_mm")?;
    }
    Ok(out)
}

/// Sums over rows: how many, how many within the scatter, squared error, signs.
#[derive(Clone, Copy, Default)]
struct Sum {
    n: usize,
    within: usize,
    squares: f64,
    signs: usize,
    signs_right: usize,
}

/// Published arms smaller than this have no sign to judge, mm (own choice).
const SIGN_FROM_MM: f64 = 5.0;

impl Sum {
    fn add(&mut self, got: f64, want: f64, sd: f64) {
        if !got.is_finite() {
            return;
        }
        self.n += 1;
        self.within += usize::from((got - want).abs() <= sd);
        self.squares += (got - want).powi(2);
        if want.abs() >= SIGN_FROM_MM {
            self.signs += 1;
            self.signs_right += usize::from(got * want > 0.0);
        }
    }
    fn rms(&self) -> String {
        if self.n == 0 { "–".into() } else { format!("{:.1}", (self.squares / self.n as f64).sqrt()) }
    }
    fn share(&self) -> String {
        if self.n == 0 { "–".into() } else { format!("{}/{}", self.within, self.n) }
    }
    fn told(&self) -> String {
        if self.n == 0 {
            return "–".into();
        }
        let percent = 100.0 * self.within as f64 / self.n as f64;
        format!("{percent:.0} % ({}/{}), rms {}", self.within, self.n, self.rms())
    }
}

/// The stages that are compared.
const STAGES: [&str; 5] = ["landmarks", "first tables", "now", "held out", "held out, bones alone"];

/// The whole page.
///
/// # Errors
/// Every fault of every table.
pub fn page(files: &Files) -> Result<String, Vec<Problem>> {
    let head = "# What the muscle tables are fitted to, and what the fit does not reach\n\n\
                Generated by `cargo run --release -p xtask -- fit`; do not edit by hand. Targets with their sources: \
                `data/proof/` and `data/anatomy/targets/`. Starts and bounds stand beside the values in `paths.csv` and \
                `obstacles.csv`, and in `fit_log_strength.csv`, all in `data/anatomy/`.\n\n";
    Ok(head.to_string() + &arms_page(files)? + &crate::strength::page(files)?)
}

fn arms_page(files: &Files) -> Result<String, Vec<Problem>> {
    let one = |p: Problem| vec![p];
    let body = Body::average_man();
    let tables = crate::tables(files, "")?;
    let targets = crate::targets(files, &tables, &body).map_err(one)?;
    let (paths, obstacles) = (
        Sheet::find(files, crate::unit::PATHS).map_err(one)?,
        Sheet::find(files, crate::unit::OBSTACLES).map_err(one)?,
    );
    let units = Unit::all(&tables, &paths, &obstacles, &crate::together(&targets)).map_err(one)?;
    let stages = [
        said(&crate::landmarks(files)?, &body, &targets),
        said(&crate::tables(files, "start/")?, &body, &targets),
        said(&tables, &body, &targets),
    ];
    let held_out = held_out(files, &targets).map_err(one)?;
    let mut out = String::new();
    arms(&mut out, &units, &targets, &stages, &held_out)
        .and_then(|()| rest(&mut out, &targets, &stages))
        .map_err(|e| vec![Problem { file: "page".into(), line: 0, column: "text".into(), what: e.to_string() }])?;
    Ok(out)
}

fn arms(
    out: &mut String,
    units: &[Unit],
    targets: &Targets,
    stages: &[Said; 3],
    held_out: &[Vec<f64>; 2],
) -> std::fmt::Result {
    let [landmarks, first, now] = [&stages[0].arms_mm, &stages[1].arms_mm, &stages[2].arms_mm];
    let columns = [landmarks, first, now, &held_out[0], &held_out[1]];
    let sum = |filter: &dyn Fn(&Arm) -> bool| {
        let mut sums = [Sum::default(); 5];
        for (i, a) in targets.arms.iter().enumerate().filter(|(_, a)| filter(a)) {
            for (s, c) in sums.iter_mut().zip(&columns) {
                s.add(c[i], a.value_mm, a.sd_mm);
            }
        }
        sums
    };
    let superseded = targets.arms.iter().filter(|a| a.superseded.is_some()).count();
    writeln!(
        out,
        "## Lever arms\n\n\
         All published rows of `data/proof/moment-arms.csv` that tell about a head or strand of ours, and those of \
         `data/anatomy/targets/arms.csv`. Share of rows nearer than their scatter, and root mean square error in mm. \
         *Landmarks*: our own placement before any fit; *first tables*: as first shipped (`data/anatomy/start/`); *now*: \
         the shipped tables; *held out*: every row predicted by a path fit that saw nothing of its motion \
         (pairs of unit and axis in alphabetical order, dealt into {FOLDS} folds); *bones alone*: the same with one \
         shared shift and turn per bone and no movement of single heads. Knee, ankle, elbow, forearm, wrist and spine \
         arms stand in tables and are not fitted. {superseded} recalled rows that a better source replaces count here, \
         and steer nothing.\n\n\
         | | rows | {} |\n|---|--:|--:|--:|--:|--:|--:|",
        STAGES.join(" | ")
    )?;
    let mut line = |name: &str, filter: &dyn Fn(&Arm) -> bool| {
        let s = sum(filter);
        if s[2].n == 0 {
            return Ok(());
        }
        let cells: Vec<String> = s.iter().map(Sum::told).collect();
        writeln!(out, "| {name} | {} | {} |", s[2].n, cells.join(" | "))
    };
    line("all", &|_| true)?;
    line("by paths", &|a| a.asked.by_path())?;
    line("by paths, not superseded", &|a| a.asked.by_path() && a.superseded.is_none())?;
    line("by tables", &|a| !a.asked.by_path())?;
    let mut axes: Vec<&str> = targets.arms.iter().map(|a| a.asked.axis_name.as_str()).collect();
    axes.sort_unstable();
    axes.dedup();
    for axis in axes {
        line(axis, &|a| a.asked.axis_name == axis)?;
    }
    let trusts = [("looked up, high or weighed", Trust::High), ("medium", Trust::Medium), ("low", Trust::Low)];
    for (name, trust) in trusts {
        line(&format!("by paths, trust: {name}"), &|a| {
            a.asked.by_path() && a.superseded.is_none() && a.trust == trust
        })?;
    }
    let cells: Vec<String> =
        sum(&|a| a.asked.by_path()).iter().map(|s| format!("{}/{}", s.signs_right, s.signs)).collect();
    writeln!(out, "| signs right by paths, from {SIGN_FROM_MM} mm | | {} |", cells.join(" | "))?;
    writeln!(
        out,
        "\n### By head and motion\n\nRoot mean square error in mm, and rows within the scatter. Heads that published rows \
         take together are fitted together, and left out together.\n\n\
         | heads or strand | axis | landmarks | first tables | now | held out | within first | now | held out |\n\
         |---|---|--:|--:|--:|--:|--:|--:|--:|"
    )?;
    for p in pairs(units, targets) {
        let mut seen: Vec<&[String]> = Vec::new();
        for a in targets.arms.iter().filter(|a| pair(units, &a.asked).as_ref() == Some(&p)) {
            if seen.contains(&&a.asked.heads[..]) {
                continue;
            }
            seen.push(&a.asked.heads);
            let s = sum(&|b| b.asked.heads == a.asked.heads && b.asked.axis_name == p.1);
            let rms: Vec<String> = s[..4].iter().map(Sum::rms).collect();
            let within = [s[1], s[2], s[3]].map(|s| s.share());
            writeln!(
                out,
                "| {} | {} | {} | {} |",
                a.asked.heads.join(" + "),
                p.1,
                rms.join(" | "),
                within.join(" | ")
            )?;
        }
    }
    writeln!(
        out,
        "\n### Rows outside their scatter\n\nEvery row by paths that misses now, mm.\n\n\
         | row | heads | axis | posture | published | first tables | now | held out |\n|---|---|---|---|--:|--:|--:|--:|"
    )?;
    for (i, a) in targets.arms.iter().enumerate() {
        if !a.asked.by_path() || (now[i] - a.value_mm).abs() <= a.sd_mm {
            continue;
        }
        let held = if held_out[0][i].is_finite() { format!("{:.0}", held_out[0][i]) } else { "–".into() };
        let mark = if a.superseded.is_some() { " (superseded)" } else { "" };
        let heads = a.asked.heads.join(" + ");
        writeln!(
            out,
            "| {}{mark} | {heads} | {} | {} | {} ± {} | {:.0} | {:.0} | {held} |",
            a.id, a.asked.axis_name, a.asked.posture, a.value_mm, a.sd_mm, first[i], now[i]
        )?;
    }
    Ok(())
}

fn rest(out: &mut String, targets: &Targets, stages: &[Said; 3]) -> std::fmt::Result {
    writeln!(
        out,
        "\n## Lines of action\n\nMean angle in degrees to the published direction of pull on the humerus. Lines that are \
         not used are shown all the same.\n\n| head | lines | used | landmarks | first tables | now |\n\
         |---|--:|---|--:|--:|--:|"
    )?;
    let mut names: Vec<&str> = Vec::new();
    for l in &targets.lines {
        if !names.contains(&l.asked.heads[0].as_str()) {
            names.push(&l.asked.heads[0]);
        }
    }
    for name in names {
        let own: Vec<usize> = (0..targets.lines.len()).filter(|&i| targets.lines[i].asked.heads[0] == name).collect();
        let mean = |s: &Said| own.iter().map(|&i| s.line_errors_deg[i]).sum::<f64>() / own.len() as f64;
        let used = if targets.lines[own[0]].used { "yes" } else { "no" };
        let [a, b, c] = [mean(&stages[0]), mean(&stages[1]), mean(&stages[2])];
        writeln!(out, "| {name} | {} | {used} | {a:.0} | {b:.0} | {c:.0} |", own.len())?;
    }
    let held = |s: &Said| s.violations_mm.iter().filter(|v| **v <= 0.0).count();
    let [a, b, c] = [held(&stages[0]), held(&stages[1]), held(&stages[2])];
    writeln!(
        out,
        "\n## One-sided facts and limits\n\n{} rows; they hold in {a} (landmarks), {b} (first tables), {c} (now). Those \
         that do not hold now:\n\n| heads | axis | posture | limit, mm | misses by, mm |\n|---|---|---|--:|--:|",
        targets.one_sided.len()
    )?;
    for (o, v) in targets.one_sided.iter().zip(&stages[2].violations_mm).filter(|(_, v)| **v > 0.0) {
        let word = if o.side > 0.0 { "at least" } else { "at most" };
        let (heads, axis) = (o.asked.heads.join(" + "), &o.asked.axis_name);
        writeln!(out, "| {heads} | {axis} | {} | {word} {} | {v:.1} |", o.asked.posture, o.limit_mm)?;
    }
    Ok(())
}
