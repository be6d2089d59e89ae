//! Pages over HTTP.
//!
//! A handler extracts, calls, renders. Its page struct stands in the same file, its template at the mirrored path
//! (`pages/health.rs`, `templates/web/health.html`). Whatever goes wrong becomes one [`Error`], rendered as our own page
//! in one place ([`layers`]).

/// Every URL, as typed functions.
pub mod paths;

/// Who may see what: the shop on this machine, customers at the public address, nobody else.
pub mod gate;

/// Who may do what: one table of routes and roles.
pub mod rights;

/// Who is signed in.
pub mod session;

/// Passwords as they are kept, and checked.
pub mod password;

/// Customers' requests, at a person's pace.
mod limit;

/// Sign-ins that fail are slowed down.
mod throttle;

/// The shop's books, read once for many requests.
mod books;

/// What every page shows around its content.
pub mod frame;

/// In which language a customer is answered where there is no quote to show.
mod language;

/// What goes wrong, with one status each.
pub mod error;

/// Path and query of a request, with our own error pages.
pub mod extract;

/// A form as it was typed, and what is wrong with it.
pub mod form;

/// Forms that are generated from fields described as data.
pub mod forms;

/// Figures in the shop's units and money.
pub use crate::documents::show;

/// Sentences in which figures and codes stay whole.
mod told;
pub use told::told;

/// What time it is.
pub mod clock;

/// Plans that are being made.
pub mod planning;

/// The copy of each night.
pub mod nightly;

/// Style sheet, scripts and pictures, embedded in the program.
mod assets;

/// What of the rack was bought for which job.
pub mod bought_for;

/// What stands around all pages: headers, limits, error pages.
mod layers;

/// The pages, one file each.
pub mod pages;

use std::{
    net::IpAddr,
    sync::{Arc, atomic::AtomicU64},
};

use axum::{Router, middleware::from_fn_with_state};

pub use self::error::{Error, Result};
use crate::{
    config::PublicAddress,
    domain::{
        nesting::Budget,
        rack::State as Place,
        shop::{Rack, ShopBook},
    },
    storage::{JobId, Piece, Store},
};

/// What every handler can reach.
#[derive(Clone, Debug)]
pub struct AppState {
    /// What the shop keeps.
    pub store: Store,
    /// How much a search may work for the plans of a revision.
    pub issue_budget: Budget,
    /// Revisions that are being planned.
    pub planning: Arc<planning::Revisions>,
    /// Jobs that are being planned together.
    pub together: Arc<planning::Several>,
    /// Copies of each night; without a folder none is made.
    pub nightly: Arc<nightly::Nightly>,
    /// Rounds of working out open jobs again, so that a later one ends an earlier.
    refreshes: Arc<AtomicU64>,
    access: Arc<gate::Access>,
    /// How fast customers ask.
    limit: Arc<limit::Limit>,
    /// Sign-ins that failed lately.
    throttle: Arc<throttle::Throttle>,
    /// The shop's books as they were last read.
    books: Arc<books::Books>,
}

impl AppState {
    pub fn new(store: Store, public_address: Option<PublicAddress>, trusted_proxies: Vec<IpAddr>) -> Self {
        Self {
            store,
            issue_budget: Budget::full(),
            planning: Arc::new(planning::Planning::of(2, 64)),
            together: Arc::new(planning::Planning::of(1, 8)),
            nightly: Arc::default(),
            refreshes: Arc::default(),
            limit: Arc::default(),
            throttle: Arc::default(),
            books: Arc::default(),
            access: Arc::new(gate::Access { public_address, trusted_proxies }),
        }
    }

    /// What of the rack the price of a job counts on (of a new job, as long as it has no number): what is free or reserved for it and was
    /// not bought for another, where the owner's policy says so, and nothing otherwise.
    pub async fn rack_in_price(&self, book: &ShopBook, job: Option<JobId>) -> Result<Arc<Rack>> {
        if !book.policy.counts_on_rack {
            return Ok(Arc::default());
        }
        let is_open = |piece: &Piece| piece.state == Place::Free || job.is_some_and(|job| piece.state.is_open_to(job));
        let pieces: Vec<Piece> = self.store.rack_pieces().await?.into_iter().filter(is_open).collect();
        let (open, _) = self.bought_for(&pieces).await?.split(pieces, job);
        Ok(Arc::new(Rack { pieces: open.into_iter().map(|piece| piece.on_rack).collect() }))
    }

    /// Where customers reach their copies; without it, links work on this machine only.
    pub fn public_address(&self) -> Option<&PublicAddress> {
        self.access.public_address.as_ref()
    }
}

/// The whole site.
pub fn router(state: AppState) -> Router {
    let pages = pages::router().layer(from_fn_with_state(state.clone(), pages::refresh::after_changes));
    layers::around(pages.merge(assets::router()), &state).with_state(state)
}
