//! Needs as orders: what is bought of whom, in whole packs, at what price, and until when it must be ordered.

use std::collections::BTreeMap;

use jiff::civil::Date;
use rust_decimal::{Decimal, RoundingStrategy};

use super::Need;
use crate::{
    measure::{Length, Money},
    pricing::dates::before_working_days,
    rack::stock_length,
    shop::{Goods, Item, PricedBy, RateUnit, Stocked, Supply, Workdays},
    steel::sheet_mass_kg_per_m2,
};

/// An item with everybody who sells it.
#[derive(Clone, Copy, Debug)]
pub struct Sold<'a> {
    /// With its first supplier, and at that one's price.
    pub item: &'a Item,
    /// The first supplier's number of the article.
    pub article: &'a str,
    pub priced_by: &'a PricedBy,
    pub others: &'a [Supply],
}

/// What the shop says about who is bought from.
#[derive(Clone, Copy, Debug)]
pub struct Choice<'a> {
    /// Suppliers by the item's code, before all else.
    pub suppliers: &'a BTreeMap<String, String>,
    pub workdays: Workdays,
    /// Of the currency.
    pub decimals: u32,
}

/// What one supplier asks for what is needed.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    pub supplier: String,
    /// Its number of the article; may be empty.
    pub article: String,
    /// Working days.
    pub lead_days: u32,
    /// What is sold at once: pieces of bars and sheets, else in the item's unit.
    pub pack: Decimal,
    pub packs: Decimal,
    /// All packs together.
    pub bought: Decimal,
    /// For one piece or unit.
    pub each: Money,
    /// For all that is bought, in whole coins.
    pub amount: Money,
}

/// One item, in one size, for all jobs that need it.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    pub code: String,
    pub name: String,
    pub stock: Option<Stocked>,
    /// None of bars and sheets: they are counted.
    pub unit: Option<RateUnit>,
    pub needed: Decimal,
    /// How much of it each job needs, by its place.
    pub jobs: Vec<(usize, Decimal)>,
    pub offer: Offer,
    /// What the others ask, the cheapest first.
    pub others: Vec<Offer>,
    /// The supplier that the shop chose and that does not sell it so.
    pub in_vain: Option<String>,
    /// The first day on which a job needs it.
    pub here_by: Option<Date>,
    /// The last day on which it can be ordered for that.
    pub order_by: Option<Date>,
}

impl Line {
    /// What is bought and not needed.
    pub fn over(&self) -> Decimal {
        self.offer.bought - self.needed
    }
}

/// All that is bought of one supplier.
#[derive(Clone, Debug, PartialEq)]
pub struct Order {
    pub supplier: String,
    pub lines: Vec<Line>,
    pub sum: Money,
    /// The longest, in working days.
    pub lead_days: u32,
    /// The earliest.
    pub order_by: Option<Date>,
}

/// Why nobody sells it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WhyNot {
    NotInBook,
    Retired,
    NoSupplier,
    NoSuchSize,
    /// The job reckoned with another unit than the item is sold in now.
    OtherUnit,
}

