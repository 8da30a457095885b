//! What has become of a water since a session was planned with it under the same name.

use std::fmt;

use serde::Serialize;

use crate::quantities::show;

/// A water that is not the one that a session was planned with.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WaterChange {
    /// Name of the target.
    pub target: String,
    /// The last session that was planned with it.
    pub session: String,
    /// The day of its plan.
    pub day: String,
    /// Formulas of its salts then.
    pub salts_then: Vec<String>,
    /// Formulas of its salts now.
    pub salts_now: Vec<String>,
    /// Whether they are other salts.
    pub other_salts: bool,
    /// The constituents that differ.
    pub ions: Vec<IonChange>,
}

/// A constituent that differs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct IonChange {
    /// Its key.
    pub ion: &'static str,
    /// When the session was planned, mg/L.
    pub then_mg_per_l: f64,
    /// As the flight is planned now, mg/L.
    pub now_mg_per_l: f64,
}

impl fmt::Display for WaterChange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { target, session, day, .. } = self;
        write!(f, "{target}: ")?;
        if self.other_salts {
            let listed = |salts: &[String]| match salts {
                [] => "none".to_owned(),
                salts => salts.join(", "),
            };
            write!(
                f,
                "MADE OF OTHER SALTS than for the session {session} of {day}: now {}, then {}; ",
                listed(&self.salts_now),
                listed(&self.salts_then)
            )?;
        } else {
            write!(f, "another water than for the session {session} of {day}: ")?;
        }
        let one = |ion: &IonChange| {
            let [now, then] = [ion.now_mg_per_l, ion.then_mg_per_l].map(show::three_figures);
            format!("{} {now}, then {then}", ion.ion)
        };
        let ions: Vec<String> = self.ions.iter().map(one).collect();
        write!(
            f,
            "{} mg/L. `tasted: \"{session}/{target}\"` in the place of its goals keeps the water of \
             that session.",
            ions.join("; ")
        )
    }
}
