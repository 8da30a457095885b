//! What `session results` and `journal` say of sessions whose answers are known, from the plan to the
//! page, beside values from packages, published ones, and the texts as they were read.
//!
//! `WATERFLIGHT_BLESS=1 cargo test --test all session_results` writes the texts anew; read each.
//!
//! Above 400 lines: one session after another, each with the answers that it was made of.
#![expect(clippy::indexing_slicing, reason = "a missing reference value is an error of the check")]

use std::error::Error;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use crate::common::answers::run;
use crate::common::{key_text, starter_bench};
use serde_json::Value;
use waterflight::bench::session_folder::SessionFolder;
use waterflight::session::plan::{Key, Plan, Tray};
use waterflight::session::score::Entry;

type Fallible = Result<(), Box<dyn Error>>;

/// Waters of the starter bench that the sessions taste, by the numbers of the reference.
const WATERS: [&str; 4] = ["soft", "middle", "hard", "sulfate side"];

/// A session on a bench, with its key in the hand of the test.
struct Session<'a> {
    bench: &'a Path,
    name: &'a str,
    plan: Plan,
    key: Key,
}

impl<'a> Session<'a> {
    /// Plans a session of so many tasters.
    fn plan(
        bench: &'a Path,
        name: &'a str,
        tasters: usize,
        options: &[&str],
    ) -> Result<Self, Box<dyn Error>> {
        let names: Vec<String> = (1..=tasters).map(|n| format!("taster {n}")).collect();
        let names = names.join(",");
        let fixed = ["session", "plan", "--name", name, "--seed", name, "--tasters", &names];
        run(bench, &[&fixed[..], options].concat())?;
        let folder = bench.join("sessions").join(name);
        let plan = Plan::from_text(&fs::read_to_string(folder.join("plan.json"))?)?;
        let key = Key::from_text(&key_text(bench, name)?)?;
        Ok(Self { bench, name, plan, key })
    }

    /// The water of a code, by its name.
    fn water(&self, code: waterflight::session::plan::Code) -> Result<&str, Box<dyn Error>> {
        Ok(&self.key.cup(code).ok_or("a code without a cup")?.water)
    }

    /// Enters what `answer` says of each tray, as rows of CSV, and reveals.
    fn score(
        &self,
        heads: &str,
        mut answer: impl FnMut(usize, &Tray) -> Result<Vec<String>, Box<dyn Error>>,
    ) -> Result<Value, Box<dyn Error>> {
        let mut text = format!("{heads}\n");
        for tray in &self.plan.trays {
            let taster = self.plan.tasters.iter().position(|t| *t == tray.taster);
            for row in answer(taster.ok_or("no taster")?, tray)? {
                writeln!(text, "{},{row}", tray.taster)?;
            }
        }
        let file: PathBuf = self.bench.join(format!("{}.csv", self.name));
        fs::write(&file, text)?;
        let path = file.display().to_string();
        run(self.bench, &["session", "score", self.name, "--csv", &path])?;
        run(self.bench, &["session", "reveal", self.name])?;
        self.results()
    }

    fn results(&self) -> Result<Value, Box<dyn Error>> {
        Ok(serde_json::from_str(&run(self.bench, &["session", "results", self.name, "--json"])?)?)
    }

    fn text(&self) -> Result<String, Box<dyn Error>> {
        run(self.bench, &["session", "results", self.name, "--full"])
    }

    /// The cups of a tray that a right, or a wrong, answer names.
    fn chosen(&self, tray: &Tray, right: bool, first: &str) -> Result<Vec<String>, Box<dyn Error>> {
        let same = |a, b| -> Result<bool, Box<dyn Error>> { Ok(self.water(a)? == self.water(b)?) };
        let mut picked = Vec::new();
        for &code in &tray.cups {
            let alike = {
                let mut alike = 0;
                for &other in &tray.cups {
                    alike += usize::from(same(code, other)?);
                }
                alike
            };
            let fits = match (tray.cups.len(), tray.reference) {
                (3, _) => (alike == 1) == right,
                (4, _) => {
                    picked.first().is_none_or(|&one| same(one, code).is_ok_and(|s| s == right))
                }
                (_, Some(reference)) => same(code, reference)? == right,
                (_, None) => (self.water(code)? == first) == right,
            };
            if fits {
                picked.push(code);
            }
        }
        let wanted = if tray.cups.len() == 4 { 2 } else { 1 };
        Ok(picked.iter().take(wanted).map(ToString::to_string).collect())
    }
}

