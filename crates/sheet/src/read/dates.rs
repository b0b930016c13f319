//! Serial day numbers to ISO text, and what a number format makes of a number.
//!
//! Serial numbers: ECMA-376 part 1, 18.17.4.1 (1900 and 1904 date systems). Built-in format numbers: 18.8.30.

/// How a cell's number format wants its number to be read.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Shown {
    Plain,
    /// A point in time; `whole` when year, month and day are all shown, `time_only` when none of them is.
    Date {
        whole: bool,
        time_only: bool,
    },
    /// Hours counted past 24.
    Duration,
    Percent,
    /// Words around the number ("80 kg" from 80).
    Words {
        before: String,
        after: String,
    },
}

/// Built-in formats that files refer to by number alone.
pub(crate) fn shown_by_number(format_id: u32) -> Shown {
    let date = |whole, time_only| Shown::Date { whole, time_only };
    match format_id {
        9 | 10 => Shown::Percent,
        14 | 15 | 22 => date(true, false),
        16 | 17 => date(false, false),
        18..=21 | 32..=35 | 45 | 47 | 55 | 56 => date(true, true),
        27 | 31 | 36 | 50 | 52 | 54 | 57 | 58 => date(true, false),
        28..=30 | 51 | 53 => date(false, false),
        46 => Shown::Duration,
        _ => Shown::Plain,
    }
}

/// Reads a format code such as `d-mmm`, `0.0 "kg"` or `[h]:mm`. Only its first section counts: the one for positive
/// numbers.
pub(crate) fn shown_by_code(code: &str) -> Shown {
    let mut chars = code.chars();
    let (mut before, mut after) = (String::new(), String::new());
    let (mut digits, mut percent, mut elapsed, mut exponent) = (false, false, false, false);
    let mut letters = String::new();
    while let Some(c) = chars.next() {
        let mut word = |w: &str| if digits { after.push_str(w) } else { before.push_str(w) };
        match c {
            ';' => break,
            '"' => word(&chars.by_ref().take_while(|&c| c != '"').collect::<String>()),
            '\\' => word(&chars.next().map(String::from).unwrap_or_default()),
            // Padding by the width of a character, or filling with it.
            '_' | '*' => {
                chars.next();
            }
            '[' => {
                let inside: String = chars.by_ref().take_while(|&c| c != ']').collect();
                let inside = inside.to_ascii_lowercase();
                elapsed |= !inside.is_empty()
                    && (inside.chars().all(|c| c == 'h')
                        || inside.chars().all(|c| c == 'm')
                        || inside.chars().all(|c| c == 's'));
            }
            '0' | '#' | '?' | '@' => digits = true,
            '%' => percent = true,
            'E' | 'e' if digits => exponent = true,
            'A' | 'a' if letters_follow(&chars, "m/pm") || letters_follow(&chars, "/p") => {
                letters.push('h');
                let skip = if letters_follow(&chars, "m/pm") { 4 } else { 2 };
                chars.by_ref().take(skip).for_each(drop);
            }
            'G' | 'g' if letters_follow(&chars, "eneral") => {
                digits = true;
                chars.by_ref().take(6).for_each(drop);
            }
            ' ' => word(" "),
            c => letters.extend(c.to_lowercase()),
        }
    }
    let has = |wanted: &str| letters.contains(|c| wanted.contains(c));
    if elapsed {
        return Shown::Duration;
    }
    if !digits || exponent || has("ymdhs") {
        let clock = has("hs");
        // "m" is a minute beside hours or seconds unless years or days stand there too.
        let (year, day) = (has("ye"), has("d"));
        let month = has("m") && (!clock || year || day);
        if year || month || day {
            return Shown::Date { whole: year && month && day, time_only: false };
        }
        if clock {
            return Shown::Date { whole: true, time_only: true };
        }
    }
    if percent {
        return Shown::Percent;
    }
    if digits && (before.chars().any(char::is_alphabetic) || after.chars().any(char::is_alphabetic)) {
        return Shown::Words { before, after };
    }
    Shown::Plain
}

fn letters_follow(chars: &std::str::Chars<'_>, wanted: &str) -> bool {
    let rest = chars.as_str();
    rest.get(..wanted.len()).is_some_and(|start| start.eq_ignore_ascii_case(wanted))
}

/// ISO text of a serial number, or nothing when it lies outside the calendar (year 10000 and later, before 1900).
pub(crate) fn iso_of_serial(serial: f64, from_1904: bool, time_only: bool) -> Option<String> {
    const LAST: f64 = 2_958_466.0;
    if !(0.0..LAST).contains(&serial) {
        return None;
    }
    // Seconds are the finest that formats show by custom; round there, as 7:30 is stored as 0.3125 at best.
    let seconds_total = (serial * 86_400.0).round() as i64;
    let (mut days, seconds) = (seconds_total / 86_400, seconds_total % 86_400);
    let clock = format!("{:02}:{:02}:{:02}", seconds / 3600, seconds / 60 % 60, seconds % 60);
    if time_only && days == 0 {
        return Some(clock);
    }
    if from_1904 {
        days += 1_462;
    } else if days == 60 {
        // The 1900 system counts a 29 February 1900 that never was.
        return Some("1900-02-29".to_owned());
    } else if days < 60 {
        days += 1;
    }
    // Day 25,569 of the 1900 system is 1970-01-01.
    let (year, month, day) = civil_of_days(days - 25_569);
    if year > 9999 {
        return None;
    }
    let date = format!("{year:04}-{month:02}-{day:02}");
    Some(if seconds == 0 { date } else { format!("{date}T{clock}") })
}

