//! Flights and waters that the program writes as new files, in the format of the user's own.

use std::path::{Path, PathBuf};

use crate::bench::Bench;
use crate::bench::limits_entry;
use crate::bench::parse::parse;
use crate::bench::ready_targets;
use crate::bench::stock_entry::StockEntry;
use crate::bench::water_entry::WaterEntry;
use crate::files::{Diagnostic, Fault, Mistakes, SourceText, read, write};
use crate::flight::ladder::WrittenTarget;
use crate::flight::{Convention, Flight, MissRule, Order, Preference, StockRule, StockSet};
use crate::quantities::name::check_new;
use crate::quantities::show;
use crate::stock::Stock;
use crate::text::names;

/// A text in quotes, as RON reads it back.
pub(crate) fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '\\' | '"' => out.extend(['\\', c]),
            c if c.is_control() => out.push_str(&format!("\\u{{{:x}}}", u32::from(c))),
            c => out.push(c),
        }
    }
    out + "\""
}

/// A comment of any length.
fn comment(text: &str) -> String {
    text.lines().fold(String::new(), |out, line| out + "// " + line + "\n")
}

/// What goes around the targets of a new flight.
#[derive(Debug, Clone)]
pub struct NewFlight<'a> {
    /// Said at the top of the file.
    pub remark: String,
    /// Title.
    pub title: String,
    /// Base, bottle and conventions are taken from this flight.
    pub like: &'a Flight,
    /// Stocks it may use.
    pub stocks: &'a [Stock],
    /// What is asked of the bench: its rules are those of these targets, in their order.
    pub order: &'a Order,
    /// The targets, each with a remark or nothing.
    pub targets: Vec<(WrittenTarget, Option<String>)>,
}

impl NewFlight<'_> {
    /// The text of the file.
    #[must_use]
    pub fn text(&self) -> String {
        let like = self.like;
        let base: Vec<String> = like
            .base
            .iter()
            .map(|b| {
                let limit = if b.at_most.value() < 1.0 {
                    format!(", at most {} %", show::as_written(b.at_most.value(), 0.01))
                } else {
                    String::new()
                };
                quoted(&format!("{}{limit}", b.water.name))
            })
            .collect();
        let stocks: Vec<String> = self.stocks.iter().map(|s| quoted(s.name())).collect();
        let mut out = comment(&self.remark);
        out.push_str(&format!("Flight(\n    title: {},\n", quoted(&self.title)));
        out.push_str(&format!("    base: [{}],\n", base.join(", ")));
        let bottle = show::as_written(like.bottle.value(), 0.001);
        out.push_str(&format!("    bottle: \"{bottle} mL\",\n"));
        out.push_str(match like.convention {
            Convention::MadeUpToALitre => "    convention: MadeUpToALitre,\n",
            Convention::AddedToALitre => "    convention: AddedToALitre,\n",
        });
        if like.misses == MissRule::Largest {
            out.push_str("    misses: Largest,\n");
        }
        out.push_str(match like.preference {
            Preference::LeastVolume => "",
            Preference::LeastSodium => "    prefer: LeastSodium,\n",
            Preference::LeastCost => "    prefer: LeastCost,\n",
            Preference::FewestStocks => "    prefer: FewestStocks,\n",
        });
        out.push_str(&limits_entry::text(like.limits));
        if let Some(dispenser) = &self.order.dispenser {
            out.push_str(&format!("    dispenser: {},\n", quoted(&dispenser.name)));
        }
        out.push_str(&match self.order.stock_set {
            StockSet::Any => String::new(),
            StockSet::Fewest => "    stock_set: Fewest,\n".to_owned(),
            StockSet::Same => "    stock_set: Same,\n".to_owned(),
            StockSet::AtMost(most) => format!("    stock_set: AtMost({most}),\n"),
        });
        let left = self.order.left.iter().map(|(stock, ml)| {
            format!("({}, \"{} mL\")", quoted(stock), show::as_written(ml.value(), 1.0))
        });
        let left: Vec<String> = left.collect();
        if !left.is_empty() {
            out.push_str(&format!("    left: [{}],\n", left.join(", ")));
        }
        out.push_str(&format!("    stocks: [{}],\n    targets: [\n", stocks.join(", ")));
        for (n, (target, remark)) in self.targets.iter().enumerate() {
            if let Some(remark) = remark {
                out.push_str(&format!("        // {}\n", remark.replace('\n', " ")));
            }
            out.push_str(&ruled_text(target, &self.order.rule(n)));
        }
        out.push_str("    ],\n)\n");
        out
    }
}

/// The text of a target in a flight.
pub(crate) fn target_text(written: &WrittenTarget) -> String {
    ruled_text(written, &StockRule::default())
}

