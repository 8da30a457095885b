//! What the scores of one attribute say, in numbers.

use serde::{Serialize, Serializer};

use crate::session::analysis::MixedFit;
use crate::session::analysis::RankTest;
use crate::session::analysis::TasterCheck;
use crate::session::analysis::design::{ExtraTerm, LeftOutBecause, TermStatus};
use crate::session::analysis::icc::Correlation;
use crate::session::analysis::mixed::{FTest, RandomEffect, Variances};
use crate::session::analysis::panel_scatter::minimum_detectable_difference;
use crate::session::analysis::repeatability::{OutlierFlag, RepeatScatter};
use crate::session::analysis::{AttributeResults, Multiplicity, TermCheck, Tested};
use crate::session::plan::panel::is_significant;
use crate::session::results::given::GivenScores;

/// A water's mean.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MeanScore {
    /// The water.
    pub water: String,
    /// Cups scored.
    pub cups: usize,
    /// The mean of these scores as they were given.
    pub raw_mean: f64,
    /// The mean that is compared, see [`ScoreNumbers::means_adjusted_for`].
    pub mean: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// Its degrees of freedom.
    pub df: f64,
    /// 95 % interval.
    pub interval: (f64, f64),
}

/// The difference of two waters.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ScoreDifference {
    /// The water with the higher mean.
    pub higher: String,
    /// The other.
    pub lower: String,
    /// Higher less lower.
    pub difference: f64,
    /// Standard error.
    pub standard_error: f64,
    /// Degrees of freedom.
    pub df: f64,
    /// 95 % interval that holds for all pairs at once.
    pub interval: (f64, f64),
    /// p of this pair alone.
    pub p_alone: f64,
    /// p allowing for all pairs and all attributes tested beside it; nothing where the attribute is
    /// described and not tested.
    pub p: Option<f64>,
}

/// What one place on the tray, or one water tasted before, adds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EffectNumbers {
    /// `cup 1`, or the water.
    pub of: String,
    /// What it adds to a score.
    pub adds: f64,
    /// 95 % interval that holds for all at once.
    pub interval: (f64, f64),
}

/// Order or carry-over.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TermNumbers {
    /// `place` or `before`.
    pub term: &'static str,
    /// Whether the means are corrected for it.
    pub corrected: bool,
    /// Why it was not tested, where the design cannot carry it.
    pub not_tested: Option<&'static str>,
    /// Its test by itself, where the design can carry it.
    pub test: Option<FTest>,
    /// p allowing for all such tests of the session; nothing where the attribute is not tested.
    pub p: Option<f64>,
    /// Its effects.
    pub effects: Vec<EffectNumbers>,
}

/// One taster by name, with what was looked at.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NamedTaster<C> {
    /// The taster.
    pub taster: String,
    /// What was found.
    #[serde(flatten)]
    pub check: C,
}

/// A test that all waters are ranked alike: Friedman's where everyone judged all, and else its
/// generalisation by Skillings and Mack.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FriedmanNumbers {
    /// `Friedman` or `Skillings–Mack`.
    pub test: &'static str,
    /// Tasters, or trays.
    pub blocks: usize,
    /// The statistic.
    pub statistic: f64,
    /// Degrees of freedom.
    pub df: usize,
    /// p from χ².
    pub p_chi_square: f64,
    /// Exact p, where the panel is small enough.
    pub p_exact: Option<f64>,
    /// Kendall's W.
    pub kendall_w: Option<f64>,
}

