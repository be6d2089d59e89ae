//! Part drawings: each mark of the cut list on a sheet of its own. Bars are seen from the side with both ends as they are cut and
//! holes at their places; flat parts lie with their folds laid out.

use std::fmt::Display;

use super::{
    CAPITAL_MM, Facts, PaperSize, SCALES, Sheet,
    frame::{self, Titled},
    view::View,
};
use crate::{
    documents::{
        dimension::{Dimension, Side},
        drawing::{Drawing, Ink, Spot},
        shape_of_panel::outlines,
    },
    domain::{
        estimate::Estimate,
        measure::{Grouping, Length, show_number},
        steel::sheet_mass_kg_per_m2,
        trailer::{BarPart, CutPlane, EndCut, Face, LongPoint, Member, Panel, SheetPart},
    },
};

/// A flat part of the cut list by its mark, as it is drawn; none where there is no such part.
pub fn flat_part<'e>(estimate: &'e Estimate, mark: &str) -> Option<&'e Panel> {
    flat_parts(estimate).into_iter().find(|(part, _)| part.id == mark).map(|(_, panel)| panel)
}

/// Every flat part of the cut list with the first panel that is cut like it.
pub fn flat_parts(estimate: &Estimate) -> Vec<(&SheetPart, &Panel)> {
    let parts = estimate.take_off.sheets.iter().flat_map(|demand| demand.parts.iter().map(move |part| (demand, part)));
    let drawn = parts.filter_map(|(demand, part)| {
        let alike = |panel: &&Panel| {
            panel.mark == mark_of(&part.id)
                && [panel.length, panel.width] == [part.length, part.width]
                && panel.material == demand.material
                && Length::from_mm(panel.thickness_mm) == demand.thickness
        };
        estimate.trailer.panels.iter().find(alike).map(|panel| (part, panel))
    });
    drawn.collect()
}

fn bars(estimate: &Estimate) -> Vec<(&BarPart, &Member)> {
    let parts = estimate.take_off.bars.iter().flat_map(|demand| &demand.parts);
    let drawn = parts.filter_map(|part| {
        let alike = |member: &&Member| member.mark == mark_of(&part.id) && member.length == part.length;
        estimate.trailer.members.iter().find(alike).map(|member| (part, member))
    });
    drawn.collect()
}

/// One mark may stand for several sizes: `P3/2` is the second of them.
fn mark_of(id: &str) -> &str {
    id.split('/').next().unwrap_or(id)
}

/// Every part of the cut list, bars first.
pub fn part_sheets(estimate: &Estimate, facts: &Facts, paper: PaperSize) -> Vec<Sheet> {
    let (bars, flat) = (bars(estimate), flat_parts(estimate));
    let of = bars.len() + flat.len();
    let mut sheets = Vec::with_capacity(of);
    for (part, member) in bars {
        let notes = bar_notes(part, member, facts);
        let title = title(facts, &part.id, &format!("member-{}", part.role.word()), part.quantity);
        let metre = member.section.mass_kg_per_m(member.grade.density_kg_per_m3());
        let mass = facts.mass(metre * member.mean_length_mm() / 1000.0);
        sheets.push(sheet(
            &bar_view(member, facts),
            facts,
            paper,
            &part.id,
            Titled { title, series: 'P', nth: sheets.len() + 1, of, mass, notes: &notes },
        ));
    }
    for (part, panel) in flat {
        let notes = flat_notes(part, panel, facts);
        let title = title(facts, &part.id, &format!("panel-{}", part.role.word()), part.quantity);
        let square = sheet_mass_kg_per_m2(panel.material, Length::from_mm(panel.thickness_mm));
        let mass = facts.mass(square * panel.area_mm2() / 1e6);
        sheets.push(sheet(
            &flat_view(panel, facts),
            facts,
            paper,
            &part.id,
            Titled { title, series: 'P', nth: sheets.len() + 1, of, mass, notes: &notes },
        ));
    }
    sheets
}

fn sheet(view: &View, facts: &Facts, paper: PaperSize, mark: &str, titled: Titled<'_>) -> Sheet {
    let [left, top, right, bottom] = frame::room(paper);
    let fits = |scale: &f64| {
        let [wide, tall] = view.lay_out(*scale, CAPITAL_MM).size();
        wide <= right - left && tall <= bottom - top
    };
    let scale = SCALES.into_iter().find(fits).unwrap_or(SCALES[SCALES.len() - 1]);
    let laid_out = view.lay_out(scale, CAPITAL_MM);
    let described = format!("{}. {}", titled.title, titled.notes.join(". "));
    let mut sheet = frame::blank(paper, scale, mark.to_owned(), described);
    let [wide, tall] = laid_out.size();
    let at =
        [left + (right - left - wide) / 2.0 - laid_out.reach[0], top + (bottom - top - tall) / 2.0 - laid_out.reach[1]];
    sheet.measured = laid_out.draw(&mut sheet.drawing, at);
    frame::finish(&mut sheet, facts, &titled);
    sheet.narrow = vec![view.narrow()];
    sheet
}

