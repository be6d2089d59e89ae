//! The cutting plan of a job: the take-off's demands against what the rate book sells and what lies on the rack.
//!
//! One bar problem for each section and grade, one panel problem for each material and thickness; identical trailers are
//! planned together.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::{Status, Stopped, bars, panels};
use crate::{
    measure::{Length, Money, Tenths},
    shop::StockCharge,
    steel::{Grade, Section, SheetMaterial},
};

mod plan;
/// What plans buy and keep.
mod stock;

pub use plan::plan;
pub use stock::{Beside, Bought, Cost, Kept, beside};

/// Every plan of a job.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Cutting {
    pub bars: Vec<BarCutting>,
    pub sheets: Vec<SheetCutting>,
    /// Made with the full budget rather than the one for figures that move while somebody types.
    pub full: bool,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BarCutting {
    pub section: Section,
    pub grade: Grade,
    pub problem: bars::Problem,
    /// Where each stock of the problem comes from, in its order.
    pub sources: Vec<Source>,
    pub answer: Result<bars::Answer, String>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SheetCutting {
    pub material: SheetMaterial,
    pub thickness: Length,
    pub problem: panels::Problem,
    pub sources: Vec<Source>,
    pub answer: Result<panels::Answer, String>,
}

/// Where a piece of stock comes from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Source {
    /// Bought: the item's code in the rate book.
    New(String),
    /// From the rack: the piece's tag.
    Rack(String),
}

impl Source {
    /// The tag of a piece of the rack.
    pub fn tag(&self) -> Option<&str> {
        match self {
            Self::Rack(tag) => Some(tag),
            Self::New(_) => None,
        }
    }
}

/// What a plan takes and what of it a job pays for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Charge {
    /// Price of every piece taken.
    pub whole: Money,
    /// What the offcuts kept cost when they were bought.
    pub kept_share: Money,
    /// What they are worth on the rack.
    pub kept_worth: Money,
}

impl Charge {
    /// What the job pays, by the shop's policy.
    pub fn paid(self, by: StockCharge) -> Money {
        match by {
            StockCharge::WholePieces => self.whole,
            StockCharge::UsedAndScrap => self.whole - self.kept_share,
            StockCharge::OffcutsReturned => self.whole - self.kept_worth,
        }
    }
}

impl BarCutting {
    /// Stable key of the demand and its price line: `steel/rhs 60x40x3 S235`.
    pub fn key(&self) -> String {
        format!("steel/{} {}", self.section, self.grade)
    }

    /// The bars of the plan, each with what it is cut from and where that comes from; nothing without a plan.
    pub fn taken(&self) -> impl Iterator<Item = (&bars::Bar, &bars::Stock, &Source)> {
        self.planned().unwrap_or_default().iter().filter_map(|bar| {
            let mut stock = self.problem.stock.iter().zip(&self.sources);
            let (stock, source) = stock.find(|(stock, _)| stock.id == bar.stock)?;
            Some((bar, stock, source))
        })
    }

    /// What the bars taken cost; `None` without a plan.
    pub fn charge(&self) -> Option<Charge> {
        self.planned()?;
        let mut charge = Charge::default();
        for (bar, stock, _) in self.taken() {
            let count = Decimal::from(bar.count);
            let cost = stock.cost.unwrap_or_default();
            charge.whole += cost * count;
            if bar.kept {
                let kept = metres(bar.remainder) * count;
                charge.kept_share += Money((cost * kept).0.checked_div(metres(stock.length)).unwrap_or_default());
                charge.kept_worth += stock.offcut_value_per_m * kept;
            }
        }
        Some(charge)
    }

    /// Metres of stock taken.
    pub fn metres_taken(&self) -> Decimal {
        self.taken().map(|(bar, stock, _)| metres(stock.length) * Decimal::from(bar.count)).sum()
    }

    fn planned(&self) -> Option<&[bars::Bar]> {
        self.answer.as_ref().ok().filter(|answer| has_plan(answer.status)).map(|answer| answer.plan.as_slice())
    }

