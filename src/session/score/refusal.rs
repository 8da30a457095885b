//! Why an entry is refused, each with the way out.

use thiserror::Error;

use crate::session::plan::Code;
use crate::session::plan::common_phrases::counted;
use crate::session::score::OrderError;

/// An entry that does not go into the log. The message says what is wrong, [`Refusal::remedy`]
/// what to do.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum Refusal {
    /// Nobody of that name.
    #[error("`{found}` is no taster of this session")]
    UnknownTaster {
        /// The name.
        found: String,
        /// The nearest name.
        nearest: Option<String>,
    },
    /// No cup with that code.
    #[error("no cup of this session has the code {code}")]
    UnknownCode {
        /// The code.
        code: Code,
        /// Codes of this taster that are one slip away.
        near: Vec<Code>,
    },
    /// A cup of somebody else.
    #[error("the cup {code} is not one of {taster}'s; it belongs to {}", owners.join(", "))]
    WrongTaster {
        /// The code.
        code: Code,
        /// Who gave the answer.
        taster: String,
        /// Whose cup it is.
        owners: Vec<String>,
    },
    /// The held-up reference is not answered about.
    #[error("the cup {code} is the reference of its tray")]
    IsReference {
        /// The code.
        code: Code,
    },
    /// No tray with that number.
    #[error("{taster} has no tray {tray}")]
    UnknownTray {
        /// The taster.
        taster: String,
        /// The number.
        tray: usize,
        /// How many trays there are.
        trays: usize,
    },
    /// A cup of another tray.
    #[error("the cup {code} does not stand on tray {tray}")]
    NotOnTray {
        /// The code.
        code: Code,
        /// The tray.
        tray: usize,
        /// What stands there.
        cups: Vec<Code>,
    },
    /// A code that stands twice in one answer.
    #[error("the cup {code} is named twice")]
    NamedTwice {
        /// The code.
        code: Code,
    },
    /// Not all cups of the tray, or too many.
    #[error("tray {tray} needs {} named and {found} {}", cups(*wanted), if *found == 1 { "is" } else { "are" })]
    WrongNumber {
        /// The tray.
        tray: usize,
        /// Cups that must be named.
        wanted: usize,
        /// Cups named.
        found: usize,
    },
    /// No attribute of that name.
    #[error("`{found}` is no attribute of this session")]
    UnknownAttribute {
        /// The name.
        found: String,
        /// All names.
        choices: Vec<String>,
    },
    /// A value off the scale.
    #[error("{attribute} {value} is off the scale of {low} to {high}")]
    OffScale {
        /// The attribute.
        attribute: String,
        /// The value.
        value: f64,
        /// Lowest.
        low: f64,
        /// Highest.
        high: f64,
    },
    /// A value between two steps.
    #[error("{attribute} {value} is between two steps of {step}")]
    BetweenSteps {
        /// The attribute.
        attribute: String,
        /// The value.
        value: f64,
        /// The step.
        step: f64,
    },
    /// An answer without a value.
    #[error("nothing is scored for the cup {code}")]
    Empty {
        /// The code.
        code: Code,
    },
    /// Answered before.
    #[error("{what} of {taster} was entered before, in line {line}")]
    Duplicate {
        /// Which cup or tray.
        what: String,
        /// The taster.
        taster: String,
        /// Number of the earlier line.
        line: u64,
    },
    /// An answer of another method.
    #[error("this session asks for {wanted}")]
    OtherMethod {
        /// What the session asks for.
        wanted: &'static str,
    },
    /// No such line, or none that can be changed.
    #[error("line {of} is no answer that stands")]
    NothingToChange {
        /// The number.
        of: u64,
    },
    /// A correction of what somebody else said.
    #[error("line {of} is {owner}'s, not {taster}'s")]
    AnothersLine {
        /// The number.
        of: u64,
        /// Whose answer it is.
        owner: String,
        /// Who is named with the correction.
        taster: String,
    },
    /// A correction about something else.
    #[error("line {of} is about {was}, and the correction is about {is}")]
    OtherSubject {
        /// The number.
        of: u64,
        /// What the line is about.
        was: String,
        /// What the correction is about.
        is: String,
    },
    /// Taking it back would leave two answers.
    #[error("line {of} cannot be taken back: line {stands} has answered the same since")]
    WouldStandTwice {
        /// The number.
        of: u64,
        /// The line that stands.
        stands: u64,
    },
    /// Cups turned where none are.
    #[error("the cups of this session have no codes underneath")]
    NothingUnderneath,
    /// A sticker that was entered under another tray.
    #[error("the sticker {under} was entered under tray {tray}, in line {line}")]
    StickerOfAnotherTray {
        /// The code.
        under: Code,
        /// The other tray.
        tray: usize,
        /// Number of its line.
        line: u64,
    },
    /// A sticker named for two cups.
    #[error("the sticker {under} is named twice")]
    StickerTwice {
        /// The code.
        under: Code,
    },
    /// A code from the tops of the cups.
    #[error("{under} is a code on top of a cup, not one of a sticker underneath")]
    StickerOnTop {
        /// The code.
        under: Code,
    },
    /// Cups turned before the tray was answered.
    #[error("tray {tray} of {taster} is not fully answered")]
    TurnedTooSoon {
        /// The taster.
        taster: String,
        /// The tray.
        tray: usize,
    },
    /// A tray turned over before every tray is answered.
    #[error("tray {open} is not fully answered, so tray {tray} is not turned over yet")]
    TurnedBeforeOthers {
        /// The tray.
        tray: usize,
        /// A tray with something missing.
        open: usize,
    },
    /// A turning taken back.
    #[error("tray {tray} of {taster} has been turned over, which cannot be taken back")]
    TurningIsFinal {
        /// The taster.
        taster: String,
        /// The tray.
        tray: usize,
    },
    /// The tray was turned, so its answers are no longer blind.
    #[error("tray {tray} of {taster} has been turned over")]
    AlreadyTurned {
        /// The taster.
        taster: String,
        /// The tray.
        tray: usize,
    },
    /// After the reveal.
    #[error("the session was revealed in line {line}: its scores are closed")]
    Closed {
        /// Line of the reveal.
        line: u64,
    },
    /// A late answer before the reveal.
    #[error("the session is not revealed, so nothing is late")]
    NotLate,
    /// The reveal of another key.
    #[error("the reveal names the seal {found} and the plan {sealed}")]
    OtherSeal {
        /// In the plan.
        sealed: String,
        /// In the entry.
        found: String,
    },
    /// Something is missing and nobody forced it.
    #[error("{} still missing", answers(*missing_answers))]
    Incomplete {
        /// Cups or trays missing.
        missing_answers: usize,
    },
    /// The number of missing answers is not what the log says.
    #[error("the reveal counts {} missing and the log {missing_answers}", counted(*found, "answer"))]
    Miscounted {
        /// In the log.
        missing_answers: usize,
        /// In the entry.
        found: usize,
    },
    /// An order that cannot be expected.
    #[error(transparent)]
    Expected(#[from] OrderError),
    /// A line out of turn.
    #[error("line {found} stands where line {wanted} is due")]
    OutOfTurn {
        /// Number due.
        wanted: u64,
        /// Number found.
        found: u64,
    },
}

