//! Coupling load against the axle's place: one line a case, the axle window, the place chosen, the rule of thumb.

use super::drawing::{Drawing, Ink, Spot};
use crate::domain::{
    measure::{Units, show_length, show_mass},
    trailer::Layout,
    weights::{AxleWindow, Interval, Weights},
};

/// The field that the lines are drawn in, and the height of its letters (readable at 320 px).
const WIDE: f64 = 600.0;
const TALL: f64 = 420.0;
const TEXT: f64 = 21.0;
/// Around what must be seen, share of the bed.
const MARGIN: f64 = 0.07;
/// So many cases at most have a line of their own.
pub const MOST_LINES: usize = 14;

/// The cases that are drawn, each with the number of its line: those that set an end of the window, empty, whole trips, and
/// loads alone while there is room.
pub fn drawn_cases(window: &AxleWindow) -> Vec<&Interval> {
    let sets = |case: &&Interval| case.sets[0] || case.sets[1];
    let room = MOST_LINES.saturating_sub(window.intervals.iter().filter(sets).count());
    let mut others = 0;
    window
        .intervals
        .iter()
        .filter(|case| {
            others += usize::from(!sets(case));
            sets(case) || others <= room
        })
        .collect()
}

/// Which line of a case is drawn: the end of its play that sets the window, else the middle.
fn height(case: &Interval, [_, back, forward]: [f64; 3]) -> f64 {
    match case.sets {
        [true, false] => back,
        [false, true] => forward,
        _ => f64::midpoint(back, forward),
    }
}

/// The coupling load of a case with the axle here, by straight lines between its points.
pub fn load_at(case: &Interval, axle_mm: f64) -> Option<[f64; 2]> {
    let pair = case.line.windows(2).find(|pair| (pair[0][0]..=pair[1][0]).contains(&axle_mm))?;
    let [from, to] = [pair[0], pair[1]];
    let part = if to[0] > from[0] { (axle_mm - from[0]) / (to[0] - from[0]) } else { 0.0 };
    Some([1, 2].map(|side: usize| from[side] + part * (to[side] - from[side])))
}

struct Scale {
    x: [f64; 2],
    y: [f64; 2],
}

impl Scale {
    fn spot(&self, axle_mm: f64, kg: f64) -> Spot {
        let along = (axle_mm - self.x[0]) / (self.x[1] - self.x[0]);
        let up = (kg - self.y[0]) / (self.y[1] - self.y[0]);
        [along * WIDE, TALL * (1.0 - up)]
    }
}

/// Readable without colour: lines are numbered, loaded ones are solid, light ones dashed, those that set the window thick.
pub fn balance_picture(weights: &Weights, layout: &Layout, units: Units) -> Drawing {
    let (window, place) = (&weights.window, weights.axle_x_mm);
    let cases = drawn_cases(window);
    let mut drawing = Drawing::new("Coupling load against the axle's place");
    drawing.description = described(weights, &cases, units);
    let Some(scale) = scale(window, layout, place, &cases) else { return drawing };
    let [left, right] = scale.x;
    if let Some([from, to]) = window.window_mm {
        let (from, to) = (from.clamp(left, right), to.clamp(left, right));
        let [x, _] = scale.spot(from, 0.0);
        let width = scale.spot(to, 0.0)[0] - x;
        drawing.rectangle(Ink::Window, [x, 0.0], [width, TALL], Some("axle window".into()));
        drawing.label([x + width / 2.0, TEXT], [width, 2.0 * TEXT], TEXT, &["axle window", "window"]);
    }
    axes(&mut drawing, &scale, layout, units);
    habit(&mut drawing, &scale, window);
    let mut ends = Vec::new();
    for (number, case) in cases.iter().enumerate() {
        let ink = match (case.sets[0] || case.sets[1], case.loaded) {
            (true, _) => Ink::CaseWorst,
            (_, true) => Ink::CaseLoaded,
            _ => Ink::CaseLight,
        };
        let points = points(case, scale.x).into_iter().map(|point| scale.spot(point[0], height(case, point)));
        let points: Vec<Spot> = points.collect();
        if let Some(last) = points.last() {
            ends.push((last[1], number + 1));
        }
        drawing.path(ink, points, Some(format!("{}: {}", number + 1, case.case)));
    }
    numbers(&mut drawing, ends);
    let [x, _] = scale.spot(place.clamp(left, right), 0.0);
    drawing.line(Ink::Place, [x, -0.4 * TEXT], [x, TALL]);
    drawing.polygon(Ink::Place, vec![[x, 0.0], [x - 9.0, -16.0], [x + 9.0, -16.0]], Some("axle's place".into()));
    let words = format!("axle at {}", show_length(place, units));
    let half = super::drawing::width_of(&words, TEXT) / 2.0;
    drawing.text(Ink::Note, [x.clamp(half, (WIDE - half).max(half)), -1.6 * TEXT], TEXT, words);
    drawing
}

fn scale(window: &AxleWindow, layout: &Layout, place: f64, cases: &[&Interval]) -> Option<Scale> {
    let (front, rear) = (layout.bed_front_x_mm, layout.bed_rear_x_mm);
    if rear <= front {
        return None;
    }
    let mut seen = vec![place, window.rule_of_thumb_mm[0], window.rule_of_thumb_mm[1]];
    seen.extend(window.window_mm.or(window.fight_mm).into_iter().flatten());
    let ends = seen.iter().map(|x| x.clamp(front, rear));
    let (low, high) = ends.fold((rear, front), |(low, high), x| (low.min(x), high.max(x)));
    let margin = MARGIN * (rear - front);
    let x = [(low - margin).max(front), (high + margin).min(rear)];
    let heights = cases.iter().flat_map(|case| points(case, x).into_iter().map(|point| height(case, point)));
    let (low, high) = heights.fold((0.0_f64, 10.0_f64), |(low, high), kg| (low.min(kg), high.max(kg)));
    let room = 0.05 * (high - low);
    Some(Scale { x, y: [if low < 0.0 { low - room } else { 0.0 }, high + room] })
}

