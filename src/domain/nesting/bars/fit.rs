//! Plans with fewer bars, where all bars are alike and remainders are worth nothing.
//!
//! One bar is given up and its parts wait. Step by step a few bars are emptied and filled anew from their parts and those
//! that wait, each as fully as chance finds (Gupta and Ho 1999, minimum bin slack), and that stands where the waiting
//! parts have not become longer; Buljubašić and Vasquez (2016) search bins by waiting parts in the same spirit.

use std::collections::BTreeMap;

use super::{first::Plan, lp::Dice, model::Model};
use crate::nesting::Meter;

/// Bars filled anew in one step at the most.
const BARS: usize = 3;
/// Fillings that are looked at for one bar.
const FILLINGS: u32 = 3_000;
/// Work of one try at first and at the most.
const TRY: u64 = 2_000_000;
const MOST_TRY: u64 = 512_000_000;
/// Tries in vain after which it is doubled.
const MOST_BARREN: u32 = 4;

pub(super) struct Fit {
    dice: Dice,
    /// Of one try, and tries in vain since it was last doubled.
    work: u64,
    barren: u32,
    pub spent: u64,
}

impl Default for Fit {
    fn default() -> Self {
        Self { dice: Dice::default(), work: TRY, barren: 0, spent: 0 }
    }
}

/// A bar and the types on it, one entry for each part.
struct Bar {
    kind: usize,
    parts: Vec<u16>,
    room: i64,
}

impl Bar {
    fn new(model: &Model, kind: usize, parts: Vec<u16>) -> Self {
        Self { kind, room: model.kinds[kind].bears - weigh(model, &parts), parts }
    }
}

impl Fit {
    /// Whether the number of bars alone decides.
    pub fn may(model: &Model) -> bool {
        model.kinds.len() == 1 && model.kinds[0].value == 0
    }

    /// One try; the plan with one bar fewer.
    pub fn attempt(&mut self, model: &Model, plan: &Plan, meter: &mut Meter) -> Option<Plan> {
        let before = meter.spent();
        let better = self.one_fewer(model, plan).and_then(|(bars, waiting)| {
            let work = self.work;
            meter.within(work, |meter| self.fit(model, bars, waiting, meter))
        });
        meter.spend(1_000);
        self.spent += meter.spent() - before;
        self.barren += 1;
        if better.is_some() {
            (self.work, self.barren) = (TRY, 0);
        } else if self.barren >= MOST_BARREN {
            (self.work, self.barren) = ((self.work * 2).min(MOST_TRY), 0);
        }
        better
    }

    fn below(&mut self, n: usize) -> usize {
        (((self.dice.throw() * 2.0 - 1.0) * n as f64) as usize).min(n.saturating_sub(1))
    }

    /// The plan's bars but one, whose parts wait; `None` where fewer bars cannot hold all.
    fn one_fewer(&mut self, model: &Model, plan: &Plan) -> Option<(Vec<Bar>, Vec<u16>)> {
        let parts = |items: &[(u16, u32)]| items.iter().flat_map(|&(t, n)| (0..n).map(move |_| t)).collect();
        let mut bars: Vec<Bar> = (plan.iter())
            .flat_map(|(column, n)| (0..*n).map(|_| Bar::new(model, column.kind as usize, parts(&column.items))))
            .collect();
        let given_up = bars.swap_remove(self.below(bars.len()));
        let room: i64 = bars.iter().map(|bar| bar.room).sum();
        (weigh(model, &given_up.parts) <= room).then_some((bars, given_up.parts))
    }

    /// Fits the waiting parts into these bars.
    fn fit(&mut self, model: &Model, mut bars: Vec<Bar>, mut waiting: Vec<u16>, meter: &mut Meter) -> Option<Plan> {
        let mut least = weigh(model, &waiting);
        while !waiting.is_empty() {
            if !meter.goes_on() {
                return None;
            }
            let count = (1 + self.below(BARS)).min(bars.len());
            self.bring_forward(&mut bars, count);
            let mut parts = waiting.clone();
            bars[..count].iter().for_each(|bar| parts.extend(&bar.parts));
            for at in 0..parts.len() {
                let other = at + self.below(parts.len() - at);
                parts.swap(at, other);
            }
            let mut work = 40 + bars.len() as u64 / 4 + parts.len() as u64;
            let filled: Vec<Vec<u16>> = (bars[..count].iter())
                .map(|bar| {
                    let mut filling = Filling::of(model, &parts, model.kinds[bar.kind].bears);
                    filling.look(0, 0);
                    work += filling.tried / 2;
                    let (mut at, mut best) = (0, filling.best.into_iter().peekable());
                    let chosen = |_: &mut u16| {
                        at += 1;
                        best.next_if_eq(&(at - 1)).is_some()
                    };
                    parts.extract_if(.., chosen).collect()
                })
                .collect();
            meter.spend(work);
            let weight = weigh(model, &parts);
            if weight <= least {
                least = weight;
                waiting = parts;
                for (bar, parts) in bars.iter_mut().zip(filled) {
                    *bar = Bar::new(model, bar.kind, parts);
                }
            }
        }
        let mut plan: BTreeMap<_, u32> = BTreeMap::new();
        for bar in bars.into_iter().filter(|bar| !bar.parts.is_empty()) {
            let mut items: BTreeMap<u16, u32> = BTreeMap::new();
            bar.parts.iter().for_each(|&t| *items.entry(t).or_default() += 1);
            *plan.entry(model.column(bar.kind, items.into_iter().collect())).or_default() += 1;
        }
        Some(plan.into_iter().collect())
    }

