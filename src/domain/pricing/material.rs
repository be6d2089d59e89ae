//! Lines of direct material: what the cutting plans take, charged by the shop's policy.

use rust_decimal::Decimal;

use super::{
    FindingKind, Step,
    lines::{Draft, Ledger},
};
use crate::{
    measure::Money,
    nesting::cutting::{BarCutting, Charge, Cutting, SheetCutting, Source},
    shop::{Item, ItemClass},
    working::Sure,
};

impl Ledger<'_> {
    pub fn materials(&mut self, cutting: &Cutting) {
        for bars in &cutting.bars {
            self.bars(bars);
        }
        for sheets in &cutting.sheets {
            self.sheets(sheets);
        }
        let freight = self.book.policy.freight_percent;
        // What lies on the rack came in before.
        let on_rack = cutting.cost().from_rack;
        let bought = self.sum(|step| step == Step::Material) - on_rack;
        if freight > Decimal::ZERO && bought > Money::ZERO {
            let draft = Draft {
                text: "inbound freight".into(),
                quantity: Some(freight),
                unit: "%",
                rate: Some(bought),
                amount: self.percent(bought, freight),
                how: if on_rack > Money::ZERO {
                    "per cent of bars and sheets, without what comes from the rack".into()
                } else {
                    "per cent of bars and sheets".into()
                },
                ..Draft::default()
            };
            self.write(Step::Material, "freight", draft);
        }
    }

    fn bars(&mut self, cutting: &BarCutting) {
        let used: Vec<(usize, u32)> = match &cutting.answer {
            Ok(answer) => stock_used(cutting.problem.stock.iter().map(|stock| stock.id.as_str()), |id| {
                answer.plan.iter().filter(|bar| bar.stock == id).map(|bar| bar.count).sum()
            }),
            Err(_) => Vec::new(),
        };
        let what = format!("{} {}", cutting.section, cutting.grade);
        self.stock_line(
            &cutting.key(),
            what,
            "m",
            cutting.charge(),
            cutting.metres_taken(),
            &cutting.sources,
            &used,
            ItemClass::HollowSection,
        );
    }

    fn sheets(&mut self, cutting: &SheetCutting) {
        let used: Vec<(usize, u32)> = match &cutting.answer {
            Ok(answer) => stock_used(cutting.problem.stock.iter().map(|stock| stock.id.as_str()), |id| {
                answer.plan.iter().filter(|sheet| sheet.stock == id).map(|sheet| sheet.count).sum()
            }),
            Err(_) => Vec::new(),
        };
        let what = format!("{} {} mm", cutting.material.label(), cutting.thickness.mm());
        self.stock_line(
            &cutting.key(),
            what,
            "m²",
            cutting.charge(),
            cutting.m2_taken(),
            &cutting.sources,
            &used,
            ItemClass::SteelSheet,
        );
    }

    #[expect(clippy::too_many_arguments, reason = "the two kinds of stock differ in all of these")]
    fn stock_line(
        &mut self,
        key: &str,
        what: String,
        unit: &'static str,
        charge: Option<Charge>,
        taken: Decimal,
        sources: &[Source],
        used: &[(usize, u32)],
        class: ItemClass,
    ) {
        let Some(charge) = charge else {
            self.find(
                FindingKind::Missing,
                key,
                format!(
                    "{what}: no price, because there is no cutting plan for it. See the cutting plan for what to do."
                ),
            );
            return;
        };
        let book = self.book;
        let mut items: Vec<&Item> = Vec::new();
        let (mut new, mut rack) = (0, 0);
        for (at, count) in used {
            match sources.get(*at) {
                Some(Source::New(code)) => {
                    new += count;
                    if let Some(item) = book.rates.item(code)
                        && !items.iter().any(|known| known.code == item.code)
                    {
                        items.push(item);
                    }
                }
                Some(Source::Rack(_)) => rack += count,
                None => {}
            }
        }
        self.delivery_days = items.iter().map(|item| item.lead_days).fold(self.delivery_days, u32::max);
        let pieces = match (new, rack) {
            (new, 0) => format!("{new} bought"),
            (0, rack) => format!("{rack} from the rack"),
            (new, rack) => format!("{new} bought, {rack} from the rack"),
        };
        let policy = &book.policy;
        let paid = charge.paid(policy.stock_charge);
        let average = charge.whole.0.checked_div(taken).map(Money);
        let mut draft = Draft {
            how: format!(
                "{pieces}: {} whole, {} for the share of the offcuts kept, {} their worth on the rack; the job pays {}",
                book.currency.show(charge.whole),
                book.currency.show(charge.kept_share),
                book.currency.show(charge.kept_worth),
                policy.stock_charge.label()
            ),
            text: what,
            quantity: Some(taken.normalize()),
            unit,
            rate: average.map(|rate| rate.rounded(4)),
            amount: paid,
            class: Some(items.first().map_or(class, |item| item.class)),
            items,
            sure: Some(Sure::Computed),
        };
        // A quantity set by hand is bought at the plan's average price.
        if let Some(by_hand) = self.overruled.get(key) {
            let quantity = by_hand.value.trim().parse::<Decimal>().ok().filter(|quantity| !quantity.is_sign_negative());
            match (quantity, average) {
                (Some(quantity), Some(average)) => {
                    draft.how = format!(
                        "{quantity} {unit} by hand ({}); derived: {} {unit} taken. {}",
                        by_hand.reason,
                        taken.normalize(),
                        draft.how
                    );
                    draft.quantity = Some(quantity);
                    draft.amount = average * quantity;
                    draft.sure = Some(Sure::Shop);
                }
                _ => {
                    let says = format!(
                        "{}: the quantity set by hand, “{}”, is not a number of {unit}; the derived one stands.",
                        draft.text, by_hand.value
                    );
                    self.find(FindingKind::Unread, key, says);
                }
            }
        }
        self.write(Step::Material, key, draft);
    }
}

/// Which stock of a problem a plan uses, and how many of each.
fn stock_used<'s>(ids: impl Iterator<Item = &'s str>, count: impl Fn(&str) -> u32) -> Vec<(usize, u32)> {
    ids.enumerate().map(|(at, id)| (at, count(id))).filter(|(_, count)| *count > 0).collect()
}
