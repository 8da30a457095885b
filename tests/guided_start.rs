//! A new user at a terminal: from bags of salt to the first doses without opening a file.
#![expect(
    clippy::indexing_slicing,
    reason = "a key that an answer lacks is null, and fails its test"
)]

use std::error::Error;
use std::fs;

use crate::common::answers::ended;

type Fallible = Result<(), Box<dyn Error>>;

const ANSWERS: &str = "title: Kitchen\nbag 1: Epsom salt\nbag 2: CaCl2·2H2O\nbag 3: baking soda\n\
     water 1: tap\nwater 1 analysis: Ca 44, Mg 6,2, Na 12, K 2, Cl 20, SO4 30, NO3 5, SiO2 8, HCO3 140, pH 7,4\n\
     # the flight\nown water 1: mineral\nown water 1 goals: hardness 120 mg/L as CaCO3, alkalinity 3,5 °dH\n";

#[cfg(unix)]
mod at_a_terminal {
    use super::{Fallible, ended, fs};
    use crate::common::terminal::Terminal;
    use std::path::Path;

    /// What a person with three bags, tap water, a dropper and a syringe types, slips left out.
    #[test]
    fn forty_answers_give_the_first_doses_of_ones_own() -> Fallible {
        let folder = tempfile::tempdir()?;
        let mut at = Terminal::start(folder.path(), &["start", "home"])?;
        for (question, answer) in [
            ("What is this bench called?", ""),
            ("Which salt is in the bag?", "Epsom salt"),
            ("What purity", ""),
            ("What stands on the bottle", "epsom"),
            ("Which salt is in the next bag?", "calcium chloride"),
            ("Which one is it?", "2"),
            ("What purity", "99"),
            ("What stands on the bottle", "calcium"),
            ("Which salt is in the next bag?", "baking soda"),
            ("What purity", ""),
            ("What stands on the bottle", "soda"),
            ("Which salt is in the next bag?", ""),
            ("distilled or deionised", ""),
            ("what do you call it?", "tap"),
            ("What do its label", "Ca 44, Mg 6,2, Na 12, Cl 20, SO4 30, HCO3 140"),
            ("what do you call it?", ""),
            ("smallest step", ""),
            ("How much does it carry?", ""),
            ("its smallest", ""),
            ("What do you measure doses", "3"),
            ("twenty drops", "1.02 0,98"),
            ("And with what else?", "1"),
            ("marks apart", ""),
            ("How much does it hold?", ""),
            ("And with what else?", ""),
            ("How large are the bottles", "750 mL"),
            ("bottles of the stocks", ""),
            ("Does a machine heat", "2"),
            ("What do you call it?", ""),
            ("How hot is the brew boiler?", ""),
            ("A limit of the maker's sheet", "hardness max 6 °dH"),
            ("A limit of the maker's sheet", ""),
            ("Which waters", "3 4"),
            ("A water of your own", "mineral"),
            ("What should it hold?", "hardness 100 mg/L as CaCO3, alkalinity 3 °dH"),
            ("A water of your own", ""),
            ("Write the bench", ""),
        ] {
            at.expect(question)?;
            at.answer(answer)?;
        }
        let answers = at.answers;
        let (status, screen) = at.end()?;
        assert!(status.success(), "{screen}");
        assert!(answers <= 40, "{answers} answers");
        assert!(screen.contains("A bench was started in home"), "{screen}");
        assert!(
            screen.contains("mineral") && screen.contains("Next: `waterflight weigh epsom"),
            "{screen}"
        );
        let bench = folder.path().join("home");
        let settings = fs::read_to_string(bench.join("bench.ron"))?;
        // Twenty drops of 1.00 g on average are 1.0018 mL at 20 °C: 0.0501 mL a drop.
        assert!(settings.contains("drop: \"0.0501 mL\""), "{settings}");
        assert!(settings.contains("Twenty drops weighed 1.02, 0.98 g"), "{settings}");
        assert!(settings.contains("hardness: \"max 6 °dH\""), "{settings}");
        let (code, out, errors) = ended(folder.path(), &["check", "--bench", "home"], "")?;
        assert_eq!((code, errors.as_str()), (0, ""), "{out}");
        assert!(out.contains("5 files of stocks, waters and flights"), "{out}");
        Ok(())
    }

