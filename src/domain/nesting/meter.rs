//! Counts a search's work against its budget and asks the caller's watch now and then.

use std::ops::ControlFlow;

use super::{Budget, Progress, Stopped, Watch, money};

/// Units of work between two looks at the watch: about a millisecond.
const LOOK_EVERY: u64 = 100_000;

pub(super) struct Meter<'a> {
    spent: u64,
    budget: u64,
    /// The end of the stage that runs now: never above the budget.
    limit: u64,
    next_look: u64,
    watch: Watch<'a>,
    stopped: Option<Stopped>,
    /// Best plan and bound, in integer money of `scale` decimals.
    pub net_cost: Option<i128>,
    pub lower_bound: Option<i128>,
    scale: u32,
}

impl<'a> Meter<'a> {
    pub fn new(budget: Budget, scale: u32, watch: Watch<'a>) -> Self {
        let units = budget.units();
        Self {
            spent: 0,
            budget: units,
            limit: units,
            next_look: 0,
            watch,
            stopped: None,
            net_cost: None,
            lower_bound: None,
            scale,
        }
    }

    /// Books work; false when the stage has to end.
    pub fn spend(&mut self, units: u64) -> bool {
        self.spent = self.spent.saturating_add(units);
        if self.spent >= self.next_look && !self.stopped.is_some_and(Stopped::by_caller) {
            self.next_look = self.spent.saturating_add(LOOK_EVERY);
            let progress = Progress {
                problem: 0,
                work: self.spent,
                budget: self.budget,
                net_cost: self.net_cost.map(|cost| money(cost, self.scale)),
                lower_bound: self.lower_bound.map(|bound| money(bound, self.scale)),
            };
            if let ControlFlow::Break(why) = (self.watch)(progress) {
                self.stopped = Some(why);
            }
        }
        if self.stopped.is_none() && self.spent >= self.budget {
            self.stopped = Some(Stopped::Budget);
        }
        self.goes_on()
    }

    pub fn spent(&self) -> u64 {
        self.spent
    }

    /// Units that the whole search may spend.
    pub fn budget(&self) -> u64 {
        self.budget
    }

    /// Units that the stage may still spend.
    pub fn left(&self) -> u64 {
        self.limit.saturating_sub(self.spent)
    }

    /// Runs a piece of work that may spend at most so much.
    pub fn within<T>(&mut self, units: u64, work: impl FnOnce(&mut Self) -> T) -> T {
        let limit = self.limit;
        self.limit = limit.min(self.spent.saturating_add(units));
        let done = work(self);
        self.limit = limit;
        done
    }

    /// Ends the search as if its budget were spent: going on would need more memory than it may have.
    pub fn give_up(&mut self) {
        self.stopped = self.stopped.or(Some(Stopped::Budget));
    }

    pub fn goes_on(&self) -> bool {
        self.stopped.is_none() && self.spent < self.limit
    }

    /// Gives the next stage at most this share (in per cent) of what is left.
    pub fn stage(&mut self, percent: u64) {
        let left = self.budget.saturating_sub(self.spent);
        self.limit = self.spent + left / 100 * percent.min(100) + if percent >= 100 { left % 100 } else { 0 };
    }

    pub fn stopped(&self) -> Option<Stopped> {
        self.stopped
    }
}
