//! The waters of a flight beside those that the last session was planned with: the same name is
//! meant to be the same water.

use std::fs;
use std::time::SystemTime;

use crate::bench::Bench;
use crate::bench::session_folder::{SessionFolder, names};
use crate::bench::session_waters::PlannedWater;
use crate::files::Diagnostic;
use crate::mix::water_mix::WaterMix;
use crate::session::results::SAME_MG_PER_L;
use crate::water::water_change::{IonChange, WaterChange};

/// Our choice: of the same salts a water is another one when a constituent moved by this part of
/// it, the tolerance that a goal has when it states none; other salts are said at once.
const MOVED: f64 = 0.05;

impl Bench {
    /// The waters of a planned flight that are not what the last session with them was planned
    /// with.
    ///
    /// # Errors
    /// When the sessions cannot be listed. A session that cannot be read is passed over: `journal`
    /// says what is wrong with it.
    pub fn changed_since_session(
        &self,
        flight: &str,
        waters: &[WaterMix],
    ) -> Result<Vec<WaterChange>, Diagnostic> {
        let mut sessions: Vec<(String, SystemTime, SessionFolder)> = names(&self.root)?
            .iter()
            .filter(|name| !self.records.withdrawn_sessions.contains(name))
            .filter_map(|name| SessionFolder::open(&self.root, name).ok())
            .filter_map(|session| {
                let waters = session.waters().ok().filter(|waters| waters.flight == flight)?;
                Some((waters.day.clone(), written(&session), session))
            })
            .collect();
        sessions.sort_by(|a, b| (&a.0, a.1, &a.2.name).cmp(&(&b.0, b.1, &b.2.name)));
        let last = |now: &WaterMix| {
            let mut newest = sessions.iter().rev();
            newest.find_map(|(_, _, session)| {
                session.waters().ok()?.water(&now.target).map(|then| (session, then))
            })
        };
        let change = |now: &WaterMix| {
            let (session, then) = last(now)?;
            self.change(session, then, now)
        };
        Ok(waters.iter().filter_map(change).collect())
    }

    fn change(
        &self,
        session: &SessionFolder,
        then: &PlannedWater,
        now: &WaterMix,
    ) -> Option<WaterChange> {
        let ions: Vec<IonChange> = now
            .mg_per_l
            .0
            .iter()
            .map(|(ion, now)| IonChange {
                ion,
                then_mg_per_l: then.mg_per_l(ion).unwrap_or_default(),
                now_mg_per_l: *now,
            })
            .filter(|ion| (ion.now_mg_per_l - ion.then_mg_per_l).abs() >= SAME_MG_PER_L)
            .collect();
        let salts_then = self.salts_of(then);
        let salts_now: Vec<String> = now
            .salts
            .iter()
            .filter(|salt| salt.mg_per_l >= SAME_MG_PER_L)
            .map(|salt| salt.formula.clone())
            .collect();
        let all_in = |some: &[String], others: &[String]| {
            some.iter().all(|one| others.iter().any(|other| self.same_ions(one, other)))
        };
        let other_salts = !(all_in(&salts_then, &salts_now) && all_in(&salts_now, &salts_then));
        let moved = ions.iter().any(|ion| {
            let by = (ion.now_mg_per_l - ion.then_mg_per_l).abs();
            by > MOVED * ion.then_mg_per_l.max(ion.now_mg_per_l)
        });
        let day = session.waters().ok()?.day.clone();
        (moved || other_salts && !ions.is_empty()).then(|| WaterChange {
            target: now.target.clone(),
            session: session.name.clone(),
            day,
            salts_then,
            salts_now,
            other_salts,
            ions,
        })
    }

    /// The salts of a water as it was planned: as recorded, or of the stock of that name today.
    fn salts_of(&self, water: &PlannedWater) -> Vec<String> {
        let doses = water.doses.iter().filter_map(|dose| {
            let stock = self.stocks.iter().map(|s| &s.value).find(|s| s.name() == dose.stock);
            let today = || stock.map(|s| s.recipe().salt.formula.to_string());
            let brings = stock.map(|s| dose.ml_per_l * s.g_per_kg() * s.density().value.value());
            let counts = brings.is_none_or(|mg_per_l| mg_per_l >= SAME_MG_PER_L);
            counts.then(|| dose.salt.clone().or_else(today).unwrap_or_else(|| dose.stock.clone()))
        });
        let mut salts: Vec<String> = Vec::new();
        for salt in doses {
            if !salts.iter().any(|known| self.same_ions(known, &salt)) {
                salts.push(salt);
            }
        }
        salts
    }

    /// Whether two salts bring the same ions, whatever their hydrate water.
    fn same_ions(&self, one: &str, other: &str) -> bool {
        let salt = |formula: &str| self.salts.recorded(formula);
        one == other
            || salt(one).zip(salt(other)).is_some_and(|(one, other)| one.ions == other.ions)
    }
}

/// When the waters of a session were written.
fn written(session: &SessionFolder) -> SystemTime {
    let file = fs::metadata(session.path.join("waters.json"));
    file.and_then(|file| file.modified()).unwrap_or(SystemTime::UNIX_EPOCH)
}
