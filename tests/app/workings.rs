//! Every working of every demo estimate: its formula is one, and gives with its values what it says.

use hitchwright::domain::{
    estimate::{Estimate, estimate},
    formula::Formula,
    nesting::{Budget, unwatched},
    shop::{Rack, ShopBook},
    trailer::Spec,
    working::Working,
};

/// The estimates of all jobs of the demo, by name.
pub fn demo_estimates() -> Vec<(String, Estimate)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/seed-data/demo");
    let mut files: Vec<_> =
        std::fs::read_dir(folder).expect("the demo").map(|entry| entry.expect("a file").path()).collect();
    files.sort();
    let book = ShopBook::demo();
    let estimates = files.into_iter().filter(|path| path.extension().is_some_and(|kind| kind == "json")).map(|path| {
        let job: serde_json::Value = serde_json::from_slice(&std::fs::read(&path).expect("a job")).expect("JSON");
        let spec: Spec = serde_json::from_value(job["spec"].clone()).expect("a spec");
        let worked = estimate(&spec, &book, &Rack::default(), Budget::preview(), &mut unwatched).expect("an estimate");
        (path.file_stem().expect("a name").to_string_lossy().into_owned(), worked)
    });
    let estimates: Vec<_> = estimates.collect();
    assert!(estimates.len() >= 8, "only {} jobs in the demo", estimates.len());
    estimates
}

/// Every working anywhere in an estimate, whoever put it there.
fn workings(value: &serde_json::Value, found: &mut Vec<Working>) {
    match value {
        serde_json::Value::Object(fields) => {
            if fields.contains_key("formula") && fields.contains_key("given") {
                found.push(serde_json::from_value(value.clone()).expect("a working"));
            }
            fields.values().for_each(|value| workings(value, found));
        }
        serde_json::Value::Array(values) => values.iter().for_each(|value| workings(value, found)),
        _ => {}
    }
}

fn of_all_demos(wrong: impl Fn(&Working) -> Option<String>) -> Vec<String> {
    let mut faults = Vec::new();
    for (name, estimate) in demo_estimates() {
        let mut found = Vec::new();
        workings(&serde_json::to_value(&estimate).expect("JSON"), &mut found);
        // What is worked out on asking, and so not kept.
        found.extend(estimate.build_up.lines.iter().filter_map(|line| estimate.build_up.working(line)));
        found.extend(estimate.build_up.workings());
        assert!(found.len() > 20, "{name} has only {} workings", found.len());
        faults
            .extend(found.iter().filter_map(|working| Some(format!("{name}, {}: {}", working.title, wrong(working)?))));
    }
    faults.sort();
    faults.dedup();
    faults
}

#[test]
fn every_formula_can_be_set() {
    let faults = of_all_demos(|working| working.formula.parse::<Formula>().err().map(|fault| fault.to_string()));
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn every_formula_gives_its_result_with_the_values_shown() {
    let faults = of_all_demos(|working| {
        let outcome = working.formula.parse::<Formula>().ok()?.outcome(working);
        (!outcome.agrees(working.result))
            .then(|| format!("{} gives {outcome:?}, not {} {}", working.formula, working.result, working.unit))
    });
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn every_working_says_where_it_comes_from() {
    let faults = of_all_demos(|working| {
        let symbols = working.given.iter().map(|given| &given.symbol).chain([&working.symbol]);
        let unread: Vec<_> =
            symbols.filter(|symbol| symbol.parse::<hitchwright::domain::formula::Symbol>().is_err()).collect();
        (working.source.is_empty() || !unread.is_empty())
            .then(|| format!("source “{}”, symbols that cannot be set: {unread:?}", working.source))
    });
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}