    /// Draws bars to the front: the first the likelier the more room it has, the others as chance has it.
    fn bring_forward(&mut self, bars: &mut [Bar], count: usize) {
        let room: i64 = bars.iter().map(|bar| bar.room).sum();
        let mut at = self.below(room as usize) as i64;
        let roomy = bars.iter().position(|bar| {
            at -= bar.room;
            at < 0
        });
        bars.swap(0, roomy.unwrap_or(0));
        for at in 1..count {
            let other = at + self.below(bars.len() - at);
            bars.swap(at, other);
        }
    }
}

fn weigh(model: &Model, parts: &[u16]) -> i64 {
    parts.iter().map(|&t| model.types[usize::from(t)].weight).sum()
}

/// The fullest filling of one bar, as far as so many looks find it.
struct Filling {
    weights: Vec<i64>,
    /// What the parts from each on weigh.
    rest: Vec<i64>,
    bears: i64,
    chosen: Vec<usize>,
    best: Vec<usize>,
    most: i64,
    looked: u32,
    /// Parts that were tried on top of others.
    tried: u64,
}

impl Filling {
    fn of(model: &Model, parts: &[u16], bears: i64) -> Self {
        let weights: Vec<i64> = parts.iter().map(|&t| model.types[usize::from(t)].weight).collect();
        let mut rest = vec![0; weights.len() + 1];
        for at in (0..weights.len()).rev() {
            rest[at] = rest[at + 1] + weights[at];
        }
        Self { weights, rest, bears, chosen: Vec::new(), best: Vec::new(), most: 0, looked: 0, tried: 0 }
    }

    /// Whether to go on.
    fn look(&mut self, from: usize, used: i64) -> bool {
        self.looked += 1;
        if used > self.most {
            self.most = used;
            self.best.clone_from(&self.chosen);
        }
        if used == self.bears || self.looked >= FILLINGS {
            return false;
        }
        for at in from..self.weights.len() {
            if used + self.rest[at] <= self.most {
                break;
            }
            self.tried += 1;
            let with = used + self.weights[at];
            if with <= self.bears {
                self.chosen.push(at);
                let go_on = self.look(at + 1, with);
                self.chosen.pop();
                if !go_on {
                    return false;
                }
            }
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        measure::Tenths,
        nesting::{
            Budget,
            bars::{Part, Problem, Stock, finish::exact, first, model::SCALE},
            unwatched,
        },
    };

    fn model(parts: &[(i64, u32)]) -> Model {
        let stock = Stock {
            id: "S".into(),
            length: Tenths(10_000),
            quantity: None,
            cost: None,
            offcut_value_per_m: Default::default(),
            end_trim: None,
        };
        let problem = Problem {
            kerf: Tenths(0),
            end_trim: Tenths(0),
            keep_offcut: Tenths(10_000),
            stock: vec![stock],
            parts: parts.iter().map(|&(mm, n)| Part::square(format!("p{mm}"), Tenths(mm * 10), n)).collect(),
        };
        Model::new(&problem).unwrap()
    }

    fn tries(model: &Model, plan: &Plan) -> Option<Plan> {
        let mut watch = unwatched;
        let mut meter = Meter::new(Budget::full(), SCALE, &mut watch);
        let mut fit = Fit::default();
        let found = (0..4).find_map(|_| fit.attempt(model, plan, &mut meter));
        assert!(fit.spent > 0 && fit.spent <= meter.spent());
        found
    }

    /// One part on each bar.
    fn alone(model: &Model) -> Plan {
        let bar = |t: usize| (model.column(0, vec![(t as u16, 1)]), model.types[t].demand);
        (0..model.types.len()).map(bar).collect()
    }

    /// Three bars without waste: 480 + 270 + 250, 450 + 290 + 260, 410 + 330 + 260 mm.
    #[test]
    fn bars_become_as_few_as_the_parts_fill() {
        let model = model(&[(480, 1), (450, 1), (410, 1), (330, 1), (290, 1), (270, 1), (260, 2), (250, 1)]);
        let mut plan = alone(&model);
        for bars in (3..9).rev() {
            plan = tries(&model, &plan).expect("a plan with one bar fewer");
            assert_eq!(first::cost(&plan), bars * i128::from(model.kinds[0].cost));
            assert_eq!(exact(&model, plan.clone()).as_ref(), Some(&plan));
        }
        assert_eq!(tries(&model, &plan), None);
    }

    /// Three parts of 600 mm: two bars hold their length, but not the parts.
    #[test]
    fn what_does_not_fit_is_not_called_a_plan() {
        let model = model(&[(600, 3)]);
        assert_eq!(tries(&model, &alone(&model)), None);
    }
}
