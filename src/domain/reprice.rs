//! What an issued quote costs the shop at other prices than those it was issued with. The frozen quantities stand: the same
//! cutting plans, parts and hours at new prices, by the policy of the day of issue. No new plan is made, and the price that
//! the customer was given does not move.

use rust_decimal::Decimal;

use super::{
    issued::IssuedQuote,
    measure::{Length, Money},
    nesting::cutting::{Cutting, Source},
    pricing::{self, BuildUp, Step, margin_percent},
    shop::{BarLength, Goods, Item, RateBook, SheetSize, ShopBook},
};

/// An issued quote at other prices.
#[derive(Clone, Debug, PartialEq)]
pub struct Repriced {
    /// Without the allowance for rising prices: that is there to be used up.
    pub cost_before: Money,
    pub cost_then: Money,
    /// As it was given: before tax, without delivery, which is sold at cost.
    pub price: Money,
    pub margin_before: Option<Decimal>,
    pub margin_then: Option<Decimal>,
    /// Items that have no price now, or another unit: reckoned with their old one.
    pub gone: Vec<String>,
}

/// Works the cost of a quote out again with the prices of another book.
pub fn reprice(quote: &IssuedQuote, now: &RateBook) -> Repriced {
    let frozen = &quote.estimate;
    let mut gone = Vec::new();
    let items = quote.rates.items.iter().map(|old| match now.item(&old.code).filter(|new| new.unit == old.unit) {
        Some(new) => new.clone(),
        None => {
            gone.push(old.code.clone());
            old.clone()
        }
    });
    let rates = RateBook { day: now.day, items: items.collect() };
    let mut take_off = frozen.take_off.clone();
    for demand in &mut take_off.parts {
        if let Some(part) = &mut demand.part.item
            && let Some(item) = rates.item(&part.code)
        {
            part.price = item.price;
        }
    }
    let cutting = at_prices(&frozen.cutting, &rates);
    let shop = &quote.shop;
    let book = ShopBook {
        name: shop.name.clone(),
        town: shop.town.clone(),
        language: shop.language.clone(),
        time_zone: shop.time_zone.clone(),
        other_terms: Default::default(),
        currency: shop.currency.clone(),
        units: shop.units,
        policy: shop.policy.clone(),
        terms: shop.terms.clone(),
        norms: shop.norms.clone(),
        rates,
    };
    let build_up = pricing::build_up(&frozen.spec, &take_off, &cutting, &frozen.hours, &book);
    let (cost_before, cost_then) = (bare_cost(&frozen.build_up), bare_cost(&build_up));
    let price = frozen.build_up.sold();
    Repriced {
        cost_before,
        cost_then,
        price,
        margin_before: margin_percent(cost_before, price),
        margin_then: margin_percent(cost_then, price),
        gone,
    }
}

/// The cost without what was allowed for rising prices.
pub fn bare_cost(build_up: &BuildUp) -> Money {
    build_up.cost() - build_up.sum(|step| step == Step::Allowance)
}

/// The plans as they are, their bought stock at the prices of a book. What lay on the rack keeps its worth.
fn at_prices(cutting: &Cutting, rates: &RateBook) -> Cutting {
    let mut cutting = cutting.clone();
    for cut in &mut cutting.bars {
        for (stock, source) in cut.problem.stock.iter_mut().zip(&cut.sources) {
            let length = Length::from_mm(stock.length.mm());
            let new = bought(source, rates).and_then(|item| bar_price(item, length));
            if let (Some(new), Some(old)) = (new, stock.cost) {
                stock.offcut_value_per_m = in_proportion(stock.offcut_value_per_m, old, new);
                stock.cost = Some(new);
            }
        }
    }
    for cut in &mut cutting.sheets {
        for (stock, source) in cut.problem.stock.iter_mut().zip(&cut.sources) {
            let sides = [stock.length, stock.width].map(|side| Length::from_mm(side.mm()));
            let new = bought(source, rates).and_then(|item| sheet_price(item, sides));
            if let (Some(new), Some(old)) = (new, stock.cost) {
                stock.offcut_value_per_m2 = in_proportion(stock.offcut_value_per_m2, old, new);
                stock.cost = Some(new);
            }
        }
    }
    cutting
}

