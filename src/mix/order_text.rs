//! A flight in steps of a dispenser, its set of stocks and what is left, as text.

use crate::mix::one_style::StyleReport;
use crate::mix::order_report::{DispenserReport, SteppedWater};
use crate::mix::{OrderReport, dose_table};
use crate::quantities::show;
use crate::text::table::{Side, table, text as table_text, wrapped};

/// What was asked of the bench, and what came of it.
#[must_use]
pub fn text(report: &OrderReport) -> String {
    let mut out = String::new();
    if let Some(style) = &report.style {
        out.push_str(&wrapped(&of_style(style), 2));
    }
    if let Some(set) = &report.stock_set {
        let proof = match set.at_least {
            _ if set.proved => "proved".to_owned(),
            None => "NOT PROVED in the time given".to_owned(),
            Some(least) => format!(
                "{} stocks; NOT PROVED in the time given, no fewer than {least} serve",
                set.stocks.len()
            ),
        };
        let names = if set.stocks.is_empty() { "none".to_owned() } else { set.stocks.join(", ") };
        out.push_str(&wrapped(&format!("Opened, {} ({proof}): {}.", set.asked, names), 2));
    }
    if let Some(left) = &report.left {
        let what = match (left.binding, left.not_proved()) {
            (false, None) => "what is left of the stocks suffices".to_owned(),
            (true, None) => {
                "doses changed to make do with what is left, the best possible".to_owned()
            }
            (_, Some(gap)) => format!("doses changed to make do with what is left; {gap}"),
        };
        let rests: Vec<String> = left
            .stocks
            .iter()
            .map(|s| {
                format!(
                    "{} {} of {} mL",
                    s.stock,
                    show::three_figures(s.ml_after),
                    show::plain(s.ml_before)
                )
            })
            .collect();
        out.push_str(&wrapped(&format!("Left over ({what}): {}.", rests.join(", ")), 2));
    }
    if let Some(dispenser) = &report.dispenser {
        if !out.is_empty() {
            out.push('\n');
        }
        out.push_str(&in_steps(dispenser));
    }
    out
}

fn in_steps(report: &DispenserReport) -> String {
    let mut out = wrapped(&described(report), 2);
    out.push_str(&dose_table::wide_steps(report));
    out.push('\n');
    let mut rows = table(&[
        ("missed, in tolerances", Side::Left),
        ("beyond", Side::Right),
        ("without steps", Side::Right),
        ("inside", Side::Right),
        ("without steps", Side::Right),
        ("best?", Side::Left),
    ]);
    for water in &report.waters {
        rows.add_row([
            format!("{} {}", water.number, water.target),
            show::fixed(water.misses[0], 2),
            show::fixed(water.misses_without_steps[0], 2),
            show::fixed(water.misses[1], 2),
            show::fixed(water.misses_without_steps[1], 2),
            if water.proved { "proved" } else { "NOT PROVED" }.to_owned(),
        ]);
    }
    out.push_str(&table_text(&rows));
    let worst = report
        .waters
        .iter()
        .flat_map(|w| w.doses.iter().map(move |d| (d, w)))
        .max_by(|a, b| a.0.error_percent.total_cmp(&b.0.error_percent));
    if let Some((dose, water)) = worst {
        out.push_str(&wrapped(
            &format!(
                "The {} measures no dose worse than to ± {} % (k = 2): {} in {}.",
                report.kind,
                show::plus_minus(dose.error_percent),
                dose.stock,
                water.target
            ),
            2,
        ));
    }
    let open = |w: &&SteppedWater| w.stages.iter().any(|stage| !stage.proved);
    for water in report.waters.iter().filter(open) {
        let why = if water.out_of_time {
            "time ran out"
        } else {
            "the arithmetic is not exact enough to decide"
        };
        out.push_str(&wrapped(
            &format!(
                "! {} {}: {why}. Other steps could be better: {}.",
                water.number,
                water.target,
                gaps(water)
            ),
            2,
        ));
    }
    for water in &report.waters {
        for dilution in &water.dilutions {
            out.push_str(&wrapped(
                &format!(
                    "! {} {}: {} mL of {} for a bottle is less than the {} mL that can be \
                     delivered. Thin it {} times ({} mL of stock and water to 100 mL), and take \
                     {} mL of that.",
                    water.number,
                    water.target,
                    show::three_figures(dilution.ml_per_bottle),
                    dilution.stock,
                    show::plain(dilution.least_ml),
                    dilution.fold,
                    show::plain(dilution.stock_ml_per_100_ml),
                    show::three_figures(dilution.diluted_ml_per_bottle),
                ),
                2,
            ));
        }
    }
    out
}

