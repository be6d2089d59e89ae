//! Text set into lines of a width, from the real widths of letters.

use super::face::{Face, Faces};

/// Lengths in points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Style {
    pub face: Face,
    pub size: f32,
    /// 0 is black, 255 white.
    pub grey: u8,
    /// All figures as wide as each other.
    pub tabular: bool,
    /// Above the line (below it where negative).
    pub rise: f32,
}

impl Style {
    pub const fn of(face: Face, size: f32) -> Self {
        Self { face, size, grey: 0, tabular: false, rise: 0.0 }
    }

    pub const fn body() -> Self {
        Self::of(Face::Plain, 9.5)
    }

    pub const fn bold() -> Self {
        Self::of(Face::Bold, 9.5)
    }

    pub const fn small() -> Self {
        Self { grey: 80, ..Self::of(Face::Plain, 8.0) }
    }

    /// From line to line.
    pub fn leading(self) -> f32 {
        self.size * 1.38
    }
}

/// Text in one style.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    pub text: String,
    pub style: Style,
}

impl Run {
    pub fn new(text: impl Into<String>, style: Style) -> Self {
        Self { text: text.into(), style }
    }
}

/// One line: runs with where each begins.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Line {
    pub runs: Vec<(f32, Run)>,
    pub width: f32,
}

impl Line {
    fn push(&mut self, faces: &Faces, text: &str, style: Style) {
        let wide = faces.width(text, style);
        match self.runs.last_mut() {
            Some((_, last)) if last.style == style => last.text.push_str(text),
            _ => self.runs.push((self.width, Run::new(text, style))),
        }
        self.width += wide;
    }
}

#[cfg(test)]
impl Line {
    pub fn text(&self) -> String {
        self.runs.iter().map(|(_, run)| run.text.as_str()).collect()
    }
}

/// A piece between two places where a line may end, in the order of the text.
struct Piece<'a> {
    parts: Vec<(&'a str, Style)>,
    width: f32,
    /// A space, which vanishes at the end of a line.
    is_space: bool,
    ends_line: bool,
}

/// Text set into lines no wider than `width`: broken at spaces and after hyphens and slashes, but not between a figure and its unit; a
/// word that is wider than a line is cut.
pub fn set(faces: &Faces, runs: &[Run], width: f32) -> Vec<Line> {
    let mut lines = Vec::new();
    let mut line = Line::default();
    let mut space: Option<Piece<'_>> = None;
    for piece in pieces(faces, runs) {
        if piece.ends_line {
            lines.push(std::mem::take(&mut line));
            space = None;
            continue;
        }
        if piece.is_space {
            if !line.runs.is_empty() {
                space = Some(piece);
            }
            continue;
        }
        let gap = space.as_ref().map_or(0.0, |space| space.width);
        if line.runs.is_empty() || line.width + gap + piece.width <= width + 0.01 {
            if let Some(space) = space.take() {
                space.parts.iter().for_each(|(text, style)| line.push(faces, text, *style));
            }
        } else {
            // The space stays in the text, so that words are told apart when it is read aloud or copied.
            if let Some(Piece { parts, .. }) = space.take()
                && let Some((_, last)) = line.runs.last_mut()
            {
                parts.iter().for_each(|(text, _)| last.text.push_str(text));
            }
            lines.push(std::mem::take(&mut line));
        }
        lay(faces, piece, width, &mut line, &mut lines);
    }
    if !line.runs.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// A piece behind what the line holds; cut where it is wider than a whole line.
fn lay(faces: &Faces, piece: Piece<'_>, width: f32, line: &mut Line, lines: &mut Vec<Line>) {
    if line.width + piece.width <= width + 0.01 {
        piece.parts.iter().for_each(|(text, style)| line.push(faces, text, *style));
        return;
    }
    for (text, style) in piece.parts {
        for (at, letter) in text.char_indices() {
            let letter = &text[at..at + letter.len_utf8()];
            if line.width + faces.width(letter, style) > width && !line.runs.is_empty() {
                lines.push(std::mem::take(line));
            }
            line.push(faces, letter, style);
        }
    }
}

/// How wide text is that is not broken, and the widest piece that cannot be broken.
pub fn widths(faces: &Faces, runs: &[Run]) -> [f32; 2] {
    let (mut line, mut widest, mut word) = (0.0_f32, 0.0_f32, 0.0_f32);
    for piece in pieces(faces, runs) {
        line = if piece.ends_line { 0.0 } else { line + piece.width };
        widest = widest.max(line);
        if !piece.is_space {
            word = word.max(piece.width);
        }
    }
    [widest, word]
}

fn pieces<'a>(faces: &Faces, runs: &'a [Run]) -> Vec<Piece<'a>> {
    let mut pieces: Vec<Piece<'a>> = Vec::new();
    let mut may_break = true;
    for (nth, run) in runs.iter().enumerate() {
        let mut from = 0;
        let letters: Vec<(usize, char)> = run.text.char_indices().collect();
        for (index, (at, letter)) in letters.iter().enumerate() {
            let end = at + letter.len_utf8();
            let before = index.checked_sub(1).map(|index| letters[index].1);
            let after = match letters.get(index + 1) {
                Some((_, next)) => Some(*next),
                None => runs.get(nth + 1).and_then(|run| run.text.chars().next()),
            };
            let is_newline = *letter == '\n';
            let is_space = *letter == ' ' && !is_before_unit(before, &run.text[end..]);
            if is_newline || is_space {
                add(&mut pieces, faces, &run.text[from..*at], run.style, may_break);
                let text = if is_newline { "" } else { &run.text[*at..end] };
                pieces.push(Piece {
                    parts: vec![(text, run.style)],
                    width: faces.width(text, run.style),
                    is_space,
                    ends_line: is_newline,
                });
                (from, may_break) = (end, true);
            } else if is_hinge(before, *letter, after) {
                add(&mut pieces, faces, &run.text[from..end], run.style, may_break);
                (from, may_break) = (end, true);
            }
        }
        if from < run.text.len() {
            add(&mut pieces, faces, &run.text[from..], run.style, may_break);
            may_break = false;
        }
    }
    pieces
}