/// The results of one attribute.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct ScoreNumbers {
    /// The attribute.
    pub attribute: String,
    /// Cups scored.
    pub cups: usize,
    /// Cups missing.
    pub missing: usize,
    /// `alone`, `together` with the other attributes, or `described`: not tested, since another was
    /// named beforehand.
    #[serde(serialize_with = "tested_word")]
    pub tested: Tested,
    /// So many attributes are tested together.
    pub tested_together: usize,
    /// Why there is no model, where there is none.
    pub no_model: Option<String>,
    /// The scores as they were given, with their plain means.
    pub given: GivenScores,
    /// Means, highest first.
    pub means: Vec<MeanScore>,
    /// What the means are adjusted for; nothing where they are the raw means.
    pub means_adjusted_for: Vec<&'static str>,
    /// All pairs.
    pub differences: Vec<ScoreDifference>,
    /// Runs of waters, in the order of the means, of which no two were found to differ; each as long as can
    /// be, two waters at least. Empty where the attribute is described and not tested.
    pub not_found_to_differ: Vec<Vec<String>>,
    /// `tukey` or `holm`.
    pub allowed_for_pairs_by: Option<&'static str>,
    /// Test that all waters are alike.
    pub all_alike: Option<FTest>,
    /// The smallest difference that this session would have found with the usual power.
    pub minimum_detectable_difference: Option<f64>,
    /// Place on the tray, water before.
    pub terms: Vec<TermNumbers>,
    /// Variances.
    pub variances: Option<Variances>,
    /// Random parts that came out as zero.
    pub singular: Vec<&'static str>,
    /// The classical test of complete trays, judged by tasters by waters.
    pub classical: Option<FTest>,
    /// Friedman's test on the tasters' means, or that of Skillings and Mack where means are missing.
    pub friedman: Option<FriedmanNumbers>,
    /// Scatter of all repeats of a water by a taster.
    pub repeats: Option<RepeatScatter>,
    /// Their intraclass correlation.
    pub repeats_icc: Option<Correlation>,
    /// Scatter of hidden duplicates alone.
    pub hidden_duplicates: Option<RepeatScatter>,
    /// Their intraclass correlation.
    pub hidden_duplicates_icc: Option<Correlation>,
    /// Agreement of single tasters about the waters, levels not counted: ICC(3,1).
    pub agreement_icc: Option<Correlation>,
    /// The tasters.
    pub tasters: Vec<NamedTaster<TasterCheck>>,
}

/// Difference of a mean from the raw one that is rounding, as a share. Our choice: sums of a few
/// thousand scores leave 1e-12.
const ROUNDING: f64 = 1e-9;

/// Why a taster stands apart, in words.
pub(crate) fn marks_words(marks: &[OutlierFlag], between: &str) -> String {
    marks.iter().map(ToString::to_string).collect::<Vec<_>>().join(between)
}

fn tested_word<S: Serializer>(tested: &Tested, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(match tested {
        Tested::Alone => "alone",
        Tested::Together { .. } => "together",
        Tested::Described => "described",
    })
}

pub(crate) fn friedman(test: &RankTest) -> FriedmanNumbers {
    FriedmanNumbers {
        test: if test.complete { "Friedman" } else { "Skillings–Mack" },
        blocks: test.blocks,
        statistic: test.statistic,
        df: test.df,
        p_chi_square: test.p_chi_square,
        p_exact: test.p_exact,
        kendall_w: test.agreement,
    }
}

fn term(check: &TermCheck, waters: &[String]) -> TermNumbers {
    let term = &check.test;
    let of = |level: usize| match term.term {
        ExtraTerm::Order => format!("cup {level}"),
        ExtraTerm::CarryOver => format!("after {}", waters.get(level).map_or("?", String::as_str)),
    };
    let carried = matches!(term.status, TermStatus::In(_));
    TermNumbers {
        term: match term.term {
            ExtraTerm::Order => "place",
            ExtraTerm::CarryOver => "before",
        },
        corrected: check.corrected,
        not_tested: match term.status {
            TermStatus::Out(LeftOutBecause::TooFewCups) => Some("too few cups to test it"),
            TermStatus::In(_) if term.test.is_none() => Some("too few cups to test it"),
            TermStatus::In(_) | TermStatus::Out(_) => None,
        },
        test: term.test.filter(|_| carried),
        p: check.p.filter(|_| carried),
        effects: term
            .effects
            .iter()
            .map(|e| EffectNumbers { of: of(e.level), adds: e.estimate, interval: e.interval })
            .collect(),
    }
}

impl ScoreNumbers {
    /// The numbers of one attribute.
    #[must_use]
    pub fn new(found: &AttributeResults) -> Self {
        let (table, panel) = (&found.table, &found.panel);
        let mut numbers = Self {
            attribute: table.attribute.clone(),
            cups: table.rows.len(),
            missing: table.missing,
            tested: found.tested,
            tested_together: match found.tested {
                Tested::Together { attributes, .. } => attributes,
                Tested::Alone => 1,
                Tested::Described => 0,
            },
            no_model: found.model.as_ref().err().map(ToString::to_string),
            given: GivenScores::new(table),
            terms: found.terms.iter().map(|t| term(t, &table.waters)).collect(),
            classical: found.classical,
            friedman: found.ranks.as_ref().map(friedman),
            repeats: panel.repeat,
            repeats_icc: panel.repeats,
            hidden_duplicates: panel.hidden,
            hidden_duplicates_icc: panel.hidden_correlation,
            agreement_icc: panel.agreement,
            tasters: panel
                .tasters
                .iter()
                .map(|check| NamedTaster {
                    taster: table.tasters.get(check.taster).cloned().unwrap_or_default(),
                    check: check.clone(),
                })
                .collect(),
            ..Self::default()
        };
        if let Ok(fit) = &found.model {
            let gaps = table.replicates().is_none();
            numbers.take(fit, &table.waters, (found.tested != Tested::Described, gaps));
        }
        numbers
    }