    fn kept(folder: &Path) -> String {
        fs::read_to_string(folder.join("home/start.answers")).unwrap_or_default()
    }

    /// Not to write now is no answer that is kept: the next run asks again. `?` says more everywhere, and
    /// `none` is nobody's name.
    #[test]
    fn not_now_is_asked_again() -> Fallible {
        let folder = tempfile::tempdir()?;
        fs::create_dir(folder.path().join("home"))?;
        let kept = "title: Mine\nbag 1: Epsom salt\nbag 1 purity: \nbag 1 name: epsom\nbag 2: none\n\
                    distilled: yes\nwater 1: none\nbalance step: 0.01 g\nbalance most: 200 g\nlarge balance \
                    step: 1 g\ndispenser 1: 4\ndispenser 1 step: 0.01 g\ndispenser 2: none\nbottle: 1 L\nstock \
                    bottle: 500 mL\nmachine: 1\ntargets: none\n";
        fs::write(folder.path().join("home/start.answers"), kept)?;
        let mut at = Terminal::start(folder.path(), &["start", "home"])?;
        at.expect("A water of your own")?;
        at.answer("?")?;
        at.expect("A name such as")?;
        at.answer("none")?;
        at.expect("is no name")?;
        at.answer("mild")?;
        at.expect("What should it hold?")?;
        at.answer("GH: 3")?;
        at.expect("with its unit")?;
        at.answer("magnesium 6 mg/L")?;
        at.expect("A water of your own")?;
        at.answer("None")?;
        at.expect("Write the bench")?;
        at.answer("?")?;
        at.expect("writes the files, and none over another")?;
        at.answer("no")?;
        at.expect("Left.")?;
        at.end()?;
        assert!(!folder.path().join("home/bench.ron").exists());
        let mut at = Terminal::start(folder.path(), &["start", "home"])?;
        at.expect("Write the bench")?;
        at.answer("yes")?;
        let (status, screen) = at.end()?;
        assert!(status.success(), "{screen}");
        let bench = fs::read_to_string(folder.path().join("home/bench.ron"))?;
        assert!(
            bench.contains("Balance(name: \"dose balance\"") && !bench.contains("cale("),
            "{bench}"
        );
        for file in ["home/stocks/epsom.ron", "home/flights/first-flight.ron", "home/bench.ron"] {
            let text = fs::read_to_string(folder.path().join(file))?;
            let wide =
                |line: &&str| line.trim_start().starts_with("//") && line.chars().count() > 80;
            assert_eq!(text.lines().find(wide), None, "{file}");
        }
        Ok(())
    }

