//! Opening the shop's file: only our own, only of a schema that this program knows, and so that a write that was
//! acknowledged survives the power cut that follows.

use std::{
    fs, io,
    io::Read,
    path::{Path, PathBuf},
    time::Duration,
};

use sqlx::{
    ConnectOptions, Connection, Sqlite, SqliteConnection, SqlitePool, Transaction,
    migrate::Migrator,
    sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous},
};

use super::{Error, OpenError, Result, backup::beside, changes::Watch};

/// The schema, as `migrations/` has it.
pub static MIGRATOR: Migrator = sqlx::migrate!("./migrations");

/// "HiWr" in the header of the file: whose it is.
const APPLICATION_ID: i64 = 0x4869_5772;
/// What every SQLite file begins with (sqlite.org/fileformat.html, 1.3).
const MAGIC: &[u8; 16] = b"SQLite format 3\0";
/// How long a write waits for another program (a backup, a replica) that writes the same file.
const BUSY: Duration = Duration::from_secs(10);
const READERS: u32 = 8;

/// One shop's file. A clone is cheap and shares the connections.
#[derive(Clone, Debug)]
pub struct Store {
    /// These connections refuse to write.
    pub(super) reads: SqlitePool,
    /// One connection: writers of this process queue for it in the order they came.
    writes: SqlitePool,
    pub(super) watch: Watch,
    path: PathBuf,
}

/// A store, and whether its file was made just now.
#[derive(Debug)]
pub struct Opened {
    pub store: Store,
    pub is_new: bool,
}

pub(super) type Write = Transaction<'static, Sqlite>;

impl Store {
    /// Opens the file, creates it where there is none, and brings it to this program's schema.
    ///
    /// # Errors
    /// One [`OpenError`] for each way a file can be wrong; a file that is refused is left as it was.
    pub async fn open(path: &Path) -> Result<Opened, OpenError> {
        let there = look(path)?;
        let failed = |why| explain(path, why);
        let options = options(path).create_if_missing(true);
        let mut connection = options.clone().connect().await.map_err(failed)?;
        let is_new = match there {
            There::Nothing => true,
            There::Database => claim(&mut connection, path).await?,
        };
        let options = options.journal_mode(SqliteJournalMode::Wal);
        if is_new {
            // Before the schema, so that a crash between the two leaves a file that is known as ours.
            sqlx::query("PRAGMA application_id = 1214863218").execute(&mut connection).await.map_err(failed)?;
        }
        connection.close().await.map_err(failed)?;
        let mut connection = options.clone().connect().await.map_err(failed)?;
        MIGRATOR.run(&mut connection).await.map_err(|why| OpenError::Migrate { file: path.to_owned(), why })?;
        connection.close().await.map_err(failed)?;

        // Connections are renewed now and then. A file that was moved away meanwhile is missed, and no empty one made in its place.
        let options = options.create_if_missing(false);
        // Where the disk takes nothing SQLite may end a transaction by itself, and the connection still counts it as open: such a
        // one is closed, and another takes its place.
        let writes = SqlitePoolOptions::new()
            .max_connections(1)
            .before_acquire(|connection, _| Box::pin(async move { Ok(!connection.is_in_transaction()) }))
            .connect_with(options.clone())
            .await
            .map_err(failed)?;
        let reads = SqlitePoolOptions::new()
            .max_connections(READERS)
            .connect_with(options.clone().pragma("query_only", "ON"))
            .await
            .map_err(failed)?;
        let watch = Watch::new(options);
        Ok(Opened { store: Self { reads, writes, watch, path: path.to_owned() }, is_new })
    }

    /// Opens a file to read it, beside a server or alone, of this program's schema or an older one; nothing of it changes,
    /// and no file appears beside it.
    ///
    /// # Errors
    /// As [`Store::open`], and where there is no file.
    pub async fn open_to_read(path: &Path) -> Result<Self, OpenError> {
        if path.is_dir() {
            return Err(OpenError::IsFolder { folder: path.to_owned() });
        }
        let unreadable = |why: io::Error| match why.kind() {
            io::ErrorKind::NotFound => OpenError::NoFile(path.to_owned()),
            _ => OpenError::UnreadableFile { file: path.to_owned(), why },
        };
        let mut head = Vec::new();
        let file = fs::File::open(path).map_err(unreadable)?;
        file.take(MAGIC.len() as u64).read_to_end(&mut head).map_err(unreadable)?;
        if head != MAGIC {
            return Err(OpenError::Foreign(path.to_owned()));
        }
        let failed = |why| explain(path, why);
        // Without a log of writes nobody has it open, and the file alone is the whole: then SQLite need not make one.
        let alone = !beside(path, "-wal").exists();
        let options = options(path).read_only(true).immutable(alone).pragma("query_only", "ON");
        let mut connection = options.clone().connect().await.map_err(failed)?;
        if claim(&mut connection, path).await? {
            return Err(OpenError::Unfilled(path.to_owned()));
        }
        connection.close().await.map_err(failed)?;
        let reads =
            SqlitePoolOptions::new().max_connections(READERS).connect_with(options.clone()).await.map_err(failed)?;
        let watch = Watch::new(options.clone());
        let writes = SqlitePoolOptions::new().max_connections(1).connect_lazy_with(options);
        Ok(Self { reads, writes, watch, path: path.to_owned() })
    }

