//! What the shop keeps, in one SQLite file. All SQL of the program stands here.
//!
//! Reads take a snapshot; every write goes through [`Store::write`], one transaction a function, and leaves a line in the
//! audit trail. Nothing here reads the clock: whoever calls says who writes and when ([`By`]).

/// Opening the file, and the only way to write to it.
mod open;

/// Whether anything was written since.
mod changes;

/// What goes wrong, and the outcome of a save.
mod error;

/// Row ids.
mod ids;

/// Customers: who asks, and how to reach them.
mod customers;

/// Jobs, their need and their stage.
mod jobs;

/// The list of jobs.
mod job_list;

/// The designs of a job, side by side.
mod variants;

/// Issued quotes, frozen.
mod revisions;

/// What the customer does on their copy, by a secret link.
mod customer_copy;

/// The language of a quote and of the shop.
mod language;

/// Questions and answers between shop and customer.
mod messages;

/// Items and their dated prices.
mod rates;

/// Other suppliers of an item.
mod supplies;

/// Many prices at one press, and taking them back.
mod batches;

/// Price lists that wait to be confirmed.
mod price_lists;

/// Bars, offcuts and sheets, as a ledger.
mod rack;

/// A job's pieces of the rack: reserved, released to the workshop, returned.
mod releases;

/// What was ordered of suppliers, and what became of it.
mod purchases;

/// Policies, norms and terms.
mod shop;

/// Who did what, when.
mod audit;

/// Who works in the shop.
mod people;

/// Browsers in which somebody is signed in.
mod sessions;

/// Secret tokens of links and cookies.
mod token;

/// One server to a file.
mod serving;

/// Copies of the file, and the way back.
mod backup;

/// A copy of the file each night.
mod nightly;

/// Whether a file is sound.
mod verify;

use jiff::Timestamp;

pub use self::{
    audit::AuditLine,
    backup::{BackupError, RestoreError, restore},
    batches::{Batch, BulkChange, BulkLine, BulkScope, Undone},
    changes::FileState,
    customer_copy::{CustomerCopy, Decided, Decision, DecisionKind, Link, LinkState},
    customers::{Contact, Customer, ForCustomer},
    error::{Conflict, Error, Obstacle, OpenError, Result, Save},
    ids::*,
    job_list::{JobPage, JobQuery, JobRow, JobSort},
    jobs::{Job, Moved, NewJob},
    messages::{Author, Message},
    nightly::{Made, Night, NightlyError, NightlyRule, nights},
    open::{MIGRATOR, Opened, Store},
    people::{Credentials, NewPerson, Person, PersonChange, SetUp, SetUpUse},
    price_lists::{ListEntry, Listed, PriceList},
    purchases::{
        Arrival, KeptLine, NewArrival, NewOrder, OrderHead, OrderMoved, OrderPage, OrderStep, OrderedFor, OrderedSoFar,
        OrdersSeen, Placed, PlacedOrder, Received,
    },
    rack::{MovementLine, NewPiece, Piece, PieceMoved, Step},
    rates::{Added, DatedPrice, KeptItem},
    releases::{Came, NewRelease, Release, Released, Remainder, Reserved},
    revisions::{Issued, NewRevision, Revision, RevisionHead},
    serving::Serving,
    sessions::{Session, SessionLine},
    shop::{BookVersion, KeptShop},
    variants::{Headline, NewVariant, Variant},
    verify::{Finding, Report},
};

/// Who writes, and when: the name for the audit trail.
#[derive(Clone, Copy, Debug)]
pub struct By<'a> {
    pub who: &'a str,
    pub at: Timestamp,
}