/// "26:30:00" from 1.1041…
pub(crate) fn hours_of_serial(serial: f64) -> Option<String> {
    if !(0.0..2_958_466.0).contains(&serial) {
        return None;
    }
    let seconds = (serial * 86_400.0).round() as i64;
    Some(format!("{:02}:{:02}:{:02}", seconds / 3600, seconds / 60 % 60, seconds % 60))
}

/// Proleptic Gregorian date of a day count from 1970-01-01 (H. Hinnant, "chrono-compatible low-level date
/// algorithms", 2013: civil_from_days; from memory).
fn civil_of_days(days: i64) -> (i64, i64, i64) {
    let z = days + 719_468;
    let era = z.div_euclid(146_097);
    let day_of_era = z.rem_euclid(146_097);
    let year_of_era = (day_of_era - day_of_era / 1_460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let shifted_month = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * shifted_month + 2) / 5 + 1;
    let month = if shifted_month < 10 { shifted_month + 3 } else { shifted_month - 9 };
    (year_of_era + era * 400 + i64::from(month <= 2), month, day)
}

/// "PT1H30M05S" → "01:30:05", as ods stores times.
pub(crate) fn clock_of_duration(text: &str) -> Option<String> {
    let mut seconds: u64 = 0;
    let mut number = String::new();
    let mut in_time = false;
    for c in text.strip_prefix('P')?.chars() {
        match c {
            'T' => in_time = true,
            '0'..='9' | '.' => number.push(c),
            _ => {
                let unit = match (c, in_time) {
                    ('D', false) => 86_400.0,
                    ('H', true) => 3_600.0,
                    ('M', true) => 60.0,
                    ('S', true) => 1.0,
                    _ => return None,
                };
                let part = number.parse::<f64>().ok()? * unit;
                if !(0.0..1e12).contains(&part) {
                    return None;
                }
                seconds += part.round() as u64;
                number.clear();
            }
        }
    }
    number.is_empty().then(|| format!("{:02}:{:02}:{:02}", seconds / 3600, seconds / 60 % 60, seconds % 60))
}

/// Shortest text of a number with a point as decimal mark.
pub(crate) fn plain_number(value: f64) -> String {
    // 0.07 × 100 and the like carry a last-digit error no sheet shows: 15 digits are what spreadsheets keep.
    let rounded: f64 = format!("{value:.14e}").parse().unwrap_or(value);
    rounded.to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn serial_numbers_become_dates() {
        // Anchors: ECMA-376 part 1, 18.17.4.1 (1900-01-01 is 1, 9999-12-31 is 2958465; 1904-01-01 is 0 in the other
        // system); 1970-01-01 is 25569, 2000-01-01 is 36526 (common knowledge).
        for (serial, from_1904, iso) in [
            (1.0, false, "1900-01-01"),
            (59.0, false, "1900-02-28"),
            (61.0, false, "1900-03-01"),
            (25_569.0, false, "1970-01-01"),
            (36_526.25, false, "2000-01-01T06:00:00"),
            (2_958_465.0, false, "9999-12-31"),
            (0.0, true, "1904-01-01"),
        ] {
            assert_eq!(iso_of_serial(serial, from_1904, false).as_deref(), Some(iso), "{serial}");
        }
        assert_eq!(iso_of_serial(0.3125, false, true).as_deref(), Some("07:30:00"));
        for outside in [-1.0, 2_958_466.0, f64::NAN, f64::INFINITY] {
            assert_eq!(iso_of_serial(outside, false, false), None);
        }
    }

    #[test]
    fn format_codes_are_understood() {
        let date = |whole, time_only| Shown::Date { whole, time_only };
        let words = |before: &str, after: &str| Shown::Words { before: before.into(), after: after.into() };
        for (code, shown) in [
            ("General", Shown::Plain),
            ("0.00", Shown::Plain),
            ("#,##0_);[Red](#,##0)", Shown::Plain),
            ("0.00E+00", Shown::Plain),
            ("0%", Shown::Percent),
            ("0.0\\ \"kg\"", words("", " kg")),
            ("\"RIR \"0", words("RIR ", "")),
            ("General\" reps\"", words("", " reps")),
            ("yyyy-mm-dd", date(true, false)),
            ("[$-F800]dddd\\,\\ mmmm\\ dd\\,\\ yyyy", date(true, false)),
            ("d-mmm", date(false, false)),
            ("dd.mm", date(false, false)),
            ("mmm-yy", date(false, false)),
            ("M/d", date(false, false)),
            ("h:mm AM/PM", date(true, true)),
            ("mm:ss", date(true, true)),
            ("[h]:mm:ss", Shown::Duration),
            ("[mm]:ss", Shown::Duration),
        ] {
            assert_eq!(shown_by_code(code), shown, "{code}");
        }
    }

    #[test]
    fn ods_times_become_clock_times() {
        assert_eq!(clock_of_duration("PT07H30M00S").as_deref(), Some("07:30:00"));
        assert_eq!(clock_of_duration("P1DT2H").as_deref(), Some("26:00:00"));
        for bad in ["", "PT", "7:30", "PTXS", "PT1e999999H", "P3M"] {
            assert!(clock_of_duration(bad).is_none_or(|t| bad == "PT" && t == "00:00:00"), "{bad}");
        }
    }

    #[test]
    fn numbers_lose_their_rounding_dust() {
        for (value, text) in [(0.07 * 100.0, "7"), (80.0, "80"), (82.5, "82.5"), (1e21, "1000000000000000000000")] {
            assert_eq!(plain_number(value), text);
        }
    }
}