    fn block(&self) -> Option<String> {
        let what = format!("{} {}", self.section, self.grade);
        match &self.answer {
            Err(fault) => Some(format!("Cutting {what}: {fault}.")),
            Ok(answer) => block(&what, answer.status, answer.stopped, &answer.unplaced),
        }
    }
}

impl SheetCutting {
    /// Stable key of the demand and its price line: `sheet/mesh-ply 15`.
    pub fn key(&self) -> String {
        format!("sheet/{} {}", self.material.word(), self.thickness.mm())
    }

    /// The sheets of the plan, each with what it is cut from and where that comes from; nothing without a plan.
    pub fn taken(&self) -> impl Iterator<Item = (&panels::Sheet, &panels::Stock, &Source)> {
        self.planned().unwrap_or_default().iter().filter_map(|sheet| {
            let mut stock = self.problem.stock.iter().zip(&self.sources);
            let (stock, source) = stock.find(|(stock, _)| stock.id == sheet.stock)?;
            Some((sheet, stock, source))
        })
    }

    /// What the sheets taken cost; `None` without a plan.
    pub fn charge(&self) -> Option<Charge> {
        self.planned()?;
        let mut charge = Charge::default();
        for (sheet, stock, _) in self.taken() {
            let count = Decimal::from(sheet.count);
            let cost = stock.cost.unwrap_or_default();
            let whole_m2 = metres(stock.length) * metres(stock.width);
            charge.whole += cost * count;
            for kept in sheet.remainders.iter().filter(|remainder| remainder.kept) {
                let kept_m2 = metres(kept.length) * metres(kept.width) * count;
                charge.kept_share += Money((cost * kept_m2).0.checked_div(whole_m2).unwrap_or_default());
                charge.kept_worth += stock.offcut_value_per_m2 * kept_m2;
            }
        }
        Some(charge)
    }

    /// Square metres of stock taken.
    pub fn m2_taken(&self) -> Decimal {
        let m2 = |stock: &panels::Stock| metres(stock.length) * metres(stock.width);
        self.taken().map(|(sheet, stock, _)| m2(stock) * Decimal::from(sheet.count)).sum()
    }

    fn planned(&self) -> Option<&[panels::Sheet]> {
        self.answer.as_ref().ok().filter(|answer| has_plan(answer.status)).map(|answer| answer.plan.as_slice())
    }

    fn block(&self) -> Option<String> {
        let what = format!("{} {} mm", self.material.label(), self.thickness.mm());
        match &self.answer {
            Err(fault) => Some(format!("Cutting {what}: {fault}.")),
            Ok(answer) => block(&what, answer.status, answer.stopped, &answer.unplaced),
        }
    }
}

fn metres(length: Tenths) -> Decimal {
    Decimal::new(length.0, 4)
}

const fn has_plan(status: Status) -> bool {
    matches!(status, Status::Optimal | Status::Feasible)
}

fn block(what: &str, status: Status, stopped: Option<Stopped>, unplaced: &[super::Unplaced]) -> Option<String> {
    if stopped.is_some_and(Stopped::by_caller) {
        return Some(format!("Cutting {what}: the plan was cut short; make it again and let it finish."));
    }
    match status {
        Status::Optimal | Status::Feasible => None,
        Status::Undecided => Some(format!("Cutting {what}: no plan was found in the work allowed; make it again.")),
        Status::Infeasible => {
            let parts: Vec<String> =
                unplaced.iter().map(|one| format!("{} × {} ({})", one.quantity, one.part, one.why)).collect();
            Some(format!("Cutting {what}: cannot be cut from this stock: {}.", parts.join("; ")))
        }
    }
}

impl Cutting {
    /// Bars and bar offcuts taken.
    pub fn bars_used(&self) -> u32 {
        self.bars.iter().filter_map(|cutting| cutting.answer.as_ref().ok()).map(|answer| answer.bars).sum()
    }

    /// Sheets and sheet offcuts taken.
    pub fn sheets_used(&self) -> u32 {
        self.sheets.iter().filter_map(|cutting| cutting.answer.as_ref().ok()).map(|answer| answer.sheets).sum()
    }

