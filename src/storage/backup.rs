//! A copy of the file while people work, and the way back from it.

use std::{
    fs::{self, File},
    io,
    path::{Path, PathBuf},
};

use jiff::Timestamp;
use sqlx::{ConnectOptions, Connection};

use super::{OpenError, Result, Serving, Store, open::options};

/// Why a backup was not made.
#[derive(Debug, thiserror::Error)]
pub enum BackupError {
    #[error("{0} exists already and was left as it was; name a new file, or say that it may be replaced")]
    Exists(PathBuf),
    #[error("{0} is the database itself; name another file for the backup")]
    Itself(PathBuf),
    #[error("cannot write {file}: {why}")]
    Unwritable { file: PathBuf, why: io::Error },
    #[error("the backup to {file} failed: {why}")]
    Failed { file: PathBuf, why: sqlx::Error },
}

/// Why a backup was not put back; the present file is as it was.
#[derive(Debug, thiserror::Error)]
pub enum RestoreError {
    #[error(transparent)]
    Open(#[from] OpenError),
    #[error("cannot put the present file aside as {file}: {why}; nothing was restored")]
    Aside { file: PathBuf, why: io::Error },
    #[error("cannot copy the backup to {file}: {why}; the present file is as it was")]
    Copy { file: PathBuf, why: io::Error },
}

/// What SQLite keeps beside a file whose last user did not close it.
const BESIDE: [&str; 2] = ["-wal", "-shm"];

impl Store {
    /// Writes a whole, compact copy of the file as of this moment; it is on disk under its name when this returns, or there
    /// is nothing of that name. People work on meanwhile.
    pub async fn backup(&self, to: &Path, may_replace: bool) -> Result<(), BackupError> {
        let unwritable = |why| BackupError::Unwritable { file: to.to_owned(), why };
        if same_file(self.path(), to) {
            return Err(BackupError::Itself(to.to_owned()));
        }
        if to.exists() && !may_replace {
            return Err(BackupError::Exists(to.to_owned()));
        }
        let half = beside(to, &format!(".{}.part", std::process::id()));
        let text = half.to_str().ok_or_else(|| unwritable(io::ErrorKind::InvalidFilename.into()))?;
        // What an earlier attempt of a process of this number left; SQLite writes into an empty file only. Creating it
        // here tells a full or closed folder from a fault of the database.
        File::create(&half).map_err(unwritable)?;
        let made = self.vacuum_into(text).await.map_err(|why| BackupError::Failed { file: to.to_owned(), why });
        let put = |()| {
            let copy = File::open(&half).and_then(|copy| copy.sync_all());
            let placed = copy.and_then(|()| place(&half, to, may_replace));
            placed.map_err(|why| match why.kind() {
                io::ErrorKind::AlreadyExists => BackupError::Exists(to.to_owned()),
                _ => unwritable(why),
            })
        };
        let done = made.and_then(put);
        if done.is_err() {
            // Half a copy is worse than none; that it cannot be removed either adds nothing to the message.
            let _ = fs::remove_file(&half);
        }
        done
    }

    async fn vacuum_into(&self, file: &str) -> Result<(), sqlx::Error> {
        // Not one of the readers: their guard against writing refuses this too.
        let mut connection = options(self.path()).connect().await?;
        sqlx::query("VACUUM INTO $1").bind(file).execute(&mut connection).await?;
        connection.close().await
    }
}

/// Puts a backup in the place of a shop's file; what was there stays beside it under a dated name, which is returned.
/// Verify the backup first. Refused while a server has the file.
pub fn restore(backup: &Path, database: &Path, now: Timestamp) -> Result<Option<PathBuf>, RestoreError> {
    let _alone = Serving::claim(database)?;
    let half = beside(database, ".restoring");
    let copied = fs::copy(backup, &half)
        .and_then(|_| fs::OpenOptions::new().write(true).open(&half))
        .and_then(|copy| copy.sync_all());
    if let Err(why) = copied {
        let _ = fs::remove_file(&half);
        return Err(RestoreError::Copy { file: database.to_owned(), why });
    }
    let aside = database.exists().then(|| free_name(database, now));
    if let Some(aside) = &aside {
        let moved = put_aside(database, aside);
        if let Err(why) = moved {
            let _ = fs::remove_file(&half);
            return Err(RestoreError::Aside { file: aside.clone(), why });
        }
    }
    // A crash right here leaves the old file under its dated name and the new one as `.restoring`: nothing is lost.
    let placed = fs::rename(&half, database).and_then(|()| sync_folder(database));
    placed.map_err(|why| RestoreError::Copy { file: database.to_owned(), why })?;
    Ok(aside)
}

/// Moves a file with its log of writes, which may hold the last of them. The file goes first: under its old name it must
/// never be opened without its log.
fn put_aside(database: &Path, aside: &Path) -> io::Result<()> {
    fs::rename(database, aside)?;
    for ending in BESIDE {
        match fs::rename(beside(database, ending), beside(aside, ending)) {
            Err(why) if why.kind() != io::ErrorKind::NotFound => {
                fs::rename(aside, database)?;
                return Err(why);
            }
            _ => {}
        }
    }
    sync_folder(database)
}

/// `shop.sqlite` as `shop.sqlite.before-restore-2026-11-26-1405Z`, counted on where that is taken.
fn free_name(database: &Path, now: Timestamp) -> PathBuf {
    let first = beside(database, &format!(".before-restore-{}", now.strftime("%Y-%m-%d-%H%MZ")));
    let mut name = first.clone();
    let mut count = 1;
    while name.exists() {
        count += 1;
        name = beside(&first, &format!("-{count}"));
    }
    name
}

/// Gives a copy that is whole its name, and waits until the folder with it is on disk.
pub(super) fn place(half: &Path, to: &Path, may_replace: bool) -> io::Result<()> {
    if may_replace {
        fs::rename(half, to)?;
    } else {
        // Unlike a rename a second name never takes the place of a file that came meanwhile.
        match fs::hard_link(half, to) {
            Ok(()) => fs::remove_file(half)?,
            // A disk that knows no second names (FAT, some shares).
            Err(why) if why.kind() != io::ErrorKind::AlreadyExists && !to.exists() => fs::rename(half, to)?,
            Err(why) => return Err(why),
        }
    }
    sync_folder(to)
}

/// A new name is on disk once its folder is.
fn sync_folder(file: &Path) -> io::Result<()> {
    let folder = match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    if cfg!(unix) { File::open(folder)?.sync_all() } else { Ok(()) }
}

pub(super) fn beside(file: &Path, ending: &str) -> PathBuf {
    let mut name = file.as_os_str().to_owned();
    name.push(ending);
    name.into()
}

fn same_file(one: &Path, other: &Path) -> bool {
    matches!((one.canonicalize(), other.canonicalize()), (Ok(one), Ok(other)) if one == other)
}
