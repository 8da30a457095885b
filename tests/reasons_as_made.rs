//! What `why` says would bring a water into reach does so as the flight is made: in the steps of its dispenser,
//! with so many stocks and what is left of them. Costs are those that `mix` and the preference count.

use std::error::Error;
use std::fs;

use crate::common::answers::tried;
use crate::common::starter_bench;
use crate::laws_reasons::asked;

type Fallible = Result<(), Box<dyn Error>>;

/// What `why` says would bring a water into reach does so in the steps of the flight, too: the rule lifted, the
/// limit lifted, the salt stocked.
#[test]
fn reasons_are_tried_as_the_flight_is_made() -> Fallible {
    // So little magnesium is less than one dose of the syringe brings.
    let goals = "magnesium: \"0.5 ± 0.1 mg/L\"";
    let steps = "base: [\"distilled\"], dispenser: \"syringe\", stocks: [\"epsom\"],";
    let why = ["why", "a", "--flight", "f", "--full"];
    let said = asked(goals, &format!("{steps} limits: (stocks: \"0.01 mL/L\"),"), &why)?;
    assert!(said.contains("In doses of any size: not with the steps of `syringe`"), "{said}");
    assert!(!said.contains("keeps it out of reach"), "{said}");
    let (_folder, bench) = starter_bench()?;
    let flight = format!(
        "Flight(title: \"f\", bottle: \"500 mL\", {steps} targets: [Target(name: \"a\", goals: ({goals}), \
         without: [\"epsom\"])])"
    );
    fs::write(bench.join("flights/f.ron"), flight)?;
    let (_, out, _) = tried(&bench, &why)?;
    let said = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("must not be in it (epsom) and the steps of `syringe`"), "{said}");
    assert!(said.contains("as the flight is made"), "{said}");
    Ok(())
}

/// A salt that the number of stocks leaves no room for is no remedy.
#[test]
fn remedies_keep_the_number_of_stocks() -> Fallible {
    let goals = "sodium: \"10 mg/L\", potassium: \"5 mg/L\"";
    let more = "base: [\"distilled\"], stocks: [\"table salt\"], stock_set: AtMost(1),";
    let said = asked(goals, more, &["why", "a", "--flight", "f", "--full"])?;
    assert!(said.contains("none was found to do so as the flight is made"), "{said}");
    Ok(())
}

/// Less of a stock than it takes is in the bottle: which goals stay possible is said of the bottle.
#[test]
fn what_is_left_counts_in_what_may_be_left_out() -> Fallible {
    let goals = "sodium: \"10 mg/L\", potassium: \"5 mg/L\"";
    let stocks = "base: [\"distilled\"], stocks: [\"table salt\"],";
    let why = ["why", "a", "--flight", "f", "--full"];
    let enough = "without it all other goals of the target can be kept";
    for (left, is_enough) in [("50 mL", true), ("0.1 mL", false)] {
        let said = asked(goals, &format!("{stocks} left: [(\"table salt\", \"{left}\")],"), &why)?;
        assert_eq!(said.contains(enough), is_enough, "{said}");
        assert!(said.contains("not with what is left of the stocks"), "{said}");
    }
    Ok(())
}

/// What one more of a goal costs is said with what it does not count; the preference of the flight counts.
#[test]
fn costs_of_a_goal_say_what_they_count() -> Fallible {
    let why = ["why", "a", "--flight", "f"];
    let goals = "calcium: \"20 mg/L\"";
    let said = asked(goals, "base: [\"distilled\"], left: [(\"calcium\", \"50 mL\")],", &why)?;
    assert!(said.contains("In doses of any size: not with what is left of the stocks"), "{said}");
    // The cheaper base water is taken as far as the goal lets it, and the dearer one fills up.
    let goals = "calcium: \"at most 3 mg/L\"";
    let more = "base: [\"distilled\", \"hill spring\"], stocks: [\"calcium\"], prefer: ";
    let said = asked(goals, &format!("{more} LeastCost,"), &why)?;
    assert!(said.contains("cost per litre") && !said.contains("No goal binds"), "{said}");
    let said = asked(goals, &format!("{more} LeastVolume,"), &why)?;
    assert!(said.contains("No goal binds"), "{said}");
    Ok(())
}

