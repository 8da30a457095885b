//! What is weighed and dosed with.

use crate::bench::LEAST_BOTTLE_ML;
use crate::guide::talk::{Question, Stop, Talk};
use crate::quantities::spelling::bare_number;
use crate::quantities::{Dimension, Quantity, QuantityError, show};

/// More about the size of a stock's bottle.
pub(super) const STOCK_BOTTLE: &str = "A stock is made to fill it. 500 mL last for many flights; a small \
                                       bottle is used up while it is fresh.";

/// The balances, as texts of `bench.ron`.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Balances {
    pub(super) balance: String,
    pub(super) large_balance: String,
    /// Error of the balance for salts, g.
    pub(super) error_g: f64,
}

/// A dispenser: its name, and its line in `bench.ron` with the remark above it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct DispenserLine {
    pub(super) name: String,
    pub(super) line: String,
    pub(super) remark: Option<String>,
}

/// Our choice, where nobody knows better: what a maker admits of a balance, in steps of its display.
const ERROR_IN_STEPS: f64 = 2.0;

pub(super) fn balances(talk: &mut Talk<'_>) -> Result<Balances, Stop> {
    let step = mass(
        talk,
        &Question::new(
            "balance step",
            "The balance for salts: what is the smallest step it shows?",
            "The last digit of its display. With 0.1 g stocks are made in larger bottles.",
        )
        .or("0.01 g"),
        0.0,
    )?;
    let most = mass(
        talk,
        &Question::new(
            "balance most",
            "How much does it carry?",
            "The largest mass that it weighs, bottle and all; it stands on its label beside \
             the step.",
        )
        .or("200 g"),
        STEPS_OF_A_BALANCE * step,
    )?;
    let large = mass(
        talk,
        &Question::new(
            "large balance step",
            "The kitchen balance for the water of a stock: its smallest step?",
            "For what is too heavy for the balance of the salts. If there is one balance \
             for both, write its step.",
        )
        .or("1 g"),
        0.0,
    )?;
    let line = |step: f64, most: f64| {
        let (step_g, error) = (show::plain(step), show::plain(step * ERROR_IN_STEPS));
        format!(
            "(resolution: \"{step_g} g\", error: \"{error} g\", most: \"{} g\")",
            show::plain(most)
        )
    };
    Ok(Balances {
        error_g: step * ERROR_IN_STEPS,
        balance: line(step, most),
        large_balance: line(large, KITCHEN_BALANCE_CARRIES_G.max(most)),
    })
}

/// Our choice: what a kitchen balance carries.
const KITCHEN_BALANCE_CARRIES_G: f64 = 5000.0;

/// Our choice: more than this are described in `bench.ron`.
const MOST_DISPENSERS: usize = 6;

/// The dispensers. Drops are weighed on a balance with an error of so many grams.
pub(super) fn dispensers(
    talk: &mut Talk<'_>,
    balance_error_g: f64,
) -> Result<Vec<DispenserLine>, Stop> {
    let kinds = ["syringe with marks", "pipette", "dropper, counted in drops", "balance, in grams"];
    let mut lines: Vec<DispenserLine> = Vec::new();
    for n in 1..=MOST_DISPENSERS {
        let key = format!("dispenser {n}");
        let choices = kinds.map(str::to_owned).to_vec();
        let usual_help = "A syringe with marks of 0.1 mL does for bottles of a litre; smaller bottles need \
                          finer steps: a pipette, a dropper, or stock weighed out on a balance.";
        let question = if n == 1 {
            Question::new(&key, "What do you measure doses out with?", usual_help)
                .of(choices)
                .or("1")
        } else {
            Question::new(&key, "And with what else?", usual_help)
                .of(choices)
                .or_none("with nothing else")
        };
        let Some(kind) = talk.choose(&question)? else { break };
        let word = ["syringe", "pipette", "dropper", "dose balance"]
            .get(kind)
            .copied()
            .unwrap_or_default();
        let same = lines.iter().filter(|l| l.name.starts_with(word)).count();
        let name = if same == 0 { word.to_owned() } else { format!("{word} {}", same + 1) };
        lines.push(match kind {
            0 | 1 => marked(talk, &key, &name, kind == 0)?,
            2 => dropper(talk, (&key, &name), balance_error_g)?,
            _ => {
                let question = Question::new(
                    format!("{key} step"),
                    "What is its smallest step?",
                    "The last digit of its display. Doses are then grams of stock, ten of these \
                     steps at least.",
                );
                let step = mass(talk, &question.or("0.01 g"), 0.0)?;
                let (step, least) = (show::plain(step), show::plain(10.0 * step));
                DispenserLine {
                    line: format!(
                        "Balance(name: \"{name}\", step: \"{step} g\", least: \"{least} g\")"
                    ),
                    name,
                    remark: None,
                }
            }
        });
    }
    Ok(lines)
}

