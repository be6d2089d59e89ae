//! A copy of the file each night into a folder: when one is due, what it is called, and which older ones go.
//!
//! Copies are counted, and the count alone says which are the latest: a clock that is set back neither deletes a copy that is
//! needed nor stops the making of new ones.

use std::{
    fs, io,
    path::{Path, PathBuf},
};

use jiff::{SignedDuration, Timestamp, civil::DateTime, tz::TimeZone};
use serde::Serialize;

use super::{
    BackupError, By, Conflict, Error, Obstacle, Result, Save, Store, Version,
    audit::{Subject, note_change},
    backup::{beside, place},
    error::cell,
};

/// The owner's setting.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct NightlyRule {
    pub on: bool,
    /// Of the shop's clock, 0 to 23.
    pub hour: u8,
    /// So many copies stay, 1 to [`NightlyRule::MOST`].
    pub keep: u32,
}

impl Default for NightlyRule {
    /// Two weeks of copies. At three no zone of the European, American or Australian kind skips an hour (IANA database).
    fn default() -> Self {
        Self { on: true, hour: 3, keep: 14 }
    }
}

impl NightlyRule {
    pub const MOST: u32 = 400;

    /// Whether a copy is to be made now, where the latest was made at `last`: none since the hour last struck, none at all, or
    /// one that is said to be made later than now, so that the clock was set back since.
    pub fn is_due(self, last: Option<Timestamp>, now: Timestamp, zone: &TimeZone) -> bool {
        let Some(last) = last else { return self.on };
        let was_set_back = last.duration_since(now) > CLOCK_SLACK;
        self.on && (was_set_back || self.last_struck(now, zone).is_some_and(|struck| last < struck))
    }

    /// When the hour struck last. None at the ends of the calendar.
    fn last_struck(self, now: Timestamp, zone: &TimeZone) -> Option<Timestamp> {
        let today = now.to_zoned_datetime(zone.clone()).date();
        let hour = i8::try_from(self.hour).ok()?;
        let on = |day: jiff::civil::Date| {
            zone.to_timestamp(DateTime::from_parts(day, jiff::civil::time(hour, 0, 0, 0))).ok()
        };
        on(today).filter(|struck| *struck <= now).or_else(|| on(today.yesterday().ok()?))
    }
}

/// A clock may be put right by so much without a copy more.
const CLOCK_SLACK: SignedDuration = SignedDuration::from_hours(1);

/// One copy in the folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Night {
    /// Counts the copies, so that the highest is the latest.
    pub number: u64,
    /// By the clock of its night.
    pub made_at: Timestamp,
    pub bytes: u64,
    pub file: PathBuf,
}

impl Night {
    /// Its name without the folder.
    pub fn name(&self) -> String {
        self.file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
    }

    /// `1.4 MB`.
    pub fn size(&self) -> String {
        match self.bytes {
            bytes if bytes < 1_000_000 => format!("{} kB", bytes.div_ceil(1000)),
            bytes => format!("{:.1} MB", bytes as f64 / 1e6),
        }
    }
}

/// A copy that was made.
#[derive(Debug)]
pub struct Made {
    pub night: Night,
    /// Older ones that should have gone and could not be deleted, with the reason.
    pub left: Vec<(PathBuf, io::Error)>,
}

/// Why no copy was made; the older ones are all still there.
#[derive(Debug, thiserror::Error)]
pub enum NightlyError {
    #[error(
        "there is no folder {0}: connect its disk or make the folder, or start the server with another (--backups FOLDER)"
    )]
    NoFolder(PathBuf),
    #[error("the folder {folder} cannot be read: {why}")]
    Unreadable { folder: PathBuf, why: io::Error },
    #[error("the disk of the folder {0} is full: make room there")]
    Full(PathBuf),
    #[error("the folder {folder} takes no writes: {why}")]
    Unwritable { folder: PathBuf, why: String },
    #[error(transparent)]
    Backup(BackupError),
    #[error("the copy could not be checked, and was thrown away: {0}")]
    Unchecked(String),
    #[error(
        "the copy was not sound, and was thrown away: {0}. The shop's own file is then not sound either: look at it with \
         hitchwright verify"
    )]
    Unsound(String),
}

/// How the name of a copy ends that was not checked yet.
const UNPROVEN: &str = ".unproven";

