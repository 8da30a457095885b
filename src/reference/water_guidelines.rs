//! Published values for drinking water and for brewing water, beside which a water can be put.
//!
//! World Health Organization, "Guidelines for drinking-water quality", fourth edition incorporating the
//! first and second addenda (2022): health-based guideline values, and taste thresholds of its chapter
//! on acceptability. Directive (EU) 2020/2184, annex I parts B and C. United States Environmental
//! Protection Agency, 40 CFR 143.3 secondary standards and 40 CFR 141.62. For brewing: the published
//! standard of the Specialty Coffee Association of America, "Water for Brewing Specialty Coffee"
//! (2009). All from memory, but for hardness: its limits stand in the fact sheet on hardness of the
//! guidelines, chapter 12 of the fourth edition (looked up in a copy); national rules decide, and change.

/// What a value is set on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Subject {
    /// Chloride, mg/L.
    Chloride,
    /// Sulfate, mg/L.
    Sulfate,
    /// Sodium, mg/L.
    Sodium,
    /// Nitrate, mg/L.
    Nitrate,
    /// Dissolved solids, mg/L.
    DissolvedSolids,
    /// Hardness, mg/L as CaCO3.
    Hardness,
    /// Calcium hardness, mg/L as CaCO3.
    CalciumHardness,
    /// Alkalinity, mg/L as CaCO3.
    Alkalinity,
    /// pH.
    Ph,
    /// Conductivity at 20 °C, µS/cm.
    Conductivity20,
}

/// A published value or range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Guideline {
    /// Document, with its year.
    pub document: &'static str,
    /// What kind of value it is there.
    pub kind: &'static str,
    /// What it is set on.
    pub subject: Subject,
    /// Least, where there is one.
    pub at_least: Option<f64>,
    /// Most, where there is one.
    pub at_most: Option<f64>,
    /// The value aimed at, where the document names one.
    pub aim: Option<f64>,
}

const WHO: &str = "WHO, Guidelines for drinking-water quality, 4th ed. (2022), from memory";
const WHO_HARDNESS: &str = "WHO, Guidelines for drinking-water quality, 4th ed. (2022), fact sheet on hardness: limescale above, corroded pipes below";
const EU: &str = "Directive (EU) 2020/2184, annex I, from memory";
const EPA: &str = "US EPA, 40 CFR 141.62 and 143.3, from memory";
const BREWING: &str = "Specialty Coffee Association of America, Water for Brewing Specialty Coffee (2009), from memory";

const fn at_most(
    document: &'static str,
    kind: &'static str,
    subject: Subject,
    most: f64,
) -> Guideline {
    Guideline { document, kind, subject, at_least: None, at_most: Some(most), aim: None }
}

const fn between(
    document: &'static str,
    kind: &'static str,
    subject: Subject,
    least: f64,
    most: f64,
    aim: Option<f64>,
) -> Guideline {
    Guideline { document, kind, subject, at_least: Some(least), at_most: Some(most), aim }
}

/// All of them, drinking water first.
pub const GUIDELINES: &[Guideline] = &[
    at_most(WHO, "health-based", Subject::Nitrate, 50.0),
    at_most(WHO, "taste", Subject::Chloride, 250.0),
    at_most(WHO, "taste", Subject::Sulfate, 250.0),
    at_most(WHO, "taste", Subject::Sodium, 200.0),
    // "Above about 200 mg/l can result in scale deposition, particularly on heating"; waters "of less
    // than about 100 mg/l have a low buffering capacity and may be more corrosive to water pipes".
    between(WHO_HARDNESS, "acceptability", Subject::Hardness, 100.0, 200.0, None),
    at_most(WHO, "taste (good below this)", Subject::DissolvedSolids, 600.0),
    at_most(EU, "parametric", Subject::Nitrate, 50.0),
    at_most(EU, "indicator", Subject::Chloride, 250.0),
    at_most(EU, "indicator", Subject::Sulfate, 250.0),
    at_most(EU, "indicator", Subject::Sodium, 200.0),
    at_most(EU, "indicator", Subject::Conductivity20, 2500.0),
    between(EU, "indicator", Subject::Ph, 6.5, 9.5, None),
    // 10 mg/L as nitrogen.
    at_most(EPA, "maximum contaminant level", Subject::Nitrate, 44.3),
    at_most(EPA, "secondary", Subject::Chloride, 250.0),
    at_most(EPA, "secondary", Subject::Sulfate, 250.0),
    at_most(EPA, "secondary", Subject::DissolvedSolids, 500.0),
    between(EPA, "secondary", Subject::Ph, 6.5, 8.5, None),
    between(BREWING, "recommended", Subject::DissolvedSolids, 75.0, 250.0, Some(150.0)),
    between(BREWING, "recommended", Subject::CalciumHardness, 17.0, 85.0, Some(68.0)),
    Guideline {
        document: BREWING,
        kind: "recommended",
        subject: Subject::Alkalinity,
        at_least: None,
        at_most: None,
        aim: Some(40.0),
    },
    Guideline {
        document: BREWING,
        kind: "recommended",
        subject: Subject::Sodium,
        at_least: None,
        at_most: None,
        aim: Some(10.0),
    },
    between(BREWING, "recommended", Subject::Ph, 6.5, 7.5, Some(7.0)),
];