/// What has no supplier.
#[derive(Clone, Debug, PartialEq)]
pub struct Without {
    pub code: String,
    pub name: String,
    pub stock: Option<Stocked>,
    pub unit: Option<RateUnit>,
    pub needed: Decimal,
    pub jobs: Vec<(usize, Decimal)>,
    pub why: WhyNot,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct PurchaseList {
    /// By the supplier's name.
    pub orders: Vec<Order>,
    pub without: Vec<Without>,
}

impl PurchaseList {
    pub fn sum(&self) -> Money {
        self.orders.iter().map(|order| order.sum).sum()
    }
}

/// Needs of the same item and size are bought together, once, of the supplier that the shop chose, else of the cheapest for that
/// quantity. `here_by` is the day on which each job's goods must be here.
pub fn purchase_list<'a>(
    needs: &[Need],
    here_by: &[Option<Date>],
    book: impl Fn(&str) -> Option<Sold<'a>>,
    choice: Choice<'_>,
) -> PurchaseList {
    let mut list = PurchaseList::default();
    let mut orders = BTreeMap::<String, Vec<Line>>::new();
    for wanted in together(needs) {
        match line(&wanted, here_by, book(&wanted.code), choice) {
            Ok(line) => orders.entry(line.offer.supplier.clone()).or_default().push(line),
            Err((name, why)) => {
                let Wanted { code, stock, unit, needed, jobs, .. } = wanted;
                list.without.push(Without { code, name, stock, unit, needed, jobs, why });
            }
        }
    }
    list.orders = orders
        .into_iter()
        .map(|(supplier, lines)| Order {
            supplier,
            sum: lines.iter().map(|line| line.offer.amount).sum(),
            lead_days: lines.iter().map(|line| line.offer.lead_days).max().unwrap_or(0),
            order_by: lines.iter().filter_map(|line| line.order_by).min(),
            lines,
        })
        .collect();
    list
}

/// The same thing, for all jobs.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    pub code: String,
    pub name: String,
    pub stock: Option<Stocked>,
    pub unit: Option<RateUnit>,
    pub needed: Decimal,
    /// How much of it each job needs, by its place.
    pub jobs: Vec<(usize, Decimal)>,
}

impl Wanted {
    /// The same thing, whoever it is for: what the book never had goes by what it is called.
    pub fn is_same(&self, other: &Self) -> bool {
        (&self.code, &self.stock, self.unit) == (&other.code, &other.stock, other.unit)
            && (!self.code.is_empty() || self.name == other.name)
    }
}

/// Needs of the same thing as one: bars and sheets first, each in the order of the codes, with the sizes of one item beside each other.
pub fn together(needs: &[Need]) -> Vec<Wanted> {
    let mut all: Vec<Wanted> = Vec::new();
    for need in needs {
        let same = |other: &&mut Wanted| {
            (&other.code, &other.stock, other.unit) == (&need.code, &need.stock, need.unit)
                && (!need.code.is_empty() || other.name == need.name)
        };
        match all.iter_mut().find(same) {
            Some(other) => {
                other.needed += need.quantity;
                match other.jobs.iter_mut().find(|(job, _)| *job == need.job) {
                    Some((_, of)) => *of += need.quantity,
                    None => other.jobs.push((need.job, need.quantity)),
                }
            }
            None => all.push(Wanted {
                code: need.code.clone(),
                name: need.name.clone(),
                stock: need.stock.clone(),
                unit: need.unit,
                needed: need.quantity,
                jobs: vec![(need.job, need.quantity)],
            }),
        }
    }
    let size = |wanted: &Wanted| match wanted.stock {
        Some(Stocked::Bar { length, .. }) => (length, length),
        Some(Stocked::Sheet { length, width, .. }) => (length, width),
        None => Default::default(),
    };
    all.sort_by(|one, other| {
        let key = |of: &Wanted| (of.stock.is_none(), of.code.clone(), size(of), of.name.clone());
        key(one).cmp(&key(other))
    });
    all
}

