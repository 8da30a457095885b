//! From the scores of a session to the flight that is worth mixing next, through the program.

use std::error::Error;
use std::fs;
use std::path::Path;

use crate::common::answers::{json as run, list, number, one_line, text, tried};
use crate::common::{program, starter_bench};
use serde_json::Value;

type Fallible = Result<(), Box<dyn Error>>;

/// Plans a scoring of the first flight, scores every cup by a rule over hardness and alkalinity, and
/// reveals it. Each taster has a level of their own and a fixed pattern of errors.
pub(crate) fn tasted(bench: &Path, rule: impl Fn(f64, f64) -> f64) -> Fallible {
    tasted_as(bench, "one", 1.0, rule)
}

/// The same under a name, on a scale so many times as long.
fn tasted_as(bench: &Path, name: &str, times: f64, rule: impl Fn(f64, f64) -> f64) -> Fallible {
    let attribute = format!("liking, 0 to {} by 0.1", 10.0 * times);
    let plan = [
        "session",
        "plan",
        "first-flight",
        "--name",
        name,
        "--tasters",
        "ann, bo, cy, di",
        "--rounds",
        "2",
        "--method",
        "scoring",
        "--attribute",
        &attribute,
        "--seed",
        "rehearsal",
    ];
    let planned = run(bench, &plan)?;
    let sheet = run(bench, &["session", "sheet", name, "--for", "pourer"])?;
    let mix = run(bench, &["mix", "first-flight"])?;
    let mut score_of = Vec::new();
    for bottle in list(&sheet, "/bottles")? {
        let water = text(bottle, "/water")?;
        let made = list(&mix, "/waters")?.iter().find(|w| text(w, "/target").ok() == Some(water));
        let made = made.ok_or("a bottle of no water")?;
        let score = rule(
            number(made, "/hardness_mg_per_l_caco3")?,
            number(made, "/alkalinity_mg_per_l_caco3")?,
        );
        for code in list(bottle, "/codes")? {
            score_of.push((text(code, "/code")?.to_owned(), score));
        }
    }
    let mut csv = "taster,code,liking\n".to_owned();
    let mut number = 0;
    for tray in list(&planned, "/plan/trays")? {
        let taster = text(tray, "/taster")?;
        let level = 0.4 * f64::from(u8::try_from(taster.len())?);
        for cup in list(tray, "/cups")? {
            let code = cup.as_str().ok_or("a cup without a code")?;
            let score = score_of.iter().find(|(c, _)| c == code).ok_or("an unknown code")?.1;
            let error = [0.3, -0.2, -0.3, 0.1, 0.2, -0.1, 0.0].get(number % 7).copied();
            number += 1;
            let score = times * (score + level + error.unwrap_or(0.0)).clamp(0.0, 10.0);
            csv.push_str(&format!("{taster},{code},{score:.1}\n"));
        }
    }
    fs::write(bench.join("scores.csv"), csv)?;
    run(bench, &["session", "score", name, "--csv", "scores.csv"])?;
    run(bench, &["session", "reveal", name])?;
    Ok(())
}