fn title(facts: &Facts, mark: &str, what: &str, count: impl Display) -> String {
    facts.say("sheet-part").with("mark", mark).with("what", facts.say(what)).with("count", count).text()
}

fn dimension([from, to]: [f64; 2], starts: [f64; 2], facts: &Facts) -> Dimension {
    let value_mm = (to - from).abs();
    Dimension { from, to, starts, value_mm, text: facts.figure(value_mm) }
}

/// The face that the ends' cuts cross: from the side for cuts across the depth, from above for cuts across the width.
fn bar_view(member: &Member, facts: &Facts) -> View {
    let tilted = member.cuts.iter().find(|cut| cut.angle_deg.abs() > 0.01);
    let plane = tilted.map_or(CutPlane::Depth, |cut| cut.plane);
    let side = match plane {
        CutPlane::Depth => member.section.depth_mm(),
        CutPlane::Width => member.section.width_mm(),
    };
    let length = member.length.mm();
    let half = side / 2.0;
    // Seen with the top of the plane up.
    let back = |cut: &EndCut, up: bool| {
        let long = (cut.long_point == LongPoint::Top) == up;
        if cut.plane != plane || long { 0.0 } else { side * cut.angle_deg.to_radians().tan() }
    };
    let [from, to] = &member.cuts;
    let points = vec![
        [back(from, true), -half],
        [length - back(to, true), -half],
        [length - back(to, false), half],
        [back(from, false), half],
    ];
    let mut shapes = Drawing::default();
    let corners = points.clone();
    shapes.polygon(Ink::Panel, points, Some(member.section.to_string()));
    shapes.line(Ink::Centre, [-0.01 * length, 0.0], [1.01 * length, 0.0]);
    let mut below: Vec<Dimension> = Vec::new();
    for hole in &member.holes {
        // Seen from above with the left up, or from the right-hand side with the top up.
        let flat = match plane {
            CutPlane::Depth => matches!(hole.face, Face::Left | Face::Right),
            CutPlane::Width => matches!(hole.face, Face::Top | Face::Bottom),
        };
        let title = facts
            .say("sheet-hole-for")
            .with("diameter", facts.length(hole.diameter_mm))
            .with("purpose", facts.say(format!("hole-{}", hole.purpose.word())))
            .text();
        let radius = hole.diameter_mm / 2.0;
        if flat {
            shapes.circle(Ink::Panel, [hole.along_mm, -hole.across_mm], radius, Some(title));
        } else {
            for edge in [hole.along_mm - radius, hole.along_mm + radius] {
                shapes.line(Ink::Hidden, [edge, -half], [edge, half]);
            }
        }
        if below.iter().all(|known| (known.to - hole.along_mm).abs() > 0.05) {
            below.push(dimension([0.0, hole.along_mm], [half; 2], facts));
        }
    }
    // Many holes are told in the notes; a chain of all would hide the part.
    below.truncate(MOST_HOLES);
    let long = if corners[0][0].min(corners[3][0]) == corners[0][0] { -half } else { half };
    below.push(dimension([0.0, length], [long.max(0.0), half], facts));
    let mut rows = vec![
        (Side::Below, below),
        (Side::Right, vec![dimension([-half, half], [corners[1][0], corners[2][0]], facts)]),
    ];
    let short: Vec<Dimension> = [
        (corners[0][0] - corners[3][0], [corners[0][0].min(corners[3][0]), corners[0][0].max(corners[3][0])]),
        (corners[1][0] - corners[2][0], [corners[1][0].min(corners[2][0]), corners[1][0].max(corners[2][0])]),
    ]
    .into_iter()
    .filter(|(set_back, _)| set_back.abs() > 0.05)
    .map(|(_, ends)| dimension(ends, [-half; 2], facts))
    .collect();
    if !short.is_empty() {
        rows.push((Side::Above, short));
    }
    let title = facts.say("sheet-bar-seen").with("section", member.section).with("from", plane.word()).text();
    View { title, shapes, rows, labels: Vec::new(), clear: Vec::new() }
}

/// So many holes are dimensioned one by one.
const MOST_HOLES: usize = 8;