    fn take(&mut self, fit: &MixedFit, waters: &[String], (tested, gaps): (bool, bool)) {
        let name = |water: usize| waters.get(water).cloned().unwrap_or_default();
        self.means = fit
            .means
            .iter()
            .map(|m| MeanScore {
                water: name(m.water),
                cups: m.cups,
                raw_mean: m.raw,
                mean: m.mean,
                standard_error: m.standard_error,
                df: m.df,
                interval: m.interval,
            })
            .collect();
        self.means.sort_by(|a, b| b.mean.total_cmp(&a.mean));
        let corrected = self.terms.iter().filter(|term| term.corrected);
        self.means_adjusted_for = corrected.map(TermNumbers::words).collect();
        // Where not everyone scored every water equally often, each taster counts alike all the same.
        let moved = |m: &MeanScore| (m.mean - m.raw_mean).abs() > ROUNDING * m.mean.abs().max(1.0);
        if gaps && self.means.iter().any(moved) {
            self.means_adjusted_for.insert(0, "who scored what");
        }
        self.differences = fit
            .differences
            .iter()
            .map(|d| {
                let first_is_higher = d.estimate >= 0.0;
                let (higher, lower) =
                    if first_is_higher { (d.first, d.second) } else { (d.second, d.first) };
                let interval =
                    if first_is_higher { d.interval } else { (-d.interval.1, -d.interval.0) };
                ScoreDifference {
                    higher: name(higher),
                    lower: name(lower),
                    difference: d.estimate.abs(),
                    standard_error: d.standard_error,
                    df: d.df,
                    interval,
                    p_alone: d.p_alone,
                    p: tested.then_some(d.p),
                }
            })
            .collect();
        self.differences.sort_by(|a, b| b.difference.total_cmp(&a.difference));
        if tested {
            self.not_found_to_differ = self.runs_not_found_to_differ();
        }
        self.allowed_for_pairs_by = Some(match fit.multiplicity {
            Multiplicity::Tukey => "tukey",
            Multiplicity::Holm => "holm",
        });
        self.all_alike = fit.waters;
        self.minimum_detectable_difference = minimum_detectable_difference(fit);
        self.variances = Some(fit.variances.not_negative());
        self.singular = fit
            .zero
            .iter()
            .map(|part| match part {
                RandomEffect::Taster => "taster",
                RandomEffect::TasterByWater => "taster_by_water",
            })
            .collect();
    }
}

impl ScoreNumbers {
    fn runs_not_found_to_differ(&self) -> Vec<Vec<String>> {
        let names: Vec<&str> = self.means.iter().map(|m| m.water.as_str()).collect();
        let differ = |a: &str, b: &str| {
            let pair = self
                .differences
                .iter()
                .find(|d| (d.higher == a && d.lower == b) || (d.higher == b && d.lower == a));
            pair.and_then(|d| d.p).is_some_and(is_significant)
        };
        let alike = |run: &[&str]| {
            run.iter().enumerate().all(|(n, a)| run.iter().skip(n + 1).all(|b| !differ(a, b)))
        };
        let mut runs: Vec<Vec<String>> = Vec::new();
        let mut covered = 0;
        for first in 0..names.len() {
            let ends = (first + 2..=names.len()).rev();
            let longest = ends.filter_map(|end| names.get(first..end)).find(|run| alike(run));
            let Some(run) = longest else { continue };
            // A run inside of an earlier one says nothing new.
            if first + run.len() > covered {
                covered = first + run.len();
                runs.push(run.iter().map(|name| (*name).to_owned()).collect());
            }
        }
        runs
    }
}

#[cfg(test)]
mod tests {
    use super::friedman;
    use crate::session::analysis::Ranked;
    use crate::session::analysis::ranked::places;
    use crate::session::analysis::ranks::rank_test;

    #[test]
    fn a_test_is_called_by_its_name() {
        let named = |orders: &[&[usize]]| {
            let blocks: Vec<Ranked> = orders
                .iter()
                .map(|order| Ranked::from_values(&places(order.iter().copied())))
                .collect();
            rank_test(&blocks, 3).map(|test| friedman(&test).test)
        };
        assert_eq!(named(&[&[0, 1, 2], &[1, 0, 2]]), Some("Friedman"));
        assert_eq!(named(&[&[0, 1], &[1, 2], &[0, 2]]), Some("Skillings–Mack"));
    }
}
