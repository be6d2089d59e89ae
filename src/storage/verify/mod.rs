//! Whether a file is sound: a list of checks, each of which names everything that is wrong.
//!
//! To add one: a function that returns a line for each fault, and its row in [`Store::report`] with the tables that it reads and
//! the migration that made them, so that an older backup is still verified as far as it goes.

/// The rack's ledger.
mod rack;

/// What was released to the workshop.
mod releases;

/// What was ordered of suppliers.
mod orders;

use std::collections::BTreeSet;

use rust_decimal::Decimal;
use serde::Serialize;

use super::{Result, Store, open::MIGRATOR};
use crate::domain::issued::IssuedQuote;

/// What a check found.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Finding {
    pub check: &'static str,
    /// How many things it looked at, in words ("12 revisions").
    pub looked_at: String,
    /// A line for each fault; none when all is well.
    pub faults: Vec<String>,
}

/// Every check of a file, in order.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Report {
    /// The migration up to which the file was brought.
    pub schema: i64,
    /// The newest that this program knows.
    pub known: i64,
    pub findings: Vec<Finding>,
}

impl Report {
    pub fn is_sound(&self) -> bool {
        self.findings.iter().all(|finding| finding.faults.is_empty())
    }

    pub fn faults(&self) -> impl Iterator<Item = &str> {
        self.findings.iter().flat_map(|finding| finding.faults.iter().map(String::as_str))
    }
}

type Found = (String, Vec<String>);

impl Store {
    /// Everything that is wrong with the open file, a line each; nothing when it is sound.
    pub async fn verify(&self) -> Result<Vec<String>> {
        Ok(self.report().await?.faults().map(str::to_owned).collect())
    }

    /// Runs every check whose tables the file has. A table that is gone although its migration was applied is a fault.
    pub async fn report(&self) -> Result<Report> {
        let known = MIGRATOR.iter().map(|migration| migration.version).max().unwrap_or_default();
        let applied: BTreeSet<i64> =
            sqlx::query_scalar::<_, i64>("SELECT version FROM _sqlx_migrations WHERE success = true")
                .fetch_all(&self.reads)
                .await?
                .into_iter()
                .collect();
        let tables: BTreeSet<String> =
            sqlx::query_scalar::<_, String>("SELECT name FROM sqlite_schema WHERE type = 'table'")
                .fetch_all(&self.reads)
                .await?
                .into_iter()
                .collect();
        let mut findings = Vec::new();
        macro_rules! check {
            ($name:literal, $migration:literal $tables:tt, $run:expr) => {
                let wanted: &[&str] = &$tables;
                let missing: Vec<&str> = wanted.iter().copied().filter(|table| !tables.contains(*table)).collect();
                if missing.is_empty() {
                    let (looked_at, faults) = $run.await?;
                    findings.push(Finding { check: $name, looked_at, faults });
                } else if applied.contains(&$migration) {
                    let gone = missing.iter().map(|table| format!("the table {table} is gone"));
                    findings.push(Finding { check: $name, looked_at: "its tables".into(), faults: gone.collect() });
                }
            };
        }
        check!("pages of the file", 1[], self.pages());
        check!("rows that refer to others", 1[], self.references());
        check!("issued revisions", 1["revision"], self.revisions_are_whole());
        check!("numbers of revisions", 1["revision"], self.revision_numbers());
        check!("designs chosen", 1["job", "variant"], self.chosen_designs());
        check!("audit trail", 1["audit"], self.audit_sequence());
        check!("people", 2["person"], self.an_owner_is_left());
        check!("rack", 3["piece", "movement", "job"], self.rack_adds_up());
        check!("releases", 5["job_release", "piece", "movement", "job"], self.releases_are_booked());
        check!("releases of several jobs", 9["joint_release", "job_release"], self.joint_releases_add_up());
        check!(
            "orders",
            8[
                "purchase_order",
                "purchase_line",
                "purchase_share",
                "purchase_step",
                "purchase_arrival",
                "purchase_piece",
                "piece",
                "job"
            ],
            self.orders_add_up()
        );
        Ok(Report { schema: applied.last().copied().unwrap_or_default(), known, findings })
    }

    /// sqlite.org/pragma.html#pragma_integrity_check
    async fn pages(&self) -> Result<Found> {
        let mut wrong: Vec<String> = sqlx::query_scalar("PRAGMA integrity_check").fetch_all(&self.reads).await?;
        wrong.retain(|line| line != "ok");
        let pages: i64 = sqlx::query_scalar("PRAGMA page_count").fetch_one(&self.reads).await?;
        Ok((format!("{pages} pages"), wrong))
    }

