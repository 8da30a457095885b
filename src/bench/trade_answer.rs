//! The answer to a word from another list: what it is called here, and the line to write, with the amount
//! that was typed behind it.

use crate::bench::conductivity_entry::us_per_cm_at_25;
use crate::flight::{Goal, Limit, LimitSubject};
use crate::quantities::show;
use crate::quantities::spelling::{bare_number, leading_number};
use crate::water::trade_words::{
    CONDUCTIVITY, Meaning, SOLIDS, another_substance, meaning, unlike,
};
use crate::water::{Amount, Measure};

/// Where a word stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AskedIn {
    /// In what was measured of a water.
    Analysis,
    /// In what is wanted of one.
    Goal,
    /// In what a maker allows of one.
    Limit,
}

/// What a word is called here and the line to write, with the amount that was typed where that can be
/// meant; nothing for words that are not known.
///
/// ```
/// use waterflight::bench::trade_answer::{AskedIn, answer};
/// let said = answer("GH", "max 7 °dH", AskedIn::Goal).unwrap();
/// assert!(said.ends_with("write `hardness: \"max 7 °dH\"`"));
/// let said = answer("KH", "40 ppm", AskedIn::Analysis).unwrap();
/// assert!(said.ends_with("write `alkalinity: \"40 ppm as CaCO3\"`"));
/// let said = answer("EC", "320 µS/cm", AskedIn::Analysis).unwrap();
/// assert!(said.ends_with("write `conductivity: \"320 µS/cm\"`"));
/// // Which unit is meant, only the reader knows.
/// let said = answer("KH", "5", AskedIn::Goal).unwrap();
/// assert!(said.contains("`alkalinity: \"5 …\"` with its unit: "));
/// ```
#[must_use]
pub fn answer(word: &str, typed: &str, asked_in: AskedIn) -> Option<String> {
    let typed = typed.trim();
    if let Some(measure) = unlike(word) {
        let way = match asked_in {
            AskedIn::Limit => {
                "copy the limit into `not_checked: [\"…\"]` of the machine in bench.ron, and it \
                               is printed with each verdict"
            }
            AskedIn::Analysis | AskedIn::Goal => "leave it out",
        };
        return Some(format!("{}; {way}", another_substance(word, measure)));
    }
    let said = meaning(word)?;
    let way = match said {
        SOLIDS => solids(typed, asked_in),
        CONDUCTIVITY => conductivity(typed, asked_in),
        of_measure => measure(of_measure, typed, asked_in),
    };
    Some(format!("{} is {}: {way}", said.word, said.means))
}

/// The same for the head of a column of a table, with the unit that stands there.
///
/// ```
/// use waterflight::bench::trade_answer::head_answer;
/// let said = head_answer("EC", Some("mS/cm")).unwrap();
/// assert!(said.ends_with("name the column `conductivity [mS/cm]`"));
/// let said = head_answer("TDS", Some("mg/L")).unwrap();
/// assert!(said.contains("name the column `dissolved_solids [mg/L]`"));
/// ```
#[must_use]
pub fn head_answer(word: &str, unit: Option<&str>) -> Option<String> {
    if let Some(measure) = unlike(word) {
        return Some(format!("{}; leave the column out", another_substance(word, measure)));
    }
    let said = meaning(word)?;
    let is_reading = unit.is_some_and(|unit| us_per_cm_at_25(&format!("1 {unit}")).is_some());
    let way = match (said, unit) {
        (SOLIDS | CONDUCTIVITY, Some(unit)) if is_reading => {
            format!("name the column `conductivity [{unit}]`")
        }
        (CONDUCTIVITY, _) => "name the column `conductivity [µS/cm]` or `conductivity [mS/cm]`, as the \
                              meter shows it"
            .to_owned(),
        (SOLIDS, _) => "name the column `dissolved_solids [mg/L]` where a laboratory found it, or \
                        `conductivity [ppm factor 0.5]`, with the factor of the meter, where a meter showed \
                        it"
            .to_owned(),
        (of_measure, Some(unit)) => format!("name the column `{} [{unit}]`", key_of(of_measure)),
        (of_measure, None) => {
            let example = of_measure.write.trim_end_matches('"');
            let unit = example.rsplit_once(": \"").and_then(|(_, amount)| amount.split_once(' '));
            let unit = unit.map_or("…", |(_, unit)| unit);
            format!("name the column with its unit, as in `{} [{unit}]`", key_of(of_measure))
        }
    };
    Some(format!("{} is {}: {way}", said.word, said.means))
}

fn key_of(said: Meaning) -> &'static str {
    said.write.split_once(':').map_or(said.write, |(key, _)| key)
}

