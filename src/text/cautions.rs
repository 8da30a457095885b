//! The cautions, each once, and where they must appear.

/// Below every list of salts and stocks.
pub const SALTS: &str = "Food-grade salts only, and the exact hydrate on the label. The cautions \
of the maker's data sheet come first.";

/// Below every planned flight.
pub const DRINKING: &str = "Not a treatment for unsafe water. Sodium or potassium restricted \
diets: ask your doctor. Local drinking-water rules decide.";

/// The same in one line, where a screen has room for no more; `--full` has the whole.
pub const DRINKING_IN_A_LINE: &str =
    "Not for unsafe water; sodium, potassium limits: ask a doctor; local rules hold.";

/// Where limescale or corrosion is spoken of.
pub const MACHINES: &str = "Boilers: the maker's limits and the warranty come first; indices are \
hints, not promises.";
