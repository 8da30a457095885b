//! The newtypes, and every lawful product or quotient between them, one line each.

use std::ops::{Add, Div, Mul};

macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident, $symbol:literal;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            /// The unit as printed.
            pub const SYMBOL: &'static str = $symbol;

            /// Wraps a number that is already in this unit.
            #[must_use]
            pub const fn new(value: f64) -> Self {
                Self(value)
            }

            /// The number, in this unit.
            #[must_use]
            pub const fn value(self) -> f64 {
                self.0
            }
        }

        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }

        impl Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }
    )*};
}

quantities! {
    /// A mass.
    Grams, "g";
    /// A volume of stock or of a dose.
    Millilitres, "mL";
    /// A volume of water.
    Litres, "L";
    /// A density; numerically also kg/L.
    GramsPerMillilitre, "g/mL";
    /// A molar mass.
    GramsPerMole, "g/mol";
    /// A temperature on the Celsius scale.
    Celsius, "°C";
    /// A mass fraction, purity, moisture or share, from 0 to 1.
    Fraction, "1";
    /// A concentration in equivalents of charge.
    MilliequivalentsPerLitre, "meq/L";
    /// The strength of a stock in equivalents of its cations (equal to that of its anions).
    MilliequivalentsPerMillilitre, "meq/mL";
    /// A dose: millilitres of stock per litre of water.
    MillilitresPerLitre, "mL/L";
}

macro_rules! laws {
    ($($left:ident * $right:ident = $product:ident;)*) => {$(
        impl Mul<$right> for $left {
            type Output = $product;
            fn mul(self, other: $right) -> $product {
                $product(self.0 * other.0)
            }
        }
        impl Div<$right> for $product {
            type Output = $left;
            fn div(self, other: $right) -> $left {
                $left(self.0 / other.0)
            }
        }
        impl Div<$left> for $product {
            type Output = $right;
            fn div(self, other: $left) -> $right {
                $right(self.0 / other.0)
            }
        }
    )*};
}

laws! {
    GramsPerMillilitre * Millilitres = Grams;
    MillilitresPerLitre * Litres = Millilitres;
    MilliequivalentsPerMillilitre * MillilitresPerLitre = MilliequivalentsPerLitre;
}

impl Litres {
    /// The same volume in millilitres.
    #[must_use]
    pub fn to_millilitres(self) -> Millilitres {
        Millilitres(self.0 * 1000.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_product_and_its_quotient_undo_each_other() {
        let density = GramsPerMillilitre::new(1.25);
        let volume = Millilitres::new(8.0);
        let mass: Grams = density * volume;
        assert!((mass.value() - 10.0).abs() < 1e-15);
        let back: GramsPerMillilitre = mass / volume;
        assert!((back.value() - density.value()).abs() < 1e-15);
    }
}