fn reference(part: &str) -> Result<Value, Box<dyn Error>> {
    let mut all: Value = serde_json::from_str(include_str!("oracle/session_results.json"))?;
    Ok(all.get_mut(part).ok_or("no such part")?.take())
}

fn number(value: &Value) -> Result<f64, Box<dyn Error>> {
    value.as_f64().ok_or_else(|| format!("no number: {value}").into())
}

fn size(value: &Value) -> Result<usize, Box<dyn Error>> {
    Ok(usize::try_from(value.as_u64().ok_or_else(|| format!("no whole number: {value}"))?)?)
}

fn list(value: &Value) -> Result<&Vec<Value>, Box<dyn Error>> {
    value.as_array().ok_or_else(|| format!("no list: {value}").into())
}

/// Both numbers, or both none.
fn close(what: &str, got: &Value, wanted: &Value, relative: f64) -> Fallible {
    if wanted.is_null() {
        assert!(got.is_null(), "{what}: {got} and not open");
        return Ok(());
    }
    let (got, wanted) = (number(got)?, number(wanted)?);
    let near = (got - wanted).abs() <= relative * wanted.abs() + 1e-7;
    assert!(near, "{what}: {got} and not {wanted}");
    Ok(())
}

/// The entry of a list whose water is this one.
fn of_water<'a>(all: &'a Value, water: &str) -> Result<&'a Value, Box<dyn Error>> {
    let found = list(all)?.iter().find(|one| one["water"] == water);
    found.ok_or_else(|| format!("nothing of {water} in {all}").into())
}

/// The entry of a pair, and whether it is turned.
fn of_pair<'a>(all: &'a Value, pair: &Value) -> Result<(&'a Value, bool), Box<dyn Error>> {
    let (first, second) = (WATERS[size(&pair[0])?], WATERS[size(&pair[1])?]);
    for one in list(all)? {
        if one["higher"] == first && one["lower"] == second {
            return Ok((one, false));
        }
        if one["higher"] == second && one["lower"] == first {
            return Ok((one, true));
        }
    }
    Err(format!("no pair {first}, {second}").into())
}

fn as_read(name: &str, said: &str) -> Fallible {
    // The day is that of the run.
    let mut text = String::new();
    for word in said.split_inclusive(|c: char| c.is_whitespace()) {
        let day = word.trim_end();
        let is_day = day.len() == 10 && day.split('-').count() == 3 && day.starts_with("20");
        text.push_str(&if is_day { word.replace(day, "2031-05-04") } else { word.to_owned() });
    }
    let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden").join(name);
    if std::env::var_os("WATERFLIGHT_BLESS").is_some() {
        fs::write(&beside, &text)?;
    }
    assert_eq!(text, fs::read_to_string(&beside)?, "{name}");
    let widest = text.lines().map(|l| l.chars().count()).max().unwrap_or_default();
    assert!(widest <= 80, "{name} is {widest} columns wide");
    Ok(())
}

const FOUR: [&str; 8] =
    ["--water", "soft", "--water", "middle", "--water", "hard", "--water", "sulfate side"];

fn scoring<'a>(
    bench: &'a Path,
    case: &Value,
    name: &'a str,
) -> Result<(Session<'a>, Value), Box<dyn Error>> {
    let body = ["--attribute", "body, 0 to 10 by 0.5, thin to heavy"];
    let session = Session::plan(bench, name, 5, &[&FOUR[..], &body[..]].concat())?;
    let found = session.score("taster,code,body", |taster, tray| {
        let cup = |code: &waterflight::session::plan::Code| {
            let place = WATERS.iter().position(|w| session.water(*code).is_ok_and(|own| own == *w));
            let value = number(&case["scores"][taster][place.ok_or("no water")?])?;
            Ok(format!("{code},{value}"))
        };
        tray.cups.iter().map(cup).collect()
    })?;
    Ok((session, found))
}

