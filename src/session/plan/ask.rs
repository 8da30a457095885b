//! From a question and a few requirements to the method and the waters of a session.

use crate::session::plan::RequestError;
use crate::session::plan::method::starter_attributes;
use crate::session::plan::{Attribute, DuoTrioReference, Method, MethodKind, Question, Sides};

/// What is asked, with the details that some methods have.
#[derive(Debug, Clone, PartialEq)]
pub struct MethodRequest {
    /// The question; what the method answers, or how the waters differ, when it is left open.
    pub question: Option<Question>,
    /// The method, when one is asked for.
    pub method_kind: Option<MethodKind>,
    /// Attributes to score; the starter set when there are none.
    pub attributes: Vec<Attribute>,
    /// What ranking and paired tests go by.
    pub criterion: Option<String>,
    /// Of a paired test: the first water was expected to have more.
    pub one_sided: bool,
    /// Of a duo-trio: the first water of a pair is always the reference.
    pub constant_reference: bool,
}

impl MethodRequest {
    /// The question that is asked.
    #[must_use]
    pub fn question(&self) -> Question {
        self.question.unwrap_or(match self.method_kind {
            Some(MethodKind::Triangle | MethodKind::DuoTrio | MethodKind::Tetrad) => {
                Question::CanWeTell
            }
            // By liking is by what is best; by anything else is how they differ.
            Some(MethodKind::Ranking | MethodKind::Paired) if self.criterion.is_none() => {
                Question::WhichIsBest
            }
            _ => Question::HowDoTheyDiffer,
        })
    }

    /// The method that answers the question for so many waters.
    ///
    /// # Errors
    /// When a detail was given that the method does not have.
    pub fn method(&self, waters: usize) -> Result<Method, RequestError> {
        let criterion = || self.criterion.clone().unwrap_or_else(|| "liking".to_owned());
        let method_kind = self.method_kind.unwrap_or_else(|| {
            // Attributes are only ever named in order to be scored.
            let is_scored = !self.attributes.is_empty();
            if is_scored { MethodKind::Scoring } else { self.question().suggested(waters) }
        });
        let method = match method_kind {
            MethodKind::Scoring if self.attributes.is_empty() => {
                Method::Scoring { attributes: starter_attributes() }
            }
            MethodKind::Scoring => Method::Scoring { attributes: self.attributes.clone() },
            MethodKind::Ranking => Method::Ranking { criterion: criterion() },
            MethodKind::Triangle => Method::Triangle,
            MethodKind::DuoTrio => Method::DuoTrio {
                reference: if self.constant_reference {
                    DuoTrioReference::Constant
                } else {
                    DuoTrioReference::Balanced
                },
            },
            MethodKind::Paired => Method::Paired {
                criterion: criterion(),
                sides: if self.one_sided { Sides::One } else { Sides::Two },
            },
            MethodKind::Tetrad => Method::Tetrad,
        };
        self.fits(method_kind, method.name())?;
        Ok(method)
    }

    /// Refuses details of another method, which would be lost without a word.
    fn fits(&self, method_kind: MethodKind, method: &'static str) -> Result<(), RequestError> {
        let refuse = |what, remedy| Err(RequestError::DoesNotGoWith { what, method, remedy });
        let tells_alike =
            matches!(method_kind, MethodKind::Triangle | MethodKind::DuoTrio | MethodKind::Tetrad);
        if tells_alike && self.question == Some(Question::WhichIsBest) {
            return refuse(
                "the question which is best",
                "ask it by a paired comparison or a ranking",
            );
        }
        if method_kind != MethodKind::Scoring && !self.attributes.is_empty() {
            return refuse("a list of attributes", "score them, or leave them out");
        }
        if !matches!(method_kind, MethodKind::Ranking | MethodKind::Paired)
            && self.criterion.is_some()
        {
            return refuse("a criterion", "it is for a ranking or a paired comparison");
        }
        if method_kind != MethodKind::Paired && self.one_sided {
            return refuse("a side fixed beforehand", "it is for a paired comparison");
        }
        if method_kind != MethodKind::DuoTrio && self.constant_reference {
            return refuse("a constant reference", "it is for a duo-trio");
        }
        Ok(())
    }
}

