//! One server to a file: a lock beside it, held by the system for as long as the process lives.

use std::{
    fs::{File, OpenOptions, TryLockError},
    io,
    path::{Path, PathBuf},
};

use super::OpenError;

/// While this lives no other server opens the file, and nobody restores over it. Reading, backing up and verifying need
/// none of it. The system drops the lock when the process ends, however it ends.
#[derive(Debug)]
pub struct Serving {
    _lock: File,
}

impl Serving {
    /// # Errors
    /// [`OpenError::Served`] while another process serves the file, [`OpenError::UnwritableFolder`] where no lock can be made.
    pub fn claim(database: &Path) -> Result<Self, OpenError> {
        let beside = lock_file(database);
        let folder = || beside.parent().map_or_else(|| PathBuf::from("."), Path::to_owned);
        let unwritable = |why| OpenError::UnwritableFolder { folder: folder(), why };
        if !folder().is_dir() {
            return Err(OpenError::NoFolder(folder()));
        }
        // Not the database itself: closing it in this process would drop SQLite's own locks on it
        // (sqlite.org/howtocorrupt.html, 2.2).
        let lock = OpenOptions::new().create(true).truncate(false).write(true).open(&beside).map_err(unwritable)?;
        match lock.try_lock() {
            Ok(()) => Ok(Self { _lock: lock }),
            Err(TryLockError::WouldBlock) => Err(OpenError::Served(database.to_owned())),
            Err(TryLockError::Error(why)) if why.kind() == io::ErrorKind::Unsupported => Ok(Self { _lock: lock }),
            Err(TryLockError::Error(why)) => Err(unwritable(why)),
        }
    }
}

/// The same for every way to name the file.
fn lock_file(database: &Path) -> PathBuf {
    let whole = database.canonicalize().unwrap_or_else(|_| {
        let folder = match database.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder,
            _ => Path::new("."),
        };
        let folder = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
        database.file_name().map_or(folder.clone(), |name| folder.join(name))
    });
    let mut name = whole.into_os_string();
    name.push("-serving");
    name.into()
}
