//! Copies of each night in a folder: what is made, what is deleted, and what no clock can do to either.

use std::{fs, path::Path};

use hitchwright::storage::{Night, NightlyError, NightlyRule, OpenError, Save, Store, Version, nights};
use jiff::{SignedDuration, Timestamp};
use sqlx::Connection;

use super::{Kept, enter, kept, mara, past_the_store, tam};

fn time(text: &str) -> Timestamp {
    text.parse().expect("a time")
}

async fn made(kept: &Kept, folder: &Path, keep: u32, at: &str) -> Night {
    let made = kept.store.back_up_for_the_night(folder, keep, time(at)).await.expect("a copy");
    assert!(made.left.is_empty(), "{:?}", made.left);
    made.night
}

fn numbers(kept: &Kept, folder: &Path) -> Vec<u64> {
    nights(folder, kept.store.path()).expect("copies").iter().map(|night| night.number).collect()
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).expect("a folder");
    let mut names: Vec<String> =
        entries.map(|entry| entry.expect("an entry").file_name().into_string().expect("a name")).collect();
    names.sort();
    names
}

#[tokio::test]
async fn each_night_leaves_a_sound_copy_and_the_oldest_beyond_those_kept_go() {
    let kept = kept().await;
    let folder = tempfile::tempdir().unwrap();
    // Not ours, or not to the letter: never touched.
    let others = [
        "holiday.txt",
        "shop.sqlite",
        "shop-night-000001-2026-11-20-030000Z.sqlite.bak",
        "shop-night-1-2026-11-20-030000Z.sqlite",
        "other-night-000001-2026-11-20-030000Z.sqlite",
    ];
    for other in others {
        fs::write(folder.path().join(other), "mine").unwrap();
    }
    fs::create_dir(folder.path().join("shop-night-000000-2026-11-19-030000Z.sqlite")).unwrap();
    // What a kill in the middle left: it goes, so that the disk does not fill.
    let half = "shop-night-000001-2026-11-21-030000Z.sqlite.unproven.4711.part";
    fs::write(folder.path().join(half), "half").unwrap();

    for day in 21..26 {
        let (job, _) = enter(&kept.store, &format!("Job of day {day}"), "Wick Sands Apiary").await;
        let night = made(&kept, folder.path(), 3, &format!("2026-11-{day}T03:00:00Z")).await;
        assert_eq!(night.bytes, fs::metadata(&night.file).unwrap().len());
        let copy = Store::open_to_read(&night.file).await.expect("it opens");
        assert_eq!(copy.verify().await.unwrap(), Vec::<String>::new());
        assert_eq!(copy.job(job).await.unwrap().unwrap().title, format!("Job of day {day}"), "with that day's work");
        copy.close().await;
    }
    assert_eq!(numbers(&kept, folder.path()), [3, 4, 5]);
    for other in others {
        assert_eq!(fs::read_to_string(folder.path().join(other)).unwrap(), "mine", "{other}");
    }
    let left = names(folder.path());
    assert_eq!(left.len(), others.len() + 1 + 3, "{left:?}");
    // Fewer are kept from the next copy on.
    made(&kept, folder.path(), 1, "2026-11-26T03:00:00Z").await;
    assert_eq!(numbers(&kept, folder.path()), [6]);
}

/// Ten days ahead by mistake, set right, then set back by a year: the latest copies are always those that were made last.
#[tokio::test]
async fn no_clock_deletes_or_overwrites_a_copy_that_is_needed() {
    let kept = kept().await;
    let folder = tempfile::tempdir().unwrap();
    let zone = jiff::tz::TimeZone::UTC;
    let rule = NightlyRule { on: true, hour: 3, keep: 4 };
    let mut last = None;
    for (number, at) in [
        (1, "2026-11-24T03:00:00Z"),
        (2, "2026-11-25T03:00:00Z"),
        (3, "2026-12-05T03:00:00Z"),
        (4, "2026-11-25T09:00:00Z"),
        (5, "2026-11-26T03:00:00Z"),
        (6, "2025-11-26T12:00:00Z"),
        // The very moment of an earlier copy.
        (7, "2026-11-25T03:00:00Z"),
    ] {
        assert!(rule.is_due(last, time(at), &zone), "{at}");
        let night = made(&kept, folder.path(), rule.keep, at).await;
        assert_eq!((night.number, night.made_at), (number, time(at)));
        let first = number.saturating_sub(u64::from(rule.keep) - 1).max(1);
        assert_eq!(numbers(&kept, folder.path()), (first..=number).collect::<Vec<_>>(), "{at}");
        last = nights(folder.path(), kept.store.path()).unwrap().last().map(|night| night.made_at);
        let soon = time(at).checked_add(SignedDuration::from_mins(1)).unwrap();
        assert!(!rule.is_due(last, soon, &zone), "one copy for a change of the clock, not one a minute: {at}");
    }
}

