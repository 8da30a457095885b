//! Several readings of one dilution: what they give together lies among them, scatter is counted and not
//! taken for a wrong label, and readings that contradict each other give nothing.

use std::error::Error;

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use waterflight::app::bottles::bottle;
use waterflight::app::verified_stock::{VerifiedStock, verify_stock};
use waterflight::bench::Bench;
use waterflight::quantities::{Day, Millilitres};
use waterflight::stock::reading::{Reading, Titration};
use waterflight::stock::verify::Dilution;

use crate::common::answers::run;
use crate::common::starter_bench;

type Fallible<T> = Result<T, Box<dyn Error>>;

fn verified(bench: &Bench, stock: &str, readings: &[Reading]) -> Fallible<VerifiedStock> {
    let dilution = Dilution::new(Millilitres::new(5.0), Millilitres::new(1000.0))?;
    Ok(verify_stock(bench, &bottle(bench, stock)?, dilution, 0.0, readings)?)
}

fn strength(bench: &Bench, stock: &str, readings: &[Reading]) -> Fallible<f64> {
    Ok(verified(bench, stock, readings)?.report.found.ok_or("nothing was found")?.meq_per_ml)
}

/// Stocks that hold what their labels say: all readings share one error of the meter and one of the
/// dilution, and each has scatter of its own.
#[test]
fn the_strength_lies_among_its_readings_and_scatter_is_no_wrong_label() -> Fallible<()> {
    let (_folder, root) = starter_bench()?;
    let bench = Bench::open(&root)?;
    let mut random = StdRng::seed_from_u64(1932);
    let (mut all, mut wrong) = (0, 0);
    for scatter in [0.0, 0.003, 0.01, 0.02, 0.2] {
        for n in 0..40 {
            let stock = match n % 3 {
                0 => "calcium",
                1 => "epsom",
                _ => "soda",
            };
            let shown = verified(&bench, stock, &[])?.report.expected;
            let (us, hardness) = (shown.us_per_cm.ok_or("no µS")?, shown.hardness_mg_per_l_caco3);
            let shared = 1.0 + random.random_range(-0.015..=0.015);
            let mut off = || shared * (1.0 + scatter * random.random_range(-1.7..=1.7));
            let mut readings = Vec::new();
            for _ in 0..2 + n % 4 {
                readings.push(Reading::meter(&format!("{:.0} µS/cm", us * off()))?);
            }
            if let Some(hardness) = hardness.filter(|_| n % 2 == 0) {
                // 1 mL of 0.01 mol/L on 100 mL finds 10 mg/L as CaCO3.
                let ml = hardness / 10.0 * off();
                let text = format!("{ml:.1} mL of 0.01 mol/L on 100 mL");
                readings.push(Reading::titration(Titration::Edta, &text)?);
            }
            let mut alone = Vec::new();
            for reading in &readings {
                alone.push(strength(&bench, stock, std::slice::from_ref(reading))?);
            }
            let found = verified(&bench, stock, &readings)?.report.found.ok_or("nothing found")?;
            let (low, high) = alone
                .iter()
                .fold((f64::INFINITY, 0.0_f64), |(low, high), s| (low.min(*s), high.max(*s)));
            let inside = low * (1.0 - 1e-9)..=high * (1.0 + 1e-9);
            assert!(inside.contains(&found.meq_per_ml), "{readings:?}: {found:?}, {alone:?}");
            if scatter < 0.1 {
                all += 1;
                wrong += usize::from(found.can_judge && !found.label_believed);
            }
        }
    }
    // With k = 2 about one in twenty would be, were every spread normal.
    assert!(wrong * 20 <= all, "{wrong} of {all}");
    Ok(())
}

/// The same reading on ten days: meter, dispenser and flask are the same on each, so that the ± stays what
/// they leave, as it does for ten readings on one day.
#[test]
fn the_same_reading_again_makes_the_plus_minus_no_smaller() -> Fallible<()> {
    let (_folder, root) = starter_bench()?;
    let weighed = ["weighed", "calcium", "--salt", "12.2 g", "--total", "400 g"];
    run(&root, &[&weighed[..], &["--date", "2026-03-01"]].concat())?;
    let bench = Bench::open(&root)?;
    let us = verified(&bench, "calcium", &[])?.report.expected.us_per_cm.ok_or("no µS")?;
    // What is read is believed neither less nor more than the label of a stock that lost water.
    let read = Reading::meter(&format!("{:.0} µS/cm", 0.8 * us))?;
    let mut standards = Vec::new();
    for day in 2..12 {
        let bench = Bench::open(&root)?;
        let mut again = verified(&bench, "calcium", &[read])?;
        let found = again.report.found.as_ref().ok_or("nothing was found")?;
        standards.push(found.to_record_g_per_kg_standard / found.to_record_g_per_kg);
        let day = Day::parse(&format!("2026-03-{day:02}")).ok_or("no day")?;
        again.record(&bench, &bottle(&bench, "calcium")?, day, None)?;
    }
    let ten = verified(&Bench::open(&root)?, "calcium", &[read; 10])?.report.found;
    let ten = ten.ok_or("nothing was found")?;
    let ten = ten.g_per_kg_standard / ten.g_per_kg;
    let (first, last) = standards.first().zip(standards.last()).ok_or("no records")?;
    // Ten dilutions average the ten deliveries of the stock, which one does not.
    assert!(*last <= *first && *last > 0.95 * ten, "{standards:?}, at once {ten}");
    Ok(())
}

/// Two readings of which one must be misread: no verdict on the label, and nothing that every dose
/// would follow from.
#[test]
fn contradicting_readings_give_neither_a_verdict_nor_a_record() -> Fallible<()> {
    let (_folder, root) = starter_bench()?;
    let bench = Bench::open(&root)?;
    let us = verified(&bench, "calcium", &[])?.report.expected.us_per_cm.ok_or("no µS")?;
    let readings: Vec<Reading> = [1.0, 0.8]
        .iter()
        .map(|part| Reading::meter(&format!("{:.1} µS/cm", us * part)))
        .collect::<Result<_, _>>()?;
    let mut verified = verified(&bench, "calcium", &readings)?;
    let text = verified.text();
    assert!(text.contains("contradict each other, so nothing follows of the label"), "{text}");
    assert!(!text.contains("NOT RIGHT") && !text.contains("agree with"), "{text}");
    let bottle = bottle(&bench, "calcium")?;
    let refused = verified.record(&bench, &bottle, Day::today(), None);
    let refused = format!("{:?}", refused.err().ok_or("it was recorded")?);
    assert!(refused.contains("contradict each other"), "{refused}");
    Ok(())
}
