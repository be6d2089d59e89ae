//! Which parts cannot be placed together, and how much is missing.
//!
//! Of each measure that the sheets fall short of, the parts that have most of it are the fewest that are already too much.
//! That set, or all parts where only a search proved it, is then made smaller line by line while a short search still
//! proves it impossible.

use super::{
    Problem,
    bound::Weighed,
    model::{Model, SCALE},
    search::{self, Found},
};
use crate::nesting::{Budget, Meter, Unplaced, unwatched};

/// Attempts to make a set smaller, the work of each, and the least budget of a caller who wants to know.
const TRIES: u32 = 60;
const UNITS: u64 = 200_000;
const WORTH: u64 = 1_000_000;
/// More further sheets than this are not tried out.
const MOST_MORE: u32 = 3;

/// Parts that no plan holds together.
pub(super) struct Lacking {
    /// How many of each type.
    pub parts: Vec<u32>,
    pub why: Why,
}

pub(super) enum Why {
    /// Each of them is too large for every sheet.
    Large,
    /// Square tenths that are missing for all parts, kerf included.
    Area(i128),
    /// Sheets of the largest kind that all parts need at least, and how many there are.
    Sheets { needed: i128, there: i128 },
    /// No way of cutting gives them.
    Searched,
}

/// The fewest parts that are too much for the sheets in one of these measures, of which the first is the area; `None` where
/// the sheets suffice in each.
pub(super) fn too_much(model: &Model, measures: &[Weighed]) -> Option<Lacking> {
    let count = |parts: &[u32]| parts.iter().sum::<u32>();
    let mut fewest: Option<Lacking> = None;
    for (nth, measure) in measures.iter().enumerate() {
        let held: i128 = measure.capacity.iter().zip(&model.kinds).map(|(c, k)| c * i128::from(k.quantity)).sum();
        if held >= measure.demand {
            continue;
        }
        let mut order: Vec<usize> = (0..model.types.len()).collect();
        order.sort_by_key(|&t| std::cmp::Reverse(measure.each[t]));
        let (mut parts, mut sum) = (vec![0; model.types.len()], 0);
        for t in order {
            while sum <= held && parts[t] < model.types[t].demand {
                parts[t] += 1;
                sum += measure.each[t];
            }
        }
        if fewest.as_ref().is_none_or(|found| count(&parts) < count(&found.parts)) {
            let largest = measure.capacity.iter().max().copied().unwrap_or(1).max(1);
            let there: i128 = model.kinds.iter().map(|k| i128::from(k.quantity)).sum();
            let needed = ((measure.demand + largest - 1) / largest).max(there + 1);
            let why = if nth == 0 { Why::Area(measure.demand - held) } else { Why::Sheets { needed, there } };
            fewest = Some(Lacking { parts, why });
        }
    }
    fewest
}

/// The parts by name, made fewer where the budget is worth it, and why they cannot be placed.
pub(super) fn named(problem: &Problem, model: &Model, lacking: &Lacking, budget: Budget) -> Vec<Unplaced> {
    let mut few = problem.clone();
    few.parts.iter_mut().for_each(|part| part.quantity = 0);
    for (t, &quantity) in model.types.iter().zip(&lacking.parts) {
        let mut quantity = quantity;
        for &(place, have) in &t.parts {
            few.parts[place].quantity = have.min(quantity);
            quantity -= have.min(quantity);
        }
    }
    let together = !matches!(lacking.why, Why::Large);
    let worth = together && budget.units() >= WORTH;
    if worth {
        lessen(&mut few);
    }
    let count: u64 = few.parts.iter().map(|part| u64::from(part.quantity)).sum();
    let cannot = match count {
        1 => "this part cannot be placed".to_owned(),
        _ => format!("these {count} parts cannot be placed together"),
    };
    let why = match lacking.why {
        Why::Large => "larger than any stock, in every way it may lie".to_owned(),
        Why::Area(missing) => {
            format!("{cannot}; for all parts {} mm² of sheet (with kerf) are missing", (missing + 99) / 100)
        }
        Why::Sheets { needed, there } => {
            let missing = needed - there;
            format!("{cannot}; all parts need {needed} sheets of the largest, {missing} more than there are")
        }
        Why::Searched => match more(problem).filter(|_| worth) {
            Some((id, n)) => {
                format!("{cannot}, however the sheets are cut; {n} more of \"{id}\" would do for all parts")
            }
            None => format!("{cannot}, however the sheets are cut"),
        },
    };
    let left = few.parts.into_iter().filter(|part| part.quantity > 0);
    left.map(|part| Unplaced { part: part.id, quantity: part.quantity, why: why.clone() }).collect()
}

