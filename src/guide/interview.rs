//! The whole guided start: from bags of salt to a bench with its first flight.

use std::path::{Path, PathBuf};

use crate::bench::ready_targets::{ReadyTarget, published};
use crate::bench::{Bench, built_in_salts, check_text, starter};
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::guide::bag_questions::bags;
use crate::guide::machine_questions::machine;
use crate::guide::script::KEPT_IN;
use crate::guide::talk::{Asker, Question, Stop, Talk, conduct};
use crate::guide::target_questions::targets;
use crate::guide::tool_questions::{STOCK_BOTTLE, balances, dispensers, volume};
use crate::guide::water_questions::{Waters, waters};
use crate::guide::write_bench::{Draft, FIRST};
use crate::guide::{Script, strengths};
use crate::mix::shelf_reach::{Reach, reach};
use crate::quantities::show;
use crate::stock::{Catalogue, Stock};
use crate::water::BaseWater;

/// A bench that was started.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Started {
    /// Its folder.
    pub bench: PathBuf,
    /// Its files.
    pub files: Vec<PathBuf>,
    /// Name of its first flight.
    pub flight: String,
    /// Names of its stocks.
    pub stocks: Vec<String>,
}

/// Whether a bench can be started in a folder: it is new, empty, or holds the answers of a start that
/// was left.
///
/// # Errors
/// When it holds anything else.
pub fn free_for_a_start(folder: &Path) -> Result<(), Diagnostic> {
    starter::no_bench_yet(folder)?;
    let Ok(entries) = std::fs::read_dir(folder) else {
        return if folder.exists() {
            starter::folder_for_bench::<&str>(folder, &[])
        } else {
            Ok(())
        };
    };
    let is_resumed = folder.join(KEPT_IN).is_file() && !folder.join("bench.ron").exists();
    let others = entries.filter_map(Result::ok).any(|e| e.file_name() != KEPT_IN);
    if others && !is_resumed { starter::folder_for_bench::<&str>(folder, &[]) } else { Ok(()) }
}

/// Asks, and writes the bench.
///
/// # Errors
/// When the start is left, or something is wrong.
pub fn start(folder: &Path, script: &mut Script, asker: &mut dyn Asker) -> Result<Started, Stop> {
    let salts = Catalogue::new(built_in_salts()?);
    let published = published()?;
    let draft = conduct(script, asker, |talk| interview(talk, &salts, &published))?;
    let stocks = draft.bags.iter().map(|bag| bag.name.clone()).collect();
    Ok(Started {
        bench: folder.to_owned(),
        files: written(folder, &draft, &salts)?,
        flight: FIRST.to_owned(),
        stocks,
    })
}

fn interview(
    talk: &mut Talk<'_>,
    salts: &Catalogue,
    published: &[ReadyTarget],
) -> Result<Draft, Stop> {
    let title = talk.ask(
        &Question::new(
            "title",
            "What is this bench called?",
            "A name for all that is on your shelf; the first flight and the page of the journal \
             bear it, and it can be changed in `bench.ron`.",
        )
        .or("My bench"),
        |text| Ok(text.to_owned()),
    )?;
    let bags = bags(talk, salts)?;
    let waters = waters(talk)?;
    let balances = balances(talk)?;
    let dispensers = dispensers(talk, balances.error_g)?;
    let bottle = Question::new(
        "bottle",
        "How large are the bottles that you make water in?",
        "What a flight is poured into: doses are those of one bottle. `mix --bottle` asks for another size.",
    );
    let bottle_ml = volume(talk, &bottle.or("1 L"))?;
    let stock = Question::new("stock bottle", "And the bottles of the stocks?", STOCK_BOTTLE);
    let stock_ml = volume(talk, &stock.or("500 mL"))?;
    let machine = machine(talk)?;
    let stocks: Vec<Stock> = bags
        .iter()
        .filter_map(|bag| {
            let salt = salts.find(&bag.salt).ok()?;
            strengths::stock(&bag.name, salt, strengths::usual(salt))
        })
        .collect();
    let base = base(&waters)?;
    let ready: Vec<(ReadyTarget, Reach)> =
        published.iter().map(|t| (t.clone(), reach(&t.written.target, &stocks, &base))).collect();
    let targets = targets(talk, &ready, &base)?;
    let draft =
        Draft { title, bags, waters, balances, dispensers, bottle_ml, stock_ml, machine, targets };
    check_text::settings(&draft.bench_text()).map_err(Mistakes::into_first)?;
    let question = format!(
        "Write the bench: stocks {}, base waters {}, bottles of {} mL, waters in the first flight {}?",
        draft.bags.len(),
        base.len(),
        show::plain(draft.bottle_ml),
        draft.targets.len()
    );
    let help = "`yes` writes the files, and none over another; `back` changes an answer; `leave` keeps all \
                answers.";
    let go = talk.yes(&Question::new("write", question, help).or("yes"))?;
    if go {
        return Ok(draft);
    }
    // The next run asks it again.
    talk.forget("write")?;
    Err(Stop::Left)
}

fn base(waters: &Waters) -> Result<Vec<BaseWater>, Diagnostic> {
    let distilled = waters.distilled.then(BaseWater::distilled);
    let others = waters.others.iter();
    let others = others.map(|(_, text)| check_text::water(text).map_err(Mistakes::into_first));
    distilled.into_iter().map(Ok).chain(others).collect()
}

/// Our choice: so often strengths are advised for what the ones before have given.
const MOST_ROUNDS: usize = 4;

/// Writes the files. They are first written into a temporary folder and read there as any bench is,
/// which gives the strengths and finds what no single answer shows.
fn written(folder: &Path, draft: &Draft, salts: &Catalogue) -> Result<Vec<PathBuf>, Diagnostic> {
    let salt_of = |salt: &str| {
        salts.find(salt).map_err(|error| Diagnostic::new(Fault::Internal, error.to_string()))
    };
    let mut grams = Vec::new();
    for bag in &draft.bags {
        grams.push(strengths::usual(salt_of(&bag.salt)?));
    }
    // Other strengths may give other doses, of which the advice is another one.
    for _ in 0..MOST_ROUNDS {
        let trial = tempfile::tempdir().map_err(|error| {
            Diagnostic::new(Fault::Write, format!("no temporary folder can be made: {error}"))
        })?;
        lay_out(trial.path(), &draft.files(&grams))?;
        let bench = Bench::open(trial.path()).map_err(Mistakes::into_first)?;
        let before = grams.clone();
        for (name, advised) in strengths::advised(&bench, FIRST)? {
            let place = draft.bags.iter().position(|bag| bag.name == name);
            if let Some(one) = place.and_then(|n| grams.get_mut(n)) {
                *one = advised;
            }
        }
        if grams.iter().zip(&before).all(|(now, then)| now.total_cmp(then).is_eq()) {
            break;
        }
    }
    lay_out(folder, &draft.files(&grams))
}

fn lay_out(folder: &Path, files: &[(String, String)]) -> Result<Vec<PathBuf>, Diagnostic> {
    let files: Vec<(&str, &str)> =
        files.iter().map(|(p, text)| (p.as_str(), text.as_str())).collect();
    starter::lay_out(folder, &files)
}
