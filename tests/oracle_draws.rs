//! Draws compared with those worked out from the cipher's definition by another program.

use std::error::Error;

use serde::Deserialize;
use std::collections::BTreeMap;
use waterflight::session::plan::{Draw, Purpose, Seed};

#[derive(Deserialize)]
struct Case {
    seed: String,
    stream: u64,
    below: BTreeMap<String, Vec<usize>>,
    order: Vec<usize>,
}

const PURPOSES: [Purpose; 6] = [
    Purpose::Labels,
    Purpose::Orders,
    Purpose::Codes,
    Purpose::Duplicates,
    Purpose::Stickers,
    Purpose::Blocks,
];

#[test]
fn draws_are_those_of_the_cipher() -> Result<(), Box<dyn Error>> {
    let cases: Vec<Case> = serde_json::from_str(include_str!("oracle/chacha_draws.json"))?;
    assert_eq!(cases.len(), 18);
    for case in cases {
        let seed = Seed::from_hex(&case.seed)?;
        let purpose =
            PURPOSES.into_iter().find(|&p| p as u64 == case.stream).ok_or("no such stream")?;
        for (n, wanted) in &case.below {
            let n: usize = n.parse()?;
            let mut draw = Draw::new(&seed, purpose);
            let drawn: Vec<usize> = wanted.iter().map(|_| draw.below(n)).collect();
            assert_eq!(&drawn, wanted, "below {n}, stream {}", case.stream);
        }
        assert_eq!(Draw::new(&seed, purpose).permutation(12), case.order);
    }
    Ok(())
}

#[test]
fn a_phrase_is_hashed_with_its_prefix() {
    // SHA-256 of "waterflight seed 1\ndemo", by another program.
    let seed = "2e8cdfec35a8494337a7c548874b5fd5e4b948e9ba21c1400ddda4a654b945e7";
    assert_eq!(Seed::from_phrase("demo").to_hex(), seed);
}