    /// Slips are refused and asked again, `back` goes to the question before, Ctrl-C keeps what was
    /// answered, and the next start goes on there.
    #[test]
    fn slips_steps_back_and_leaving_lose_nothing() -> Fallible {
        let folder = tempfile::tempdir()?;
        let mut at = Terminal::start(folder.path(), &["start", "home"])?;
        at.expect("called?")?;
        at.answer("First title")?;
        at.expect("Which salt is in the bag?")?;
        at.answer("back")?;
        at.expect("called?")?;
        at.answer("Second title")?;
        at.expect("Which salt is in the bag?")?;
        at.answer("sodium bicrbonate")?;
        at.expect("! `sodium bicrbonate` is not a salt known here")?;
        at.answer("?")?;
        at.expect("Known salts")?;
        at.answer("calcium chloride")?;
        at.expect("Which one is it?")?;
        at.answer("9")?;
        at.expect("! the choices are 1 to")?;
        at.answer("<")?;
        at.expect("Which salt is in the bag?")?;
        // A letter is rubbed out, as at any line.
        at.keys(b"sodax\x7f\r")?;
        at.expect("Which one is it?").or_else(|_| at.expect("What purity"))?;
        at.keys(b"\x03")?;
        at.expect("Left.")?;
        let (status, screen) = at.end()?;
        assert_eq!(status.code(), Some(1), "{screen}");
        assert!(kept(folder.path()).contains("title: Second title"), "{}", kept(folder.path()));
        assert!(!folder.path().join("home/bench.ron").exists());

        let mut at = Terminal::start(folder.path(), &["start", "home"])?;
        at.expect("answers were kept")?;
        at.answer("back")?;
        at.expect("Which salt is in the bag?")?;
        at.answer("Epsom salt")?;
        at.expect("What purity")?;
        for answer in
            ["", "epsom", "KHCO3", "", "potash", "", "", "", "", "", "", "1", "", "", "", "1 L"]
        {
            at.answer(answer)?;
        }
        at.answer("")?;
        at.answer("")?;
        at.expect("Which waters")?;
        at.answer("none")?;
        at.expect("A water of your own")?;
        at.answer("")?;
        at.expect("! an answer is needed here")?;
        at.answer("plain")?;
        at.answer("GH 4 °dH")?;
        at.expect("`hardness` here")?;
        at.answer("hardness 4 °dH, alkalinity 2 °dH")?;
        at.answer("")?;
        at.expect("Write the bench")?;
        at.answer("")?;
        at.expect("A bench was started")?;
        let (status, screen) = at.end()?;
        assert!(status.success(), "{screen}");
        let settings = fs::read_to_string(folder.path().join("home/bench.ron"))?;
        assert!(settings.contains("Second title"), "{settings}");
        Ok(())
    }
}

#[test]
fn a_file_of_answers_asks_nothing_and_nothing_is_written_over() -> Fallible {
    let folder = tempfile::tempdir()?;
    fs::write(folder.path().join("mine.txt"), ANSWERS)?;
    let start = ["start", "home", "--answers", "mine.txt"];
    let (code, out, errors) = ended(folder.path(), &start, "")?;
    assert_eq!((code, errors.as_str()), (0, ""), "{out}");
    assert!(out.contains("mineral"), "{out}");
    let stock = folder.path().join("home/stocks/epsom-salt.ron");
    fs::write(&stock, "// mine now\n")?;
    let (code, _, errors) = ended(folder.path(), &start, "")?;
    assert_eq!(code, 73, "{errors}");
    assert!(errors.contains("`waterflight add stock --bench home` adds to it"), "{errors}");
    assert_eq!(fs::read_to_string(&stock)?, "// mine now\n");
    Ok(())
}

#[test]
fn a_file_of_answers_says_which_question_is_open_or_wrong() -> Fallible {
    let folder = tempfile::tempdir()?;
    for (answers, words) in [
        ("title: x\n", "the question `bag 1` has no answer here"),
        ("bag 1: calcium chloride\n", "the question `bag 1 salt` has no answer"),
        ("bag 1: calcium chloride\n", "2 calcium chloride"),
        ("bag 1: Epsom salt\nbag 1 purity: 1\n", "write `1 %`"),
        (&format!("{ANSWERS}balance: 1\n"), "did you mean `balance step`?"),
        (&format!("{ANSWERS}bag 9: soda\n"), "mine.txt:"),
        ("bag 1: soda pop\n", "bag 1: `soda pop` is not a salt known here"),
        ("bag 1: Epsom salt\nbag 1 purity: 120 %\n", "bag 1 purity: a purity lies between"),
        (&format!("{ANSWERS}bottle: 750\n"), "`750` has no unit"),
        (&format!("{ANSWERS}stock bottle: 0,5\n"), "`0,5` has no unit"),
        ("bag 1: Epsom salt\nbag 1 purity: 1\n", "bag 1 purity: "),
        (&format!("{ANSWERS}bag 9: soda\n"), "no question is called `bag 9`"),
        ("bag 1 Epsom\n", "this line is no answer"),
    ] {
        fs::write(folder.path().join("mine.txt"), answers)?;
        let start = ["start", "home", "--answers", "mine.txt"];
        let (code, out, errors) = ended(folder.path(), &start, "")?;
        assert!(code != 0 && out.is_empty(), "{answers}: {out}");
        assert!(errors.contains(words), "{answers}: {errors}");
        assert!(!folder.path().join("home").exists(), "{answers}");
    }
    Ok(())
}

