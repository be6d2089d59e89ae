use proptest::prelude::*;
use serde_json::{Map, Value as Json, json};

use super::{
    book::{Kind, Op, Rule},
    parts::TABLE,
    *,
};

const TEXT: &str = include_str!("../../../seed-data/road-rules.toml");

#[test]
fn the_rules_are_read_whole() {
    let book = RuleBook::read(TEXT).unwrap_or_else(|faults| panic!("{faults:#?}"));
    assert_eq!(book.rules.len(), TEXT.matches("[[rule]]").count());
    assert_eq!(book.regions.len(), TEXT.matches("[[region]]").count());
    assert_eq!(&book, seed());
    assert!(seed().region("us-ca").is_some_and(|region| region.approval.as_deref() == Some("sae")));
}

/// Source: boundary cases written beside the collected rules, not by this evaluator.
#[test]
fn the_boundary_cases_come_out_as_written() {
    let cases: Vec<Json> = serde_json::from_str(include_str!("../../../tests/app/road/cases.json")).unwrap();
    assert_eq!(cases.len(), 29);
    for case in cases {
        let facts = Facts::from_json(&case["facts"].to_string()).unwrap_or_else(|faults| panic!("{faults:?}: {case}"));
        let region = seed().region(case["region"].as_str().unwrap()).unwrap();
        let findings = judge(seed(), region, &facts);
        let found = findings.iter().find(|found| found.rule.id == case["rule"]).expect("the rule");
        assert_eq!(found.outcome.word(), case["expect"], "{case}");
    }
}

const SMALL: &str = r#"
schema = 1
[[region]]
id = "a"
name = "A"
authority = "the authority"
authority_at = "a.example"
[[rule]]
id = "a.width"
region = "a"
topic = "dimensions"
kind = "limit"
text = "Width."
threshold = "2,500 mm"
source = "a text"
mark = "read"
tier = "P"
confidence = "high"
ship = "check"
read_on = "2026-11-25"
when = [{ fact = "gross_mass_kg", op = ">", value = 750 }]
limit = [{ fact = "width_mm", op = "<=", value = 2500 }]
"#;

/// What the loader says when a part of a sound file is exchanged.
fn refused(from: &str, to: &str) -> String {
    RuleBook::read(SMALL).expect("a sound file");
    assert!(SMALL.contains(from), "{from}");
    RuleBook::read(&SMALL.replace(from, to)).expect_err("a fault").join("\n")
}

#[test]
fn the_loader_says_what_it_refuses() {
    let twice = format!("{SMALL}{}", &SMALL[SMALL.find("[[rule]]").unwrap()..]);
    assert_eq!(RuleBook::read(&twice).unwrap_err(), ["rule a.width stands there twice: an id is given once"]);
    let regions = SMALL
        .replace("[[rule]]", "[[region]]\nid = \"a\"\nname = \"\"\nauthority = \"\"\nauthority_at = \"\"\n[[rule]]");
    assert_eq!(RuleBook::read(&regions).unwrap_err(), ["a region stands there twice: each id once"]);
    for (from, to, said) in [
        ("region = \"a\"", "region = \"b\"", "rule a.width: region b is none of the regions"),
        ("gross_mass_kg", "gross_mass", "rule a.width: gross_mass is none of the facts"),
        ("op = \">\"", "op = \"=>\"", "rule a.width: “=>” is no operator: use <, <=, >, >= or =="),
        ("mark = \"read\"", "mark = \"memory\"", "rule a.width: what is from memory is no firm line: ship it as note"),
        ("source = \"a text\"\n", "", "rule a.width: its source is missing"),
        ("source = \"a text\"", "source = \" \"", "rule a.width: its source is missing"),
        ("value = 750", "value = \"heavy\"", "rule a.width: gross_mass_kg is \"heavy\": give kilograms as a number"),
        (
            "gross_mass_kg\", op = \">\", value = 750",
            "braked\", op = \">\", value = true",
            "rule a.width: braked cannot be more or less: use ==",
        ),
        ("kind = \"limit\"", "kind = \"law\"", "rule a.width: kind is “law”: use limit, fit, mark, file, ask, info"),
        ("ship = \"check\"", "ship = \"yes\"", "rule a.width: ship is “yes”: use check, note, hold"),
        ("name = \"A\"", "name = \"A\"\nextends = \"z\"", "region a extends z, which is no region"),
        ("when =", "replaces = \"a.none\"\nwhen =", "rule a.width: it replaces a.none, which is no rule"),
        ("schema = 1", "schema = 2", "schema is 2: this program reads 1"),
    ] {
        assert_eq!(refused(from, to), said);
    }
    assert!(refused("topic =", "tropic =").contains("tropic"));
}

/// Source: StVZO § 44 (3), read: 4 % of the actual mass, not more than 25 kg needed. A published driving-test question gives
/// 24 kg for 600 kg; that 750 kg ask for 30 kg is a known misreading.
#[test]
fn least_coupling_loads() {
    let germany = seed().region("de").expect("known");
    for (mass, least) in [(500.0, 20.0), (600.0, 24.0), (750.0, 25.0)] {
        assert!((germany.least_coupling_kg(mass) - least).abs() < 1e-9, "{mass}");
    }
    assert!(germany.least_coupling_kg(750.0) < 30.0);
    assert_eq!(seed().region("us").expect("known").least_coupling_kg(900.0), 0.0);
}

