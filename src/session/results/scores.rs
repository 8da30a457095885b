//! The scores of one attribute as a part of the page: effects with intervals, then tests, then tasters.

use crate::quantities::show::{decimals_for, fixed, three_figures};
use crate::session::analysis::Tested;
use crate::session::analysis::icc::Correlation;
use crate::session::analysis::mixed::FTest;
use crate::session::analysis::verdict::p_words;
use crate::session::plan::common_phrases::usual_times;
use crate::session::plan::panel::is_significant;
use crate::session::results::score_numbers::{
    EffectNumbers, NamedTaster, ScoreDifference, ScoreNumbers, TermNumbers, marks_words,
};
use crate::text::Page;
use crate::text::chart::{Chart, ChartRow};

/// What is said of the pairs that are not shown to differ, beside those that are.
pub(crate) fn not_distinguished(unclear: usize, clear: usize) -> Option<String> {
    let which = match (unclear, clear) {
        (0, _) => return None,
        (1, 0) => "the two".to_owned(),
        (n, 0) => format!("any of the {n} pairs"),
        (1, _) => "the other pair".to_owned(),
        (n, _) => format!("the other {n} pairs"),
    };
    Some(format!("this panel cannot tell {which} apart"))
}

impl ScoreNumbers {
    /// Decimals that the scores of this attribute deserve: two figures of the standard error.
    fn decimals(&self) -> usize {
        let widest = self.means.iter().map(|m| m.standard_error).fold(0.0, f64::max);
        decimals_for(widest, 3, 2)
    }

    /// The means with their intervals; nothing where there are none.
    #[must_use]
    pub fn chart(&self) -> Option<Chart> {
        let cut = self.decimals();
        let shown = |value: f64| fixed(value, cut);
        let adjusted = !self.means_adjusted_for.is_empty();
        let rows = self.means.iter().map(|m| {
            let raw = if adjusted { format!("{:<8}  ", shown(m.raw_mean)) } else { String::new() };
            let (low, high) = m.interval;
            ChartRow {
                label: m.water.clone(),
                words: format!("{raw}{} ({} to {})", shown(m.mean), shown(low), shown(high)),
                at: (low, m.mean, high),
            }
        });
        let head = if adjusted { "raw mean  adjusted (95 %)" } else { "raw mean (95 %)" };
        Chart::new(("water", head.to_owned()), rows.collect(), None, &[])
    }

    /// Adds the effects, tests and tasters to a page; `tasters_too` adds the table of tasters.
    pub(crate) fn show(&self, page: &mut Page, expected_order: &[String], tasters_too: bool) {
        let cut = self.decimals();
        let shown = |value: f64| fixed(value, cut);
        let range = |(low, high): (f64, f64)| format!("{} to {}", shown(low), shown(high));
        page.draw(self.chart());
        if !self.means_adjusted_for.is_empty() {
            page.say(format!(
                "  means are adjusted for {}, so that each water is compared alike",
                self.means_adjusted_for.join(" and ")
            ));
        }
        page.rest(|page| self.given.show(page));
        self.show_pairs(page, &shown, &range);
        if let Some(test) = self.all_alike.filter(|_| self.means.len() > 2) {
            // One of several tests: by itself it proves nothing, so its p is left to the JSON.
            let p = if self.tested == Tested::Alone {
                format!(", {}", p_words(test.p))
            } else {
                String::new()
            };
            page.say(format!("  all waters together: {}{p}", f_words(test)));
        }
        for line in expected_order {
            page.say(line.clone());
        }
        page.rest(|page| {
            for term in &self.terms {
                term.show(page, &shown);
            }
            self.show_panel(page, &shown);
        });
        if tasters_too {
            page.rest(|page| self.show_tasters(page, &shown));
        } else {
            for NamedTaster { taster, check } in &self.tasters {
                if !check.marks.is_empty() {
                    page.say(format!("  {taster} {}", marks_words(&check.marks, " and ")));
                }
            }
        }
    }

