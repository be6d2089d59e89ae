//! An order as a text that is sent to the supplier: what and how much, no prices, so that whoever may see it may send it.

use jiff::civil::Date;

use super::{in_packs, measured, named};
use crate::{
    domain::{buying::PlacedLine, shop::ShopBook},
    storage::{JobId, OrderId},
    web::show::Show,
};

/// The text and the field from which it is copied.
pub struct OrderText {
    pub id: String,
    pub text: String,
}

impl OrderText {
    /// So high that all of it is seen.
    pub fn rows(&self) -> usize {
        self.text.lines().count()
    }
}

/// With the order's number and day once it is placed.
pub fn of(
    supplier: &str,
    placed: Option<(OrderId, Date)>,
    lines: &[PlacedLine<JobId>],
    shop: &ShopBook,
    show: &Show,
) -> String {
    let town = if shop.town.is_empty() { String::new() } else { format!(", {}", shop.town) };
    let mut text = format!("To {supplier}\nFrom {}{town}\n", shop.name);
    if let Some((order, day)) = placed {
        text.push_str(&format!("Our order {order} of {}\n", show.day(day)));
    }
    text.push('\n');
    for line in lines.iter().filter(|line| !line.bought.is_zero()) {
        let size = line.stock.as_ref().map_or_else(String::new, |stock| format!(", {}", measured(stock, show)));
        let theirs = if line.article.is_empty() { String::new() } else { format!(", your number {}", line.article) };
        let amount = in_packs(line.packs, line.pack, line.unit, &line.stock);
        text.push_str(&format!(
            "{amount}: {}{size}{theirs} (our code {})\n",
            named(&line.name, &line.stock),
            line.code
        ));
    }
    text.push_str("\nPlease confirm price and day of delivery.\n");
    text
}