/// The style of all waters in one sentence.
pub(super) fn of_style(style: &StyleReport) -> String {
    let tried = |what: &str| {
        style.tried.map_or(String::new(), |n| format!(" (the best of {n} {what} that were tried)"))
    };
    if !style.ratios.is_empty() {
        let ratios: Vec<String> =
            style.ratios.iter().map(|(of, ratio)| format!("{of} {ratio}")).collect();
        let pairs = tried("pairs of ratios");
        return format!("One style in all waters: {}{pairs}.", ratios.join(" and "));
    }
    match style.stocks.as_slice() {
        [] => format!(
            "NOT one style: no set of stocks can be in every water, each with its least dose{}; the \
             waters are planned without it.",
            style.tried.map_or(String::new(), |n| format!(" ({n} sets were tried)"))
        ),
        stocks => {
            let sets = tried("sets");
            match style.missing.as_slice() {
                [] => format!("One style: every water is made of {}{sets}.", stocks.join(", ")),
                missing => format!(
                    "NOT one style: of {}{sets} less than the least dose: {}.",
                    stocks.join(", "),
                    missing.join("; ")
                ),
            }
        }
    }
}

/// The dispenser in one sentence.
fn described(report: &DispenserReport) -> String {
    let amount = |v: f64| format!("{} {}", show::plain(v), report.unit);
    let (step, error) = (amount(report.step), amount(report.error));
    if let Some(counted) = report.counted {
        let scatter = match report.scatter {
            scatter if scatter > 0.0 => format!(", each by {} more", amount(scatter)),
            _ => String::new(),
        };
        return format!(
            "With the {} `{}`: {counted} of {step}, all of them off by up to {error}{scatter}; at \
             least {}. For a bottle:",
            report.kind,
            report.name,
            amount(report.least),
        );
    }
    let holds = report.holds.map(|holds| format!(", holds {}", amount(holds)));
    let each = if report.holds.is_some() { " a stroke" } else { "" };
    let off = match report.off_percent {
        off if off > 0.0 => format!(" and {} % of the dose", show::plain(off)),
        _ => String::new(),
    };
    format!(
        "With the {} `{}`: steps of {step}, at least {}{}, error {error}{each}{off}; {} for a bottle.",
        report.kind,
        report.name,
        amount(report.least),
        holds.unwrap_or_default(),
        report.unit,
    )
}

/// How much better each stage could be, in words.
fn gaps(water: &SteppedWater) -> String {
    let name = |stage: &str| match stage {
        "largest_miss" => "the largest miss",
        "misses_beyond" => "misses beyond tolerance",
        "misses_inside" => "misses inside tolerance",
        "stocks" => "the number of stocks",
        _ => "a later objective",
    };
    let open: Vec<String> = water
        .stages
        .iter()
        .filter(|stage| !stage.proved)
        .map(|stage| {
            let figures = |v: f64| show::four_figures(v);
            let (bound, value) = (figures(stage.bound), figures(stage.value));
            let name = name(stage.stage);
            if bound == value {
                format!("{name} by less than is shown of {value}")
            } else {
                format!("{name} {bound} at best instead of {value}")
            }
        })
        .collect();
    open.join(", ")
}
