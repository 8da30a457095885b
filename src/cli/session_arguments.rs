//! The arguments of `session`.

use std::path::PathBuf;

use clap::builder::PossibleValue;
use clap::{Args, Subcommand, ValueEnum};

use crate::cli::help;
use crate::cli::print::PrintOptions;
use crate::session::plan::{MethodKind, Question};

/// What the seal of a key does and does not.
const SEALED: &str = "The key names the water of every code. It lies in the session's folder, encrypted with XChaCha20-Poly1305; what opens it is a secret in a file outside of the bench, which only you may read, made when it is not there yet. That keeps the key from searches, previews, copies of the bench, and everyone without the secret. It does not keep it from whoever uses this program as you: the pourer's sheet needs no password. Its seal, a SHA-256 sum that is printed and kept in the plan, shows whether key or plan were changed. Everything else on the bench (plan, waters, scores, pours) may be read: it does not tell which water has which code. From the reveal on the key is plain text.";

#[derive(Debug, Subcommand)]
pub(super) enum Step {
    /// Draw a session: orders, codes, the key. Says what the panel can find.
    #[command(
        after_help = SEALED, after_long_help = help::behind(SEALED, help::SESSION)
    )]
    Plan(Box<PlanOptions>),
    /// Print a sheet: the pourer's, the server's, or the tasters'.
    #[command(
        after_help = "Examples:\n  waterflight session sheet autumn --for pourer --least \"500 mL\"\n  waterflight session sheet autumn --for taster --taster ann\n  waterflight session sheet autumn --for taster --print scores.html\n  waterflight session sheet autumn --for server --print cups.html --labels 3x7"
    )]
    Sheet(SheetOptions),
    /// Record that a session was poured: its stocks are taken from the bottles.
    #[command(after_help = "Example:\n  waterflight session poured autumn --spare \"15 %\"")]
    Poured(PouredOptions),
    /// Enter scores: one cup or tray, a CSV file, or at a prompt when nothing is given.
    #[command(
        after_help = "A correction keeps the scores that it does not name; the old line is kept as well.\nOf a CSV file all rows are entered or none; rows that are there already are left.\n\nExamples:\n  waterflight session score autumn ann 317 body=6 liking=7 --note chalky\n  waterflight session score autumn ann 317 542 861     a ranking or a choice\n  waterflight session score autumn ann 317 body=5 --correct 4\n  waterflight session score autumn ann --undo\n  waterflight session score autumn --csv scores.csv\n  waterflight session score autumn ann                 the prompt, `help` in it"
    )]
    Score(ScoreOptions),
    /// Say who still owes which cups.
    Progress {
        /// The session.
        name: String,
        /// List every entry with its line.
        #[arg(long)]
        entries: bool,
    },
    /// Enter what stood under the cups of a tray, for a tasting alone: TOP=UNDER for each, once every
    /// tray is answered. It cannot be taken back; stickers read wrongly are entered again, and the
    /// results say so.
    Turned {
        /// The session.
        name: String,
        /// Number of the tray.
        tray: usize,
        /// TOP=UNDER for every cup.
        #[arg(required = true)]
        cups: Vec<String>,
    },
    /// Note something about the session or a brew, with its time.
    #[command(
        after_help = "Example:\n  waterflight session note autumn \"second brew of round 1 ran 20 s longer\""
    )]
    Note {
        /// The session.
        name: String,
        /// The remark; it names codes and no waters, since tasters may read it.
        text: String,
        /// The taster who makes it.
        #[arg(long, conflicts_with = "unblinded")]
        taster: Option<String>,
        /// The key was read, or a cup known, before the reveal: the results will say so.
        #[arg(long)]
        unblinded: bool,
        /// Takes the place of the remark in this line.
        #[arg(long, value_name = "LINE", conflicts_with = "unblinded")]
        instead_of: Option<u64>,
    },
    /// Expect an order of the waters, before the first answer: the results test it (Page's test).
    #[command(
        after_help = "The waters are named once each, most first, with `>` between. Of each attribute the last order before the first answer counts. No command shows it before the reveal, since a taster who reads it expects it too; it stands in scores.jsonl of the session.\n\nExample:\n  waterflight session expect autumn \"liking: soft > middle > hard\""
    )]
    Expect {
        /// The session.
        name: String,
        /// The attribute or criterion and the order; one that is judged alone need not be named.
        order: String,
    },
    /// Open the sealed key and close the scores.
    Reveal {
        /// The session.
        name: String,
        /// Reveal although answers are missing; the reason is recorded.
        #[arg(long, value_name = "WHY")]
        force: Option<String>,
        /// File of the secret that opens the key, where `session plan --key` named one.
        #[arg(long, value_name = "FILE")]
        key: Option<PathBuf>,
    },
    /// Say what a revealed session shows, and what it cannot.
    #[command(
        after_help = "Examples:\n  waterflight session results autumn\n  waterflight session results autumn --page verdict.html"
    )]
    Results {
        /// The session.
        name: String,
        /// Write the verdict as a page of its own: one HTML file with everything in it.
        #[arg(long, value_name = "FILE.html")]
        page: Option<PathBuf>,
    },
}

