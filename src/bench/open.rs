//! Opening a bench: its files read, their names resolved against each other.

use std::path::{Path, PathBuf};

use crate::assessment::{BoilerSettings, MachineProfile};
use crate::bench::Records;
use crate::bench::flight_entry::{FlightEntry, FlightNames};
use crate::bench::folders::{
    FlightFile, FromFile, Unread, flight_files, of_folder, open_salts, open_stocks, open_waters,
    stem, stocks_known, unread_in,
};
use crate::bench::layout::MARK;
use crate::bench::no_bench::no_bench_in;
use crate::bench::parse::parse;
use crate::bench::place::no_such;
use crate::bench::records::batches_path;
use crate::bench::settings_entry;
use crate::files::{Diagnostic, Mistakes, SourceText, read};
use crate::flight::{Dispenser, Flight, Order};
use crate::mix::one_style;
use crate::page::label_sheet::LabelSheet;
use crate::quantities::Day;
use crate::stock::{Batch, Bottle, Catalogue, Price, Stock, StrengthModel, Tools};
use crate::text::names;
use crate::water::BaseWater;
use crate::water::MeterSettings;
use crate::water::base_water::DISTILLED;

/// A bench folder, read and valid.
#[derive(Debug, Clone)]
pub struct Bench {
    /// The folder.
    pub root: PathBuf,
    /// Its title.
    pub title: String,
    /// The temperatures that waters are looked at in.
    pub boilers: BoilerSettings,
    /// The meter that readings come from.
    pub meter: MeterSettings,
    /// The machine and its maker's limits, where one is described.
    pub machine: Option<MachineProfile>,
    /// What doses can be measured out with.
    pub dispensers: Vec<Dispenser>,
    /// Sheets of labels beside the common ones.
    pub labels: Vec<LabelSheet>,
    /// Built-in salts and the user's own.
    pub salts: Catalogue,
    /// The stocks, by file name: each as its newest batch was made, or as its file means it.
    pub stocks: Vec<FromFile<Stock>>,
    /// How each stock is kept and what is in its bottle, in the order of `stocks`.
    pub bottles: Vec<Bottle>,
    /// What was recorded.
    pub records: Records,
    /// Newest batches of another compound than their stock's file names.
    pub set_aside: Vec<Batch>,
    /// What is weighed, measured and dosed with.
    pub tools: Tools,
    /// Prices of waters by name, per millilitre.
    pub water_prices: Vec<(String, Price)>,
    /// The base waters, by file name; distilled water is always there beside them.
    pub waters: Vec<FromFile<BaseWater>>,
    /// The flight files, by file name.
    pub flights: Vec<FlightFile>,
    /// Files of stocks, base waters and salts that cannot be read; they stop nothing that does not need them.
    pub unread: Vec<Unread>,
}

impl Bench {
    /// Reads salts, stocks and waters; flights are only listed.
    ///
    /// # Errors
    /// Every mistake found in its files.
    pub fn open(root: &Path) -> Result<Self, Mistakes> {
        Self::open_as_of(root, None)
    }

    /// The same bench with the bottles that stood there on a day: without the batches and the verified
    /// strengths of later days.
    ///
    /// # Errors
    /// As [`Bench::open`].
    pub fn as_of(&self, day: Day) -> Result<Self, Mistakes> {
        Self::open_as_of(&self.root, Some(day))
    }

