//! Every column that can belong to a better plan, listed.

use super::{
    columns::{Frontier, Item, Prices},
    model::{Column, Model},
    rows::Bar,
};
use crate::nesting::Meter;

/// Units of work for each column of a list: what takes more has bounds that keep less than they promise.
const MOST_WORK: u64 = 1_000;

/// Columns side by side in memory: lists grow long.
#[derive(Default)]
pub(super) struct List {
    pub kinds: Vec<u32>,
    pub costs: Vec<i64>,
    kept: Vec<bool>,
    starts: Vec<u32>,
    items: Vec<(u16, u32)>,
}

impl List {
    pub fn of(model: &Model, columns: &[Column]) -> Self {
        let mut list = Self::default();
        columns.iter().for_each(|column| list.push(column.bar(model), column.cost));
        list
    }

    pub fn len(&self) -> usize {
        self.kinds.len()
    }

    pub fn bar(&self, place: u32) -> Bar<'_> {
        let place = place as usize;
        Bar { kind: self.kinds[place] as usize, kept: self.kept[place], items: self.items(place) }
    }

    pub fn items(&self, place: usize) -> &[(u16, u32)] {
        let end = self.starts.get(place + 1).map_or(self.items.len(), |&end| end as usize);
        &self.items[self.starts[place] as usize..end]
    }

    pub fn column(&self, model: &Model, place: usize) -> Column {
        model.column(self.kinds[place] as usize, self.items(place).to_vec())
    }

    fn push(&mut self, Bar { kind, kept, items }: Bar, cost: i64) {
        self.kept.push(kept);
        self.kinds.push(kind as u32);
        self.costs.push(cost);
        self.starts.push(self.items.len() as u32);
        self.items.extend_from_slice(items);
    }
}

/// Lists columns by reduced cost at given prices.
pub(super) struct Lister<'a> {
    model: &'a Model,
    prices: &'a Prices,
    demand: &'a [u32],
    /// Of the types from each place on, what all their parts weigh.
    rest: Vec<i64>,
    /// Of the types from each place on, the best fillings at their prices.
    full: Vec<Frontier>,
    /// The same less the worth forgone, for each worth of a remainder.
    kept: Vec<(i64, Vec<Frontier>)>,
}

impl<'a> Lister<'a> {
    /// `None` when the work ended, or would need too much memory.
    pub fn new(model: &'a Model, prices: &'a Prices, demand: &'a [u32], meter: &mut Meter) -> Option<Self> {
        let mut worths: Vec<i64> = model.kinds.iter().map(|kind| kind.value).collect();
        worths.sort_unstable();
        worths.dedup();
        let full = suffixes(model, &prices.types, demand, meter)?;
        let mut kept = Vec::with_capacity(worths.len());
        for worth in worths {
            let net: Vec<i64> =
                prices.types.iter().zip(&model.types).map(|(&p, t)| p - worth.saturating_mul(t.weight)).collect();
            kept.push((worth, suffixes(model, &net, demand, meter)?));
        }
        let mut rest = vec![0];
        for (t, &n) in model.types.iter().zip(demand).rev() {
            rest.push(rest[rest.len() - 1] + t.weight * i64::from(n));
        }
        rest.reverse();
        Some(Self { model, prices, demand, rest, full, kept })
    }

    /// Every column with a reduced cost of at most `within`; `None` when there are more than `most`, when finding them takes
    /// too long, or the work ended.
    pub fn within(&self, within: i64, most: usize, meter: &mut Meter) -> Option<List> {
        let mut found = List::default();
        let mut left = MOST_WORK * (most as u64 + 1_000);
        for place in 0..self.model.kinds.len() {
            let (_, kept) = self.kept.iter().find(|(worth, _)| *worth == self.model.kinds[place].value)?;
            let &Self { model, prices, demand, ref rest, ref full, .. } = self;
            let (found, items) = (&mut found, Vec::new());
            let mut listing = Listing {
                model,
                prices,
                demand,
                kind: place,
                within,
                most,
                rest,
                full,
                kept,
                found,
                items,
                work: 0,
                left,
            };
            let whole = listing.list(0, 0, 0, meter);
            left = listing.left;
            meter.spend(listing.work);
            if !whole {
                return None;
            }
        }
        Some(found)
    }
}

/// The frontiers of the types from each place on.
fn suffixes(model: &Model, values: &[i64], demand: &[u32], meter: &mut Meter) -> Option<Vec<Frontier>> {
    let bears = model.kinds.iter().map(|k| k.bears).max().unwrap_or(0);
    let mut frontiers = vec![Frontier::empty()];
    let mut whole = Frontier::empty();
    let mut size = 0;
    for t in (0..model.types.len()).rev() {
        let item = Item { t: t as u16, weight: model.types[t].weight, value: values[t], demand: demand[t] };
        whole.widen(item, bears, meter);
        whole.forget_steps();
        size += whole.size();
        if size > 8_000_000 || !meter.goes_on() {
            return None;
        }
        frontiers.push(whole.values_only());
    }
    frontiers.reverse();
    Some(frontiers)
}

struct Listing<'a> {
    model: &'a Model,
    prices: &'a Prices,
    demand: &'a [u32],
    kind: usize,
    within: i64,
    most: usize,
    rest: &'a [i64],
    full: &'a [Frontier],
    kept: &'a [Frontier],
    found: &'a mut List,
    items: Vec<(u16, u32)>,
    /// Not yet booked.
    work: u64,
    /// Units after which to give up.
    left: u64,
}

impl Listing<'_> {
    fn list(&mut self, t: usize, used: i64, value: i64, meter: &mut Meter) -> bool {
        self.work += 12;
        let kind = &self.model.kinds[self.kind];
        let (extra_full, extra_kept) = (self.prices.full[self.kind], self.prices.kept[self.kind]);
        // The heaviest types come first: what does not fit is left out at once.
        let t = t + self.model.types[t..].partition_point(|ty| ty.weight > kind.bears - used);
        if t == self.model.types.len() {
            let cost = self.model.cost(self.kind, used);
            let kept = self.model.keeps(self.kind, used);
            let extra = if kept { extra_kept } else { extra_full };
            if !self.items.is_empty() && cost + extra - value <= self.within {
                if self.found.len() >= self.most {
                    return false;
                }
                self.found.push(Bar { kind: self.kind, kept, items: &self.items }, cost);
            }
            return true;
        }
        let longest_kept = kind.bears - self.model.kerf - self.model.keep;
        let mut most = i64::MIN / 4;
        // A remainder too short to keep needs enough parts to make it so.
        if used + self.rest[t] > longest_kept {
            most = value + self.full[t].most(kind.bears - used) - kind.cost - extra_full;
        }
        if used <= longest_kept {
            let net = value - kind.value * used + self.kept[t].most(longest_kept - used);
            most = most.max(net - kind.cost - extra_kept + kind.value * (kind.bears - self.model.kerf));
        }
        if -most > self.within {
            return true;
        }
        if self.work > 50_000 {
            self.left = self.left.saturating_sub(self.work);
            if !meter.spend(std::mem::take(&mut self.work)) || self.left == 0 {
                return false;
            }
        }
        let (weight, price) = (self.model.types[t].weight, self.prices.types[t]);
        let fits = i64::from(self.demand[t]).min((kind.bears - used) / weight);
        for n in (0..=fits).rev() {
            if n > 0 {
                self.items.push((t as u16, n as u32));
            }
            let whole = self.list(t + 1, used + n * weight, value + n * price, meter);
            if n > 0 {
                self.items.pop();
            }
            if !whole {
                return false;
            }
        }
        true
    }
}
