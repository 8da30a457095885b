//! The pourer's sheet on one screen: codes, doses, what the bottles are filled up with, what is needed.

use crate::quantities::show::fixed;
use crate::session::plan::{Blinding, Plan, each_once};
use crate::session::score::entry_text::codes_in_a_row;
use crate::session::serve::measured_out::{
    FillLine, PouredBottle, in_short, litres, unit_in_short,
};
use crate::session::serve::on_every_sheet::{constants, steps};
use crate::session::serve::pouring_sheet::{ON_NEW_BATCHES, PouringSheet};
use crate::text::Page;
use crate::text::close_table::{CloseRow, CloseTable};
use crate::text::page_text::first_screen;

impl PouringSheet {
    /// The sheet as it is needed at the bench.
    #[must_use]
    pub fn screen(&self, plan: &Plan) -> String {
        let mut above = Page::default();
        above.say(self.title(plan));
        for warning in &self.warnings {
            above.say(format!("! {warning}"));
        }
        constants(&mut above, &self.serving);
        let mut below = Page::default();
        self.fills().into_iter().for_each(|line| below.say(line));
        self.too_small().for_each(|line| below.say(line));
        for bottle in self.bottles.iter().filter(|bottle| has_many_codes(bottle)) {
            below.say(format!("{}: codes {}", bottle.water, codes(bottle)));
        }
        self.marked_cups().for_each(|line| below.say(line));
        let cups: Vec<usize> = self.bottles.iter().flat_map(|b| &b.codes).map(|c| c.cups).collect();
        let each = match cups.split_first() {
            Some((first, rest)) if rest.iter().all(|n| n == first) => first.to_string(),
            _ => "the".to_owned(),
        };
        let rounds =
            if plan.rounds > 1 { ", of a water's codes the first for round 1" } else { "" };
        below.say(format!(
            "Write each code on {each} cups{rounds}; on their trays they stand in the order of the \
             serving sheet."
        ));
        below.say(self.needed());
        if self.stocks.iter().any(|s| s.missing_ml.is_some()) {
            below.say(ON_NEW_BATCHES);
        }
        self.also_needed().for_each(|line| below.say(line));
        // Who pours for themselves is blind by these steps alone.
        if plan.blinding == Blinding::Solo {
            steps(&mut below, plan, |_| true);
        }
        self.what_follows(plan).into_iter().for_each(|line| below.say(line));
        // Cups by round and taster, volumes, grams, the procedure.
        below.rest(|page| page.say("more"));
        let table = self.doses().text();
        first_screen(&above) + &table + &first_screen(&below)
    }

    /// The doses of each bottle behind its codes.
    fn doses(&self) -> CloseTable {
        let with = self.dispenser.as_ref();
        let columns: Vec<String> = self.stocks.iter().map(|s| s.stock.clone()).collect();
        let row = |bottle: &PouredBottle| {
            let cell = |stock: &String| {
                let dose = bottle.doses.iter().find(|dose| dose.stock == *stock);
                dose.map_or("·".to_owned(), |dose| in_short(with, dose))
            };
            let cells = columns.iter().map(cell).collect();
            CloseRow { label: named(bottle), short: in_short_named(bottle), cells }
        };
        let rows = self.bottles.iter().map(row).collect();
        CloseTable { head: format!("{} for a bottle", unit_in_short(with)), columns, rows }
    }

    /// What fills the bottles; those of which that is the same stand together.
    fn fills(&self) -> Vec<String> {
        let mut fills: Vec<(String, Vec<String>)> = Vec::new();
        for bottle in self.bottles.iter().filter(|bottle| !bottle.fill.is_empty()) {
            let (last, measured): (Vec<&FillLine>, Vec<&FillLine>) =
                bottle.fill.iter().partition(|line| line.up_to_the_mark);
            let measured = measured.iter().map(|l| format!("{} mL {}", fixed(l.ml, 0), l.water));
            let mut fill = measured.collect::<Vec<_>>().join(" and ");
            for line in last {
                let then = if fill.is_empty() { "" } else { ", then " };
                let up_to = litres(bottle.l_with_spare);
                fill.push_str(&format!("{then}{}, up to {up_to} L", line.water));
            }
            // A narrow table has no room for names: they stand here.
            match fills.iter_mut().find(|(same, _)| *same == fill) {
                Some((_, bottles)) => bottles.push(named(bottle)),
                None => fills.push((fill, vec![named(bottle)])),
            }
        }
        let line =
            |(fill, bottles): (String, Vec<String>)| format!("{}: {fill}", bottles.join(", "));
        fills.into_iter().map(line).collect()
    }

    /// How much of everything, with the spare.
    fn needed(&self) -> String {
        let base = self.base_l.iter().map(|(name, l)| format!("{} L {name}", fixed(*l, 2)));
        let stocks = self.stocks.iter().map(|s| {
            let short = s.short().map_or(String::new(), |short| format!(" ({short})"));
            format!("{} mL {}{short}", fixed(s.ml, 1), s.stock)
        });
        let all: Vec<String> = base.chain(stocks).collect();
        format!("With {} % spare: {}.", fixed(self.spare_percent, 0), all.join(", "))
    }
}

/// Its codes and its water; where each cup has a code of its own they stand below.
fn named(bottle: &PouredBottle) -> String {
    if has_many_codes(bottle) {
        bottle.water.clone()
    } else {
        format!("{} {}", codes(bottle), bottle.water)
    }
}

/// What stands for it where there is no room for its name.
fn in_short_named(bottle: &PouredBottle) -> String {
    if has_many_codes(bottle) { bottle.water.clone() } else { codes(bottle) }
}

fn has_many_codes(bottle: &PouredBottle) -> bool {
    /// Our choice: so many codes have room before a name.
    const FEW: usize = 3;
    bottle.codes.len() > FEW
}

fn codes(bottle: &PouredBottle) -> String {
    codes_in_a_row(&each_once(bottle.codes.iter().map(|line| line.code)))
}
