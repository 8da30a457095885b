//! The plan of a session: trays and codes, fit to be read by anyone, beside the sealed key.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::session::plan::AnalysisPlan;
use crate::session::plan::Attribute;
use crate::session::plan::Balance;
use crate::session::plan::Method;
use crate::session::plan::Tray;
use crate::session::plan::Unwritable;
use crate::session::plan::coded_trays::{coded, public_trays, top_codes, tray_number};
use crate::session::plan::codes::numbers_in;
use crate::session::plan::key::KEY_FORMAT;
use crate::session::plan::layout::lay;
use crate::session::plan::order_balance::balance;
use crate::session::plan::request::each_is_served;
use crate::session::plan::unread;
use crate::session::plan::{Aim, AimError};
use crate::session::plan::{Blinding, CodeScope, Duplicates, Request, RequestError, Serving};
use crate::session::plan::{GENERATOR, Seed};
use crate::session::plan::{Key, KeyCup, KeyError, Nonce, key};

/// Newest version of the plan's text. Raised when a reader of the one before could not read it: 2 adds
/// how the scores are to be compared and what is wanted. A plan is written in the oldest version that
/// can say it, so that it stays the same and older programs read what they can.
pub const PLAN_FORMAT: u32 = 2;

/// The version of a plan that says neither.
const PLAIN_FORMAT: u32 = 1;

/// A session as everyone may read it. No water is named in it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// The least format that can say what this plan says, at most [`PLAN_FORMAT`].
    pub format: u32,
    /// Name of the session.
    pub session: String,
    /// What it is to find out.
    pub question: String,
    /// Generator and drawing rules.
    pub generator: String,
    /// SHA-256 of the key's text.
    pub seal: String,
    /// What is asked of a taster.
    pub method: Method,
    /// What is wanted, where the plan says so; [`Plan::wanted`] knows the rest.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wanted: Option<Aim>,
    /// How many waters there are.
    pub waters: usize,
    /// The tasters.
    pub tasters: Vec<String>,
    /// Rounds.
    pub rounds: usize,
    /// Cups of one tray.
    pub cups_per_tray: usize,
    /// How many waters are hidden twice.
    pub hidden_duplicates: usize,
    /// How many pairs are compared.
    pub pairs: usize,
    /// Whether every tray has a named reference cup.
    pub reference_cup: bool,
    /// Whether every tray begins with an unscored cup.
    pub warm_up_cup: bool,
    /// A break after so many cups.
    pub break_after: Option<usize>,
    /// How codes are shared out.
    pub codes: CodeScope,
    /// Who knows what.
    pub blinding: Blinding,
    /// What is the same for all cups.
    pub serving: Serving,
    /// How the scores are to be compared.
    #[serde(default, skip_serializing_if = "AnalysisPlan::is_plain")]
    pub analysis: AnalysisPlan,
    /// How even the orders are; unknown where a shuffle of cups makes them.
    pub balance: Option<Balance>,
    /// The trays, by taster and number.
    pub trays: Vec<Tray>,
}

/// Why a plan cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PlanError {
    /// It is no plan.
    #[error("the plan cannot be read: {reason}")]
    Unreadable {
        /// Why.
        reason: String,
    },
    /// Written by a newer program.
    #[error(
        "the plan has format {found} and this program reads up to {PLAN_FORMAT}; use a newer program"
    )]
    TooNew {
        /// Format found.
        found: u32,
    },
}

/// The name that is meant: the same one, else the only one that differs in case alone; what fits none is
/// given back as it was typed.
pub(crate) fn in_any_case<'a>(
    typed: &'a str,
    known: impl Iterator<Item = &'a str> + Clone,
) -> &'a str {
    if known.clone().any(|name| name == typed) {
        return typed;
    }
    let wanted = typed.to_lowercase();
    let mut alike = known.filter(|name| name.to_lowercase() == wanted);
    match (alike.next(), alike.next()) {
        (Some(only), None) => only,
        _ => typed,
    }
}

/// The name that is probably meant, and is near to the one found; letters of any case are alike.
pub(crate) fn nearest<'a>(
    found: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    /// Our choice: two slips of the finger still mean the same name.
    const SLIPS: usize = 2;
    let lower = found.to_lowercase();
    let slips = |name: &str| strsim::damerau_levenshtein(&name.to_lowercase(), &lower);
    let nearest = known.into_iter().min_by_key(|name| slips(name))?;
    // Of a name of one or two letters nothing would be left.
    (slips(nearest) <= SLIPS.min(nearest.chars().count().saturating_sub(1))).then_some(nearest)
}