/// The same with the stocks that must and must not be in it.
fn ruled_text(written: &WrittenTarget, rule: &StockRule) -> String {
    let (what, fields) = if written.composition.is_empty() {
        ("goals", &written.goals)
    } else {
        ("composition", &written.composition)
    };
    let mut out = format!(
        "        Target(\n            name: {},\n            {what}: (\n",
        quoted(&written.target.name)
    );
    for (key, text) in fields {
        out.push_str(&format!("                {key}: {},\n", quoted(text)));
    }
    out.push_str("            ),\n");
    if written.composition.is_empty() && !written.ratios.is_empty() {
        out.push_str("            ratios: [\n");
        for (of, to, text) in &written.ratios {
            out.push_str(&format!(
                "                (of: {}, to: {}, goal: {}),\n",
                quoted(of),
                quoted(to),
                quoted(text)
            ));
        }
        out.push_str("            ],\n");
    }
    for (key, stocks) in [("with", &rule.with), ("without", &rule.without)] {
        if !stocks.is_empty() {
            let stocks: Vec<String> = stocks.iter().map(|stock| quoted(stock)).collect();
            out.push_str(&format!("            {key}: [{}],\n", stocks.join(", ")));
        }
    }
    out.push_str("        ),\n");
    out
}

/// Whether the name of a file and another may be meant for each other.
fn called_alike(path: &Path, stem: &str) -> bool {
    path.file_stem().is_some_and(|other| names::alike(stem, &other.to_string_lossy()))
}

impl Bench {
    /// Writes a new file into a folder of the bench, never over one that is there, once it is sure that
    /// the bench will read it.
    ///
    /// # Errors
    /// When the name is no plain file name, the file exists with another text, the bench would not read
    /// it, or the folder cannot be written.
    pub fn write_new(&self, folder: &str, name: &str, text: &str) -> Result<PathBuf, Diagnostic> {
        let written = self.write_all_new(folder, &[(name, text)])?;
        written.into_iter().next().ok_or_else(|| {
            Diagnostic::new(Fault::Internal, "no file was written").about(self.root.join(folder))
        })
    }

    /// The same for several files: all of them are written or none.
    ///
    /// # Errors
    /// As [`Bench::write_new`].
    pub fn write_all_new(
        &self,
        folder: &str,
        files: &[(&str, &str)],
    ) -> Result<Vec<PathBuf>, Diagnostic> {
        let mut named: Vec<(PathBuf, &str)> = Vec::new();
        for (name, text) in files {
            let stem = name.strip_suffix(".ron").unwrap_or(name);
            let plain = !stem.is_empty()
                && check_new(stem).is_ok()
                && stem.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '_' | ' '));
            if !plain {
                return Err(Diagnostic::choice("this is no name for a file")
                    .found(format!("`{name}`"))
                    .expected(
                        "letters, digits, blanks, - and _, without a folder; the first is no -",
                    ));
            }
            let path = self.root.join(folder).join(format!("{stem}.ron"));
            let there = read::ron_files(&self.root.join(folder))?;
            if let Some(other) =
                there.iter().find(|other| **other != path && called_alike(other, stem))
            {
                return Err(write::exists_already(other).expected(format!(
                    "a name that differs by more than case or hyphens, and `{stem}` does not"
                )));
            }
            self.would_read(folder, &SourceText::new(&path, text))?;
            named.push((path, text));
        }
        write::subfolder(&self.root.join(folder))?;
        let all: Vec<(&Path, &str)> = named.iter().map(|(p, text)| (p.as_path(), *text)).collect();
        // Some of them are what a stopped run left, which is finished now; all of them are a mix-up.
        if let Some((path, _)) = all.first().filter(|_| all.iter().all(|(p, t)| write::holds(p, t)))
        {
            return Err(write::exists_already(path));
        }
        write::new_files(&all)?;
        Ok(named.into_iter().map(|(path, _)| path).collect())
    }

    /// That a text would be read as a file of that folder: what is written is never refused later.
    fn would_read(&self, folder: &str, source: &SourceText) -> Result<(), Diagnostic> {
        let read = || -> Result<(), Mistakes> {
            match folder {
                "waters" => drop(parse::<WaterEntry>(source)?.into_water(source)?),
                "stocks" => drop(parse::<StockEntry>(source)?.into_bottle(source, &self.salts)?),
                ready_targets::FOLDER => drop(ready_targets::of_source(source)?),
                _ => drop(self.ordered(source)?),
            }
            Ok(())
        };
        read().map_err(|wrong| {
            let wrong = wrong.into_first();
            let details = wrong.details();
            let what = format!("the bench would not read the new file: {}", details.title);
            let mut mistake = Diagnostic::new(details.fault, what).about(source.path());
            if let Some(found) = &details.found {
                mistake = mistake.found(found);
            }
            if let Some(expected) = &details.expected {
                mistake = mistake.expected(expected);
            }
            let remedy = details.remedy.as_deref().unwrap_or("change what it is made from");
            mistake.remedy(format!("{remedy}; nothing was written"))
        })
    }
}
