//! Flights that share what is left of some stocks, against HiGHS on all of their waters in one linear
//! program: `oracle/left_flights.json`, made by `oracle/left_flights.py`.

use std::error::Error;

use serde_json::Value;
use waterflight::planner::lp::program::{PourableColumns, Priorities};
use waterflight::planner::whole_flight::Watch;
use waterflight::planner::whole_flight::joint::{JointProgram, plan_together};

use crate::common::flights::{at, columns, list, number, rows};

type Fallible<T> = Result<T, Box<dyn Error>>;

fn flight(of: &Value) -> Fallible<(PourableColumns, JointProgram, Priorities)> {
    let pourable = columns(of)?;
    let waters = list(of, "waters")?.iter().map(rows).collect::<Fallible<Vec<_>>>()?;
    let asked = JointProgram {
        allowed: vec![vec![true; pourable.stocks.len()]; waters.len()],
        rows: waters,
        bottle: number(of, "bottle")?,
        left: serde_json::from_value(at(of, "left")?.clone())?,
    };
    let priorities = Priorities {
        largest_first: at(of, "largest")?.as_bool().ok_or("largest")?,
        preference: serde_json::from_value(at(of, "costs")?.clone())?,
    };
    Ok((pourable, asked, priorities))
}

/// Every stage of every flight is proved and has the value that HiGHS finds, the largest misses and
/// the least sodium among them; and the doses take no more than is left.
#[test]
fn sums_over_a_flight_are_those_of_highs() -> Fallible<()> {
    let file: Value = serde_json::from_str(include_str!("oracle/left_flights.json"))?;
    let flights = list(&file, "flights")?;
    assert!(flights.len() >= 55, "only {} flights", flights.len());
    for (n, of) in flights.iter().enumerate() {
        let (pourable, asked, priorities) = flight(of)?;
        let found = plan_together(&pourable, &asked, &priorities, &Watch::default())?;
        assert!(found.proved, "flight {n}: {:?}", found.stages);
        let sums: Vec<f64> = serde_json::from_value(at(of, "sums")?.clone())?;
        assert_eq!(found.stages.len(), sums.len(), "flight {n}");
        for (stage, ([value, bound], sum)) in found.stages.iter().zip(&sums).enumerate() {
            // What caps with a slack and rows kept to 1e-10 leave HiGHS.
            let near = 2e-6 * sum.abs().max(1.0);
            assert!((value - sum).abs() <= near, "flight {n} stage {stage}: {value} and {sum}");
            assert!(*bound <= sum + near, "flight {n} stage {stage}: {bound} above {sum}");
        }
        for (stock, ml) in &asked.left {
            let per_meq = pourable.stocks.get(*stock).ok_or("no stock")?.1;
            let doses = found.solutions.iter().filter_map(|s| s.meq_per_l.get(*stock));
            let taken: f64 = doses.map(|u| u * per_meq * asked.bottle).sum();
            assert!(taken <= ml + 1e-7, "flight {n}: {taken} of {ml} mL");
        }
    }
    Ok(())
}