    fn open_as_of(root: &Path, day: Option<Day>) -> Result<Self, Mistakes> {
        let mark = root.join(MARK);
        if !mark.is_file() {
            return Err(no_bench_in(root).into());
        }
        let settings =
            read::text(&mark).map_err(Mistakes::from).and_then(|s| settings_entry::settings(&s));
        let mut unread = Vec::new();
        let salts = open_salts(root, &mut unread)?;
        let (bottles, wrong) = open_stocks(root, &salts);
        unread.extend(wrong);
        let (waters, wrong) = open_waters(root);
        unread.extend(wrong);
        let (flights, wrong) = flight_files(root);
        unread.extend(wrong);
        let settings = settings.map_err(|wrong| {
            wrong.and(unread.iter().map(|unread| unread.wrong.clone()).collect())
        })?;
        let mut records = Records::read_as_of(root, day)?;
        let Shelf { stocks, bottles, set_aside } = fill(root, bottles, &mut records);
        let distilled = settings.distilled_price.map(|price| (DISTILLED.to_owned(), price));
        let water_prices = waters
            .iter()
            .filter_map(|w| Some((w.value.0.name.clone(), w.value.1.clone()?)))
            .chain(distilled)
            .collect();
        let waters =
            waters.into_iter().map(|w| FromFile { value: w.value.0, path: w.path }).collect();
        Ok(Self {
            root: root.to_owned(),
            title: settings.title,
            dispensers: settings.dispensers,
            labels: settings.labels,
            boilers: settings.boilers,
            meter: settings.meter,
            machine: settings.machine,
            salts,
            stocks,
            bottles,
            records,
            set_aside,
            tools: settings.tools,
            water_prices,
            waters,
            flights,
            unread,
        })
    }

    /// The file of a flight: the only one there is, or the one of that name.
    ///
    /// # Errors
    /// Lists the flights when there are several or none of that name.
    pub fn flight_file(&self, name: Option<&str>) -> Result<&FlightFile, Diagnostic> {
        let stems: Vec<&str> = self.flights.iter().map(|f| f.stem.as_str()).collect();
        let listed = stems.join(", ");
        if let Some(wrong) = name.and_then(|name| self.unread_in("flights", name)) {
            return Err(wrong.clone());
        }
        match (name, self.flights.as_slice()) {
            (_, []) if let Some(wrong) = of_folder(&self.unread, "flights").next() => {
                Err(wrong.clone())
            }
            (_, []) => Err(Diagnostic::choice("there is no flight on this bench")
                .about(self.root.join("flights"))
                .expected("a flight file, as in flights/first-flight.ron")),
            (None, [only]) => Ok(only),
            (None, _) => Err(Diagnostic::choice("there are several flights")
                .about(self.root.join("flights"))
                .expected(listed)
                .remedy("name one of them")),
            (Some(name), flights) => {
                let wanted = Path::new(name);
                let named =
                    if wanted.extension().is_some_and(|e| e.eq_ignore_ascii_case(read::ENDING)) {
                        stem(wanted)
                    } else {
                        name.to_owned()
                    };
                let meant = names::meant(&named, &stems);
                flights.iter().find(|f| Some(f.stem.as_str()) == meant).ok_or_else(|| {
                    no_such("flight", name, &stems)
                        .about(self.root.join("flights"))
                        .remedy("name one of them")
                        .near(name, &stems)
                })
            }
        }
    }

    /// Reads a flight, with the stocks it may use.
    ///
    /// # Errors
    /// The mistake in its file.
    pub fn flight(&self, file: &FlightFile) -> Result<(Flight, Vec<Stock>), Diagnostic> {
        self.ordered_flight(file).map(|(flight, stocks, _)| (flight, stocks))
    }

    /// Reads a flight, with the stocks it may use and what else it asks of the bench.
    ///
    /// # Errors
    /// The mistake in its file.
    pub fn ordered_flight(
        &self,
        file: &FlightFile,
    ) -> Result<(Flight, Vec<Stock>, Order), Diagnostic> {
        self.ordered(&read::text(&file.path)?)
    }

    /// The flights that can be read, each with its stocks and what else it asks: one that cannot be read
    /// stops nothing that is not in it.
    pub(crate) fn readable_flights(
        &self,
    ) -> impl Iterator<Item = (&FlightFile, (Flight, Vec<Stock>, Order))> {
        self.flights.iter().filter_map(|file| Some((file, self.ordered_flight(file).ok()?)))
    }

