//! What a new file starts with: the demo shop with its jobs, or an empty shop.
//!
//! The demo goes through the same functions as a person's work: jobs are created, quotes are worked out with the full budget
//! and frozen, customers ask, accept and decline through their links. Only the clock is set back. The dates of its prices are
//! moved along, so that the demo is as fresh on any day.

mod stock;

use std::ops::ControlFlow;

use jiff::{Span, Timestamp, civil::Date};
use serde::Deserialize;

use crate::{
    domain::{
        estimate::{Estimate, estimate},
        issued::IssuedQuote,
        nesting::{Budget, unwatched},
        options,
        people::{DEMO, PersonName},
        pricing::dates::valid_until,
        quote::Stage,
        shop::{Norms, Policy, Rack, RateBook, ShopBook, Terms},
        trailer::Spec,
    },
    storage::{
        By, Contact, Decided, ForCustomer, Issued, JobId, Moved, NewJob, NewPerson, NewRelease, NewRevision,
        NewVariant, Released, Save, Store, VariantId, Version,
    },
    web::{
        AppState, clock,
        pages::{buying::place, job::desk::headline_of},
        password,
    },
};

/// Who signs the demo's audit trail.
const WHO: &str = "the demo";

/// The supplier of whom the demo shop has ordered.
const ORDERED_OF: &str = "Samphire Steel";

/// The jobs, one file each; at different stages, with quite different trailers.
const JOBS: [&str; 9] = [
    include_str!("../seed-data/demo/bike-courier.json"),
    include_str!("../seed-data/demo/ferry-stores.json"),
    include_str!("../seed-data/demo/oven-caterer.json"),
    include_str!("../seed-data/demo/rowing-club.json"),
    include_str!("../seed-data/demo/rescue-post.json"),
    include_str!("../seed-data/demo/apiary.json"),
    include_str!("../seed-data/demo/pottery.json"),
    include_str!("../seed-data/demo/puppet-stage.json"),
    include_str!("../seed-data/demo/hedge-contractor.json"),
];

