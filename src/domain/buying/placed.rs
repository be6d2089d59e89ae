//! An order as it was placed, and how it stands since.

use jiff::civil::Date;
use rust_decimal::{Decimal, prelude::ToPrimitive};
use serde::Serialize;

use super::{Need, Order, Without, orders::together};
use crate::{
    choice::choice,
    measure::Money,
    pricing::dates::after_working_days,
    shop::{RateUnit, Stocked, Workdays},
};

choice! {
    /// How an order stands; each step that is taken with it leads to one of these.
    Standing {
        Awaited = "awaited" / "awaited",
        Arrived = "arrived" / "arrived",
        Cancelled = "cancelled" / "cancelled",
    }
}

/// Why an order cannot take a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    #[error("the order was cancelled")]
    Cancelled,
    #[error("somebody said so of this order before")]
    Already,
}

impl Standing {
    /// How an order stands after a step.
    ///
    /// # Errors
    /// [`Refused`]: what was cancelled stays so, and a step leads somewhere else.
    pub fn step(self, to: Self) -> Result<Self, Refused> {
        match self {
            Self::Cancelled => Err(Refused::Cancelled),
            _ if self == to => Err(Refused::Already),
            _ => Ok(to),
        }
    }
}

/// One line of an order, as it stood when it was placed. `J` names a job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlacedLine<J> {
    pub code: String,
    pub name: String,
    /// The supplier's number of the article; may be empty.
    pub article: String,
    pub stock: Option<Stocked>,
    /// None of bars and sheets: they are counted.
    pub unit: Option<RateUnit>,
    /// Working days.
    pub lead_days: u32,
    pub pack: Decimal,
    pub packs: Decimal,
    /// None of a line that only lays aside what earlier orders left over.
    pub bought: Decimal,
    /// For one piece or unit.
    pub each: Money,
    pub amount: Money,
    /// How much of it each job needs.
    pub jobs: Vec<(J, Decimal)>,
}

/// All that is ordered of one supplier at one press.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Placing<J> {
    pub supplier: String,
    /// The longest of its lines, in working days.
    pub lead_days: u32,
    pub sum: Money,
    pub lines: Vec<PlacedLine<J>>,
}

impl<J> PlacedLine<J> {
    pub fn needed(&self) -> Decimal {
        self.jobs.iter().map(|(_, of)| *of).sum()
    }

    /// What is bought and not needed; nothing of a line of which nothing is bought.
    pub fn over(&self) -> Decimal {
        (self.bought - self.needed()).max(Decimal::ZERO)
    }

    /// What of it is still to come, when so much has.
    pub fn to_come(&self, came: Decimal) -> Decimal {
        (self.bought - came).max(Decimal::ZERO)
    }

    /// What of what came might turn out not to be here after all: not what lies on the rack, or lay there.
    pub fn could_be_missing(&self, came: Decimal, on_rack: usize) -> Decimal {
        (came - Decimal::from(on_rack)).max(Decimal::ZERO)
    }

    /// What went on the rack without anybody saying that it came.
    pub fn unsaid(&self, came: Decimal, on_rack: usize) -> Decimal {
        (Decimal::from(on_rack) - came).max(Decimal::ZERO)
    }

    /// What has come when so much more does, or (below nought) was not here after all.
    ///
    /// # Errors
    /// How much it may be at most: what is still to come, or what came and never lay on the rack.
    pub fn after(&self, came: Decimal, on_rack: usize, quantity: Decimal) -> Result<Decimal, Decimal> {
        let most = if quantity < Decimal::ZERO { self.could_be_missing(came, on_rack) } else { self.to_come(came) };
        if quantity.abs() > most { Err(most) } else { Ok(came + quantity) }
    }

    /// The day on which it is to be here, when it is ordered on a day.
    pub fn due(&self, day: Date, workdays: Workdays) -> Date {
        after_working_days(day, self.lead_days, workdays)
    }

    /// How many bars or sheets of it can still be put on the rack, when so many lie there or lay there.
    pub fn to_rack(&self, received: usize) -> u32 {
        let bought = self.bought.to_u32().unwrap_or_default();
        bought.saturating_sub(u32::try_from(received).unwrap_or(u32::MAX))
    }

    /// Whether more pieces came on the rack than were bought.
    pub fn over_received(&self, received: usize) -> bool {
        Decimal::from(received) > self.bought
    }
}

