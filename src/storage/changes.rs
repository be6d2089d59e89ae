//! Whether anything was written since somebody last asked, so that what was read need not be read again.

use std::sync::{
    Arc,
    atomic::{AtomicU64, Ordering},
};

use sqlx::{
    SqlitePool,
    sqlite::{SqliteConnectOptions, SqlitePoolOptions},
};

use super::{Result, Store};

/// One state of the file: two that are equal have nothing written between them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FileState {
    connection: u64,
    commits: i64,
}

/// A connection that never writes. Its counter moves with every commit of another connection, in this program or a different one
/// (sqlite.org/pragma.html#pragma_data_version); the counters of two connections tell nothing of each other, so each has a number.
#[derive(Clone, Debug)]
pub(super) struct Watch {
    pub pool: SqlitePool,
    connections: Arc<AtomicU64>,
}

impl Watch {
    pub fn new(options: SqliteConnectOptions) -> Self {
        let connections: Arc<AtomicU64> = Arc::default();
        let count = connections.clone();
        let pool = SqlitePoolOptions::new()
            .max_connections(1)
            .idle_timeout(None)
            .max_lifetime(None)
            .after_connect(move |_, _| {
                count.fetch_add(1, Ordering::Relaxed);
                Box::pin(async { Ok(()) })
            })
            .connect_lazy_with(options.pragma("query_only", "ON"));
        Self { pool, connections }
    }
}

impl Store {
    /// The state that the file is in now.
    pub async fn file_state(&self) -> Result<FileState> {
        let mut connection = self.watch.pool.acquire().await?;
        let commits = sqlx::query_scalar("PRAGMA data_version").fetch_one(&mut *connection).await?;
        Ok(FileState { connection: self.watch.connections.load(Ordering::Relaxed), commits })
    }
}
