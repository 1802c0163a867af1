//! Days of the calendar.

use time::{Date, Month};

/// Returns the day of the Gregorian calendar that a text is as `YYYY-MM-DD` (ISO 8601); years are counted from 1.
pub(super) fn day(text: &str) -> Option<Date> {
    let parts: Vec<&str> = text.split('-').collect();
    let &[year, month, day] = parts.as_slice() else {
        return None;
    };
    let is_number =
        |text: &str, length| text.len() == length && text.bytes().all(|b| b.is_ascii_digit());
    if !(is_number(year, 4) && is_number(month, 2) && is_number(day, 2)) {
        return None;
    }
    let month = Month::try_from(month.parse::<u8>().ok()?).ok()?;
    let day = Date::from_calendar_date(year.parse().ok()?, month, day.parse().ok()?).ok()?;
    (day.year() > 0).then_some(day)
}

/// Returns the day that a text means which is written otherwise, where it can mean one only: `2026-3-4`, `04.03.2026`
/// (a point follows the day first), `4 March 2026`, `2026/03/04`, `25/12/2026`.
pub(super) fn suggest(text: &str) -> Option<Date> {
    const MONTHS: [&str; 12] = [
        "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
    ];
    let text = text.to_lowercase();
    let parts: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || matches!(c, '-' | '.' | '/' | ','))
        .filter(|part| !part.is_empty())
        .collect();
    let [a, b, c] = parts.as_slice() else {
        return None;
    };
    let month_of = |word: &str| {
        let at = MONTHS.iter().position(|month| word.starts_with(month))?;
        u32::try_from(at + 1).ok()
    };
    let number = |text: &str| {
        let digits = text.trim_end_matches(|c: char| c.is_ascii_alphabetic());
        digits.parse::<u32>().ok().filter(|n| *n < 10_000)
    };
    let is_year = |text: &str| text.len() == 4 && text.bytes().all(|b| b.is_ascii_digit());
    let (year, month, day) = if let Some(month) = month_of(b) {
        if is_year(a) {
            (number(a)?, month, number(c)?)
        } else {
            (number(c)?, month, number(a)?)
        }
    } else if let Some(month) = month_of(a) {
        (number(c)?, month, number(b)?)
    } else if is_year(a) {
        (number(a)?, number(b)?, number(c)?)
    } else if is_year(c) {
        match (number(a)?, number(b)?) {
            (day, month) if text.contains('.') || day > 12 || day == month => {
                (number(c)?, month, day)
            }
            (month, day) if day > 12 => (number(c)?, month, day),
            _ => return None,
        }
    } else {
        return None;
    };
    let written = format!("{year:04}-{month:02}-{day:02}");
    self::day(&written).filter(|day| day.year() >= 1000)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_exist_or_not() {
        for (text, exists) in [
            ("2026-03-04", true),
            ("2024-02-29", true),
            ("2000-02-29", true),
            ("2026-02-29", false),
            ("1900-02-29", false),
            ("2026-13-01", false),
            ("2026-00-10", false),
            ("2026-04-31", false),
            ("2026-3-4", false),
            ("04.03.2026", false),
            ("0000-01-01", false),
        ] {
            assert_eq!(day(text).is_some(), exists, "{text}");
        }
    }

    #[test]
    fn other_ways_to_write_a_day_are_understood_where_they_mean_one() {
        for (text, day) in [
            ("2026-3-4", Some("2026-03-04")),
            ("04.03.2026", Some("2026-03-04")),
            ("4 March 2026", Some("2026-03-04")),
            ("March 4th, 2026", Some("2026-03-04")),
            ("2026/03/04", Some("2026-03-04")),
            ("25/12/2026", Some("2026-12-25")),
            ("12/25/2026", Some("2026-12-25")),
            ("03/04/2026", None),
            ("2026-02-30", None),
            ("04.03.26", None),
            ("March", None),
        ] {
            assert_eq!(
                suggest(text).map(|day| day.to_string()).as_deref(),
                day,
                "{text}"
            );
        }
    }
}