impl<J: Copy> Placing<J> {
    /// The order of the purchase list, with what is laid aside of earlier ones. `jobs` are those of the list, by their places.
    pub fn of(order: &Order, laid_aside: &[Need], jobs: &[J]) -> Self {
        let bought = order.lines.iter().map(|line| PlacedLine {
            code: line.code.clone(),
            name: line.name.clone(),
            article: line.offer.article.clone(),
            stock: line.stock.clone(),
            unit: line.unit,
            lead_days: line.offer.lead_days,
            pack: line.offer.pack,
            packs: line.offer.packs,
            bought: line.offer.bought,
            each: line.offer.each,
            amount: line.offer.amount,
            jobs: named(&line.jobs, jobs),
        });
        let aside = together(laid_aside).into_iter().map(|of| PlacedLine {
            jobs: named(&of.jobs, jobs),
            code: of.code,
            name: of.name,
            article: String::new(),
            stock: of.stock,
            unit: of.unit,
            lead_days: 0,
            pack: Decimal::ONE,
            packs: Decimal::ZERO,
            bought: Decimal::ZERO,
            each: Money::ZERO,
            amount: Money::ZERO,
        });
        Self {
            supplier: order.supplier.clone(),
            lead_days: order.lead_days,
            sum: order.sum,
            lines: bought.chain(aside).collect(),
        }
    }

    /// What is bought by hand of a supplier whom the rate book does not know, at prices to so many decimals.
    pub fn by_hand(supplier: String, lines: &[(&Without, ByHand)], jobs: &[J], decimals: u32) -> Self {
        let lines: Vec<PlacedLine<J>> = lines
            .iter()
            .map(|(of, by_hand)| {
                // Just what is needed is counted out; more than that is sold as one pack.
                let pack = if by_hand.quantity == of.needed { Decimal::ONE } else { by_hand.quantity };
                PlacedLine {
                    code: of.code.clone(),
                    name: of.name.clone(),
                    article: String::new(),
                    stock: of.stock.clone(),
                    unit: of.unit,
                    lead_days: 0,
                    pack,
                    packs: if pack == Decimal::ONE { by_hand.quantity } else { Decimal::ONE },
                    bought: by_hand.quantity,
                    each: by_hand.each,
                    amount: (by_hand.each * by_hand.quantity).rounded(decimals),
                    jobs: named(&of.jobs, jobs),
                }
            })
            .collect();
        Self { supplier, lead_days: 0, sum: lines.iter().map(|line| line.amount).sum(), lines }
    }
}

/// How much is bought of what has no supplier, and what it costs; nothing where that is not known yet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ByHand {
    pub quantity: Decimal,
    pub each: Money,
}

/// Shares by the places of the jobs, with these jobs.
fn named<J: Copy>(shares: &[(usize, Decimal)], jobs: &[J]) -> Vec<(J, Decimal)> {
    shares.iter().filter_map(|(place, of)| Some((*jobs.get(*place)?, *of))).collect()
}

impl<J> Placing<J> {
    /// The days on which its lines are to be here, when it is ordered on a day.
    pub fn dues(&self, day: Date, workdays: Workdays) -> Vec<Date> {
        self.lines.iter().map(|line| line.due(day, workdays)).collect()
    }

