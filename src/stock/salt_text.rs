//! Salts as tables.

use crate::quantities::show;
use crate::reference::atomic_weights::TABLE_YEAR;
use crate::stock::{Catalogue, HydrateReport, Salt, SaltReport};
use crate::text::cautions;
use crate::text::screen::{Extent, Screen};
use crate::text::table::{Side, each, table, text as table_text, wrapped};

/// All salts.
#[must_use]
pub fn list(salts: &[SaltReport], extent: Extent) -> String {
    let is_full = extent == Extent::Full;
    let mut heads = vec![("salt", Side::Left), ("formula", Side::Left)];
    heads.extend(is_full.then_some(("g/mol", Side::Right)));
    heads.push(("mg in 1 g", Side::Left));
    let mut rows = table(&heads);
    for salt in salts {
        let mut row = vec![salt.name.clone(), salt.formula.clone()];
        row.extend(is_full.then(|| show::fixed(salt.g_per_mol, 3)));
        row.push(salt.mg_per_g.listed(|mg| show::fixed(mg, 0)));
        rows.add_row(row);
    }
    if !is_full {
        return table_text(&rows)
            + &wrapped("One of them: `waterflight salts NAME`; molar masses: --full.", 0);
    }
    let note = format!(
        "Masses from the CIAAW standard atomic weights of {TABLE_YEAR}. {}",
        cautions::SALTS
    );
    format!("{}\n{}", table_text(&rows), wrapped(&note, 0))
}

/// The salts of a name with their hydrates; of several compounds each is one to look at by itself.
#[must_use]
pub fn found(salts: &[&Salt], hydrates: &[HydrateReport], extent: Extent) -> String {
    let one = salts.first().map(|salt| salt.compound.as_str());
    if salts.iter().any(|salt| Some(salt.compound.as_str()) != one) {
        let salts = Catalogue::new(salts.iter().copied().cloned().collect());
        return list(&SaltReport::all(&salts), extent);
    }
    detail(hydrates, extent)
}

/// One salt, or all hydrates of a compound with the mass factor between them.
fn detail(hydrates: &[HydrateReport], extent: Extent) -> String {
    let mut out = Screen::new(extent);
    if let [first, _, ..] = hydrates {
        out.push("Several hydrates go by this name; the label on the bag decides.\n\n");
        let factor = format!("g for 1 g of {}", first.salt.formula);
        let mut rows =
            table(&[("salt", Side::Left), ("formula", Side::Left), (&factor, Side::Right)]);
        for hydrate in hydrates {
            rows.add_row([
                hydrate.salt.name.clone(),
                hydrate.salt.formula.clone(),
                show::fixed(hydrate.g_for_1_g_of_first, 4),
            ]);
        }
        out.push(&table_text(&rows));
        out.push("\n");
    }
    for HydrateReport { salt, .. } in hydrates {
        let ins = salt.ins.as_ref().map(|n| format!(", INS {n}")).unwrap_or_default();
        out.push(&format!("{}, {}{ins}\n", salt.name, salt.formula));
        if !salt.also.is_empty() {
            out.push(&format!("  in the trade: {}\n", salt.also.join(", ")));
        }
        out.push(&format!(
            "  {} g/mol, {} % without hydrate water, {} equivalents per mole\n",
            show::fixed(salt.g_per_mol, 3),
            show::fixed(100.0 * salt.anhydrous_fraction, 2),
            show::plain(salt.equivalents_per_mol),
        ));
        out.push(&format!("  1 g releases {} mg\n", salt.mg_per_g.listed(|mg| show::fixed(mg, 1))));
        if salt.carbonation_mol_co2 > 0.0 {
            out.push(&format!(
                "  dissolves under carbon dioxide, taking up {} CO2 each, {} g per gram\n",
                show::plain(salt.carbonation_mol_co2),
                show::fixed(salt.carbonation_g_co2_per_g, 3)
            ));
        }
        if let Some(source) = &salt.solubility_source
            && !salt.solubility_under_co2.is_empty()
        {
            let states: Vec<String> = salt
                .solubility_under_co2
                .iter()
                .map(|[t, bar, most]| {
                    let most = show::three_figures(*most);
                    format!("{most} g/kg at {} °C and {} bar", show::plain(*t), show::plain(*bar))
                })
                .collect();
            let line = format!("  stays dissolved: {} ({source})", states.join(", "));
            out.rest(&wrapped(&line, 4));
        } else if let Some(source) = &salt.solubility_source {
            let rows: Vec<String> = salt
                .solubility_percent_anhydrous
                .iter()
                .map(|[t, w]| format!("{} % at {} °C", show::plain(*w), show::plain(*t)))
                .collect();
            let line = format!(
                "  saturated, as mass of the anhydrous salt: {} ({source})",
                rows.join(", ")
            );
            out.rest(&wrapped(&line, 4));
        }
        out.push(&each("  ! ", &salt.cautions));
        out.rest(&wrapped(&format!("  source: {}", salt.source), 4));
        out.push("\n");
    }
    out.push(&wrapped(cautions::SALTS, 0));
    out.end()
}