fn flat_view(panel: &Panel, facts: &Facts) -> View {
    let (length, width) = (panel.length.mm(), panel.width.mm());
    let up = |[x, y]: Spot| [x, width - y];
    let mut shapes = Drawing::default();
    let mut along: Vec<f64> = Vec::new();
    let mut across: Vec<f64> = Vec::new();
    for (nth, outline) in outlines(panel).into_iter().enumerate() {
        for [x, y] in &outline {
            along.push(*x);
            across.push(*y);
        }
        let title = facts.text(if nth == 0 { "sheet-outline" } else { "sheet-window" });
        shapes.polygon(Ink::Panel, outline.into_iter().map(up).collect(), Some(title));
    }
    for hole in &panel.holes {
        let centre = up([hole.along_mm, hole.across_mm]);
        let radius = hole.diameter_mm / 2.0;
        shapes.circle(
            Ink::Panel,
            centre,
            radius,
            Some(facts.say("sheet-hole").with("diameter", facts.length(hole.diameter_mm)).text()),
        );
        shapes.line(Ink::Centre, [centre[0] - 1.4 * radius, centre[1]], [centre[0] + 1.4 * radius, centre[1]]);
        shapes.line(Ink::Centre, [centre[0], centre[1] - 1.4 * radius], [centre[0], centre[1] + 1.4 * radius]);
        along.push(hole.along_mm);
        across.push(hole.across_mm);
    }
    for &fold in &panel.folds_mm {
        shapes.line(Ink::Fold, [fold, 0.0], [fold, width]);
        along.push(fold);
    }
    let places = |mut places: Vec<f64>, end: f64| {
        places.retain(|at| *at > 0.05 && *at < end - 0.05);
        places.sort_by(f64::total_cmp);
        places.dedup_by(|a, b| (*a - *b).abs() < 0.05);
        places.truncate(MOST_HOLES);
        places
    };
    let mut below: Vec<Dimension> =
        places(along, length).into_iter().map(|at| dimension([0.0, at], [width; 2], facts)).collect();
    below.push(dimension([0.0, length], [width; 2], facts));
    let mut right: Vec<Dimension> =
        places(across, width).into_iter().map(|at| dimension([width, width - at], [length; 2], facts)).collect();
    right.push(dimension([width, 0.0], [length; 2], facts));
    let seen = if panel.folds_mm.is_empty() { "sheet-flat" } else { "sheet-flat-folded" };
    let title = facts.say(seen).with("what", stuff(panel, facts)).text();
    View {
        title,
        shapes,
        rows: vec![(Side::Below, below), (Side::Right, right)],
        labels: Vec::new(),
        clear: Vec::new(),
    }
}

/// Material and thickness of a flat part.
fn stuff(panel: &Panel, facts: &Facts) -> String {
    format!("{} {}", facts.say(format!("sheet-material-{}", panel.material.word())), facts.length(panel.thickness_mm))
}

fn bar_notes(part: &BarPart, member: &Member, facts: &Facts) -> Vec<String> {
    let stuff = format!("{} {}", member.section, member.grade);
    let mut notes = vec![
        facts.say("sheet-note-stuff").with("what", stuff).with("count", part.quantity).text(),
        facts.say("sheet-note-long").with("length", facts.length(member.length.mm())).text(),
        facts.say("sheet-note-left").with("cut", end(&member.cuts[0], facts)).text(),
        facts.say("sheet-note-right").with("cut", end(&member.cuts[1], facts)).text(),
    ];
    for purpose in
        member.holes.iter().map(|hole| (hole.purpose, hole.diameter_mm)).fold(Vec::new(), |mut kinds, kind| {
            if !kinds.contains(&kind) {
                kinds.push(kind);
            }
            kinds
        })
    {
        let count = member.holes.iter().filter(|hole| (hole.purpose, hole.diameter_mm) == purpose).count();
        let holes = facts.say("sheet-note-holes-for").with("count", count).with("diameter", facts.length(purpose.1));
        notes.push(holes.with("purpose", facts.say(format!("hole-{}", purpose.0.word()))).text());
    }
    notes
}

fn end(cut: &EndCut, facts: &Facts) -> String {
    let cut_so = if cut.angle_deg.abs() < 0.01 {
        facts.text("sheet-end-square")
    } else {
        let angle = facts.words.written(&show_number(cut.angle_deg, 1, Grouping::None));
        facts.say("sheet-end-off-square").with("angle", angle).with("plane", cut.plane.word()).text()
    };
    if cut.capped { facts.say("sheet-end-capped").with("cut", cut_so).text() } else { cut_so }
}

fn flat_notes(part: &SheetPart, panel: &Panel, facts: &Facts) -> Vec<String> {
    let flat = facts.say("sheet-note-flat").with("length", facts.length(panel.length.mm()));
    let mut notes = vec![
        facts.say("sheet-note-stuff").with("what", stuff(panel, facts)).with("count", part.quantity).text(),
        flat.with("width", facts.length(panel.width.mm())).text(),
    ];
    if !panel.folds_mm.is_empty() {
        notes.push(facts.say("sheet-note-folds").count("count", panel.folds_mm.len()).text());
    }
    for kind in panel.holes.iter().map(|hole| hole.diameter_mm).fold(Vec::<f64>::new(), |mut kinds, kind| {
        if !kinds.contains(&kind) {
            kinds.push(kind);
        }
        kinds
    }) {
        let count = panel.holes.iter().filter(|hole| hole.diameter_mm == kind).count();
        notes.push(facts.say("sheet-note-holes").with("count", count).with("diameter", facts.length(kind)).text());
    }
    notes
}
