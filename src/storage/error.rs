//! What goes wrong in the store, and what happens when two people save the same thing.

use std::path::PathBuf;

use jiff::{Timestamp, civil::Date};
use serde::{Serialize, de::DeserializeOwned};

use super::Version;

/// The store failed. None of these is the user's fault; what a user can do wrong is told by the outcome of each function.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error("the database did not answer")]
    Database(#[source] sqlx::Error),
    /// The transaction was taken back.
    #[error("the shop's file could not be written: {0}")]
    NotKept(Obstacle, #[source] sqlx::Error),
    /// A row holds what this program cannot read.
    #[error("the database holds a {table}.{column} in row {id} that cannot be read: {why}")]
    Unreadable { table: &'static str, column: &'static str, id: String, why: String },
    #[error("a change of {table} touched {touched} rows instead of {expected}; it was taken back")]
    RowsTouched { table: &'static str, touched: u64, expected: u64 },
    #[error("{what} cannot be written as JSON: {why}")]
    Unwritable { what: &'static str, why: serde_json::Error },
    #[error("the system gave no random bytes: {0}")]
    Random(getrandom::Error),
}

/// What keeps the disk from taking a write.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Obstacle {
    #[error("its disk is full")]
    Full,
    #[error("it may only be read")]
    ReadOnly,
    #[error("its disk reports a fault")]
    Faulty,
    #[error("it is no longer where it was, or may no longer be opened")]
    Away,
}

impl Error {
    /// What kept a write from beginning: also that the file cannot be opened (SQLITE_CANTOPEN), which a reader reports as it is.
    pub(super) fn of_a_write(why: sqlx::Error) -> Self {
        if primary_code(&why) == Some(14) { Self::NotKept(Obstacle::Away, why) } else { why.into() }
    }
}

/// The low byte of SQLite's result code (sqlite.org/rescode.html).
fn primary_code(why: &sqlx::Error) -> Option<u32> {
    let code = why.as_database_error()?.code()?;
    Some(code.parse::<u32>().ok()? & 0xff)
}

impl From<sqlx::Error> for Error {
    fn from(why: sqlx::Error) -> Self {
        // SQLITE_READONLY, SQLITE_IOERR, SQLITE_FULL.
        match primary_code(&why) {
            Some(8) => Self::NotKept(Obstacle::ReadOnly, why),
            Some(10) => Self::NotKept(Obstacle::Faulty, why),
            Some(13) => Self::NotKept(Obstacle::Full, why),
            _ => Self::Database(why),
        }
    }
}

pub type Result<T, E = Error> = std::result::Result<T, E>;

/// What became of a save that names the version it was read at.
#[must_use]
#[derive(Clone, Debug, PartialEq)]
pub enum Save<T> {
    Saved(Version),
    /// Somebody else saved first; nothing was written.
    Conflict(Box<Conflict<T>>),
    /// No such thing.
    Missing,
}

/// What stands in the store now, so that a page can show both sides.
#[derive(Clone, Debug, PartialEq)]
pub struct Conflict<T> {
    pub theirs: T,
    pub version: Version,
    pub who: String,
    pub when: Timestamp,
}

/// Why a shop's file cannot be opened; each is one line that says what to do.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    #[error("{folder} is a folder; name the database file in it, for example {}", folder.join("hitchwright.sqlite").display())]
    IsFolder { folder: PathBuf },
    #[error("the folder {0} does not exist; create it or name another place with --database")]
    NoFolder(PathBuf),
    #[error(
        "cannot write in the folder {folder}: {why}; give this user the right to write there or name another place with --database"
    )]
    UnwritableFolder { folder: PathBuf, why: std::io::Error },
    #[error(
        "cannot write to {file}: {why}; give this user the right to write to it or name another file with --database"
    )]
    UnwritableFile { file: PathBuf, why: std::io::Error },
    #[error("{0} is not a Hitchwright database; it was left untouched: name another file with --database")]
    Foreign(PathBuf),
    #[error(
        "{file} was written by a newer Hitchwright (schema {found}, this program knows {known}); it was left untouched: start the newer program"
    )]
    Newer { file: PathBuf, found: i64, known: i64 },
    #[error("{file} is damaged: {why}; restore it from a backup")]
    Damaged { file: PathBuf, why: String },
    #[error("another program keeps {0} locked; stop it and start again")]
    Locked(PathBuf),
    #[error("another server has {0} open; stop it first, or use another file with --database")]
    Served(PathBuf),
    #[error("{0} holds no shop yet: its first start was cut short; start the server on it again")]
    Unfilled(PathBuf),
    #[error("there is no file {0}")]
    NoFile(PathBuf),
    #[error("cannot read {file}: {why}")]
    UnreadableFile { file: PathBuf, why: std::io::Error },
    #[error("cannot bring {file} to this program's schema: {why}")]
    Migrate { file: PathBuf, why: sqlx::migrate::MigrateError },
    #[error("cannot open {file}: {why}")]
    Other { file: PathBuf, why: sqlx::Error },
}

/// A change must touch exactly so many rows, or the transaction is dropped.
pub(super) fn touched(table: &'static str, result: &sqlx::sqlite::SqliteQueryResult, expected: u64) -> Result<()> {
    match result.rows_affected() {
        touched if touched == expected => Ok(()),
        touched => Err(Error::RowsTouched { table, touched, expected }),
    }
}

/// Names the cell that is being read, for the error if it cannot be.
#[derive(Clone, Copy)]
pub(super) struct Cell<I> {
    pub table: &'static str,
    pub column: &'static str,
    pub id: I,
}

pub(super) const fn cell<I>(table: &'static str, column: &'static str, id: I) -> Cell<I> {
    Cell { table, column, id }
}

impl<I: std::fmt::Display> Cell<I> {
    pub fn unreadable(&self, why: impl std::fmt::Display) -> Error {
        Error::Unreadable { table: self.table, column: self.column, id: self.id.to_string(), why: why.to_string() }
    }

    pub fn json<T: DeserializeOwned>(&self, text: &str) -> Result<T> {
        serde_json::from_str(text).map_err(|why| self.unreadable(why))
    }

    pub fn time(&self, milliseconds: i64) -> Result<Timestamp> {
        Timestamp::from_millisecond(milliseconds).map_err(|why| self.unreadable(why))
    }

    pub fn maybe_time(&self, milliseconds: Option<i64>) -> Result<Option<Timestamp>> {
        milliseconds.map(|milliseconds| self.time(milliseconds)).transpose()
    }

    /// A time that the row's state requires.
    pub fn needed<T>(&self, value: Option<T>) -> Result<T> {
        value.ok_or_else(|| self.unreadable("it is missing"))
    }

    pub fn day(&self, text: &str) -> Result<Date> {
        text.parse().map_err(|why| self.unreadable(why))
    }

    pub fn count(&self, number: i64) -> Result<u32> {
        u32::try_from(number).map_err(|why| self.unreadable(why))
    }

    /// A value whose words the program knows.
    pub fn word<T>(&self, text: &str, read: impl Fn(&str) -> Option<T>) -> Result<T> {
        read(text).ok_or_else(|| self.unreadable(format_args!("\"{text}\" is not a word this program knows")))
    }
}

pub(super) fn to_json<T: Serialize>(what: &'static str, value: &T) -> Result<String> {
    serde_json::to_string(value).map_err(|why| Error::Unwritable { what, why })
}