fn marked(
    talk: &mut Talk<'_>,
    key: &str,
    name: &str,
    is_syringe: bool,
) -> Result<DispenserLine, Stop> {
    let (step, holds) = if is_syringe { ("0.1 mL", "5 mL") } else { ("0.01 mL", "1 mL") };
    let step = dose(
        talk,
        &Question::new(
            format!("{key} step"),
            "How far are its marks apart?",
            "The volume from one mark to the next. Doses are then whole marks.",
        )
        .or(step),
    )?;
    let holds = if volume_of(holds) < step {
        format!("{} mL", show::plain(step))
    } else {
        holds.to_owned()
    };
    let holds = dose(
        talk,
        &Question::new(
            format!("{key} holds"),
            "How much does it hold?",
            "The largest volume of one stroke; a larger dose takes several.",
        )
        .or(holds),
    )?;
    let kind = if is_syringe { "Syringe" } else { "Pipette" };
    Ok(DispenserLine {
        name: name.to_owned(),
        line: format!(
            "{kind}(name: \"{name}\", step: \"{} mL\", holds: \"{} mL\")",
            show::plain(step),
            show::plain(holds.max(step))
        ),
        remark: None,
    })
}

/// The millilitres of a default that stands here as text.
fn volume_of(text: &str) -> f64 {
    Quantity::parse_as(text, &[Dimension::Volume]).unwrap_or_default()
}

/// Our choice: so many drops weighed together are a gram, which a kitchen balance sees.
const DROPS: f64 = 20.0;
/// Density of water at 20 °C, g/mL (IAPWS-95 as tabulated by Wagner & Pruß 2002; four digits).
const WATER_G_PER_ML: f64 = 0.9982;
/// A drop of a common dropper, mL: common practice, and the example of the starter bench.
const USUAL_DROP_ML: f64 = 0.05;
/// Our choice: drops that were never weighed may be off by this part.
const UNWEIGHED: f64 = 0.1;
/// Our choice: what two weighings of twenty drops leave open at least, as a part: the hand.
const LEAST_OFF: f64 = 0.01;

/// A dropper, calibrated where twenty drops were weighed.
fn dropper(
    talk: &mut Talk<'_>,
    (key, name): (&str, &str),
    balance_error_g: f64,
) -> Result<DispenserLine, Stop> {
    let question = Question::new(
        format!("{key} drops"),
        "Let twenty drops of water fall onto the balance: what do they weigh? Several weighings of \
         twenty, with a blank between, say how far drops differ.",
        "Hold it upright, each time in the same way. `1.02 g 0.98 g 1.01 g`, or `1.02 0.98 1.01`.",
    )
    .or_none("not weighed; a drop is then 0.05 mL, give or take 10 %");
    let weighed = talk.ask(&question, weighings)?;
    let remark;
    let (drop_ml, off_ml) = if weighed.is_empty() {
        remark = "The drops were not weighed: twenty on the balance settle their size.".to_owned();
        (USUAL_DROP_ML, USUAL_DROP_ML * UNWEIGHED)
    } else {
        let (sum, many) = weighed.iter().fold((0.0, 0.0), |(sum, n), g| (sum + g, n + 1.0));
        let mean = sum / many;
        let (low, high) = weighed
            .iter()
            .fold((f64::INFINITY, 0.0_f64), |(low, high), g| (low.min(*g), high.max(*g)));
        let drop = mean / DROPS / WATER_G_PER_ML;
        remark = format!(
            "Twenty drops weighed {} g: {} mL a drop.",
            weighed.iter().map(|g| show::plain(*g)).collect::<Vec<_>>().join(", "),
            show::fixed(drop, 4)
        );
        // How far the drops differ, and what the balance itself may be off, which no repeating shows.
        let differ = ((high - low) / 2.0 / mean).max(LEAST_OFF);
        (drop, (differ + balance_error_g / mean) * drop)
    };
    Ok(DispenserLine {
        name: name.to_owned(),
        line: format!(
            "Dropper(name: \"{name}\", drop: \"{} mL\", error: \"{} mL\")",
            show::fixed(drop_ml, 4),
            show::fixed(off_ml, 4)
        ),
        remark: Some(remark),
    })
}

