//! Lists in which nothing stands twice.

/// What is listed, each once, in the order of its first place.
pub(crate) fn each_once<T: PartialEq>(items: impl IntoIterator<Item = T>) -> Vec<T> {
    items.into_iter().fold(Vec::new(), |mut known, item| {
        if !known.contains(&item) {
            known.push(item);
        }
        known
    })
}
