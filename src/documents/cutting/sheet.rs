//! Sheets to scale with their cuts numbered, and the fence settings of the cuts.

use super::hatch;
use crate::{
    documents::{
        Letters,
        drawing::{Drawing, Ink, Spot, width_of},
    },
    domain::{
        measure::{Units, show_length},
        nesting::panels::{self, Axis, Cut, PartGrain, Sheet, SheetGrain},
    },
};

/// So many heights of text go along a sheet.
const fn texts_along_sheet(letters: Letters) -> f64 {
    match letters {
        Letters::Usual => 36.0,
        Letters::Large => 24.0,
    }
}

/// One cut at a panel saw.
#[derive(Clone, Debug, PartialEq)]
pub struct Fence {
    /// The piece that is cut: length and width as they lie on the sheet.
    pub piece_mm: [f64; 2],
    /// Across the sheet's length rather than along it.
    pub across: bool,
    /// From the edge of the piece that lies left or below in the drawing to the near side of the kerf.
    pub fence_mm: f64,
}

/// The cuts in sawing order, the trim of the edges first; none in a free plan.
pub fn fences(problem: &panels::Problem, sheet: &Sheet) -> Vec<Fence> {
    let fence = |cut: &Sawing| {
        let [x, y, length, width] = cut.piece;
        let start = if cut.across { x } else { y };
        Fence { piece_mm: [length, width], across: cut.across, fence_mm: (cut.at - start).max(0.0) }
    };
    sawing(problem, sheet).iter().map(fence).collect()
}

/// A cut on the untrimmed sheet in millimetres: the piece as [x, y, length, width], and where its kerf begins.
struct Sawing {
    piece: [f64; 4],
    across: bool,
    at: f64,
}

/// All cuts. The edges are trimmed so that the direction of the first cut proper comes last: one turn less.
fn sawing(problem: &panels::Problem, sheet: &Sheet) -> Vec<Sawing> {
    let planned =
        |cut: &Cut| Sawing { piece: cut.piece.map(|tenths| tenths.mm()), across: cut.axis == Axis::X, at: cut.at.mm() };
    let stock = problem.stock.iter().find(|stock| stock.id == sheet.stock);
    let (trim, kerf) = (problem.edge_trim.mm(), problem.kerf.mm());
    let mut all = Vec::with_capacity(sheet.cuts.len() + 4);
    if let (Some(stock), Some(first)) = (stock, sheet.cuts.first())
        && trim > 0.0
    {
        let mut piece = [0.0, 0.0, stock.length.mm(), stock.width.mm()];
        for across in [first.axis != Axis::X, first.axis == Axis::X] {
            let (start, size) = if across { (0, 2) } else { (1, 3) };
            // The trim contains the kerf, which may run off the edge.
            all.push(Sawing { piece, across, at: trim - kerf });
            piece[start] += trim;
            piece[size] -= trim;
            all.push(Sawing { piece, across, at: piece[start] + piece[size] - trim });
            piece[size] -= trim;
        }
    }
    all.extend(sheet.cuts.iter().map(planned));
    all
}

/// One sheet of the plan with its cuts numbered in order. A number that has no room stands in the list of cuts alone.
pub fn sheet_picture(problem: &panels::Problem, sheet: &Sheet, units: Units, letters: Letters) -> Drawing {
    let stock = problem.stock.iter().find(|stock| stock.id == sheet.stock);
    let (length, width) = stock.map_or((0.0, 0.0), |stock| (stock.length.mm(), stock.width.mm()));
    let show = |mm: f64| show_length(mm, units);
    let text = (length.max(width) / texts_along_sheet(letters)).max(1.0);
    let mut drawing = Drawing::new(format!("{} × {}", sheet.count, sheet.stock));
    let listed = sheet
        .placed
        .iter()
        .map(|placed| format!("{} {} × {}", placed.part, show(placed.length.mm()), show(placed.width.mm())));
    drawing.description =
        format!("On a sheet of {} × {}: {}.", show(length), show(width), listed.collect::<Vec<_>>().join(", "));
    // y of the plan runs up from the lower left corner, y of a drawing down.
    let corner = |x: f64, y: f64, tall: f64| [x, width - y - tall];
    drawing.rectangle(Ink::Scrap, [0.0, 0.0], [length, width], Some("scrap".into()));
    hatch(&mut drawing, [0.0, 0.0], [length, width], text * 1.5);
    for rest in sheet.remainders.iter().filter(|rest| rest.kept) {
        let size = [rest.length.mm(), rest.width.mm()];
        let words = format!("keep {} × {}", show(size[0]), show(size[1]));
        lay(&mut drawing, Ink::Kept, corner(rest.x.mm(), rest.y.mm(), size[1]), size, text, [&words, "keep"]);
    }
    let grain = stock.map_or(SheetGrain::None, |stock| stock.grain);
    let arrow = match grain {
        SheetGrain::Length => " ↔",
        SheetGrain::Width => " ↕",
        SheetGrain::None => "",
    };
    for placed in &sheet.placed {
        let size = [placed.length.mm(), placed.width.mm()];
        let minds = problem.parts.iter().any(|part| part.id == placed.part && part.grain != PartGrain::Any);
        let mark = format!("{}{}", placed.part, if minds { arrow } else { "" });
        let words = format!("{mark} {} × {}", show(size[0]), show(size[1]));
        lay(&mut drawing, Ink::Part, corner(placed.x.mm(), placed.y.mm(), size[1]), size, text, [&words, &mark]);
    }
    number_cuts(&mut drawing, &sawing(problem, sheet), width, text * 0.8);
    let runs = match grain {
        SheetGrain::Length => ", grain ↔",
        SheetGrain::Width => ", grain ↕",
        SheetGrain::None => "",
    };
    drawing.text(
        Ink::Note,
        [length / 2.0, width + text],
        text,
        format!("{}: {} × {}{runs}", sheet.stock, show(length), show(width)),
    );
    drawing
}