    /// What of an order does not add up, a line each; nothing of a sound one.
    pub fn faults(&self) -> Vec<String> {
        let mut faults = Vec::new();
        let sum: Money = self.lines.iter().map(|line| line.amount).sum();
        if sum != self.sum {
            faults.push(format!("its lines come to {}, but its sum is {}", sum.0, self.sum.0));
        }
        if !self.lines.iter().any(|line| line.bought > Decimal::ZERO) {
            faults.push("nothing is bought by it".to_owned());
        }
        for line in &self.lines {
            let (code, needed) = (&line.code, line.needed());
            if line.bought != line.packs * line.pack {
                faults.push(format!("{code}: {} packs of {} are not {}", line.packs, line.pack, line.bought));
            }
            if needed <= Decimal::ZERO {
                faults.push(format!("{code} is for no job"));
            }
            if line.bought > Decimal::ZERO && (line.bought < needed || line.over() >= line.pack) {
                faults.push(format!("{code}: {needed} needed, but {} bought in packs of {}", line.bought, line.pack));
            }
            if line.bought == Decimal::ZERO && line.amount != Money::ZERO {
                faults.push(format!("{code}: {} asked for nothing", line.amount.0));
            }
        }
        faults
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::buying::WhyNot;

    fn line(needed: i64, pack: i64, packs: i64, amount: i64) -> PlacedLine<u8> {
        PlacedLine {
            code: "H".into(),
            name: "hinge".into(),
            article: String::new(),
            stock: None,
            unit: Some(RateUnit::Each),
            lead_days: 3,
            pack: pack.into(),
            packs: packs.into(),
            bought: (pack * packs).into(),
            each: Money::ZERO,
            amount: Money(amount.into()),
            jobs: vec![(1, needed.into())],
        }
    }

    fn order(sum: i64, lines: Vec<PlacedLine<u8>>) -> Placing<u8> {
        Placing { supplier: "A".into(), lead_days: 3, sum: Money(sum.into()), lines }
    }

    #[test]
    fn an_order_goes_from_awaited_to_arrived_and_back_and_is_cancelled_once() {
        use Standing::{Arrived, Awaited, Cancelled};
        assert_eq!(
            Awaited.step(Arrived).and_then(|now| now.step(Awaited)).and_then(|now| now.step(Cancelled)),
            Ok(Cancelled)
        );
        assert_eq!(Arrived.step(Cancelled), Ok(Cancelled));
        assert_eq!((Awaited.step(Awaited), Arrived.step(Arrived)), (Err(Refused::Already), Err(Refused::Already)));
        for to in Standing::ALL {
            assert_eq!(Cancelled.step(*to), Err(Refused::Cancelled));
        }
    }

    #[test]
    fn what_does_not_add_up_is_named() {
        let sound = order(15, vec![line(4, 5, 1, 15), line(2, 1, 0, 0)]);
        assert_eq!(sound.faults(), [""; 0]);
        // Thursday 26 November 2026 and three working days.
        let dues = sound.dues(date(2026, 11, 26), Workdays::default());
        assert_eq!(dues, [date(2026, 12, 1); 2]);
        for (wrong, says) in [
            (order(14, vec![line(4, 5, 1, 15)]), "come to 15"),
            (order(0, vec![line(2, 1, 0, 0)]), "nothing is bought"),
            (order(15, vec![line(6, 5, 1, 15)]), "6 needed, but 5 bought"),
            (order(30, vec![line(4, 5, 2, 30)]), "4 needed, but 10 bought"),
            (order(15, vec![line(0, 5, 1, 15)]), "for no job"),
            (order(15, vec![PlacedLine { bought: 4.into(), ..line(4, 5, 1, 15) }]), "are not 4"),
            (order(18, vec![line(4, 5, 1, 15), line(2, 1, 0, 3)]), "asked for nothing"),
        ] {
            assert!(wrong.faults().join("; ").contains(says), "{says}: {:?}", wrong.faults());
        }
    }

    /// By hand: 4 needed, 4 or 10 bought at 2.505 each.
    #[test]
    fn what_is_bought_by_hand_adds_up_whether_just_enough_or_more() {
        let without = Without {
            code: String::new(),
            name: "old axle".into(),
            stock: None,
            unit: Some(RateUnit::Each),
            needed: 4.into(),
            jobs: vec![(0, 3.into()), (1, 1.into())],
            why: WhyNot::NotInBook,
        };
        let each = Money("2.505".parse().unwrap());
        for (quantity, amount, packs) in [(4, "10.02", 4), (10, "25.05", 1)] {
            let by_hand = ByHand { quantity: quantity.into(), each };
            let placing = Placing::by_hand("A".into(), &[(&without, by_hand)], &['x', 'y'], 2);
            assert_eq!(placing.faults(), [""; 0]);
            assert_eq!((placing.sum, placing.lines[0].packs), (Money(amount.parse().unwrap()), packs.into()));
            assert_eq!(placing.lines[0].jobs, [('x', 3.into()), ('y', 1.into())]);
        }
    }

    #[test]
    fn what_is_still_to_come_is_never_below_nothing() {
        let five = line(4, 5, 1, 15);
        assert_eq!([0, 2, 5, 7].map(|received| five.to_rack(received)), [5, 3, 0, 0]);
        assert_eq!([0, 2, 5, 7].map(|came| five.to_come(came.into())), [5, 3, 0, 0].map(Decimal::from));
        let after = |came: i64, on_rack, quantity: i64| five.after(came.into(), on_rack, quantity.into());
        assert_eq!((after(2, 0, 3), after(2, 0, 4)), (Ok(5.into()), Err(3.into())));
        assert_eq!((after(4, 3, -1), after(4, 3, -2)), (Ok(3.into()), Err(1.into())), "three lie on the rack");
        assert_eq!((five.unsaid(1.into(), 3), five.unsaid(4.into(), 3)), (2.into(), 0.into()));
        assert_eq!([5, 6].map(|received| five.over_received(received)), [false, true]);
        assert_eq!((five.over(), line(2, 1, 0, 0).over()), (Decimal::ONE, Decimal::ZERO));
    }
}
