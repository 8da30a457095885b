//! The ± of every report: one convention, said once, with two figures at most; a maker's ± is read in
//! one way; and a weighing that leaves a strength open is warned of.

use std::error::Error;
use std::fs;

use crate::common::answers::{json, number, one_line};
use crate::common::{program, starter_bench};
use waterflight::quantities::show;

type Fallible = Result<(), Box<dyn Error>>;

/// Significant figures of a number as printed; zeros that only hold a place are none.
fn figures(number: &str) -> usize {
    let digits = number.trim_start_matches(['0', '.']);
    let digits = if number.contains('.') { digits } else { digits.trim_end_matches('0') };
    digits.chars().filter(char::is_ascii_digit).count()
}

fn decimals(number: &str) -> usize {
    number.split_once('.').map_or(0, |(_, decimals)| decimals.len())
}

fn is_number(word: &str) -> bool {
    !word.is_empty()
        && word.starts_with(|c: char| c.is_ascii_digit())
        && word.chars().all(|c| c.is_ascii_digit() || c == '.')
}

/// Checks every `VALUE ± NUMBER` and `± NUMBER` of a text; how many there were.
fn check(text: &str, of: &str) -> usize {
    let words: Vec<&str> =
        text.split(' ').map(|w| w.trim_matches([',', ';', ':', '(', ')'])).collect();
    let mut seen = 0;
    for (at, _) in words.iter().enumerate().filter(|(_, word)| **word == "±") {
        let Some(number) = words.get(at + 1).map(|w| w.trim_end_matches('.')) else { continue };
        if !is_number(number) {
            continue;
        }
        // Tolerances that the user wrote stand behind `wanted` and before a unit, as written.
        seen += 1;
        assert!(figures(number) <= 2, "{of}: ± {number} has too many figures: {text}");
        let value = at.checked_sub(1).and_then(|before| words.get(before)).copied().unwrap_or("");
        let percent = words.get(at + 2).is_some_and(|unit| *unit == "%");
        if is_number(value) && !percent {
            assert_eq!(decimals(value), decimals(number), "{of}: {value} ± {number}");
        }
    }
    seen
}

/// Every report that prints a ± says once that it is k = 2.
#[test]
fn the_convention_is_said_once_and_figures_are_few() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    fs::write(
        bench.join("stocks/citrate.ron"),
        "Stock(name: \"citrate\", salt: \"tripotassium citrate monohydrate\", \
         made: ToTotalMass(salt: \"50 g\", total: \"1 kg\"))",
    )?;
    let batch = ["weighed", "calcium", "--salt", "30.52 g", "--total", "1018 g"];
    let recorded = one_line(&bench, &batch)?;
    assert_eq!(recorded.matches("k = 2").count(), 1, "{recorded}");
    assert!(check(&recorded, "weighed") >= 2);
    let reports: [(&[&str], usize); 13] = [
        (&["stock", "magchlor"], 1),
        (&["stock", "citrate"], 1),
        (&["weigh", "calcium", "--full"], 3),
        (&["verify", "calcium"], 4),
        (&["verify", "calcium", "--read", "217 µS/cm"], 7),
        (&["verify", "citrate", "--read", "1.1 mS/cm"], 7),
        (&["water", "middle", "--full"], 8),
        (&["water", "harbour tap", "middle", "100x middle", "--full"], 24),
        (&["read", "middle", "373"], 1),
        (&["read", "sulfate side", "200"], 1),
        (&["batch", "middle", "--make", "100 L", "--full"], 8),
        (&["concentrate", "middle", "--full"], 1),
        (&["mix", "--monte-carlo", "200", "--budget"], 8),
    ];
    for (arguments, least) in reports {
        let said = one_line(&bench, arguments)?;
        assert_eq!(said.matches("k = ").count(), 1, "{arguments:?}: {said}");
        assert!(!said.contains("standard uncertainty"), "{arguments:?}: {said}");
        // A goal of the flight's file is printed as it is meant, with the tolerance that it has.
        let own: String = match arguments {
            ["mix", ..] => {
                said.split(" goal ").filter_map(|part| part.split(" water: ").last()).collect()
            }
            ["batch", ..] => said
                .split("wanted")
                .map(|part| part.split_once(", got").map_or(part, |(_, got)| got))
                .collect(),
            _ => said.clone(),
        };
        assert!(check(&own, &format!("{arguments:?}")) >= least, "{arguments:?}: {own}");
    }
    Ok(())
}

/// The ± of a steam boiler's conductivity is larger than that of the room's, and both are there.
#[test]
fn conductivity_carries_its_plus_minus_in_the_heat() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let water = json(&bench, &["water", "middle"])?;
    let part = |place: usize| -> Result<f64, Box<dyn Error>> {
        let of = |key: &str| number(&water, &format!("/0/reports/{place}/{key}"));
        Ok(of("conductivity_expanded_us_per_cm")? / of("conductivity_us_per_cm")?)
    };
    let (room, steam) = (part(0)?, part(6)?);
    assert!(room > 0.02 && room < 0.07, "{room}");
    assert!(steam > 0.2 && steam < 0.3, "{steam}");
    let said = one_line(&bench, &["water", "middle", "--full"])?;
    let mut most = 0.0_f64;
    for state in 6..9 {
        let of = |key: &str| number(&water, &format!("/0/reports/{state}/{key}"));
        most = most.max(of("conductivity_expanded_us_per_cm")?);
    }
    assert!(said.contains(&format!("± {} at 125 °C", show::plus_minus(most))), "{said}");
    Ok(())
}