fn lay(drawing: &mut Drawing, ink: Ink, at: Spot, size: Spot, text: f64, words: [&str; 2]) {
    drawing.rectangle(ink, at, size, Some(words[0].to_owned()));
    drawing.label([at[0] + size[0] / 2.0, at[1] + size[1] / 2.0], size, text, &words);
}

/// Each cut as a dashed line through its piece, with its number at the first place along it where no other words stand.
fn number_cuts(drawing: &mut Drawing, cuts: &[Sawing], sheet_width: f64, text: f64) {
    let mut taken = drawing.boxes_of_text();
    for (nth, cut) in cuts.iter().enumerate() {
        let ([x, y, length, width], at) = (cut.piece, cut.at);
        let (from, to) = if cut.across {
            ([at, sheet_width - y], [at, sheet_width - y - width])
        } else {
            ([x, sheet_width - at], [x + length, sheet_width - at])
        };
        drawing.line(Ink::Centre, from, to);
        let words = (nth + 1).to_string();
        let half = [width_of(&words, text) * 0.6, text * 0.6];
        for share in [0.06, 0.94, 0.18, 0.82, 0.3, 0.7, 0.42, 0.58] {
            let spot = [from[0] + (to[0] - from[0]) * share, from[1] + (to[1] - from[1]) * share];
            let room = [spot[0] - half[0], spot[1] - half[1], spot[0] + half[0], spot[1] + half[1]];
            if taken.iter().all(|other| apart(&room, other)) {
                drawing.text(Ink::Note, spot, text, words);
                taken.push(room);
                break;
            }
        }
    }
}

fn apart(one: &[f64; 4], other: &[f64; 4]) -> bool {
    one[0] >= other[2] || other[0] >= one[2] || one[1] >= other[3] || other[1] >= one[3]
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::domain::{
        measure::Tenths,
        nesting::{Budget, unwatched},
    };

    fn problem(parts: &[(i64, i64, u32)]) -> panels::Problem {
        let part = |(nth, (length, width, quantity)): (usize, &(i64, i64, u32))| panels::Part {
            id: format!("S{}", nth + 1),
            length: Tenths(length * 10),
            width: Tenths(width * 10),
            quantity: *quantity,
            grain: PartGrain::Any,
        };
        let stock = panels::Stock {
            id: "new".into(),
            length: Tenths(25_000),
            width: Tenths(12_500),
            cost: None,
            quantity: None,
            grain: SheetGrain::Length,
            offcut_value_per_m2: Default::default(),
        };
        panels::Problem {
            kerf: Tenths(30),
            edge_trim: Tenths(100),
            keep_offcut: [Tenths(5_000), Tenths(3_000)],
            cuts: panels::CutClass::Guillotine,
            max_stages: None,
            stock: vec![stock],
            parts: parts.iter().enumerate().map(part).collect(),
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, cases: 32, ..ProptestConfig::default() })]

        /// Words keep clear of each other, and every fence stands inside the piece that it cuts.
        #[test]
        fn words_keep_clear_and_fences_stand_on_their_piece(
            parts in proptest::collection::vec((60_i64..1200, 60_i64..1200, 1_u32..4), 1..6)
        ) {
            let problem = problem(&parts);
            let answer = panels::solve(&problem, Budget::preview(), &mut unwatched).unwrap();
            for sheet in &answer.plan {
                // Trim 10 mm and kerf 3 mm: 7 mm go with the first edge, the sheet less both trims is left for the last one.
                let trims: Vec<f64> = fences(&problem, sheet).iter().take(4).map(|fence| fence.fence_mm).collect();
                prop_assert!(sheet.cuts.is_empty() || trims == [7.0, 1230.0, 7.0, 2480.0] || trims == [7.0, 2480.0, 7.0, 1230.0]);
                for letters in [Letters::Usual, Letters::Large] {
                    let boxes = sheet_picture(&problem, sheet, Units::Metric, letters).boxes_of_text();
                    for (at, one) in boxes.iter().enumerate() {
                        for other in &boxes[at + 1..] {
                            prop_assert!(apart(one, other), "{one:?} upon {other:?}");
                        }
                    }
                }
                for fence in fences(&problem, sheet) {
                    let along = fence.piece_mm[usize::from(!fence.across)];
                    prop_assert!(fence.fence_mm >= 0.0 && fence.fence_mm <= along, "{fence:?}");
                }
            }
        }
    }
}
