//! What is fixed before the tasting about how its scores are compared, and kept in the plan.

use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::session::plan::Method;
use crate::session::plan::RequestError;

/// Something beside the waters that scores can be corrected for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AdjustFor {
    /// The place on the tray.
    Place,
    /// The water tasted just before.
    CarryOver,
}

/// How scores are to be compared.
///
/// Nothing is corrected for unless it is asked for: balanced orders give every water each place and
/// each water before equally often, and at the size of a kitchen panel the correction costs more than
/// it gains (Lawless H. T., Heymann H., Sensory Evaluation of Food (2010), from memory: block designs
/// are analysed as they were balanced). Whether places mattered is looked at wherever there are
/// cups enough to test it.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AnalysisPlan {
    /// The attribute that is tested; the others are described. `None`: all are tested together.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub primary: Option<String>,
    /// What the means are corrected for.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub adjust_for: Vec<AdjustFor>,
}

impl AnalysisPlan {
    /// Whether nothing is fixed, so that all attributes are tested together as they were scored.
    #[must_use]
    pub fn is_plain(&self) -> bool {
        *self == Self::default()
    }

    /// The attributes that are tested of those scored, by place.
    #[must_use]
    pub fn tested(&self, method: &Method) -> Vec<usize> {
        let names = method.attributes().iter().map(|attribute| attribute.name.as_str());
        let wanted = |name: &str| self.primary.as_deref().is_none_or(|primary| primary == name);
        names.enumerate().filter(|(_, name)| wanted(name)).map(|(at, _)| at).collect()
    }

    /// Tests that the method has what is fixed.
    pub(crate) fn check(&self, method: &Method) -> Result<(), RequestError> {
        let refuse =
            |what, remedy| Err(RequestError::DoesNotGoWith { what, method: method.name(), remedy });
        let scored = method.attributes();
        if scored.is_empty() && self.primary.is_some() {
            return refuse("a primary attribute", "it is for scoring; here one thing is asked");
        }
        if scored.is_empty() && !self.adjust_for.is_empty() {
            return refuse("a correction for places", "it is for scoring");
        }
        match &self.primary {
            Some(primary) if !scored.iter().any(|a| a.name == *primary) => {
                Err(RequestError::UnknownPrimary {
                    name: primary.clone(),
                    choices: scored.iter().map(|a| a.name.as_str()).collect::<Vec<_>>().join(", "),
                })
            }
            _ => Ok(()),
        }
    }
}

/// A word that names nothing to correct for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("scores cannot be corrected for `{found}`")]
pub struct UnknownAdjustment {
    /// The word.
    pub found: String,
}

impl FromStr for AdjustFor {
    type Err = UnknownAdjustment;

    fn from_str(text: &str) -> Result<Self, UnknownAdjustment> {
        match text.trim() {
            "place" => Ok(Self::Place),
            "carry-over" | "carry_over" => Ok(Self::CarryOver),
            other => Err(UnknownAdjustment { found: other.to_owned() }),
        }
    }
}

impl std::fmt::Display for AdjustFor {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Place => "place on the tray",
            Self::CarryOver => "water tasted before",
        })
    }
}
