//! Broken and hostile text for everything that reads cutting problems, plans and proofs: an answer or a message in one line,
//! never a panic, never memory without bound. A slice of fixed seeds runs each time, more with `HITCHWRIGHT_LONG=1`.

use std::{
    io::Write,
    panic::{AssertUnwindSafe, catch_unwind},
    process::{Command, Stdio},
};

use hitchwright::domain::nesting::{Budget, Fault, bars, check, json, panels, proof::Proof, unwatched};

use super::families::random::Random;

const BARS: &str = r#"{ "kerf_mm": 2.5, "end_trim_mm": 10, "keep_offcut_mm": 500,
 "stock": [ {"id": "new-6000", "length_mm": 6000, "cost": "41.20", "quantity": null, "offcut_value_per_m": "3.40"},
  {"id": "rack-17", "length_mm": 1830, "cost": "6.22", "quantity": 1, "offcut_value_per_m": "3.40", "end_trim_mm": 0} ],
 "parts": [ {"id": "A1", "length_mm": 1234.5, "quantity": 4}, {"id": "M2", "length_mm": 900},
  {"id": "R1", "length_mm": 2400, "quantity": 2, "section_depth_mm": 100, "section_width_mm": 50, "may_flip": true,
   "ends": [{"angle_deg": 45, "plane": "width", "long_point": "top"}, {"angle_deg": 30.5, "plane": "depth", "long_point": "bottom"}]} ],
 "time_limit_ms": 1000 }"#;

const PANELS: &str = r#"{ "kerf_mm": 3.2, "edge_trim_mm": 5, "keep_offcut_mm": [300, 300], "cuts": "guillotine", "max_stages": 3,
 "stock": [ {"id": "ply", "length_mm": 2440, "width_mm": 1220, "cost": "62.00", "quantity": 4, "grain": "length", "offcut_value_per_m2": "8"} ],
 "parts": [ {"id": "D1", "length_mm": 1195, "width_mm": 600, "quantity": 3, "grain": "any"},
  {"id": "D2", "length_mm": 400, "width_mm": 300.5, "quantity": 2, "grain": "width"} ], "time_limit_ms": 2000 }"#;

const WORDS: [&str; 34] = [
    "0",
    "-1",
    "-0",
    "1",
    "0.05",
    "0.1",
    "1e400",
    "1e-400",
    "1e9",
    "1000000",
    "999999.9",
    "99999",
    "4294967295",
    "4294967296",
    "18446744073709551615",
    "9223372036854775807",
    "-9223372036854775808",
    "340282366920938463463374607431768211456",
    "NaN",
    "null",
    "true",
    "\"\"",
    "\"x\"",
    "\"1e5\"",
    "\"0.0001\"",
    "\"79228162514264337593543950335\"",
    "[]",
    "{}",
    "[[[[[[[[",
    "\\u0000",
    "\"\\ud800\"",
    "75",
    "90",
    "\u{feff}",
];

