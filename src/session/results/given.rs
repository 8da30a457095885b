//! What was given, whether or not anything can be tested: the scores, the rankings, what the tasters
//! said, and what was in the cups.

use serde::Serialize;

use crate::quantities::show::{decimals_for, fixed, three_figures};
use crate::session::analysis::ScoreTable;
use crate::session::plan::{Serving, each_once};
use crate::session::results::PlannedWaterRecipe;
use crate::session::score::CupPlace;
use crate::session::score::Revealed;
use crate::session::serve::on_every_sheet::constants;
use crate::text::Page;

/// Our choice: so many scores of an attribute, or rankings, are printed; more are a list for the
/// machine, which `journal --csv` and `--json` give.
const MOST_SHOWN: usize = 96;

/// Our choice: columns of a small terminal.
const COLUMNS: usize = 80;

/// Blanks between two columns of a table.
const BETWEEN: usize = 3;

/// One score.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GivenScore {
    /// The taster.
    pub taster: String,
    /// The water.
    pub water: String,
    /// Round, from 1.
    pub round: usize,
    /// The score.
    pub score: f64,
}

/// The raw mean of a water's scores: who tasted what is not allowed for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RawMean {
    /// The water.
    pub water: String,
    /// Scores.
    pub cups: usize,
    /// Their mean.
    pub mean: f64,
}

/// The scores of one attribute as they were given.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct GivenScores {
    /// Every score, in the order of the session.
    pub scores: Vec<GivenScore>,
    /// Raw means, highest first.
    pub raw_means: Vec<RawMean>,
}

/// A ranking as it was given.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GivenRanking {
    /// The taster.
    pub taster: String,
    /// Number of the tray among the taster's.
    pub tray: usize,
    /// Round, from 1.
    pub round: usize,
    /// The waters, most first; a hidden duplicate stands twice.
    pub order: Vec<String>,
}

/// What a taster said of a cup or a tray.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TasterNote {
    /// The taster.
    pub taster: String,
    /// The water of the cup, or those of the tray.
    pub of: String,
    /// Round, from 1.
    pub round: usize,
    /// What was said.
    pub text: String,
}

/// What was in the cups.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct InTheCups {
    /// What is the same for all cups: cup, temperature, brew.
    pub serving: Serving,
    /// The waters as they were planned.
    pub waters: Vec<PlannedWaterRecipe>,
}

fn named(names: &[String], place: usize) -> String {
    names.get(place).cloned().unwrap_or_default()
}

impl GivenScores {
    /// The scores of a table.
    #[must_use]
    pub fn new(table: &ScoreTable) -> Self {
        let scores = table.rows.iter().map(|row| GivenScore {
            taster: named(&table.tasters, row.taster),
            water: named(&table.waters, row.water),
            round: row.round,
            score: row.value,
        });
        let cups = |water: usize| table.rows.iter().filter(|row| row.water == water).count();
        let means = table.raw_means().into_iter();
        let mut raw_means: Vec<RawMean> = means
            .map(|(water, mean)| RawMean {
                water: named(&table.waters, water),
                cups: cups(water),
                mean,
            })
            .collect();
        raw_means.sort_by(|a, b| b.mean.total_cmp(&a.mean));
        Self { scores: scores.collect(), raw_means }
    }

    /// Adds the table of scores: a row for each water, a column for each taster.
    pub(crate) fn show(&self, page: &mut Page) {
        if self.scores.is_empty() {
            return;
        }
        let tasters = each_once(self.scores.iter().map(|one| one.taster.as_str()));
        let steps = self.scores.iter().map(|s| decimals(s.score)).max().unwrap_or(0);
        let mean = |m: &RawMean| fixed(m.mean, decimals_for(m.mean, 3, 2).max(steps));
        let rows: Vec<Vec<String>> = self
            .raw_means
            .iter()
            .map(|m| {
                let of = |taster: &&str| -> String {
                    let own =
                        self.scores.iter().filter(|s| s.water == m.water && s.taster == *taster);
                    own.map(|s| fixed(s.score, steps)).collect::<Vec<_>>().join(" ")
                };
                let cells = tasters.iter().map(of);
                std::iter::once(m.water.clone()).chain(cells).chain([mean(m)]).collect()
            })
            .collect();
        let heads: Vec<&str> =
            std::iter::once("scores").chain(tasters.iter().copied()).chain(["raw mean"]).collect();
        let wide = |column: usize| {
            let cells = rows.iter().filter_map(|row| row.get(column).map(String::as_str));
            cells.chain(heads.get(column).copied()).map(|t| t.chars().count()).max().unwrap_or(0)
        };
        if self.scores.len() > MOST_SHOWN {
            let scores = self.scores.len();
            page.say(format!("  {scores} scores: `waterflight journal --csv` lists them"));
            return;
        }
        let width = (0..heads.len()).map(|column| wide(column) + BETWEEN).sum::<usize>();
        if width > COLUMNS + 1 {
            page.say("  scores:");
            for row in &rows {
                let [water, cells @ .., mean] = row.as_slice() else { continue };
                let given = tasters.iter().zip(cells).filter(|(_, cell)| !cell.is_empty());
                let given: Vec<String> = given.map(|(who, cell)| format!("{who} {cell}")).collect();
                page.say(format!("    {water}: {}; raw mean {mean}", given.join(", ")));
            }
            return;
        }
        page.show(&heads, rows);
    }
}

