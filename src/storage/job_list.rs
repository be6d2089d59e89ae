//! The list of jobs: searched, filtered, sorted, a page at a time.

use jiff::Timestamp;
use sqlx::{QueryBuilder, Sqlite, sqlite::SqliteRow};

use super::{
    JobId, Result, Store,
    error::cell,
    jobs::StageRow,
    variants::{Headline, HeadlineRow},
};
use crate::domain::quote::{JobSummary, StageKind};

/// What the list shows.
#[derive(Clone, Debug, PartialEq)]
pub struct JobQuery {
    /// Words, all of which must stand in number, title or customer.
    pub search: String,
    /// Any of these; all stages when empty.
    pub stages: Vec<StageKind>,
    /// Only jobs with a question of the customer that nobody has answered.
    pub asked: bool,
    pub sort: JobSort,
    pub offset: u32,
    pub limit: u32,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum JobSort {
    /// The latest touched first.
    #[default]
    Updated,
    /// The latest number first.
    Number,
    Title,
}

#[derive(Clone, Debug, PartialEq)]
pub struct JobPage {
    pub rows: Vec<JobRow>,
    /// Of all pages.
    pub total: u64,
}

/// A job in the list, with the headline of its chosen variant.
#[derive(Clone, Debug, PartialEq)]
pub struct JobRow {
    pub id: JobId,
    pub summary: JobSummary,
    pub headline: Option<Headline>,
    pub updated_at: Timestamp,
}

/// What the search box searches; both sides in lower case.
pub(super) fn search_text(number: &str, title: &str, customer: &str) -> String {
    format!("{number} {title} {customer}").to_lowercase()
}

#[derive(sqlx::FromRow)]
struct Row {
    id: i64,
    number: String,
    title: String,
    customer: String,
    updated_at: i64,
    open_questions: i64,
    #[sqlx(flatten)]
    stage: StageRow,
    #[sqlx(flatten)]
    headline: HeadlineRow,
}

impl TryFrom<Row> for JobRow {
    type Error = super::Error;

    fn try_from(row: Row) -> Result<Self> {
        let headline = row.headline.read(row.id)?;
        Ok(Self {
            id: JobId(row.id),
            summary: JobSummary {
                number: row.number.parse().map_err(|why| cell("job", "number", row.id).unreadable(why))?,
                title: row.title,
                customer: row.customer,
                stage: row.stage.read(row.id)?,
                open_questions: cell("message", "job_id", row.id).count(row.open_questions)?,
                unanswered_checks: headline.as_ref().map_or(0, |headline| headline.unanswered_checks),
                oldest_price: headline.as_ref().and_then(|headline| headline.oldest_price),
            },
            headline,
            updated_at: cell("job", "updated_at", row.id).time(row.updated_at)?,
        })
    }
}

impl Store {
    pub async fn jobs(&self, query: &JobQuery) -> Result<JobPage> {
        // One snapshot for the page and its total.
        let mut tx = self.reads.begin().await?;
        let mut count = QueryBuilder::<Sqlite>::new("SELECT count(*) FROM job j");
        filter(&mut count, query);
        let total: i64 = count.build_query_scalar().fetch_one(&mut *tx).await?;

        // The page is cut out of an index before anything is joined to it.
        let mut page = QueryBuilder::<Sqlite>::new(
            "SELECT j.id, j.number, j.title, c.name AS customer, j.updated_at, j.stage, j.enquired_at, j.quoted_at,
             j.valid_until, j.accepted_at, j.started_at, j.handed_over_at, j.declined_at, j.lapsed_at,
             v.price, v.empty_mass_ug, v.failing_checks, v.unanswered_checks, v.oldest_price_day,
             (SELECT count(*) FROM message m WHERE m.job_id = j.id AND m.author = 'customer' AND m.answered_at IS NULL)
                 AS open_questions
             FROM job j JOIN customer c ON c.id = j.customer_id
             JOIN variant v ON v.job_id = j.id AND v.chosen = 1
             WHERE j.id IN (SELECT j.id FROM job j",
        );
        filter(&mut page, query);
        page.push(order(query.sort)).push(" LIMIT ").push_bind(i64::from(query.limit));
        page.push(" OFFSET ").push_bind(i64::from(query.offset)).push(")").push(order(query.sort));
        let rows = page.build().try_map(|row: SqliteRow| sqlx::FromRow::from_row(&row)).fetch_all(&mut *tx).await?;
        let rows = rows.into_iter().map(|row: Row| row.try_into()).collect::<Result<_>>()?;
        Ok(JobPage { rows, total: total.unsigned_abs() })
    }

    /// How many jobs stand at each stage, in the order of the stages.
    pub async fn jobs_by_stage(&self) -> Result<Vec<(StageKind, u64)>> {
        let rows = sqlx::query!(r#"SELECT stage, count(*) AS "jobs!: i64" FROM job GROUP BY stage"#)
            .fetch_all(&self.reads)
            .await?;
        let count = |kind: &StageKind| {
            rows.iter().find(|row| row.stage == kind.word()).map_or(0, |row| row.jobs.unsigned_abs())
        };
        Ok(StageKind::ALL.iter().map(|kind| (*kind, count(kind))).collect())
    }
}

const fn order(sort: JobSort) -> &'static str {
    match sort {
        JobSort::Updated => " ORDER BY j.updated_at DESC, j.id DESC",
        JobSort::Number => " ORDER BY j.year DESC, j.sequence DESC",
        JobSort::Title => " ORDER BY j.title, j.id",
    }
}

fn filter(sql: &mut QueryBuilder<Sqlite>, query: &JobQuery) {
    sql.push(" WHERE 1 = 1");
    if !query.stages.is_empty() {
        sql.push(" AND j.stage IN (");
        let mut stages = sql.separated(", ");
        for stage in &query.stages {
            stages.push_bind(stage.word());
        }
        sql.push(")");
    }
    if query.asked {
        sql.push(" AND j.id IN (SELECT m.job_id FROM message m WHERE m.author = 'customer' AND m.answered_at IS NULL)");
    }
    for word in query.search.split_whitespace() {
        sql.push(" AND j.search LIKE ").push_bind(like(word)).push(r" ESCAPE '\'");
    }
}

/// A pattern that finds the word anywhere, with nothing in the word read as a wildcard.
fn like(word: &str) -> String {
    let mut pattern = String::from("%");
    for char in word.to_lowercase().chars() {
        if matches!(char, '%' | '_' | '\\') {
            pattern.push('\\');
        }
        pattern.push(char);
    }
    pattern.push('%');
    pattern
}