impl Step {
    /// The session that is named; nothing where one is to be made.
    pub(super) fn session(&self) -> Option<&str> {
        match self {
            Step::Plan(_) => None,
            Step::Sheet(SheetOptions { name, .. })
            | Step::Poured(PouredOptions { name, .. })
            | Step::Score(ScoreOptions { name, .. })
            | Step::Turned { name, .. }
            | Step::Note { name, .. }
            | Step::Expect { name, .. }
            | Step::Progress { name, .. }
            | Step::Reveal { name, .. }
            | Step::Results { name, .. } => Some(name),
        }
    }

    /// Whether something is on disk once it has ended well.
    pub(super) fn writes(&self) -> bool {
        match self {
            Step::Sheet(options) => options.reader == Reader::Pourer,
            Step::Progress { .. } | Step::Results { .. } => false,
            _ => true,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Reader {
    /// Names waters: kept from tasters.
    Pourer,
    /// Codes only.
    Server,
    /// Score sheets.
    Taster,
}

impl ValueEnum for Question {
    fn value_variants<'a>() -> &'a [Self] {
        &[Self::WhichIsBest, Self::CanWeTell, Self::HowDoTheyDiffer]
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        Some(match self {
            Self::WhichIsBest => PossibleValue::new("best").help("Which is best?"),
            Self::CanWeTell => PossibleValue::new("tell-apart").help("Can we tell them apart?"),
            Self::HowDoTheyDiffer => PossibleValue::new("how-differ").help("How do they differ?"),
        })
    }
}

impl ValueEnum for MethodKind {
    fn value_variants<'a>() -> &'a [Self] {
        &[Self::Scoring, Self::Ranking, Self::Triangle, Self::DuoTrio, Self::Paired, Self::Tetrad]
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        let (name, help) = match self {
            Self::Scoring => ("scoring", "Every cup on several attributes"),
            Self::Ranking => ("ranking", "All cups in order"),
            Self::Triangle => ("triangle", "Which of three is odd?"),
            Self::DuoTrio => ("duo-trio", "Which of two is like the reference?"),
            Self::Paired => ("paired", "Which of two has more?"),
            Self::Tetrad => ("tetrad", "Which of four belong together?"),
        };
        Some(PossibleValue::new(name).help(help))
    }
}

/// How a session is planned.
#[derive(Debug, Clone, Args)]
#[expect(clippy::struct_excessive_bools, reason = "each is a switch of the command line")]
pub(super) struct PlanOptions {
    /// File name of the flight; may be left out when there is only one.
    pub(super) flight: Option<String>,
    /// What doses are measured with, in whole steps; the flight's own dispenser when left out.
    #[arg(long, value_name = "NAME")]
    pub(super) dispenser: Option<String>,
    /// Name of the session; the flight's with a number when left out.
    #[arg(long)]
    pub(super) name: Option<String>,
    /// The tasters, with commas between them.
    #[arg(long, value_delimiter = ',', required = true)]
    pub(super) tasters: Vec<String>,
    /// How often each taster goes through.
    #[arg(long, default_value_t = 1)]
    pub(super) rounds: usize,
    /// What to find out; what the method answers, or how they differ, when left out.
    #[arg(long, value_enum)]
    pub(super) question: Option<Question>,
    /// How; what suits the question when left out.
    #[arg(long, value_enum)]
    pub(super) method: Option<MethodKind>,
    /// An attribute to score, as in "body, 0 to 10 by 0.5, thin to heavy", or a name of the starter
    /// set; may be repeated. The starter set when left out: acidity, sweetness, bitterness, body,
    /// clarity, aftertaste, liking.
    #[arg(long, value_name = "TEXT")]
    pub(super) attribute: Vec<String>,
    /// The attribute that is tested, named beforehand; the others are then described and not tested.
    /// When left out, all attributes are tested together, which needs larger differences.
    #[arg(long, value_name = "ATTRIBUTE")]
    pub(super) primary: Option<String>,
    /// What the means are corrected for: place (on the tray), carry-over (the water tasted before), or
    /// both with a comma; kept in the plan. Nothing when left out or `none`: balanced orders need no
    /// correction, and at a few tasters it costs more than it gains.
    #[arg(long, value_name = "WHAT", value_delimiter = ',')]
    pub(super) adjust_for: Vec<String>,
    /// What ranking and paired tests go by; liking when left out.
    #[arg(long, value_name = "WORD")]
    pub(super) criterion: Option<String>,
    /// What is wanted and which way: "liking: more", "bitterness: less", "body: near=6". Left out,
    /// more liking is wanted where something of that name is judged; an intensity never is.
    #[arg(long, value_name = "NAME: WAY")]
    pub(super) wanted: Option<String>,
    /// For a paired test: the first water of a pair was expected to have more.
    #[arg(long)]
    pub(super) one_sided: bool,
    /// For a duo-trio: the first water of a pair is always the reference.
    #[arg(long)]
    pub(super) constant: bool,
    /// A water of the flight to taste; may be repeated. Those of the pairs, or all, when left out.
    #[arg(long, value_name = "TARGET")]
    pub(super) water: Vec<String>,
    /// Two waters to compare; may be repeated. Every pair when left out.
    #[arg(long, num_args = 2, value_names = ["TARGET", "TARGET"])]
    pub(super) pair: Vec<String>,
    /// Waters on a tray, when nobody should have them all: balanced incomplete blocks.
    #[arg(long, value_name = "NUMBER")]
    pub(super) per_tray: Option<usize>,
    /// So many waters hidden twice on a tray, drawn by chance.
    #[arg(long, value_name = "NUMBER", default_value_t = 0)]
    pub(super) duplicates: usize,
    /// A water hidden twice on a tray; may be repeated.
    #[arg(long, value_name = "TARGET", conflicts_with = "duplicates")]
    pub(super) duplicate: Vec<String>,
    /// A water that stands on every tray in a cup marked R; tasters may be told which it is.
    #[arg(long, value_name = "TARGET")]
    pub(super) reference: Option<String>,
    /// The water of an unscored first cup.
    #[arg(long, value_name = "TARGET")]
    pub(super) warm_up: Option<String>,
    /// A break after so many cups; cups compared with each other are never parted.
    #[arg(long, value_name = "CUPS")]
    pub(super) breaks_after: Option<usize>,
    /// Every cup has its own code.
    #[arg(long)]
    pub(super) code_each_cup: bool,
    /// One person pours and tastes.
    #[arg(long, conflicts_with = "double_blind")]
    pub(super) alone: bool,
    /// Who serves knows only codes.
    #[arg(long)]
    pub(super) double_blind: bool,
    /// Volume of a cup.
    #[arg(long, value_name = "VOLUME", default_value = "40 mL")]
    pub(super) cup: String,
    /// Temperature at which cups are tasted.
    #[arg(long, value_name = "TEMPERATURE")]
    pub(super) served: Option<String>,
    /// What is brewed, as in "coffee: 15 g on 250 mL at 94 °C gives 220 mL".
    #[arg(long, value_name = "TEXT")]
    pub(super) brew: Option<String>,
    /// Anything else that is the same for all cups; may be repeated.
    #[arg(long, value_name = "TEXT")]
    pub(super) same: Vec<String>,
    /// A phrase to draw from, so that the plan can be drawn again. Whoever knows it knows the key.
    #[arg(long, value_name = "PHRASE")]
    pub(super) seed: Option<String>,
    /// File of the secret that opens the key, made when it is not there; the usual one of this user when
    /// left out. Without it the session cannot be revealed. Best on something that no taster has.
    #[arg(long, value_name = "FILE")]
    pub(super) key: Option<PathBuf>,
}

/// Water made beyond what the cups take.
#[derive(Debug, Clone, Args)]
pub(super) struct MarginOptions {
    /// Water made beyond what is needed.
    #[arg(long, value_name = "PERCENT", default_value = "10 %")]
    pub(super) spare: String,
    /// The least that is made of each water, so that its doses can be measured.
    #[arg(long, value_name = "VOLUME")]
    pub(super) least: Option<String>,
}

/// Which sheet.
#[derive(Debug, Clone, Args)]
pub(super) struct SheetOptions {
    /// The session.
    pub(super) name: String,
    /// Whose sheet.
    #[arg(long = "for", value_enum)]
    pub(super) reader: Reader,
    /// Only this taster's.
    #[arg(long)]
    pub(super) taster: Option<String>,
    #[command(flatten)]
    pub(super) margin: MarginOptions,
    /// File of the secret that opens the key, where `session plan --key` named one.
    #[arg(long, value_name = "FILE")]
    pub(super) key: Option<PathBuf>,
    #[command(flatten)]
    pub(super) print: PrintOptions,
    /// Print slips to cut apart, one for each tray, instead of score sheets.
    #[arg(long, requires = "print", conflicts_with = "labels")]
    pub(super) ballots: bool,
}

/// What was poured.
#[derive(Debug, Clone, Args)]
pub(super) struct PouredOptions {
    /// The session.
    pub(super) name: String,
    #[command(flatten)]
    pub(super) margin: MarginOptions,
    /// The day; today when left out.
    #[arg(long, value_name = "DATE")]
    pub(super) date: Option<String>,
    /// It was poured once more.
    #[arg(long)]
    pub(super) again: bool,
    /// Takes the place of this record of the session's pour.
    #[arg(long, value_name = "RECORD", conflicts_with = "again")]
    pub(super) instead_of: Option<u64>,
    /// File of the secret that opens the key, where `session plan --key` named one.
    #[arg(long, value_name = "FILE")]
    pub(super) key: Option<PathBuf>,
}

/// What is entered.
#[derive(Debug, Clone, Args)]
pub(super) struct ScoreOptions {
    /// The session.
    pub(super) name: String,
    /// The taster.
    pub(super) taster: Option<String>,
    /// The code and its scores; or the codes of a tray, ranked or chosen.
    pub(super) entry: Vec<String>,
    /// Anything said about it.
    #[arg(long, value_name = "TEXT")]
    pub(super) note: Option<String>,
    /// A CSV file: taster, code, one column for each attribute, note; or taster, codes, note.
    #[arg(long, value_name = "FILE", conflicts_with = "entry")]
    pub(super) csv: Option<PathBuf>,
    /// Correct the entry of this line; the old one is kept.
    #[arg(long, value_name = "LINE", requires = "entry", conflicts_with_all = ["csv", "late"])]
    pub(super) correct: Option<u64>,
    /// Take the last entry back, of the taster when one is named; it is kept, marked.
    #[arg(long, conflicts_with_all = ["entry", "csv", "correct", "late"])]
    pub(super) undo: bool,
    /// Record an answer after the reveal; it is marked and left out.
    #[arg(long, requires = "entry", conflicts_with = "csv")]
    pub(super) late: bool,
}
