//! A value over days as a stepped line: prices hold from their day on. Readable in black and white: one line, real text.

use jiff::civil::Date;

use super::{
    drawing::{Drawing, Ink},
    show::Show,
};

// So narrow that its letters can be read where it is as wide as a phone.
const WIDE: f64 = 420.0;
const TALL: f64 = 150.0;
const TEXT: f64 = 13.0;
const TICKS: usize = 4;

/// A chart of values, each of which holds from its day to the next one's and the last to `until`. Nothing for no values.
pub fn steps(title: &str, points: &[(Date, f64)], until: Date, show: &Show) -> Option<Drawing> {
    let ((first, _), (last, latest)) = (*points.first()?, *points.last()?);
    let end = until.max(last);
    let days = f64::from((end - first).get_days()).max(1.0);
    let low = points.iter().map(|(_, value)| *value).fold(f64::INFINITY, f64::min);
    let high = points.iter().map(|(_, value)| *value).fold(f64::NEG_INFINITY, f64::max);
    // A tenth of the value above and below, so that a line that never moved lies in the middle.
    let room = ((high - low) * 0.1).max(high.abs() * 0.02).max(0.005);
    let (low, high) = ((low - room).max(0.0), high + room);
    let x = |day: Date| f64::from((day - first).get_days()) / days * WIDE;
    let y = |value: f64| TALL - (value - low) / (high - low).max(f64::MIN_POSITIVE) * TALL;

    let mut drawing = Drawing::new(title);
    let told: Vec<String> =
        points.iter().map(|(day, value)| format!("{} from {}", show.number(*value, 2), show.day(*day))).collect();
    drawing.description = format!("{}.", told.join("; "));
    for tick in 0..=TICKS {
        let value = low + (high - low) * tick as f64 / TICKS as f64;
        let level = y(value);
        drawing.line(Ink::Grid, [0.0, level], [WIDE, level]);
        drawing.text(Ink::Note, [-34.0, level], TEXT, show.number(value, 2));
    }
    for (day, at) in [(first, 0.0), (end, WIDE)] {
        drawing.line(Ink::Grid, [at, 0.0], [at, TALL + 6.0]);
        let inside = if at > 0.0 { WIDE - 34.0 } else { 34.0 };
        drawing.text(Ink::Note, [inside, TALL + 18.0], TEXT, show.day(day));
    }
    let mut path = Vec::with_capacity(points.len() * 2 + 1);
    let mut before: Option<f64> = None;
    for (day, value) in points {
        if let Some(before) = before {
            path.push([x(*day), y(before)]);
        }
        path.push([x(*day), y(*value)]);
        before = Some(*value);
    }
    path.push([x(end), y(latest)]);
    drawing.path(Ink::CaseLoaded, path, Some(title.to_owned()));
    for (day, value) in points {
        let title = Some(format!("{}: {}", show.day(*day), show.number(*value, 2)));
        drawing.circle(Ink::Place, [x(*day), y(*value)], 3.0, title);
    }
    Some(drawing)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::{super::drawing::Shape, *};

    #[test]
    fn a_step_holds_until_the_next_and_the_text_says_all() {
        let show = Show::sample();
        let points = [(date(2026, 1, 1), 2.0), (date(2026, 3, 1), 2.5)];
        let svg = steps("Price <b>", &points, date(2026, 4, 10), &show).unwrap().svg("p");
        assert!(svg.contains("2 from 1 Jan 2026; 2.5 from 1 Mar 2026."), "{svg}");
        assert!(svg.contains("<text") && svg.contains("10 Apr 2026") && svg.contains("Price &lt;b&gt;"), "{svg}");
        // 59 of 99 days: the step is two spots with one x.
        let drawing = steps("Price", &points, date(2026, 4, 10), &show).unwrap();
        let corners = drawing.shapes.iter().find_map(|shape| match shape {
            Shape::Path { points, .. } => Some(points.iter().map(|[x, _]| x.round()).collect::<Vec<_>>()),
            _ => None,
        });
        let at = (59.0 / 99.0 * WIDE).round();
        assert_eq!(corners, Some(vec![0.0, at, at, WIDE]));
        assert!(steps("none", &[], date(2026, 1, 1), &show).is_none());
        assert!(!steps("one", &points[..1], date(2026, 1, 1), &show).unwrap().svg("p").contains("NaN"));
    }
}