#[test]
fn what_the_panel_liked_is_mixed_next() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    tasted(&bench, |hardness, alkalinity| {
        7.0 - ((hardness - 85.0) / 45.0).powi(2) - ((alkalinity - 45.0) / 35.0).powi(2)
    })?;
    let asked =
        ["next", "--over", "hardness,alkalinity", "--waters", "4", "--into", "second", "--full"];
    let next = run(&bench, &asked)?;
    assert_eq!(text(&next, "/next/of")?, "liking");
    assert_eq!(text(&next, "/next/reason")?, "improve");
    assert_eq!(list(&next, "/next/tasted")?.len(), 8);
    // One pick is near the top of the hill that was built in; no pick is surely worse than the best.
    let waters = list(&next, "/next/waters")?;
    let near = |w: &Value| -> Result<bool, Box<dyn Error>> {
        let away = [number(w, "/at/0")? - 85.0, number(w, "/at/1")? - 45.0];
        Ok(away[0].abs() < 30.0 && away[1].abs() < 25.0)
    };
    let found: Vec<bool> = waters.iter().map(near).collect::<Result<_, _>>()?;
    assert!(found.contains(&true), "{next}");
    for water in waters {
        let hoped = number(water, "/above_mean")? + 2.0 * number(water, "/standard_deviation")?;
        assert!(hoped > 1.0 && number(water, "/beats_best")? > 0.05, "{water}");
    }
    // What was written is an ordinary flight, every new water of it in reach, the reference last.
    let mix = run(&bench, &["mix", "second"])?;
    let waters = list(&mix, "/waters")?;
    assert_eq!(waters.len(), 5);
    for (water, proposed) in waters.iter().zip(list(&next, "/next/waters")?) {
        assert_eq!(text(water, "/target")?, text(proposed, "/target")?);
        for goal in list(water, "/goals")? {
            assert!(number(goal, "/miss")?.abs() < 1e-6, "{goal}");
        }
        let hardness = number(water, "/hardness_mg_per_l_caco3")?;
        assert!((hardness - number(proposed, "/at/0")?).abs() < 0.01, "{water}");
    }
    let reference = text(&next, "/next/reference")?;
    assert_eq!(text(waters.last().ok_or("no water")?, "/target")?, reference);
    assert!(list(&next, "/next/tasted")?.iter().any(|t| text(t, "/water").ok() == Some(reference)));
    // The same seed, the same flight; an existing file stays.
    let again = run(
        &bench,
        &["next", "first-flight", "--over", "hardness,alkalinity", "--waters", "4", "--full"],
    );
    assert_eq!(again?.pointer("/next/waters"), next.pointer("/next/waters"));
    let mut command = program()?;
    let refused = command.current_dir(&bench).args(asked).args(["first-flight"]).output()?;
    assert_eq!(refused.status.code(), Some(73));
    Ok(())
}

#[test]
fn no_slope_is_said_to_be_unseen() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    tasted(&bench, |_, _| 6.0)?;
    let next = run(&bench, &["next", "--over", "hardness,alkalinity", "--full"])?;
    assert_eq!(text(&next, "/next/reason")?, "learn");
    assert!(text(&next, "/next/shape")?.contains("not to say there is none"));
    Ok(())
}

#[test]
fn without_scores_the_region_is_filled() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let range = "hardness=20..120 mg/L as CaCO3";
    let next = run(&bench, &["next", "--between", range, "--waters", "3", "--full"])?;
    assert_eq!(text(&next, "/next/reason")?, "spread");
    let mut found = Vec::new();
    for water in list(&next, "/next/waters")? {
        found.push(number(water, "/at/0")?);
    }
    // The middle, then both ends.
    found.sort_by(f64::total_cmp);
    for (got, want) in found.iter().zip([20.0, 70.0, 120.0]) {
        assert!((got - want).abs() < 0.5, "{found:?}");
    }
    Ok(())
}

/// Scores from 0 to 10 and from 0 to 100 are not put together: the newest scale counts.
#[test]
fn one_scale_at_a_time() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let hill = |hardness: f64, _: f64| 7.0 - ((hardness - 85.0) / 45.0).powi(2);
    tasted_as(&bench, "a", 1.0, hill)?;
    tasted_as(&bench, "b", 10.0, hill)?;
    let next = run(&bench, &["next", "--over", "hardness", "--full"])?;
    assert_eq!(next.pointer("/next/sessions"), Some(&serde_json::json!(["b"])));
    assert!(next.to_string().contains("a (on another scale)"), "{next}");
    Ok(())
}

/// On a narrow axis every proposed water still has a name and a goal of its own.
#[test]
fn waters_of_a_narrow_axis_are_told_apart() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let range = "potassium=1..2 mg/L";
    let next =
        run(&bench, &["next", "--between", range, "--waters", "6", "--into", "narrow", "--full"])?;
    let mut names = Vec::new();
    for water in list(&next, "/next/waters")? {
        names.push(text(water, "/target")?.to_owned());
    }
    let count = names.len();
    names.sort();
    names.dedup();
    assert_eq!((names.len(), count), (6, 6), "{names:?}");
    assert_eq!(list(&run(&bench, &["mix", "narrow"])?, "/waters")?.len(), 6);
    Ok(())
}

/// A share of the hardness is sought where there is some, although no axis asks for it.
#[test]
fn a_share_is_sought_at_some_hardness() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    tasted(&bench, |hardness, _| 7.0 - ((hardness - 85.0) / 45.0).powi(2))?;
    for (over, held) in [("magnesium_share", true), ("magnesium_share,hardness", false)] {
        let next = run(&bench, &["next", "--over", over, "--full"])?;
        let [tried, reached] =
            ["tried", "in_reach"].map(|key| number(&next, &format!("/next/{key}")));
        assert!(reached? >= 0.9 * tried?, "{over}: {next}");
        assert_eq!(number(&next, "/next/held_hardness_mg_per_l_caco3").is_ok(), held, "{next}");
        let said = one_line(&bench, &["next", "--over", over])?;
        assert_eq!(said.contains("Hardness is held at"), held, "{said}");
    }
    Ok(())
}

