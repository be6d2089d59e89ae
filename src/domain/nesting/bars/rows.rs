//! Rows of the linear programs: one for each type of part, then limits on numbers of bars, then cuts.

use std::rc::Rc;

use super::{
    columns::Prices,
    first::Left,
    lp::Lp,
    model::{Column, Model},
};

/// A bar as the rows see it.
#[derive(Clone, Copy)]
pub(super) struct Bar<'a> {
    pub kind: usize,
    /// Whether its remainder goes to the rack.
    pub kept: bool,
    pub items: &'a [(u16, u32)],
}

/// Bars of these kinds that hold at least these parts: at least, or at most, so many.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Limit {
    pub kinds: Rc<[usize]>,
    /// Only bars whose remainder is kept, or is not.
    pub kept: Option<bool>,
    /// (type, at least so many on the bar); empty: every bar of these kinds counts.
    pub holding: Rc<[(u16, u32)]>,
    pub at_least: bool,
    pub count: i64,
}

impl Limit {
    pub fn counts(&self, bar: Bar) -> bool {
        let holds = |&(t, least): &(u16, u32)| bar.items.iter().any(|&(u, n)| u == t && n >= least);
        self.kinds.contains(&bar.kind)
            && self.kept.is_none_or(|kept| kept == bar.kept)
            && self.holding.iter().all(holds)
    }

    /// Its sign in a row of the form Σ … ≥ ….
    fn sign(&self) -> i64 {
        if self.at_least { 1 } else { -1 }
    }
}

/// What every whole plan satisfies and fractions of bars may not (Chvátal 1973, Gomory 1958): each part is cut exactly as
/// often as asked, so Σ ⌊Σ u · parts of the bar⌋ over the bars is at most ⌊Σ u · demand⌋ for any multipliers u ≥ 0.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) struct Cut {
    /// Numerators of the multipliers, by type.
    pub parts: Vec<i64>,
    pub denominator: i64,
}

impl Cut {
    pub fn takes(&self, items: &[(u16, u32)]) -> i64 {
        let sum: i64 = items.iter().map(|&(t, n)| self.parts[usize::from(t)] * i64::from(n)).sum();
        sum.div_euclid(self.denominator)
    }

    /// The most that a plan for so many parts takes.
    pub fn most(&self, demand: &[u32]) -> i64 {
        let sum: i64 = self.parts.iter().zip(demand).map(|(&u, &n)| u * i64::from(n)).sum();
        sum.div_euclid(self.denominator)
    }
}

#[derive(Clone, Debug)]
pub(super) enum Row {
    Limit(Limit),
    Cut(Rc<Cut>),
}

impl Row {
    /// A bar's entry in the row, which has the form Σ … ≥ ….
    pub fn entry(&self, bar: Bar) -> i64 {
        match self {
            Self::Limit(limit) => limit.sign() * i64::from(limit.counts(bar)),
            Self::Cut(cut) => -cut.takes(bar.items),
        }
    }

    pub fn rhs(&self, demand: &[u32]) -> i64 {
        match self {
            Self::Limit(limit) => limit.sign() * limit.count,
            Self::Cut(cut) => -cut.most(demand),
        }
    }
}

/// The rows behind those of the types, and how money is scaled.
#[derive(Clone, Debug)]
pub(super) struct Rows {
    pub rows: Vec<Row>,
    types: usize,
    /// Money of one unit in the program.
    pub unit: f64,
    most_price: i64,
}

impl Rows {
    pub fn new(model: &Model, left: &Left, branches: &[Limit]) -> Self {
        let stock = (model.kinds.iter().enumerate()).filter(|(_, kind)| kind.limited).map(|(place, _)| Limit {
            kinds: Rc::new([place]),
            kept: None,
            holding: Rc::new([]),
            at_least: false,
            count: i64::from(left.stock[place]),
        });
        let unit = model.kinds.iter().map(|k| k.cost).max().unwrap_or(1).max(1) as f64;
        let lightest = model.types.last().map_or(1, |t| t.weight);
        let most_on_bar = model.kinds.iter().map(|k| k.bears / lightest).max().unwrap_or(1).max(1);
        Self {
            rows: stock.chain(branches.iter().cloned()).map(Row::Limit).collect(),
            types: model.types.len(),
            unit,
            most_price: i64::MAX / 8 / most_on_bar,
        }
    }

