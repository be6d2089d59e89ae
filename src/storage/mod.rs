//! What the shop keeps, in one SQLite file. All SQL of the program stands here.
//!
//! Reads take a snapshot; every write goes through [`Store::write`], one transaction a function, and leaves a line in the
//! audit trail. Nothing here reads the clock: whoever calls says who writes and when ([`By`]).

/// Opening the file, and the only way to write to it.
mod open;

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

/// Questions and answers between shop and customer.
mod messages;

/// Items and their dated prices.
mod rates;

/// Policies, norms and terms.
mod shop;

/// Who did what, when.
mod audit;

/// Backups, and whether the file is sound.
mod upkeep;

use jiff::Timestamp;

pub use self::{
    audit::AuditLine,
    customer_copy::{CustomerCopy, Decided, Decision, DecisionKind, Link, LinkState},
    customers::{Contact, Customer, ForCustomer},
    error::{Conflict, Error, OpenError, Result, Save},
    ids::*,
    job_list::{JobPage, JobQuery, JobRow, JobSort},
    jobs::{Job, Moved, NewJob},
    messages::{Author, Message},
    open::{MIGRATOR, Opened, Store},
    rates::{Added, BulkChange, DatedPrice, KeptItem, Sizes},
    revisions::{Issued, NewRevision, Revision, RevisionHead},
    shop::{BookVersion, KeptShop},
    upkeep::BackupError,
    variants::{Headline, NewVariant, Variant},
};

/// Who writes, and when: the name for the audit trail ("Mara (not signed in)").
#[derive(Clone, Copy, Debug)]
pub struct By<'a> {
    pub who: &'a str,
    pub at: Timestamp,
}
