//! The pourer's sheet: the one page that names waters.

use std::path::PathBuf;

use serde::Serialize;

use crate::mix::flight_use::StockUse;
use crate::mix::stocktake::{Filled, warnings};
use crate::quantities::show::{fixed, plain, three_figures};
use crate::quantities::{Day, Litres, Millilitres};
use crate::session::plan::key::in_groups;
use crate::session::plan::preparation::{Margin, prepare};
use crate::session::plan::{Blinding, DosedWater, Key, Plan, Preparation, Serving};
use crate::session::serve::commands::poured_command;
use crate::session::serve::measured_out::{
    Measured, MeasuredWith, PouredBottle, litres, measured_table,
};
use crate::session::serve::on_every_sheet::{constants, steps};
use crate::stock::Note;
use crate::stock::Tools;
use crate::text::Page;
use crate::text::command_line::typed;

/// What is poured, and whether the bottles hold it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PouringSheet {
    /// The session.
    pub session: String,
    /// Seal of the key, to be compared with the plan's.
    pub seal: String,
    /// What is the same for all cups: cup, temperature, brew.
    pub serving: Serving,
    /// Water poured beyond what is needed, %.
    pub spare_percent: f64,
    /// The least that is made of each water, L.
    pub least_l: f64,
    /// What doses are measured out with, in whole steps; nothing where they have none.
    pub dispenser: Option<MeasuredWith>,
    /// Every bottle, in the order of the flight.
    pub bottles: Vec<PouredBottle>,
    /// The water of the named reference cup.
    pub reference: Option<String>,
    /// The water of the unscored first cup.
    pub warm_up: Option<String>,
    /// Base waters, L, with spare.
    pub base_l: Vec<(String, f64)>,
    /// Stocks.
    pub stocks: Vec<StockNeeded>,
    /// Grams of what is brewed.
    pub brewed_g: Option<f64>,
    /// Waters that the flight does not have, so that nothing is counted for them.
    pub without_doses: Vec<String>,
    /// What changed since the session was planned, and which bottles are too old.
    pub warnings: Vec<String>,
    /// The file of the secret that opened the key, where one was named.
    #[serde(skip)]
    pub key_file: Option<PathBuf>,
    #[serde(skip)]
    margin: Margin,
}

/// A stock.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StockNeeded {
    /// Its name.
    pub stock: String,
    /// The batch that the doses follow from; nothing when none was recorded.
    pub batch: Option<u32>,
    /// Needed, mL, with spare.
    pub ml: f64,
    /// Left in its bottle, mL; nothing when no batch was recorded.
    pub left_ml: Option<f64>,
    /// What the bottle lacks, mL.
    pub missing_ml: Option<f64>,
    /// What to make of it at least, mL.
    pub make_ml: Option<f64>,
}

/// The bottles that a session is poured from.
#[derive(Debug, Clone, Copy)]
pub struct ShelfNow<'a> {
    /// Every bottle with what was poured from it.
    pub filled: &'a [Filled<'a>],
    /// What is weighed with.
    pub tools: &'a Tools,
    /// The day.
    pub day: Day,
}