/// The copies of this database in a folder, the oldest first. What is called otherwise is not looked at.
pub fn nights(folder: &Path, database: &Path) -> Result<Vec<Night>, NightlyError> {
    let mut found = Vec::new();
    for (name, entry) in entries(folder)? {
        let Some((number, made_at)) = read_name(&name, database) else { continue };
        let Ok(about) = entry.metadata() else { continue };
        if about.is_file() {
            found.push(Night { number, made_at, bytes: about.len(), file: entry.path() });
        }
    }
    found.sort_by_key(|night| (night.number, night.made_at));
    Ok(found)
}

fn entries(folder: &Path) -> Result<Vec<(String, fs::DirEntry)>, NightlyError> {
    let unreadable = |why: io::Error| match why.kind() {
        io::ErrorKind::NotFound | io::ErrorKind::NotADirectory => NightlyError::NoFolder(folder.to_owned()),
        _ => NightlyError::Unreadable { folder: folder.to_owned(), why },
    };
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).map_err(unreadable)? {
        let entry = entry.map_err(unreadable)?;
        if let Some(name) = entry.file_name().to_str() {
            found.push((name.to_owned(), entry));
        }
    }
    Ok(found)
}

/// `hitchwright` of `/shop/hitchwright.sqlite`.
fn stem(database: &Path) -> String {
    database.file_stem().map_or_else(|| "hitchwright".into(), |stem| stem.to_string_lossy().into_owned())
}

const MOMENT: &str = "%Y-%m-%d-%H%M%SZ";

/// `hitchwright-night-000042-2026-11-27-030004Z.sqlite`.
fn name_of(database: &Path, number: u64, made_at: Timestamp) -> String {
    format!("{}-night-{number:06}-{}.sqlite", stem(database), made_at.strftime(MOMENT))
}

/// Number and moment of a copy; None where the name is not to the letter one that [`name_of`] gives.
fn read_name(name: &str, database: &Path) -> Option<(u64, Timestamp)> {
    let rest = name.strip_prefix(&stem(database))?.strip_prefix("-night-")?.strip_suffix(".sqlite")?;
    let (number, moment) = rest.split_once('-')?;
    let number = number.parse().ok()?;
    let made_at = TimeZone::UTC.to_timestamp(DateTime::strptime(MOMENT, moment).ok()?).ok()?;
    (name_of(database, number, made_at) == name).then_some((number, made_at))
}

/// Whether a name is of a copy that was cut short: never checked, or half written by [`Store::backup`].
fn is_leftover(name: &str, database: &Path) -> bool {
    let Some((copy, ending)) = name.split_once(UNPROVEN) else { return false };
    let is_half = || {
        let process = ending.strip_prefix('.').and_then(|rest| rest.strip_suffix(".part"));
        process.is_some_and(|process| !process.is_empty() && process.bytes().all(|byte| byte.is_ascii_digit()))
    };
    read_name(copy, database).is_some() && (ending.is_empty() || is_half())
}

impl Store {
    /// Makes the next copy in a folder, verifies it, and only then deletes older ones beyond the `keep` latest. The copy has its
    /// name once it is found sound and is on disk. One at a time: call it from one place.
    pub async fn back_up_for_the_night(&self, folder: &Path, keep: u32, now: Timestamp) -> Result<Made, NightlyError> {
        for (name, entry) in entries(folder)? {
            if is_leftover(&name, self.path()) {
                // That it stays takes room and does no other harm.
                let _ = fs::remove_file(entry.path());
            }
        }
        let before = nights(folder, self.path())?;
        let number = before.last().map_or(1, |last| last.number.saturating_add(1));
        let file = folder.join(name_of(self.path(), number, now));
        let unproven = beside(&file, UNPROVEN);
        self.backup(&unproven, false).await.map_err(|fault| explain(folder, fault))?;
        let placed = match proven(&unproven).await {
            Ok(()) => place(&unproven, &file, false).map_err(|why| unwritable(folder, &why)),
            Err(fault) => Err(fault),
        };
        if let Err(fault) = placed {
            let _ = fs::remove_file(&unproven);
            return Err(fault);
        }
        let bytes = fs::metadata(&file).map_err(|why| unwritable(folder, &why))?.len();
        // By their number, never by a clock. The new one is not among them.
        let keep = usize::try_from(keep.max(1)).unwrap_or(usize::MAX) - 1;
        let mut left = Vec::new();
        for old in &before[..before.len().saturating_sub(keep)] {
            if let Err(why) = fs::remove_file(&old.file) {
                left.push((old.file.clone(), why));
            }
        }
        Ok(Made { night: Night { number, made_at: now, bytes, file }, left })
    }

    /// The owner's setting, with the version that a save must name: 0 while nobody set it.
    pub async fn nightly_rule(&self) -> Result<(NightlyRule, Version)> {
        let mut connection = self.reads.acquire().await?;
        Ok(kept(&mut connection).await?.map_or((NightlyRule::default(), UNSET), |row| (row.rule, row.version)))
    }