/// A name that two waters bore is said after a session, and only so it names one of them.
#[test]
fn waters_of_one_name_are_told_apart() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let rule = |hardness: f64, _: f64| 8.0 - (hardness - 35.0).abs() / 20.0;
    tasted_as(&bench, "a", 1.0, rule)?;
    let file = bench.join("flights/first-flight.ron");
    let changed = fs::read_to_string(&file)?
        .replace("hardness: \"35 mg/L as CaCO3\"", "hardness: \"48 mg/L as CaCO3\"");
    fs::write(&file, changed)?;
    tasted_as(&bench, "b", 1.0, rule)?;
    let next = ["next", "first-flight", "--over", "hardness,alkalinity"];
    let found = run(&bench, &[&next[..], &["--into", "best", "--full"]].concat())?;
    let known = list(&found, "/next/known")?.iter().map(|k| text(k, "/water"));
    let mut known = known.collect::<Result<Vec<_>, _>>()?;
    let waters = known.len();
    known.sort_unstable();
    known.dedup();
    assert_eq!(known.len(), waters, "{known:?}");
    assert!(known.contains(&"a/soft") && known.contains(&"b/soft"), "{known:?}");
    assert!(known.contains(&"middle"), "{known:?}");
    assert_eq!(text(&found, "/next/best")?, "a/soft");
    assert_eq!(text(&found, "/next/reference_is")?, "a/soft");
    let written = fs::read_to_string(bench.join("flights/best.ron"))?;
    assert!(written.contains("// As it was tasted in the session a."), "{written}");
    let said = one_line(&bench, &next)?;
    assert!(said.contains("Best so far: a/soft") && said.contains("and a/soft again"), "{said}");
    let (done, _, errors) = tried(&bench, &[&next[..], &["--reference", "soft"]].concat())?;
    assert!(!done && errors.contains("a/soft, b/soft"), "{errors}");
    let named = run(&bench, &[&next[..], &["--reference", "b/soft", "--into", "named"]].concat())?;
    assert_eq!(text(&named, "/next/reference_is")?, "b/soft");
    let written = fs::read_to_string(bench.join("flights/named.ron"))?;
    assert!(written.contains("// As it was tasted in the session b."), "{written}");
    Ok(())
}

/// No water lies beyond the region that is stated.
#[test]
fn the_new_waters_lie_within_the_region() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    tasted(&bench, |_, _| 6.0)?;
    for over in ["hardness,alkalinity", "calcium,alkalinity"] {
        let next = run(&bench, &["next", "--over", over, "--waters", "8", "--full"])?;
        for (n, axis) in list(&next, "/next/axes")?.iter().enumerate() {
            let (low, high) = (number(axis, "/low")?, number(axis, "/high")?);
            for water in list(&next, "/next/waters")? {
                let at = number(water, &format!("/at/{n}"))?;
                assert!((low - 1e-6..=high + 1e-6).contains(&at), "{low} {at} {high}: {water}");
            }
        }
    }
    Ok(())
}

/// Where fewer waters can be made than were asked for, that is said.
#[test]
fn waters_that_are_missing_are_said_to_be() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    tasted(&bench, |hardness, _| 7.0 - ((hardness - 85.0) / 45.0).powi(2))?;
    let file = bench.join("flights/first-flight.ron");
    let coarse = fs::read_to_string(&file)?
        .replace("bottle: \"500 mL\"", "bottle: \"200 mL\", dispenser: \"syringe\"");
    fs::write(&file, coarse)?;
    let asked = ["next", "--over", "hardness,alkalinity,magnesium_share", "--waters", "4"];
    let next = run(&bench, &[&asked[..], &["--full"]].concat())?;
    let found = list(&next, "/next/waters")?.len();
    assert!((number(&next, "/next/waters_asked")? - 4.0).abs() < 1e-9);
    let said = one_line(&bench, &asked)?;
    assert_eq!(
        said.contains(&format!("! {found} of the 4 new waters asked for")),
        found < 4,
        "{said}"
    );
    Ok(())
}
