//! What the demo's other suppliers ask, and what lies on its rack.

use jiff::{Timestamp, civil::Date};
use rust_decimal::Decimal;
use serde::Deserialize;

use super::{FillError, WHO, days_before};
use crate::{
    domain::{
        measure::Money,
        shop::{ShopBook, Sizes, Stocked, Supply},
    },
    storage::{By, NewPiece, Store},
};

const SUPPLIES: &str = include_str!("../../seed-data/demo/supplies.toml");
const RACK: &str = include_str!("../../seed-data/demo/rack.toml");

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Suppliers {
    suppliers: Vec<Supplier>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Supplier {
    name: String,
    lead_days: u32,
    from: Date,
    prices: Vec<Asked>,
}

/// Of one item.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    code: String,
    article: String,
    price: Money,
    #[serde(default = "single")]
    pack: Decimal,
    sizes: Option<Sizes>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Rack {
    pieces: Vec<Pieces>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Pieces {
    #[serde(default = "one")]
    count: u32,
    stock: Stocked,
    /// Of each.
    worth: Money,
    #[serde(default)]
    sawn_here: bool,
    place: String,
    origin: String,
    days_ago: i64,
}

const fn single() -> Decimal {
    Decimal::ONE
}

const fn one() -> u32 {
    1
}

fn read<T: serde::de::DeserializeOwned>(file: &str, text: &str) -> Result<T, FillError> {
    toml::from_str(text).map_err(|fault| FillError::Data(format!("{file}: {fault}")))
}

/// What the other suppliers ask, by the item's code, with their days moved along to today.
pub fn supplies_as_of(today: Date) -> Result<Vec<(String, Supply)>, FillError> {
    let data = |fault: jiff::Error| FillError::Data(fault.to_string());
    let along = ShopBook::demo().rates.day.until(today).map_err(data)?;
    let mut all = Vec::new();
    for supplier in read::<Suppliers>("supplies.toml", SUPPLIES)?.suppliers {
        let from = supplier.from.checked_add(along).map_err(data)?;
        all.extend(supplier.prices.into_iter().map(|asked| {
            let supply = Supply {
                supplier: supplier.name.clone(),
                article: asked.article,
                pack: asked.pack,
                lead_days: supplier.lead_days,
                price: asked.price,
                from,
                sizes: asked.sizes,
            };
            (asked.code, supply)
        }));
    }
    Ok(all)
}

/// Enters what the other suppliers ask. The item's own supplier stays the one that prices.
pub async fn add_supplies(store: &Store, today: Date, by: By<'_>) -> Result<(), FillError> {
    match store.add_supplies(&supplies_as_of(today)?, by).await?.as_slice() {
        [] => Ok(()),
        unknown => Err(FillError::Data(format!("supplies.toml: no item has the code {}", unknown.join(", ")))),
    }
}

/// Lays bars, offcuts and sheets on the rack.
pub async fn fill_rack(store: &Store, now: Timestamp) -> Result<(), FillError> {
    for pieces in read::<Rack>("rack.toml", RACK)?.pieces {
        let by = By { who: WHO, at: days_before(now, pieces.days_ago)? };
        let Pieces { stock, worth, sawn_here, place, origin, .. } = pieces;
        store.receive_pieces(&NewPiece { stock, worth, sawn_here, place, origin }, pieces.count, by).await?;
    }
    Ok(())
}