    /// Keeps the owner's setting.
    pub async fn save_nightly_rule(&self, read: Version, rule: NightlyRule, by: By<'_>) -> Result<Save<NightlyRule>> {
        let mut tx = self.write().await?;
        let before = match kept(&mut tx).await? {
            None if read != UNSET => return Ok(Save::Missing),
            None => None,
            Some(now) if now.version == read => Some(now.rule),
            Some(now) => {
                let Kept { rule: theirs, version, who, when } = now;
                return Ok(Save::Conflict(Box::new(Conflict { theirs, version, who, when })));
            }
        };
        let (on, hour, keep) = (i64::from(rule.on), i64::from(rule.hour), i64::from(rule.keep));
        let (version, at) = (read.next(), by.at.as_millisecond());
        sqlx::query!(
            "INSERT INTO nightly_copy (id, is_on, hour, keep, version, changed_at, changed_by)
             VALUES (1, $1, $2, $3, $4, $5, $6)
             ON CONFLICT (id) DO UPDATE SET is_on = $1, hour = $2, keep = $3, version = $4, changed_at = $5, changed_by = $6",
            on,
            hour,
            keep,
            version.0,
            at,
            by.who
        )
        .execute(&mut *tx)
        .await?;
        note_change(&mut tx, by, "set the nightly copies", Subject::NightlyCopies, before.as_ref(), &rule).await?;
        tx.commit().await?;
        Ok(Save::Saved(version))
    }
}

const UNSET: Version = Version(0);

struct Kept {
    rule: NightlyRule,
    version: Version,
    who: String,
    when: Timestamp,
}

async fn kept(connection: &mut sqlx::SqliteConnection) -> Result<Option<Kept>> {
    let row = sqlx::query!("SELECT is_on, hour, keep, version, changed_at, changed_by FROM nightly_copy WHERE id = 1")
        .fetch_optional(connection)
        .await?;
    let Some(row) = row else { return Ok(None) };
    let of = |column| cell("nightly_copy", column, 1);
    let hour = u8::try_from(row.hour).map_err(|why| of("hour").unreadable(why))?;
    Ok(Some(Kept {
        rule: NightlyRule { on: row.is_on != 0, hour, keep: of("keep").count(row.keep)? },
        version: Version(row.version),
        when: of("changed_at").time(row.changed_at)?,
        who: row.changed_by,
    }))
}

/// Every check of `hitchwright verify` on a copy.
async fn proven(copy: &Path) -> Result<(), NightlyError> {
    let unchecked = |fault: &dyn std::fmt::Display| NightlyError::Unchecked(fault.to_string());
    let store = Store::open_to_read(copy).await.map_err(|fault| unchecked(&fault))?;
    let faults = store.verify().await;
    store.close().await;
    match faults.map_err(|fault| unchecked(&fault))?.as_slice() {
        [] => Ok(()),
        [one] => Err(NightlyError::Unsound(one.clone())),
        [first, others @ ..] => Err(NightlyError::Unsound(format!("{first} (and {} more)", others.len()))),
    }
}

fn explain(folder: &Path, fault: BackupError) -> NightlyError {
    match fault {
        BackupError::Unwritable { why, .. } => unwritable(folder, &why),
        BackupError::Failed { why, file } => match Error::from(why) {
            Error::NotKept(Obstacle::Full, _) => NightlyError::Full(folder.to_owned()),
            Error::NotKept(_, why) => unwritable_for(folder, why.to_string()),
            Error::Database(why) => NightlyError::Backup(BackupError::Failed { file, why }),
            other => unwritable_for(folder, other.to_string()),
        },
        other => NightlyError::Backup(other),
    }
}

fn unwritable(folder: &Path, why: &io::Error) -> NightlyError {
    match why.kind() {
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => NightlyError::Full(folder.to_owned()),
        io::ErrorKind::NotFound => NightlyError::NoFolder(folder.to_owned()),
        _ => unwritable_for(folder, why.to_string()),
    }
}