/// Leaves out lines, or parts of a line, while the rest cannot be placed; the smallest first, which are the likeliest not to
/// matter.
fn lessen(few: &mut Problem) {
    let mut order: Vec<usize> = (0..few.parts.len()).filter(|&at| few.parts[at].quantity > 0).collect();
    order.sort_by_key(|&at| few.parts[at].length.0 * few.parts[at].width.0);
    let mut tries = 0;
    for at in order {
        let all = few.parts[at].quantity;
        for quantity in [0].into_iter().chain((1..all).rev()) {
            tries += 1;
            if tries > TRIES {
                return;
            }
            let before = std::mem::replace(&mut few.parts[at].quantity, quantity);
            let impossible = matches!(solved(few), Some(Found::Infeasible(_)));
            if !impossible {
                few.parts[at].quantity = before;
            }
            // Without the line at all it is settled; with one part less it goes on until the rest fits.
            if (quantity == 0) == impossible {
                break;
            }
        }
    }
}

/// How many further sheets of the largest limited kind would do.
fn more(problem: &Problem) -> Option<(&str, u32)> {
    let limited = problem.stock.iter().enumerate().filter(|(_, stock)| stock.quantity.is_some());
    let (at, largest) = limited.max_by_key(|(_, stock)| stock.length.0 * stock.width.0)?;
    (1..=MOST_MORE).find_map(|n| {
        let mut richer = problem.clone();
        richer.stock[at].quantity = largest.quantity.map(|there| there.saturating_add(n));
        matches!(solved(&richer), Some(Found::Plan { .. })).then_some((largest.id.as_str(), n))
    })
}

fn solved(problem: &Problem) -> Option<Found> {
    let model = Model::new(problem).ok()?;
    let mut never = unwatched;
    let found = search::run(&model, &mut Meter::new(Budget::of_units(UNITS), SCALE, &mut never));
    // Without parts there is a plan.
    Some(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::nesting::{Status, check, panels};

    fn told(text: &str) -> Vec<(String, u32, String)> {
        let read = crate::nesting::json::read_panels(text).unwrap();
        let answer = panels::solve(&read.problem, Budget::full(), &mut unwatched).unwrap();
        assert_eq!(check::panel_plan(&read.problem, &answer), Vec::<String>::new());
        assert_eq!(answer.status, Status::Infeasible);
        answer.unplaced.into_iter().map(|one| (one.part, one.quantity, one.why)).collect()
    }

    /// By hand: two sheets of 1 m² for 3 × 0.72 m² and small parts. Three large parts are too much by area, 2.16 over 2; with
    /// six of 0.01 m² 2.22 m² are asked for, 0.22 m² more than there are. Of the large ones no two share a sheet.
    #[test]
    fn too_little_area_names_the_parts_that_are_too_much() {
        let lines = told(
            r#"{"kerf_mm": 0, "stock": [{"id": "S", "length_mm": 1000, "width_mm": 1000, "quantity": 2}],
                "parts": [{"id": "small", "length_mm": 100, "width_mm": 100, "quantity": 6},
                          {"id": "large", "length_mm": 900, "width_mm": 800, "quantity": 3}]}"#,
        );
        let why = "these 3 parts cannot be placed together; for all parts 220000 mm² of sheet (with kerf) are missing";
        assert_eq!(lines, [("large".to_owned(), 3, why.to_owned())]);
    }

    /// By hand: parts of 600 × 600 take a sheet of 1 m² each, four of them three sheets too many; their area would fit.
    #[test]
    fn too_few_sheets_are_counted() {
        let lines = told(
            r#"{"kerf_mm": 0, "stock": [{"id": "S", "length_mm": 1000, "width_mm": 1000, "quantity": 2}],
                "parts": [{"id": "A", "length_mm": 600, "width_mm": 600, "quantity": 4}]}"#,
        );
        let why =
            "these 3 parts cannot be placed together; all parts need 4 sheets of the largest, 2 more than there are";
        assert_eq!(lines, [("A".to_owned(), 3, why.to_owned())]);
    }

    /// By hand: the pinwheel's four arms of 3 × 2 go on one sheet of 5 × 5 freely, not by cuts from edge to edge, though any
    /// three do; the small part has nothing to do with it. A second sheet takes what is left.
    #[test]
    fn a_search_names_the_fewest_it_finds() {
        let lines = told(
            r#"{"cuts": "guillotine", "stock": [{"id": "S", "length_mm": 5, "width_mm": 5, "quantity": 1}],
                "parts": [{"id": "A", "length_mm": 3, "width_mm": 2, "quantity": 4}, {"id": "B", "length_mm": 1, "width_mm": 1}]}"#,
        );
        let why = "these 4 parts cannot be placed together, however the sheets are cut; 1 more of \"S\" would do for all parts";
        assert_eq!(lines, [("A".to_owned(), 4, why.to_owned())]);
    }
}
