//! The ends of some values, and the orders that items can have.

/// The least and the largest of some values; nothing of none.
///
/// ```
/// use waterflight::numerics::ends;
/// assert_eq!(ends([2.0, 0.5, 1.0]), Some((0.5, 2.0)));
/// ```
pub fn ends<T: PartialOrd + Copy>(values: impl IntoIterator<Item = T>) -> Option<(T, T)> {
    values.into_iter().map(|value| (value, value)).reduce(|(low, high), (value, _)| {
        (if value < low { value } else { low }, if value > high { value } else { high })
    })
}

/// The next arrangement in the order of the dictionary, items that are equal not exchanged; false after
/// the last.
///
/// ```
/// use waterflight::numerics::next_permutation;
/// let mut items = [1, 2, 2];
/// assert!(next_permutation(&mut items) && items == [2, 1, 2]);
/// assert!(next_permutation(&mut items) && !next_permutation(&mut items));
/// ```
pub fn next_permutation<T: Ord>(items: &mut [T]) -> bool {
    let pivot = items.windows(2).rposition(|pair| matches!(pair, [a, b] if a < b));
    let found = pivot.and_then(|pivot| {
        let value = items.get(pivot)?;
        Some((pivot, items.iter().rposition(|item| item > value)?))
    });
    let Some((pivot, larger)) = found else { return false };
    items.swap(pivot, larger);
    if let Some(rest) = items.get_mut(pivot + 1..) {
        rest.reverse();
    }
    true
}
