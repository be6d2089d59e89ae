//! A drawing as inline SVG with real text. Looks come from the page's stylesheet by class; the attributes here are what a
//! reader without it sees.

use std::fmt::Write;

use super::{
    drawing::{Drawing, Ink, Shape},
    sheet::{Sheet, pen},
};

/// The least height of letters on a screen (our choice), and the bounds of a drawing's least width.
const READABLE_PX: f64 = 10.0;
const NARROWEST_PX: f64 = 240.0;
const WIDEST_PX: f64 = 1600.0;

impl Drawing {
    /// One `<svg>` element. `id` makes its title's id unique on the page.
    pub fn svg(&self, id: &str) -> String {
        self.svg_as(id, "to-scale")
    }

    /// This one for a wide window and another for a narrow one: the stylesheet shows the one that fits.
    pub fn svg_or(&self, narrow: &Self, id: &str) -> String {
        self.svg_as(id, "to-scale in-wide") + &narrow.svg_as(&format!("{id}-narrow"), "to-scale in-narrow")
    }

    fn svg_as(&self, id: &str, class: &str) -> String {
        let [x, y, width, height] = self.bounds();
        let margin = (width.max(height) * 0.01).max(1.0);
        let mut out = String::with_capacity(self.shapes.len() * 120 + 400);
        let least_width = number(self.least_width_px(width + 2.0 * margin).round());
        let view = [x - margin, y - margin, width + 2.0 * margin, height + 2.0 * margin].map(number).join(" ");
        let _ = write!(
            out,
            r#"<svg class="{class}" width="{least_width}" role="img" aria-labelledby="{id}-title {id}-description" viewBox="{view}" xmlns="http://www.w3.org/2000/svg"><title id="{id}-title">{}</title><desc id="{id}-description">{}</desc>"#,
            escape(&self.title),
            escape(&self.description)
        );
        for shape in &self.shapes {
            write_shape(&mut out, shape, &|ink| plain(ink).to_owned());
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

impl Sheet {
    /// The sheet as one `<svg>` element in millimetres of paper, black on white: printed at 100 % it is to scale.
    pub fn svg(&self, id: &str) -> String {
        let [wide, tall] = self.paper.mm().map(number);
        let (title, description) = (escape(&self.drawing.title), escape(&self.drawing.description));
        let mut out = format!(
            r#"<svg class="paper-sheet" width="{wide}mm" height="{tall}mm" role="img" aria-labelledby="{id}-title {id}-description" viewBox="0 0 {wide} {tall}" xmlns="http://www.w3.org/2000/svg"><title id="{id}-title">{title}</title><desc id="{id}-description">{description}</desc><rect width="{wide}" height="{tall}" fill="white"/>"#
        );
        for shape in &self.drawing.shapes {
            write_on_paper(&mut out, shape, &|ink| self.pen(ink));
        }
        out.push_str("</svg>");
        out
    }

    fn pen(&self, ink: Ink) -> String {
        let pen = pen(ink, self.group);
        let mut look = match pen.fill {
            Some(grey) => format!(r#" fill="rgb({grey},{grey},{grey})""#),
            None => r#" fill="none""#.to_owned(),
        };
        if pen.width_mm > 0.0 {
            let _ = write!(look, r#" stroke="black" stroke-linejoin="round" stroke-width="{}""#, number(pen.width_mm));
        }
        if !pen.dashes_mm.is_empty() {
            let dashes: Vec<String> = pen.dashes_mm.iter().copied().map(number).collect();
            let _ = write!(look, r#" stroke-dasharray="{}""#, dashes.join(" "));
        }
        look
    }
}

/// A shape without a class: its look is its pen, whatever the page's stylesheet says.
fn write_on_paper(out: &mut String, shape: &Shape, pen: &dyn Fn(Ink) -> String) {
    let mut plain_out = String::new();
    match shape {
        Shape::Text { .. } => write_shape(&mut plain_out, shape, &|_| String::new()),
        _ => write_shape(&mut plain_out, shape, pen),
    }
    let ink = match shape {
        Shape::Polygon { ink, .. }
        | Shape::Path { ink, .. }
        | Shape::Line { ink, .. }
        | Shape::Hatch { ink, .. }
        | Shape::Circle { ink, .. }
        | Shape::Text { ink, .. } => ink,
    };
    out.push_str(&plain_out.replacen(&format!(r#" class="{}""#, ink.class()), "", 1));
}

fn write_shape(out: &mut String, shape: &Shape, plain: &dyn Fn(Ink) -> String) {
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
        Ink::Blank => r#" fill="white" stroke="none""#,
        Ink::Hidden => {
            r#" fill="none" stroke="black" stroke-dasharray="4 2" stroke-width="0.5" vector-effect="non-scaling-stroke""#
        }
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
        Ink::Wood => r#" fill="tan" stroke="black" stroke-width="0.5" vector-effect="non-scaling-stroke""#,
        Ink::Tyre | Ink::Dark => {
            r#" fill="dimgray" stroke="black" stroke-width="0.5" vector-effect="non-scaling-stroke""#
        }
        Ink::RedLens => r#" fill="firebrick" stroke="black" stroke-width="0.5" vector-effect="non-scaling-stroke""#,
        Ink::AmberLens => r#" fill="orange" stroke="black" stroke-width="0.5" vector-effect="non-scaling-stroke""#,
        Ink::Shade => r#" fill="black" fill-opacity="0.12""#,
        Ink::DeepShade => r#" fill="black" fill-opacity="0.25""#,
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
    // Whole numbers are written several times as fast as floats with so many decimals.
    let hundredths = (value * 100.0).round_ties_even() as i64;
    let sign = if hundredths < 0 { "-" } else { "" };
    let (whole, part) = (hundredths.unsigned_abs() / 100, hundredths.unsigned_abs() % 100);
    match (part / 10, part % 10) {
        (0, 0) => format!("{sign}{whole}"),
        (tenth, 0) => format!("{sign}{whole}.{tenth}"),
        _ => format!("{sign}{whole}.{part:02}"),
    }
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

    proptest::proptest! {
        /// As the standard library writes it.
        #[test]
        fn numbers_have_the_two_decimals_nearest(thousandths in -20_000_000i64..20_000_000) {
            let value = thousandths as f64 / 1000.0;
            let read: f64 = number(value).parse().expect("a number");
            // A value just between two may go to either.
            if thousandths % 10 != 5 && thousandths % 10 != -5 {
                proptest::prop_assert_eq!(read, format!("{value:.2}").parse::<f64>().expect("a number"));
            }
            proptest::prop_assert!((read - value).abs() < 0.005_000_1);
            proptest::prop_assert!(!number(value).starts_with("-0") || read < 0.0);
        }
    }

    #[test]
    fn of_two_for_windows_each_has_titles_of_its_own() {
        let svg = Drawing::new("wide").svg_or(&Drawing::new("narrow"), "t");
        assert!(
            svg.contains(r#"<title id="t-title">wide"#) && svg.contains(r#"<title id="t-narrow-title">narrow"#),
            "{svg}"
        );
        assert!(svg.contains(r#"class="to-scale in-wide""#) && svg.contains(r#"class="to-scale in-narrow""#), "{svg}");
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
