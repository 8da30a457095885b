//! Days of the calendar, as records carry them.

use std::fmt;
use std::time::{SystemTime, UNIX_EPOCH};

/// A day of the Gregorian calendar, counted from 1970-01-01.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day(i64);

const SECONDS_A_DAY: u64 = 86_400;
/// Days of 400 Gregorian years.
const ERA_DAYS: i64 = 146_097;
/// Days from 0000-03-01 to 1970-01-01.
const EPOCH: i64 = 719_468;

impl Day {
    /// The last day whose year has four digits.
    const LAST: Self = Self(2_932_896);

    /// The day it is now, in universal time; never later than 9999-12-31, which is the last that can be
    /// written.
    #[must_use]
    pub fn today() -> Self {
        Self::clock().min(Self::LAST)
    }

    /// The day that the clock shows, however late.
    fn clock() -> Self {
        let seconds = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |d| d.as_secs());
        Self(i64::try_from(seconds / SECONDS_A_DAY).unwrap_or_default())
    }

    /// This moment in universal time, to the second, as RFC 3339 writes it.
    #[must_use]
    pub fn now() -> String {
        let seconds = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |d| d.as_secs());
        let day = Self(i64::try_from(seconds / SECONDS_A_DAY).unwrap_or_default());
        let rest = seconds % SECONDS_A_DAY;
        format!("{day}T{:02}:{:02}:{:02}Z", rest / 3600, rest / 60 % 60, rest % 60)
    }

    /// Reads `2026-03-14`; `None` for anything that is no day.
    ///
    /// ```
    /// use waterflight::quantities::Day;
    /// let leap = Day::parse("2024-02-29").unwrap();
    /// assert_eq!(leap.to_string(), "2024-02-29");
    /// assert_eq!(Day::parse("2024-03-01").unwrap().days_since(leap), 1);
    /// assert!(Day::parse("2023-02-29").is_none());
    /// ```
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let mut parts = text.trim().split('-');
        let mut number = |digits: usize| {
            let part = parts.next().filter(|p| p.len() == digits)?;
            if part.bytes().all(|b| b.is_ascii_digit()) { part.parse::<i64>().ok() } else { None }
        };
        let (year, month, day) = (number(4)?, number(2)?, number(2)?);
        let made = Self::of(year, month, day);
        // A day that is not there, as the 30th of February, comes back under another name.
        (parts.next().is_none() && (1..=12).contains(&month) && made.parts() == (year, month, day))
            .then_some(made)
    }

    /// Days from another day to this one.
    #[must_use]
    pub fn days_since(self, other: Self) -> i64 {
        self.0 - other.0
    }

    /// The day so many days later.
    #[must_use]
    pub fn plus(self, days: i64) -> Self {
        Self(self.0.saturating_add(days))
    }

    // Years begin in March here, so that the leap day is the last of the year and the months
    // follow a pattern of 153 days in five.
    fn of(year: i64, month: i64, day: i64) -> Self {
        let year = if month <= 2 { year - 1 } else { year };
        let era = year.div_euclid(400);
        let in_era = year.rem_euclid(400);
        let in_year = (153 * ((month + 9) % 12) + 2) / 5 + day - 1;
        Self(era * ERA_DAYS + in_era * 365 + in_era / 4 - in_era / 100 + in_year - EPOCH)
    }

    fn parts(self) -> (i64, i64, i64) {
        let since = self.0 + EPOCH;
        let era = since.div_euclid(ERA_DAYS);
        let in_era = since.rem_euclid(ERA_DAYS);
        let year = (in_era - in_era / 1460 + in_era / 36_524 - in_era / 146_096) / 365;
        let in_year = in_era - (365 * year + year / 4 - year / 100);
        let shifted = (5 * in_year + 2) / 153;
        let day = in_year - (153 * shifted + 2) / 5 + 1;
        let month = if shifted < 10 { shifted + 3 } else { shifted - 9 };
        (year + era * 400 + i64::from(month <= 2), month, day)
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (year, month, day) = self.parts();
        write!(f, "{year:04}-{month:02}-{day:02}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_day_of_four_centuries_comes_back() {
        assert_eq!(Day::parse("9999-12-31"), Some(Day::LAST));
        assert_eq!(Day::parse(&Day::LAST.plus(1).to_string()), None);
        let first = Day::parse("1970-01-01");
        assert_eq!(first, Some(Day(0)));
        for n in (0..ERA_DAYS).step_by(17) {
            assert_eq!(Day::parse(&Day(n).to_string()), Some(Day(n)));
        }
        for wrong in ["", "2026-13-01", "2026-00-10", "26-01-01", "2026-1-1", "2026-01-01-01"] {
            assert_eq!(Day::parse(wrong), None, "{wrong}");
        }
    }
}