/// A millilitre a litre is enough of a stronger stock; its strength is said.
#[test]
fn stronger_stocks_are_tried_where_their_volume_is_limited() -> Fallible {
    let more = "base: [\"distilled\"], stocks: [\"calcium\"], limits: (stocks: \"1 mL/L\"),";
    let said = asked("calcium: \"20 ± 0.1 mg/L\"", more, &["why", "a", "--flight", "f"])?;
    assert!(said.contains("calcium chloride dihydrate (CaCl2·2H2O)"), "{said}");
    assert!(said.contains("stock 200 g/kg"), "{said}");
    Ok(())
}

/// A water whose best has no base water at all is out of reach for every command, and none calls it a fault
/// of the program.
#[test]
fn a_water_without_base_water_has_one_verdict() -> Fallible {
    let more = "base: [\"harbour tap\"], convention: AddedToALitre, limits: (stocks: \"none\", \
                dissolved_solids: \"none\"),";
    for command in [["why", "a", "--flight", "f"], ["alternatives", "a", "--flight", "f"]] {
        let said = asked("nitrate: \"0 mg/L\"", more, &command)?;
        assert!(said.contains("out of reach"), "{said}");
    }
    Ok(())
}

/// What one more of a goal takes is what `mix` then gives more, doses added to a litre of base water.
#[test]
fn costs_are_per_litre_as_mix_counts_it() -> Fallible {
    let number = |out: &str| -> Option<f64> {
        let all: serde_json::Value = serde_json::from_str(out).ok()?;
        let doses = all.pointer("/waters/0/doses")?.as_array()?;
        doses.iter().map(|dose| dose.pointer("/ml_per_l").and_then(serde_json::Value::as_f64)).sum()
    };
    let more = "base: [\"distilled\"], stocks: [\"table salt\"], convention: AddedToALitre,";
    let mixed = |mg: u32| -> Result<f64, Box<dyn Error>> {
        let goals = format!("sodium: \"{mg} mg/L\"");
        let out = asked(&goals, more, &["mix", "f", "--json"])?;
        number(&out).ok_or_else(|| out.into())
    };
    let out = asked("sodium: \"400 mg/L\"", more, &["why", "a", "--flight", "f", "--json"])?;
    let why: serde_json::Value = serde_json::from_str(&out)?;
    let said = why.pointer("/shifts/0/more/ml_per_l").and_then(serde_json::Value::as_f64);
    let said = said.ok_or("no cost")?;
    let found = mixed(401)? - mixed(400)?;
    assert!((said - found).abs() < 1e-3 * found, "{said} said, {found} mixed");
    Ok(())
}

/// A ratio's miss beyond its tolerance is no miss inside it as well: of 1000 chloride beside sodium at one to
/// one, 1 is missed of 1.04 ± 0.05, and of 2.04 ± 0.05 all but the tolerance lies beyond.
#[test]
fn a_ratio_counts_what_it_misses_once() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let inside = |ratio: &str| -> Result<f64, Box<dyn Error>> {
        let flight = format!(
            "Flight(title: \"f\", bottle: \"500 mL\", base: [\"distilled\"], stocks: [\"table salt\"], \
             dispenser: \"syringe\", targets: [Target(name: \"a\", goals: (sodium: \"10 mg/L, weight \
             1000\"), ratios: [(of: \"chloride\", to: \"sodium\", goal: \"{ratio} meq/meq, weight 1\")])])"
        );
        fs::write(bench.join("flights/f.ron"), flight)?;
        let (_, out, _) = tried(&bench, &["mix", "f", "--json"])?;
        let all: serde_json::Value = serde_json::from_str(&out)?;
        let misses = all.pointer("/order/dispenser/waters/0/misses_without_steps/1");
        misses.and_then(serde_json::Value::as_f64).ok_or_else(|| out.into())
    };
    // Inside it is at most the weight of the ratio, and what sodium misses beside it.
    assert!(inside("2.04 ± 0.05")? < 1000.0 + 1.1);
    let near = inside("1.0 ± 0.05")?;
    assert!(near.abs() < 1e-6, "{near}");
    Ok(())
}
