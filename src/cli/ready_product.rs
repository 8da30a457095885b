//! What everyday water is compared with, as typed.

use clap::Args;

use crate::everyday::ReadyProduct;
use crate::everyday::cost::MoneyAmount;
use crate::files::{Diagnostic, Mistakes};
use crate::quantities::Dimension;
use crate::quantities::spelling::leading_number;
use crate::stock::Price;

/// What everyday water is compared with.
#[derive(Debug, Clone, Args)]
pub(super) struct ReadyProductOptions {
    /// Price of a ready product, per finished water, as in "0.30 per L".
    #[arg(long, value_name = "PRICE")]
    ready_product: Option<String>,
    /// Price of a balance that the savings are to pay back.
    #[arg(
        long = "balance-price",
        alias = "scale-price",
        value_name = "MONEY",
        requires = "ready_product"
    )]
    balance_price: Option<String>,
}

/// What it is compared with, as typed.
pub(super) fn ready_product(options: &ReadyProductOptions) -> Result<ReadyProduct, Mistakes> {
    let ready = options.ready_product.as_deref().map(|text| {
        Price::parse(text, Dimension::Volume)
            .map_err(|_| wrong("--ready-product", text, "\"0.30 per L\" of finished water"))
    });
    let scale = options.balance_price.as_deref().map(|text| {
        let sum = leading_number(text.trim())
            .ok()
            .map(|(amount, money)| MoneyAmount { amount, money: money.trim().to_owned() });
        let sum = sum.filter(|s| s.amount >= 0.0 && !s.money.contains("per"));
        sum.ok_or_else(|| wrong("--balance-price", text, "\"35\", or \"35 coins\""))
    });
    Ok(ReadyProduct { ready: ready.transpose()?, scale: scale.transpose()? })
}

fn wrong(option: &str, text: &str, example: &str) -> Mistakes {
    Diagnostic::choice(format!("{option}: `{text}` is no price"))
        .expected(format!("a price, as in {example}"))
        .into()
}
