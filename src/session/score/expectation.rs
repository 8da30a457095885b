//! An expected order as it is typed, `liking: soft > middle > hard`, read before anyone tastes.

use thiserror::Error;

use crate::session::plan::Plan;
use crate::session::plan::session::nearest;
use crate::session::plan::wanted::attributes_of;
use crate::session::score::{Entry, OrderError};

/// Why words are no expected order. The message says what is wrong, [`ExpectationError::remedy`]
/// what to do.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ExpectationError {
    /// No water of the session has that name.
    #[error("`{found}` is no water of this session")]
    UnknownWater {
        /// The name.
        found: String,
        /// The nearest name.
        nearest: Option<String>,
        /// All names.
        waters: Vec<String>,
    },
    /// Several things are judged, and none is named.
    #[error("nothing says what the order is of, and several attributes are scored")]
    NotNamed {
        /// What is judged.
        judged: Vec<String>,
    },
    /// The order cannot be one of this session.
    #[error(transparent)]
    Order(#[from] OrderError),
}

impl ExpectationError {
    /// What to do.
    #[must_use]
    pub fn remedy(&self) -> String {
        match self {
            Self::UnknownWater { nearest: Some(near), .. } => format!("did you mean `{near}`?"),
            Self::UnknownWater { waters, .. } => {
                format!("name these, most first, with `>` between: {}", waters.join(", "))
            }
            Self::NotNamed { judged } => format!(
                "begin with one of {}, as in \"{}: …\"",
                judged.join(", "),
                judged.first().map_or("liking", String::as_str)
            ),
            Self::Order(error) => error.remedy(),
        }
    }
}

/// Reads an order that is expected of the waters of a session; what it is of may be left out where one
/// thing is judged.
///
/// ```
/// # use waterflight::session::plan::{AnalysisPlan, Blinding, Duplicates, Method, Nonce, Request, Seed, Serving};
/// # use waterflight::session::plan::session::plan;
/// use waterflight::session::score::{Entry, expectation};
/// # let waters: Vec<String> = vec!["soft".into(), "hard".into()];
/// # let request = Request {
/// #     session: "autumn".into(), question: "which is best".into(), waters: waters.clone(),
/// #     method: Method::Ranking { criterion: "liking".into() }, tasters: vec!["ann".into()], rounds: 1,
/// #     per_tray: None, duplicates: Duplicates::None, pairs: vec![], reference: None, warm_up: None,
/// #     break_after: None, codes: None, blinding: Blinding::Pourer, analysis: AnalysisPlan::default(),
/// #     serving: Serving { cup_ml: 30.0, served_c: None, brewing: None, notes: vec![] },
/// # };
/// # let (plan, _) = plan(&request, &Seed::from_phrase("a"), &Nonce::from_phrase("a"))?;
/// let entry = expectation(&plan, &waters, "soft > hard")?;
/// let order = vec!["soft".into(), "hard".into()];
/// assert_eq!(entry, Entry::ExpectedOrder { of: "liking".into(), order });
/// assert!(expectation(&plan, &waters, "liking: soft > herd").is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// When a water or an attribute is unknown, or the order is none of this session.
pub fn expectation(plan: &Plan, waters: &[String], text: &str) -> Result<Entry, ExpectationError> {
    let names = attributes_of(&plan.method);
    let behind = |name: &&str| text.trim().strip_prefix(*name)?.trim_start().strip_prefix(':');
    let longest = names.iter().filter_map(|name| Some((name, behind(name)?)));
    let named = longest.max_by_key(|(name, _)| name.len());
    let (of, order) = match (named, names.as_slice(), text.split_once(':')) {
        (Some((name, rest)), _, _) => ((*name).to_owned(), read(rest, waters)),
        (None, [], _) => return Err(OrderError::NoOrder { method: plan.method.name() }.into()),
        // A name of a water may hold a colon, where nothing needs to be named.
        (None, [only], None) => ((*only).to_owned(), read(text, waters)),
        (None, [only], Some(_)) if read(text, waters).is_ok() => {
            ((*only).to_owned(), read(text, waters))
        }
        (None, _, Some((head, rest))) => (head.trim().to_owned(), read(rest, waters)),
        (None, judged, None) => {
            let judged = judged.iter().map(|name| (*name).to_owned()).collect();
            return Err(ExpectationError::NotNamed { judged });
        }
    };
    OrderError::check_name(plan, &of)?;
    let order = order?;
    OrderError::check(plan, &of, &order)?;
    if let Some(missing) = waters.iter().find(|water| !order.contains(water))
        && waters.len() == plan.waters
    {
        return Err(OrderError::Missing { water: missing.clone() }.into());
    }
    Ok(Entry::ExpectedOrder { of, order })
}

/// Names of waters with `>` between them. A name may itself hold a `>`, so the longest that fits counts.
fn read(text: &str, waters: &[String]) -> Result<Vec<String>, ExpectationError> {
    let mut order = Vec::new();
    let mut rest = Some(text.trim());
    while let Some(now) = rest {
        let behind = |name: &String| {
            let behind = now.strip_prefix(name.trim())?.trim_start();
            match behind.strip_prefix('>') {
                Some(more) => Some((name.clone(), Some(more.trim_start()))),
                None => behind.is_empty().then(|| (name.clone(), None)),
            }
        };
        let found = waters.iter().filter_map(behind).max_by_key(|(name, _)| name.len());
        let Some((name, more)) = found else {
            let found = now.split('>').next().unwrap_or(now).trim().to_owned();
            let nearest = nearest(&found, waters.iter().map(String::as_str)).map(str::to_owned);
            let waters = waters.to_vec();
            return Err(ExpectationError::UnknownWater { found, nearest, waters });
        };
        order.push(name);
        rest = more;
    }
    Ok(order)
}
