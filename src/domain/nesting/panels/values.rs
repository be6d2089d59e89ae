//! Plans by sequential value correction (Mukhacheva, Belov, Kartak, Mukhacheva 2000; Belov and Scheithauer 2007, for bars;
//! from memory): sheet after sheet is filled with what is worth most, and after each the values of its parts are corrected
//! by what the sheet cost for them. Parts that are hard to place grow dear, and the next plan takes them first. Each sheet
//! is filled by [`super::beam`].
//!
//! A plan that stands is improved by taking some of its sheets away and planning their parts anew, with values by chance.

use super::{
    beam::{Beam, Prices},
    fill::Layout,
    first::{Dice, Ended, Plan},
    model::Model,
};
use crate::nesting::Meter;

/// Sheets that are planned anew together, at most.
const MOST_ANEW: u64 = 4;

pub(super) struct Values<'m> {
    model: &'m Model,
    beam: Beam<'m>,
    dice: Dice,
    /// Of a part of each type, in money.
    each: Vec<f64>,
    /// Of a square tenth of part: above that of any remainder, or parts would be left for it.
    least: f64,
}

/// How values are corrected by a sheet.
#[derive(Clone, Copy)]
struct Correction {
    /// Of the area, by which parts share the cost of a sheet: larger ones are harder to place.
    power: f64,
    /// How much the old value weighs.
    steady: f64,
}

impl<'m> Values<'m> {
    pub fn new(model: &'m Model) -> Self {
        let cheapest = model.kinds.iter().map(|k| k.cost as f64 / (k.length * k.width) as f64).fold(f64::MAX, f64::min);
        let each = model.types.iter().map(|t| cheapest * t.area() as f64).collect();
        let least = 1.02 * model.kinds.iter().map(|k| k.value as f64).fold(0.0, f64::max);
        Self { model, beam: Beam::new(model), dice: Dice::new(), each, least }
    }

    /// One plan; `None` where the sheets do not suffice for it or the stage ends. Values go on from plan to plan.
    pub fn plan(&mut self, width: usize, meter: &mut Meter) -> Option<Plan> {
        let wanted: Vec<u32> = self.model.types.iter().map(|t| t.demand).collect();
        let stock: Vec<u32> = self.model.kinds.iter().map(|k| k.quantity).collect();
        let power = 1.0 + 0.05 * (1 + self.dice.below(12)) as f64;
        let steady = 1.0 + self.dice.share();
        self.cover(wanted, stock, width, Some(Correction { power, steady }), meter)
    }

    /// The plan with a few of its sheets planned anew.
    pub fn anew(&mut self, plan: &Plan, width: usize, meter: &mut Meter) -> Option<Plan> {
        let mut rest = plan.clone();
        let mut wanted = vec![0; self.model.types.len()];
        for _ in 0..2 + self.dice.below(MOST_ANEW - 1) {
            if !rest.is_empty() {
                let sheet = rest.swap_remove(self.dice.below(rest.len() as u64) as usize);
                sheet.placed.iter().for_each(|spot| wanted[spot.t] += 1);
            }
        }
        let mut stock: Vec<u32> = self.model.kinds.iter().map(|k| k.quantity).collect();
        rest.iter().for_each(|sheet| stock[sheet.kind] -= 1);
        let power = 0.9 + 0.8 * self.dice.share();
        let dense = self.each.iter().sum::<f64>() / self.model.types.iter().map(|t| t.area() as f64).sum::<f64>();
        let noise = 0.4 * self.dice.share();
        let largest = self.model.types.first().map_or(1.0, |t| t.area() as f64);
        let by_chance = |of: &mut Dice, area: f64| {
            // Around what an average part is worth for its area, more of it for larger ones.
            dense * area * (area / largest).powf(power - 1.0) * (1.0 - noise / 2.0 + noise * of.share())
        };
        let areas = self.model.types.iter().map(|t| t.area() as f64);
        let drawn = areas.map(|area| by_chance(&mut self.dice, area).max(self.least * area)).collect();
        let values = std::mem::replace(&mut self.each, drawn);
        let new = self.cover(wanted, stock, width, None, meter);
        self.each = values;
        rest.extend(new?);
        Some(rest)
    }

    /// Sheets for the parts wanted.
    fn cover(
        &mut self,
        mut wanted: Vec<u32>,
        mut stock: Vec<u32>,
        width: usize,
        correction: Option<Correction>,
        meter: &mut Meter,
    ) -> Option<Plan> {
        let mut plan = Plan::new();
        let mut ended = Ended::default();
        while wanted.iter().any(|&n| n > 0) {
            let swing = if correction.is_some() { 0.0 } else { 0.3 };
            let layout = self.sheet(&plan, (&wanted, &stock), (width, swing), &mut ended, meter)?;
            stock[layout.kind] -= 1;
            layout.placed.iter().for_each(|spot| wanted[spot.t] -= 1);
            if let Some(by) = correction {
                self.correct(&layout, &wanted, by);
            }
            plan.push(layout);
            if !meter.goes_on() {
                return None;
            }
        }
        ended.best_with(plan)
    }

    /// The kind, and its filling, that costs least for what its parts are worth, give or take a swing.
    fn sheet(
        &mut self,
        plan: &Plan,
        (wanted, stock): (&[u32], &[u32]),
        (width, swing): (usize, f64),
        ended: &mut Ended,
        meter: &mut Meter,
    ) -> Option<Layout> {
        let all = |value: &dyn Fn(usize) -> f64| -> f64 {
            wanted.iter().enumerate().map(|(t, &n)| f64::from(n) * value(t)).sum()
        };
        let area = all(&|t| self.each[t]) / all(&|t| self.model.types[t].area() as f64);
        let all_left = wanted.iter().sum::<u32>() as usize;
        let mut best: Option<(Layout, f64)> = None;
        for (kind, &there) in stock.iter().enumerate() {
            if there == 0 {
                continue;
            }
            let kept = self.model.kinds[kind].value as f64;
            let layout = self.beam.fill(kind, wanted, &Prices { parts: &self.each, kept, area }, width);
            meter.spend(self.beam.take_work());
            let value: f64 = layout.placed.iter().map(|spot| self.each[spot.t]).sum();
            let dear = layout.cost as f64 / value * (1.0 + swing * self.dice.share());
            if layout.placed.len() == all_left {
                ended.offer(plan, &layout);
            }
            if !layout.placed.is_empty() && best.as_ref().is_none_or(|(_, least)| dear < *least) {
                best = Some((layout, dear));
            }
        }
        best.map(|(layout, _)| layout)
    }

    fn correct(&mut self, layout: &Layout, left: &[u32], by: Correction) {
        let weight = |t: usize| (self.model.types[t].area() as f64).powf(by.power);
        let all: f64 = layout.placed.iter().map(|spot| weight(spot.t)).sum();
        let cost = layout.cost.max(1) as f64;
        let mut counts = vec![0_u32; left.len()];
        layout.placed.iter().for_each(|spot| counts[spot.t] += 1);
        for (t, &here) in counts.iter().enumerate().filter(|(_, here)| **here > 0) {
            // The more of a part is still to come, the less one sheet says of it.
            let rest = by.steady * f64::from(self.model.types[t].demand + left[t]);
            let old = rest / (rest + f64::from(here));
            let least = self.least * self.model.types[t].area() as f64;
            self.each[t] = (old * self.each[t] + (1.0 - old) * cost * weight(t) / all).max(least);
        }
    }
}