    fn show_pairs(
        &self,
        page: &mut Page,
        shown: &dyn Fn(f64) -> String,
        range: &dyn Fn((f64, f64)) -> String,
    ) {
        if self.tested == Tested::Described {
            return;
        }
        let clear = |d: &&ScoreDifference| d.p.is_some_and(is_significant);
        for d in self.differences.iter().filter(clear) {
            page.say(format!(
                "  {} above {} by {} ({}), {}",
                d.higher,
                d.lower,
                shown(d.difference),
                range(d.interval),
                p_words(d.p.unwrap_or(1.0))
            ));
        }
        let unclear = self.differences.iter().filter(|d| !d.p.is_some_and(is_significant)).count();
        let found = self.minimum_detectable_difference.map_or(String::new(), |least| {
            format!("; a difference of {} would be found {}", shown(least), usual_times())
        });
        if let Some(words) = not_distinguished(unclear, self.differences.len() - unclear) {
            page.say(format!("  {words}{found}"));
        }
    }

    fn show_panel(&self, page: &mut Page, shown: &dyn Fn(f64) -> String) {
        let mut words = Vec::new();
        if let Some(w) = self.friedman.as_ref().and_then(|f| f.kendall_w) {
            words.push(format!("the tasters agree by W = {} (0 not at all, 1 fully)", fixed(w, 2)));
        }
        if let Some(hidden) = self.hidden_duplicates {
            words.push(format!(
                "SD of hidden duplicates {}{}",
                shown(hidden.sd),
                icc_words(self.hidden_duplicates_icc)
            ));
        }
        if let Some(all) = self.repeats {
            words.push(format!(
                "SD of all repeats of a water {}{}",
                shown(all.sd),
                icc_words(self.repeats_icc)
            ));
        }
        if !words.is_empty() {
            page.say(format!("  {}", words.join("; ")));
        }
    }

    fn show_tasters(&self, page: &mut Page, shown: &dyn Fn(f64) -> String) {
        let none = || "–".to_owned();
        let rows = self.tasters.iter().map(|NamedTaster { taster, check: t }| {
            vec![
                taster.clone(),
                t.cups.to_string(),
                t.level.map_or_else(none, |v| signed(v, shown)),
                t.spread.map_or_else(none, shown),
                t.repeat.map_or_else(none, |r| shown(r.sd)),
                t.with_others.map_or_else(none, |r| fixed(r, 2)),
                marks_words(&t.marks, "; "),
            ]
        });
        let heads = ["taster", "cups", "level", "spread", "repeats", "with the others", ""];
        page.show_filled(&heads, &rows.collect::<Vec<_>>());
    }
}

impl TermNumbers {
    /// What it is, in words.
    pub(crate) fn words(&self) -> &'static str {
        if self.term == "place" { "place on the tray" } else { "water tasted before" }
    }

    fn show(&self, page: &mut Page, shown: &dyn Fn(f64) -> String) {
        let what = self.words();
        let Some(p) = self.p else {
            if let Some(why) = self.not_tested {
                page.say(format!("  {what}: {why}"));
            }
            return;
        };
        if !is_significant(p) {
            page.say(format!("  {what}: no effect found, {}", p_words(p)));
            return;
        }
        let far = |e: &EffectNumbers| e.adds.abs();
        let most = self.effects.iter().max_by(|a, b| far(a).total_cmp(&far(b)));
        let largest = most.map_or(String::new(), |e| {
            let (low, high) = e.interval;
            format!(
                ", most of all {}: {} ({} to {})",
                e.of,
                signed(e.adds, shown),
                shown(low),
                shown(high)
            )
        });
        page.say(format!(
            "  {what}: changed the scores{largest}, {}; the means are {}",
            p_words(p),
            if self.corrected { "corrected for it" } else { "not corrected for it, as planned" }
        ));
    }
}

fn signed(value: f64, shown: &dyn Fn(f64) -> String) -> String {
    let text = shown(value);
    if value > 0.0 { format!("+{text}") } else { text }
}

fn icc_words(icc: Option<Correlation>) -> String {
    icc.map_or(String::new(), |icc| {
        let (low, high) = icc.interval;
        format!(" (ICC {}, {} to {})", fixed(icc.value, 2), fixed(low, 2), fixed(high, 2))
    })
}

fn f_words(test: FTest) -> String {
    format!(
        "F({}, {}) = {}",
        fixed(test.df, 0),
        three_figures(test.df_residual),
        three_figures(test.f)
    )
}