    async fn references(&self) -> Result<Found> {
        let dangling: Vec<(String, Option<i64>, String)> =
            sqlx::query_as(r#"SELECT "table", rowid, parent FROM pragma_foreign_key_check"#)
                .fetch_all(&self.reads)
                .await?;
        let name = |(table, row, parent): (String, Option<i64>, String)| {
            let row = row.map_or_else(String::new, |row| format!(" {row}"));
            format!("{table}{row} refers to a {parent} that is not there")
        };
        let tables: i64 = sqlx::query_scalar("SELECT count(*) FROM sqlite_schema WHERE type = 'table'")
            .fetch_one(&self.reads)
            .await?;
        Ok((format!("{tables} tables"), dangling.into_iter().map(name).collect()))
    }

    /// The hash of each body, and that the lines of its price add up to what the customer was asked.
    async fn revisions_are_whole(&self) -> Result<Found> {
        let mut faults = Vec::new();
        let (mut after, mut count, mut summed) = (0, 0_u64, 0_u64);
        // One at a time: a body may be large, and there may be many.
        while let Some(row) = sqlx::query!(
            r#"SELECT id AS "id!", job_id, number, price, body, sha256 FROM revision WHERE id > $1 ORDER BY id LIMIT 1"#,
            after
        )
        .fetch_optional(&self.reads)
        .await?
        {
            (after, count) = (row.id, count.saturating_add(1));
            let which = format!("revision {} of job {}", row.number, row.job_id);
            let frozen = crate::domain::quote::Frozen { json: row.body, sha256: row.sha256 };
            if !frozen.is_whole() {
                faults.push(format!("{which} is not what was issued: its hash differs"));
            } else if let Ok(quote) = serde_json::from_str::<IssuedQuote>(&frozen.json) {
                summed = summed.saturating_add(1);
                let build_up = &quote.estimate.build_up;
                let (total, told) = (build_up.total(), build_up.customer.total);
                if told != total {
                    faults.push(format!("{which}: its lines add up to {}, the customer was told {}", total.0, told.0));
                }
                if row.price.parse::<Decimal>().ok() != Some(total.0) {
                    faults.push(format!("{which} is listed at {} but its lines add up to {}", row.price, total.0));
                }
            }
        }
        Ok((format!("{count} revisions, the sums of {summed}"), faults))
    }

    async fn revision_numbers(&self) -> Result<Found> {
        let rows: Vec<(i64, i64, i64, i64)> = sqlx::query_as(
            "SELECT job_id, count(*), min(number), max(number) FROM revision GROUP BY job_id ORDER BY job_id",
        )
        .fetch_all(&self.reads)
        .await?;
        let looked_at = format!("{} jobs with revisions", rows.len());
        let gaps = rows.into_iter().filter(|&(_, count, first, last)| first != 1 || last != count);
        let name = |(job, count, _, last)| format!("job {job} has {count} revisions, but the last is number {last}");
        Ok((looked_at, gaps.map(name).collect()))
    }

    async fn chosen_designs(&self) -> Result<Found> {
        let jobs: i64 = sqlx::query_scalar("SELECT count(*) FROM job").fetch_one(&self.reads).await?;
        let without: Vec<i64> = sqlx::query_scalar(
            "SELECT id FROM job j WHERE NOT EXISTS (SELECT 1 FROM variant v WHERE v.job_id = j.id AND v.chosen = 1)
             ORDER BY id",
        )
        .fetch_all(&self.reads)
        .await?;
        Ok((format!("{jobs} jobs"), without.into_iter().map(|job| format!("job {job} has no chosen design")).collect()))
    }

    /// Its lines are numbered in the order they were written, whatever the clock said, and none is ever deleted.
    async fn audit_sequence(&self) -> Result<Found> {
        let (count, first, last): (i64, i64, i64) =
            sqlx::query_as("SELECT count(*), coalesce(min(id), 1), coalesce(max(id), 0) FROM audit")
                .fetch_one(&self.reads)
                .await?;
        let mut faults = Vec::new();
        if first != 1 || last != count {
            faults.push(format!(
                "the audit trail runs from {first} to {last} but has {count} lines: some were taken out"
            ));
        }
        Ok((format!("{count} lines"), faults))
    }

    async fn an_owner_is_left(&self) -> Result<Found> {
        let (count, owners): (i64, i64) =
            sqlx::query_as("SELECT count(*), coalesce(sum(role = 'owner' AND active = 1), 0) FROM person")
                .fetch_one(&self.reads)
                .await?;
        // A shop that nobody set up yet has none, and is sound.
        let faults = if count > 0 && owners == 0 { vec!["no owner can sign in".to_owned()] } else { vec![] };
        Ok((format!("{count} people"), faults))
    }
}
