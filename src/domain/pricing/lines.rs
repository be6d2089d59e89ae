//! The cost lines of a job, and what is found on the way: missing prices, old prices, overrules.

use std::collections::BTreeMap;

use jiff::civil::Date;
use rust_decimal::Decimal;

use super::{Finding, FindingKind, PriceLine, Step, quantities};
use crate::{
    labour::Hours,
    measure::Money,
    nesting::cutting::Cutting,
    shop::{ConsumableUse, Goods, Item, ItemClass, OutsideService, PartClass, ShopBook, Trade, figure, movement},
    trailer::{FinishSystem, Overruled, TakeOff},
    working::Sure,
};

/// The lines written so far.
pub(super) struct Ledger<'a> {
    pub book: &'a ShopBook,
    pub overruled: &'a BTreeMap<String, Overruled>,
    pub lines: Vec<PriceLine>,
    pub findings: Vec<Finding>,
    /// Longest lead of what is bought, and of what goes out, in days.
    pub delivery_days: u32,
    pub outside_days: u32,
}

/// A line before its amount is rounded and overruled.
#[derive(Default)]
pub(super) struct Draft<'a> {
    pub text: String,
    pub quantity: Option<Decimal>,
    pub unit: &'a str,
    pub rate: Option<Money>,
    pub amount: Money,
    pub class: Option<ItemClass>,
    pub items: Vec<&'a Item>,
    pub how: String,
    pub sure: Option<Sure>,
}

impl<'a> Ledger<'a> {
    pub fn new(book: &'a ShopBook, overruled: &'a BTreeMap<String, Overruled>) -> Self {
        Self { book, overruled, lines: Vec::new(), findings: Vec::new(), delivery_days: 0, outside_days: 0 }
    }

    pub fn sum(&self, steps: impl Fn(Step) -> bool) -> Money {
        self.lines.iter().filter(|line| steps(line.step)).map(|line| line.amount).sum()
    }

    /// A whole number of the smallest coins.
    pub fn coins(&self, amount: Money) -> Money {
        amount.rounded(self.book.currency.decimals)
    }

    pub fn percent(&self, of: Money, percent: Decimal) -> Money {
        self.coins(Money((of * percent).0 / Decimal::ONE_HUNDRED))
    }

    pub fn find(&mut self, kind: FindingKind, key: &str, says: String) {
        self.findings.push(Finding { kind, key: key.to_owned(), says });
    }

    /// Writes a line; the amount goes to whole coins here and nowhere else. `price/KEY` overrules it.
    pub fn write(&mut self, step: Step, key: &str, draft: Draft<'_>) {
        let derived = self.coins(draft.amount);
        for item in &draft.items {
            self.check_age(item);
        }
        let by_hand = self.overruled.get(&format!("price/{key}"));
        let (amount, was, overruled) = match by_hand.map(|by_hand| (self.read_money(&by_hand.value), by_hand)) {
            None => (derived, None, None),
            Some((Some(amount), by_hand)) => (self.coins(amount), Some(derived), Some(by_hand.reason.clone())),
            Some((None, by_hand)) => {
                let says = format!(
                    "{}: the price set by hand, “{}”, is not an amount; the derived one stands. Type an amount such as 125.50.",
                    draft.text, by_hand.value
                );
                self.find(FindingKind::Unread, key, says);
                (derived, None, None)
            }
        };
        self.lines.push(PriceLine {
            key: key.to_owned(),
            step,
            text: draft.text,
            quantity: draft.quantity,
            unit: draft.unit.to_owned(),
            rate: draft.rate,
            amount,
            class: draft.class,
            code: match draft.items.as_slice() {
                [item] => Some(item.code.clone()),
                _ => None,
            },
            price_date: draft.items.iter().map(|item| item.from).min(),
            how: draft.how,
            sure: draft.sure.unwrap_or(Sure::Shop),
            derived: was,
            overruled,
        });
    }

    fn read_money(&self, text: &str) -> Option<Money> {
        crate::measure::read_money(text, &self.book.currency).ok()
    }

    fn check_age(&mut self, item: &Item) {
        let day: Date = self.book.rates.day;
        let (age, limit) = (item.price_age_days(day), self.book.policy.age_days(item.class));
        let known =
            self.findings.iter().any(|finding| finding.kind == FindingKind::OldPrice && finding.key == item.code);
        if age > i32::try_from(limit).unwrap_or(i32::MAX) && !known {
            let says = format!(
                "{} ({}): its price is of {}, {age} days old; {} are trusted for {limit} days. Ask the supplier and enter today's price.",
                item.name,
                item.code,
                item.from,
                item.class.label()
            );
            self.find(FindingKind::OldPrice, &item.code, says);
        }
    }

    // ------------------------------------------------------------ parts

