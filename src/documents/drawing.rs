//! The one drawing model: shapes in real millimetres, x to the right and y down, from which every kind of file is written.

use super::letters;

/// What a shape shows; the stylesheet of the page and of the print gives each its look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    Member,
    Drawbar,
    Panel,
    Deck,
    Wheel,
    Load,
    Ground,
    Centre,
    Dimension,
    Note,
    Part,
    Kept,
    Scrap,
    Kerf,
    /// A loading case as a line: loaded, light or empty, one that governs.
    CaseLoaded,
    CaseLight,
    CaseWorst,
    /// Places that suit every case.
    Window,
    /// What is usual, without being a limit.
    Habit,
    /// What was chosen.
    Place,
    Grid,
    /// A member by its use, from hardly loaded to overloaded.
    UseLow,
    UseSome,
    UseMuch,
    UseNear,
    UseFull,
    UseOver,
    Hatch,
    /// An edge that something nearer hides.
    Hidden,
    /// A fold of a flat part.
    Fold,
    /// Border of a sheet of paper.
    Border,
    /// White ground under a label.
    Blank,
    /// Materials in the still picture, and the shade on faces turned from the light.
    Wood,
    Tyre,
    Dark,
    RedLens,
    AmberLens,
    Shade,
    DeepShade,
}

impl Ink {
    pub const fn class(self) -> &'static str {
        match self {
            Self::Member => "ink-member",
            Self::Drawbar => "ink-drawbar",
            Self::Panel => "ink-panel",
            Self::Deck => "ink-deck",
            Self::Wheel => "ink-wheel",
            Self::Load => "ink-load",
            Self::Ground => "ink-ground",
            Self::Centre => "ink-centre",
            Self::Dimension => "ink-dimension",
            Self::Note => "ink-note",
            Self::Part => "ink-part",
            Self::Kept => "ink-kept",
            Self::Scrap => "ink-scrap",
            Self::Kerf => "ink-kerf",
            Self::CaseLoaded => "ink-case-loaded",
            Self::CaseLight => "ink-case-light",
            Self::CaseWorst => "ink-case-worst",
            Self::Window => "ink-window",
            Self::Habit => "ink-habit",
            Self::Place => "ink-place",
            Self::Grid => "ink-grid",
            Self::UseLow => "ink-use-low",
            Self::UseSome => "ink-use-some",
            Self::UseMuch => "ink-use-much",
            Self::UseNear => "ink-use-near",
            Self::UseFull => "ink-use-full",
            Self::UseOver => "ink-use-over",
            Self::Hatch => "ink-hatch",
            Self::Hidden => "ink-hidden",
            Self::Fold => "ink-fold",
            Self::Border => "ink-border",
            Self::Blank => "ink-blank",
            Self::Wood => "ink-wood",
            Self::Tyre => "ink-tyre",
            Self::Dark => "ink-dark",
            Self::RedLens => "ink-red-lens",
            Self::AmberLens => "ink-amber-lens",
            Self::Shade => "ink-shade",
            Self::DeepShade => "ink-deep-shade",
        }
    }
}

pub type Spot = [f64; 2];

/// About how wide a text of this height is: 0.57 of it for each letter (our estimate).
pub(super) fn width_of(text: &str, height: f64) -> f64 {
    text.chars().count() as f64 * height * 0.57
}

#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    Polygon {
        ink: Ink,
        points: Vec<Spot>,
        title: Option<String>,
    },
    Line {
        ink: Ink,
        from: Spot,
        to: Spot,
    },
    /// A line through several spots, not closed.
    Path {
        ink: Ink,
        points: Vec<Spot>,
        title: Option<String>,
    },
    /// Many lines of one kind.
    Hatch {
        ink: Ink,
        lines: Vec<[Spot; 2]>,
    },
    Circle {
        ink: Ink,
        centre: Spot,
        radius: f64,
        title: Option<String>,
    },
    /// Text of this height in drawing millimetres, centred on the spot; turned by degrees.
    Text {
        ink: Ink,
        at: Spot,
        height: f64,
        turned_deg: f64,
        text: String,
    },
}

/// A drawing, and what it shows in words for those who cannot see it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawing {
    pub title: String,
    pub description: String,
    pub shapes: Vec<Shape>,
}

impl Drawing {
    pub fn new(title: impl Into<String>) -> Self {
        Self { title: title.into(), ..Self::default() }
    }

    pub fn polygon(&mut self, ink: Ink, points: Vec<Spot>, title: Option<String>) {
        self.shapes.push(Shape::Polygon { ink, points, title });
    }

    pub fn rectangle(&mut self, ink: Ink, [x, y]: Spot, [width, height]: Spot, title: Option<String>) {
        let points = vec![[x, y], [x + width, y], [x + width, y + height], [x, y + height]];
        self.polygon(ink, points, title);
    }

    pub fn path(&mut self, ink: Ink, points: Vec<Spot>, title: Option<String>) {
        self.shapes.push(Shape::Path { ink, points, title });
    }

    pub fn line(&mut self, ink: Ink, from: Spot, to: Spot) {
        self.shapes.push(Shape::Line { ink, from, to });
    }

    pub fn hatch(&mut self, ink: Ink, lines: Vec<[Spot; 2]>) {
        self.shapes.push(Shape::Hatch { ink, lines });
    }

    pub fn circle(&mut self, ink: Ink, centre: Spot, radius: f64, title: Option<String>) {
        self.shapes.push(Shape::Circle { ink, centre, radius, title });
    }

    pub fn text(&mut self, ink: Ink, at: Spot, height: f64, text: impl Into<String>) {
        self.shapes.push(Shape::Text { ink, at, height, turned_deg: 0.0, text: text.into() });
    }

