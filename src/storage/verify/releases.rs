//! Whether what was released to the workshop was booked: each piece of the rack that a released plan takes was cut for its job.

use std::collections::BTreeSet;

use super::{Found, Result, Store};
use crate::domain::{estimate::Estimate, nesting::booking::SharedPlan};

impl Store {
    pub(super) async fn releases_are_booked(&self) -> Result<Found> {
        let mut faults = Vec::new();
        let (mut after, mut count) = (0, 0_u64);
        // One at a time: a body may be large, and there may be many.
        while let Some((job, number, body, started)) = sqlx::query_as::<_, (i64, String, String, bool)>(
            "SELECT r.job_id, j.number, r.body, j.started_at IS NOT NULL FROM job_release r JOIN job j ON j.id = r.job_id
             WHERE r.job_id > $1 ORDER BY r.job_id LIMIT 1",
        )
        .bind(after)
        .fetch_optional(&self.reads)
        .await?
        {
            (after, count) = (job, count.saturating_add(1));
            if !started {
                faults.push(format!("job {number} was released, but is not in the shop"));
            }
            let estimate: Estimate = match serde_json::from_str(&body) {
                Ok(estimate) => estimate,
                Err(why) => {
                    faults.push(format!("the release of job {number} cannot be read: {why}"));
                    continue;
                }
            };
            let cut: BTreeSet<String> = sqlx::query_scalar(
                "SELECT p.tag FROM movement m JOIN piece p ON p.id = m.piece_id WHERE m.kind = 'cut' AND m.job_id = $1",
            )
            .bind(job)
            .fetch_all(&self.reads)
            .await?
            .into_iter()
            .collect();
            for tag in estimate.cutting.rack_tags().into_iter().filter(|tag| !cut.contains(*tag)) {
                faults.push(format!("the release of job {number} takes piece {tag}, which was never cut for it"));
            }
        }
        Ok((format!("{count} releases"), faults))
    }

    /// What was booked of a plan for several jobs is the plan, each piece of it once.
    pub(super) async fn joint_releases_add_up(&self) -> Result<Found> {
        let mut faults = Vec::new();
        let (mut after, mut count) = (0, 0_u64);
        while let Some((joint, body)) =
            sqlx::query_as::<_, (i64, String)>("SELECT id, body FROM joint_release WHERE id > $1 ORDER BY id LIMIT 1")
                .bind(after)
                .fetch_optional(&self.reads)
                .await?
        {
            (after, count) = (joint, count.saturating_add(1));
            let own: Vec<String> =
                sqlx::query_scalar("SELECT body FROM job_release WHERE joint_id = $1 ORDER BY job_id")
                    .bind(joint)
                    .fetch_all(&self.reads)
                    .await?;
            let read = serde_json::from_str::<SharedPlan>(&body);
            let own = own
                .iter()
                .map(|body| serde_json::from_str::<Estimate>(body))
                .collect::<std::result::Result<Vec<_>, _>>();
            match (read, own) {
                (Ok(plan), Ok(own)) => {
                    if own.len() != plan.numbers.len() {
                        faults.push(format!(
                            "joint release {joint} is of {} jobs, but {} have it",
                            plan.numbers.len(),
                            own.len()
                        ));
                    }
                    let booked: Vec<_> = own.iter().map(|estimate| &estimate.cutting).collect();
                    faults.extend(
                        plan.faults(&booked).into_iter().map(|fault| format!("joint release {joint}: {fault}")),
                    );
                }
                (Err(why), _) | (_, Err(why)) => faults.push(format!("joint release {joint} cannot be read: {why}")),
            }
        }
        Ok((format!("{count} joint releases"), faults))
    }
}