#[test]
fn rules_on_hold_never_reach_anyone() {
    let book = RuleBook::read(&SMALL.replace("\"check\"", "\"hold\"")).unwrap();
    assert_eq!(judge(&book, &book.regions[0], &Facts::default()), []);
    for region in &seed().regions {
        assert!(judge(seed(), region, &Facts::default()).iter().all(|found| found.rule.ship != Ship::Hold));
    }
}

#[test]
fn a_missed_limit_fails_only_as_a_firm_line() {
    let outcome = |text: &str, facts: Json| {
        let book = RuleBook::read(text).unwrap();
        let facts = Facts::from_json(&facts.to_string()).unwrap();
        let findings = judge(&book, &book.regions[0], &facts);
        (findings[0].outcome, findings[0].missing.clone())
    };
    let note = SMALL.replace("\"check\"", "\"note\"");
    let wide = json!({"gross_mass_kg": 800, "width_mm": 2600});
    assert_eq!(outcome(SMALL, wide.clone()), (Outcome::Fail, vec![]));
    assert_eq!(outcome(&note, wide), (Outcome::Warn, vec![]));
    assert_eq!(outcome(SMALL, json!({"gross_mass_kg": 800, "width_mm": 2500})), (Outcome::Pass, vec![]));
    assert_eq!(outcome(SMALL, json!({"gross_mass_kg": 750})), (Outcome::NotApplicable, vec![]));
    assert_eq!(outcome(SMALL, json!({"gross_mass_kg": 750.01})), (Outcome::NeedFact, vec!["width_mm"]));
    assert_eq!(outcome(SMALL, json!({"width_mm": 9000})), (Outcome::NeedFact, vec!["gross_mass_kg"]));
    let bare = SMALL.replace("limit = [{", "# [{");
    assert_eq!(outcome(&bare, json!({"gross_mass_kg": 800})), (Outcome::Judge, vec![]));
}

