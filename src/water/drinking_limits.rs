//! What drinking water has of an ion at most, where nobody measured it.

use crate::chemistry::Conserved;
use crate::reference::natural_waters::POTASSIUM_LIMIT_MG_PER_L;
use crate::reference::water_guidelines;
use crate::reference::water_guidelines::Subject;

/// What an unmeasured ion is assumed to be at most where drinking water has no limit of it (calcium,
/// magnesium, alkalinity), meq/L: our choice, 500 mg/L as CaCO3 each, about where hardness is no longer
/// put up with (WHO, from memory).
const HARDNESS_MEQ_PER_L: f64 = 10.0;

/// The limits that some ions are assumed to keep together, meq/L.
pub(crate) fn limit_of(ions: &[Conserved]) -> f64 {
    let published = |subject: Subject| {
        let values = water_guidelines::GUIDELINES.iter().filter(|g| g.subject == subject);
        values.filter_map(|g| g.at_most).fold(0.0, f64::max)
    };
    let one = |c: &Conserved| {
        let mg_per_l = match c {
            Conserved::Na => published(Subject::Sodium),
            Conserved::K => POTASSIUM_LIMIT_MG_PER_L,
            Conserved::Cl => published(Subject::Chloride),
            Conserved::SO4 => published(Subject::Sulfate),
            Conserved::NO3 => published(Subject::Nitrate),
            _ => return HARDNESS_MEQ_PER_L,
        };
        mg_per_l / c.g_per_mol() * f64::from(c.charge().abs())
    };
    ions.iter().map(one).sum()
}
