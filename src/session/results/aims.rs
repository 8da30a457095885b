//! What is wanted, said after the tasting: for sessions whose plan does not say it.

use crate::session::plan::wanted::attributes_of;
use crate::session::plan::{Aim, AimError, each_once};
use crate::session::results::PastSession;

/// Says for every revealed session that judges `attribute` which way it is wanted. `wanted` is a way
/// alone, or names what it is of, as in `bitterness: less`. Gives the name.
///
/// # Errors
/// When nothing of that name is judged anywhere, or it cannot be wanted so.
pub fn want(
    past: &mut [PastSession],
    attribute: Option<&str>,
    wanted: Option<&str>,
) -> Result<Option<String>, AimError> {
    let Some(wanted) = wanted else { return Ok(attribute.map(str::to_owned)) };
    let (named, way) = match wanted.rsplit_once(':') {
        Some((of, way)) => (Some(of.trim()), way),
        None => (attribute, wanted),
    };
    let direction = way.parse()?;
    let revealed = past.iter().filter_map(|session| session.revealed.as_ref());
    let names = each_once(revealed.flat_map(|revealed| attributes_of(&revealed.method)));
    let all: Vec<String> = names.into_iter().map(str::to_owned).collect();
    let of = match (named, all.as_slice()) {
        (Some(of), _) => of.to_owned(),
        (None, [of]) => of.clone(),
        (None, _) => return Err(AimError::NotNamed { judged: all }),
    };
    let aim = Aim { of: of.clone(), direction };
    let mut refused = AimError::NotJudged { of: of.clone(), judged: all };
    let mut said = false;
    for revealed in past.iter_mut().filter_map(|s| s.revealed.as_mut()) {
        if !attributes_of(&revealed.method).contains(&of.as_str()) {
            continue;
        }
        match aim.check(&revealed.method) {
            Ok(()) => {
                revealed.wanted = Some(aim.clone());
                said = true;
            }
            Err(error) => refused = error,
        }
    }
    if said { Ok(Some(of)) } else { Err(refused) }
}