impl PouringSheet {
    /// Works the sheet out; `batch_of` is the batch of a stock when the session was planned.
    #[must_use]
    pub fn new(
        plan: &Plan,
        key: &Key,
        (doses, measured): (&[DosedWater], &Measured),
        margin: Margin,
        shelf: ShelfNow<'_>,
        batch_of: impl Fn(&str) -> Option<u32>,
    ) -> Self {
        let left = |filled: &Filled<'_>| {
            Some((filled.stock.name().to_owned(), Millilitres::new(filled.left_ml()?)))
        };
        let left: Vec<(String, Millilitres)> = shelf.filled.iter().filter_map(left).collect();
        let needed = prepare(plan, key, doses, &left, margin, &[]);
        let needed_of = |water: &str| {
            let bottle = needed.bottles.iter().find(|bottle| bottle.water == water);
            bottle.map(|bottle| bottle.with_spare)
        };
        let whole = measured.volumes(needed_of);
        let sheet = prepare(plan, key, doses, &left, margin, &whole);
        let uses: Vec<StockUse> = sheet
            .stocks
            .iter()
            .map(|line| StockUse {
                stock: line.stock.clone(),
                ml: line.needed.value(),
                g: 0.0,
                batch: batch_of(&line.stock),
                left_ml: None,
                left_after_ml: None,
            })
            .collect();
        let notes = warnings(shelf.filled, &uses, shelf.tools, shelf.day);
        let make = |name: &str| {
            notes.iter().find_map(|note| match note {
                Note::BottleTooEmpty { stock, make_ml, .. } if stock == name => Some(*make_ml),
                _ => None,
            })
        };
        let stocks = sheet.stocks.iter().zip(&uses).map(|(line, used)| StockNeeded {
            stock: line.stock.clone(),
            batch: used.batch,
            ml: used.ml,
            left_ml: line.left.map(Millilitres::value),
            missing_ml: line.missing().map(Millilitres::value),
            make_ml: make(&line.stock),
        });
        let too_old = notes.iter().filter(|note| matches!(note, Note::KeptTooLong { .. }));
        Self {
            session: sheet.session.clone(),
            seal: sheet.seal.clone(),
            spare_percent: 100.0 * margin.share,
            least_l: margin.least.value(),
            dispenser: measured.with.clone(),
            bottles: bottles(&sheet, measured),
            base_l: sheet.base.iter().map(|(name, l)| (name.clone(), Litres::value(*l))).collect(),
            stocks: stocks.collect(),
            brewed_g: sheet.brewed_g,
            without_doses: sheet.without_doses.clone(),
            warnings: too_old.map(ToString::to_string).collect(),
            key_file: None,
            margin,
            reference: sheet.reference,
            warm_up: sheet.warm_up,
            serving: sheet.serving,
        }
    }

    /// The sheet to be printed.
    #[must_use]
    pub fn page(&self, plan: &Plan) -> Page {
        let mut page = Page::default();
        page.say(self.title(plan));
        page.say(format!("seal {}", in_groups(&self.seal)));
        constants(&mut page, &self.serving);
        for warning in &self.warnings {
            page.say(format!("! {warning}"));
        }
        page.say("");
        let least = match self.least_l {
            least if least > 0.0 => format!(", at least {} L", fixed(least, 2)),
            _ => String::new(),
        };
        let whole = self.dispenser.as_ref().map_or(String::new(), |with| {
            format!(", and as much more as the {} `{}` needs for whole doses", with.kind, with.name)
        });
        page.say(format!(
            "Make of each water as below, with {} % spare{least}{whole}: for as many cups as any has, \
             so that amounts tell nothing of the codes",
            fixed(self.spare_percent, 0)
        ));
        let brewed = self.serving.brewing.is_some();
        let rows = self.bottles.iter().map(|bottle| {
            let brews: usize = bottle.brews_by_round.iter().sum();
            let mut row = vec![bottle.water.clone(), bottle.cups.to_string()];
            row.extend(brewed.then(|| brews.to_string()));
            row.push(litres(bottle.l_with_spare));
            row
        });
        let heads = ["water", "cups", "brews", "L"];
        let heads: Vec<&'static str> =
            heads.into_iter().filter(|head| brewed || *head != "brews").collect();
        page.show(&heads, rows.collect());
        page.say("What goes into each bottle");
        let (heads, rows) = measured_table(self.dispenser.as_ref(), &self.bottles);
        page.show(&heads, rows);
        self.too_small().for_each(|line| page.say(line));
        self.say_codes(&mut page);
        self.say_shopping(&mut page);
        page.say("");
        page.say("Procedure");
        steps(&mut page, plan, |_| true);
        self.what_follows(plan).into_iter().for_each(|line| page.say(line));
        page
    }

    /// What it is, and who may read it.
    pub(super) fn title(&self, plan: &Plan) -> String {
        let who = match plan.blinding {
            Blinding::Solo => "read it to pour every cup, then put it away, face down",
            _ => "keep it from tasters",
        };
        format!("Pouring sheet of {} — {who}", self.session)
    }

    /// The commands after it.
    pub(super) fn what_follows(&self, plan: &Plan) -> Vec<String> {
        let name = typed(&self.session);
        let poured = poured_command(&self.session, self.margin, self.key_file.as_deref());
        let poured = format!("Once it is poured: `{poured}`, which takes it from the bottles.");
        let codes =
            format!("Then, for the codes on top: `waterflight session sheet {name} --for taster`");
        let alone = plan.blinding == Blinding::Solo;
        std::iter::once(poured).chain(alone.then_some(codes)).collect()
    }

    /// Doses that are less than can be measured, in words.
    pub(super) fn too_small(&self) -> impl Iterator<Item = String> {
        self.bottles.iter().flat_map(|bottle| {
            let small = bottle.doses.iter().filter(|dose| dose.too_small_for_ml.is_some());
            small.map(|dose| {
                format!(
                    "! {}: {} mL of {} is less than the {} mL that can be measured: make more \
                     (--least), or thin the stock",
                    bottle.water,
                    three_figures(dose.ml),
                    dose.stock,
                    plain(dose.too_small_for_ml.unwrap_or_default())
                )
            })
        })
    }

    fn say_codes(&self, page: &mut Page) {
        page.say("Which bottle gets which codes");
        let mut rows = Vec::new();
        for bottle in &self.bottles {
            for code in &bottle.codes {
                let whose = code.whose.clone().unwrap_or_default();
                let whose = if code.reference { format!("{whose}, reference") } else { whose };
                rows.push(vec![
                    bottle.water.clone(),
                    code.code.to_string(),
                    code.round.to_string(),
                    code.cups.to_string(),
                    whose,
                ]);
            }
        }
        page.show(&["bottle", "code", "round", "cups", "for"], rows);
        self.marked_cups().for_each(|line| page.say(line));
    }

    /// Cups that have a mark in the place of a code.
    pub(super) fn marked_cups(&self) -> impl Iterator<Item = String> {
        let roles = [(&self.reference, "R"), (&self.warm_up, "W")].into_iter();
        roles.filter_map(|(role, letter)| {
            let water = role.as_ref()?;
            Some(format!("On every tray a cup marked {letter} of {water}."))
        })
    }

    /// What is needed beside the stocks and base waters.
    pub(super) fn also_needed(&self) -> impl Iterator<Item = String> {
        let brewed = self.brewed_g.map(|grams| format!("{} g to brew", fixed(grams, 0)));
        let others = self
            .without_doses
            .iter()
            .map(|water| format!("{water} is no water of the flight: have it at hand yourself"));
        brewed.into_iter().chain(others)
    }

    fn say_shopping(&self, page: &mut Page) {
        page.say("");
        page.say("Shopping list, with spare");
        let rows = self.base_l.iter().map(|(name, litres)| vec![name.clone(), fixed(*litres, 2)]);
        page.show(&["base water", "L"], rows.collect());
        let rows = self.stocks.iter().map(|s| {
            let left = s.left_ml.map_or("not recorded".to_owned(), |ml| fixed(ml, 1));
            let short = s.short().unwrap_or_default();
            vec![s.stock.clone(), fixed(s.ml, 2), left, short]
        });
        page.show(&["stock", "mL", "left in the bottle", ""], rows.collect());
        if self.stocks.iter().any(|s| s.missing_ml.is_some()) {
            page.say(ON_NEW_BATCHES);
        }
        self.also_needed().for_each(|line| page.say(line));
    }
}

/// What follows where a bottle holds too little.
pub(super) const ON_NEW_BATCHES: &str = "`waterflight weigh` says what to weigh. Doses follow from the \
     batch: once the new one is recorded, plan the session anew.";

impl StockNeeded {
    /// What its bottle lacks, in words.
    pub(super) fn short(&self) -> Option<String> {
        let missing = fixed(self.missing_ml?, 1);
        let make = self.make_ml.map_or(String::new(), |ml| format!(": make {} mL", fixed(ml, 0)));
        Some(format!("SHORT by {missing} mL{make}"))
    }
}

fn bottles(sheet: &Preparation, measured: &Measured) -> Vec<PouredBottle> {
    let lines = sheet.bottles.iter().map(|bottle| (bottle, measured.lines(bottle)));
    lines
        .map(|(bottle, (doses, fill))| PouredBottle {
            doses,
            fill,
            water: bottle.water.clone(),
            cups: bottle.cups,
            named_cups: bottle.named_cups,
            brews_by_round: bottle.brews_by_round.clone(),
            l_with_spare: bottle.with_spare.value(),
            doses_ml: bottle.doses.iter().map(|(s, ml)| (s.clone(), ml.value())).collect(),
            codes: bottle.codes.clone(),
        })
        .collect()
}