#[test]
fn scores_are_printed_as_packages_find_them() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let case = reference("scoring")?;
    let (session, found) = scoring(&bench, &case, "scores")?;
    let scores = &found["scores"][0];
    let text = session.text()?;
    for (place, water) in WATERS.iter().enumerate() {
        let mean = of_water(&scores["means"], water)?;
        close(water, &mean["mean"], &case["means"][place], 1e-6)?;
        let (middle, reach) = (number(&case["means"][place])?, number(&case["mean_reach"])?);
        close(water, &mean["interval"][1], &Value::from(middle + reach), 1e-4)?;
        let said = format!("{middle:.2} ({:.2} to {:.2})", middle - reach, middle + reach);
        assert!(text.contains(&said), "{said} is not in\n{text}");
    }
    let mut clear = 0;
    for pair in list(&case["pairs"])? {
        let (own, turned) = of_pair(&scores["differences"], &pair["pair"])?;
        let sign = if turned { -1.0 } else { 1.0 };
        let end = usize::from(!turned);
        close(
            "difference",
            &own["difference"],
            &Value::from(sign * number(&pair["difference"])?),
            1e-6,
        )?;
        close(
            "its end",
            &own["interval"][1],
            &Value::from(sign * number(&pair["interval"][end])?),
            1e-4,
        )?;
        close("its p", &own["p"], &pair["p"], 1e-4)?;
        clear += usize::from(number(&pair["p"])? < 0.05);
        assert_eq!(
            text.contains(&format!(
                "{} above {}",
                own["higher"].as_str().unwrap_or(""),
                own["lower"].as_str().unwrap_or("")
            )),
            number(&pair["p"])? < 0.05
        );
    }
    assert!(text.contains(&format!("{clear} of 6 pairs of waters differ")), "{text}");
    for (key, wanted) in [("f", "f"), ("df_noise", "df"), ("p", "p")] {
        let wanted = if key == "df_noise" { &case["df"][1] } else { &case[wanted] };
        close(key, &scores["all_alike"][key], wanted, 1e-4)?;
        close(key, &scores["classical"][key], wanted, 1e-6)?;
    }
    close("Friedman", &scores["friedman"]["statistic"], &case["friedman"], 1e-9)?;
    close("its exact p", &scores["friedman"]["p_exact"], &case["friedman_exact"], 1e-9)?;
    close("W", &scores["friedman"]["kendall_w"], &case["w"], 1e-9)?;
    as_read("results-scoring.txt", &text)
}

/// Bitterness of white wines, nine judges, two bottles (Randall J. H., Biometrics 45 (1989) 1171; from the R
/// package ordinal), entered as if it were a session: what is published of it is what is printed.
#[test]
fn published_scores_give_what_is_published() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let mut values = std::collections::BTreeMap::new();
    for line in include_str!("oracle/score_data.csv").lines().filter(|l| l.starts_with("wine,")) {
        let fields: Vec<&str> = line.split(',').collect();
        let place = |at: usize| -> Result<usize, Box<dyn Error>> { Ok(fields[at].parse()?) };
        values.insert((place(1)?, place(2)?, place(3)?), fields[6].to_owned());
    }
    assert_eq!(values.len(), 72);
    let more = ["--rounds", "2", "--attribute", "bitterness, 0 to 100, none to very bitter"];
    let session = Session::plan(&bench, "wine", 9, &[&FOUR[..], &more[..]].concat())?;
    let found = session.score("taster,code,bitterness", |taster, tray| {
        let cup = |code: &waterflight::session::plan::Code| {
            let place = WATERS.iter().position(|w| session.water(*code).is_ok_and(|own| own == *w));
            let at = (taster + 1, place.ok_or("no water")? + 1, tray.round);
            Ok(format!("{code},{}", values.get(&at).ok_or("no score")?))
        };
        tray.cups.iter().map(cup).collect()
    })?;
    let scores = &found["scores"][0];
    for (got, published) in [
        (&scores["classical"]["f"], 25.138_09),
        (&scores["classical"]["p"], 1.391_972e-7),
        (&scores["classical"]["df_noise"], 24.0),
        (&scores["friedman"]["statistic"], 23.533_33),
        (&scores["friedman"]["p_exact"], 4.334_305e-8),
        (&scores["friedman"]["kendall_w"], 0.871_605),
        // √139.5833, the mean square of the two bottles of a judge.
        (&scores["repeats"]["sd"], 11.814_538),
        (&scores["repeats"]["df"], 36.0),
    ] {
        let got = number(got)?;
        assert!((got / published - 1.0).abs() < 1e-5, "{got} and not {published}");
    }
    let text = session.text()?;
    assert!(text.contains("W = 0.87"), "{text}");
    // Two rounds of four can carry place and carry-over, so both are said.
    assert!(text.contains("place on the tray: ") && text.contains("water tasted before: "));
    assert!(number(&scores["terms"][0]["effects"][0]["adds"])?.is_finite());
    Ok(())
}

