//! Whether what was ordered adds up: the lines of each order come to its sum, in whole packs that cover what jobs needed; its steps
//! follow each other and stand as what came of it says; its jobs had been accepted; and no more came of a line than was bought, or lies on the
//! rack than came.

use rust_decimal::Decimal;

use super::{Found, Result, Store};
use crate::{
    domain::buying::Standing,
    storage::{KeptLine, OrderId, PlacedOrder},
};

impl Store {
    pub(super) async fn orders_add_up(&self) -> Result<Found> {
        let ids: Vec<i64> =
            sqlx::query_scalar("SELECT id FROM purchase_order ORDER BY id").fetch_all(&self.reads).await?;
        let mut faults = Vec::new();
        for id in &ids {
            // What cannot be read is a fault of the file, not of the check.
            match self.order(OrderId(*id)).await {
                Ok(Some(order)) => {
                    faults.extend(order.placing().faults().into_iter().map(|fault| format!("order {id}: {fault}")));
                    let mut now = Standing::Awaited;
                    for step in order.steps.iter().rev() {
                        match now.step(step.to) {
                            Ok(next) => now = next,
                            Err(why) => faults.push(format!("order {id} was {}, but {why}", step.to)),
                        }
                        if step.to == Standing::Cancelled && step.why.is_empty() {
                            faults.push(format!("order {id} was cancelled without a reason"));
                        }
                    }
                    faults.extend(what_came(&order).into_iter().map(|fault| format!("order {id}: {fault}")));
                    if (now == Standing::Arrived) != order.lines.iter().all(KeptLine::is_whole)
                        && now != Standing::Cancelled
                    {
                        faults.push(format!("order {id} is {now}, but its lines say otherwise"));
                    }
                    let more = order.lines.iter().filter(|kept| kept.line.over_received(kept.pieces.len()));
                    faults.extend(more.map(|kept| {
                        let (code, bought) = (&kept.line.code, kept.line.bought);
                        format!("order {id}: {} pieces of {code} came, but {bought} were bought", kept.pieces.len())
                    }));
                }
                Ok(None) => {}
                Err(why) => faults.push(format!("order {id}: {why}")),
            }
        }
        let never: Vec<(i64, String)> = sqlx::query_as(
            "SELECT DISTINCT l.order_id, j.number FROM purchase_line l JOIN purchase_share s ON s.line_id = l.id
             JOIN job j ON j.id = s.job_id WHERE j.accepted_at IS NULL ORDER BY 1, 2",
        )
        .fetch_all(&self.reads)
        .await?;
        faults.extend(
            never.into_iter().map(|(order, job)| format!("order {order} is for job {job}, which was never accepted")),
        );
        Ok((format!("{} orders", ids.len()), faults))
    }
}

/// What came of each line, arrival by arrival: never below nothing, never more than was bought, and all that went on the rack.
fn what_came(order: &PlacedOrder) -> Vec<String> {
    let mut faults = Vec::new();
    for kept in &order.lines {
        let (code, bought, mut came) = (&kept.line.code, kept.line.bought, Decimal::ZERO);
        for arrival in order.arrivals.iter().rev().filter(|arrival| arrival.line == kept.id) {
            came += arrival.quantity;
            if arrival.quantity.is_zero() || came < Decimal::ZERO || came > bought {
                faults.push(format!("{bought} of {code} were bought, but with {} {came} came", arrival.quantity));
            }
        }
        if came < Decimal::from(kept.pieces.len()) {
            faults.push(format!("{} pieces of {code} went on the rack, but only {came} came", kept.pieces.len()));
        }
    }
    faults
}