/// The points of a case's line between these places, with its ends there.
fn points(case: &Interval, [left, right]: [f64; 2]) -> Vec<[f64; 3]> {
    let end = |at: f64| load_at(case, at).map(|[back, forward]| [at, back, forward]);
    let within = case.line.iter().copied().filter(|point| point[0] > left && point[0] < right);
    end(left).into_iter().chain(within).chain(end(right)).collect()
}

fn axes(drawing: &mut Drawing, scale: &Scale, layout: &Layout, units: Units) {
    let [left, right] = scale.x;
    let step = pleasant((scale.y[1] - scale.y[0]) / 5.0);
    let mut kg = (scale.y[0] / step).ceil() * step;
    while kg <= scale.y[1] {
        let [_, y] = scale.spot(left, kg);
        drawing.line(if kg.abs() < 1e-9 { Ink::Ground } else { Ink::Grid }, [0.0, y], [WIDE, y]);
        let words = show_mass(kg, units);
        let half = super::drawing::width_of(&words, TEXT) / 2.0;
        drawing.text(Ink::Note, [-half - 8.0, y], TEXT, words);
        kg += step;
    }
    // Where on the bed, in hundredths of its length from its front.
    let bed = layout.bed_length_mm();
    let percent = |x: f64| (x - layout.bed_front_x_mm) / bed * 100.0;
    let mut tick = (percent(left) / 5.0).ceil() * 5.0;
    let mut last = f64::NEG_INFINITY;
    while tick <= percent(right) + 1e-9 {
        let [x, _] = scale.spot(layout.bed_front_x_mm + tick / 100.0 * bed, 0.0);
        drawing.line(Ink::Ground, [x, TALL], [x, TALL + 8.0]);
        let words = format!("{tick:.0} %");
        let wide = super::drawing::width_of(&words, TEXT);
        if x - last > wide + 14.0 {
            drawing.text(Ink::Note, [x, TALL + 8.0 + 0.8 * TEXT], TEXT, words);
            last = x;
        }
        tick += 5.0;
    }
    drawing.text(Ink::Note, [WIDE / 2.0, TALL + 5.6 * TEXT], TEXT, "of the bed's length, from its front");
}

/// A band under the axis, outside of the field: what it is, a habit and no limit.
fn habit(drawing: &mut Drawing, scale: &Scale, window: &AxleWindow) {
    let [from, to] = window.rule_of_thumb_mm.map(|x| scale.spot(x, 0.0)[0]);
    let top = TALL + 2.1 * TEXT;
    drawing.rectangle(Ink::Habit, [from, top], [to - from, 0.6 * TEXT], Some("rule of thumb: 55 to 65 %".into()));
    let words = "rule of thumb, 55–65 %";
    let half = super::drawing::width_of(words, TEXT) / 2.0;
    let x = f64::midpoint(from, to).clamp(half.min(WIDE - half), half.max(WIDE - half));
    drawing.text(Ink::Note, [x, top + 1.5 * TEXT], TEXT, words);
}

/// The numbers of the lines at their right ends, pushed apart where they would meet.
fn numbers(drawing: &mut Drawing, mut ends: Vec<(f64, usize)>) {
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let gap = 1.05 * TEXT;
    let mut places: Vec<f64> = Vec::with_capacity(ends.len());
    for (at, _) in &ends {
        let least = places.last().map_or(f64::NEG_INFINITY, |last| last + gap);
        places.push(at.max(least));
    }
    let mut next = f64::INFINITY;
    for place in places.iter_mut().rev() {
        *place = (*place).min(TALL).min(next - gap);
        next = *place;
    }
    for ((at, number), place) in ends.iter().zip(places) {
        drawing.line(Ink::Grid, [WIDE, *at], [WIDE + 18.0, place]);
        drawing.text(Ink::Note, [WIDE + 34.0, place], TEXT, number.to_string());
    }
}

/// 1, 2 or 5 times a power of ten.
fn pleasant(step: f64) -> f64 {
    let power = 10_f64.powf(step.max(1e-6).log10().floor());
    let first = [1.0, 2.0, 5.0, 10.0].into_iter().find(|first| first * power >= step);
    first.unwrap_or(10.0) * power
}

fn described(weights: &Weights, cases: &[&Interval], units: Units) -> String {
    let show = |mm: f64| show_length(mm, units);
    let window = &weights.window;
    let is = match (window.window_mm, &window.fight) {
        (Some([from, to]), _) if to < 1e6 => {
            format!("The axle window is {} to {} behind the coupling", show(from), show(to))
        }
        (Some([from, _]), _) => format!("The axle window begins {} behind the coupling", show(from)),
        (None, Some([back, fore])) => format!("No place suits every case: {back} against {fore}"),
        (None, None) => "There is no case".into(),
    };
    let lines: Vec<String> = cases
        .iter()
        .enumerate()
        .filter_map(|(number, case)| {
            let at = load_at(case, weights.axle_x_mm)?;
            Some(format!(
                "{}, {}: {} there",
                number + 1,
                case.case,
                show_mass(height(case, [0.0, at[0], at[1]]), units)
            ))
        })
        .collect();
    let [from, to] = window.rule_of_thumb_mm;
    format!(
        "{is}; the axle stands at {}; the rule of thumb says {} to {}. Lines rise to the right: the further back the axle, the more \
         presses on the coupling. {}.",
        show(weights.axle_x_mm),
        show(from),
        show(to),
        lines.join("; ")
    )
}