fn add<'a>(pieces: &mut Vec<Piece<'a>>, faces: &Faces, text: &'a str, style: Style, is_new: bool) {
    if text.is_empty() {
        return;
    }
    let width = faces.width(text, style);
    match pieces.last_mut() {
        Some(last) if !is_new && !last.is_space && !last.ends_line => {
            last.parts.push((text, style));
            last.width += width;
        }
        _ => pieces.push(Piece { parts: vec![(text, style)], width, is_space: false, ends_line: false }),
    }
}

/// `1,830 mm`: the unit stays with its figure.
fn is_before_unit(before: Option<char>, rest: &str) -> bool {
    let unit: String =
        rest.chars().take_while(|letter| !letter.is_whitespace() && !",.;:)".contains(*letter)).collect();
    before.is_some_and(|before| before.is_ascii_digit())
        && (["mm", "kg", "lb", "kN", "N", "h", "%", "m", "m²", "MPa", "in", "ft²", "°", "N/mm²"].contains(&&*unit))
}

/// After a hyphen or a slash between letters a line may end.
fn is_hinge(before: Option<char>, letter: char, after: Option<char>) -> bool {
    let is_letter = |letter: Option<char>| letter.is_some_and(char::is_alphabetic);
    (letter == '-' || letter == '/') && is_letter(before) && is_letter(after)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn lines(text: &str, width: f32) -> Vec<String> {
        let faces = Faces::load().unwrap();
        set(&faces, &[Run::new(text, Style::body())], width).iter().map(Line::text).collect()
    }

    #[test]
    fn a_unit_stays_with_its_figure() {
        let faces = Faces::load().unwrap();
        let width = faces.width("The deck is 1,830", Style::body()) + 1.0;
        assert_eq!(lines("The deck is 1,830 mm long", width), ["The deck is ", "1,830 mm long"]);
    }

    #[test]
    fn a_word_wider_than_the_line_is_cut_and_loses_nothing() {
        let cut = lines("0123456789abcdef0123456789abcdef", 40.0);
        assert!(cut.len() > 3);
        assert_eq!(cut.concat(), "0123456789abcdef0123456789abcdef");
    }

    #[test]
    fn a_new_line_in_the_text_is_one_on_paper() {
        assert_eq!(lines("one\n\ntwo", 200.0), ["one", "", "two"]);
        assert_eq!(lines("", 200.0), [""]);
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, cases: 64, ..ProptestConfig::default() })]

        #[test]
        fn no_line_is_wider_than_its_room_and_no_letter_is_lost(text in "[a-zA-Z0-9 ,./é-]{0,200}", width in 30.0_f32..400.0) {
            let faces = Faces::load().unwrap();
            let style = Style::body();
            let set = set(&faces, &[Run::new(text.clone(), style)], width);
            for line in &set {
                prop_assert!(faces.width(line.text().trim_end(), style) <= width + 0.1, "{:?}", line);
            }
            let letters = |text: &str| text.chars().filter(|letter| *letter != ' ').collect::<String>();
            let whole: String = set.iter().map(Line::text).collect();
            prop_assert_eq!(letters(&whole), letters(&text));
        }
    }
}