    /// A program with these rows and no columns; `equal` asks for each part exactly as often as demanded.
    pub fn program(&self, demand: &[u32], equal: bool) -> Lp {
        let parts = demand.iter().map(|&n| f64::from(n));
        let rows = self.rows.iter().map(|row| row.rhs(demand) as f64);
        Lp::new(parts.chain(rows).collect(), if equal { self.types } else { 0 })
    }

    pub fn add(&self, lp: &mut Lp, bar: Bar, cost: i64) -> usize {
        let parts = bar.items.iter().map(|&(t, n)| (u32::from(t), f64::from(n)));
        let rows = (self.rows.iter().enumerate()).filter_map(|(place, row)| match row.entry(bar) {
            0 => None,
            entry => Some(((self.types + place) as u32, entry as f64)),
        });
        lp.add(cost as f64 / self.unit, parts.chain(rows))
    }

    pub fn add_column(&self, model: &Model, lp: &mut Lp, column: &Column) -> usize {
        self.add(lp, column.bar(model), column.cost)
    }

    /// Columns that satisfy one row each at a price nobody wants to pay: the program then always has a solution, and an
    /// unreachable demand shows as a bound above any plan.
    pub fn add_excuses(&self, lp: &mut Lp, cost: f64) {
        for row in 0..lp.rhs.len() {
            if row < self.types || lp.rhs[row] > 0.0 {
                lp.add(cost / self.unit, [(row as u32, 1.0)]);
            }
        }
    }

    /// The program's prices of all rows in integers; those of the rows behind the types are not negative.
    pub fn prices(&self, lp: &Lp) -> Vec<i64> {
        let whole = |y: f64, most: i64| ((y * self.unit).round() as i64).clamp(-most, most);
        let (types, rows) = lp.prices().split_at(self.types);
        let types = types.iter().map(|&y| whole(y, self.most_price));
        // A share of the range each keeps the sum over a bar's rows in it.
        types.chain(rows.iter().map(|&y| whole(y, i64::MAX / 512).max(0))).collect()
    }

    /// What these prices promise before reduced costs are counted; the program's right-hand sides are whole numbers.
    pub fn promise(&self, prices: &[i64], lp: &Lp) -> i128 {
        prices.iter().zip(&lp.rhs).map(|(&y, &n)| i128::from(y) * n.round() as i128).sum()
    }

    /// Prices as the pricing of whole kinds takes them; every row must be a limit on kinds alone.
    pub fn by_kind(&self, model: &Model, prices: &[i64]) -> Prices {
        let (types, rows) = prices.split_at(self.types);
        let (mut full, mut kept) = (vec![0_i64; model.kinds.len()], vec![0_i64; model.kinds.len()]);
        for (&y, row) in rows.iter().zip(&self.rows) {
            let Row::Limit(limit) = row else { continue };
            for &kind in limit.kinds.iter() {
                if limit.kept != Some(true) {
                    full[kind] = full[kind].saturating_sub(limit.sign() * y);
                }
                if limit.kept != Some(false) {
                    kept[kind] = kept[kind].saturating_sub(limit.sign() * y);
                }
            }
        }
        // A part that nobody pays for is left off.
        Prices { types: types.iter().map(|&y| y.max(0)).collect(), full, kept }
    }
}

/// Most bars of each kind that a plan for what is left can use and still cost less than `upper`.
pub(super) fn most_bars(model: &Model, left: &Left, upper: i128) -> Vec<i128> {
    let parts: u64 = left.demand.iter().map(|&n| u64::from(n)).sum();
    let lightest = model.types.last().map_or(1, |t| t.weight);
    let most = |(kind, &stock): (usize, &u32)| {
        // A bar costs at least what it costs with one part on it, and no bar costs less than nothing.
        let affordable = upper.max(0) / i128::from(model.cost(kind, lightest).max(1));
        i128::from(u64::from(stock).min(parts)).min(affordable)
    };
    left.stock.iter().enumerate().map(most).collect()
}