#[test]
fn rankings_are_printed_as_packages_find_them() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let case = reference("ranking")?;
    let options = [&FOUR[..], &["--question", "best"]].concat();
    let session = Session::plan(&bench, "ranks", 6, &options)?;
    let found = session.score("taster,codes", |taster, tray| {
        let mut codes = Vec::new();
        for water in list(&case["rankings"][taster])? {
            let name = WATERS[size(water)?];
            let of =
                |c: &&waterflight::session::plan::Code| session.water(**c).is_ok_and(|w| w == name);
            codes.push(tray.cups.iter().find(of).ok_or("no cup")?.to_string());
        }
        Ok(vec![codes.join(" ")])
    })?;
    let ranking = &found["ranking"];
    let text = session.text()?;
    for (place, water) in WATERS.iter().enumerate() {
        let worth = of_water(&ranking["plackett_luce"]["strengths"], water)?;
        close(water, &worth["log_strength"], &case["log_worth"][place], 1e-5)?;
        close(water, &worth["standard_error"], &case["se"][place], 1e-4)?;
        close(water, &worth["first"], &case["first"][place], 1e-5)?;
        let (mean, first) = (number(&case["mean_ranks"][place])?, number(&case["first"][place])?);
        assert!(
            text.lines().any(|l| {
                l.contains(water)
                    && l.contains(&format!("{mean:.2}"))
                    && l.contains(&format!("{:.0} %", 100.0 * first))
            }),
            "{text}"
        );
    }
    for pair in list(&case["pairs"])? {
        let (own, turned) = of_pair(&ranking["plackett_luce"]["pairs"], &pair["pair"])?;
        let seen = |chance: f64| Value::from(if turned { 1.0 - chance } else { chance });
        let end = usize::from(!turned);
        close("chance", &own["chance"], &seen(number(&pair["chance"])?), 1e-5)?;
        close("its end", &own["interval"][1], &seen(number(&pair["interval"][end])?), 1e-4)?;
        close("p alone", &own["p_alone"], &pair["p_alone"], 1e-9)?;
        // A pair is told apart only where the waters are: never below Friedman's exact p.
        let least = number(&pair["p"])?.max(number(&case["exact"])?);
        close("p", &own["p"], &Value::from(least), 1e-9)?;
    }
    close("Friedman", &ranking["friedman"]["statistic"], &case["friedman"], 1e-9)?;
    close("its exact p", &ranking["friedman"]["p_exact"], &case["exact"], 1e-9)?;
    close("W", &ranking["friedman"]["kendall_w"], &case["w"], 1e-9)?;
    as_read("results-ranking.txt", &text)
}