/// Decimals that a score was given with: at most three.
fn decimals(score: f64) -> usize {
    let is_whole = |cut: i32| {
        let steps = score * 10.0_f64.powi(cut);
        (steps - steps.round()).abs() < 1e-6
    };
    [(0, 0), (1, 1), (2, 2)].into_iter().find(|(cut, _)| is_whole(*cut)).map_or(3, |(_, cut)| cut)
}

/// The rankings of a session.
#[must_use]
pub fn rankings(revealed: &Revealed) -> Vec<GivenRanking> {
    let given = revealed.rankings.iter().filter_map(|row| Some((row, row.order.as_ref()?)));
    given
        .map(|(row, order)| GivenRanking {
            taster: named(&revealed.tasters, row.taster),
            tray: row.tray,
            round: row.round,
            order: order.iter().map(|cup| named(&revealed.waters, cup.water)).collect(),
        })
        .collect()
}

/// Adds the rankings to a page.
pub(crate) fn show_rankings(given: &[GivenRanking], page: &mut Page) {
    if given.is_empty() || given.len() > MOST_SHOWN {
        return;
    }
    page.say("  as ranked, most first:");
    let several = |taster: &str| given.iter().filter(|one| one.taster == taster).count() > 1;
    for one in given {
        let tray =
            if several(&one.taster) { format!(", tray {}", one.tray) } else { String::new() };
        page.say(format!("    {}{tray}: {}", one.taster, one.order.join(" > ")));
    }
}

/// Everything that tasters said while they tasted, in the order of the session.
#[must_use]
pub fn remarks(revealed: &Revealed) -> Vec<TasterNote> {
    let mut found: Vec<TasterNote> = Vec::new();
    let mut cups: Vec<&CupPlace> = Vec::new();
    let mut add = |taster: usize, round: usize, of: String, note: Option<&String>| {
        let Some(text) = note.filter(|text| !text.trim().is_empty()) else { return };
        let taster = named(&revealed.tasters, taster);
        found.push(TasterNote { taster, of, round, text: text.clone() });
    };
    for row in &revealed.scores {
        // Every attribute of a cup carries the same remark.
        if !cups.contains(&&row.cup) {
            cups.push(&row.cup);
            let of = named(&revealed.waters, row.cup.water);
            add(row.cup.taster, row.cup.round, of, row.note.as_ref());
        }
    }
    for row in &revealed.rankings {
        add(row.taster, row.round, tray_words(revealed, &row.served), row.note.as_ref());
    }
    for row in &revealed.choices {
        add(row.taster, row.round, tray_words(revealed, &row.served), row.note.as_ref());
    }
    found
}

/// The waters of a tray, each once, in the order of serving.
fn tray_words(revealed: &Revealed, served: &[CupPlace]) -> String {
    each_once(served.iter().map(|cup| named(&revealed.waters, cup.water))).join(", ")
}

/// Adds what the tasters said to a page.
pub(crate) fn show_remarks(remarks: &[TasterNote], page: &mut Page) {
    if remarks.is_empty() {
        return;
    }
    page.say("");
    page.say("What the tasters said");
    for remark in remarks {
        page.say(format!("  {}, {}: {}", remark.of, remark.taster, remark.text));
    }
}

impl InTheCups {
    /// Adds it to a page.
    pub(crate) fn show(&self, page: &mut Page) {
        page.say("");
        page.say("In the cups");
        let mut same = Page::default();
        constants(&mut same, &self.serving);
        page.parts.extend(same.parts);
        let known = |value: Option<f64>| value.map_or("not measured".to_owned(), three_figures);
        let rows = self.waters.iter().map(|made| {
            let doses: Vec<String> = made
                .doses_ml_per_l
                .iter()
                .map(|(stock, ml)| format!("{stock} {}", three_figures(*ml)))
                .collect();
            vec![
                made.water.clone(),
                known(made.hardness_mg_per_l_caco3),
                known(made.alkalinity_mg_per_l_caco3),
                if doses.is_empty() { "–".to_owned() } else { doses.join(", ") },
            ]
        });
        page.show(&["water", "hardness", "alkalinity", "doses, mL/L"], rows.collect());
        page.say("hardness and alkalinity in mg/L as CaCO3");
    }
}
