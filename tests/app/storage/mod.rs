//! The store, through its public functions, on files of its own.

mod copies;
mod durable;
mod jobs;
mod nightly;
mod opening;
mod orders;
mod rack;
mod rates;
mod scale;

use hitchwright::{
    domain::{
        measure::{Mass, Money},
        trailer::{Design, Need, Offer},
    },
    storage::*,
};
use jiff::{Timestamp, civil::Date};
use tempfile::TempDir;

/// A store in a folder that goes with it.
pub struct Kept {
    pub store: Store,
    pub folder: TempDir,
}

pub async fn kept() -> Kept {
    let folder = tempfile::tempdir().expect("a folder");
    let opened = Store::open(&folder.path().join("shop.sqlite")).await.expect("a store");
    assert!(opened.is_new);
    Kept { store: opened.store, folder }
}

/// 25 November 2026, so many seconds after nine.
pub fn at(seconds: i64) -> Timestamp {
    Timestamp::from_second(1_795_597_200 + seconds).expect("a time")
}

pub const TODAY: Date = jiff::civil::date(2026, 11, 25);

pub fn mara(seconds: i64) -> By<'static> {
    By { who: "Mara", at: at(seconds) }
}

pub fn tam(seconds: i64) -> By<'static> {
    By { who: "Tam", at: at(seconds) }
}

pub fn money(text: &str) -> Money {
    Money(text.parse().expect("an amount"))
}

pub fn headline(price: &str) -> Headline {
    Headline {
        price: money(price),
        empty_mass: Mass::from_kg(312.5),
        failing_checks: 2,
        unanswered_checks: 1,
        oldest_price: Some(jiff::civil::date(2026, 10, 1)),
    }
}

pub fn contact(name: &str) -> Contact {
    Contact {
        name: name.into(),
        email: "post@example.com".into(),
        phone: "01632 960000".into(),
        address: String::new(),
    }
}

pub fn new_job(title: &str, customer: ForCustomer) -> NewJob {
    NewJob {
        title: title.into(),
        customer,
        need: Need::default(),
        variant: NewVariant {
            name: "A".into(),
            design: Design::default(),
            offer: Offer::default(),
            headline: Some(headline("2480.00")),
        },
        cloned_from: None,
    }
}

/// Enters a job of a new customer.
pub async fn enter(store: &Store, title: &str, customer: &str) -> (JobId, Variant) {
    let new = new_job(title, ForCustomer::New(contact(customer)));
    let (id, _) = store.create_job(&new, 2026, mara(0)).await.expect("stored").expect("a job");
    let variant = store.variants(id).await.expect("read").remove(0);
    (id, variant)
}

pub async fn issue(store: &Store, job: JobId, body: &serde_json::Value, valid_until: Date, by: By<'_>) -> Issued {
    let need = store.job(job).await.expect("read").expect("a job").version;
    let variants = store.variants(job).await.expect("read");
    let variant = variants.iter().find(|variant| variant.chosen).expect("a chosen variant");
    let new = NewRevision {
        job,
        need,
        variant: (variant.id, variant.version),
        price: money("2480.00"),
        body,
        valid_until,
        program: "hitchwright 0.1.0",
    };
    store.issue(&new, by).await.expect("stored")
}

/// A connection past the store, as a tampering hand or a broken tool would have it.
pub async fn past_the_store(kept: &Kept) -> sqlx::SqliteConnection {
    use sqlx::ConnectOptions;
    sqlx::sqlite::SqliteConnectOptions::new()
        .filename(kept.folder.path().join("shop.sqlite"))
        .connect()
        .await
        .expect("a connection")
}
