//! Which waters to make first: ready ones, with what this shelf can reach of them, and one's own.

use std::fmt::Display;

use crate::bench::flight_writer::quoted;
use crate::bench::ready_targets::{ReadyTarget, of_text};
use crate::bench::trade_answer::AskedIn;
use crate::flight::not_measured_for;
use crate::guide::bag_questions::new_name;
use crate::guide::talk::{Question, Stop, Talk, why_refused};
use crate::guide::typed_measures::{goal_lines, split};
use crate::mix::shelf_reach::{Reach, plain_flight};
use crate::text::names;
use crate::water::BaseWater;

/// Our choice: more waters of one's own than this are written in the file of the flight.
const MOST_OWN: usize = 12;

/// The targets of the first flight, at least one.
pub(super) fn targets(
    talk: &mut Talk<'_>,
    ready: &[(ReadyTarget, Reach)],
    base: &[BaseWater],
) -> Result<Vec<ReadyTarget>, Stop> {
    let choices = ready
        .iter()
        .map(|(t, reach)| format!("{}: {} ({reach})", t.name(), t.goals_in_words()))
        .collect();
    let in_reach: Vec<String> = (1..)
        .zip(ready)
        .filter(|(_, (_, reach))| *reach == Reach::InReach)
        .map(|(n, _)| n.to_string())
        .collect();
    let usual = if in_reach.is_empty() { "none".to_owned() } else { in_reach.join(" ") };
    let question = Question::new(
        "targets",
        "Which waters do you want to make first? Numbers with blanks between, or `none`.",
        "Published ranges and standards to begin with; `waterflight targets` names their sources. \
         Waters of your own are asked next.",
    )
    .of(choices)
    .or(usual);
    let known: Vec<&str> = ready.iter().map(|(target, _)| target.name()).collect();
    let unknown: Vec<usize> = ready
        .iter()
        .enumerate()
        .filter(|(_, (_, reach))| *reach == Reach::NotKnown)
        .map(|(n, _)| n)
        .collect();
    let chosen = talk.ask(&question, move |text| {
        let chosen = chosen_of(text, &known)?;
        match chosen.iter().find(|n| unknown.contains(n)) {
            Some(n) => Err(format!("a base water was not measured for {}; leave it out", n + 1)),
            None => Ok(chosen),
        }
    })?;
    let mut targets: Vec<ReadyTarget> =
        chosen.iter().filter_map(|n| ready.get(*n)).map(|(target, _)| target.clone()).collect();
    for n in 1..=MOST_OWN {
        let taken: Vec<String> = targets.iter().map(|t| t.name().to_owned()).collect();
        match own(talk, &format!("own water {n}"), targets.is_empty(), &taken, base)? {
            Some(target) => targets.push(target),
            None => break,
        }
    }
    Ok(targets)
}

/// A target of one's own; nothing for an empty answer where one may be given.
pub(super) fn own(
    talk: &mut Talk<'_>,
    key: &str,
    needed: bool,
    taken: &[String],
    base: &[BaseWater],
) -> Result<Option<ReadyTarget>, Stop> {
    let mut question = Question::new(
        key,
        "A water of your own: what do you call it?",
        "A name such as `soft` or `mineral`; what it should hold is asked next.",
    );
    if !needed {
        question = question.or_none("none");
    }
    let name = talk.ask(&question, |text| {
        if text.is_empty() { Ok(String::new()) } else { new_name(text, taken) }
    })?;
    if name.is_empty() {
        return Ok(None);
    }
    let question = Question::new(
        format!("{key} goals"),
        "What should it hold? In one line, as in `hardness 60 mg/L as CaCO3, alkalinity 2 °dH, sodium \
         max 10 mg/L`.",
        "An amount (as near as possible), `max`, `min`, or two values, `40-60 mg/L`. Measures are \
         hardness, alkalinity, calcium, magnesium, sodium, potassium, chloride, sulfate and others. \
         °dH, °fH, gpg, mmol/L and meq/L are understood as well.",
    );
    let shares = plain_flight(base).base;
    let target = talk.ask(&question, |line| {
        let text = text_of(&name, &split(line, AskedIn::Goal)?);
        let target = of_text(&text).map_err(|mistake| why_refused(&mistake))?;
        let mut goals = target.written.target.goals.iter();
        match goals.find_map(|goal| not_measured_for(&shares, goal.subject)) {
            Some((water, missing)) => Err(format!(
                "`{}` was not measured for {missing}; go back to its analysis, or leave the goal out",
                water.name
            )),
            None => Ok(target),
        }
    })?;
    Ok(Some(target))
}

/// The text of a target's file.
pub(super) fn text_of<K: Display>(name: &str, goals: &[(K, String)]) -> String {
    let goals = goal_lines(goals, 8);
    format!("Target(\n    name: {},\n    goals: (\n{goals}    ),\n)\n", quoted(name))
}

/// The places of what is named in a list, by numbers with blanks between, or by names with commas.
fn chosen_of(text: &str, known: &[&str]) -> Result<Vec<usize>, String> {
    if text.eq_ignore_ascii_case("none") {
        return Ok(Vec::new());
    }
    if text.eq_ignore_ascii_case("all") {
        return Ok((0..known.len()).collect());
    }
    let mut chosen: Vec<usize> = Vec::new();
    let mut choose = |place: usize| {
        if !chosen.contains(&place) {
            chosen.push(place);
        }
    };
    for piece in text.split([',', ';']).map(str::trim).filter(|piece| !piece.is_empty()) {
        if let Some(place) = known.iter().position(|name| names::alike(piece, name)) {
            choose(place);
            continue;
        }
        for word in piece.split_whitespace() {
            let n: usize = word
                .parse()
                .map_err(|_| format!("`{piece}` is no number or name of {}", known.join(", ")))?;
            if n == 0 || n > known.len() {
                return Err(format!("the numbers are 1 to {}", known.len()));
            }
            choose(n - 1);
        }
    }
    Ok(chosen)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_is_chosen_from_by_numbers_or_names() {
        let known = ["EPA soft", "EPA hard", "mine"];
        for (text, places) in [
            ("1 3", vec![0, 2]),
            ("2,1, 2", vec![1, 0]),
            ("epa soft; mine", vec![0, 2]),
            ("all", vec![0, 1, 2]),
            ("none", Vec::new()),
        ] {
            assert_eq!(chosen_of(text, &known), Ok(places), "{text}");
        }
        assert!(chosen_of("4", &known).is_err());
        assert!(chosen_of("EPA sofd", &known).is_err_and(|why| why.contains("EPA hard")));
    }
}
