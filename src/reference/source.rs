//! Where a number comes from.

use std::fmt;

/// How far a number can be trusted to be what its source says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Looked up in the publication, or in a registry package that transcribes it.
    Published,
    /// A fact of the trade without a citable source.
    CommonPractice,
    /// Recalled and not looked up.
    FromMemory,
}

/// The publication, habit or memory behind a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Source {
    /// Authors, year, work, table or page.
    pub citation: &'static str,
    /// What the program takes from it.
    pub used_for: &'static str,
    /// How it was obtained.
    pub kind: Kind,
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Kind::Published => "published",
            Kind::CommonPractice => "common practice",
            Kind::FromMemory => "from memory",
        })
    }
}

/// Every source the program's own tables rest on, in the order of the job.
pub const SOURCES: &[Source] = &[
    Source {
        citation: "Prohaska T. et al., Standard atomic weights of the elements 2021 (IUPAC Technical Report), Pure Appl. Chem. 94 (2022) 573–600",
        used_for: "molar masses",
        kind: Kind::Published,
    },
    Source {
        citation: "Laliberté M., J. Chem. Eng. Data 54 (2009) 1725–1760; Laliberté M., Cooper W. E., J. Chem. Eng. Data 49 (2004) 1141–1151",
        used_for: "density of stock solutions",
        kind: Kind::Published,
    },
    Source {
        citation: "DIN 38409-6 and ISO 6059: degrees of hardness and hardness as CaCO3",
        used_for: "°dH, °fH, °e, gpg and mg/L as CaCO3",
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Standard Methods for the Examination of Water and Wastewater, 1030 E Checking Correctness of Analyses",
        used_for: "charge-balance limits of base waters; share of bicarbonate in dissolved solids",
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Codex Alimentarius CXG 36-1989, Class Names and the International Numbering System for Food Additives",
        used_for: "INS numbers of the salts",
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Williams E. J., Aust. J. Sci. Res. A 2 (1949) 149–168; König D., Math. Ann. 77 (1916) 453–465; Kramer E. S., Mesner D. M., Discrete Math. 15 (1976) 263–296",
        used_for: "serving orders: balance of places and followings, incomplete blocks",
        kind: Kind::FromMemory,
    },
    Source {
        citation: "FIPS 180-4 (SHA-256); RFC 8439 (ChaCha20); Durstenfeld R., Commun. ACM 7 (1964) 420",
        used_for: "seal of the key, portable draws",
        kind: Kind::FromMemory,
    },
    Source {
        citation: "ISO 4120, ISO 10399, ISO 5495, ISO 8587, ASTM E3009: triangle, duo-trio, paired, ranking and tetrad tests",
        used_for: "procedures and orders of the tests; their tables are computed, not copied",
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Ennis D. M., J. Sens. Stud. 8 (1993) 353–370; Ennis J. M., Jesionka V., J. Sens. Stud. 26 (2011) 371–382",
        used_for: "share of right answers at a distance d′",
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Patterson H. D., Thompson R., Biometrika 58 (1971) 545–554; Giesbrecht F. G., Burns J. C., Biometrics 41 (1985) 477–486; Fai A. H. T., Cornelius P. L., J. Statist. Comput. Simul. 54 (1996) 363–378",
        used_for: "mixed model of scores: REML and degrees of freedom",
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Friedman M., J. Amer. Statist. Assoc. 32 (1937) 675–701; Skillings J. H., Mack G. A., Technometrics 23 (1981) 171–177; Page E. B., J. Amer. Statist. Assoc. 58 (1963) 216–230; Eisinga R. et al., BMC Bioinformatics 18 (2017) 68",
        used_for: "tests of ranks",
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Hunter D. R., Ann. Statist. 32 (2004) 384–406; Shrout P. E., Fleiss J. L., Psychol. Bull. 86 (1979) 420–428; McGraw K. O., Wong S. P., Psychol. Methods 1 (1996) 30–46",
        used_for: "worths from rankings; intraclass correlations",
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Lawless H. T., Heymann H., Sensory Evaluation of Food, 2nd ed. (2010)",
        used_for: "usual spread of scores, on which forecasts rest until a session has measured it",
        kind: Kind::FromMemory,
    },
];