/// Changes some bytes or whole values of a text.
fn mutated(random: &mut Random, text: &str, other: &str) -> String {
    let mut bytes = text.as_bytes().to_vec();
    for _ in 0..random.int(1, 4) {
        let at = |random: &mut Random, bytes: &[u8]| random.int(0, bytes.len() as i64) as usize;
        let (a, b) = (at(random, &bytes), at(random, &bytes));
        let (from, to) = (a.min(b), a.max(b).min(a.min(b) + 60));
        match random.int(0, 9) {
            0 if from < bytes.len() => bytes[from] ^= 1 << random.int(0, 7),
            1 => bytes.insert(from, random.int(0, 255) as u8),
            2 => drop(bytes.drain(from..to)),
            3 => {
                let copy = bytes[from..to].to_vec();
                bytes.splice(to..to, copy);
            }
            4 => bytes.truncate(from.max(1)),
            5 => {
                let other = other.as_bytes();
                let start = random.int(0, other.len() as i64) as usize;
                bytes.splice(from..to, other[start..].iter().take(40).copied());
            }
            // A whole number or text is exchanged for another: the text stays well formed and the value is hostile.
            _ => {
                let values = values(&bytes);
                if let Some(&(from, to)) = values.get(random.int(0, values.len() as i64) as usize) {
                    bytes.splice(from..to, random.pick(&WORDS).bytes());
                }
            }
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

/// Where the values of a JSON text stand that are numbers, words or short texts.
fn values(bytes: &[u8]) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    let mut at = 0;
    while at < bytes.len() {
        let begin = at;
        let inside = |b: u8| b.is_ascii_alphanumeric() || b"+-.\"_".contains(&b);
        while at < bytes.len() && inside(bytes[at]) {
            at += 1;
        }
        // A name is followed by a colon and stays.
        if at > begin && bytes.get(at) != Some(&b':') {
            found.push((begin, at));
        }
        at += 1;
    }
    found
}

fn one_line(fault: &Fault) {
    assert!(!fault.to_string().contains('\n'), "{fault}");
}

/// What the three commands do with a text, on a small budget.
fn digest(text: &str, plans: &[String; 2], proofs: &[String]) {
    json::is_panels(text);
    let bar_plan = |plan: &str| json::read_bar_plan(plan).map_err(|fault| one_line(&fault)).ok();
    let panel_plan = |plan: &str| json::read_panel_plan(plan).map_err(|fault| one_line(&fault)).ok();
    match json::read_bars(text) {
        Err(fault) => one_line(&fault),
        Ok(read) => {
            match bars::solve(&read.problem, Budget::of_units(20_000), &mut unwatched) {
                Err(fault) => one_line(&fault),
                Ok(answer) => assert_eq!(check::bar_plan(&read.problem, &answer), Vec::<String>::new()),
            }
            for answer in [bar_plan(&plans[0]), bar_plan(text)].into_iter().flatten() {
                check::bar_plan(&read.problem, &answer);
                for proof in proofs {
                    match json::read_proof(proof) {
                        Err(fault) => one_line(&fault),
                        Ok(Proof::Bars(tree)) => drop(check::bar_proof(&read.problem, &answer, &tree)),
                        Ok(Proof::Panels(_)) => {}
                    }
                }
            }
        }
    }
    match json::read_panels(text) {
        Err(fault) => one_line(&fault),
        Ok(read) => {
            match panels::solve(&read.problem, Budget::of_units(20_000), &mut unwatched) {
                Err(fault) => one_line(&fault),
                Ok(answer) => assert_eq!(check::panel_plan(&read.problem, &answer), Vec::<String>::new()),
            }
            if let Some(answer) = panel_plan(&plans[1]) {
                check::panel_plan(&read.problem, &answer);
                for proof in proofs {
                    if let Ok(Proof::Panels(proof)) = json::read_proof(proof) {
                        drop(check::panel_proof(&read.problem, &answer, &proof));
                    }
                }
            }
        }
    }
}

#[test]
fn no_text_makes_readers_solvers_or_verifiers_panic() {
    let cases = if std::env::var_os("HITCHWRIGHT_LONG").is_some() { 100_000 } else { 3_000 };
    let bars = json::read_bars(BARS).unwrap().problem;
    let panels = json::read_panels(PANELS).unwrap().problem;
    let plans = [
        serde_json::to_string(&bars::solve(&bars, Budget::full(), &mut unwatched).unwrap()).unwrap(),
        serde_json::to_string(&panels::solve(&panels, Budget::full(), &mut unwatched).unwrap()).unwrap(),
    ];
    let proof = PROOF.replace("DIGEST", &hitchwright::domain::nesting::proof::digest(&bars));
    let texts = [BARS, PANELS, &plans[0], &plans[1], &proof];
    let mut read = 0;
    for seed in 0..cases {
        let mut random = Random::of("fuzz", seed);
        let which = random.int(0, 4) as usize;
        let changed = if seed % 50 == 0 {
            let bytes: Vec<u8> = (0..random.int(0, 300)).map(|_| random.int(0, 255) as u8).collect();
            String::from_utf8_lossy(&bytes).into_owned()
        } else {
            let other = *random.pick(&texts);
            mutated(&mut random, texts[which], other)
        };
        let or = |place: usize, text: &str| if which == place { changed.clone() } else { text.to_owned() };
        let problem = if which == 1 { changed.clone() } else { or(0, BARS) };
        read += u32::from(json::read_bars(&problem).is_ok() || json::read_panels(&problem).is_ok());
        let plans = [or(2, &plans[0]), or(3, &plans[1])];
        let proofs = if which == 4 { vec![changed.clone()] } else { vec![proof.clone()] };
        let calm = catch_unwind(AssertUnwindSafe(|| {
            digest(&problem, &plans, &proofs);
            // A mutated panel plan meets the panel problem that it was of.
            if which == 3 {
                digest(PANELS, &plans, &proofs);
            }
        }));
        assert!(calm.is_ok(), "seed {seed} panics with {changed}");
    }
    assert!(read > 0, "some of it is read");
    println!("{cases} texts, {read} of them problems that were read");
}

/// A proof of the problem above: closed by prices, split once by the bars of a kind.
const PROOF: &str = r#"{"bars":{"problem":"DIGEST","lengths_mm":[2401.5,1234.5,900.0],"kinds":[["new-6000"],["rack-17"]],
 "nodes":[{"split":{"kinds":[0],"holding":[[0,1]],"count":1,"at_most":1,"at_least":2}},
  {"prices":{"parts":[1500000000,800000000,600000000],"limits":[-100000000]}},"open"]}}"#;

