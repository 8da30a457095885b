//! A planned flight as text.

use anstyle::{AnsiColor, Style};

use crate::assessment::{Glance, unknowns_text};
use crate::mix::reach_report::ReachReport;
use crate::mix::spread::WaterSpread;
use crate::mix::water_mix::{GoalLine, SaltPart, WaterMix};
use crate::mix::{MixReport, cost_text, dose_table, order_text, spread_text};
use crate::quantities::show;
use crate::text::command_line::typed;
use crate::text::table::{Side, each, inner_table, table, text as table_text, wrapped};
use crate::text::{cautions, visible};

/// A flight: overview, then each water with its doses and goals, then the totals.
#[must_use]
pub fn text(report: &MixReport) -> String {
    let mut out = format!("{}\n", report.flight);
    out.push_str(&wrapped(
        &format!("Bottles of {} mL, doses {}.", show::plain(report.bottle_ml), report.convention),
        0,
    ));
    out.push('\n');
    out.push_str(&dose_table::wide_volumes(report));
    for (place, water) in report.waters.iter().enumerate() {
        out.push('\n');
        let spread = report.spread.as_ref().and_then(|s| s.waters.get(place));
        out.push_str(&one_water(water, spread, report.named_before_waters.as_deref()));
        out.push_str(&spread.map_or(String::new(), spread_text::of_water));
    }
    for one in &report.unanswered {
        out.push('\n');
        out.push_str(&wrapped(
            &format!("{} {}: NO ANSWER. {}", one.number, one.target, first_upper(&one.reason)),
            2,
        ));
    }
    out.push('\n');
    out.push_str(&totals(report));
    if let Some(order) = &report.order {
        out.push('\n');
        out.push_str(&order_text::text(order));
    }
    if let Some(of) = &report.cost {
        out.push_str(&cost_text::text(of));
    }
    if let Some(of) = &report.spread {
        out.push_str(&wrapped(&spread_text::counted(of), 2));
        if report.show_budget {
            out.push_str(&spread_text::budgets(of));
        }
        if of.waters.iter().flat_map(|w| &w.goals).any(|g| g.drawn.is_some()) {
            out.push_str(&spread_text::drawn(of));
        }
    }
    out.push_str(&each("* ", &report.notes));
    out.push_str(&wrapped(cautions::DRINKING, 0));
    out
}

/// A sentence begins with a capital.
fn first_upper(text: &str) -> String {
    let mut rest = text.chars();
    rest.next().map_or(String::new(), |first| first.to_uppercase().chain(rest).collect()) + "."
}

fn one_water(water: &WaterMix, spread: Option<&WaterSpread>, flight: Option<&str>) -> String {
    let number = water.number;
    let (verdict, colour) = if water.reached {
        ("every goal within tolerance", AnsiColor::Green)
    } else {
        ("OUT OF REACH, this is the nearest", AnsiColor::Yellow)
    };
    let style = Style::new().fg_color(Some(colour.into()));
    let bold = Style::new().bold();
    let mut out =
        format!("{bold}{number} {}{bold:#}: {style}{verdict}{style:#}\n", visible(&water.target));
    if let Some(pinned) = &water.pinned {
        out.push_str(&wrapped(&format!("  pinned: {pinned}"), 4));
    }
    let mut doses = inner_table(&[
        ("  pour", Side::Left),
        ("mL/L", Side::Right),
        ("g/L", Side::Right),
        ("mL/bottle", Side::Right),
        ("g/bottle", Side::Right),
        ("± mL", Side::Right),
    ]);
    for dose in &water.doses {
        doses.add_row([
            format!("  {}", dose.stock),
            show::fixed(dose.ml_per_l, 3),
            show::fixed(dose.g_per_l, 3),
            show::fixed(dose.ml_per_bottle, 3),
            show::fixed(dose.g_per_bottle, 3),
            spread_text::of_dose(spread, &dose.stock),
        ]);
    }
    for base in &water.base {
        doses.add_row([
            format!("  {} water", base.water),
            show::fixed(base.share * 1000.0, 1),
            show::fixed(base.g_per_l, 1),
            show::fixed(base.ml_per_bottle, 1),
            show::fixed(base.g_per_bottle, 1),
            String::new(),
        ]);
    }
    out.push_str(&table_text(&doses));
    out.push_str(&goals_of(water, spread));
    if !water.conflict.is_empty() {
        out.push_str(&wrapped(
            &format!(
                "  cannot all be kept: {} (more: `waterflight why {}`)",
                water.conflict.join("; "),
                flight.map_or(number.to_string(), |flight| typed(&format!("{flight}/{number}")))
            ),
            4,
        ));
    }
    if water.reached_without_limits {
        out.push_str(&wrapped(
            "  in reach without the limits of this flight: its steps, its stocks, what is left",
            4,
        ));
    }
    out.push_str(&each("  ! ", water.reach.iter().flat_map(ReachReport::sentences)));
    out.push_str(&salts_of(water));
    let held = held(water);
    let sums =
        unknowns_text::sums(water.hardness_mg_per_l_caco3, water.alkalinity_mg_per_l_caco3, "");
    let solids = unknowns_text::solids(water.dissolved_solids_mg_per_l, &water.unknowns);
    let text = format!("  water: {held} mg/L; {sums}; dissolved solids {solids}");
    out.push_str(&wrapped(&text, 4));
    out.push_str(&unknowns_text::lines(&water.unknowns));
    if let Some(glance) = &water.glance {
        out.push_str(&wrapped(&at_a_glance(glance), 4));
    }
    if let Some(withheld) = &water.withheld {
        let text = format!("  pH, conductivity and limescale are not given, since {withheld}");
        out.push_str(&wrapped(&text, 4));
    }
    out
}