    /// The same for the text of a flight.
    pub(super) fn ordered(
        &self,
        source: &SourceText,
    ) -> Result<(Flight, Vec<Stock>, Order), Diagnostic> {
        self.ordered_or_all_mistakes(source).map_err(Mistakes::into_first)
    }

    /// The same, with all that is wrong with it.
    pub(super) fn ordered_or_all_mistakes(
        &self,
        source: &SourceText,
    ) -> Result<(Flight, Vec<Stock>, Order), Mistakes> {
        let own = self.waters.iter().map(|w| w.value.clone());
        let mut waters: Vec<BaseWater> = own.chain([BaseWater::distilled()]).collect();
        for water in &mut waters {
            let price = self.water_prices.iter().find(|(name, _)| *name == water.name);
            water.price_per_ml = price.map(|(_, price)| price.per_base);
        }
        let shelf: Vec<Stock> = self.stocks.iter().map(|s| s.value.clone()).collect();
        let context = FlightNames {
            root: &self.root,
            salts: &self.salts,
            waters: &waters,
            shelf: &shelf,
            dispensers: &self.dispensers,
            unread: &self.unread,
        };
        let (mut flight, stocks, mut order, style) =
            parse::<FlightEntry>(source)?.into_flight(source, context)?;
        one_style::carry_out(&mut flight, &stocks, &mut order, style, self.tools.dispenser.least)
            .map_err(|error| Diagnostic::content(error.to_string()).about(source.path()))?;
        Ok((flight, stocks, order))
    }

    /// What is not known exactly of each of some stocks of the bench.
    #[must_use]
    pub fn strength_models(&self, stocks: &[Stock]) -> Vec<StrengthModel> {
        let model = |stock: &Stock| {
            StrengthModel::new(stock, self.bottle(stock).and_then(Bottle::verified))
        };
        stocks.iter().map(model).collect()
    }

    /// The batch that is in the bottle of a stock now, by the name of the stock.
    pub(crate) fn batch_in_bottle(&self, stock: &str) -> Option<&Batch> {
        let bottle = self.bottles.iter().find(|bottle| bottle.written.name() == stock)?;
        bottle.batch.as_ref()
    }

    /// What was poured from the batch that is in a bottle now, spilled of it, or found missing, mL.
    #[must_use]
    pub fn taken_ml(&self, bottle: &Bottle) -> f64 {
        self.taken_ml_until(bottle, None)
    }

    /// The same up to a day, where one is given.
    pub(crate) fn taken_ml_until(&self, bottle: &Bottle, until: Option<Day>) -> f64 {
        let Some(batch) = &bottle.batch else { return 0.0 };
        let name = bottle.written.name();
        let stock = self.stocks.iter().find(|s| s.value.name() == name);
        let made_ml = stock.map_or(0.0, |s| batch.volume(&s.value).value());
        self.records.used_ml(&batch.stock, batch.number, made_ml, until)
    }

    /// The bottle of a stock of the bench.
    #[must_use]
    pub fn bottle(&self, stock: &Stock) -> Option<&Bottle> {
        self.bottles.iter().find(|b| b.written.name() == stock.name())
    }

    /// That every batch recorded can be read: one that cannot may be in any bottle.
    ///
    /// # Errors
    /// The lines that cannot be read.
    pub fn strengths_known(&self) -> Result<(), Mistakes> {
        let unread = &self.records.unread_batches;
        if unread.is_empty() { Ok(()) } else { Err(unread.clone().into()) }
    }

    /// Every stock of the bench, for what would be another one with fewer.
    ///
    /// # Errors
    /// The files of stocks that cannot be read.
    pub fn whole_shelf(&self) -> Result<Vec<Stock>, Mistakes> {
        stocks_known(&self.unread)?;
        Ok(self.stocks.iter().map(|stock| stock.value.clone()).collect())
    }

