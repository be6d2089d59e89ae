//! How wide words are in our letters: advances read from `static/fonts/overpass-400.ttf`, in thousandths of the letter size.

/// Capitals and figures are this much of the letter size tall (the font's own figure): ISO 3098 heights are heights of capitals.
pub(super) const CAPITAL: f64 = 0.7;

const FIRST: u32 = 32;
const ADVANCES: [u16; 95] = [
    235, 273, 403, 683, 588, 870, 677, 214, 343, 343, 533, 645, 225, 399, 225, 490, 642, 373, 612, 602, 621, 621, 597,
    522, 611, 597, 225, 225, 645, 645, 645, 514, 809, 679, 656, 647, 682, 599, 562, 688, 700, 283, 546, 660, 559, 804,
    708, 730, 630, 730, 665, 599, 583, 689, 652, 840, 603, 641, 650, 376, 490, 376, 645, 490, 368, 526, 562, 500, 562,
    538, 333, 563, 563, 254, 254, 531, 262, 847, 563, 558, 565, 563, 389, 469, 378, 563, 512, 715, 517, 529, 505, 372,
    272, 372, 645,
];
/// What the table lacks is taken for as wide as the letter size: wider than nearly all letters.
const OTHER: u16 = 1000;

/// Width of words set in letters of this size (not height of capitals).
pub(super) fn width(text: &str, size: f64) -> f64 {
    let advance = |letter: char| {
        let at = u32::from(letter).checked_sub(FIRST).and_then(|at| usize::try_from(at).ok());
        at.and_then(|at| ADVANCES.get(at).copied()).unwrap_or(match letter {
            '°' => 409,
            '×' => 645,
            '–' => 510,
            _ => OTHER,
        })
    };
    text.chars().map(|letter| f64::from(advance(letter))).sum::<f64>() * size / 1000.0
}

/// The words, shortened with a mark of omission to what fits.
pub(super) fn fitted(text: &str, size: f64, room: f64) -> String {
    if width(text, size) <= room {
        return text.to_owned();
    }
    let mut kept = String::new();
    for letter in text.chars() {
        kept.push(letter);
        if width(&kept, size) + width("…", size) > room {
            kept.pop();
            break;
        }
    }
    format!("{}…", kept.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn widths_are_those_of_the_font() {
        assert!((width("10", 1000.0) - 1015.0).abs() < 1e-9);
        assert!(width("日", 10.0) >= 10.0);
    }

    #[test]
    fn what_does_not_fit_is_shortened() {
        assert_eq!(fitted("short", 2.5, 100.0), "short");
        let cut = fitted("a very long title of a job", 2.5, 15.0);
        assert!(cut.ends_with('…') && width(&cut, 2.5) <= 15.0, "{cut}");
    }
}