/// Page's test of an order noted before the first answer; one noted later is not tested.
#[test]
fn an_order_noted_counts_only_before_the_first_answer() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let options = ["--question", "best", "--water", "soft", "--water", "middle", "--water", "hard"];
    let session = Session::plan(&bench, "trend", 3, &options)?;
    let folder = SessionFolder::open(&bench, "trend")?;
    let note = |text: &str| -> Fallible {
        let entry = Entry::Note { taster: None, text: text.to_owned() };
        folder.record(|_| Ok(vec![entry]))?;
        Ok(())
    };
    for text in [
        "foretold: middle > hard > soft",
        "foretold: hard > middle > soft",
        "foretold bets: hard > middle > soft",
    ] {
        note(text)?;
    }
    for tray in &session.plan.trays {
        // Everyone ranks as was expected last: one chance in six, three times over.
        let mut arguments = vec!["session".into(), "score".into(), "trend".into()];
        arguments.push(tray.taster.clone());
        for water in ["hard", "middle", "soft"] {
            let of = |c: &&waterflight::session::plan::Code| {
                session.water(**c).is_ok_and(|w| w == water)
            };
            arguments.push(tray.cups.iter().find(of).ok_or("no cup")?.to_string());
        }
        run(&bench, &arguments.iter().map(String::as_str).collect::<Vec<_>>())?;
        note("foretold: soft > middle > hard")?;
    }
    run(&bench, &["session", "reveal", "trend"])?;
    let found = session.results()?;
    let (tested, mistyped, late) =
        (&found["expected_order"][0], &found["expected_order"][1], &found["expected_order"][2]);
    assert_eq!(tested["of"], "liking");
    assert!(mistyped["l"].is_null() && mistyped["not_tested"] == "nothing named bets was judged");
    assert!((number(&tested["l"])? - 42.0).abs() < 1e-9);
    assert!((number(&tested["p_exact"])? - 1.0 / 216.0).abs() < 1e-12);
    assert!(late["l"].is_null() && late["order"][0] == "soft");
    let text = session.text()?.split_whitespace().collect::<Vec<_>>().join(" ");
    let said = "expected order hard > middle > soft: Page's L = 42.0, p = 0.0046 (exact)";
    assert!(
        text.contains(said) && text.contains("not tested, since it was entered after the first"),
        "{text}"
    );
    Ok(())
}

/// Of each thing one order is tested, and none is passed over without a word.
#[test]
fn every_expected_order_is_tested_or_says_why_not() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let options = [
        &["--water", "soft", "--water", "middle", "--water", "hard"][..],
        &["--attribute", "body, 0 to 10 by 0.5, thin to heavy"],
        &["--attribute", "finish, 0 to 10 by 0.5, short to long"],
    ];
    let session = Session::plan(&bench, "orders", 3, &options.concat())?;
    let folder = SessionFolder::open(&bench, "orders")?;
    for text in [
        "foretold body: hard > middle > soft",
        "foretold: soft > middle > hard",
        "foretold boddy: hard > middle > soft",
    ] {
        let entry = Entry::Note { taster: None, text: text.to_owned() };
        folder.record(|_| Ok(vec![entry]))?;
    }
    let found = session.score("taster,code,body,finish", |taster, tray| {
        let row = |(place, code)| format!("{code},{},{}", place + taster, 2 * place + taster);
        Ok(tray.cups.iter().enumerate().map(row).collect())
    })?;
    let stands: Vec<(&Value, bool)> = list(&found["expected_order"])?
        .iter()
        .map(|one| (&one["of"], one["l"].is_null()))
        .collect();
    let wanted = [("body", false), ("body", true), ("finish", false), ("boddy", true)];
    assert_eq!(stands.len(), wanted.len());
    assert!(stands.iter().zip(wanted).all(|(own, wanted)| own.0 == wanted.0 && own.1 == wanted.1));
    let text = session.text()?;
    for said in ["another order was entered before it", "nothing named boddy was judged"] {
        assert!(text.split_whitespace().collect::<Vec<_>>().join(" ").contains(said), "{text}");
    }
    // A test of two waters has no order.
    let pair = ["--method", "triangle", "--pair", "soft", "hard"];
    let two = Session::plan(&bench, "two", 3, &pair)?;
    let folder = SessionFolder::open(&bench, "two")?;
    let entry = Entry::Note { taster: None, text: "foretold: hard > soft".to_owned() };
    folder.record(|_| Ok(vec![entry]))?;
    two.score("taster,codes", |_, tray| Ok(vec![two.chosen(tray, true, "soft")?.join(" ")]))?;
    assert!(two.text()?.contains("expected order hard > soft: not tested"), "{}", two.text()?);
    Ok(())
}

