//! Small random problems against trying everything: never a wrong `optimal` or `infeasible`, never a bound above the
//! least cost or a plan below it, and every plan passes the verifier.
//!
//! The exhaustive solvers ([`bars`], [`sheets`]) are written from the problem's definition alone, in integers, and share
//! nothing with the product. A slice of fixed seeds runs in seconds. The whole trial, 100,000 problems of bars and as many
//! of panels, runs with `HITCHWRIGHT_LONG=1`, as `tests/run --long` does it (release build).

use std::cell::Cell;

use hitchwright::domain::{
    measure::Money,
    nesting::{Budget, Status, unwatched},
};
use proptest::{
    prelude::*,
    test_runner::{Config, RngAlgorithm, TestRng, TestRunner},
};
use rust_decimal::Decimal;

mod bars;
mod sheets;
mod ties;

/// The same cases everywhere: a slice of them, or all.
fn runner(slice: u32, whole: u32) -> TestRunner {
    let cases = if std::env::var_os("HITCHWRIGHT_LONG").is_some() { whole } else { slice };
    let (failure_persistence, max_shrink_iters, max_global_rejects) = (None, 4_000, u32::MAX);
    let config = Config { cases, failure_persistence, max_shrink_iters, max_global_rejects, ..Config::default() };
    TestRunner::new_with_rng(config, TestRng::from_seed(RngAlgorithm::ChaCha, &[23; 32]))
}

/// How the answers came out.
#[derive(Default)]
struct Counts {
    proven: Cell<u32>,
    impossible: Cell<u32>,
    open: Cell<u32>,
}

impl Counts {
    /// Holds one answer against the truth; both in integers of `scale` decimals.
    fn judge(
        &self,
        status: Status,
        net_cost: Option<Money>,
        bound: Option<Money>,
        truth: Option<i128>,
        scale: u32,
    ) -> Result<(), TestCaseError> {
        let add = |count: &Cell<u32>| count.set(count.get() + 1);
        let truth = truth.map(|least| Decimal::from_i128_with_scale(least, scale));
        let net_cost = net_cost.map(|m| m.0);
        if let (Some(bound), Some(least)) = (bound, truth) {
            prop_assert!(bound.0 <= least, "the bound {} is above the least cost {}", bound.0, least);
        }
        match (status, truth) {
            (Status::Optimal, Some(least)) => {
                prop_assert_eq!(net_cost, Some(least), "called optimal");
                add(&self.proven);
            }
            (Status::Feasible, Some(least)) => {
                prop_assert!(net_cost >= Some(least), "{:?} is below the least cost {}", net_cost, least);
                add(&self.open);
            }
            (Status::Infeasible, None) => add(&self.impossible),
            (Status::Undecided, _) => add(&self.open),
            (status, truth) => prop_assert!(false, "{:?} where the truth is {:?}", status, truth),
        }
        Ok(())
    }

    /// Both kinds of answers came up, and at most so many of a thousand were left open; printed for the record.
    fn sum_up(&self, what: &str, most_open: u32) {
        let (proven, impossible, open) = (self.proven.get(), self.impossible.get(), self.open.get());
        println!("{what}: {proven} proven, {impossible} impossible, {open} open");
        assert!(proven > 0 && impossible > 0, "the cases hold both kinds");
        let all = proven + impossible + open;
        assert!(1_000 * open <= most_open * all, "{open} of {all} are open");
    }
}

fn four_decimals(ten_thousandths: i64) -> Money {
    Money(Decimal::new(ten_thousandths, 4))
}

/// A case that the solver refuses to read, such as one whose rounded worth came out above its cost, is not one of the trial.
fn refused(fault: hitchwright::domain::nesting::Fault) -> TestCaseError {
    TestCaseError::reject(fault.to_string())
}