    pub fn parts(&mut self, take_off: &TakeOff, count: Decimal) {
        for demand in &take_off.parts {
            let need = &demand.part.need;
            let key = format!("part/{}", need.key);
            let Some(part) = &demand.part.item else {
                let asked: Vec<String> = need.deciding().iter().map(|rule| rule.words(figure)).collect();
                let asked = if asked.is_empty() { String::new() } else { format!(" ({})", asked.join(", ")) };
                let class = need.name();
                let says = if need.class == PartClass::DonorAxle {
                    format!("{class}: its mass is not known. Enter its mass and what the shop pays for it.")
                } else {
                    format!(
                        "{class}{asked}: nothing in the rate book suits. Add an item that does, or pick one by hand."
                    )
                };
                self.find(FindingKind::Missing, &key, says);
                continue;
            };
            if part.price <= Money::ZERO && need.class == PartClass::DonorAxle {
                let says = format!("{}: its price is not given. Enter what the shop pays for it.", part.name);
                self.find(FindingKind::Missing, &key, says);
            }
            let item = self.book.rates.item(&part.code);
            self.delivery_days = item.map_or(0, |item| item.lead_days).max(self.delivery_days);
            let quantity = dec(demand.quantity) * count;
            let metres = matches!(need.class, PartClass::Cable | PartClass::CableFixings);
            let because = need.reasons();
            let draft = Draft {
                text: part.name.clone(),
                quantity: Some(quantity.normalize()),
                unit: if metres { "m" } else { "pieces" },
                rate: Some(part.price),
                amount: part.price * quantity,
                class: Some(item.map_or(ItemClass::Part, |item| item.class)),
                items: item.into_iter().collect(),
                how: match &demand.part.overruled {
                    Some(reason) => format!("picked by hand: {reason}"),
                    None if because.is_empty() => "the cheapest of its class".into(),
                    None => format!("the cheapest that suits: {}", because.join("; ")),
                },
                sure: None,
            };
            self.write(Step::Parts, &key, draft);
        }
        let percent = self.book.policy.handling_percent;
        let parts = self.sum(|step| step == Step::Parts);
        if percent > Decimal::ZERO && parts > Money::ZERO {
            let draft = Draft {
                text: "handling of bought-in parts".into(),
                quantity: Some(percent),
                unit: "%",
                rate: Some(parts),
                amount: self.percent(parts, percent),
                how: "per cent of bought-in parts: ordering, receiving, storing".into(),
                ..Draft::default()
            };
            self.write(Step::Parts, "handling", draft);
        }
    }

    // ------------------------------------------------------------ consumables, outside work

    pub fn consumables(&mut self, take_off: &TakeOff, cutting: &Cutting, count: f64) {
        for (used_for, quantity) in quantities::consumables(take_off, cutting, count, &self.book.norms) {
            let key = format!("consumable/{}", used_for.word());
            let Some(item) = self.book.rates.consumable(used_for) else {
                self.missing_item(&key, used_for.label());
                continue;
            };
            let quantity = dec(quantity);
            let draft = Draft {
                text: item.name.clone(),
                quantity: Some(quantity),
                unit: item.unit.short(),
                rate: Some(item.price),
                amount: item.price * quantity,
                class: Some(item.class),
                items: vec![item],
                how: consumable_how(used_for).into(),
                sure: Some(Sure::CommonPractice),
            };
            self.write(Step::Consumables, &key, draft);
        }
    }

    pub fn outside_work(&mut self, take_off: &TakeOff, count: f64) {
        let norms = &self.book.norms;
        let (service, quantity, how) = match take_off.finish.system {
            FinishSystem::Galvanised => {
                let pick_up = norms.value("galvanise/pick-up");
                let kg = quantities::galvanised_kg(take_off.finish.steel_kg, pick_up) * count;
                (OutsideService::Galvanising, kg, format!("steel mass and {pick_up} % zinc"))
            }
            FinishSystem::Powder => {
                let m2 = quantities::coated_m2(take_off, norms) * count;
                (OutsideService::PowderCoat, m2, "outside area of the steel, with edges and cleats".to_owned())
            }
            FinishSystem::None | FinishSystem::Paint => return,
        };
        let key = format!("outside/{}", service.word());
        let Some(item) = self.book.rates.outside(service) else {
            self.missing_item(&key, service.label());
            return;
        };
        let least = match &item.goods {
            Goods::Outside { minimum, .. } => *minimum,
            _ => Money::ZERO,
        };
        self.outside_days = self.outside_days.max(item.lead_days);
        let quantity = dec(quantity);
        let by_quantity = item.price * quantity;
        let draft = Draft {
            text: item.name.clone(),
            quantity: Some(quantity),
            unit: item.unit.short(),
            rate: Some(item.price),
            amount: by_quantity.max(least),
            class: Some(item.class),
            items: vec![item],
            how: if by_quantity < least {
                format!("{how}; the smallest charge of {} holds", self.book.currency.show(least))
            } else {
                how
            },
            sure: Some(Sure::Computed),
        };
        self.write(Step::Outside, &key, draft);
    }

    fn missing_item(&mut self, key: &str, what: &str) {
        let says = format!("{what}: the rate book has no price for it. Add an item.");
        self.find(FindingKind::Missing, key, says);
    }

