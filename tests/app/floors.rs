//! The floors of the house: imports go one way, and what a floor must not know is absent from it.

use std::{
    fs,
    path::{Path, PathBuf},
};

/// A source file: its path below `src/`, and its text without comments and without its own tests.
struct Source {
    path: String,
    code: String,
}

fn sources() -> Vec<Source> {
    fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).expect("a folder of sources") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                walk(&path, found);
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                found.push(path);
            }
        }
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    walk(&root, &mut found);
    let read = |path: PathBuf| Source {
        path: path.strip_prefix(&root).expect("below src").to_string_lossy().replace('\\', "/"),
        code: without_comments(&fs::read_to_string(&path).expect("a source")),
    };
    found.into_iter().map(read).collect()
}

/// Drops line comments and the test module at the end (tests may use what the code may not).
fn without_comments(text: &str) -> String {
    let code = text.split("#[cfg(test)]\nmod ").next().unwrap_or_default();
    code.lines().filter(|line| !line.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n")
}

/// Whether a word stands in a text, not as part of a longer one.
fn names(text: &str, word: &str) -> bool {
    let is_part = |char: Option<char>| char.is_some_and(|char| char.is_alphanumeric() || char == '_');
    text.match_indices(word)
        .any(|(at, _)| !is_part(text[..at].chars().next_back()) && !is_part(text[at + word.len()..].chars().next()))
}

/// Every module that a text reaches by `crate::…`, also inside `use crate::{…}` groups.
fn reaches(code: &str) -> Vec<String> {
    let flat: String = code.chars().filter(|char| !char.is_whitespace()).collect();
    flat.match_indices("crate::").flat_map(|(at, start)| heads(&flat[at + start.len()..])).collect()
}

/// The first name of each path that a piece of an import opens with: of `a::b` it is a, of `{a::b, c}` they are a and c.
fn heads(text: &str) -> Vec<String> {
    let head = |part: &str| part.chars().take_while(|char| char.is_alphanumeric() || *char == '_').collect::<String>();
    if text.starts_with('{') { split_group(text).iter().map(|part| head(part)).collect() } else { vec![head(text)] }
}

/// The parts of a `{…}` group that a text opens with, split at its own commas.
fn split_group(text: &str) -> Vec<String> {
    let (mut depth, mut parts, mut part) = (0, Vec::new(), String::new());
    for char in text.chars() {
        match char {
            '{' => depth += 1,
            '}' => depth -= 1,
            _ => {}
        }
        if depth == 0 {
            break;
        }
        match (depth, char) {
            (1, '{') => {}
            (1, ',') => parts.push(std::mem::take(&mut part)),
            _ => part.push(char),
        }
    }
    parts.push(part);
    parts
}

/// Whether a file reaches a floor of the house, by whichever way of importing.
fn uses_floor(source: &Source, floor: &str) -> bool {
    let flat: String = source.code.chars().filter(|char| !char.is_whitespace()).collect();
    let in_group = flat
        .match_indices("crate::{")
        .any(|(at, _)| split_group(&flat[at + "crate::".len()..]).iter().any(|part| heads(part) == [floor]));
    let path = format!("crate::{floor}");
    let ends = |at: usize| !flat[at + path.len()..].starts_with(|char: char| char.is_alphanumeric() || char == '_');
    in_group || flat.match_indices(&path).any(|(at, _)| ends(at))
}

/// Fails on every file below a folder that a test of its text accuses; says of what.
#[track_caller]
fn forbid(floor: &str, accuse: impl Fn(&Source) -> Option<String>) {
    let accusations: Vec<String> = sources()
        .iter()
        .filter(|source| source.path.starts_with(floor))
        .filter_map(|source| accuse(source).map(|what| format!("src/{}: {what}", source.path)))
        .collect();
    assert!(accusations.is_empty(), "{accusations:#?}");
}

#[test]
fn the_domain_knows_no_file_clock_database_page_or_chance() {
    let absent = [
        "sqlx",
        "axum",
        "askama",
        "tokio",
        "std::fs",
        "fs::",
        "SystemTime",
        "Instant",
        "getrandom",
        "rand",
        "Zoned::now",
    ];
    // What its build script reads is known while compiling.
    forbid("domain/", |source| {
        absent
            .iter()
            .filter(|_| source.path != "domain/build.rs")
            .find(|word| source.code.contains(**word) && (word.contains(':') || names(&source.code, word)))
            .map(|word| format!("names {word}"))
    });
    forbid("domain/", |source| {
        let above = ["storage", "documents", "web", "command", "config", "telemetry"];
        above.iter().find(|floor| uses_floor(source, floor)).map(|floor| format!("reaches up to {floor}"))
    });
}

#[test]
fn storage_and_documents_see_the_domain_and_never_each_other() {
    for (floor, others) in [("storage", ["documents", "web", "command"]), ("documents", ["storage", "web", "command"])]
    {
        forbid(floor, |source| {
            others.iter().find(|other| uses_floor(source, other)).map(|other| format!("reaches {other}"))
        });
    }
}

#[test]
fn sql_lives_in_storage_alone() {
    forbid("", |source| {
        let may = source.path.starts_with("storage") || source.path == "build.rs";
        (!may && names(&source.code, "sqlx")).then(|| "names sqlx".to_owned())
    });
}

#[test]
fn pages_live_in_web_alone() {
    forbid("", |source| {
        // The command that serves hands the site to the network; the options name the address it is served at.
        let may = source.path.starts_with("web/") || ["command/serve.rs", "config.rs"].contains(&source.path.as_str());
        let word = ["axum", "askama"].into_iter().find(|word| names(&source.code, word));
        word.filter(|_| !may).map(|word| format!("names {word}"))
    });
    forbid("web", |source| uses_floor(source, "command").then(|| "reaches up to command".to_owned()));
}

#[test]
fn a_module_of_the_domain_uses_only_those_declared_before_it() {
    let declaration = sources().into_iter().find(|source| source.path == "domain/lib.rs").expect("domain/lib.rs");
    let order: Vec<String> = declaration
        .code
        .lines()
        .filter_map(|line| {
            line.trim().trim_start_matches("pub ").strip_prefix("mod ")?.strip_suffix(';').map(str::to_owned)
        })
        .collect();
    assert!(order.iter().any(|module| module == "measure"), "{order:?}");
    let place = |module: &str| order.iter().position(|other| other == module);
    forbid("domain/", |source| {
        let below = source.path.strip_prefix("domain/")?;
        let own = place(below.split('/').next()?.trim_end_matches(".rs"))?;
        let late = |module: &String| place(module).is_some_and(|used| used > own);
        reaches(&source.code).into_iter().find(late).map(|module| format!("uses the later module {module}"))
    });
}

#[test]
fn the_reader_of_imports_sees_every_way_of_writing_them() {
    let code = "use crate::{measure::{Length, Mass}, steel, shop::Rate};\nlet x = crate::pricing::sum();";
    let mut found = reaches(code);
    found.sort();
    assert_eq!(found, ["measure", "pricing", "shop", "steel"]);
    let source = |code: &str| Source { path: String::new(), code: code.to_owned() };
    assert!(uses_floor(&source("use crate::{domain::measure, web};"), "web"));
    assert!(uses_floor(&source("use crate::web::paths;"), "web"));
    assert!(!uses_floor(&source("use crate::{domain::web_of_beams, website};"), "web"));
    assert!(names("let x = Instant::now()", "Instant") && !names("Instantaneous", "Instant"));
}
