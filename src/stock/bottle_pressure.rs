//! Carbon dioxide that presses on a closed bottle: how much it holds, and what to mind with it.

use crate::quantities::show;
use crate::reference::physical_constants::ATMOSPHERE_BAR;
use crate::reference::pressure_equipment::PRESSURE_EQUIPMENT_BAR;

/// Highest pressure of carbon dioxide that a stock may need here, bar: common practice, what a
/// carbonated drink holds at room temperature. The maker's limit of bottle and carbonator comes
/// first.
pub const MOST_BAR: f64 = 4.0;

/// What to mind with a salt that dissolves under carbon dioxide.
pub const UNDER_PRESSURE: &str = "Carbon dioxide under pressure: only in a bottle made for it, \
never beyond the limit of its maker, never in plain glass; open it slowly.";

/// The same on the label of its bottle.
pub(crate) const ON_A_LABEL: &str = "PRESSURE of CO2: not in plain glass; open it slowly";

/// Whether so much carbon dioxide, atm, presses on a closed bottle as on pressure equipment.
#[must_use]
pub fn needs_pressure_care(co2_atm: f64) -> bool {
    co2_atm * ATMOSPHERE_BAR > PRESSURE_EQUIPMENT_BAR
}

/// Whether so much carbon dioxide, atm, is more than a bottle for fizzy drinks is taken to hold.
#[must_use]
pub fn is_too_much_for_a_bottle(co2_atm: f64) -> bool {
    co2_atm * ATMOSPHERE_BAR > MOST_BAR
}

/// A pressure as it is said of a bottle, atm.
fn shown(atm: f64) -> String {
    show::fixed(atm, show::decimals_for(atm, 2, 1))
}

/// What to mind with a bottle that makes its own pressure, by what builds up in it when it is full
/// and shut, atm.
#[must_use]
pub fn pressure_caution(atm: f64) -> String {
    let builds = format!(
        "PRESSURE: it gives off CO2, in a full bottle with its cap tight up to {} atm above the air \
         outside at room temperature, and more when warm.",
        shown(atm)
    );
    if is_too_much_for_a_bottle(atm) {
        format!(
            "{builds} No bottle for drinks is made for that (at most {} bar): do NOT close it, stir it. \
             Better do not make it: make it weaker, or keep its salts in bottles of their own.",
            show::plain(MOST_BAR)
        )
    } else {
        format!(
            "{builds} Use a bottle made for fizzy drinks or leave the cap loose; shut it for shaking \
             only, and open it slowly, away from the face."
        )
    }
}

/// The same in a line: `PRESSURE of CO2, up to 2.9 atm when shut: open it slowly`.
#[must_use]
pub fn pressure_in_short(atm: f64) -> String {
    if is_too_much_for_a_bottle(atm) {
        format!("PRESSURE of CO2, up to {} atm if it were shut: do NOT close it", shown(atm))
    } else {
        format!("PRESSURE of CO2, up to {} atm when shut: open it slowly", shown(atm))
    }
}
