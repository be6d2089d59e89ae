//! The letters of printed documents: which font has a letter, and how wide it is.

use krilla::{
    Data,
    text::{Font, GlyphId},
};
use skrifa::{
    FontRef, MetadataProvider,
    charmap::Charmap,
    instance::{LocationRef, Size},
    metrics::GlyphMetrics,
};

use super::PaperFault;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Face {
    Plain,
    Bold,
    /// Symbols of formulas.
    Slanted,
    /// What the others lack: Greek, Cyrillic, signs.
    Signs,
}

const FILES: [(Face, &[u8]); 4] = [
    (Face::Plain, include_bytes!("../../../static/fonts/overpass-400.ttf")),
    (Face::Bold, include_bytes!("../../../static/fonts/overpass-700.ttf")),
    (Face::Slanted, include_bytes!("../../../static/fonts/dejavu-slanted.ttf")),
    (Face::Signs, include_bytes!("../../../static/fonts/dejavu-signs.ttf")),
];

/// Stands for a letter that no font has.
const UNKNOWN: char = '\u{fffd}';

/// The fonts, read once a document.
pub struct Faces {
    cuts: Vec<Cut>,
}

struct Cut {
    font: Font,
    letters: Charmap<'static>,
    metrics: GlyphMetrics<'static>,
    per_em: f32,
    /// The widest figure, in parts of the em: in a table each takes this room.
    figure: f32,
}

/// A letter in a font. Lengths are parts of the em.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Letter {
    pub face: Face,
    pub id: u32,
    pub advance: f32,
    /// From the place of the letter to where it is drawn.
    pub shift: f32,
}

impl Faces {
    /// Refuses only if a font of this program is broken.
    pub fn load() -> Result<Self, PaperFault> {
        let cuts = FILES.iter().map(|(face, bytes)| Cut::read(bytes).ok_or(PaperFault::Font(*face)));
        Ok(Self { cuts: cuts.collect::<Result<_, _>>()? })
    }

    pub fn font(&self, face: Face) -> &Font {
        &self.cuts[face as usize].font
    }

    /// A letter in this face, or else in one that has it. `tabular` gives all figures the same room.
    pub fn letter(&self, face: Face, letter: char, tabular: bool) -> Letter {
        let found = [face, Face::Plain, Face::Signs].into_iter().find_map(|face| self.in_face(face, letter, tabular));
        found.or_else(|| self.in_face(Face::Signs, UNKNOWN, false)).unwrap_or(Letter {
            face: Face::Signs,
            id: 0,
            advance: 0.5,
            shift: 0.0,
        })
    }

    fn in_face(&self, face: Face, letter: char, tabular: bool) -> Option<Letter> {
        let cut = &self.cuts[face as usize];
        let id = cut.letters.map(letter).filter(|id| id.to_u32() != 0)?;
        let wide = cut.metrics.advance_width(id)? / cut.per_em;
        let (advance, shift) =
            if tabular && letter.is_ascii_digit() { (cut.figure, (cut.figure - wide) / 2.0) } else { (wide, 0.0) };
        Some(Letter { face, id: id.to_u32(), advance, shift })
    }

    /// How wide a text is, in points.
    pub fn width(&self, text: &str, style: super::text::Style) -> f32 {
        text.chars().map(|letter| self.letter(style.face, letter, style.tabular).advance).sum::<f32>() * style.size
    }
}

impl Cut {
    fn read(bytes: &'static [u8]) -> Option<Self> {
        let font = Font::new(Data::from(bytes), 0)?;
        let reader = FontRef::new(bytes).ok()?;
        let (letters, metrics) = (reader.charmap(), reader.glyph_metrics(Size::unscaled(), LocationRef::default()));
        let per_em = font.units_per_em();
        let wide = |figure| Some(metrics.advance_width(letters.map(figure)?)? / per_em);
        let figure = ('0'..='9').filter_map(wide).fold(0.0, f32::max);
        Some(Self { font, letters, metrics, per_em, figure })
    }
}

impl From<Letter> for GlyphId {
    fn from(letter: Letter) -> Self {
        Self::new(letter.id)
    }
}

#[cfg(test)]
mod tests {
    use super::{super::text::Style, *};

    #[test]
    fn figures_of_a_table_stand_below_each_other() {
        let faces = Faces::load().unwrap();
        let style = Style { tabular: true, ..Style::body() };
        assert_eq!(faces.width("1,111", style), faces.width("8,888", style));
        assert!(faces.width("1,111", Style::body()) < faces.width("8,888", Style::body()));
    }

    #[test]
    fn what_a_font_lacks_comes_from_one_that_has_it() {
        let faces = Faces::load().unwrap();
        assert_eq!(faces.letter(Face::Bold, 'ж', false).face, Face::Signs);
        assert_eq!(faces.letter(Face::Slanted, 'θ', false).face, Face::Slanted);
        assert_eq!(faces.letter(Face::Plain, '漢', false), faces.letter(Face::Signs, UNKNOWN, false));
    }
}