#[test]
fn facts_that_cannot_be_used_are_named() {
    let faults = Facts::from_json(
        r#"{"gross": 1, "braked": "yes", "axles": 1.5, "brake_kind": "rope", "width_mm": [1], "nose_kg": null}"#,
    );
    let faults = faults.unwrap_err();
    assert_eq!(faults.len(), 5, "{faults:?}");
    assert!(faults.iter().any(|line| line.starts_with("gross is no fact: the facts are gross_mass_kg, ")));
    assert!(faults.contains(&"braked is \"yes\": give true or false".to_owned()));
    assert!(faults.contains(&"axles is 1.5: give a whole number".to_owned()));
    assert!(faults.contains(&"brake_kind is \"rope\": give one of none, overrun, electric, hydraulic, air".to_owned()));
    assert!(Facts::from_json("[1]").unwrap_err()[0].starts_with("the facts are not a JSON object"));
    let facts = Facts::from_json(r#"{"gross_mass_kg": 820, "nose_kg": 60, "tow_unladen_kg": 1640}"#).unwrap();
    assert_eq!((facts.number("axle_mass_kg"), facts.number("gross_over_tow_unladen")), (Some(760.0), Some(0.5)));
    assert_eq!(facts.number("gross_over_tow_gross"), None);
}

#[test]
fn every_part_is_asked_for_by_rules_that_there_are() {
    let text = include_str!("../../../seed-data/parts-by-rule.toml");
    assert_eq!(TABLE.lamp.len(), text.matches("[[lamp]]").count());
    assert_eq!(TABLE.part.len(), text.matches("[[part]]").count());
    let rules = TABLE.lamp.iter().flat_map(|ask| &ask.rules).chain(TABLE.part.iter().flat_map(|ask| &ask.rules));
    for id in rules {
        assert!(seed().rule(id).is_some(), "{id}");
    }
    // Every firm or noted rule that has lamps fitted has its lamps there; these say how or where, not what.
    let how =
        ["us.light.height", "gb.light.refl", "gb.light.ind", "nz.light.rear2", "au.band", "za.chevron", "in.refl"];
    let lamps = |rule: &&Rule| rule.topic == "lights" && rule.kind == Kind::Fit && !how.contains(&rule.id.as_str());
    for rule in seed().rules.iter().filter(lamps) {
        assert!(TABLE.lamp.iter().any(|ask| ask.rules.contains(&rule.id)), "{} has no lamps", rule.id);
    }
}

// ------------------------------------------------------------ laws

/// Values around every threshold that a rule names, and nothing.
fn any_facts() -> impl Strategy<Value = Map<String, Json>> {
    let each: Vec<_> = FACTS
        .iter()
        .filter(|fact| fact.kind != FactKind::Ratio && fact.name != "axle_mass_kg")
        .map(|fact| {
            let mut values = vec![Json::Null];
            let atoms = seed().rules.iter().flat_map(|rule| rule.when.iter().chain(&rule.limit));
            for atom in atoms.filter(|atom| atom.fact.name == fact.name) {
                match &atom.value {
                    Value::Number(at) => values.extend([at - 1.0, *at, at + 1.0].map(|value| json!(value.max(0.0)))),
                    Value::Word(word) => values.push(json!(word)),
                    Value::YesNo(_) => {}
                }
            }
            match fact.kind {
                FactKind::YesNo => values.extend([json!(true), json!(false)]),
                FactKind::Word([]) => values.push(json!("other")),
                FactKind::Word(words) => values.extend(words.iter().map(|word| json!(word))),
                FactKind::Count => {
                    values = values.into_iter().map(|v| v.as_f64().map_or(Json::Null, |n| json!(n.round()))).collect();
                    values.extend([json!(1), json!(2)]);
                }
                FactKind::Mass => values.extend([json!(300), json!(1200.5)]),
                _ => values.push(json!(1800)),
            }
            (Just(fact.name.to_owned()), prop::sample::select(values))
        })
        .collect();
    each.prop_map(|pairs| pairs.into_iter().filter(|(_, value)| !value.is_null()).collect())
}

fn judged(region: &Region, facts: &Map<String, Json>) -> Vec<Outcome> {
    let facts = Facts::from_json(&Json::Object(facts.clone()).to_string()).unwrap();
    judge(seed(), region, &facts).iter().map(|found| found.outcome).collect()
}

/// The outcome of a rule by plain two-valued logic, written apart from the evaluator; only for facts that are all there.
fn plainly(rules: &[&Rule], rule: &Rule, facts: &Facts) -> &'static str {
    let holds = |atoms: &[Atom]| {
        atoms.iter().all(|atom| match (facts.get(atom.fact.name), &atom.value) {
            (Some(Value::Number(a)), Value::Number(b)) => match atom.op {
                Op::Less => a < b,
                Op::AtMost => a <= b,
                Op::More => a > b,
                Op::AtLeast => a >= b,
                Op::Is => a == b,
            },
            (Some(value), wanted) => value == wanted,
            (None, _) => panic!("{} is missing", atom.fact.name),
        })
    };
    let replaced = rules.iter().any(|other| other.replaces.as_deref() == Some(rule.id.as_str()) && holds(&other.when));
    if replaced || !holds(&rule.when) {
        return "n/a";
    }
    match (holds(&rule.limit), rule.ship, rule.kind) {
        (false, Ship::Check, _) => "FAIL",
        (false, ..) => "WARN",
        (true, _, Kind::Limit) => {
            if rule.limit.is_empty() {
                "judge"
            } else {
                "pass"
            }
        }
        (true, _, Kind::Fit) => "to fit",
        (true, _, Kind::Mark) => "to mark",
        (true, _, Kind::File) => "to file",
        (true, _, Kind::Ask) => "ask",
        (true, _, Kind::Info) => "info",
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    /// A fact that is learnt settles what could not be told, and changes nothing else.
    #[test]
    fn a_further_fact_only_settles_what_could_not_be_told(all in any_facts(), left_out in any::<prop::sample::Index>()) {
        prop_assume!(!all.is_empty());
        let mut fewer = all.clone();
        let name = all.keys().nth(left_out.index(all.len())).cloned().unwrap();
        fewer.remove(&name);
        for region in &seed().regions {
            for (before, after) in judged(region, &fewer).into_iter().zip(judged(region, &all)) {
                prop_assert!(before == after || before == Outcome::NeedFact, "{}: {before:?} became {after:?}", region.id);
            }
        }
    }

    /// With every fact there nothing is left open, and plain logic says the same.
    #[test]
    fn with_every_fact_plain_logic_says_the_same(some in any_facts()) {
        let mut all: Map<String, Json> = serde_json::from_str(
            r#"{"gross_mass_kg":1500,"nose_kg":105,"width_mm":2100,"length_mm":5200,"body_length_mm":3900,"height_mm":1900,
                "axles":1,"wheels":2,"rear_overhang_mm":1300,"drawbar_mm":1300,"braked":true,"brake_kind":"overrun","commercial":false,
                "for_own_use":false,"living":false,"body":"tray","units_year":1,"tow_gross_kg":3000,"tow_unladen_kg":2000,"state":"nsw",
                "tare_kg":400}"#,
        ).unwrap();
        all.extend(some);
        for zero in ["gross_mass_kg", "tow_gross_kg", "tow_unladen_kg"] {
            prop_assume!(all[zero].as_f64() != Some(0.0));
        }
        let facts = Facts::from_json(&Json::Object(all).to_string()).unwrap();
        for region in &seed().regions {
            let findings = judge(seed(), region, &facts);
            let rules: Vec<&Rule> = findings.iter().map(|found| found.rule).collect();
            for found in &findings {
                prop_assert_eq!(found.outcome.word(), plainly(&rules, found.rule, &facts), "{}", found.rule.id);
            }
        }
    }
}