/// What one taster says in one round is too little for a model, and was tasted all the same.
#[test]
fn a_session_that_says_nothing_is_still_in_the_journal() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let body = ["--attribute", "body, 0 to 10 by 0.5, thin to heavy"];
    let waters = ["--water", "soft", "--water", "middle"];
    let session = Session::plan(&bench, "alone", 1, &[&waters[..], &body[..]].concat())?;
    session.score("taster,code,body", |_, tray| {
        Ok(tray.cups.iter().map(|code| format!("{code},5")).collect())
    })?;
    let text = run(&bench, &["journal", "--full"])?;
    assert!(text.contains("1 session revealed, 2 recipes tasted"), "{text}");
    assert!(text.contains("alone, body: nothing can be tested, "), "{text}");
    let journal: Value = serde_json::from_str(&run(&bench, &["journal", "--json"])?)?;
    let never = list(&journal["never_tasted"])?;
    assert!(never.iter().all(|water| water != "soft" && water != "middle"), "{text}");
    Ok(())
}

/// A panel that repeated nothing has not told taste from error, so one taster counts on both.
#[test]
fn one_taster_counts_on_all_the_scatter_of_a_panel_without_repeats() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    scoring(&bench, &reference("scoring")?, "panel")?;
    let fixed = ["session", "plan", "--name", "alone", "--tasters", "ann", "--rounds", "3"];
    let rest = ["--attribute", "body, 0 to 10 by 0.5, thin to heavy", "--json"];
    let plan: Value = serde_json::from_str(&run(&bench, &[&fixed[..], &rest[..]].concat())?)?;
    let expected = &plan["forecast"]["attributes"][0];
    assert_eq!(expected["measured_in"], 1);
    assert!(number(&expected["assumed_scatter"]["cup"])? > 0.1, "{expected}");
    // Less than the scatter of one score cannot be told by three cups of each.
    assert!(
        number(&expected["smallest"])? > number(&expected["assumed_scatter"]["cup"])?,
        "{expected}"
    );
    Ok(())
}

#[test]
fn tests_of_two_are_printed_as_packages_find_them() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for case in list(&reference("choices")?)? {
        let method = case["method"].as_str().ok_or("no method")?;
        let answers = size(&case["answers"])?;
        let mut options = vec!["--method", method, "--pair", "soft", "hard"];
        if method == "paired" {
            options.extend(["--criterion", "body"]);
        }
        let session = Session::plan(&bench, method, answers, &options)?;
        let right = size(&case["right"])?;
        let found = session.score("taster,codes", |taster, tray| {
            Ok(vec![session.chosen(tray, taster < right, "soft")?.join(" ")])
        })?;
        let pair = &found["pairs"][0];
        for (key, wanted) in [
            ("right", "right"),
            ("answers", "answers"),
            ("least_right", "least_right"),
            ("p", "p"),
            ("share_right", "share"),
            ("share_who_can_tell", "tellers"),
            ("d_prime", "d"),
            ("power_if_half_can_tell", "power_for_half"),
            ("could_find_share_who_can_tell", "could_find"),
        ] {
            close(&format!("{method}: {key}"), &pair[key], &case[wanted], 1e-5)?;
        }
        for end in [0, 1] {
            for (key, wanted) in [
                ("share_right_interval", "share_interval"),
                ("share_who_can_tell_interval", "tellers_interval"),
                ("d_prime_interval", "d_interval"),
            ] {
                close(&format!("{method}: {key}"), &pair[key][end], &case[wanted][end], 1e-5)?;
            }
        }
        let text = session.text()?;
        let clear = number(&case["p"])? < 0.05;
        assert_eq!(text.contains("cannot tell soft and hard apart"), !clear, "{text}");
        // Whoever cannot tell has not shown that there is nothing to tell.
        assert!(!text.contains("no difference"), "{text}");
        assert!(text.contains(&format!("d′ = {:.2} (", number(&case["d"])?)), "{text}");
        as_read(&format!("results-{method}.txt"), &text)?;
    }
    Ok(())
}

