//! A water beside the limits of a machine, as text.

use crate::assessment::MachineReport;
use crate::assessment::machine::{LimitVerdict, MachineLimescale, Verdict};
use crate::assessment::scale_range::ScaleRange;
use crate::quantities::show;
use crate::text::table::{each, wrapped};

/// Each limit with its verdict, and the limescale of the boilers.
pub(crate) fn text(report: &MachineReport) -> String {
    let mut out = wrapped(&format!("  beside the limits of {}:", report.machine), 4);
    out.push_str(&each("    ", verdicts(report)));
    out
}

/// The same, one line each.
pub(crate) fn verdicts(report: &MachineReport) -> Vec<String> {
    let limits = report.limits.iter().map(line);
    let not_checked = report.not_checked.iter().map(|words| format!("not checked: {words}"));
    limits.chain(not_checked).chain(report.limescale.iter().map(limescale)).collect()
}

fn line(limit: &LimitVerdict) -> String {
    let LimitVerdict { quantity, allowed, unit, .. } = limit;
    let value = match (limit.value, limit.between) {
        (Some(value), _) => format!("{quantity} {} {unit}", shown(limit, value)),
        (None, Some([least, most])) => {
            format!("{quantity} {} to {} {unit}", shown(limit, least), shown(limit, most))
        }
        (None, None) => quantity.clone(),
    };
    let verdict = match (limit.verdict, limit.outside_by) {
        (Verdict::Within, _) => "within".to_owned(),
        (Verdict::Outside, Some(by)) => {
            let least = if limit.value.is_none() { "at least " } else { "" };
            format!("OUTSIDE by {least}{}", size(limit, by))
        }
        (Verdict::Outside, None) => "OUTSIDE".to_owned(),
        (Verdict::NotKnown, _) => match &limit.withheld {
            Some(reason) => format!("not known, {reason}"),
            None => "not known".to_owned(),
        },
    };
    format!("{}: {verdict} ({allowed})", value.trim_end())
}

/// Key of a limit on pH, which has two decimals.
const PH: &str = "ph";

/// A value as waters show it.
fn shown(limit: &LimitVerdict, value: f64) -> String {
    if limit.limit == PH {
        return show::fixed(value, 2);
    }
    show::three_figures(value)
}

/// How far outside, with two figures.
fn size(limit: &LimitVerdict, by: f64) -> String {
    /// Our choice: no limit is that fine.
    const MOST_DECIMALS: usize = 4;
    if limit.limit == PH {
        return show::fixed(by.abs(), 2);
    }
    show::fixed(by.abs(), show::decimals_for(by, 2, MOST_DECIMALS))
}

/// The limits that are not kept, and those without a verdict, in one line; `None` when all are
/// kept.
pub(crate) fn outside(report: &MachineReport) -> Option<String> {
    let each: Vec<String> = report
        .outside()
        .map(|limit| {
            let by = limit.outside_by.unwrap_or_default();
            let side = if by < 0.0 { "below" } else { "above" };
            format!("{} {} {side} ({})", limit.quantity, size(limit, by), limit.allowed)
        })
        .collect();
    not_kept(report, ("outside", "not known"), &each)
}

/// The same by name and side only.
pub(crate) fn outside_in_short(report: &MachineReport) -> Option<String> {
    let each: Vec<String> = report
        .outside()
        .map(|limit| {
            let side = if limit.outside_by.unwrap_or_default() < 0.0 { "below" } else { "above" };
            format!("{} {side} {}", limit.quantity, limit.allowed)
        })
        .collect();
    not_kept(report, ("NOT KEPT", "NOT KNOWN"), &each)
}

/// Limits that are not kept, in words of the caller, and those without a verdict, each behind its head;
/// `None` when all are kept.
fn not_kept(report: &MachineReport, heads: (&str, &str), each: &[String]) -> Option<String> {
    let unknown = report.limits.iter().filter(|limit| limit.verdict == Verdict::NotKnown);
    let unknown: Vec<&str> = unknown.map(|limit| limit.quantity.as_str()).collect();
    let mut parts = Vec::new();
    if !each.is_empty() {
        parts.push(format!("{}: {}", heads.0, each.join("; ")));
    }
    if !unknown.is_empty() {
        parts.push(format!("{}: {}", heads.1, unknown.join(", ")));
    }
    (!parts.is_empty()).then(|| parts.join("; "))
}

fn limescale(of: &MachineLimescale) -> String {
    let head = format!("{} boiler, {} L a day", of.boiler, show::plain(of.litres_a_day));
    let Some([least, most]) = of.g_a_year else {
        return format!("{head}: the amount of limescale is not known");
    };
    let words = |between: [f64; 2]| ScaleRange { between, least_since: of.least_since };
    let since = of.least_since.map_or(String::new(), |since| format!(", since {since}"));
    let year = words([least, most]);
    let Some(grams) = year.grams() else { return format!("{head}: {}", year.in_words("")) };
    let service = match (of.g_to_service, of.service_days) {
        (Some(between), Some(days)) => {
            let service = words(between).grams().unwrap_or("0".to_owned());
            format!(
                "{service} g of limescale from one service to the next ({days} days), {grams} g"
            )
        }
        _ => format!("{grams} g of limescale"),
    };
    format!("{head}: {service} a year{since}, if all that can precipitate stays in it")
}