impl Plan {
    /// A taster as the plan calls them, typed in any case; what fits none is given back.
    #[must_use]
    pub fn taster_called<'a>(&'a self, typed: &'a str) -> &'a str {
        in_any_case(typed, self.tasters.iter().map(String::as_str))
    }

    /// The text of the plan's file.
    ///
    /// # Errors
    /// When it has none, which is a fault of the program.
    pub fn to_text(&self) -> Result<String, Unwritable> {
        Ok(Unwritable::lines("plan", self)? + "\n")
    }

    /// Reads the text of a plan's file.
    ///
    /// # Errors
    /// When it is no plan, or one of a newer format.
    pub fn from_text(text: &str) -> Result<Self, PlanError> {
        let unreadable =
            |error: serde_json::Error| PlanError::Unreadable { reason: unread::why(&error) };
        let found = unread::format(text).map_err(unreadable)?;
        if found > PLAN_FORMAT {
            return Err(PlanError::TooNew { found });
        }
        let plan: Self = serde_json::from_str(text).map_err(unreadable)?;
        match plan.contradiction() {
            Some(reason) => Err(PlanError::Unreadable { reason: reason.to_owned() }),
            None => Ok(plan),
        }
    }

    /// What in the plan contradicts itself, as in one that was changed by hand: its counts are those of
    /// its trays, so that whatever is reckoned from them has a size that fits the file.
    fn contradiction(&self) -> Option<&'static str> {
        /// Our choice: nobody serves more in a cup or brews more at once, mL or g.
        const MOST: f64 = 1e7;
        let rounds = self.trays.iter().map(|tray| tray.round).max().unwrap_or(0);
        let cups = self.trays.len().saturating_mul(self.cups_per_tray);
        let is_amount = |value: f64| (0.0..=MOST).contains(&value);
        let brewing = self.serving.brewing.as_ref();
        let says = [
            (self.trays.is_empty(), "it has no trays"),
            (
                self.trays.iter().any(|tray| tray.cups.len() != self.cups_per_tray),
                "a tray holds another number of cups than the plan says",
            ),
            (rounds != self.rounds, "the trays have another number of rounds than the plan says"),
            (
                self.trays.iter().any(|tray| tray.round == 0 || tray.number == 0),
                "a tray has no round or number",
            ),
            (!each_is_served(self.waters, cups), "there are more waters than cups"),
            (self.hidden_duplicates > self.waters, "more waters are hidden twice than there are"),
            (self.pairs > self.waters.saturating_mul(self.waters), "there are too many pairs"),
            (!self.method.attributes().iter().all(Attribute::is_sound), "a scale is none"),
            (!is_amount(self.serving.cup_ml), "a cup has no size"),
            (
                !brewing
                    .is_none_or(|b| [b.dose_g, b.water_ml, b.yield_ml].into_iter().all(is_amount)),
                "the brew has no size",
            ),
        ];
        says.into_iter().find_map(|(is_so, what)| is_so.then_some(what))
    }

    /// The plan, saying what is wanted. It changes nothing of what is drawn.
    ///
    /// # Errors
    /// When the session does not judge it, or it cannot be wanted so.
    pub fn wanting(self, aim: Aim) -> Result<Self, AimError> {
        aim.check(&self.method)?;
        Ok(Self { format: PLAN_FORMAT, wanted: Some(aim), ..self })
    }

    /// What is wanted: what the plan says, or else more of what its name shows to be a liking.
    #[must_use]
    pub fn wanted(&self) -> Option<Aim> {
        self.wanted.clone().or_else(|| Aim::by_name(&self.method))
    }

    /// Whether a break stands on any tray or behind it.
    #[must_use]
    pub fn shows_breaks(&self) -> bool {
        self.trays.iter().any(|tray| !tray.breaks_after.is_empty())
    }

    /// The trays of one taster, in the order of serving.
    pub fn trays_of<'a>(&'a self, taster: &'a str) -> impl Iterator<Item = &'a Tray> {
        self.trays.iter().filter(move |tray| tray.taster == taster)
    }
}