    /// Why a quote with these plans cannot be issued; empty when it can.
    pub fn blocks(&self) -> impl Iterator<Item = String> {
        let bars = self.bars.iter().filter_map(BarCutting::block);
        bars.chain(self.sheets.iter().filter_map(SheetCutting::block))
    }

    /// Whether the caller's clock or cancel cut a plan short.
    pub fn cut_short(&self) -> bool {
        let by_caller = |stopped: Option<Stopped>| stopped.is_some_and(Stopped::by_caller);
        self.bars.iter().any(|cutting| cutting.answer.as_ref().is_ok_and(|answer| by_caller(answer.stopped)))
            || self.sheets.iter().any(|cutting| cutting.answer.as_ref().is_ok_and(|answer| by_caller(answer.stopped)))
    }

    /// Tags of the rack's pieces that the plans take, in the order of their numbers.
    pub fn rack_tags(&self) -> Vec<&str> {
        let bars = self.bars.iter().flat_map(|cutting| cutting.taken().map(|(_, _, source)| source));
        let sheets = self.sheets.iter().flat_map(|cutting| cutting.taken().map(|(_, _, source)| source));
        let mut tags: Vec<&str> = bars.chain(sheets).filter_map(Source::tag).collect();
        tags.sort_by_key(|tag| (tag.len(), *tag));
        tags
    }
}

#[cfg(test)]
mod tests {
    use super::{plan::share, *};
    use crate::{
        nesting::{Budget, unwatched},
        shop::{Goods, Rack, RackPiece, ShopBook, Stocked},
        trailer::{BarDemand, BarPart, EndCut, Role, TakeOff},
    };

    fn money(text: &str) -> Money {
        Money(text.parse().unwrap())
    }

    fn demand(section: &str, parts: &[(&str, f64, u32)]) -> TakeOff {
        let part = |(id, length, quantity): &(&str, f64, u32)| BarPart {
            id: (*id).into(),
            role: Role::SideRail,
            length: Tenths::nearest(*length),
            quantity: *quantity,
            cuts: [EndCut::SQUARE; 2],
        };
        let bars = BarDemand {
            section: section.parse().unwrap(),
            grade: "S235".parse().unwrap(),
            parts: parts.iter().map(part).collect(),
        };
        TakeOff { bars: vec![bars], ..TakeOff::default() }
    }

    fn planned(take_off: &TakeOff, count: u32, book: &ShopBook, rack: &Rack) -> Cutting {
        plan(take_off, count, book, rack, Budget::of_units(2_000_000), &mut unwatched)
    }

    /// A 6 m bar, 2 × 1,500 mm cut from it: kept are 6,000 − 8 − 2 × 1,500 − 2 × 1.3 = 2,989.4 mm. By hand.
    #[test]
    fn a_job_pays_by_the_policy() {
        let mut book = ShopBook::demo();
        for item in &mut book.rates.items {
            if let Goods::Bar { lengths, .. } = &mut item.goods {
                lengths.truncate(1);
            }
        }
        let cutting = planned(&demand("shs 50x50x3", &[("A", 1500.0, 2)]), 1, &book, &Rack::default());
        let bars = &cutting.bars[0];
        let item = book.rates.item("HS-50x50x3").unwrap();
        let Goods::Bar { lengths, .. } = &item.goods else { panic!("not a bar") };
        let whole = item.bar_price(&lengths[0]).unwrap();
        let charge = bars.charge().unwrap();
        assert_eq!(charge.whole, whole);
        assert_eq!(bars.metres_taken(), Decimal::from(6));
        let share = money("2.9894").0 / Decimal::from(6);
        assert_eq!(charge.kept_share.rounded(6), Money(whole.0 * share).rounded(6));
        let half_a_metre = share_of_metre(whole);
        assert_eq!(charge.kept_worth, half_a_metre * money("2.9894").0);
        assert_eq!(charge.paid(StockCharge::WholePieces), whole);
        assert_eq!(charge.paid(StockCharge::UsedAndScrap), whole - charge.kept_share);
        let net_cost = bars.answer.as_ref().unwrap().net_cost.unwrap();
        assert_eq!(charge.paid(StockCharge::OffcutsReturned), net_cost);
        let cost = cutting.cost();
        assert_eq!(cost, Cost { bought: whole, from_rack: Money::ZERO, kept: charge.kept_worth });
        assert_eq!((cost.net(), cost.more_than(cost).net()), (net_cost, Money::ZERO));
        let bar = |length| Stocked::Bar { section: bars.section, grade: bars.grade, length: Tenths(length) };
        let bought = Bought { item: "HS-50x50x3".into(), stock: bar(60_000), count: 1, cost: whole };
        assert_eq!(cutting.bought(), [bought]);
        let more = beside(&[], &cutting.bought());
        assert_eq!((more.len(), more[0].more(), beside(&cutting.bought(), &[])[0].more()), (1, 1, -1));
        let worth = charge.kept_worth.rounded(2);
        let kept = Kept { from: Source::New("HS-50x50x3".into()), stock: bar(29_894), worth, count: 1 };
        assert_eq!(cutting.kept(2), [kept]);
        assert_eq!(cutting.kept(0)[0].worth, charge.kept_worth.rounded(0), "in a currency without cents");
    }

