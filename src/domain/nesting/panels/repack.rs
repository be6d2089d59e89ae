//! Plans with one sheet less: a sheet is taken away, and the others are filled anew, one or two at a time, from their own
//! parts and those that lie about, until none does. What stays about grows heavier, so that it is placed before others.

use super::{
    fill::{BY_CHANCE, FITS, Filler, Layout, Rules},
    first::{Dice, Plan},
    model::Model,
};
use crate::nesting::Meter;

/// Fillings tried before a sheet is left as it is.
const TRIES: u64 = 6;

pub(super) struct Repack<'m> {
    model: &'m Model,
    filler: Filler<'m>,
    dice: Dice,
    wanted: Vec<u32>,
    /// What it is worth to place a part of each type.
    weight: Vec<f64>,
}

impl<'m> Repack<'m> {
    pub fn new(model: &'m Model) -> Self {
        let weight = model.types.iter().map(|t| t.area() as f64).collect();
        let wanted = vec![0; model.types.len()];
        Self { model, filler: Filler::new(model), dice: Dice::new(), wanted, weight }
    }

    /// Works on the plan's sheets without the emptiest one, for at most so many units.
    pub fn fewer(&mut self, plan: &Plan, units: u64, meter: &mut Meter) -> Option<Plan> {
        let area = |s: &Layout| s.placed.iter().map(|spot| spot.rect.area()).sum::<i64>();
        let mut sheets = plan.clone();
        let emptiest = (0..sheets.len()).min_by_key(|&s| area(&sheets[s]))?;
        let mut about: Vec<usize> = sheets.swap_remove(emptiest).placed.iter().map(|spot| spot.t).collect();
        self.weight = self.model.types.iter().map(|t| t.area() as f64).collect();
        let mut spent = 0;
        let mut steps = 0_u64;
        while !about.is_empty() {
            if sheets.is_empty() || spent >= units || !meter.goes_on() {
                return None;
            }
            let n = sheets.len() as u64;
            let first = self.dice.below(n) as usize;
            let second = if n > 1 && self.dice.below(3) > 0 {
                Some((first + 1 + self.dice.below(n - 1) as usize) % n as usize)
            } else {
                None
            };
            self.step(&mut sheets, first, second, &mut about);
            steps += 1;
            if steps.is_multiple_of(10) {
                for &t in &about {
                    self.weight[t] *= 1.02;
                }
            }
            let work = self.filler.take_work();
            spent += work;
            meter.spend(work);
        }
        Some(sheets)
    }

    /// Fills one or two sheets anew; what is not lighter than before is kept.
    fn step(&mut self, sheets: &mut [Layout], first: usize, second: Option<usize>, about: &mut Vec<usize>) {
        let chosen: Vec<usize> = std::iter::once(first).chain(second).collect();
        let mut pool: Vec<usize> = about.clone();
        for &s in &chosen {
            pool.extend(sheets[s].placed.iter().map(|spot| spot.t));
        }
        let had: f64 = chosen.iter().flat_map(|&s| &sheets[s].placed).map(|spot| self.weight[spot.t]).sum();
        for _ in 0..TRIES {
            let order = self.order(&pool);
            let rules = Rules {
                fit: self.dice.below(u64::from(FITS)) as u8,
                split: self.dice.below(u64::from(BY_CHANCE) + 1) as u8,
                salt: self.dice.bits(),
            };
            self.wanted.fill(0);
            pool.iter().for_each(|&t| self.wanted[t] += 1);
            let mut layouts = Vec::with_capacity(2);
            let mut has = 0.0;
            for &s in &chosen {
                self.filler.fill(sheets[s].kind, &order, &mut self.wanted, rules);
                has += self.filler.placed.iter().map(|spot| self.weight[spot.t]).sum::<f64>();
                layouts.push(self.filler.layout());
            }
            if has >= had * (1.0 - 1e-12) && layouts.iter().all(|layout| !layout.placed.is_empty()) {
                for (&s, layout) in chosen.iter().zip(layouts) {
                    sheets[s] = layout;
                }
                about.clear();
                for (t, &n) in self.wanted.iter().enumerate() {
                    about.extend(std::iter::repeat_n(t, n as usize));
                }
                return;
            }
        }
    }

    /// By one of the sizes, disturbed.
    fn order(&mut self, pool: &[usize]) -> Vec<usize> {
        let key = self.dice.below(5);
        let swing = [0.1, 0.3, 0.6, 1.0][self.dice.below(4) as usize];
        let mut keyed: Vec<(f64, usize)> = Vec::with_capacity(pool.len());
        for &t in pool {
            let (l, w) = (self.model.types[t].length as f64, self.model.types[t].width as f64);
            let size = match key {
                0 => l * w,
                1 => l.max(w) * l.max(w),
                2 => l * l,
                3 => w * w,
                _ => self.weight[t],
            };
            let chance = self.dice.share();
            keyed.push((size * (1.0 + swing * chance), t));
        }
        keyed.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        keyed.into_iter().map(|(_, t)| t).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::nesting::panels::{fill::Rect, fill::Spot, small};

    /// Three sheets with one part each; two of the parts lie on one sheet together, whichever they are.
    #[test]
    fn a_sheet_is_emptied_onto_the_others() {
        let model = small::model(1, &[(10, 10, None)], &[(10, 4, 1), (10, 5, 1), (3, 4, 1)]);
        let one = |t: usize| {
            let rect = Rect { x: 0, y: 0, dx: model.types[t].length, dy: model.types[t].width };
            let placed = vec![Spot { t, rect, turned: false }];
            Layout { kind: 0, placed, cuts: Vec::new(), kept: Vec::new(), cost: model.kinds[0].cost }
        };
        let plan: Plan = (0..3).map(one).collect();
        let fewer = small::metered(|meter| Repack::new(&model).fewer(&plan, 1_000_000, meter)).unwrap();
        assert_eq!(fewer.len(), 2);
        let mut all: Vec<usize> = fewer.iter().flat_map(|s| s.placed.iter().map(|spot| spot.t)).collect();
        all.sort_unstable();
        assert_eq!(all, [0, 1, 2]);
        // 4 + 1 + 5 fill a sheet; the third part needs the second: no plan has one sheet.
        let none = small::metered(|meter| Repack::new(&model).fewer(&fewer, 200_000, meter));
        assert!(none.is_none());
    }
}