/// A reading is judged by what is not known of a stock, as its doses are.
#[test]
fn a_reading_counts_what_is_not_known_of_the_strength() -> Fallible {
    let expanded = |lot: &str| -> Result<f64, Box<dyn Error>> {
        let (_folder, bench) = starter_bench()?;
        let stock = format!(
            "Stock(name: \"epsom\", salt: \"MgSO4·7H2O\", lot: ({lot}), made: ToTotalMass(salt: \"40 \
             g\", total: \"1 kg\"))"
        );
        fs::write(bench.join("stocks/epsom.ron"), stock)?;
        let read = json(&bench, &["read", "9 mL/L epsom", "300"])?;
        Ok(number(&read, "/expanded")? / number(&read, "/expected")?)
    };
    let (certain, doubtful) =
        (expanded("purity: \"100 %\"")?, expanded("purity: \"85 to 100 %\"")?);
    // Half of 15 parts in 92.5, spread evenly, and a little less than that in the conductivity.
    let strength = 2.0 * 7.5 / 92.5 / 3_f64.sqrt();
    let more = (doubtful * doubtful - certain * certain).sqrt();
    assert!(more > 0.75 * strength && more < 1.02 * strength, "{more} {strength}");
    Ok(())
}

/// ±2 % of a meter is a half-width wherever it is written: the same ± from either place, a third of the
/// variance of a standard uncertainty of 2 %.
#[test]
fn a_makers_plus_minus_is_a_half_width() -> Fallible {
    let expanded = |settings: &str| -> Result<(f64, f64), Box<dyn Error>> {
        let (_folder, bench) = starter_bench()?;
        fs::write(bench.join("bench.ron"), format!("Bench(title: \"x\", {settings})"))?;
        let water = json(&bench, &["water", "middle"])?;
        let of = |key: &str| number(&water, &format!("/0/meter/{key}"));
        // Without the model and the step of the display, what is left is the meter's own.
        let (shown, model) = (of("shown/0/expanded")?, of("us_per_cm_25_expanded")?);
        let own = (shown * shown - model * model - 4.0 / 12.0).sqrt() / of("shown/0/value")?;
        let verify = json(&bench, &["verify", "calcium"])?;
        let part = number(&verify, "/expected/us_per_cm_expanded")?
            / number(&verify, "/expected/us_per_cm")?;
        Ok((own, part))
    };
    let (as_meter, verify) = expanded("meter: (error: \"6 %\")")?;
    let (as_tool, same) = expanded("tools: (meter: \"6 %\")")?;
    let want = 2.0 * 0.06 / 3.0_f64.sqrt();
    assert!((as_meter / want - 1.0).abs() < 1e-6, "{as_meter}");
    assert!((as_tool / want - 1.0).abs() < 1e-6 && (verify / same - 1.0).abs() < 1e-9);
    // The default is the maker's usual ±2 %, read in the same way.
    let (usual, less) = expanded("")?;
    assert!((usual / (want / 3.0) - 1.0).abs() < 1e-6 && less < verify, "{usual}");
    let (_folder, bench) = starter_bench()?;
    fs::write(
        bench.join("bench.ron"),
        "Bench(title: \"x\", meter: (error: \"1 %\"), tools: (meter: \"2 %\"))",
    )?;
    let output = program()?.current_dir(&bench).arg("stock").output()?;
    assert!(String::from_utf8(output.stderr)?.contains("given twice"));
    Ok(())
}

/// `10 mg` where grams were meant, in every making, is said where the stock is used; ordinary stocks
/// are not.
#[test]
fn a_weighing_that_leaves_the_strength_open_is_warned_of() -> Fallible {
    for (made, vague) in [
        ("ToTotalMass(salt: \"10 mg\", total: \"1 kg\")", true),
        ("IntoWater(salt: \"40 mg\", water: \"1 kg\")", true),
        ("ToVolume(salt: \"10 mg\", volume: \"1 L\")", true),
        ("ToTotalMass(salt: \"10 g\", total: \"60 g\")", false),
        ("ToTotalMass(salt: \"1 g\", total: \"100 g\")", false),
        ("ToTotalMass(salt: \"40 g\", total: \"1 kg\")", false),
    ] {
        let (_folder, bench) = starter_bench()?;
        fs::write(
            bench.join("stocks/table-salt.ron"),
            format!("Stock(name: \"table salt\", salt: \"NaCl\", made: {made})"),
        )?;
        fs::write(
            bench.join("flights/first-flight.ron"),
            "Flight(title: \"one\", bottle: \"1 L\", stocks: [\"table salt\"], targets: \
             [Target(name: \"one\", goals: (sodium: \"1 mg/L\"))])",
        )?;
        for arguments in [
            &["stock"][..],
            &["stock", "table salt"],
            &["weigh", "table salt", "--full"],
            &["stocktake"],
            &["verify", "table salt"],
        ] {
            let said = one_line(&bench, arguments)?;
            assert_eq!(
                said.contains("its strength is only known to"),
                vague,
                "{arguments:?} {made}: {said}"
            );
        }
        let said = one_line(&bench, &["mix", "--full"])?;
        assert_eq!(said.contains("its strength is only known to"), vague, "mix {made}: {said}");
    }
    // As it was weighed, too.
    let (_folder, bench) = starter_bench()?;
    let recorded = one_line(&bench, &["weighed", "epsom", "--salt", "40 mg", "--total", "1 kg"])?;
    assert!(recorded.contains("its strength is only known to"), "{recorded}");
    Ok(())
}