    fn share_of_metre(whole: Money) -> Money {
        share(whole, Decimal::from(50), Decimal::from(6))
    }

    #[test]
    fn an_offcut_from_the_rack_is_taken_where_it_serves() {
        let book = ShopBook::demo();
        let offcut = RackPiece {
            tag: "R-17".into(),
            stock: Stocked::Bar {
                // As it lies on the rack, lying down.
                section: "rhs 40x60x3".parse().unwrap(),
                grade: "S235".parse().unwrap(),
                length: Tenths::nearest(1200.0),
            },
            worth: money("4.70"),
            sawn_here: true,
        };
        let rack = Rack { pieces: vec![offcut] };
        let cutting = planned(&demand("rhs 60x40x3", &[("A", 1200.0, 1)]), 1, &book, &rack);
        assert_eq!(cutting.rack_tags(), ["R-17"]);
        assert_eq!(cutting.bars[0].charge().unwrap().whole, money("4.70"));
        assert_eq!(cutting.bars_used(), 1);
        assert_eq!(cutting.blocks().count(), 0);
        assert_eq!((cutting.bought(), cutting.kept(2)), (Vec::new(), Vec::new()));
        assert_eq!(cutting.cost(), Cost { from_rack: money("4.70"), ..Cost::default() });
        let text = serde_json::to_string(&cutting).unwrap();
        assert_eq!(serde_json::from_str::<Cutting>(&text).unwrap(), cutting);
    }

    #[test]
    fn identical_trailers_are_planned_together() {
        let book = ShopBook::demo();
        let take_off = demand("shs 50x50x3", &[("A", 2400.0, 2)]);
        let cutting = planned(&take_off, 3, &book, &Rack::default());
        let plan = &cutting.bars[0].answer.as_ref().unwrap().plan;
        let cut: usize = plan.iter().map(|bar| bar.parts.len() * bar.count as usize).sum();
        assert_eq!(cut, 6);
        assert_eq!(cutting, planned(&take_off, 3, &book, &Rack::default()));
    }

    #[test]
    fn what_cannot_be_cut_blocks_and_says_why() {
        let book = ShopBook::demo();
        let long = planned(&demand("shs 50x50x3", &[("A", 9000.0, 1)]), 1, &book, &Rack::default());
        let says: Vec<String> = long.blocks().collect();
        assert!(says.len() == 1 && says[0].contains("1 × A"), "{says:?}");
        assert_eq!(long.bars[0].charge(), None);
        let unknown = planned(&demand("shs 55x55x3", &[("A", 900.0, 1)]), 1, &book, &Rack::default());
        assert!(unknown.blocks().next().unwrap().contains("the rate book sells no shs 55x55x3"));
    }
}