/// One line of an order, or what it is called and why nobody sells it.
fn line(
    wanted: &Wanted,
    here_by: &[Option<Date>],
    sold: Option<Sold<'_>>,
    choice: Choice<'_>,
) -> Result<Line, (String, WhyNot)> {
    let Some(sold) = sold else { return Err((wanted.name.clone(), WhyNot::NotInBook)) };
    let because = |why| (sold.item.name.clone(), why);
    if sold.item.retired {
        return Err(because(WhyNot::Retired));
    }
    if wanted.unit.is_some_and(|unit| unit != sold.item.unit) {
        return Err(because(WhyNot::OtherUnit));
    }
    let own = (!sold.item.supplier.is_empty()).then(|| (sold.item.clone(), sold.article, Decimal::ONE));
    let others = sold.others.iter().map(|supply| (sold.item.supplied(supply), supply.article.as_str(), supply.pack));
    let sellers: Vec<_> = own.into_iter().chain(others).collect();
    if sellers.is_empty() {
        return Err(because(WhyNot::NoSupplier));
    }
    let mut offers: Vec<Offer> = sellers
        .iter()
        .filter_map(|(item, article, pack)| offer(item, article, *pack, wanted, choice.decimals))
        .collect();
    // Of equal ones the first supplier's stays in front: the sort is stable.
    offers.sort_by_key(|offer| offer.amount);
    let chosen = choice.suppliers.get(&wanted.code).or(match sold.priced_by {
        PricedBy::Supplier(name) => Some(name),
        PricedBy::First | PricedBy::Cheapest => None,
    });
    let at = chosen.and_then(|name| offers.iter().position(|offer| offer.supplier == *name));
    if offers.is_empty() {
        return Err(because(WhyNot::NoSuchSize));
    }
    let in_vain = chosen.filter(|_| at.is_none()).cloned();
    let offer = offers.remove(at.unwrap_or(0));
    let here_by = wanted.jobs.iter().filter_map(|(job, _)| *here_by.get(*job)?).min();
    Ok(Line {
        code: wanted.code.clone(),
        name: sold.item.name.clone(),
        stock: wanted.stock.clone(),
        unit: wanted.unit,
        needed: wanted.needed,
        jobs: wanted.jobs.clone(),
        order_by: here_by.map(|day| before_working_days(day, offer.lead_days, choice.workdays)),
        here_by,
        offer,
        others: offers,
        in_vain,
    })
}

/// What a supplier asks, in whole packs; none where it does not sell this size.
fn offer(item: &Item, article: &str, pack: Decimal, wanted: &Wanted, decimals: u32) -> Option<Offer> {
    let (each, pack) = match &wanted.stock {
        // A pack of bars or sheets: the fewest that make up the least quantity sold.
        Some(stock) => (price_of(item, stock)?, whole(pack, units_of(item, stock)).max(Decimal::ONE)),
        None => (item.price, pack),
    };
    let pack = if pack > Decimal::ZERO { pack } else { Decimal::ONE };
    let packs = whole(wanted.needed, pack);
    let bought = packs * pack;
    Some(Offer {
        supplier: item.supplier.clone(),
        article: article.to_owned(),
        lead_days: item.lead_days,
        pack,
        packs,
        bought,
        each,
        amount: (each * bought).rounded(decimals),
    })
}

/// How many of a size hold a quantity.
fn whole(quantity: Decimal, size: Decimal) -> Decimal {
    let count = quantity.checked_div(size).unwrap_or(Decimal::ONE);
    count.round_dp_with_strategy(0, RoundingStrategy::ToPositiveInfinity)
}

/// The price of a bar or sheet of a size that the item is sold in.
fn price_of(item: &Item, stock: &Stocked) -> Option<Money> {
    match (&item.goods, stock) {
        (Goods::Bar { lengths, .. }, Stocked::Bar { length, .. }) => {
            item.bar_price(lengths.iter().find(|bar| stock_length(bar.length) == *length)?)
        }
        (Goods::Sheet { sizes, .. }, Stocked::Sheet { length, width, .. }) => {
            let sides = |one: Length, other: Length| (stock_length(one), stock_length(other));
            item.sheet_price(sizes.iter().find(|size| sides(size.length, size.width) == (*length, *width))?)
        }
        _ => None,
    }
}

