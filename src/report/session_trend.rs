//! An order of waters that was foretold, tested.

use serde::Serialize;

use crate::analysis::Results;
use crate::analysis::page::{PageTest, page};
use crate::analysis::ranks::{Ranked, ranked_scores, ranked_trays};
use crate::analysis::verdict::p_words;
use crate::quantities::show::three_figures;
use crate::scores::Revealed;
use crate::scores::foretold::{Foretold, Standing};

/// A foretold order and what became of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TrendNumbers {
    /// The attribute or criterion.
    pub of: String,
    /// The waters as foretold, most first.
    pub order: Vec<String>,
    /// Why it is not tested, where so.
    pub not_tested: Option<&'static str>,
    /// Page's L.
    pub l: Option<f64>,
    /// Exact chance of at least this L; `None` for large panels.
    pub p_exact: Option<f64>,
    /// Chance from the normal approximation.
    pub p_normal: Option<f64>,
}

/// Tests every order that was foretold in a session.
#[must_use]
pub fn trends(revealed: &Revealed, results: &Results) -> Vec<TrendNumbers> {
    let mut found = Vec::new();
    for foretold in &revealed.foretold {
        match results {
            Results::Scores(attributes) => {
                let asked = |name: &str| foretold.of.as_ref().is_none_or(|of| of == name);
                for one in attributes.iter().filter(|a| asked(&a.table.attribute)) {
                    found.push(trend(&one.table.attribute, foretold, &ranked_scores(&one.table)));
                }
            }
            Results::Ranking(_) => {
                let (waters, tasters) = (revealed.waters.len(), revealed.tasters.len());
                let blocks = ranked_trays(&revealed.rankings, waters, tasters);
                found.push(trend(foretold.of.as_deref().unwrap_or("ranking"), foretold, &blocks));
            }
            Results::Choices(_) => {}
        }
    }
    found
}

fn trend(of: &str, foretold: &Foretold, blocks: &[Ranked]) -> TrendNumbers {
    let tested: Result<PageTest, &'static str> = match foretold.standing {
        Standing::Counts => page(blocks, &foretold.order)
            .ok_or("only where every taster judged every water can it be tested"),
        Standing::TooLate => Err("it was noted after the first answer"),
        Standing::NotAllWaters => Err("it does not name every water once"),
    };
    TrendNumbers {
        of: of.to_owned(),
        order: foretold.named.clone(),
        not_tested: tested.err(),
        l: tested.ok().map(|test| test.l),
        p_exact: tested.ok().and_then(|test| test.p_exact),
        p_normal: tested.ok().map(|test| test.p_normal),
    }
}

impl TrendNumbers {
    /// In words.
    #[must_use]
    pub fn words(&self) -> String {
        let order = self.order.join(" > ");
        if let Some(why) = self.not_tested {
            return format!("foretold {order}: not tested, since {why}");
        }
        let (p, how) = match (self.p_exact, self.p_normal) {
            (Some(exact), _) => (exact, "exact"),
            (None, normal) => (normal.unwrap_or(1.0), "normal law"),
        };
        let l = self.l.map_or(String::new(), three_figures);
        format!("foretold {order}: Page's L = {l}, {} ({how})", p_words(p))
    }
}