    /// What is wrong with a file of one of its folders that is named and cannot be read.
    #[must_use]
    pub fn unread_in(&self, folder: &str, name: &str) -> Option<&Diagnostic> {
        unread_in(&self.unread, folder, name)
    }

    /// The sheet of labels of a name: one of the bench, or columns x rows as in `3x7`.
    ///
    /// # Errors
    /// When there is none of that name.
    pub fn label_sheet(&self, name: &str) -> Result<LabelSheet, Diagnostic> {
        let own = self.labels.iter().find(|sheet| sheet.name == name).cloned();
        own.or_else(|| LabelSheet::named(name)).ok_or_else(|| {
            let names: Vec<&str> = self.labels.iter().map(|sheet| sheet.name.as_str()).collect();
            let own = if names.is_empty() {
                String::new()
            } else {
                format!(", or {} of bench.ron", names.join(", "))
            };
            Diagnostic::choice(format!("`{name}` is no sheet of labels"))
                .expected(format!("columns x rows, as in 3x7{own}"))
                .remedy("a size of your own stands in `labels` of bench.ron")
        })
    }

    /// The stock of that name.
    ///
    /// # Errors
    /// Lists the stocks when there is none of that name.
    pub fn stock(&self, name: &str) -> Result<&FromFile<Stock>, Diagnostic> {
        let by_name: Vec<&str> = self.stocks.iter().map(|s| s.value.name()).collect();
        let by_file: Vec<String> = self.stocks.iter().map(|s| stem(&s.path)).collect();
        let by_file: Vec<&str> = by_file.iter().map(String::as_str).collect();
        let named = names::meant(name, &by_name)
            .and_then(|meant| by_name.iter().position(|n| *n == meant))
            .or_else(|| {
                let meant = names::meant(name, &by_file)?;
                by_file.iter().position(|n| *n == meant)
            });
        named.and_then(|n| self.stocks.get(n)).ok_or_else(|| {
            if let Some(wrong) = self.unread_in("stocks", name) {
                return wrong.clone();
            }
            no_such("stock", name, &by_name)
                .about(self.root.join("stocks"))
                .remedy("name one of them")
                .near(name, &by_name)
        })
    }
}

/// The stocks as they are in their bottles.
struct Shelf {
    stocks: Vec<FromFile<Stock>>,
    bottles: Vec<Bottle>,
    set_aside: Vec<Batch>,
}

/// Puts the newest batch of each stock into its bottle. A batch of another compound, from before
/// the stock's file was changed, stays in the records and out of the bottle.
fn fill(root: &Path, bottles: Vec<FromFile<Bottle>>, records: &mut Records) -> Shelf {
    let mut set_aside = Vec::new();
    let mut stocks = Vec::new();
    let mut filled = Vec::new();
    for FromFile { value: mut bottle, path } in bottles {
        let written = bottle.written.recipe();
        let newest = records.newest(bottle.written.name()).cloned();
        let (newest, other) = match newest {
            Some(batch) if !batch.is_of(&written.salt.formula) => (None, Some(batch)),
            newest => (newest, None),
        };
        set_aside.extend(other);
        let stock = match newest {
            None => bottle.written.clone(),
            Some(mut batch) => {
                batch.lot.price.clone_from(&written.lot.price);
                match batch.made(written) {
                    Ok(made) => {
                        bottle.batch = Some(batch);
                        made
                    }
                    Err(error) => {
                        let what = format!("batch {} of {}: {error}", batch.number, batch.stock);
                        records.unread_batches.push(
                            Diagnostic::content(what)
                                .about(batches_path(root))
                                .remedy("record what was really weighed once more, with `weighed`"),
                        );
                        bottle.written.clone()
                    }
                }
            }
        };
        stocks.push(FromFile { value: stock, path });
        filled.push(bottle);
    }
    Shelf { stocks, bottles: filled, set_aside }
}
