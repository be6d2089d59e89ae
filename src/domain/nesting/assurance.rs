//! How good a plan is, for the person who buys the steel.

use std::fmt;

use rust_decimal::Decimal;
use serde::Serialize;

use super::{Status, Stopped, bars, panels};
use crate::measure::Money;

/// What is proven of an answer. Its `Display` is one sentence; pages that show money in their own way use the figures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Assurance {
    /// No plan from this stock costs less.
    Least { cost: Money },
    /// So much could be saved at most, in per cent of the cost where that is above nought; and why the search ended.
    Within { cost: Money, could_save: Money, percent: Option<Decimal>, stopped: Option<Stopped> },
    /// This stock cannot give the parts.
    NoPlan,
    /// Neither a plan nor a proof that there is none.
    Unknown { stopped: Option<Stopped> },
}

impl Assurance {
    fn of(status: Status, costs: Option<(Money, Money)>, stopped: Option<Stopped>) -> Self {
        match (status, costs) {
            (Status::Infeasible, _) => Self::NoPlan,
            (Status::Optimal, Some((cost, _))) => Self::Least { cost },
            (Status::Feasible, Some((cost, bound))) => {
                let could_save = cost - bound;
                let share = could_save.0.checked_mul(Decimal::ONE_HUNDRED);
                let percent = share.filter(|_| cost > Money::ZERO).and_then(|share| share.checked_div(cost.0));
                Self::Within { cost, could_save, percent, stopped }
            }
            _ => Self::Unknown { stopped },
        }
    }
}

impl bars::Answer {
    pub fn assurance(&self) -> Assurance {
        Assurance::of(self.status, self.net_cost.zip(self.lower_bound), self.stopped)
    }
}

impl panels::Answer {
    /// Of plans of the answer's class of cuts.
    pub fn assurance(&self) -> Assurance {
        Assurance::of(self.status, self.net_cost.zip(self.lower_bound), self.stopped)
    }
}

/// Why a search ended, as the end of a sentence.
fn ended(stopped: Option<Stopped>) -> &'static str {
    match stopped {
        Some(Stopped::Time) => "; the search ran out of time",
        Some(Stopped::Cancelled) => "; the search was cancelled",
        Some(Stopped::Budget) => "; the search stopped at its budget",
        None => "",
    }
}

impl Assurance {
    /// One sentence, with amounts and per cents as the reader's place writes them. What could be saved is rounded up, to two
    /// decimals and to one: what is shown must not promise more than is so.
    pub fn sentence(&self, money: impl Fn(Money) -> String, percent: impl Fn(Decimal) -> String) -> String {
        let up = |amount: Decimal, decimals| {
            amount.round_dp_with_strategy(decimals, rust_decimal::RoundingStrategy::ToPositiveInfinity)
        };
        match self {
            Self::Least { cost } => {
                let cost = money(*cost);
                format!("No plan from this stock costs less than {cost}; this one costs {cost}.")
            }
            Self::Within { could_save, percent: share, stopped, .. } => {
                let share = share.map_or_else(String::new, |share| format!(" ({})", percent(up(share, 1))));
                format!("At most {}{share} could be saved{}.", money(Money(up(could_save.0, 2))), ended(*stopped))
            }
            Self::NoPlan => "This stock cannot give the parts, however it is cut.".to_owned(),
            Self::Unknown { stopped } => {
                format!("No plan was found, and it is not proven that there is none{}.", ended(*stopped))
            }
        }
    }
}

impl fmt::Display for Assurance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let money = |amount: Money| format!("{:.2}", amount.rounded(2).0);
        f.write_str(&self.sentence(money, |percent| format!("{percent:.1} %")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(status: Status, cost: &str, bound: &str, stopped: Option<Stopped>) -> String {
        let costs = Some((Money(cost.parse().unwrap()), Money(bound.parse().unwrap())));
        Assurance::of(status, costs, stopped).to_string()
    }

    #[test]
    fn the_proof_is_one_sentence() {
        assert_eq!(
            said(Status::Optimal, "412.3", "412.3", None),
            "No plan from this stock costs less than 412.30; this one costs 412.30."
        );
        assert_eq!(
            said(Status::Feasible, "412.3", "411.88", Some(Stopped::Budget)),
            "At most 0.42 (0.2 %) could be saved; the search stopped at its budget."
        );
        assert_eq!(said(Status::Feasible, "0", "-0.001", None), "At most 0.01 could be saved.");
        assert_eq!(said(Status::Infeasible, "0", "0", None), "This stock cannot give the parts, however it is cut.");
    }
}
