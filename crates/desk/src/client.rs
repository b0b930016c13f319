//! A client's file as a person for the desk.

use crate::problem::{Level, Problem, Report};
use library::Person;
use programme::client::Sex;
use programme::{Client, Date};

/// A problem of a file of the programme crate, as ours.
pub fn problem(p: &programme::Problem) -> Problem {
    let level = if p.warning { Level::Warning } else { Level::Error };
    let place = p.place();
    Problem {
        level,
        place,
        what: p.what.clone(),
        expected: p.expected.clone(),
        nearest: p.nearest.clone(),
        remedy: String::new(),
    }
}

/// Reads a client file; warnings come beside the client.
pub fn read(text: &str, file: &str) -> Result<(Client, Report), Report> {
    match programme::parse_client(text, file) {
        Ok(client) => Ok((client, Report::default())),
        Err(problems) => Err(Report::of(problems.iter().map(problem).collect())),
    }
}

/// The body a client's answers are for; what is missing is the average man's (and is said by the audit).
pub fn person(c: &Client) -> Person {
    let average = Person::average_man();
    let name = if c.name.is_empty() { "a client" } else { &c.name };
    let demo = if c.demo { " (invented)" } else { "" };
    Person {
        who: format!("{name}{demo}"),
        female: c.sex.map_or(average.female, |s| s == Sex::Female),
        stature_m: c.stature_cm.map_or(average.stature_m, |cm| cm / 100.0),
        mass_kg: c.mass_kg.unwrap_or(average.mass_kg),
        tape_m: c.tape_m(),
        training_years: c.training_years,
        age_years: c.age(today()),
    }
}

/// A client's name for titles.
pub(super) fn name_of(name: &str) -> &str {
    if name.is_empty() { "a client" } else { name }
}

/// Today by the machine's clock, Universal Time.
pub fn today() -> Date {
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).map_or(0, |d| d.as_secs());
    civil((since / 86_400) as i64)
}

/// Calendar day of days since 1970-01-01 (Howard Hinnant, "chrono-compatible low-level date algorithms", 2014).
fn civil(days: i64) -> Date {
    let z = days + 719_468;
    let era = z.div_euclid(146_097);
    let doe = z.rem_euclid(146_097);
    let yoe = (doe - doe / 1460 + doe / 36_524 - doe / 146_096) / 365;
    let doy = doe - (365 * yoe + yoe / 4 - yoe / 100);
    let mp = (5 * doy + 2) / 153;
    let month = if mp < 10 { mp + 3 } else { mp - 9 };
    let year = yoe + era * 400 + i64::from(month <= 2);
    Date { year: year as i32, month: month as u8, day: (doy - (153 * mp + 2) / 5 + 1) as u8 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_since_1970_become_calendar_days() {
        // Days by POSIX time: 951 782 400 s is 2000-02-29, 1 735 689 600 s is 2025-01-01.
        let check = |seconds: i64, text: &str| assert_eq!(civil(seconds / 86_400).to_string(), text);
        check(0, "1970-01-01");
        check(951_782_400, "2000-02-29");
        check(1_735_689_600, "2025-01-01");
    }
}