    /// The only way to write: SQLite lets the reads of this transaction see nothing that could change before its writes.
    pub(super) async fn write(&self) -> Result<Write> {
        self.writes.begin_with("BEGIN IMMEDIATE").await.map_err(Error::of_a_write)
    }

    /// Makes every write fail as one to a read-only file does, or lets them through again: SQLite answers both by
    /// SQLITE_READONLY.
    #[cfg(test)]
    pub(crate) async fn refuse_writes(&self, refuse: bool) {
        let pragma = if refuse { "PRAGMA query_only = ON" } else { "PRAGMA query_only = OFF" };
        sqlx::query(pragma).execute(&self.writes).await.expect("a pragma");
    }

    /// Folds the log of writes into the file and empties it, so that nothing of former pages stays in it. False while a reader
    /// or another program still needs the log.
    pub(super) async fn empty_log(&self) -> Result<bool> {
        let (busy, _, _): (i64, i64, i64) =
            sqlx::query_as("PRAGMA wal_checkpoint(TRUNCATE)").fetch_one(&self.writes).await?;
        Ok(busy == 0)
    }

    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Waits for running queries and folds the write-ahead log into the file.
    pub async fn close(&self) {
        self.reads.close().await;
        self.watch.pool.close().await;
        self.writes.close().await;
    }
}

/// How every connection is made.
pub(super) fn options(path: &Path) -> SqliteConnectOptions {
    // Untrusted schema: a file that somebody else edited must not call functions through its views and triggers
    // (sqlite.org/security.html, 1.1).
    SqliteConnectOptions::new()
        .filename(path)
        .foreign_keys(true)
        .busy_timeout(BUSY)
        .synchronous(SqliteSynchronous::Full)
        .pragma("trusted_schema", "OFF")
        // What is erased is written over, not only let go of (sqlite.org/pragma.html#pragma_secure_delete).
        .pragma("secure_delete", "ON")
}

enum There {
    Nothing,
    Database,
}

/// What stands at the path, without SQLite, which would tell less.
fn look(path: &Path) -> Result<There, OpenError> {
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    if path.is_dir() {
        return Err(OpenError::IsFolder { folder: path.to_owned() });
    }
    if !folder.is_dir() {
        return Err(OpenError::NoFolder(folder.to_owned()));
    }
    let mut file = match fs::OpenOptions::new().read(true).write(true).open(path) {
        Ok(file) => file,
        Err(why) if why.kind() == io::ErrorKind::NotFound => {
            let unwritable = |why| OpenError::UnwritableFolder { folder: folder.to_owned(), why };
            fs::File::create_new(path).map_err(unwritable)?;
            return Ok(There::Nothing);
        }
        Err(why) => return Err(OpenError::UnwritableFile { file: path.to_owned(), why }),
    };
    let mut head = Vec::new();
    (&mut file)
        .take(MAGIC.len() as u64)
        .read_to_end(&mut head)
        .map_err(|why| OpenError::UnwritableFile { file: path.to_owned(), why })?;
    match head.as_slice() {
        [] => Ok(There::Nothing),
        head if head == MAGIC => Ok(There::Database),
        _ => Err(OpenError::Foreign(path.to_owned())),
    }
}

/// Whether the database is ours and known; true when its first opening was cut short before it held anything.
async fn claim(connection: &mut SqliteConnection, path: &Path) -> Result<bool, OpenError> {
    let failed = |why| explain(path, why);
    let application: i64 =
        sqlx::query_scalar("PRAGMA application_id").fetch_one(&mut *connection).await.map_err(failed)?;
    let tables: i64 =
        sqlx::query_scalar("SELECT count(*) FROM sqlite_schema").fetch_one(&mut *connection).await.map_err(failed)?;
    if application != APPLICATION_ID {
        return if application == 0 && tables == 0 { Ok(true) } else { Err(OpenError::Foreign(path.to_owned())) };
    }
    let migrated: i64 = sqlx::query_scalar("SELECT count(*) FROM sqlite_schema WHERE name = '_sqlx_migrations'")
        .fetch_one(&mut *connection)
        .await
        .map_err(failed)?;
    if migrated == 0 {
        return Ok(true);
    }
    let found: Option<i64> = sqlx::query_scalar("SELECT max(version) FROM _sqlx_migrations WHERE success = true")
        .fetch_one(connection)
        .await
        .map_err(failed)?;
    let known = MIGRATOR.iter().map(|migration| migration.version).max().unwrap_or_default();
    match found {
        Some(found) if found > known => Err(OpenError::Newer { file: path.to_owned(), found, known }),
        found => Ok(found.is_none()),
    }
}