fn weighings(text: &str) -> Result<Vec<f64>, String> {
    /// Our choice: twenty drops of any dropper weigh between these, g.
    const SENSIBLE_G: (f64, f64) = (0.1, 5.0);
    let numbers = text.split_whitespace().filter(|word| !word.eq_ignore_ascii_case("g"));
    numbers
        .map(|word| {
            let word = word.trim_end_matches([';', 'g', 'G']);
            let g = Quantity::parse_as(&format!("{word} g"), &[Dimension::Mass])
                .map_err(|error| error.to_string())?;
            if (SENSIBLE_G.0..=SENSIBLE_G.1).contains(&g) {
                Ok(g)
            } else {
                Err(format!("twenty drops do not weigh {word} g; about 1 g is usual"))
            }
        })
        .collect()
}

fn mass(talk: &mut Talk<'_>, question: &Question, least: f64) -> Result<f64, Stop> {
    amount(talk, question, (Dimension::Mass, "g"), (least, MOST_G))
}

/// The size of a bottle.
pub(super) fn volume(talk: &mut Talk<'_>, question: &Question) -> Result<f64, Stop> {
    amount(talk, question, (Dimension::Volume, "mL"), (LEAST_BOTTLE_ML, MOST_BOTTLE_ML))
}

/// What a dispenser holds, or one of its steps.
fn dose(talk: &mut Talk<'_>, question: &Question) -> Result<f64, Stop> {
    amount(talk, question, (Dimension::Volume, "mL"), (0.0, MOST_DOSE_ML))
}

/// Our choice: what a person weighs, pours and doses by hand. Beyond it the unit is a slip.
const MOST_G: f64 = 100_000.0;
const MOST_BOTTLE_ML: f64 = 100_000.0;
const MOST_DOSE_ML: f64 = 200.0;
/// Our choice: a balance carries at least so many of its steps.
const STEPS_OF_A_BALANCE: f64 = 100.0;

/// Our choice: a number above this was meant in millilitres.
const MOST_LITRES: f64 = 25.0;

/// An amount above zero. A bare number is asked back: nobody can tell which unit it is in.
fn amount(
    talk: &mut Talk<'_>,
    question: &Question,
    (dimension, base): (Dimension, &str),
    (least, most): (f64, f64),
) -> Result<f64, Stop> {
    let usual = question.default.clone().unwrap_or_default();
    let unit = usual.split_whitespace().nth(1).unwrap_or(base).to_owned();
    talk.ask(question, |text| {
        if let Ok(number) = bare_number(text) {
            // Bottles of 750 are not of 750 litres.
            let unit = if unit == "L" && number > MOST_LITRES { "mL" } else { &unit };
            return Err(format!("`{text}` has no unit: is it `{text} {unit}`?"));
        }
        let value = Quantity::parse_as(text, &[dimension])
            .map_err(|error| with_units(&error, dimension))?;
        let ends = [least, most].map(|end| format!("{} {base}", show::plain(end)));
        if value <= 0.0 {
            Err("it has to be above zero".to_owned())
        } else if value < least || value > most {
            Err(format!("`{text}` is no usual amount here: from {} to {}", ends[0], ends[1]))
        } else {
            Ok(value)
        }
    })
}

/// What is wrong with an amount, and the units that it may have.
fn with_units(error: &QuantityError, dimension: Dimension) -> String {
    let units: Vec<&str> = dimension.choices().collect();
    let near = error.unit_meant(&units).map(|unit| format!("; did you mean `{unit}`?"));
    let near = near.unwrap_or_default();
    format!("{error}; the units are {}{near}", units.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn twenty_drops_are_read_with_and_without_units() {
        assert_eq!(weighings("1.02 g 0,98 g"), Ok(vec![1.02, 0.98]));
        assert_eq!(weighings("1.02 0.98"), Ok(vec![1.02, 0.98]));
        assert!(weighings("20").is_err());
        assert_eq!(weighings(""), Ok(Vec::new()));
    }
}
