//! `hitchwright section` as a process: what scripts rely on.

use std::process::{Command, Output};

fn section(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_hitchwright")).arg("section").args(args).output().expect("the program runs")
}

fn json(args: &[&str]) -> serde_json::Map<String, serde_json::Value> {
    let output = section(&[args, &["--json"]].concat());
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).expect("an object")
}

#[test]
fn the_json_has_exactly_the_promised_keys() {
    let keys: Vec<String> = json(&["rhs", "60x40x3"]).keys().cloned().collect();
    assert_eq!(
        keys,
        [
            "mass_kg_per_m",
            "area_mm2",
            "ix_mm4",
            "iy_mm4",
            "wel_x_mm3",
            "wel_y_mm3",
            "wpl_x_mm3",
            "wpl_y_mm3",
            "j_mm4",
            "outside_m2_per_m",
            "inside_m2_per_m",
            "source"
        ]
    );
}

/// Source: EN 10219 table at b2bmetal.eu (4.25 kg/m) and EN 10210 data of eurocodepy 2026.1.1 (4.35 kg/m).
#[test]
fn the_standard_is_heeded() {
    let mass = |args: &[&str]| format!("{:.2}", json(args)["mass_kg_per_m"].as_f64().expect("a number"));
    assert_eq!(mass(&["rhs", "60x40x3"]), "4.25");
    assert_eq!(mass(&["RHS", "60x40x3", "--standard", "en10210"]), "4.35");
    assert_eq!(mass(&["rhs", "60x40x3 en10210"]), "4.35");
    assert_eq!(mass(&["flat", "50x5", "--standard", "en10219"]), "1.96");
}

#[test]
fn people_get_a_table() {
    let output = section(&["rhs", "4x2", "10", "ga", "bwg"]);
    let text = String::from_utf8(output.stdout).expect("text");
    assert!(text.starts_with("rhs 101.6x50.8x3.4036: rectangular hollow section\n"), "{text}");
    assert!(text.contains("kg/m") && text.contains("source: EN 10219-2"), "{text}");
}

#[test]
fn bad_input_is_one_line_and_code_2() {
    for (args, says) in [
        (["beam", "100", "--json"].as_slice(), "“beam 100” is not a kind of section"),
        (&["rhs", "100x50"], "write rhs 100x50x3"),
        (&["rhs", "40x20x9"], "too thick"),
        (&["rhs", "100x50x1,5"], "can be read as 1.5 or as 15"),
        (&["rhs", "4x2 10 ga"], "10 BWG (3.40 mm"),
        (&["rhs", "100x50x3", "--standard", "din"], "“din” is not a standard"),
        (&["round", "20", "--standard", "a500"], "leave --standard out"),
        (&["chs", "1e999x3"], "is not the size"),
    ] {
        let output = section(args);
        let fault = String::from_utf8(output.stderr).expect("text");
        assert_eq!(output.status.code(), Some(2), "{args:?}: {fault}");
        assert!(output.stdout.is_empty() && fault.lines().count() == 1 && fault.contains(says), "{args:?}: {fault}");
    }
}