/// One job of the demo as its file tells it.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DemoJob {
    customer: DemoCustomer,
    pub title: String,
    stage: DemoStage,
    started_days_ago: i64,
    issued_days_ago: Option<i64>,
    decided_days_ago: Option<i64>,
    #[serde(default)]
    decided_by: String,
    #[serde(default)]
    decided_why: String,
    /// The options that the customer chose, by their places from 1.
    #[serde(default)]
    chosen: Vec<String>,
    question: Option<String>,
    pub spec: Spec,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct DemoCustomer {
    name: String,
    address: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum DemoStage {
    Enquiry,
    Quoted,
    Accepted,
    InTheShop,
    HandedOver,
    Declined,
}

/// Why a new file could not be filled; the file is new, so it can simply be deleted.
#[derive(Debug, thiserror::Error)]
pub enum FillError {
    #[error(transparent)]
    Store(#[from] crate::storage::Error),
    #[error("the demo's data: {0}")]
    Data(String),
}

/// The demo's jobs as their files tell them.
///
/// # Errors
/// Names the place of what cannot be read.
pub fn jobs() -> Result<Vec<DemoJob>, FillError> {
    let read = |text: &&str| serde_json::from_str(text).map_err(|fault| FillError::Data(fault.to_string()));
    JOBS.iter().map(read).collect()
}

/// An empty shop: usual policy and norms, no prices, no jobs.
pub async fn start_empty(store: &Store, now: Timestamp, today: Date) -> Result<(), FillError> {
    let demo = ShopBook::demo();
    let book = ShopBook {
        name: "Our shop".into(),
        town: String::new(),
        time_zone: String::new(),
        other_terms: Default::default(),
        policy: Policy::default(),
        terms: Terms::default(),
        norms: Norms::built_in().clone(),
        rates: RateBook { day: today, items: Vec::new() },
        ..demo
    };
    save_book(store, &book, By { who: "first start", at: now }).await
}

/// The demo shop with its rate book, its suppliers, its jobs and its rack. The rack is filled last: what is in the shop was released
/// without it.
pub async fn fill(store: &Store, now: Timestamp, today: Date) -> Result<(), FillError> {
    let book = book_as_of(today)?;
    let by = By { who: WHO, at: days_before(now, 365)? };
    save_book(store, &book, by).await?;
    store.add_items(&book.rates.items, by).await?;
    stock::add_supplies(store, today, by).await?;
    add_people(store, by).await?;
    for job in jobs()? {
        Telling { store, book: &book, now, today }.tell(&job).await?;
    }
    stock::fill_rack(store, now).await?;
    order(store, now, today).await
}

/// What the purchase list says of one supplier was ordered yesterday.
async fn order(store: &Store, now: Timestamp, today: Date) -> Result<(), FillError> {
    let data = |fault: &dyn std::fmt::Display| FillError::Data(format!("{ORDERED_OF}: {fault}"));
    let by = By { who: WHO, at: days_before(now, 1)? };
    let day = today.checked_sub(Span::new().days(1)).map_err(|fault| data(&fault))?;
    let state = AppState::new(store.clone(), None, Vec::new());
    match place::place_all(&state, ORDERED_OF, day, by).await {
        Ok(Some(_)) => Ok(()),
        Ok(None) => Err(data(&"nothing is bought of it")),
        Err(fault) => Err(data(&fault)),
    }
}

/// The demo's people, with passwords that the sign-in page shows.
async fn add_people(store: &Store, by: By<'_>) -> Result<(), FillError> {
    for person in DEMO {
        let data = |fault: &dyn std::fmt::Display| FillError::Data(format!("{}: {fault}", person.name));
        let name = PersonName::parse(person.name).map_err(|fault| data(&fault))?;
        let hash = password::hash(person.password).await.map_err(|fault| data(&fault))?;
        let new = NewPerson { name: &name, role: person.role, password: Some(&hash), demo: true };
        store.add_person(new, by).await?;
    }
    Ok(())
}

/// The demo's books with the prices' dates moved along to today.
pub fn book_as_of(today: Date) -> Result<ShopBook, FillError> {
    let mut book = ShopBook::demo();
    let data = |fault: jiff::Error| FillError::Data(fault.to_string());
    let along = book.rates.day.until(today).map_err(data)?;
    for item in &mut book.rates.items {
        item.from = item.from.checked_add(along).map_err(data)?;
    }
    book.rates.day = today;
    Ok(book)
}

async fn save_book(store: &Store, book: &ShopBook, by: By<'_>) -> Result<(), FillError> {
    match store.save_shop_book(None, book, by).await? {
        Save::Saved(_) => Ok(()),
        _ => Err(FillError::Data("a new file already had a shop".into())),
    }
}

fn days_before(now: Timestamp, days: i64) -> Result<Timestamp, FillError> {
    now.checked_sub(Span::new().hours(days.saturating_mul(24))).map_err(|fault| FillError::Data(fault.to_string()))
}

/// Tells one job from its enquiry to where it stands.
struct Telling<'a> {
    store: &'a Store,
    book: &'a ShopBook,
    now: Timestamp,
    today: Date,
}

impl Telling<'_> {
    async fn tell(&self, job: &DemoJob) -> Result<(), FillError> {
        let estimate = self.work_out(&job.spec)?;
        let (id, variant) = self.enquire(job, &estimate).await?;
        let Some(issued) = job.issued_days_ago else { return Ok(()) };
        let token = self.issue(id, variant, &estimate, issued).await?;
        if let Some(question) = &job.question {
            self.store.ask(&token, &job.customer.name, question, days_before(self.now, 1)?).await?;
        }
        let Some(decided) = job.decided_days_ago else { return Ok(()) };
        self.decide(job, &token, decided).await?;
        if matches!(job.stage, DemoStage::InTheShop | DemoStage::HandedOver) {
            self.release(id, variant, &estimate, decided - 3).await?;
        }
        if job.stage == DemoStage::HandedOver {
            self.advance(id, "handed over", decided - 30, |stage, at| stage.hand_over(at)).await?;
        }
        Ok(())
    }

    fn work_out(&self, spec: &Spec) -> Result<Estimate, FillError> {
        estimate(spec, self.book, &Rack::default(), Budget::full(), &mut unwatched)
            .map_err(|faults| FillError::Data(faults.to_string()))
    }

    async fn enquire(&self, job: &DemoJob, estimate: &Estimate) -> Result<(JobId, (VariantId, Version)), FillError> {
        let at = days_before(self.now, job.started_days_ago)?;
        let contact =
            Contact { name: job.customer.name.clone(), address: job.customer.address.clone(), ..Contact::default() };
        let new = NewJob {
            title: job.title.clone(),
            customer: ForCustomer::New(contact),
            need: job.spec.need.clone(),
            variant: NewVariant {
                name: "as asked".into(),
                design: job.spec.design.clone(),
                offer: job.spec.offer.clone(),
                headline: headline_of(estimate),
            },
            cloned_from: None,
        };
        let year = clock::day_of(at).year();
        let created = self.store.create_job(&new, year, By { who: WHO, at }).await?;
        let (id, _) = created.ok_or_else(|| FillError::Data("a customer that was not there".into()))?;
        let variant = self.store.variants(id).await?.into_iter().next();
        let variant = variant.ok_or_else(|| FillError::Data("a job without a variant".into()))?;
        Ok((id, (variant.id, variant.version)))
    }

    async fn issue(
        &self,
        job: JobId,
        variant: (VariantId, Version),
        estimate: &Estimate,
        days_ago: i64,
    ) -> Result<String, FillError> {
        if let Some(block) = estimate.blocks().first() {
            return Err(FillError::Data(format!("a demo quote cannot be issued: {block}")));
        }
        let by = By { who: WHO, at: days_before(self.now, days_ago)? };
        let need = self.store.job(job).await?.map(|job| job.version);
        let need = need.ok_or_else(|| FillError::Data("a job that was not there".into()))?;
        let options = options::work_out(estimate, self.book, &Rack::default(), Budget::full(), &mut |_, _| {
            ControlFlow::Continue(())
        })
        .map_err(|why| FillError::Data(format!("the options of a demo quote were cut short: {why:?}")))?;
        let body = serde_json::to_value(IssuedQuote::freeze(estimate, options, self.book))
            .map_err(|fault| FillError::Data(fault.to_string()))?;
        let day =
            self.today.checked_sub(Span::new().days(days_ago)).map_err(|fault| FillError::Data(fault.to_string()))?;
        let new = NewRevision {
            job,
            need,
            variant,
            price: estimate.build_up.total(),
            body: &body,
            valid_until: valid_until(day, &self.book.policy),
            program: &estimate.program,
        };
        let Issued::Done { id, .. } = self.store.issue(&new, by).await? else {
            return Err(FillError::Data("a demo quote was not issued".into()));
        };
        let open_until =
            self.now.checked_add(Span::new().hours(24 * 60)).map_err(|fault| FillError::Data(fault.to_string()))?;
        let link = self.store.make_link(id, open_until, by).await?;
        link.map(|(_, token)| token).ok_or_else(|| FillError::Data("a revision that was not there".into()))
    }

    async fn decide(&self, job: &DemoJob, token: &str, days_ago: i64) -> Result<(), FillError> {
        let at = days_before(self.now, days_ago)?;
        let day =
            self.today.checked_sub(Span::new().days(days_ago)).map_err(|fault| FillError::Data(fault.to_string()))?;
        let decided = if job.stage == DemoStage::Declined {
            self.store.decline(token, &job.customer.name, &job.decided_why, at, day).await?
        } else {
            self.store.accept(token, &job.decided_by, &self.book.terms.payment, &job.chosen, at, day).await?
        };
        match decided {
            Decided::Done => Ok(()),
            other => Err(FillError::Data(format!("{}: not decided: {other:?}", job.title))),
        }
    }

    /// Nothing lay on the rack then: what is cut is what was priced.
    async fn release(
        &self,
        job: JobId,
        variant: (VariantId, Version),
        estimate: &Estimate,
        days_ago: i64,
    ) -> Result<(), FillError> {
        let by = By { who: WHO, at: days_before(self.now, days_ago)? };
        let need = self.store.job(job).await?.map(|job| job.version);
        let need = need.ok_or_else(|| FillError::Data("a job that was not there".into()))?;
        let new = NewRelease {
            job,
            need,
            variant,
            estimate,
            pieces: &[],
            seen: self.store.ordered_so_far().await?.seen,
            bought_for_others: &[],
            what: "released to the workshop",
        };
        match self.store.release(&new, by).await? {
            Released::Done => Ok(()),
            other => Err(FillError::Data(format!("a demo job was not released: {other:?}"))),
        }
    }

    async fn advance(
        &self,
        job: JobId,
        what: &str,
        days_ago: i64,
        to: impl FnOnce(Stage, Timestamp) -> Result<Stage, crate::domain::quote::InvalidTransition> + Send,
    ) -> Result<(), FillError> {
        let at = days_before(self.now, days_ago)?;
        match self.store.move_job(job, what, |stage| to(stage, at), By { who: WHO, at }).await? {
            Moved::To(_) => Ok(()),
            other => Err(FillError::Data(format!("{what}: {other:?}"))),
        }
    }
}