/// Draws a session: the plan that everyone may read and the key that is sealed.
///
/// The same request, seed and nonce give the same plan and key on every machine.
///
/// # Errors
/// When the request cannot be planned; the message says what to change.
pub fn plan(request: &Request, seed: &Seed, nonce: &Nonce) -> Result<(Plan, Key), RequestError> {
    request.check()?;
    let (laid, doubled) = lay(request, seed);
    let avoid = numbers_in(request.waters.iter().chain(&request.tasters).map(String::as_str));
    let solo = request.blinding == Blinding::Solo;
    let (scope, codes) = coded(request, &laid, seed, &avoid)?;
    // For a tasting alone the sealed codes are the stickers underneath; those on top are put on
    // after the shuffle, in the order of the plan, and mean nothing by themselves.
    let tops = if solo { Some(top_codes(&laid, &codes, seed, &avoid)?) } else { None };
    let trays = public_trays(request, &laid, (scope, &codes), tops.as_deref());
    let name = |place: usize| request.waters.get(place).cloned().unwrap_or_default();
    let mut cups: Vec<KeyCup> = codes
        .iter()
        .map(|(place, &code)| KeyCup {
            code,
            water: name(place.glass.water),
            copy: place.glass.copy + 1,
            round: place.round + 1,
            tray: if solo { tray_number(&laid, place) } else { None },
        })
        .collect();
    cups.sort_by_key(|cup| cup.code);
    let pairs = if request.method.compares_two() { request.pair_places() } else { Vec::new() };
    let key = Key {
        format: KEY_FORMAT,
        session: request.session.clone(),
        generator: GENERATOR.to_owned(),
        nonce: nonce.to_hex(),
        seed: seed.to_hex(),
        waters: request.waters.clone(),
        doubled: doubled.into_iter().map(name).collect(),
        pairs: pairs.iter().map(|&(a, b)| (name(a), name(b))).collect(),
        reference: request.reference.clone(),
        warm_up: request.warm_up.clone(),
        cups,
    };
    let plan = Plan {
        format: if request.analysis.is_plain() { PLAIN_FORMAT } else { PLAN_FORMAT },
        session: request.session.clone(),
        question: request.question.clone(),
        generator: GENERATOR.to_owned(),
        seal: key::seal(&key.to_text()?),
        method: request.method.clone(),
        wanted: None,
        waters: request.waters.len(),
        tasters: request.tasters.clone(),
        rounds: request.rounds,
        cups_per_tray: request.cups_per_tray(),
        hidden_duplicates: request.doubled(),
        pairs: pairs.len(),
        reference_cup: request.reference.is_some(),
        warm_up_cup: request.warm_up.is_some(),
        break_after: request.break_after,
        codes: scope,
        blinding: request.blinding,
        serving: request.serving.clone(),
        analysis: request.analysis.clone(),
        balance: (!solo).then(|| balance(request, &laid)),
        trays,
    };
    Ok((plan, key))
}

/// How far a key was verified against its plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verified {
    /// The seal holds, and drawing again from the sealed seed gives this very plan and key.
    DrawnAgain,
    /// The seal holds; the plan names other drawing rules, so it was not drawn again.
    SealOnly,
}

/// Tests a key's text against the plan: the seal first, then by drawing the session again.
///
/// # Errors
/// When the seal is broken, the text is no key, or it does not lead to this plan.
pub fn verify(public: &Plan, key_text: &str) -> Result<(Key, Verified), KeyError> {
    let key = key::open(key_text, &public.seal)?;
    let misfit = |reason: &str| KeyError::OtherPlan { reason: reason.to_owned() };
    if key.session != public.session {
        return Err(misfit("it belongs to another session"));
    }
    if key.generator != GENERATOR || public.generator != GENERATOR {
        return Ok((key, Verified::SealOnly));
    }
    let unreadable = |error: crate::session::plan::draw::HexError| misfit(&error.to_string());
    let seed = Seed::from_hex(&key.seed).map_err(unreadable)?;
    let nonce = Nonce::from_hex(&key.nonce).map_err(unreadable)?;
    let request = Request {
        session: public.session.clone(),
        question: public.question.clone(),
        method: public.method.clone(),
        waters: key.waters.clone(),
        tasters: public.tasters.clone(),
        rounds: public.rounds,
        per_tray: (!public.method.compares_two() && public.hidden_duplicates == 0)
            .then_some(public.cups_per_tray),
        duplicates: if key.doubled.is_empty() {
            Duplicates::None
        } else {
            Duplicates::Named(key.doubled.clone())
        },
        pairs: key.pairs.clone(),
        reference: key.reference.clone(),
        warm_up: key.warm_up.clone(),
        break_after: public.break_after,
        codes: Some(public.codes),
        blinding: public.blinding,
        serving: public.serving.clone(),
        analysis: public.analysis.clone(),
    };
    let (again, key_again) =
        plan(&request, &seed, &nonce).map_err(|error| misfit(&error.to_string()))?;
    if key_again != key {
        return Err(misfit("drawing again from its seed gives another key"));
    }
    // What is wanted was not drawn.
    let again = Plan { format: public.format, wanted: public.wanted.clone(), ..again };
    if again != *public {
        return Err(misfit("drawing again from its seed gives another plan; the plan was changed"));
    }
    Ok((key, Verified::DrawnAgain))
}