#[tokio::test]
async fn without_a_folder_that_takes_it_there_is_no_copy_and_the_reason_is_plain() {
    let kept = kept().await;
    let folder = tempfile::tempdir().unwrap();
    let missing = folder.path().join("unplugged");
    let refused = async |folder: &Path| {
        let at = time("2026-11-25T03:00:00Z");
        kept.store.back_up_for_the_night(folder, 3, at).await.expect_err("refused")
    };
    let fault = refused(&missing).await;
    assert!(matches!(&fault, NightlyError::NoFolder(folder) if *folder == missing), "{fault:?}");
    assert!(fault.to_string().contains("connect its disk or make the folder"), "{fault}");
    let file = folder.path().join("file");
    fs::write(&file, "").unwrap();
    assert!(matches!(refused(&file).await, NightlyError::NoFolder(_)));
    // Nobody may create a file in /proc, root neither (proc(5)).
    #[cfg(target_os = "linux")]
    {
        let fault = refused(Path::new("/proc")).await;
        assert!(fault.to_string().contains("/proc"), "{fault}");
    }
    assert_eq!(names(folder.path()), ["file"]);
}

/// The file was tampered with: the copy of it is not kept, and takes no older, sound one's place.
#[tokio::test]
async fn an_unsound_copy_is_thrown_away_and_the_sound_ones_stay() {
    let kept = kept().await;
    let folder = tempfile::tempdir().unwrap();
    enter(&kept.store, "Hive trailer", "Wick Sands Apiary").await;
    enter(&kept.store, "Oven trailer", "The Clay Oven").await;
    made(&kept, folder.path(), 1, "2026-11-24T03:00:00Z").await;
    let before = names(folder.path());
    let mut hand = past_the_store(&kept).await;
    sqlx::query("DELETE FROM audit WHERE id = 2").execute(&mut hand).await.unwrap();
    hand.close().await.unwrap();
    let fault =
        kept.store.back_up_for_the_night(folder.path(), 1, time("2026-11-25T03:00:00Z")).await.expect_err("unsound");
    assert!(matches!(fault, NightlyError::Unsound(_)), "{fault:?}");
    assert!(fault.to_string().contains("hitchwright verify"), "{fault}");
    assert_eq!(names(folder.path()), before);
    let copy = Store::open_to_read(&folder.path().join(&before[0])).await;
    let copy = copy.unwrap_or_else(|fault: OpenError| panic!("{fault}"));
    assert_eq!(copy.verify().await.unwrap(), Vec::<String>::new());
}

#[tokio::test]
async fn the_setting_is_kept_by_whoever_read_it_last() {
    let kept = kept().await;
    let (first, read) = kept.store.nightly_rule().await.unwrap();
    assert_eq!((first, read), (NightlyRule { on: true, hour: 3, keep: 14 }, Version(0)));
    let rule = NightlyRule { on: false, hour: 22, keep: 30 };
    assert_eq!(kept.store.save_nightly_rule(read, rule, mara(1)).await.unwrap(), Save::Saved(Version(1)));
    assert_eq!(kept.store.nightly_rule().await.unwrap(), (rule, Version(1)));
    let late = kept.store.save_nightly_rule(read, first, tam(2)).await.unwrap();
    let Save::Conflict(found) = late else { panic!("{late:?}") };
    assert_eq!((found.theirs, found.version, found.who.as_str()), (rule, Version(1), "Mara"));
    assert_eq!(kept.store.save_nightly_rule(Version(1), first, tam(3)).await.unwrap(), Save::Saved(Version(2)));
    assert_eq!(kept.store.nightly_rule().await.unwrap(), (first, Version(2)));
    let trail = kept.store.audit(0, 5).await.unwrap();
    assert!(trail.iter().any(|line| line.subject == "nightly-copies" && line.who == "Tam"), "{trail:?}");
}
