//! Orders of the waters that were expected before the tasting, tested.

use serde::Serialize;

use crate::quantities::show::three_figures;
use crate::session::analysis::Ranked;
use crate::session::analysis::Results;
use crate::session::analysis::comparisons::holm;
use crate::session::analysis::page_test::{PageTest, PageTests};
use crate::session::analysis::ranked::{ranked_scores, ranked_trays};
use crate::session::analysis::verdict::p_words;
use crate::session::score::ExpectedOrder;
use crate::session::score::Revealed;
use crate::session::score::expected_order::{OrderStatus, of_attributes};

/// An expected order and what became of it.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct OrderTest {
    /// The attribute or criterion; as it was entered where nothing of that name was judged.
    pub of: String,
    /// The waters as they were expected, most first.
    pub order: Vec<String>,
    /// Why it is not tested, where so.
    pub not_tested: Option<String>,
    /// Page's L.
    pub l: Option<f64>,
    /// Exact p-value; `None` for large panels.
    pub p_exact: Option<f64>,
    /// The p-value of the normal approximation.
    pub p_normal: Option<f64>,
    /// The p-value allowing for all orders tested in the session (Holm).
    pub p: Option<f64>,
    /// Orders tested in the session.
    pub orders: usize,
}

/// Tests every order that was expected in a session; one that cannot be tested says why.
#[must_use]
pub fn order_tests(revealed: &Revealed, results: &Results) -> Vec<OrderTest> {
    let judged: Vec<(&str, Vec<Ranked>)> = match results {
        Results::Scores(attributes) => attributes
            .iter()
            .map(|one| (one.table.attribute.as_str(), ranked_scores(&one.table)))
            .collect(),
        Results::Ranking(ranking) => {
            vec![(ranking.criterion.as_str(), ranked_trays(&revealed.rankings))]
        }
        Results::Choices(_) => {
            let why = "waters compared two by two have no order to be tested";
            let of = |order: &ExpectedOrder| order.of.clone().unwrap_or_default();
            let each = revealed.expected_orders.iter();
            return each.map(|order| untested(of(order), order, why.to_owned())).collect();
        }
    };
    let names: Vec<&str> = judged.iter().map(|(name, _)| *name).collect();
    let all = of_attributes(&revealed.expected_orders, &names).into_iter();
    let mut tests = PageTests::default();
    let mut found: Vec<OrderTest> = all
        .map(|(of, order, status)| {
            let blocks = judged.iter().find(|(name, _)| *name == of).map(|(_, blocks)| blocks);
            one_test(of, order, status, (blocks.map_or(&[], Vec::as_slice), &mut tests))
        })
        .collect();
    let alone: Vec<f64> = found.iter().filter_map(OrderTest::alone).collect();
    let mut adjusted = holm(&alone).into_iter();
    for one in found.iter_mut().filter(|one| one.alone().is_some()) {
        (one.p, one.orders) = (adjusted.next(), alone.len());
    }
    found
}

fn untested(of: String, expected_order: &ExpectedOrder, why: String) -> OrderTest {
    let order = expected_order.named.clone();
    OrderTest { of, order, not_tested: Some(why), ..OrderTest::default() }
}

fn one_test(
    of: String,
    expected_order: &ExpectedOrder,
    status: OrderStatus,
    (blocks, tests): (&[Ranked], &mut PageTests),
) -> OrderTest {
    let tested: Result<PageTest, String> = match status {
        OrderStatus::Counts => tests.test(blocks, &expected_order.order).ok_or_else(|| {
            "only where every taster judged every water can it be tested".to_owned()
        }),
        OrderStatus::TooLate => Err("it was entered after the first answer".to_owned()),
        OrderStatus::NotAllWaters => Err("it does not name every water once".to_owned()),
        OrderStatus::NotJudged => Err(format!("nothing named {of} was judged")),
        OrderStatus::NotTheFirst => {
            Err("another order was entered before it, and counts".to_owned())
        }
    };
    match tested {
        Ok(test) => OrderTest {
            of,
            order: expected_order.named.clone(),
            l: Some(test.l),
            p_exact: test.p_exact,
            p_normal: Some(test.p_normal),
            ..OrderTest::default()
        },
        Err(why) => untested(of, expected_order, why),
    }
}

impl OrderTest {
    /// The p-value by itself: the exact one, and else that of the normal approximation.
    fn alone(&self) -> Option<f64> {
        self.p_exact.or(self.p_normal)
    }

    /// In words.
    #[must_use]
    pub fn words(&self) -> String {
        let order = self.order.join(" > ");
        if let Some(why) = &self.not_tested {
            return format!("expected order {order}: not tested, since {why}");
        }
        let (p, how) = match (self.p_exact, self.p_normal) {
            (Some(exact), _) => (exact, "exact"),
            (None, normal) => (normal.unwrap_or(1.0), "normal approximation"),
        };
        let l = self.l.map_or(String::new(), three_figures);
        let among = match (self.p, self.orders) {
            (Some(p), 2..) => {
                format!("; {} allowing for all {} expected orders", p_words(p), self.orders)
            }
            _ => String::new(),
        };
        format!("expected order {order}: Page's L = {l}, {} ({how}{among})", p_words(p))
    }
}
