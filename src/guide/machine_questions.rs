//! The machine that the water goes through, and what its maker allows.

use crate::bench::check_text;
use crate::bench::flight_writer::quoted;
use crate::bench::trade_answer::AskedIn;
use crate::guide::talk::{Question, Stop, Talk, why_refused};
use crate::guide::typed_measures::{goal_lines, split};
use crate::quantities::{Dimension, Quantity};

/// The machine as texts of `bench.ron`; both empty where there is none.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct MachineText {
    pub(super) boilers: String,
    pub(super) machine: String,
}

/// Our choice: more limits than this are written in `bench.ron`.
const MOST_LIMITS: usize = 12;

pub(super) fn machine(talk: &mut Talk<'_>) -> Result<MachineText, Stop> {
    let kinds = ["no machine with a boiler", "one boiler", "a brew boiler and a steam boiler"];
    let question = Question::new(
        "machine",
        "Does a machine heat this water?",
        "Limescale is worked out for its temperatures, and its maker's limits are looked at.",
    )
    .of(kinds.map(str::to_owned).to_vec())
    .or("1");
    let kind = talk.choose(&question)?.unwrap_or(0);
    if kind == 0 {
        return Ok(MachineText::default());
    }
    let name = talk.ask(
        &Question::new(
            "machine name",
            "What do you call it?",
            "The name stands beside what is said of its maker's limits.",
        )
        .or("my machine"),
        |text| Ok(text.to_owned()),
    )?;
    let celsius = |text: &str| {
        let text =
            if text.parse::<f64>().is_ok() { format!("{text} °C") } else { text.to_owned() };
        let value =
            Quantity::parse_as(&text, &[Dimension::Temperature]).map_err(|e| e.to_string())?;
        if (20.0..=150.0).contains(&value) {
            Ok(text)
        } else {
            Err("a boiler has 20 to 150 °C here".to_owned())
        }
    };
    let brew = Question::new(
        "machine brew",
        "How hot is the brew boiler?",
        "Its display shows it, or the sheet of its maker; 90 to 96 °C are usual (common practice).",
    )
    .or("93 °C");
    let mut boilers = format!("brew: {}", quoted(&talk.ask(&brew, celsius)?));
    if kind == 2 {
        let steam = Question::new(
            "machine steam",
            "And the steam boiler?",
            "Its display shows it, or the maker's sheet; where there is only a gauge, a \
             steam table has the temperature of the pressure.",
        )
        .or("125 °C");
        boilers.push_str(&format!(", steam: {}", quoted(&talk.ask(&steam, celsius)?)));
    }
    let mut limits: Vec<(String, String)> = Vec::new();
    for n in 1..=MOST_LIMITS {
        let question = Question::new(
            format!("limit {n}"),
            "A limit of the maker's sheet, as in `hardness max 5 °dH` or `chloride max 30 mg/L`?",
            "`hardness 3-6 °dH`, `ph 6.5 to 8`, `conductivity max 500 µS/cm`: on any measure.",
        )
        .or_none("no more limits");
        let known: Vec<String> = limits.iter().map(|(key, _)| key.clone()).collect();
        let said = talk.ask(&question, move |line| {
            let said = split(line, AskedIn::Limit)?;
            let lines = goal_lines(&said, 0);
            let text = format!("Bench(title: \"-\", machine: (name: \"-\", limits: (\n{lines})))");
            check_text::settings(&text).map_err(|wrong| why_refused(&wrong.into_first()))?;
            match said.iter().find(|(key, _)| known.contains(key)) {
                Some((key, _)) => Err(format!("{key} is limited already")),
                None => Ok(said),
            }
        })?;
        if said.is_empty() {
            break;
        }
        limits.extend(said);
    }
    let lines = goal_lines(&limits, 12);
    let machine = format!(
        "    machine: (\n        name: {},\n        limits: (\n{lines}        ),\n    ),\n",
        quoted(&name)
    );
    Ok(MachineText { boilers: format!("    boilers: ({boilers}),\n"), machine })
}
