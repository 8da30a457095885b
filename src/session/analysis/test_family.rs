//! The attributes of a session as one family of tests, so that more attributes are no more probabilities to
//! see what is not there.
//!
//! An attribute that was named beforehand is tested alone and the others are described. Without one,
//! all are tested together by false-discovery rates: attributes are selected by the smallest of their
//! pairs' p (Benjamini Y., Hochberg Y., J. R. Statist. Soc. B 57 (1995) 289–300), and pairs within the
//! R of m selected are judged at R/m of the usual risk (Benjamini Y., Bogomolov M., J. R. Statist.
//! Soc. B 76 (2014) 297–318; the intervals after Benjamini Y., Yekutieli D., J. Amer. Statist. Assoc.
//! 100 (2005) 71–81). Where no waters differ in any attribute, a session says so wrongly at most at the
//! usual risk; where some do, false attributes are at most that share of those said to differ, on
//! average.

use crate::numerics::{StudentizedRanges, count};
use crate::session::plan::panel::is_significant;

use crate::session::analysis::comparisons::{allow_for_all, holm};
use crate::session::analysis::repeatability::OutlierFlag;
use crate::session::analysis::{AttributeResults, Tested};

/// So many of some p-values are selected at the usual risk by Benjamini and Hochberg's rule.
///
/// ```
/// use waterflight::session::analysis::test_family::selected;
/// // 0.012 ≤ 2/4 of 0.05 and 0.03 ≤ 3/4 of it, so the three smallest are.
/// assert_eq!(selected(&[0.03, 0.012, 0.4, 0.011]), 3);
/// assert_eq!(selected(&[0.02, 0.4, 0.5, 0.6]), 0);
/// ```
#[must_use]
pub fn selected(p: &[f64]) -> usize {
    let mut sorted = p.to_vec();
    sorted.sort_by(f64::total_cmp);
    let all = count(sorted.len());
    let holds = |(at, p): (usize, &f64)| is_significant(p * all / count(at + 1)).then_some(at + 1);
    sorted.iter().enumerate().filter_map(holds).max().unwrap_or(0)
}

/// Judges the attributes of a session as one family: the pairs of waters, and then the tasters.
pub(crate) fn adjust_family(
    found: &mut [AttributeResults],
    primary: Option<&str>,
    ranges: &mut StudentizedRanges,
) {
    let attributes = found.iter().filter(|one| one.model.is_ok()).count();
    let least = |one: &AttributeResults| {
        let pairs = one.model.as_ref().ok()?.differences.iter();
        pairs.map(|pair| pair.p).min_by(f64::total_cmp)
    };
    let differing = selected(&found.iter().filter_map(least).collect::<Vec<_>>());
    for one in found.iter_mut() {
        one.tested = match primary {
            Some(primary) if primary == one.table.attribute => Tested::Alone,
            Some(_) => Tested::Described,
            None if attributes > 1 => Tested::Together { attributes, differing },
            None => Tested::Alone,
        };
        let Ok(model) = &mut one.model else { continue };
        match one.tested {
            Tested::Alone => {}
            Tested::Described => model.differences.iter_mut().for_each(|pair| pair.p = 1.0),
            Tested::Together { .. } => {
                let waters = model.means.len();
                let share = one.tested.share();
                allow_for_all(&mut model.differences, waters, model.multiplicity, share, ranges);
            }
        }
    }
    adjust_terms(found);
    flag_tasters(found);
}

/// Tests of places and of waters before, all of a session allowing for each other.
fn adjust_terms(found: &mut [AttributeResults]) {
    let mut tests: Vec<&mut Option<f64>> = found
        .iter_mut()
        .filter(|one| one.tested != Tested::Described)
        .flat_map(|one| &mut one.terms)
        .map(|term| &mut term.p)
        .filter(|p| p.is_some())
        .collect();
    let alone: Vec<f64> = tests.iter().filter_map(|p| **p).collect();
    for (p, adjusted) in tests.iter_mut().zip(holm(&alone)) {
        **p = Some(adjusted);
    }
    let described = found.iter_mut().filter(|one| one.tested == Tested::Described);
    described.flat_map(|one| &mut one.terms).for_each(|term| term.p = None);
}

/// Marks the tasters who stand apart, allowing for all of them, for both reasons, and for all
/// attributes (Holm). Where the waters cannot be told apart nobody is marked: there is no order to
/// follow, and it does not matter who repeats worse. Who goes against the rest may be the very reason why
/// the panel cannot tell, so for that the rest must, which its p holds already.
fn flag_tasters(found: &mut [AttributeResults]) {
    let judged = || found.iter().enumerate().filter(|(_, one)| one.tested != Tested::Described);
    let mut tests: Vec<(usize, usize, OutlierFlag, f64)> = Vec::new();
    for (at, one) in judged() {
        for (taster, check) in one.panel.tasters.iter().enumerate() {
            tests.extend(check.p_repeat.map(|p| (at, taster, OutlierFlag::RepeatsWorse, p)));
            tests.extend(check.p_against.map(|p| (at, taster, OutlierFlag::AgainstTheOthers, p)));
        }
    }
    let alone: Vec<f64> = tests.iter().map(|test| test.3).collect();
    for ((at, taster, mark, _), p) in tests.into_iter().zip(holm(&alone)) {
        let Some(one) = found.get_mut(at) else { continue };
        let differing = one.waters_differ();
        let Some(check) = one.panel.tasters.get_mut(taster) else { continue };
        match mark {
            OutlierFlag::RepeatsWorse => check.p_repeat = Some(p),
            _ => check.p_against = Some(p),
        }
        if is_significant(p) && (differing || mark == OutlierFlag::AgainstTheOthers) {
            check.marks.push(mark);
        }
    }
    for one in found.iter_mut().filter(|one| one.waters_differ()) {
        for check in one.panel.tasters.iter_mut().filter(|c| c.spread.is_some_and(|s| s <= 0.0)) {
            check.marks.push(OutlierFlag::NoSpread);
        }
    }
}