/// The waters to taste: those wanted, in their order; or those of the pairs, or all, in the order
/// of the flight.
///
/// # Errors
/// When one is wanted that the flight does not have.
pub fn chosen_waters(
    flight: &[String],
    wanted: &[String],
    pairs: &[(String, String)],
) -> Result<Vec<String>, RequestError> {
    let paired = || pairs.iter().flat_map(|(a, b)| [a, b]);
    if let Some(unknown) = wanted.iter().chain(paired()).find(|name| !flight.contains(name)) {
        return Err(RequestError::UnknownWater {
            name: unknown.clone(),
            role: "a water to taste",
            choices: flight.join("; "),
        });
    }
    if let Some((same, _)) = pairs.iter().find(|(a, b)| a == b) {
        return Err(RequestError::PairedWithItself { name: same.clone() });
    }
    if !wanted.is_empty() {
        return Ok(wanted.to_vec());
    }
    let is_chosen = |name: &&String| pairs.is_empty() || paired().any(|paired| paired == *name);
    Ok(flight.iter().filter(is_chosen).cloned().collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ask(question: Question) -> MethodRequest {
        MethodRequest {
            question: Some(question),
            method_kind: None,
            attributes: Vec::new(),
            criterion: None,
            one_sided: false,
            constant_reference: false,
        }
    }

    #[test]
    fn a_question_brings_its_method() {
        assert_eq!(ask(Question::CanWeTell).method(2), Ok(Method::Tetrad));
        let best = ask(Question::WhichIsBest).method(5);
        assert_eq!(best, Ok(Method::Ranking { criterion: "liking".into() }));
        let named =
            MethodRequest { attributes: starter_attributes(), ..ask(Question::WhichIsBest) };
        assert!(matches!(named.method(5), Ok(Method::Scoring { .. })));
    }

    #[test]
    fn a_method_brings_its_question() {
        let open = MethodRequest { question: None, ..ask(Question::CanWeTell) };
        assert_eq!(open.question(), Question::HowDoTheyDiffer);
        let triangle = MethodRequest { method_kind: Some(MethodKind::Triangle), ..open.clone() };
        assert_eq!(triangle.question(), Question::CanWeTell);
        let best = MethodRequest { method_kind: Some(MethodKind::Paired), ..open };
        assert_eq!(best.question(), Question::WhichIsBest);
        let body = MethodRequest { criterion: Some("body".into()), ..best };
        assert_eq!(body.question(), Question::HowDoTheyDiffer);
    }

    #[test]
    fn details_of_another_method_are_refused() {
        let tetrad = ask(Question::CanWeTell);
        for wrong in [
            MethodRequest { criterion: Some("body".into()), ..tetrad.clone() },
            MethodRequest { one_sided: true, ..tetrad.clone() },
            MethodRequest { constant_reference: true, ..tetrad.clone() },
            MethodRequest {
                attributes: starter_attributes(),
                method_kind: Some(MethodKind::Tetrad),
                ..tetrad
            },
        ] {
            assert!(matches!(wrong.method(2), Err(RequestError::DoesNotGoWith { .. })));
        }
    }

    #[test]
    fn which_is_best_is_not_asked_where_cups_are_told_apart() {
        for method_kind in [MethodKind::Triangle, MethodKind::DuoTrio, MethodKind::Tetrad] {
            let wrong =
                MethodRequest { method_kind: Some(method_kind), ..ask(Question::WhichIsBest) };
            assert!(matches!(wrong.method(2), Err(RequestError::DoesNotGoWith { .. })));
        }
        for method_kind in [MethodKind::Paired, MethodKind::Ranking, MethodKind::Scoring] {
            assert!(
                MethodRequest { method_kind: Some(method_kind), ..ask(Question::WhichIsBest) }
                    .method(2)
                    .is_ok()
            );
        }
    }

    #[test]
    fn pairs_choose_their_waters() {
        let flight: Vec<String> = ["a", "b", "c"].map(String::from).into();
        let pairs = [("c".to_owned(), "a".to_owned())];
        assert_eq!(chosen_waters(&flight, &[], &pairs), Ok(vec!["a".into(), "c".into()]));
        assert_eq!(chosen_waters(&flight, &[], &[]).map(|w| w.len()), Ok(3));
        assert!(chosen_waters(&flight, &["d".into()], &[]).is_err());
    }
}
