//! Whether what was ordered adds up: the lines of each order come to its sum, in whole packs that cover what jobs needed; its steps
//! follow each other; its jobs had been accepted; and no more came of a line on the rack than was bought.

use super::{Found, Result, Store};
use crate::{domain::buying::Standing, storage::OrderId};

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