/// SQLite's result codes (sqlite.org/rescode.html) as something a person can act on.
fn explain(path: &Path, why: sqlx::Error) -> OpenError {
    let file = path.to_owned();
    let code = why.as_database_error().and_then(|error| error.code()).and_then(|code| code.parse::<u32>().ok());
    // The low byte is the primary code.
    match code.map(|code| code & 0xff) {
        Some(5 | 6) => OpenError::Locked(file),
        Some(3 | 8 | 14) => OpenError::UnwritableFolder {
            folder: path.parent().map_or_else(|| PathBuf::from("."), Path::to_owned),
            why: io::Error::new(io::ErrorKind::PermissionDenied, why.to_string()),
        },
        Some(11) => OpenError::Damaged { file, why: why.to_string() },
        Some(26) => OpenError::Foreign(file),
        _ => OpenError::Other { file, why },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn every_connection_is_durable_and_careful_and_readers_cannot_write() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(&folder.path().join("shop.sqlite")).await.unwrap().store;
        for (pool, query_only) in [(&store.reads, "1"), (&store.writes, "0")] {
            for (pragma, expected) in [
                ("journal_mode", "wal"),
                ("synchronous", "2"), // FULL (sqlite.org/pragma.html#pragma_synchronous)
                ("foreign_keys", "1"),
                ("trusted_schema", "0"),
                ("secure_delete", "1"),
                ("busy_timeout", "10000"),
                ("query_only", query_only),
                ("application_id", "1214863218"),
            ] {
                let sql = sqlx::AssertSqlSafe(format!("SELECT CAST({pragma} AS TEXT) FROM pragma_{pragma}"));
                let sql = if pragma == "busy_timeout" {
                    sqlx::AssertSqlSafe("SELECT CAST(timeout AS TEXT) FROM pragma_busy_timeout".to_owned())
                } else {
                    sql
                };
                let value: String = sqlx::query_scalar(sql).fetch_one(pool).await.unwrap();
                assert_eq!(value, expected, "{pragma}");
            }
        }
        let written = sqlx::query("DELETE FROM audit").execute(&store.reads).await;
        assert!(written.unwrap_err().to_string().contains("readonly"));
    }

    /// SQLite's own limits stand for the disk's: the codes are the same.
    #[tokio::test]
    async fn what_the_disk_does_not_take_is_named_and_taken_back() {
        use crate::storage::{By, Obstacle};
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(&folder.path().join("shop.sqlite")).await.unwrap().store;
        let by = By { who: "Mara", at: jiff::Timestamp::UNIX_EPOCH };
        let items = crate::domain::shop::ShopBook::demo().rates.items;
        sqlx::query("PRAGMA max_page_count = 1").execute(&store.writes).await.unwrap();
        let refused = store.add_items(&items, by).await.expect_err("no room");
        assert!(matches!(refused, Error::NotKept(Obstacle::Full, _)), "{refused:?}");
        assert_eq!(store.items(jiff::civil::date(2026, 1, 1), None).await.unwrap(), []);
        assert_eq!(store.verify().await.unwrap(), Vec::<String>::new());
        sqlx::query("PRAGMA max_page_count = 1000000").execute(&store.writes).await.unwrap();
        assert_eq!(store.add_items(&items, by).await.unwrap(), [""; 0], "with room it goes on");
        let refused = Error::from(sqlx::query("DELETE FROM audit").execute(&store.reads).await.expect_err("a reader"));
        assert!(matches!(refused, Error::NotKept(Obstacle::ReadOnly, _)), "{refused:?}");
    }

    #[tokio::test]
    async fn a_file_that_was_moved_away_is_missed_and_none_made_in_its_place() {
        use crate::storage::{By, Obstacle};
        let folder = tempfile::tempdir().unwrap();
        let (path, aside) = (folder.path().join("shop.sqlite"), folder.path().join("aside.sqlite"));
        let store = Store::open(&path).await.unwrap().store;
        let by = By { who: "Mara", at: jiff::Timestamp::UNIX_EPOCH };
        let items = crate::domain::shop::ShopBook::demo().rates.items;
        // As the pool does with a connection that was idle for a while.
        store.writes.acquire().await.unwrap().close().await.unwrap();
        fs::rename(&path, &aside).unwrap();
        let refused = store.add_items(&items, by).await.expect_err("no file");
        assert!(matches!(refused, Error::NotKept(Obstacle::Away, _)), "{refused:?}");
        assert!(!path.exists());
        fs::rename(&aside, &path).unwrap();
        assert_eq!(store.add_items(&items, by).await.unwrap(), [""; 0], "back in its place it goes on");
    }
}
