//! Starting blocks of balanced incomplete block designs, as `block_designs.txt` lists them.

use std::sync::LazyLock;

/// Starting blocks and how they are unrolled.
#[derive(Debug, Clone)]
pub(crate) struct Family {
    /// Waters.
    pub(crate) waters: usize,
    /// Waters in a block.
    pub(crate) size: usize,
    /// The waters stand on circles of this length, `circle·i + j`; what is left over stands still.
    pub(crate) circle: usize,
    /// Number of circles.
    pub(crate) circles: usize,
    /// One block of each orbit.
    pub(crate) starts: Vec<Vec<usize>>,
}

/// All families, by waters and block size.
pub(crate) static FAMILIES: LazyLock<Vec<Family>> =
    LazyLock::new(|| rows().filter_map(family).collect());

/// The lines of the list that are no remarks.
fn rows() -> impl Iterator<Item = &'static str> {
    include_str!("block_designs.txt").lines().filter(|line| !line.starts_with('#'))
}

fn numbers(text: &str) -> Option<Vec<usize>> {
    text.split_whitespace().map(|word| word.parse().ok()).collect()
}

fn family(row: &str) -> Option<Family> {
    let (head, starts) = row.split_once(':')?;
    let [waters, size, circle, circles] = *numbers(head)?.as_slice() else { return None };
    let starts = starts.split(';').map(numbers).collect::<Option<_>>()?;
    Some(Family { waters, size, circle, circles, starts })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_is_a_family_of_its_waters() {
        assert_eq!(FAMILIES.len(), rows().count());
        for family in FAMILIES.iter() {
            let fits = |block: &Vec<usize>| {
                block.len() == family.size && block.iter().all(|water| *water < family.waters)
            };
            assert!(!family.starts.is_empty() && family.starts.iter().all(fits), "{family:?}");
            assert!(family.circle * family.circles <= family.waters, "{family:?}");
        }
    }
}