/// What to write for a word that is a measure by another name.
fn measure(said: Meaning, typed: &str, asked_in: AskedIn) -> String {
    let key = key_of(said);
    let Some(measure) = Measure::from_key(key) else { return format!("write `{}`", said.write) };
    let as_caco3 = format!("{typed} as CaCO3");
    let (most, most_as_caco3) = (format!("max {typed}"), format!("max {as_caco3}"));
    let mut ways = vec![typed, as_caco3.as_str()];
    if asked_in == AskedIn::Limit {
        ways.extend([most.as_str(), most_as_caco3.as_str()]);
    }
    if let Some(amount) = ways.iter().find(|text| reads(measure, text, asked_in)) {
        return format!("write `{key}: \"{amount}\"`");
    }
    let units = measure.choices();
    let with_unit = units.first().map(|unit| format!("{typed} {unit}"));
    let lacks_unit = with_unit.is_some_and(|text| {
        reads(measure, &text, asked_in) || reads(measure, &format!("max {text}"), asked_in)
    });
    if lacks_unit {
        return format!("write `{key}: \"{typed} …\"` with its unit: {}", units.join(", "));
    }
    format!("write it as in `{}`", said.write)
}

fn reads(measure: Measure, text: &str, asked_in: AskedIn) -> bool {
    match asked_in {
        AskedIn::Analysis => Amount::parse(measure, text).is_ok(),
        AskedIn::Goal => Goal::parse(measure, text).is_ok(),
        AskedIn::Limit => Limit::parse(LimitSubject::Measure(measure), text).is_ok(),
    }
}

/// What to write for a conductivity.
fn conductivity(typed: &str, asked_in: AskedIn) -> String {
    let reads = match asked_in {
        AskedIn::Goal => {
            return "leave it out, it follows from the water and is no goal".to_owned();
        }
        AskedIn::Analysis => us_per_cm_at_25(typed).is_some(),
        AskedIn::Limit => Limit::parse(LimitSubject::Conductivity, typed).is_ok(),
    };
    let example = if asked_in == AskedIn::Limit { "at most 500 µS/cm" } else { "520 µS/cm" };
    if reads {
        format!("write `conductivity: \"{typed}\"`")
    } else if bare_number(typed).is_ok() {
        format!("write `conductivity: \"{typed} …\"` with its unit, µS/cm or mS/cm")
    } else {
        format!("write it as in `conductivity: \"{example}\"`")
    }
}

/// What a meter calls dissolved solids is no measure of them; a goal counts what is really dissolved.
fn solids(typed: &str, asked_in: AskedIn) -> String {
    match asked_in {
        AskedIn::Analysis if us_per_cm_at_25(typed).is_some() => {
            format!("write `conductivity: \"{typed}\"`")
        }
        AskedIn::Analysis => {
            let number = leading_number(typed)
                .ok()
                .map(|(_, unit)| typed.strip_suffix(unit).unwrap_or(typed).trim().to_owned());
            let number = number.unwrap_or_else(|| "…".to_owned());
            format!(
                "write `dissolved_solids: \"{number} mg/L\"` where a laboratory found it, or `conductivity: \
                 \"{number} ppm factor 0.5\"`, with the factor of the meter, where a meter showed it"
            )
        }
        AskedIn::Goal => {
            let with_unit = format!("{typed} mg/L");
            let reads = |text: &&str| Goal::parse(Measure::DissolvedSolids, text).is_ok();
            let amount = [typed, with_unit.as_str()].into_iter().find(reads);
            match amount {
                Some(amount) => {
                    format!("write `dissolved_solids: \"{amount}\"`, what is really dissolved")
                }
                None => {
                    "for what is really dissolved write it as in `dissolved_solids: \"150 mg/L\"`"
                        .to_owned()
                }
            }
        }
        AskedIn::Limit => solids_of_a_sheet(typed),
    }
}

/// A maker's limit on TDS may be one on what a meter shows, or on what is dissolved.
fn solids_of_a_sheet(typed: &str) -> String {
    /// Our choice, for the example alone: the factor that is printed on most meters (common practice), and
    /// an amount where none was typed.
    const FACTOR: f64 = 0.5;
    const EXAMPLE_PPM: f64 = 150.0;
    let start = typed.find(|c: char| c.is_ascii_digit()).unwrap_or(typed.len());
    let (before, amount) = typed.split_at(start);
    let ppm = leading_number(amount).map_or(EXAMPLE_PPM, |(ppm, _)| ppm);
    let before = if before.trim().is_empty() { "at most " } else { before };
    let (us_per_cm, ppm) = (show::plain(ppm / FACTOR), show::plain(ppm));
    format!(
        "write `conductivity: \"{before}{us_per_cm} µS/cm\"` for {ppm} ppm at a factor of {FACTOR}; where \
         the maker means what is really dissolved, `dissolved_solids: \"{before}{ppm} mg/L\"`"
    )
}
