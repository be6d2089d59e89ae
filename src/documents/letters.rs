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
/// From 160, the letters of Western Europe.
const LATIN: u32 = 160;
const LATIN_ADVANCES: [u16; 96] = [
    235, 271, 515, 597, 633, 566, 272, 533, 368, 859, 450, 515, 645, 399, 859, 368, 409, 645, 362, 364, 368, 568, 631,
    225, 368, 199, 467, 515, 682, 726, 813, 514, 679, 679, 679, 679, 679, 679, 861, 647, 599, 599, 599, 599, 283, 283,
    283, 283, 682, 708, 730, 730, 730, 730, 730, 645, 730, 689, 689, 689, 689, 641, 632, 562, 526, 526, 526, 526, 526,
    526, 857, 500, 538, 538, 538, 538, 254, 254, 254, 254, 558, 563, 558, 558, 558, 558, 558, 645, 558, 563, 563, 563,
    563, 529, 565, 529,
];
/// What the tables lack is taken for as wide as the letter size: wider than nearly all letters.
const OTHER: u16 = 1000;

/// Width of words set in letters of this size (not height of capitals).
pub(super) fn width(text: &str, size: f64) -> f64 {
    let among = |letter: char, first: u32, advances: &[u16]| {
        let at = u32::from(letter).checked_sub(first).and_then(|at| usize::try_from(at).ok())?;
        advances.get(at).copied()
    };
    let advance = |letter: char| {
        among(letter, FIRST, &ADVANCES).or_else(|| among(letter, LATIN, &LATIN_ADVANCES)).unwrap_or(match letter {
            '–' => 510,
            '−' => 645,
            '…' => 941,
            '“' | '”' | '„' => 434,
            '‘' | '’' => 225,
            _ => OTHER,
        })
    };
    text.chars().map(|letter| f64::from(advance(letter))).sum::<f64>() * size / 1000.0
}

/// The words on one line where they fit, else on several with room for what is set in.
pub(super) fn lines(text: &str, size: f64, room: f64, set_in: f64) -> Vec<String> {
    if width(text, size) <= room {
        return vec![text.to_owned()];
    }
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ') {
        match lines.last_mut() {
            Some(line) if width(&format!("{line} {word}"), size) <= room - set_in => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
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
        assert!((width("ß×ü", 1000.0) - 1770.0).abs() < 1e-9);
        assert!(width("日", 10.0) >= 10.0);
    }

    #[test]
    fn what_does_not_fit_on_a_line_goes_on_below() {
        assert_eq!(lines("short", 2.5, 100.0, 3.0), ["short"]);
        let set = lines("Left end: 45° off square (across the width)", 3.5, 50.0, 3.0);
        assert_eq!(set, ["Left end: 45° off square", "(across the width)"]);
    }

    #[test]
    fn what_does_not_fit_is_shortened() {
        assert_eq!(fitted("short", 2.5, 100.0), "short");
        let cut = fitted("a very long title of a job", 2.5, 15.0);
        assert!(cut.ends_with('…') && width(&cut, 2.5) <= 15.0, "{cut}");
    }
}
