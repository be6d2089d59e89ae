//! Line kinds of ISO 128-2 as pens: widths in millimetres of paper. Nothing depends on colour.

use crate::documents::drawing::Ink;

/// Width of the wide lines; narrow ones are half as wide (ISO 128-2, clause 5.1).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineGroup {
    /// Wide 0.35 mm: small scales.
    Fine,
    /// Wide 0.5 mm.
    Usual,
}

impl LineGroup {
    pub const fn wide_mm(self) -> f64 {
        match self {
            Self::Fine => 0.35,
            Self::Usual => 0.5,
        }
    }

    /// Below 1:10 outlines of tubes would run together.
    pub(super) fn at(scale: f64) -> Self {
        if scale > 10.0 { Self::Fine } else { Self::Usual }
    }
}

/// How a line is drawn on paper.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pen {
    /// 0 where no line is drawn.
    pub width_mm: f64,
    /// Marks and gaps in turn; empty for a continuous line.
    pub dashes_mm: &'static [f64],
    /// Grey of the filling from 0 (black) to 255; none where what lies below is seen.
    pub fill: Option<u8>,
}

/// ISO 128-2, line types 02 (dashed), 04 (long-dashed dotted) and 05 (long-dashed double-dotted), shortened for small sheets.
const DASHED: &[f64] = &[3.0, 0.8];
const LONG_DOTTED: &[f64] = &[6.0, 0.8, 0.3, 0.8];
const LONG_DOUBLE_DOTTED: &[f64] = &[6.0, 0.8, 0.3, 0.8, 0.3, 0.8];

/// The pen of an ink on a sheet.
pub fn pen(ink: Ink, group: LineGroup) -> Pen {
    let (wide, narrow) = (group.wide_mm(), group.wide_mm() / 2.0);
    let line = |width_mm, dashes_mm, fill| Pen { width_mm, dashes_mm, fill };
    match ink {
        Ink::Blank => line(0.0, &[][..], Some(255)),
        Ink::Border => line(0.7, &[][..], None),
        Ink::Dimension => line(narrow, &[][..], Some(0)),
        Ink::Note => line(narrow, &[][..], None),
        Ink::Hidden => line(narrow, DASHED, None),
        Ink::Centre => line(narrow, LONG_DOTTED, None),
        Ink::Load => line(narrow, LONG_DOUBLE_DOTTED, None),
        Ink::Ground => line(2.0 * wide, &[][..], None),
        Ink::Fold => line(narrow, &[][..], None),
        Ink::Wheel => line(wide, &[][..], Some(225)),
        Ink::Drawbar => line(wide, &[][..], Some(236)),
        Ink::Kerf => line(narrow, &[][..], Some(0)),
        _ => line(wide, &[][..], Some(255)),
    }
}
