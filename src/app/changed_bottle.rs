//! What happened to a bottle beside pours: spilled, found at a level, thrown away.

use serde::Serialize;

use crate::app::bottles::bottle;
use crate::bench::Bench;
use crate::bench::history::undo_hint;
use crate::bench::records::{BottleChange, add_bottle};
use crate::files::{Diagnostic, Mistakes};
use crate::mix::stocktake::Filled;
use crate::quantities::{Day, show};

/// A bottle after something that happened to it was recorded.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChangedBottle {
    /// Name of the stock.
    pub stock: String,
    /// Number of the batch in the bottle.
    pub batch: u32,
    /// The day.
    pub day: String,
    /// Number of the record.
    pub record: u64,
    /// What is left, mL.
    pub left_ml: f64,
}

/// Our choice: how far a level read off a bottle may be above what was made.
const ABOUT: f64 = 0.1;

/// A bottle with the batch that was recorded of it.
#[derive(Debug, Clone, Copy)]
pub struct RecordedBottle<'a> {
    filled: Filled<'a>,
    batch: u32,
}

impl<'a> RecordedBottle<'a> {
    /// The bottle of a stock by its name.
    ///
    /// # Errors
    /// When there is none of that name, or no batch of it was recorded.
    pub fn of(bench: &'a Bench, stock: &str) -> Result<Self, Mistakes> {
        let filled = bottle(bench, stock)?;
        let batch = filled.bottle.batch.as_ref().map(|batch| batch.number).ok_or_else(|| {
            refused(format!("no batch of {} was recorded", filled.bottle.written.name()))
                .remedy("record first what was weighed: `waterflight weighed STOCK …`")
        })?;
        Ok(Self { filled, batch })
    }

    /// Name of the stock.
    #[must_use]
    pub fn stock(&self) -> &'a str {
        self.filled.bottle.written.name()
    }

    /// Records what happened to it.
    ///
    /// # Errors
    /// When it is empty already, it never held as much, or the disk does not take it.
    pub fn record(
        &self,
        bench: &Bench,
        change: BottleChange,
        day: Day,
        instead_of: Option<u64>,
    ) -> Result<ChangedBottle, Mistakes> {
        let Self { filled, batch } = self;
        let stock = self.stock();
        if instead_of.is_none()
            && matches!(change, BottleChange::SpilledMl(_) | BottleChange::ThrownAway)
            && filled.left_ml().is_some_and(|ml| ml <= 0.0)
        {
            return Err(refused(format!("the bottle of {stock} is empty already"))
                .remedy("`waterflight log` names the record; `--left` says what is really in it")
                .into());
        }
        if let (BottleChange::LeftMl(found) | BottleChange::SpilledMl(found), Some(made)) =
            (&change, filled.made_ml())
            && *found > made * (1.0 + ABOUT)
        {
            let found = show::plain(*found);
            return Err(refused(format!("the bottle of {stock} never held {found} mL"))
                .expected(format!("at most the {} mL that were made", show::fixed(made, 0)))
                .remedy("a new batch is recorded with `waterflight weighed`")
                .into());
        }
        let record = add_bottle(&bench.root, day, (stock, *batch), change, instead_of)?;
        let now = Bench::open(&bench.root)?;
        let left_ml = bottle(&now, stock)?.left_ml().unwrap_or(0.0);
        let (stock, day) = (stock.to_owned(), day.to_string());
        Ok(ChangedBottle { stock, batch: *batch, day, record, left_ml })
    }
}

fn refused(what: String) -> Diagnostic {
    Diagnostic::choice(what)
}

impl ChangedBottle {
    /// What is left, and how the record is taken back.
    #[must_use]
    pub fn text(&self) -> String {
        let left = show::fixed(self.left_ml, 0);
        format!("{}: about {left} mL are left\n{}", self.stock, undo_hint(self.record, &self.day))
    }
}
