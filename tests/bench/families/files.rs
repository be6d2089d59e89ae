//! Problems from files and to files: the JSON of `nest-bars` and `nest-panels`, and the text forms in which the published
//! problems go around. Those files are not ours to ship; where somebody has them, `--problems` reads them.
//!
//! Told apart by how many numbers follow, n kinds and (for bars) the capacity first:
//!
//! | numbers | form |
//! | --- | --- |
//! | n, capacity, n weights | bin packing |
//! | n, capacity, n × (weight, demand) | cutting stock |
//! | n, height, width, n × (height, width) | rectangles, guillotine, not turned |
//! | n, height, width, n × (height, width, demand) | the same with demands |
//! | problems, then for each: name, capacity, n, best known, n weights | many in one file |

use std::{fs, path::Path};

use hitchwright_domain::{
    measure::{Money, Tenths},
    nesting::{bars, json, panels},
};
use serde_json::{Value, json};

use super::problem::{Problem, What, identical};

/// Every problem in a file, or in the files of a folder (not below it), by name.
pub fn read(path: &Path) -> Result<Vec<Problem>, String> {
    let family = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    if !path.is_dir() {
        return read_file(path, &family);
    }
    let entries = fs::read_dir(path).map_err(|why| format!("{}: {why}", path.display()))?;
    let mut files: Vec<_> =
        entries.filter_map(|entry| Some(entry.ok()?.path())).filter(|file| file.is_file()).collect();
    files.sort();
    let mut problems = Vec::new();
    for file in files {
        problems.extend(read_file(&file, &family)?);
    }
    Ok(problems)
}

fn read_file(path: &Path, family: &str) -> Result<Vec<Problem>, String> {
    let in_file = |why: &dyn std::fmt::Display| format!("{}: {why}", path.display());
    let text = fs::read_to_string(path).map_err(|why| in_file(&why))?;
    let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    if path.extension().is_some_and(|extension| extension == "json") {
        let what = if json::is_panels(&text) {
            What::Panels(json::read_panels(&text).map_err(|why| in_file(&why))?.problem)
        } else {
            What::Bars(json::read_bars(&text).map_err(|why| in_file(&why))?.problem)
        };
        return Ok(vec![Problem { family: family.into(), name, what, least: None }]);
    }
    published(&text, family, &name).map_err(|why| in_file(&why))
}

/// Reads one of the published text forms.
pub fn published(text: &str, family: &str, name: &str) -> Result<Vec<Problem>, String> {
    let words: Vec<&str> = text.split_whitespace().collect();
    if words.get(1).is_some_and(|word| word.parse::<f64>().is_err()) {
        return many(&words, family);
    }
    let numbers: Vec<i64> = words.iter().map(|word| whole(word)).collect::<Result<_, _>>()?;
    let Some((&n, rest)) = numbers.split_first() else { return Err("is empty".into()) };
    let n = usize::try_from(n).map_err(|_| format!("{n} weights"))?;
    let problem = match rest {
        [capacity, weights @ ..] if weights.len() == n => {
            identical(family, name.into(), *capacity, weights.iter().copied())
        }
        [capacity, pairs @ ..] if pairs.len() == 2 * n => {
            let weights = pairs.chunks(2).flat_map(|pair| std::iter::repeat_n(pair[0], pair[1].max(0) as usize));
            identical(family, name.into(), *capacity, weights)
        }
        [height, width, sides @ ..] if sides.len() == 2 * n => {
            rectangles(family, name, (*height, *width), sides.chunks(2).map(|side| (side[0], side[1], 1)))
        }
        [height, width, sides @ ..] if sides.len() == 3 * n => {
            rectangles(family, name, (*height, *width), sides.chunks(3).map(|side| (side[0], side[1], side[2])))
        }
        _ => return Err(format!("{} numbers after the first, {n}, are none of the known forms", rest.len())),
    };
    Ok(vec![problem])
}

fn whole(word: &str) -> Result<i64, String> {
    word.parse().map_err(|_| format!("\"{word}\" is not a whole number"))
}

