//! A copy of the file while people work, and whether the file is sound.

use std::path::{Path, PathBuf};

use sqlx::{ConnectOptions, Connection};

use super::{Result, Store, open::options};

/// Why a backup was not made.
#[derive(Debug, thiserror::Error)]
pub enum BackupError {
    #[error("{0} exists already; name a new file, an older backup is never overwritten")]
    Exists(PathBuf),
    #[error("cannot write {file}: {why}")]
    Unwritable { file: PathBuf, why: std::io::Error },
    #[error("the backup to {file} failed: {why}")]
    Failed { file: PathBuf, why: sqlx::Error },
}

impl Store {
    /// Writes a whole, compact copy of the file as of this moment, on disk when this returns. People work on meanwhile.
    pub async fn backup(&self, to: &Path) -> Result<(), BackupError> {
        let file = || to.to_owned();
        let unwritable = |why| BackupError::Unwritable { file: file(), why };
        let text = to.to_str().ok_or_else(|| unwritable(std::io::ErrorKind::InvalidFilename.into()))?;
        // Creating it here first tells the reasons apart; SQLite writes into an empty file only.
        match std::fs::File::create_new(to) {
            Ok(_) => {}
            Err(why) if why.kind() == std::io::ErrorKind::AlreadyExists => return Err(BackupError::Exists(file())),
            Err(why) => return Err(unwritable(why)),
        }
        if let Err(why) = self.vacuum_into(text).await {
            // What is half written is worse than nothing; that it cannot be removed either adds nothing to the message.
            let _ = std::fs::remove_file(to);
            return Err(BackupError::Failed { file: file(), why });
        }
        std::fs::File::open(to).and_then(|copy| copy.sync_all()).map_err(unwritable)
    }

    async fn vacuum_into(&self, file: &str) -> Result<(), sqlx::Error> {
        // Not one of the readers: their guard against writing refuses this too.
        let mut connection = options(self.path()).connect().await?;
        sqlx::query("VACUUM INTO $1").bind(file).execute(&mut connection).await?;
        connection.close().await
    }

    /// Everything that is wrong with the file, a line each: damaged pages, rows that refer to nothing, revisions whose
    /// body is not what was issued. Nothing when it is sound.
    pub async fn verify(&self) -> Result<Vec<String>> {
        let mut wrong: Vec<String> = sqlx::query_scalar("PRAGMA integrity_check").fetch_all(&self.reads).await?;
        wrong.retain(|line| line != "ok");
        let dangling: Vec<(String, Option<i64>, String)> =
            sqlx::query_as(r#"SELECT "table", rowid, parent FROM pragma_foreign_key_check"#)
                .fetch_all(&self.reads)
                .await?;
        wrong.extend(dangling.into_iter().map(|(table, row, parent)| {
            let row = row.map_or_else(String::new, |row| format!(" {row}"));
            format!("{table}{row} refers to a {parent} that is not there")
        }));
        for id in self.broken_revisions().await? {
            let revision = self.revision(id).await?.map(|revision| revision.head);
            let Some(head) = revision else { continue };
            wrong
                .push(format!("revision {} of job {} is not what was issued: its hash differs", head.number, head.job));
        }
        Ok(wrong)
    }
}
