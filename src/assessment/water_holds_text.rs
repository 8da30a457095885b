//! What a water holds, as text: its amounts, what was not measured of it and what that leaves open.

use crate::assessment::saturation_text::index;
use crate::assessment::water_answer::Balance;
use crate::assessment::withheld::only_by_limits;
use crate::assessment::{State, Unknowns, WaterAnswer, unknowns_text};
use crate::quantities::show;
use crate::text::table::{each, wrapped};
use crate::water::BalanceVerdict;

/// What it holds, what of that is not known, and how far its analysis can be trusted.
pub(crate) fn text(answer: &WaterAnswer) -> String {
    let mut out = String::new();
    let holds = match unknowns_text::present(&answer.mg_per_l.0) {
        Some(ions) => format!("{ions} mg/L"),
        None if answer.unknowns.not_measured.is_empty() => "nothing but water".to_owned(),
        None => "nothing that was measured".to_owned(),
    };
    let residue = answer.residue_on_evaporation_mg_per_l;
    let residue = residue
        .map_or(String::new(), |mg| format!(", dry residue {} mg/L", show::three_figures(mg)));
    let titrated = answer.report.titrated_alkalinity_mg_per_l_caco3;
    let titrated = titrated.map_or(String::new(), |found| {
        format!(" (a titration finds {})", show::three_figures(found))
    });
    let solids = unknowns_text::solids(answer.dissolved_solids_mg_per_l, &answer.unknowns);
    // One unit for both where both are whole.
    let solids = if residue.is_empty() { solids } else { solids.replacen(" mg/L", "", 1) };
    let sums = unknowns_text::sums(
        answer.hardness_mg_per_l_caco3,
        answer.alkalinity_mg_per_l_caco3,
        &titrated,
    );
    let held = format!("  holds {holds}; {sums}; dissolved solids {solids}{residue}");
    out.push_str(&wrapped(&held, 4));
    out.push_str(&unknowns_text::lines(&answer.unknowns));
    if let Some(of) = &answer.charge_balance {
        out.push_str(&wrapped(&balance(of), 4));
    }
    out.push_str(&each("  ! ", &answer.doubtful));
    out
}

/// The charge balance of an analysis in words.
fn balance(of: &Balance) -> String {
    let cations = show::fixed(of.cations_meq_per_l, 2);
    let anions = show::fixed(of.anions_meq_per_l, 2);
    let off = show::fixed(of.difference_percent, 1);
    let head =
        format!("  charge balance: cations {cations}, anions {anions} meq/L, off by {off} %");
    let missing = of.not_measured;
    let gap = of.cations_meq_per_l - of.anions_meq_per_l;
    let gap = if gap.abs() > of.limit_meq_per_l {
        let (more, less) = if gap > 0.0 { ("anions", "cations") } else { ("cations", "anions") };
        let gap = show::fixed(gap.abs(), 2);
        if missing.is_one() {
            format!("; {gap} meq/L of it would close the gap")
        } else {
            format!("; there are {gap} meq/L more {more} than {less} among them")
        }
    } else {
        String::new()
    };
    let were = if missing.is_one() { "was" } else { "were" };
    match of.verdict {
        BalanceVerdict::Passes => format!("{head}, within the limits of Standard Methods 1030 E"),
        BalanceVerdict::Fails if missing.is_empty() => {
            format!("{head}, OUTSIDE the limits of Standard Methods 1030 E")
        }
        BalanceVerdict::Fails => {
            format!("{head}: FAILS (Standard Methods 1030 E); {missing} {were} not measured")
        }
        BalanceVerdict::Incomplete if missing.is_empty() => format!(
            "{head}: CANNOT BE TESTED (Standard Methods 1030 E), since {}",
            only_by_limits(of.by_limits)
        ),
        BalanceVerdict::Incomplete => format!(
            "{head}: CANNOT BE TESTED (Standard Methods 1030 E), since {missing} {were} not \
             measured{gap}"
        ),
    }
}

/// What salt that was not measured does to the figures above it.
pub(crate) fn widened(answer: &WaterAnswer) -> String {
    let Some(room) = answer.report.room(State::Closed) else { return String::new() };
    let Some([low, high]) = room.ionic_strength_between_mol_per_l else { return String::new() };
    let millimoles = |mol: f64| show::three_figures(1000.0 * mol);
    let ends = room.si_calcite_between.map(|ends| ends.map(|end| index(Some(end))));
    let calcite = ends.filter(|[least, most]| least != most);
    let calcite = calcite.map_or(String::new(), |[least, most]| {
        format!(", and the saturation index (calcite) in the room between {least} and {most}")
    });
    wrapped(
        &format!(
            "  salt that was not measured leaves the ionic strength between {} and {} mmol/L{calcite}",
            millimoles(low),
            millimoles(high)
        ),
        4,
    )
}

/// What is not said, with the reason.
pub(crate) fn withheld(answer: &WaterAnswer) -> String {
    let lines = answer
        .report
        .withheld
        .iter()
        .map(|not| wrapped(&format!("  not given, since {}: {}", not.because, not.what), 4));
    lines.collect()
}

/// The ions that were not measured: `Cl and NO3 were`.
pub(crate) fn were(of: &Unknowns) -> String {
    match of.ions_not_measured().as_slice() {
        [only] => format!("{only} was"),
        [first @ .., last] => format!("{} and {last} were", first.join(", ")),
        [] => "some ions were".to_owned(),
    }
}