/// Runs the program on a text from standard input, with an address space of so many kilobytes where there is `ulimit`.
fn command(arguments: &[&str], text: &str, kilobytes: u64) -> (Option<i32>, String) {
    let line = format!("ulimit -v {kilobytes}; exec \"$0\" \"$@\"");
    let mut child = Command::new("sh")
        .args(["-c", &line, env!("CARGO_BIN_EXE_hitchwright")])
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .expect("a shell");
    let mut input = child.stdin.take().expect("its input");
    let text = text.to_owned();
    // The program may refuse before it has read everything.
    let writer = std::thread::spawn(move || drop(input.write_all(text.as_bytes())));
    let output = child.wait_with_output().expect("its end");
    writer.join().expect("the writer");
    (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
}

#[test]
fn commands_end_with_their_exit_codes() {
    let cases = if std::env::var_os("HITCHWRIGHT_LONG").is_some() { 2_000 } else { 30 };
    for seed in 0..cases {
        let mut random = Random::of("commands", seed);
        for (name, text, other) in [("nest-bars", BARS, PANELS), ("nest-panels", PANELS, BARS)] {
            let text = mutated(&mut random, text, other);
            let (code, said) = command(&[name, "-", "--budget", "preview"], &text, 1_000_000);
            assert!(matches!(code, Some(0 | 2 | 3 | 4)), "{name} ends with {code:?}, {said}: {text}");
            assert_eq!(said.lines().count(), usize::from(code == Some(2)), "{said}: {text}");
        }
    }
}

/// As large as the limits of a problem allow: 1 km of bar in tenths, 20,000 different lines, 100,000 parts. The address
/// space is bound to 1.5 GB.
#[test]
fn the_largest_problems_stay_in_bounded_memory() {
    let bars = |stock: &[(f64, u32)], parts: usize, quantity: u32, step: f64| {
        let stock = stock.iter().enumerate();
        let stock: Vec<_> = stock.map(|(at, (mm, cost))| serde_json::json!({ "id": format!("S{at}"), "length_mm": mm, "cost": cost, "offcut_value_per_m": "0.0001" })).collect();
        let parts: Vec<_> = (0..parts).map(|at| serde_json::json!({ "id": format!("P{at}"), "length_mm": 0.1 + step * at as f64, "quantity": quantity })).collect();
        serde_json::json!({ "kerf_mm": 0.1, "keep_offcut_mm": 0.1, "stock": stock, "parts": parts, "time_limit_ms": 1500 }).to_string()
    };
    let hostile = [
        bars(&[(1_000_000.0, 1_000_000)], 1, 100_000, 0.1),
        bars(&[(1_000_000.0, 1_000_000), (999_999.9, 999_999)], 20_000, 5, 17.3),
        bars(&(1..500).map(|at| (900_000.0 + f64::from(at), 500_000 + at)).collect::<Vec<_>>(), 400, 20, 1_731.7),
        bars(&[(6_000.0, 40)], 10_000, 10, 0.5),
    ];
    for (at, text) in hostile.iter().enumerate() {
        let (code, said) = command(&["nest-bars", "-"], text, 1_500_000);
        assert!(matches!(code, Some(0 | 2 | 3 | 4)), "problem {at} ends with {code:?}: {said}");
    }
    let part = |length: f64, width: f64, quantity: u32, at: usize| serde_json::json!({ "id": format!("P{at}"), "length_mm": length, "width_mm": width, "quantity": quantity });
    let panels = |parts: Vec<serde_json::Value>| {
        let sheet = serde_json::json!({ "id": "S", "length_mm": 100_000, "width_mm": 100_000, "cost": 1_000_000, "offcut_value_per_m2": "0.0001" });
        serde_json::json!({ "kerf_mm": 0.1, "stock": [sheet], "parts": parts, "time_limit_ms": 1500 }).to_string()
    };
    let hostile = [
        panels(vec![part(0.1, 0.1, 10_000, 0)]),
        panels((0..5_000).map(|at| part(10.0 + at as f64 * 17.7, 33.3 + at as f64 * 7.9, 2, at)).collect()),
        panels((0..60).map(|at| part(30_001.3 - at as f64 * 77.7, 20_003.3 + at as f64 * 7.9, 1, at)).collect()),
    ];
    for (at, text) in hostile.iter().enumerate() {
        let (code, said) = command(&["nest-panels", "-"], text, 1_500_000);
        assert!(matches!(code, Some(0 | 2 | 3 | 4)), "panel problem {at} ends with {code:?}: {said}");
    }
}