/// What was started is a bench like any other: `add` brings more by the same questions, `targets` says
/// what can be made, and a ready target becomes a flight.
#[test]
fn more_is_added_by_the_same_questions() -> Fallible {
    let folder = tempfile::tempdir()?;
    let at = folder.path();
    let (code, out, _) = ended(at, &["new", "plain", "--empty"], "")?;
    assert_eq!(code, 0, "{out}");
    for (what, answers, file) in [
        ("stock", "bag 1: Epsom salt\nbag 1 name: epsom\nstrength: 30 g/kg\n", "stocks/epsom.ron"),
        ("stock", "bag 1: KHCO3\nbag 1 name: potash\n", "stocks/potash.ron"),
        (
            "water",
            "water 1: Tap\nwater 1 analysis: hardness 14 °dH, calcium 80 mg/L\n",
            "waters/tap.ron",
        ),
        (
            "target",
            "own water 1: mild\nown water 1 goals: hardness 3 °dH, alkalinity 2 °dH\n",
            "targets/mild.ron",
        ),
    ] {
        fs::write(at.join("answers.txt"), answers)?;
        let (code, out, errors) =
            ended(at, &["add", what, "--answers", "answers.txt", "--bench", "plain"], "")?;
        assert_eq!(code, 0, "{errors}");
        assert!(out.contains(file) && at.join("plain").join(file).is_file(), "{out}");
    }
    // The same name a second time is refused, whatever its case.
    fs::write(at.join("answers.txt"), "bag 1: NaCl\nbag 1 name: EPSOM\n")?;
    let (code, _, errors) =
        ended(at, &["add", "stock", "--answers", "answers.txt", "--bench", "plain"], "")?;
    assert!(code != 0 && errors.contains("is there already"), "{errors}");
    let (_, out, _) = ended(at, &["targets", "--bench", "plain", "--json"], "")?;
    let lines: serde_json::Value = serde_json::from_str(&out)?;
    let of = |name: &str| {
        let all = lines.as_array().cloned().unwrap_or_default();
        all.into_iter().find(|l| l["name"] == name).unwrap_or_default()
    };
    // Magnesium sulfate and potassium bicarbonate reach any hardness with any alkalinity below it.
    assert_eq!(of("mild")["in_reach"], serde_json::Value::Bool(true), "{out}");
    assert_eq!(of("mild")["from"], "own");
    // Its goal is on calcium, and no stock has any; the tap, which has, was not measured for sodium.
    assert_eq!(
        of("SCAA 2009 water for brewing")["in_reach"],
        serde_json::Value::Bool(false),
        "{out}"
    );
    let (code, out, errors) =
        ended(at, &["targets", "MILD", "EPA soft", "--into", "two", "--bench", "plain"], "")?;
    assert_eq!(code, 0, "{errors}");
    assert!(out.contains("flights/two.ron"), "{out}");
    let (code, _, errors) = ended(at, &["check", "--bench", "plain"], "")?;
    assert_eq!((code, errors.as_str()), (0, ""));
    Ok(())
}

#[test]
fn a_folder_with_other_files_is_left_alone_and_the_way_out_is_said() -> Fallible {
    let folder = tempfile::tempdir()?;
    fs::write(folder.path().join("letter.txt"), "dear")?;
    for verb in ["new", "start"] {
        let (code, _, errors) = ended(folder.path(), &[verb, "."], "")?;
        assert_eq!(code, 73, "{errors}");
        assert!(errors.contains("as in `./bench`"), "{verb}: {errors}");
    }
    assert_eq!(fs::read_dir(folder.path())?.count(), 1);
    Ok(())
}