#[test]
fn a_taster_s_repeats_do_not_count_as_tasters() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let case = reference("repeated")?;
    let by_taster = list(&case["by_taster"])?;
    let options = ["--method", "triangle", "--pair", "soft", "hard", "--rounds", "2"];
    let session = Session::plan(&bench, "twice", by_taster.len(), &options)?;
    let found = session.score("taster,codes", |taster, tray| {
        let right = tray.round <= size(&by_taster[taster][0])?;
        Ok(vec![session.chosen(tray, right, "soft")?.join(" ")])
    })?;
    let pair = &found["pairs"][0];
    close("answers that count", &pair["counted"], &case["counted"], 1e-9)?;
    close("p", &pair["p"], &case["p"], 1e-9)?;
    for end in [0, 1] {
        close("share", &pair["share_right_interval"][end], &case["share_interval"][end], 1e-7)?;
        close("distance", &pair["d_prime_interval"][end], &case["d_interval"][end], 1e-5)?;
    }
    for (own, wanted) in list(&pair["by_taster"])?.iter().zip(by_taster) {
        assert_eq!((&own["right"], &own["answers"]), (&wanted[0], &wanted[1]));
    }
    // Of seven answers five are needed; two of three are right when half can tell, so by hand
    // (21·2⁵ + 7·2⁶ + 2⁷)/3⁷.
    close("power", &pair["power_if_half_can_tell"], &Value::from(1248.0 / 2187.0), 1e-9)?;
    let text = session.text()?;
    assert!(text.contains("  7 answers find a difference 8 times in 10 when "), "{text}");
    assert!(
        text.contains("count these 14 answers as 7.20")
            && text.contains("right: taster 1 2 of 2, taster 2")
    );
    Ok(())
}

#[test]
fn several_pairs_allow_for_each_other() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let case = reference("several")?;
    let mut options = vec!["--method", "paired", "--criterion", "body"];
    for wins in list(&case["wins"])? {
        options.extend(["--pair", WATERS[size(&wins[0])?], WATERS[size(&wins[1])?]]);
    }
    let session = Session::plan(&bench, "pairs", size(&case["tasters"])?, &options)?;
    let found = session.score("taster,codes", |taster, tray| {
        for wins in list(&case["wins"])? {
            let (first, second) = (WATERS[size(&wins[0])?], WATERS[size(&wins[1])?]);
            let mut here = true;
            for code in &tray.cups {
                here &= [first, second].contains(&session.water(*code)?);
            }
            if here {
                return Ok(vec![session.chosen(tray, taster < size(&wins[2])?, first)?.join(" ")]);
            }
        }
        Err("no such pair".into())
    })?;
    for (n, wins) in list(&case["wins"])?.iter().enumerate() {
        let name = [WATERS[size(&wins[0])?], WATERS[size(&wins[1])?]];
        let own = list(&found["pairs"])?.iter().find(|p| p["pair"] == Value::from(name.to_vec()));
        let own = own.ok_or("no pair")?;
        close("p alone", &own["p_alone"], &case["p_alone"][n], 1e-9)?;
        close("p", &own["p"], &case["p"][n], 1e-9)?;
    }
    for (place, water) in WATERS.iter().take(3).enumerate() {
        let worth = of_water(&found["bradley_terry"]["strengths"], water)?;
        close(water, &worth["log_strength"], &case["log_worth"][place], 1e-5)?;
    }
    // Nine of ten would be enough alone, and is not among three.
    assert!(session.text()?.contains("cannot tell soft and middle apart (p = 0.064)"));
    Ok(())
}

