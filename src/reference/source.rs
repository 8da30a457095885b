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

/// What of the job a source is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Topic {
    /// Salts, and what is made of them.
    Stocks,
    /// Analyses, readings, guidelines.
    Waters,
    /// What dissolves, conducts and precipitates.
    Chemistry,
    /// Serving and its methods.
    Tastings,
    /// What scores show.
    Analysis,
    /// What is worth mixing next.
    NextFlight,
}

impl Topic {
    /// All of them, in the order of the job.
    pub const ALL: [Self; 6] = [
        Self::Stocks,
        Self::Waters,
        Self::Chemistry,
        Self::Tastings,
        Self::Analysis,
        Self::NextFlight,
    ];
}

impl fmt::Display for Topic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Stocks => "stocks",
            Self::Waters => "waters",
            Self::Chemistry => "chemistry",
            Self::Tastings => "tastings",
            Self::Analysis => "analysis",
            Self::NextFlight => "next flight",
        })
    }
}

/// The publication, habit or memory behind a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Source {
    /// Authors, year, work, table or page.
    pub citation: &'static str,
    /// What the program takes from it.
    pub used_for: &'static str,
    /// What of the job that is.
    pub about: Topic,
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
        about: Topic::Stocks,
        kind: Kind::Published,
    },
    Source {
        citation: "Laliberté M., J. Chem. Eng. Data 54 (2009) 1725–1760; Laliberté M., Cooper W. E., J. Chem. Eng. Data 49 (2004) 1141–1151",
        used_for: "density of stock solutions",
        about: Topic::Stocks,
        kind: Kind::Published,
    },
    Source {
        citation: "DIN 38409-6 and ISO 6059: degrees of hardness and hardness as CaCO3",
        used_for: "°dH, °fH, °e, gpg and mg/L as CaCO3",
        about: Topic::Waters,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Standard Methods for the Examination of Water and Wastewater, 1030 E Checking Correctness of Analyses",
        used_for: "charge-balance limits of base waters, conductivity and dissolved solids against their ions; share of bicarbonate in dissolved solids",
        about: Topic::Waters,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Livingstone D. A., USGS Professional Paper 440-G (1963); Directive 80/778/EEC; Standard Methods 4500-SiO2 A; ISO 7888",
        used_for: "what an analysis does not give: estimates, limits that widen a conductivity, 20 °C to 25 °C",
        about: Topic::Waters,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "CRC Handbook of Chemistry and Physics, 98th ed., Aqueous Solubility of Inorganic Compounds at Various Temperatures, as a public table transcribes it",
        used_for: "solubility of the salts",
        about: Topic::Stocks,
        kind: Kind::Published,
    },
    Source {
        citation: "JCGM 100:2008 (GUM), JCGM 101:2008 (Monte Carlo)",
        used_for: "uncertainty of stocks, doses and waters",
        about: Topic::Stocks,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Parkhurst D. L., Appelo C. A. J., PHREEQC 3, USGS Techniques and Methods 6-A43 (2013), file phreeqc.dat of 3.8.6",
        used_for: "pH and carbon of bicarbonate stocks left open; what dissolves under carbon dioxide",
        about: Topic::Stocks,
        kind: Kind::Published,
    },
    Source {
        citation: "Standard Methods for the Examination of Water and Wastewater, 2340 C and 2320 B",
        used_for: "titration of diluted stocks",
        about: Topic::Stocks,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Codex Alimentarius CXG 36-1989, Class Names and the International Numbering System for Food Additives",
        used_for: "INS numbers of the salts",
        about: Topic::Stocks,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Parkhurst D. L., Appelo C. A. J., Description of Input and Examples for PHREEQC Version 3, USGS Techniques and Methods 6-A43 (2013); database phreeqc.dat of version 3.8.6",
        used_for: "constants of species and minerals, activity coefficients, mobilities against temperature",
        about: Topic::Chemistry,
        kind: Kind::Published,
    },
    Source {
        citation: "Plummer L. N., Busenberg E., Geochim. Cosmochim. Acta 46 (1982) 1011–1040",
        used_for: "solubility of calcite (the second of two constants) and aragonite",
        about: Topic::Chemistry,
        kind: Kind::Published,
    },
    Source {
        citation: "Ball J. W., Nordstrom D. K., User's manual for WATEQ4F, USGS Open-File Report 91-183 (1991)",
        used_for: "solubility of brucite and nesquehonite",
        about: Topic::Chemistry,
        kind: Kind::Published,
    },
    Source {
        citation: "Directive 2014/68/EU on pressure equipment, article 1",
        used_for: "pressure from which a closed concentrate is cautioned of",
        about: Topic::Stocks,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Martell A. E., Smith R. M., NIST Critically Selected Stability Constants of Metal Complexes 46.2, as in minteq.v4.dat",
        used_for: "citric acid and its pairs",
        about: Topic::Chemistry,
        kind: Kind::Published,
    },
    Source {
        citation: "The same compilation",
        used_for: "lactic acid and its pairs",
        about: Topic::Chemistry,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Bradley D. J., Pitzer K. S., J. Phys. Chem. 83 (1979) 1599–1603",
        used_for: "permittivity of water",
        about: Topic::Chemistry,
        kind: Kind::Published,
    },
    Source {
        citation: "Wagner W., Pruß A., J. Phys. Chem. Ref. Data 31 (2002) 387–535, equation 2.6",
        used_for: "density of water above the range of the stocks",
        about: Topic::Chemistry,
        kind: Kind::Published,
    },
    Source {
        citation: "IAPWS SR6-08(2011), Properties of Liquid Water at 0.1 MPa",
        used_for: "viscosity of water",
        about: Topic::Chemistry,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "CODATA 2018, Tiesinga E. et al., Rev. Mod. Phys. 93 (2021) 025010",
        used_for: "constants of physics",
        about: Topic::Chemistry,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "CRC Handbook of Chemistry and Physics, Ionic conductivity and diffusion at infinite dilution",
        used_for: "limiting ionic conductivities, for waters and diluted stocks alike",
        about: Topic::Chemistry,
        kind: Kind::Published,
    },
    Source {
        citation: "CRC Handbook of Chemistry and Physics, Equivalent conductivity of electrolytes in aqueous solution",
        used_for: "fit of the conductivity model",
        about: Topic::Chemistry,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "McCleskey R. B., J. Chem. Eng. Data 56 (2011) 317–327; Larionov E. G., Kryukov P. A. (1984)",
        used_for: "fit of the conductivity model to sulfates",
        about: Topic::Chemistry,
        kind: Kind::Published,
    },
    Source {
        citation: "Robinson R. A., Stokes R. H., Electrolyte Solutions, 2nd ed. (1959), chapter 7",
        used_for: "conductivity of a pair of ions",
        about: Topic::Chemistry,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Standard Methods for the Examination of Water and Wastewater, 2330 Calcium Carbonate Saturation; ISO 9963-1",
        used_for: "precipitation potential; end point of the alkalinity titration",
        about: Topic::Chemistry,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Larson T. E., Skold R. V., Corrosion 14 (1958) 285t–288t; Nickel Institute; ABMA and ASME (CRTD 34), limits of boiler water; WHO; EN 12502-2",
        used_for: "classes of the corrosion hints and of boiler water",
        about: Topic::Waters,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Scales and temperature compensation of hand-held conductivity meters; chloride in heated water",
        used_for: "ppm readings, judging a reading, chloride caution",
        about: Topic::Waters,
        kind: Kind::CommonPractice,
    },
    Source {
        citation: "WHO, Guidelines for drinking-water quality, 4th ed. (2022); Directive (EU) 2020/2184; US EPA 40 CFR 141.62 and 143.3; Specialty Coffee Association of America (2009)",
        used_for: "published values beside which a water is put",
        about: Topic::Waters,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Williams E. J., Aust. J. Sci. Res. A 2 (1949) 149–168; König D., Math. Ann. 77 (1916) 453–465; Kramer E. S., Mesner D. M., Discrete Math. 15 (1976) 263–296",
        used_for: "serving orders: balance of places and followings, incomplete blocks",
        about: Topic::Tastings,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "FIPS 180-4 (SHA-256); RFC 8439 (ChaCha20); Durstenfeld R., Commun. ACM 7 (1964) 420",
        used_for: "seal of the key, portable draws",
        about: Topic::Tastings,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "ISO 4120, ISO 10399, ISO 5495, ISO 8587, ASTM E3009: triangle, duo-trio, paired, ranking and tetrad tests",
        used_for: "procedures and orders of the tests; their tables are computed, not copied",
        about: Topic::Tastings,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Ennis D. M., J. Sens. Stud. 8 (1993) 353–370; Ennis J. M., Jesionka V., J. Sens. Stud. 26 (2011) 371–382",
        used_for: "share of right answers at a distance d′",
        about: Topic::Tastings,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Patterson H. D., Thompson R., Biometrika 58 (1971) 545–554; Giesbrecht F. G., Burns J. C., Biometrics 41 (1985) 477–486; Fai A. H. T., Cornelius P. L., J. Statist. Comput. Simul. 54 (1996) 363–378",
        used_for: "mixed model of scores: REML and degrees of freedom",
        about: Topic::Analysis,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Benjamini Y., Hochberg Y., J. R. Statist. Soc. B 57 (1995) 289–300; Benjamini Y., Bogomolov M., J. R. Statist. Soc. B 76 (2014) 297–318; Benjamini Y., Yekutieli D., J. Amer. Statist. Assoc. 100 (2005) 71–81; Holm S., Scand. J. Statist. 6 (1979) 65–70",
        used_for: "several attributes, tasters or orders tested in one session",
        about: Topic::Tastings,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Friedman M., J. Amer. Statist. Assoc. 32 (1937) 675–701; Skillings J. H., Mack G. A., Technometrics 23 (1981) 171–177; Page E. B., J. Amer. Statist. Assoc. 58 (1963) 216–230; Eisinga R. et al., BMC Bioinformatics 18 (2017) 68",
        used_for: "tests of ranks",
        about: Topic::Analysis,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Hunter D. R., Ann. Statist. 32 (2004) 384–406; Shrout P. E., Fleiss J. L., Psychol. Bull. 86 (1979) 420–428; McGraw K. O., Wong S. P., Psychol. Methods 1 (1996) 30–46",
        used_for: "strengths from rankings; intraclass correlations",
        about: Topic::Analysis,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Lawless H. T., Heymann H., Sensory Evaluation of Food, 2nd ed. (2010)",
        used_for: "usual spread of scores, on which forecasts rest until a session has measured it",
        about: Topic::Tastings,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Korn E. L., Graubard B. I., Survey Methodology 24 (1998) 193–201; Yates F., Ann. Eugenics 7 (1936) 121; Nemenyi P. B., Distribution-free multiple comparisons, 1963",
        used_for: "shares from tasters who answered more than once, incomplete trays, gaps of mean ranks",
        about: Topic::Analysis,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Rasmussen C. E., Williams C. K. I., Gaussian Processes for Machine Learning, 2006; Jones D. R., Schonlau M., Welch W. J., J. Global Optim. 13 (1998) 455–492; Letham B. et al., Bayesian Analysis 14 (2019) 495–519",
        used_for: "scores as a surface over composition, waters that promise most",
        about: Topic::NextFlight,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Kass R. E., Raftery A. E., J. Amer. Statist. Assoc. 90 (1995) 773–795, as a public package gives their table",
        used_for: "what the evidence for a slope, or against it, is called",
        about: Topic::NextFlight,
        kind: Kind::Published,
    },
    Source {
        citation: "Rouder J. N. et al., J. Math. Psychol. 56 (2012) 356–374; Hoeting J. A. et al., Statistical Science 14 (1999) 382–417; Robinson G. K., Statistical Science 6 (1991) 15–32; Richtmyer R. D., Los Alamos report LA-1342, 1951",
        used_for: "size of effects expected beforehand, averages over accounts of the scores, a water's own score",
        about: Topic::NextFlight,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Berger R. L., Technometrics 24 (1982) 295–300",
        used_for: "which water is clearly nearer to a wanted score",
        about: Topic::Analysis,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Atkinson A. C., Donev A. N., Tobias R. D., Optimum Experimental Designs, with SAS, 2007; DuMouchel W., Jones B., Technometrics 36 (1994) 37–47; Johnson M. E., Moore L. M., Ylvisaker D., J. Stat. Plan. Inference 26 (1990) 131–148",
        used_for: "waters that tell most about a surface",
        about: Topic::NextFlight,
        kind: Kind::FromMemory,
    },
    Source {
        citation: "Soleymani J. et al., J. Mol. Liq. 221 (2016) 166–170 (abstract)",
        used_for: "solubility of trisodium citrate, as the upper of two values",
        about: Topic::Stocks,
        kind: Kind::Published,
    },
];
