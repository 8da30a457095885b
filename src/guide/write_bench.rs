//! The files of a new bench, each commented as a person would.

use crate::bench::flight_writer::{quoted, target_text};
use crate::bench::ready_targets::ReadyTarget;
use crate::guide::bag_questions::Bag;
use crate::guide::machine_questions::MachineText;
use crate::guide::tool_questions::{Balances, DispenserLine};
use crate::guide::water_questions::Waters;
use crate::quantities::show;
use crate::text::table::wrapped_within;
use crate::water::base_water::DISTILLED;

/// Name of the first flight.
pub(super) const FIRST: &str = "first-flight";

/// What a new bench is made of.
#[derive(Debug, Clone)]
pub(super) struct Draft {
    pub(super) title: String,
    pub(super) bags: Vec<Bag>,
    pub(super) waters: Waters,
    pub(super) balances: Balances,
    pub(super) dispensers: Vec<DispenserLine>,
    pub(super) bottle_ml: f64,
    pub(super) stock_ml: f64,
    pub(super) machine: MachineText,
    pub(super) targets: Vec<ReadyTarget>,
}

impl Draft {
    /// The files, the mark of the bench last. `grams` is the salt in a kilogram of each stock.
    pub(super) fn files(&self, grams: &[f64]) -> Vec<(String, String)> {
        let mut files = Vec::new();
        for (bag, grams) in self.bags.iter().zip(grams) {
            let path = format!("stocks/{}.ron", file_stem(&bag.name));
            files.push((path, stock_text(bag, *grams, self.stock_ml)));
        }
        for (name, text) in &self.waters.others {
            files.push((format!("waters/{}.ron", file_stem(name)), text.clone()));
        }
        files.push((format!("flights/{FIRST}.ron"), self.flight_text()));
        files.push(("bench.ron".to_owned(), self.bench_text()));
        files
    }

    pub(super) fn bench_text(&self) -> String {
        let mut dispensers = String::new();
        for line in &self.dispensers {
            if let Some(remark) = &line.remark {
                dispensers.push_str(&self::remark(remark, 8));
            }
            dispensers.push_str(&format!("        {},\n", line.line));
        }
        format!(
            "{}Bench(\n    title: {},\n    tools: (\n        balance: {},\n        large_balance: {},\n    ),\n    \
             // What doses are measured with; `mix --dispenser NAME` counts in its steps.\n    \
             dispensers: [\n{dispensers}    ],\n{}{})\n",
            remark(
                "This file marks the folder as a bench. The ± of every stock, dose and water follows from \
                 `tools`; the error of a balance is taken as two of its steps until its maker says more.",
                0
            ),
            quoted(&self.title),
            self.balances.balance,
            self.balances.large_balance,
            self.machine.boilers,
            self.machine.machine
        )
    }

    fn flight_text(&self) -> String {
        let mut base: Vec<String> = Vec::new();
        if self.waters.distilled {
            base.push(quoted(DISTILLED));
        }
        base.extend(self.waters.others.iter().map(|(name, _)| quoted(name)));
        let mut out = format!(
            "{}Flight(\n    title: {},\n    base: [{}],\n    bottle: \"{} mL\",\n",
            remark(
                "The first flight. A goal is an amount (as near as possible, within 5 % unless a tolerance is \
                 given), `at most`, `at least` or two values. Change what you like: nothing here is written \
                 over.",
                0
            ),
            quoted(&format!("First flight of {}", self.title)),
            base.join(", "),
            show::plain(self.bottle_ml)
        );
        if let Some(dispenser) = self.dispensers.first() {
            out.push_str(&format!("    dispenser: {},\n", quoted(&dispenser.name)));
        }
        out.push_str("    targets: [\n");
        for target in &self.targets {
            if let Some(source) = &target.source {
                out.push_str(&remark(source, 8));
            }
            out.push_str(&target_text(&target.written));
        }
        out.push_str("    ],\n)\n");
        out
    }
}

/// A remark of a file, in lines that fit a terminal.
pub(super) fn remark(text: &str, indent: usize) -> String {
    let before = format!("{}// ", " ".repeat(indent));
    let broken = wrapped_within(text, LINE - before.len());
    broken.lines().fold(String::new(), |out, line| out + &before + line + "\n")
}

/// Our choice: letters in a line of a file, as a terminal shows them.
const LINE: usize = 80;

/// The text of a stock's file.
pub(super) fn stock_text(bag: &Bag, grams_per_kg: f64, bottle_ml: f64) -> String {
    let lot = if bag.purity.is_empty() {
        String::new()
    } else {
        format!("    lot: (purity: {}),\n", quoted(&bag.purity))
    };
    // The salt of a whole bottle, in hundredths of a gram; `weigh` says whether the balance can do it.
    let salt = (grams_per_kg * bottle_ml / 10.0).round() / 100.0;
    format!(
        "{}Stock(\n    name: {},\n    salt: {},\n{lot}    made: ToTotalMass(salt: \"{} g\", total: \"{} g\"),\n)\n",
        remark(
            &format!(
                "{}: salt first, then water until the balance shows the total. `waterflight weigh {}` \
                 says how.",
                bag.full_name,
                if bag.name.contains(' ') { quoted(&bag.name) } else { bag.name.clone() }
            ),
            0
        ),
        quoted(&bag.name),
        quoted(&bag.salt),
        show::plain(salt),
        show::plain(bottle_ml)
    )
}

/// A file name of a name that has letters, digits, blanks, - and _.
pub(super) fn file_stem(name: &str) -> String {
    name.to_lowercase().replace(' ', "-")
}