/// How many of the item's units one bar or sheet is: metres, kilograms, square metres; else one.
fn units_of(item: &Item, stock: &Stocked) -> Decimal {
    let kg = |mass: f64| Decimal::try_from(mass).unwrap_or(Decimal::ONE);
    let units = match (item.unit, stock) {
        (RateUnit::Metre, Stocked::Bar { length, .. }) => Decimal::new(length.0, 4),
        (RateUnit::Kilogram, Stocked::Bar { section, grade, length }) => {
            kg(section.mass_kg_per_m(grade.density_kg_per_m3())) * Decimal::new(length.0, 4)
        }
        (RateUnit::SquareMetre, Stocked::Sheet { length, width, .. }) => {
            Decimal::new(length.0, 4) * Decimal::new(width.0, 4)
        }
        (RateUnit::Kilogram, Stocked::Sheet { material, thickness, length, width }) => {
            kg(sheet_mass_kg_per_m2(*material, *thickness)) * Decimal::new(length.0, 4) * Decimal::new(width.0, 4)
        }
        _ => Decimal::ONE,
    };
    if units > Decimal::ZERO { units } else { Decimal::ONE }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use proptest::prelude::*;

    use super::*;
    use crate::{
        measure::Tenths,
        shop::{BarLength, ItemClass, PartClass, Sizes},
    };

    static NOBODY: BTreeMap<String, String> = BTreeMap::new();

    fn dec(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    fn part(code: &str, supplier: &str, price: &str) -> Item {
        Item {
            code: code.into(),
            name: format!("part {code}"),
            class: ItemClass::Part,
            supplier: supplier.into(),
            unit: RateUnit::Each,
            price: Money(dec(price)),
            from: date(2026, 11, 2),
            lead_days: 3,
            goods: Goods::Part { class: PartClass::Hinge, mass_kg: 0.2, minutes: None, attributes: BTreeMap::new() },
            source: String::new(),
            retired: false,
        }
    }

    fn bar(length: f64) -> Stocked {
        Stocked::Bar {
            section: "shs 40x40x3".parse().unwrap(),
            grade: "S235".parse().unwrap(),
            length: Tenths::nearest(length),
        }
    }

    fn tube(supplier: &str, lengths: &[f64]) -> Item {
        let lengths = lengths.iter().map(|mm| BarLength { length: Length::from_mm(*mm), price: None }).collect();
        let goods = Goods::Bar { section: "shs 40x40x3".parse().unwrap(), grade: "S235".parse().unwrap(), lengths };
        Item { unit: RateUnit::Metre, goods, ..part("T", supplier, "5.00") }
    }

    fn supply(supplier: &str, price: &str, pack: &str, lead_days: u32, sizes: Option<Sizes>) -> Supply {
        Supply {
            supplier: supplier.into(),
            article: format!("{supplier} 7"),
            pack: dec(pack),
            lead_days,
            price: Money(dec(price)),
            from: date(2026, 11, 9),
            sizes,
        }
    }

    fn need(job: usize, code: &str, stock: Option<Stocked>, quantity: &str) -> Need {
        let unit = stock.is_none().then_some(RateUnit::Each);
        Need { job, code: code.into(), name: format!("name of {code}"), stock, quantity: dec(quantity), unit }
    }

    fn of_one(
        item: &Item,
        by: &PricedBy,
        others: &[Supply],
        needs: &[Need],
        chosen: &BTreeMap<String, String>,
    ) -> PurchaseList {
        let sold = Sold { item, article: "own", priced_by: by, others };
        let choice = Choice { suppliers: chosen, workdays: Workdays::default(), decimals: 2 };
        let here_by = [Some(date(2026, 12, 10)), None, Some(date(2026, 12, 8))];
        purchase_list(needs, &here_by, |code| (code == item.code).then_some(sold), choice)
    }

    /// By hand: 4 + 3 hinges. A sells them singly at 2.00, B in fives at 1.50: two packs, 10 for 15.00, 3 over; dearer than 14.00.
    #[test]
    fn whole_packs_are_bought_and_their_price_decides() {
        let (item, needs) = (part("H", "A", "2.00"), [need(0, "H", None, "4"), need(1, "H", None, "3")]);
        let others = [supply("B", "1.50", "5", 6, None), supply("C", "1.90", "1", 9, None)];
        let list = of_one(&item, &PricedBy::First, &others, &needs, &NOBODY);
        let [order] = list.orders.as_slice() else { panic!("{list:?}") };
        let line = &order.lines[0];
        assert_eq!((order.supplier.as_str(), order.sum, line.over()), ("C", Money(dec("13.30")), Decimal::ZERO));
        assert_eq!(line.jobs, [(0, dec("4")), (1, dec("3"))]);
        let asked: Vec<_> = line.others.iter().map(|of| (of.supplier.as_str(), of.amount.0.to_string())).collect();
        assert_eq!(asked, [("A", "14.00".to_owned()), ("B", "15.00".to_owned())]);

        // Nine working days before Thursday 10 December 2026 is Friday 27 November.
        assert_eq!((line.here_by, line.order_by), (Some(date(2026, 12, 10)), Some(date(2026, 11, 27))));
        let by_item = of_one(&item, &PricedBy::Supplier("B".into()), &others, &needs, &NOBODY);
        let line = &by_item.orders[0].lines[0];
        assert_eq!((line.offer.supplier.as_str(), line.offer.packs, line.over()), ("B", dec("2"), dec("3")));
        assert_eq!((line.offer.article.as_str(), by_item.sum()), ("B 7", Money(dec("15.00"))));
        let here = BTreeMap::from([("H".to_owned(), "A".to_owned())]);
        let on_list = of_one(&item, &PricedBy::Supplier("B".into()), &others, &needs, &here);
        assert_eq!(on_list.orders[0].supplier, "A", "what is chosen for this list goes before");
    }

    /// By hand: B sells 7.5 m bars at 4.40 a metre in packs of 30 m, which is four of them; A sells 6 m bars only.
    #[test]
    fn a_bar_is_bought_of_whom_sells_its_length() {
        let item = tube("A", &[6000.0]);
        let long = Sizes::Lengths(vec![BarLength { length: Length::from_mm(7500.0), price: None }]);
        let others = [supply("B", "4.40", "30", 2, Some(long))];
        let needs = [
            need(0, "T", Some(bar(6000.0)), "3"),
            need(2, "T", Some(bar(7500.0)), "5"),
            need(1, "T", Some(bar(9000.0)), "1"),
        ];
        let list = of_one(&item, &PricedBy::Supplier("B".into()), &others, &needs, &NOBODY);
        let of = |supplier: &str| &list.orders.iter().find(|order| order.supplier == supplier).unwrap().lines;
        let (short, long) = (&of("A")[0], &of("B")[0]);
        assert_eq!((short.offer.bought, short.offer.amount), (dec("3"), Money(dec("90.00"))));
        assert_eq!(short.in_vain.as_deref(), Some("B"));
        assert_eq!((long.offer.pack, long.offer.packs, long.over()), (dec("4"), dec("2"), dec("3")));
        assert_eq!((long.offer.amount, long.in_vain.as_deref()), (Money(dec("264.00")), None));
        assert_eq!((long.here_by, long.order_by), (Some(date(2026, 12, 8)), Some(date(2026, 12, 4))));
        let [without] = list.without.as_slice() else { panic!("{list:?}") };
        assert_eq!((without.why, without.needed), (WhyNot::NoSuchSize, Decimal::ONE));
    }

    #[test]
    fn what_nobody_sells_says_why() {
        let needs = [need(0, "H", None, "4")];
        let why = |item: &Item, needs: &[Need]| of_one(item, &PricedBy::First, &[], needs, &NOBODY).without[0].why;
        assert_eq!(why(&part("H", "", "2.00"), &needs), WhyNot::NoSupplier);
        assert_eq!(why(&Item { retired: true, ..part("H", "A", "2.00") }, &needs), WhyNot::Retired);
        assert_eq!(why(&Item { unit: RateUnit::Kilogram, ..part("H", "A", "2.00") }, &needs), WhyNot::OtherUnit);
        // Two things that the book never had are not one because neither has a code.
        let unknown = [need(0, "", None, "1"), Need { name: "old axle".into(), ..need(0, "", None, "1") }];
        let list = of_one(&part("H", "A", "2.00"), &PricedBy::First, &[], &unknown, &NOBODY);
        let names: Vec<_> = list.without.iter().map(|of| (of.name.as_str(), of.why)).collect();
        assert_eq!(names, [("name of ", WhyNot::NotInBook), ("old axle", WhyNot::NotInBook)]);
    }

    fn suppliers() -> impl Strategy<Value = Vec<(u32, u32, u32)>> {
        prop::collection::vec((1_u32..5_000, 1_u32..400, 0_u32..30), 0..4)
    }

    proptest! {
        /// Whatever is needed of whatever is sold by whomever: nothing is bought twice or forgotten, packs are whole and cover what is
        /// needed with less than one to spare, the sums are those of the lines, and nobody is cheaper.
        #[test]
        fn every_need_is_bought_once(
            wanted in prop::collection::vec((0_usize..3, 0_usize..6, 1_u32..4_000), 0..30),
            sold in prop::collection::vec((any::<bool>(), 1_u32..5_000, suppliers()), 5),
        ) {
            let items: Vec<Item> = sold.iter().enumerate().map(|(at, (own, price, _))| {
                part(&format!("P{at}"), if *own { "own" } else { "" }, &Decimal::new(i64::from(*price), 2).to_string())
            }).collect();
            let others: Vec<Vec<Supply>> = sold.iter().map(|(.., others)| {
                others.iter().enumerate().map(|(at, (price, pack, lead))| {
                    let [price, pack] = [*price, *pack].map(|of| Decimal::new(i64::from(of), 2).to_string());
                    supply(&format!("S{at}"), &price, &pack, *lead, None)
                }).collect()
            }).collect();
            let needs: Vec<Need> = wanted.iter()
                .map(|(job, code, of)| need(*job, &format!("P{code}"), None, &Decimal::new(i64::from(*of), 1).to_string()))
                .collect();
            let find = |code: &str| {
                let at: usize = code.strip_prefix('P')?.parse().ok()?;
                Some(Sold { item: items.get(at)?, article: "", priced_by: &PricedBy::First, others: &others[at] })
            };
            let choice = Choice { suppliers: &NOBODY, workdays: Workdays::default(), decimals: 2 };
            let list = purchase_list(&needs, &[None; 3], find, choice);
            let lines: Vec<&Line> = list.orders.iter().flat_map(|order| &order.lines).collect();
            for code in 0..6 {
                let code = format!("P{code}");
                for job in 0..3 {
                    let asked: Decimal = needs.iter().filter(|of| (of.job, &of.code) == (job, &code)).map(|of| of.quantity).sum();
                    let of_line = lines.iter().filter(|of| of.code == code).flat_map(|of| &of.jobs);
                    let of_none = list.without.iter().filter(|of| of.code == code).flat_map(|of| &of.jobs);
                    let got: Vec<Decimal> = of_line.chain(of_none).filter(|(of, _)| *of == job).map(|(_, of)| *of).collect();
                    prop_assert!(got.len() <= 1);
                    prop_assert_eq!(got.into_iter().sum::<Decimal>(), asked);
                }
            }
            for line in &lines {
                let offer = &line.offer;
                prop_assert_eq!(line.jobs.iter().map(|(_, of)| *of).sum::<Decimal>(), line.needed);
                prop_assert!(offer.bought >= line.needed && line.over() < offer.pack);
                prop_assert!(offer.packs.is_integer() && offer.bought == offer.packs * offer.pack);
                prop_assert_eq!(offer.amount, (offer.each * offer.bought).rounded(2));
                prop_assert!(line.others.iter().all(|other| other.amount >= offer.amount));
            }
            for order in &list.orders {
                prop_assert_eq!(order.lines.iter().map(|line| line.offer.amount).sum::<Money>(), order.sum);
                prop_assert!(order.lines.iter().all(|line| line.offer.supplier == order.supplier && line.offer.lead_days <= order.lead_days));
            }
            prop_assert!(list.without.iter().all(|of| matches!(of.why, WhyNot::NotInBook | WhyNot::NoSupplier)));
        }
    }
}
