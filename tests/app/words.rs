//! The catalogue of what customers read: every text is used, and what is used is there.

use std::{fs, ops::ControlFlow, path::Path};

use hitchwright::{
    demo,
    documents::customer::{Issue, Voice, copy},
    domain::{
        estimate::estimate,
        issued::IssuedQuote,
        nesting::{Budget, unwatched},
        options::{Judged, Refusal, work_out},
        shop::Rack,
        words::Words,
    },
};
use jiff::civil::date;
use serde_json::Value;

fn sources(folder: &Path, all: &mut String) {
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        let is_read = path.extension().is_some_and(|end| end == "rs" || end == "html");
        if path.is_dir() {
            sources(&path, all);
        } else if is_read {
            all.push_str(&fs::read_to_string(&path).expect("a source"));
        }
    }
}

/// Names in en.ftl.
fn ids() -> Vec<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let file = fs::read_to_string(root.join("seed-data/words/en.ftl")).expect("the catalogue");
    let named = file.lines().filter_map(|line| line.split_once(" =")).map(|(id, _)| id);
    named.filter(|id| id.starts_with(|letter: char| letter.is_ascii_lowercase())).map(str::to_owned).collect()
}

#[test]
fn no_text_of_the_catalogue_is_left_over() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut all = String::new();
    sources(&root.join("src"), &mut all);
    sources(&root.join("templates"), &mut all);
    let ids = ids();
    assert!(ids.len() > 200, "{}", ids.len());
    let unused = ids.into_iter().filter(|id| {
        // By its whole name, or as one of a family: `format!("month-{}", …)`.
        if all.contains(&format!("\"{id}\"")) {
            return false;
        }
        let family = id.match_indices('-').any(|(at, _)| {
            all.contains(&format!("\"{}-{{", &id[..at])) || all.contains(&format!("{{is}}-{}\"", &id[at + 1..]))
        });
        !family
    });
    assert_eq!(unused.collect::<Vec<_>>(), Vec::<String>::new());
}

#[test]
fn every_text_that_a_page_names_is_there() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut all = String::new();
    sources(&root.join("src"), &mut all);
    sources(&root.join("templates"), &mut all);
    let mut seen = 0;
    for call in ["say(\"", "self.text(\""] {
        for (at, _) in all.match_indices(call) {
            let rest = &all[at + call.len()..];
            let Some((id, _)) = rest.split_once('"') else { continue };
            assert!(id.contains(['{', '$']) || Words::english().has(id), "{id} is no text of the catalogue");
            seen += 1;
        }
    }
    assert!(seen > 150, "{seen}");
}

/// Source: Rat für deutsche Rechtschreibung, Amtliches Regelwerk, § 25 E2: Switzerland writes ss. A text of de.ftl with ß needs one
/// of its own in de-CH.ftl.
#[test]
fn swiss_texts_know_no_sharp_s() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("seed-data/words");
    let read = |file: &str| fs::read_to_string(root.join(file)).expect("a catalogue");
    let (german, swiss) = (read("de.ftl"), read("de-CH.ftl"));
    assert!(!swiss.lines().any(|line| line.contains('ß') && !line.starts_with('#')), "{swiss}");
    let mut id = "";
    for line in german.lines() {
        if line.starts_with(|letter: char| letter.is_ascii_lowercase()) {
            id = line.split_once(" =").expect("a name").0;
        }
        let has = swiss.lines().any(|line| line.split_once(" =").is_some_and(|(other, _)| other == id));
        assert!(!line.contains('ß') || line.starts_with('#') || has, "de-CH.ftl lacks {id}");
    }
}

/// A demo quote as it is frozen, in JSON.
fn frozen() -> Value {
    let book = demo::book_as_of(date(2026, 11, 25)).expect("the demo's book");
    let jobs = demo::jobs().expect("the demo's jobs");
    let job = jobs.iter().find(|job| !job.spec.offer.options.is_empty()).expect("a job with options");
    let (rack, budget) = (Rack::default(), Budget::preview());
    let worked = estimate(&job.spec, &book, &rack, budget, &mut unwatched).expect("a demo trailer");
    let options =
        work_out(&worked, &book, &rack, budget, &mut |_, _| ControlFlow::Continue(())).expect("its combinations");
    serde_json::to_value(IssuedQuote::freeze(&worked, options, &book)).expect("a body")
}

fn read(body: Value) -> IssuedQuote {
    serde_json::from_value(body).expect("a frozen quote")
}

/// A revision that was issued before there was a catalogue holds its English sentences, and goes on showing them.
#[test]
fn older_revisions_stay_english_with_the_sentences_that_they_hold() {
    let mut body = frozen();
    let remove = |of: &mut Value, name: &str| of.as_object_mut().expect("an object").remove(name);
    remove(&mut body["shop"], "language");
    remove(&mut body["shop"], "time_zone");
    remove(&mut body["estimate"]["spec"]["offer"], "language");
    for line in body["estimate"]["build_up"]["customer"]["lines"].as_array_mut().expect("lines") {
        assert!(remove(line, "word").is_some(), "{line}");
    }
    for held in body["estimate"]["strength"]["restraint"].as_array_mut().expect("loads") {
        remove(held, "hold").expect("how it is held");
        held["do_this"] = "Two straps, as it was told then.".into();
    }
    body["options"]["combinations"][1]["judged"] = serde_json::json!({ "refused": "It would not hold, as told then." });
    let quote = read(body);
    let voice = Voice::of_issued(&quote.shop);
    assert_eq!(voice.words.tag(), "en");
    let copy = copy(&quote, &Issue::default(), None, None, &voice);
    assert!(
        copy.tie_down.iter().all(|told| told.ends_with(": Two straps, as it was told then.")),
        "{:?}",
        copy.tie_down
    );
    assert_eq!(copy.lines[0].text, quote.estimate.build_up.customer.lines[0].text);
    let Judged::Refused(why) = &quote.options.combinations[1].judged else { panic!("it was refused") };
    assert_eq!(why, &Refusal::Told("It would not hold, as told then.".into()));
}

/// The day on the paper is the shop's, whatever machine prints it.
#[test]
fn days_are_those_of_the_time_zone_that_was_frozen() {
    let mut body = frozen();
    assert_eq!(body["shop"]["time_zone"], "Europe/London");
    let late: jiff::Timestamp = "2026-11-05T23:30:00Z".parse().expect("a moment");
    for (zone, tag, moment) in [
        ("Europe/London", "en", "5 November 2026, 23:30"),
        ("Asia/Kolkata", "en-IN", "6 November 2026, 5:00 am"),
        ("America/Denver", "en-US", "November 5, 2026, 4:30 PM"),
        ("Europe/Vienna", "de-AT", "6. November 2026, 00:30 Uhr"),
    ] {
        body["shop"]["time_zone"] = zone.into();
        body["shop"]["language"] = tag.into();
        let quote = read(body.clone());
        let voice = Voice::of_issued(&quote.shop);
        assert_eq!(voice.moment(late), moment);
        let issue = Issue { number: Some(1), issued: Some(late), ..Issue::default() };
        let day = moment.rsplit_once(", ").expect("a day and a time").0;
        assert!(copy(&quote, &issue, None, None, &voice).standing.contains(day), "{zone}");
    }
}