    // ------------------------------------------------------------ labour, overhead, contingency

    pub fn labour(&mut self, hours: &Hours) {
        for unread in &hours.unread {
            self.find(FindingKind::Unread, "hours", unread.clone());
        }
        for (trade, hours) in hours.by_trade() {
            let key = format!("labour/{}", trade.word());
            let Some(item) = self.book.rates.labour(trade) else {
                self.missing_item(&key, &format!("an hour of a {}", trade.label()));
                continue;
            };
            let hours = dec(hours);
            let draft = Draft {
                text: trade.label().to_owned(),
                quantity: Some(hours),
                unit: "h",
                rate: Some(item.price),
                amount: item.price * hours,
                class: Some(ItemClass::Labour),
                items: vec![item],
                how: "hours by the norms, see the sheet of hours".into(),
                sure: Some(Sure::CommonPractice),
            };
            self.write(Step::Labour, &key, draft);
        }
        let rate = self.book.policy.overhead_per_hour;
        let direct: f64 =
            hours.by_trade().iter().filter(|(trade, _)| *trade != Trade::Office).map(|(_, hours)| hours).sum();
        let direct = dec(direct);
        if rate > Money::ZERO && direct > Decimal::ZERO {
            let draft = Draft {
                text: "overhead".into(),
                quantity: Some(direct),
                unit: "direct h",
                rate: Some(rate),
                amount: rate * direct,
                how: "for each direct hour; office hours carry none".into(),
                ..Draft::default()
            };
            self.write(Step::Overhead, "overhead", draft);
        }
    }

    /// What material may rise by while the quote holds, a line for each class that an index is known of.
    pub fn allowance(&mut self) {
        let policy = &self.book.policy;
        if !policy.price_allowance {
            return;
        }
        for class in ItemClass::ALL {
            let Some(movement) = movement(*class) else { continue };
            let percent = movement.allowance_percent(policy.validity_days);
            let cost: Money = self.lines.iter().filter(|line| line.class == Some(*class)).map(|line| line.amount).sum();
            if percent > Decimal::ZERO && cost > Money::ZERO {
                let draft = Draft {
                    text: format!("rise of {} in {} days", class.label(), policy.validity_days),
                    quantity: Some(percent.normalize()),
                    unit: "%",
                    rate: Some(cost),
                    amount: self.percent(cost, percent),
                    how: format!(
                        "the rise that 95 of 100 changes stayed below: {} % in 30 days, {} % in 91, between them in proportion; producer price index of {}, 2000 to 2023",
                        movement.month, movement.quarter, movement.index
                    ),
                    sure: Some(Sure::Computed),
                    ..Draft::default()
                };
                self.write(Step::Allowance, &format!("allowance/{}", class.word()), draft);
            }
        }
    }

    pub fn contingency(&mut self) {
        let percent = self.book.policy.contingency_percent;
        let works_cost = self.sum(|step| step < Step::Allowance);
        if percent > Decimal::ZERO && works_cost > Money::ZERO {
            let draft = Draft {
                text: "contingency".into(),
                quantity: Some(percent),
                unit: "%",
                rate: Some(works_cost),
                amount: self.percent(works_cost, percent),
                how: "per cent of the works cost".into(),
                ..Draft::default()
            };
            self.write(Step::Contingency, "contingency", draft);
        }
    }

    /// Mark-ups by class of the cost lines that have one.
    pub fn mark_ups(&mut self) {
        for class in ItemClass::ALL {
            let percent = self.book.policy.mark_up(*class);
            let cost: Money = self.lines.iter().filter(|line| line.class == Some(*class)).map(|line| line.amount).sum();
            if percent > Decimal::ZERO && cost > Money::ZERO {
                let draft = Draft {
                    text: format!("mark-up on {}", class.label()),
                    quantity: Some(percent),
                    unit: "%",
                    rate: Some(cost),
                    amount: self.percent(cost, percent),
                    how: "per cent of the cost of the class".into(),
                    ..Draft::default()
                };
                self.write(Step::MarkUp, &format!("mark-up/{}", class.word()), draft);
            }
        }
    }
}

/// A quantity to 0.001, so that quantity × price can be checked by hand.
pub(super) fn dec(value: f64) -> Decimal {
    Decimal::try_from(value).unwrap_or_default().round_dp(3).normalize()
}

const fn consumable_how(used_for: ConsumableUse) -> &'static str {
    match used_for {
        ConsumableUse::Wire => "weld metal of every run over the deposition efficiency",
        ConsumableUse::Gas => "arc time × flow, with what starts and leaks lose",
        ConsumableUse::Disc => "by metre of weld",
        ConsumableUse::SawBlade => "by saw cut",
        ConsumableUse::Primer | ConsumableUse::TopCoat => "coated area over the practical coverage of a coat",
        ConsumableUse::Degreaser | ConsumableUse::Masking | ConsumableUse::ZincSpray => "by coated area",
        ConsumableUse::Sealant => "by area of deck and body",
    }
}
