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
        citation: "CRC Handbook of Chemistry and Physics, 98th ed., Aqueous Solubility of Inorganic Compounds at Various Temperatures, as a public table transcribes it",
        used_for: "solubility of the salts",
        kind: Kind::Published,
    },
    Source {
        citation: "JCGM 100:2008 (GUM), JCGM 101:2008 (Monte Carlo)",
        used_for: "uncertainty of stocks, doses and waters",
        kind: Kind::FromMemory,
    },
    Source {
        citation: "McCleskey R. B., J. Chem. Eng. Data 56 (2011) 317–327; for magnesium sulfate Onsager's law with the pair constant of Nair and Nancollas 1958 (from memory)",
        used_for: "conductivity of diluted stocks",
        kind: Kind::Published,
    },
    Source {
        citation: "Parkhurst D. L., Appelo C. A. J., PHREEQC 3, USGS Techniques and Methods 6-A43 (2013), file phreeqc.dat of 3.8.6",
        used_for: "pH and carbon of bicarbonate stocks left open",
        kind: Kind::Published,
    },
    Source {
        citation: "Standard Methods for the Examination of Water and Wastewater, 2340 C and 2320 B",
        used_for: "titration of diluted stocks",
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Codex Alimentarius CXG 36-1989, Class Names and the International Numbering System for Food Additives",
        used_for: "INS numbers of the salts",
        kind: Kind::FromMemory,
    },
];