fn bought<'a>(source: &Source, rates: &'a RateBook) -> Option<&'a Item> {
    match source {
        Source::New(code) => rates.item(code),
        Source::Rack(_) => None,
    }
}

/// A plan counts in tenths of a millimetre, rounded down.
fn alike(one: Length, other: Length) -> bool {
    (one.mm() - other.mm()).abs() < 0.11
}

/// The price of a bar of this length; by the item's own price where that length is not on its list now.
fn bar_price(item: &Item, length: Length) -> Option<Money> {
    let Goods::Bar { lengths, .. } = &item.goods else { return None };
    let listed = lengths.iter().find(|bar| alike(bar.length, length)).cloned();
    item.bar_price(&listed.unwrap_or(BarLength { length, price: None }))
}

fn sheet_price(item: &Item, [length, width]: [Length; 2]) -> Option<Money> {
    let Goods::Sheet { sizes, .. } = &item.goods else { return None };
    let listed = sizes.iter().find(|size| alike(size.length, length) && alike(size.width, width)).cloned();
    item.sheet_price(&listed.unwrap_or(SheetSize { length, width, price: None }))
}

fn in_proportion(value: Money, old: Money, new: Money) -> Money {
    let ratio = new.0.checked_div(old.0).unwrap_or(Decimal::ONE);
    (value * ratio).rounded(4)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        estimate::estimate,
        nesting::{Budget, unwatched},
        options::Options,
        shop::{ItemClass, Rack},
        trailer::{Load, Spec},
    };

    fn issued(book: &ShopBook) -> IssuedQuote {
        let mut spec = Spec::default();
        spec.need.loads = vec![Load { name: "hives".into(), ..Load::default() }];
        let estimate = estimate(&spec, book, &Rack::default(), Budget::preview(), &mut unwatched).unwrap();
        IssuedQuote::freeze(&estimate, Options::default(), book)
    }

    #[test]
    fn at_the_same_prices_nothing_moves_and_a_dearer_tube_costs_what_the_plan_takes_of_it() {
        let mut book = ShopBook::demo();
        book.policy.price_allowance = true;
        let quote = issued(&book);
        let same = reprice(&quote, &book.rates);
        assert_eq!((same.cost_before, same.margin_before), (same.cost_then, same.margin_then));
        assert_eq!(same.gone, [""; 0]);

        let mut dearer = book.rates.clone();
        for item in dearer.items.iter_mut().filter(|item| item.class == ItemClass::HollowSection) {
            *item = item.changed_by_percent(Decimal::from(12));
        }
        let then = reprice(&quote, &dearer);
        let tube: Money = quote
            .estimate
            .build_up
            .lines
            .iter()
            .filter(|line| line.class == Some(ItemClass::HollowSection))
            .map(|line| line.amount)
            .sum();
        assert!(tube > Money::ZERO);
        // 12 % of the tube, freight and contingency on it; prices are rounded to a hundredth a metre.
        let policy = &quote.shop.policy;
        let more = |percent: Decimal| Decimal::ONE + percent / Decimal::ONE_HUNDRED;
        let on_top = more(policy.freight_percent) * more(policy.contingency_percent);
        let expected = tube.0 * Decimal::new(12, 2) * on_top;
        let moved = (then.cost_then - then.cost_before).0;
        assert!((moved - expected).abs() < expected * Decimal::new(1, 2), "{moved} for {expected}");
        assert_eq!(then.price, same.price, "what the customer was given does not move");
        assert!(then.margin_then < then.margin_before);
    }

    #[test]
    fn what_is_not_sold_any_more_keeps_its_price_and_is_named() {
        let book = ShopBook::demo();
        let quote = issued(&book);
        let none = RateBook { day: book.rates.day, items: Vec::new() };
        let then = reprice(&quote, &none);
        assert_eq!(then.cost_before, then.cost_then);
        assert_eq!(then.gone.len(), quote.rates.items.len());
    }
}