    /// A dimension along x between two places, its line at `y`, with extension lines from `from_y`.
    pub fn dimension_along(&mut self, [from, to]: [f64; 2], from_y: f64, y: f64, height: f64, text: String) {
        let beyond = if y >= from_y { height * 0.4 } else { -height * 0.4 };
        for x in [from, to] {
            self.line(Ink::Dimension, [x, from_y], [x, y + beyond]);
        }
        self.line(Ink::Dimension, [from, y], [to, y]);
        for (x, inward) in [(from, 1.0), (to, -1.0)] {
            self.arrow([x, y], [inward * (to - from).signum(), 0.0], height * 0.6);
        }
        // A text that is wider than its dimension goes below the line, clear of its neighbours above theirs.
        let side = if width_of(&text, height) <= (to - from).abs() { -0.75 } else { 0.75 };
        self.text(Ink::Dimension, [(from + to) / 2.0, y + side * height], height, text);
    }

    /// A dimension along y between two places, its line at `x`.
    pub fn dimension_across(&mut self, [from, to]: [f64; 2], from_x: f64, x: f64, height: f64, text: String) {
        let beyond = if x >= from_x { height * 0.4 } else { -height * 0.4 };
        for y in [from, to] {
            self.line(Ink::Dimension, [from_x, y], [x + beyond, y]);
        }
        self.line(Ink::Dimension, [x, from], [x, to]);
        for (y, inward) in [(from, 1.0), (to, -1.0)] {
            self.arrow([x, y], [0.0, inward * (to - from).signum()], height * 0.6);
        }
        self.shapes.push(Shape::Text {
            ink: Ink::Dimension,
            at: [x - height * 0.75, (from + to) / 2.0],
            height,
            turned_deg: -90.0,
            text,
        });
    }

    /// Words in the middle of a room of this width and height: the first that fit, lying or else standing. Where none do,
    /// nothing, and the answer is no: the title of the shape still says it.
    pub fn label(&mut self, at: Spot, [wide, tall]: Spot, height: f64, words: &[&str]) -> bool {
        for text in words {
            for (turned_deg, along, across) in [(0.0, wide, tall), (-90.0, tall, wide)] {
                if !text.is_empty() && width_of(text, height) <= along * 0.95 && height * 1.2 <= across {
                    let text = (*text).to_owned();
                    self.shapes.push(Shape::Text { ink: Ink::Note, at, height, turned_deg, text });
                    return true;
                }
            }
        }
        false
    }

    /// Where words stand: left, top, right and bottom of each text, by the estimate of its width.
    pub fn boxes_of_text(&self) -> Vec<[f64; 4]> {
        let texts = self.shapes.iter().filter_map(|shape| match shape {
            Shape::Text { at: [x, y], height, turned_deg, text, .. } => {
                let half = width_of(text, *height) / 2.0;
                let (wide, tall) = if *turned_deg == 0.0 { (half, height / 2.0) } else { (height / 2.0, half) };
                Some([x - wide, y - tall, x + wide, y + tall])
            }
            _ => None,
        });
        texts.collect()
    }

    /// Left, top, right and bottom of each text with its words, by the real widths of its letters: what `boxes_of_text` estimates.
    pub fn text_boxes(&self) -> Vec<([f64; 4], String)> {
        let texts = self.shapes.iter().filter_map(|shape| match shape {
            Shape::Text { at: [x, y], height, turned_deg, text, .. } => {
                let (half, tall) = (letters::width(text, *height) / 2.0, height * letters::CAPITAL / 2.0);
                let (wide, tall) = if *turned_deg == 0.0 { (half, tall) } else { (tall, half) };
                Some(([x - wide, y - tall, x + wide, y + tall], text.clone()))
            }
            _ => None,
        });
        texts.collect()
    }

    /// An arrow head with its tip at a place, opening towards a direction.
    fn arrow(&mut self, [x, y]: Spot, [dx, dy]: Spot, size: f64) {
        let (half, points) =
            (size / 5.0, |along: f64, side: f64| [x + dx * along - dy * side, y + dy * along + dx * side]);
        self.polygon(Ink::Dimension, vec![[x, y], points(size, half), points(size, -half)], None);
    }

    /// Least x, least y, width and height of everything drawn (text by an estimate of its width).
    pub fn bounds(&self) -> [f64; 4] {
        let mut low = [f64::INFINITY; 2];
        let mut high = [f64::NEG_INFINITY; 2];
        let mut meet = |[x, y]: Spot| {
            low = [low[0].min(x), low[1].min(y)];
            high = [high[0].max(x), high[1].max(y)];
        };
        for shape in &self.shapes {
            match shape {
                Shape::Polygon { points, .. } | Shape::Path { points, .. } => {
                    points.iter().copied().for_each(&mut meet)
                }
                Shape::Hatch { lines, .. } => lines.iter().flatten().copied().for_each(&mut meet),
                Shape::Line { from, to, .. } => [*from, *to].into_iter().for_each(&mut meet),
                Shape::Circle { centre: [x, y], radius, .. } => {
                    meet([x - radius, y - radius]);
                    meet([x + radius, y + radius]);
                }
                Shape::Text { at: [x, y], height, turned_deg, text, .. } => {
                    let half = width_of(text, *height) / 2.0;
                    let (wide, tall) = if *turned_deg == 0.0 { (half, height * 0.6) } else { (height * 0.6, half) };
                    meet([x - wide, y - tall]);
                    meet([x + wide, y + tall]);
                }
            }
        }
        if low[0] > high[0] { [0.0, 0.0, 1.0, 1.0] } else { [low[0], low[1], high[0] - low[0], high[1] - low[1]] }
    }
}
