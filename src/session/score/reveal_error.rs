//! Why a session is not revealed, each with the way out.

use thiserror::Error;

use crate::session::plan::{Code, KeyError};

use crate::session::score::Refusal;

/// Why a session is not revealed.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RevealError {
    /// The key cannot be trusted.
    #[error(transparent)]
    Key(#[from] KeyError),
    /// Something is missing, or the session is revealed already.
    #[error("{refusal}")]
    Refused {
        /// Why.
        refusal: Refusal,
    },
    /// The log has no reveal yet.
    #[error("the session is not revealed")]
    NotRevealed,
    /// Forced without a reason.
    #[error("the reason for which the reveal is forced is empty")]
    NoReason,
    /// A tray whose taster the plan does not list.
    #[error("tray {tray} of the plan is {taster}'s, who is no taster of this session")]
    TrayOfNobody {
        /// Number of the tray.
        tray: usize,
        /// The name on it.
        taster: String,
    },
    /// A sticker that the key has under no cup of the tray.
    #[error("no sticker {under} was put under a cup of tray {tray}")]
    UnknownSticker {
        /// The tray.
        tray: usize,
        /// The code read.
        under: Code,
    },
}

impl RevealError {
    /// What to do.
    #[must_use]
    pub fn remedy(&self) -> String {
        match self {
            Self::Key(error) => error.remedy().to_owned(),
            // After the reveal there is nothing to enter late, only something to read.
            Self::Refused { refusal: Refusal::Closed { .. } } => {
                "`session results NAME` says what the scores show".to_owned()
            }
            Self::Refused { refusal } => refusal.remedy(),
            Self::NotRevealed => "`session reveal NAME` opens the key".to_owned(),
            Self::TrayOfNobody { .. } => {
                "restore the plan as it was written: a plan that was changed cannot be revealed"
                    .to_owned()
            }
            Self::NoReason => "say why, as in --force \"the guests left\"".to_owned(),
            Self::UnknownSticker { tray, .. } => format!(
                "read the stickers again and enter them with `session turned NAME {tray} …`; what \
                 was entered before is kept"
            ),
        }
    }
}
