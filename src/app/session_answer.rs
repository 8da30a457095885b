//! What a revealed session says, with the remarks on it and the water that came first.

use serde::Serialize;

use crate::app::Watch;
use crate::app::made_water::first_water;
use crate::app::session_steps::results_of;
use crate::bench::Bench;
use crate::bench::session_folder::SessionFolder;
use crate::everyday::made_water::MadeWater;
use crate::files::Mistakes;
use crate::session::results::results_page::SessionResults;
use crate::session::serve::progress::{NoteLine, notes, say_notes};
use crate::text::Page;

/// The results of a session with what belongs to them.
#[derive(Debug, Clone, Serialize)]
pub struct SessionAnswer {
    /// The results.
    #[serde(flatten)]
    pub found: SessionResults,
    /// Remarks on the session.
    pub notes: Vec<NoteLine>,
    #[serde(skip_serializing_if = "Option::is_none")]
    first_water: Option<FirstWater>,
}

/// The water that came first, once it was looked for; none where none did.
#[derive(Debug, Clone, Serialize)]
struct FirstWater(Option<MadeWater>);

/// The results of a revealed session and the remarks on it.
///
/// # Errors
/// When it is not revealed, or a file of it cannot be read.
pub fn session_answer(session: &SessionFolder) -> Result<SessionAnswer, Mistakes> {
    let (found, notes) = (results_of(session)?, notes(&session.score_log()?));
    Ok(SessionAnswer { found, notes, first_water: None })
}

impl SessionAnswer {
    /// Looks for the water that came first.
    ///
    /// # Errors
    /// When its record cannot be read.
    pub fn find_first_water(&mut self, bench: &Bench, watch: Watch<'_>) -> Result<(), Mistakes> {
        self.first_water = Some(FirstWater(first_water(bench, &self.found, watch)?));
        Ok(())
    }

    /// The water that came first, as it would be made every day, where it was looked for.
    #[must_use]
    pub fn first_water(&self) -> Option<&MadeWater> {
        self.first_water.as_ref()?.0.as_ref()
    }

    /// The results and the remarks.
    #[must_use]
    pub fn page(&self) -> Page {
        let mut page = self.found.page();
        say_notes(&mut page, &self.notes);
        page
    }

    /// The remarks alone.
    #[must_use]
    pub fn notes_page(&self) -> Page {
        let mut page = Page::default();
        say_notes(&mut page, &self.notes);
        page
    }
}