/// What each goal asked for and got.
fn goals_of(water: &WaterMix, spread: Option<&WaterSpread>) -> String {
    let mut goals = inner_table(&[
        ("  goal", Side::Left),
        ("wanted", Side::Left),
        ("got", Side::Right),
        ("±", Side::Right),
        ("off by", Side::Right),
    ]);
    for (place, goal) in water.goals.iter().enumerate() {
        goals.add_row([
            format!("  {}", goal.measure.replace('_', " ")),
            goal.in_words.clone(),
            goal.got.map_or("undefined".to_owned(), |got| spread_text::got(spread, place, got)),
            spread_text::of_goal(spread, place),
            off_by(goal),
        ]);
    }
    table_text(&goals)
}

/// The amounts of a water, mg/L, to be followed by the unit.
pub(crate) fn held(water: &WaterMix) -> String {
    let without = || match water.unknowns.not_measured.as_slice() {
        [] => "nothing but water, 0".to_owned(),
        _ => "of what was measured 0".to_owned(),
    };
    unknowns_text::present(&water.mg_per_l.0).unwrap_or_else(without)
}

/// The salts in a litre: what the water is made of, whatever the strength of the stocks.
fn salts_of(water: &WaterMix) -> String {
    let one = |salt: &SaltPart| format!("{} {}", salt.formula, show::three_figures(salt.mg_per_l));
    let salts: Vec<String> = water.salts.iter().map(one).collect();
    if salts.is_empty() {
        return String::new();
    }
    wrapped(&format!("  salts: {} mg/L", salts.join(", ")), 4)
}

/// `waterflight water` says what these figures rest on.
fn at_a_glance(glance: &Glance) -> String {
    let index = |value: Option<f64>| value.map_or("n/a".to_owned(), |v| show::fixed(v, 1));
    let grams = show::fixed(glance.brew_scale_g_per_1000_l, 0);
    let limescale = match glance.brew_scale_least_since {
        None => format!("with {grams} g of limescale per 1,000 L"),
        // None at all is no least that could be called one.
        Some(since) if grams == "0" => {
            format!("with limescale of an amount not known, since {since}")
        }
        Some(_) => format!("with at least {grams} g of limescale per 1,000 L"),
    };
    format!(
        "  about: pH {} as mixed, {} in air; {} µS/cm; saturation index (calcite) {}, in the brew \
         boiler {}, {limescale}",
        show::fixed(glance.ph_closed, 1),
        show::fixed(glance.ph_open, 1),
        unknowns_text::conductivity(
            glance.conductivity_us_per_cm,
            glance.conductivity_between_us_per_cm,
        ),
        index(glance.si_calcite_closed),
        index(glance.si_calcite_brew_degassed),
    )
}

fn off_by(goal: &GoalLine) -> String {
    let size = show::three_figures(goal.miss.abs());
    if size.chars().all(|c| matches!(c, '0' | '.')) && goal.reached {
        return "–".to_owned();
    }
    let by = show::signed(goal.miss, show::three_figures);
    if goal.reached { by } else { format!("{by} MISSED") }
}

fn totals(report: &MixReport) -> String {
    let head = match report.bottles {
        1 => "for one bottle of each".to_owned(),
        n => format!("for {n} bottles of each"),
    };
    let mut rows = table(&[(&head, Side::Left), ("mL", Side::Right), ("g", Side::Right)]);
    for stock in &report.stocks_used {
        rows.add_row([stock.stock.clone(), show::fixed(stock.ml, 2), show::fixed(stock.g, 2)]);
    }
    for base in &report.base_used {
        rows.add_row([format!("{} water", base.water), show::fixed(base.ml, 0), String::new()]);
    }
    table_text(&rows)
}