fn unwritable_for(folder: &Path, why: String) -> NightlyError {
    NightlyError::Unwritable { folder: folder.to_owned(), why }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Timestamp {
        text.parse().expect("a time")
    }

    #[test]
    fn a_copy_is_due_once_the_hour_has_struck_by_the_shops_clock() {
        let london = TimeZone::get("Europe/London").expect("a zone");
        let rule = NightlyRule { on: true, hour: 3, keep: 7 };
        // In November London is at UTC, in July an hour ahead.
        for (last, now, expected) in [
            (None, "2026-11-27T02:00:00Z", true),
            (Some("2026-11-26T03:00:05Z"), "2026-11-27T02:59:59Z", false),
            (Some("2026-11-26T03:00:05Z"), "2026-11-27T03:00:00Z", true),
            (Some("2026-11-27T03:00:00Z"), "2026-11-27T03:01:00Z", false),
            (Some("2026-11-27T03:00:00Z"), "2026-11-28T02:59:00Z", false),
            // The server was off for a week, or for the night alone.
            (Some("2026-11-20T03:00:00Z"), "2026-11-27T01:00:00Z", true),
            (Some("2026-11-26T03:00:00Z"), "2026-11-27T08:00:00Z", true),
            // A copy that was made by hand in the evening does not stand for the night's.
            (Some("2026-11-26T21:00:00Z"), "2026-11-27T03:00:00Z", true),
            (Some("2026-07-01T02:00:00Z"), "2026-07-02T01:59:00Z", false),
            (Some("2026-07-01T02:00:00Z"), "2026-07-02T02:00:00Z", true),
            // Put right by minutes, or set back by days: then there is none of the days that come.
            (Some("2026-11-27T03:00:30Z"), "2026-11-27T02:58:00Z", false),
            (Some("2026-11-27T03:00:30Z"), "2026-11-27T03:00:00Z", false),
            (Some("2030-01-01T03:00:00Z"), "2026-11-27T02:00:00Z", true),
        ] {
            assert_eq!(rule.is_due(last.map(at), at(now), &london), expected, "{last:?} {now}");
            let off = NightlyRule { on: false, ..rule };
            assert!(!off.is_due(last.map(at), at(now), &london));
        }
        // On 29 March 2026 London's clock goes from 1 to 2: the hour that is skipped strikes when the next one does.
        let one = NightlyRule { hour: 1, ..rule };
        assert!(!one.is_due(Some(at("2026-03-28T01:00:00Z")), at("2026-03-29T00:59:59Z"), &london));
        assert!(one.is_due(Some(at("2026-03-28T01:00:00Z")), at("2026-03-29T01:00:00Z"), &london));
    }

    #[test]
    fn only_names_of_ours_are_read() {
        let database = Path::new("/shop/hitchwright.sqlite");
        let name = name_of(database, 42, at("2026-11-27T03:00:04.9Z"));
        assert_eq!(name, "hitchwright-night-000042-2026-11-27-030004Z.sqlite");
        assert_eq!(read_name(&name, database), Some((42, at("2026-11-27T03:00:04Z"))));
        let many = name_of(database, 12_345_678, at("2026-11-27T03:00:04Z"));
        assert_eq!(read_name(&many, database).map(|(number, _)| number), Some(12_345_678));
        for other in [
            "hitchwright.sqlite",
            "other-night-000042-2026-11-27-030004Z.sqlite",
            "hitchwright-night-42-2026-11-27-030004Z.sqlite",
            "hitchwright-night-+00042-2026-11-27-030004Z.sqlite",
            "hitchwright-night-000042-2026-13-27-030004Z.sqlite",
            "hitchwright-night-000042-2026-11-27-0300Z.sqlite",
            "hitchwright-night-000042-2026-11-27-030004Z.sqlite.bak",
            "my hitchwright-night-000042-2026-11-27-030004Z.sqlite",
            "hitchwright-night-000042-2026-11-27-030004Z (copy).sqlite",
        ] {
            assert_eq!(read_name(other, database), None, "{other}");
        }
        for (ending, expected) in [
            (".unproven", true),
            (".unproven.991.part", true),
            (".part", false),
            ("", false),
            (".unproven.x.part", false),
        ] {
            assert_eq!(is_leftover(&format!("{name}{ending}"), database), expected, "{ending}");
        }
        assert!(!is_leftover("notes.unproven", database));
    }

    #[test]
    fn what_keeps_the_folder_from_taking_a_copy_is_said_in_plain_words() {
        let folder = Path::new("/backups");
        for (kind, says) in [
            (io::ErrorKind::StorageFull, "the disk of the folder /backups is full"),
            (io::ErrorKind::NotFound, "there is no folder /backups"),
            (io::ErrorKind::ReadOnlyFilesystem, "the folder /backups takes no writes: "),
        ] {
            let fault = explain(folder, BackupError::Unwritable { file: folder.join("x"), why: kind.into() });
            assert!(fault.to_string().starts_with(says), "{fault}");
        }
    }
}
