//! Sessions as several tests ask for them.

use waterflight::session::plan::{AnalysisPlan, Blinding, Duplicates, Method, Request, Serving};

/// A session with nothing out of the way: no duplicates, no breaks, poured by someone else.
pub(crate) fn request(method: Method, waters: Vec<String>, tasters: Vec<String>) -> Request {
    Request {
        session: "evening flight".into(),
        question: "how do they differ".into(),
        method,
        waters,
        tasters,
        rounds: 1,
        per_tray: None,
        duplicates: Duplicates::None,
        pairs: Vec::new(),
        reference: None,
        warm_up: None,
        break_after: None,
        codes: None,
        blinding: Blinding::Pourer,
        serving: Serving { cup_ml: 30.0, served_c: None, brewing: None, notes: vec![] },
        analysis: AnalysisPlan::default(),
    }
}

/// `taster 0`, `taster 1`, …
pub(crate) fn numbered(what: &str, count: usize) -> Vec<String> {
    (0..count).map(|n| format!("{what} {n}")).collect()
}