impl Refusal {
    /// What to do.
    #[must_use]
    pub fn remedy(&self) -> String {
        match self {
            Refusal::UnknownTaster { nearest: Some(name), .. } => format!("did you mean `{name}`?"),
            Refusal::UnknownTaster { .. } => "`session progress NAME` lists the tasters".to_owned(),
            Refusal::UnknownCode { near, .. } => match near.as_slice() {
                [] => "read the code on the cup again".to_owned(),
                near => format!("did you mean {}? read the code on the cup again", listed(near)),
            },
            Refusal::WrongTaster { .. } => {
                "enter it under that name, or look whether cups were exchanged and note it"
                    .to_owned()
            }
            Refusal::IsReference { .. } => "name one of the two other cups".to_owned(),
            Refusal::UnknownTray { trays, .. } => format!("trays are numbered 1 to {trays}"),
            Refusal::NotOnTray { cups, .. } => format!("on it stand {}", listed(cups)),
            Refusal::NamedTwice { .. } => "name each cup once".to_owned(),
            Refusal::WrongNumber { wanted, .. } => format!("name {}", cups(*wanted)),
            Refusal::UnknownAttribute { choices, .. } => {
                format!("choose from {}", choices.join(", "))
            }
            Refusal::OffScale { low, high, .. } => format!("give a value from {low} to {high}"),
            Refusal::BetweenSteps { step, .. } => format!("round it to a step of {step}"),
            Refusal::Empty { .. } => "give at least one attribute a value".to_owned(),
            Refusal::Duplicate { line, .. } => {
                format!(
                    "to change it, correct line {line} (`--correct {line}`, or `correct` at the \
                     prompt); the old value is kept"
                )
            }
            Refusal::OtherMethod { .. } => "answer as the score sheet asks".to_owned(),
            Refusal::NothingToChange { .. } => {
                "`session progress NAME --entries` lists the lines; name one that stands".to_owned()
            }
            Refusal::OtherSubject { of, .. } => {
                format!(
                    "`session progress NAME --entries` lists the lines: name the one that this \
                     corrects, or enter it without a line where it is new; line {of} stays as it is"
                )
            }
            Refusal::AnothersLine { owner, taster, .. } => format!(
                "`session progress NAME --entries` lists the lines: name one of {taster}'s, or correct \
                 this one under the name of {owner}; nothing was changed"
            ),
            Refusal::WouldStandTwice { stands, .. } => format!("take line {stands} back first"),
            Refusal::NothingUnderneath => "only a tasting alone turns cups over".to_owned(),
            Refusal::StickerOfAnotherTray { tray, .. } => format!(
                "read the sticker again; if that tray was read wrongly, turn it anew with \
                 `session turned NAME {tray} …`"
            ),
            Refusal::StickerTwice { .. } => "read both stickers again".to_owned(),
            Refusal::StickerOnTop { .. } => {
                "read the sticker again; the code on top comes before the `=`".to_owned()
            }
            Refusal::TurnedTooSoon { .. } => {
                "answer every cup of the tray before turning any".to_owned()
            }
            Refusal::TurnedBeforeOthers { open, .. } => format!(
                "answer tray {open} first: what stood under these cups would tell how its waters \
                 taste; if it can never be answered, say so with `session note NAME … --unblinded`"
            ),
            Refusal::TurningIsFinal { tray, .. } => format!(
                "if a sticker was read wrongly, enter it anew with `session turned NAME {tray} …`: \
                 both are kept, and the results say so"
            ),
            Refusal::AlreadyTurned { .. } => {
                "what is known now cannot be scored blind; add a note instead".to_owned()
            }
            Refusal::Closed { .. } => {
                "enter it with `--late`: it is kept, marked as unblinded and left out of the analysis"
                    .to_owned()
            }
            Refusal::NotLate => "enter it without `--late`".to_owned(),
            Refusal::OtherSeal { .. } => "take the key that was written with this plan".to_owned(),
            Refusal::Incomplete { .. } => {
                "`session progress NAME` says whose answers are missing; `--force WHY` reveals anyway and is recorded"
                    .to_owned()
            }
            Refusal::Expected(error) => error.remedy(),
            Refusal::Miscounted { .. } | Refusal::OutOfTurn { .. } => {
                "the log was changed by hand; restore it from a copy".to_owned()
            }
        }
    }
}

fn cups(number: usize) -> String {
    if number == 1 { "one cup".to_owned() } else { format!("{number} cups") }
}

/// So many answers, with their verb.
fn answers(number: usize) -> String {
    format!("{} {}", counted(number, "answer"), if number == 1 { "is" } else { "are" })
}

/// Codes in a row.
fn listed(codes: &[Code]) -> String {
    codes.iter().map(Code::to_string).collect::<Vec<_>>().join(", ")
}