#[test]
fn the_journal_follows_recipes_and_says_what_was_found_of_pairs() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let case = reference("scoring")?;
    scoring(&bench, &case, "first")?;
    // The same tasters again, half a point lower throughout.
    let mut lower = case.clone();
    for row in lower["scores"].as_array_mut().ok_or("no scores")? {
        for value in row.as_array_mut().ok_or("no row")? {
            *value = Value::from(value.as_f64().ok_or("no score")? - 0.5);
        }
    }
    scoring(&bench, &lower, "second")?;
    let options = ["--method", "triangle", "--pair", "soft", "hard"];
    let triangle = Session::plan(&bench, "third", 12, &options)?;
    triangle.score("taster,codes", |taster, tray| {
        Ok(vec![triangle.chosen(tray, taster < 8, "soft")?.join(" ")])
    })?;
    // A forecast now rests on what was measured: √(residual mean square) of the table.
    let body = ["--attribute", "body, 0 to 10 by 0.5, thin to heavy"];
    let open = Session::plan(&bench, "fourth", 5, &[&FOUR[..], &body[..]].concat())?;
    let plan: Value = serde_json::from_str(&run(
        &bench,
        &["session", "plan", "--name", "fifth", "--tasters", "ann,bo", body[0], body[1], "--json"],
    )?)?;
    let expected = &plan["forecast"]["attributes"][0];
    assert_eq!((&expected["measured_in"], &open.plan.waters), (&Value::from(2), &4));
    let interval = &case["pairs"][0];
    let half = number(&interval["interval"][1])? - number(&interval["difference"])?;
    // Half width = q/√2 · √(2 MS/5), and q(0.95; 4, 12) = 4.19866 as tabled.
    let noise = half / 4.198_66 * 5.0_f64.sqrt();
    let measured = number(&expected["assumed_scatter"]["taste"])?;
    assert!((measured / noise - 1.0).abs() < 1e-4, "{measured} and not {noise}");

    let journal: Value = serde_json::from_str(&run(&bench, &["journal", "--json"])?)?;
    let hard = list(&journal["recipes"])?.iter().find(|r| r["name"] == "hard").ok_or("no hard")?;
    assert_eq!((&hard["sessions"], &hard["over_time"][0]["of"]), (&3.into(), &"body".into()));
    close("change", &hard["over_time"][0]["change"][0], &Value::from(-0.5), 1e-6)?;
    let pair = &journal["pairs"][0];
    assert_eq!(pair["pair"], Value::from(vec!["soft", "hard"]));
    assert_eq!(pair["told_apart"], Value::Bool(true));
    // What a pair shows is no value of either water.
    assert!(list(&journal["served"])?.iter().all(|served| served["session"] != "third"));
    assert_eq!(journal["not_revealed"], Value::from(vec!["fifth", "fourth"]));
    let text = run(&bench, &["journal", "--full"])?;
    assert!(text.contains("soft / hard, triangle: they differ, d′ 2.32 (0.41 to 4.04)"), "{text}");
    as_read("journal.txt", &text)?;

    let rows = run(&bench, &["journal", "--csv"])?;
    let mut reader = csv::Reader::from_reader(rows.as_bytes());
    let heads = reader.headers()?.clone();
    let column = |name: &str| heads.iter().position(|h| h == name).ok_or(format!("no {name}"));
    let (measure, water, pair) = (column("measure")?, column("water")?, column("pair")?);
    let (hardness, dose) = (column("hardness_mg_per_l_caco3")?, column("calcium_ml_per_l")?);
    let mut counts = std::collections::BTreeMap::new();
    for record in reader.records() {
        // A row of another length is an error of the reader.
        let record = record?;
        let of_pair = &record[measure] == "right";
        assert_eq!(record[water].is_empty(), of_pair);
        assert_eq!(record[hardness].is_empty(), of_pair);
        assert_eq!(record[dose].is_empty(), of_pair);
        assert_eq!(record[pair].is_empty(), &record[measure] == "body");
        if &record[water] == "hard" {
            assert!((record[hardness].parse::<f64>()? - 150.0).abs() < 1e-6);
        }
        *counts.entry(record[measure].to_owned()).or_insert(0) += 1;
    }
    // Two sessions of twenty cups; twelve trays of three, each with one answer.
    let wanted = [("body", 40), ("chosen", 36), ("right", 12)];
    assert_eq!(counts, wanted.map(|(k, n)| (k.to_owned(), n)).into());
    Ok(())
}

/// A one-sided test that is answered the other way round is not said to show nothing to see.
#[test]
fn the_other_way_round_is_said() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let options =
        ["--method", "paired", "--one-sided", "--criterion", "body", "--pair", "soft", "hard"];
    let session = Session::plan(&bench, "against", 12, &options)?;
    session.score("taster,codes", |_, tray| {
        Ok(vec![session.chosen(tray, false, "soft")?.join(" ")])
    })?;
    let text = session.text()?;
    assert!(text.contains("hard was chosen more often, which a one-sided test does not"), "{text}");
    Ok(())
}