fn many(words: &[&str], family: &str) -> Result<Vec<Problem>, String> {
    let mut words = words.iter().skip(1);
    let mut problems = Vec::new();
    while let Some(name) = words.next() {
        let mut next = |what: &str| words.next().ok_or_else(|| format!("{name}: {what} is missing"));
        // Capacities and weights may be written as 150.0, and with tenths in the triplets.
        let tenths = |word: &str| {
            word.parse::<f64>().map_err(|_| format!("\"{word}\" is not a number")).map(|n| (n * 10.0).round() as i64)
        };
        let capacity = tenths(next("capacity")?)?;
        let n = whole(next("number of weights")?)?;
        // The best known plan is not always the least: nothing is held against it.
        next("best known")?;
        let weights = (0..n).map(|_| tenths(next("a weight")?)).collect::<Result<Vec<_>, _>>()?;
        problems.push(identical(family, (*name).into(), capacity, weights));
    }
    Ok(problems)
}

/// Rectangles on equal sheets that cost nothing but their number, guillotine, as drawn.
pub fn rectangles(
    family: &str,
    name: &str,
    (height, width): (i64, i64),
    parts: impl Iterator<Item = (i64, i64, i64)>,
) -> Problem {
    let parts = parts.enumerate().map(|(at, (height, width, demand))| panels::Part {
        id: format!("R{}", at + 1),
        length: Tenths(width * 10),
        width: Tenths(height * 10),
        quantity: demand.max(0) as u32,
        grain: panels::PartGrain::Length,
    });
    let sheet = panels::Stock {
        id: "sheet".into(),
        length: Tenths(width * 10),
        width: Tenths(height * 10),
        cost: None,
        quantity: None,
        grain: panels::SheetGrain::Length,
        offcut_value_per_m2: Money::ZERO,
    };
    let problem = panels::Problem {
        kerf: Tenths(0),
        edge_trim: Tenths(0),
        keep_offcut: [Tenths(0); 2],
        cuts: panels::CutClass::Guillotine,
        max_stages: None,
        stock: vec![sheet],
        parts: parts.collect(),
    };
    Problem { family: family.into(), name: name.into(), what: What::Panels(problem), least: None }
}

/// A problem as the commands read it.
pub fn written(problem: &What) -> Value {
    match problem {
        What::Bars(problem) => written_bars(problem),
        What::Panels(problem) => written_panels(problem),
    }
}

fn written_bars(problem: &bars::Problem) -> Value {
    let stock = problem.stock.iter().map(|s| {
        let mut line = json!({ "id": s.id, "length_mm": s.length, "quantity": s.quantity, "offcut_value_per_m": s.offcut_value_per_m });
        if let Some(cost) = s.cost {
            line["cost"] = json!(cost);
        }
        if let Some(trim) = s.end_trim {
            line["end_trim_mm"] = json!(trim);
        }
        line
    });
    let parts = problem.parts.iter().map(|p| {
        let mut line = json!({ "id": p.id, "length_mm": p.length, "quantity": p.quantity });
        if let Some(mitre) = &p.mitre {
            line["section_depth_mm"] = json!(mitre.section_depth);
            line["section_width_mm"] = json!(mitre.section_width);
            line["may_flip"] = json!(mitre.may_flip);
            line["ends"] = json!(mitre.ends);
        }
        line
    });
    json!({
        "kerf_mm": problem.kerf, "end_trim_mm": problem.end_trim, "keep_offcut_mm": problem.keep_offcut,
        "stock": stock.collect::<Vec<_>>(), "parts": parts.collect::<Vec<_>>(),
    })
}

fn written_panels(problem: &panels::Problem) -> Value {
    let stock = problem.stock.iter().map(|s| {
        let mut line = json!({
            "id": s.id, "length_mm": s.length, "width_mm": s.width, "quantity": s.quantity, "grain": s.grain,
            "offcut_value_per_m2": s.offcut_value_per_m2,
        });
        if let Some(cost) = s.cost {
            line["cost"] = json!(cost);
        }
        line
    });
    let parts = problem.parts.iter().map(
        |p| json!({ "id": p.id, "length_mm": p.length, "width_mm": p.width, "quantity": p.quantity, "grain": p.grain }),
    );
    json!({
        "kerf_mm": problem.kerf, "edge_trim_mm": problem.edge_trim, "keep_offcut_mm": problem.keep_offcut,
        "cuts": problem.cuts, "max_stages": problem.max_stages,
        "stock": stock.collect::<Vec<_>>(), "parts": parts.collect::<Vec<_>>(),
    })
}
