//! A drawing as inline SVG with real text. Looks come from the page's stylesheet by class; the attributes here are what a
//! reader without it sees.

use std::fmt::Write;

use super::drawing::{Drawing, Ink, Shape};

/// The least height of letters on a screen (our choice), and the bounds of a drawing's least width.
const READABLE_PX: f64 = 10.0;
const NARROWEST_PX: f64 = 240.0;
const WIDEST_PX: f64 = 1600.0;

impl Drawing {
    /// One `<svg>` element. `id` makes its title's id unique on the page.
    pub fn svg(&self, id: &str) -> String {
        let [x, y, width, height] = self.bounds();
        let margin = (width.max(height) * 0.01).max(1.0);
        let mut out = String::with_capacity(self.shapes.len() * 120 + 400);
        let least_width = number(self.least_width_px(width + 2.0 * margin).round());
        let view = [x - margin, y - margin, width + 2.0 * margin, height + 2.0 * margin].map(number).join(" ");
        let _ = write!(
            out,
            r#"<svg class="to-scale" width="{least_width}" role="img" aria-labelledby="{id}-title {id}-description" viewBox="{view}" xmlns="http://www.w3.org/2000/svg"><title id="{id}-title">{}</title><desc id="{id}-description">{}</desc>"#,
            escape(&self.title),
            escape(&self.description)
        );
        for shape in &self.shapes {
            write_shape(&mut out, shape);
        }
        out.push_str("</svg>");
        out
    }

    /// The width on a screen below which the smallest text could not be read: the page lets the drawing scroll instead.
    fn least_width_px(&self, width: f64) -> f64 {
        let heights = self.shapes.iter().filter_map(|shape| match shape {
            Shape::Text { height, .. } => Some(*height),
            _ => None,
        });
        let smallest = heights.fold(f64::INFINITY, f64::min);
        (READABLE_PX * width / smallest).clamp(NARROWEST_PX, WIDEST_PX)
    }
}

fn write_shape(out: &mut String, shape: &Shape) {
    let _ = match shape {
        Shape::Polygon { ink, points, title } | Shape::Path { ink, points, title } => {
            let name = if matches!(shape, Shape::Path { .. }) { "polyline" } else { "polygon" };
            let list = points.iter().map(|[x, y]| format!("{},{}", number(*x), number(*y))).collect::<Vec<_>>();
            write!(
                out,
                r#"<{name} class="{}" points="{}"{}>{}</{name}>"#,
                ink.class(),
                list.join(" "),
                plain(*ink),
                titled(title)
            )
        }
        Shape::Line { ink, from, to } => write!(
            out,
            r#"<line class="{}" x1="{}" y1="{}" x2="{}" y2="{}"{}/>"#,
            ink.class(),
            number(from[0]),
            number(from[1]),
            number(to[0]),
            number(to[1]),
            plain(*ink)
        ),
        Shape::Hatch { ink, lines } => {
            let path = lines.iter().map(|[[x, y], [to_x, to_y]]| {
                format!("M{} {}L{} {}", number(*x), number(*y), number(*to_x), number(*to_y))
            });
            write!(out, r#"<path class="{}" d="{}"{}/>"#, ink.class(), path.collect::<String>(), plain(*ink))
        }
        Shape::Circle { ink, centre, radius, title } => write!(
            out,
            r#"<circle class="{}" cx="{}" cy="{}" r="{}"{}>{}</circle>"#,
            ink.class(),
            number(centre[0]),
            number(centre[1]),
            number(*radius),
            plain(*ink),
            titled(title)
        ),
        Shape::Text { ink, at, height, turned_deg, text } => {
            let turn = if *turned_deg == 0.0 {
                String::new()
            } else {
                format!(r#" transform="rotate({} {} {})""#, number(*turned_deg), number(at[0]), number(at[1]))
            };
            write!(
                out,
                r#"<text class="{}" x="{}" y="{}" font-size="{}" text-anchor="middle" dominant-baseline="central"{turn}>{}</text>"#,
                ink.class(),
                number(at[0]),
                number(at[1]),
                number(*height),
                escape(text)
            )
        }
    };
}

/// Without the stylesheet: outlines in black on white, thin and the same at every scale.
const fn plain(ink: Ink) -> &'static str {
    match ink {
        Ink::Dimension => r#" fill="black" stroke="black" stroke-width="0.5" vector-effect="non-scaling-stroke""#,
        Ink::UseOver => r#" fill="black" stroke="black" vector-effect="non-scaling-stroke""#,
        Ink::Load | Ink::Centre | Ink::Ground => {
            r#" fill="none" stroke="black" stroke-dasharray="6 4" vector-effect="non-scaling-stroke""#
        }
        Ink::CaseWorst => r#" fill="none" stroke="black" stroke-width="3" vector-effect="non-scaling-stroke""#,
        Ink::CaseLoaded => r#" fill="none" stroke="black" stroke-width="1.5" vector-effect="non-scaling-stroke""#,
        Ink::CaseLight => {
            r#" fill="none" stroke="black" stroke-dasharray="5 4" stroke-width="1.5" vector-effect="non-scaling-stroke""#
        }
        Ink::Window => r#" fill="gainsboro" stroke="black" vector-effect="non-scaling-stroke""#,
        Ink::Habit => r#" fill="none" stroke="black" stroke-dasharray="2 3" vector-effect="non-scaling-stroke""#,
        Ink::Place => r#" fill="black" stroke="black" stroke-width="2" vector-effect="non-scaling-stroke""#,
        Ink::Grid => r#" fill="none" stroke="silver" stroke-width="0.5" vector-effect="non-scaling-stroke""#,
        _ => r#" fill="white" stroke="black" vector-effect="non-scaling-stroke""#,
    }
}

fn titled(title: &Option<String>) -> String {
    title.as_ref().map_or_else(String::new, |title| format!("<title>{}</title>", escape(title)))
}

/// At most two decimals, no trailing zeros: small files, the same on every machine.
fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.into() }
}

pub(super) fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_escaped_and_numbers_are_short() {
        let mut drawing = Drawing::new("a <b>");
        drawing.text(Ink::Note, [1.0, 2.5], 10.0, "Ann & <b>");
        let svg = drawing.svg("t");
        assert!(svg.contains("a &lt;b&gt;") && svg.contains("Ann &amp; &lt;b&gt;"), "{svg}");
        assert!(svg.contains(r#"x="1" y="2.5""#), "{svg}");
    }

    #[test]
    fn small_text_makes_a_drawing_wide_enough_to_read_it() {
        let mut drawing = Drawing::new("wide");
        drawing.rectangle(Ink::Part, [0.0, 0.0], [4900.0, 100.0], None);
        drawing.text(Ink::Note, [2450.0, 50.0], 100.0, "P1");
        // 4900 mm and a margin of 1 % on either side, 10 px for each 100 mm.
        assert!(drawing.svg("w").contains(r#" width="500" "#), "{}", drawing.svg("w"));
    }

    #[test]
    fn a_drawing_of_nothing_still_has_a_box() {
        assert!(Drawing::new("nothing").svg("n").contains("viewBox"));
    }
}
