//! Sentences on pages: no end of a line parts a figure from its unit, or a code at its hyphens.

use askama::filters::{Escaper, Html, Safe};

/// What stands behind a figure and belongs to it.
const UNITS: [&str; 35] = [
    "mm", "cm", "m", "km", "mm²", "m²", "cm²/min", "m³", "km/h", "kg", "g", "t", "lb", "N", "kN", "Nm", "kNm", "N/mm",
    "MPa", "bar", "%", "°", "°C", "µm", "μm", "V", "A", "W", "Ω", "Hz", "h", "min", "l", "day", "days",
];

/// The sentence as HTML, escaped, with figures and codes kept whole; templates take it as it is.
pub fn told(sentence: &str) -> Safe<String> {
    let words: Vec<&str> = sentence.split(' ').collect();
    let mut out = String::with_capacity(sentence.len() + 64);
    let mut at = 0;
    while at < words.len() {
        let end = end_of_piece(&words, at);
        let piece = words[at..end].join(" ");
        let kept = end - at > 1 || is_code(&piece);
        out.push_str(if at > 0 { " " } else { "" });
        out.push_str(if kept { r#"<span class="kept">"# } else { "" });
        // Writing to a string cannot fail.
        let _ = Html.write_escaped_str(&mut out, &piece);
        out.push_str(if kept { "</span>" } else { "" });
        at = end;
    }
    Safe(out)
}

/// Where the words end that belong to the figure that begins here.
fn end_of_piece(words: &[&str], at: usize) -> usize {
    let belongs = |pair: &&[&str]| {
        let [before, after] = **pair else { return false };
        let times = after == "×" && (is_figure(before) || is_unit(before));
        let compared = matches!(bare(before), "×" | "<" | ">" | "≤" | "≥") && is_figure(bare(after));
        times || compared || (is_figure(before) && is_unit(after))
    };
    at + 1 + words[at..].windows(2).take_while(belongs).count()
}

fn is_figure(word: &str) -> bool {
    let digits = word.trim_start_matches(['(', '“', '"', '−', '-', '+', '±', '£', '€', '$']);
    digits.starts_with(|first: char| first.is_ascii_digit()) && digits.ends_with(|last: char| last.is_ascii_digit())
}

fn is_unit(word: &str) -> bool {
    UNITS.contains(&bare(word))
}

/// Parts joined by hyphens, of capitals and digits: a code, a tag, a number of a job.
fn is_code(word: &str) -> bool {
    let (code, mut parts) = (bare(word), bare(word).split('-'));
    let has_digit = code.contains(|letter: char| letter.is_ascii_digit());
    let all_capitals = !code.contains(char::is_lowercase);
    code.contains('-') && (has_digit || all_capitals) && parts.all(|part| part.starts_with(char::is_alphanumeric))
}

/// A word without the marks around it.
fn bare(word: &str) -> &str {
    word.trim_start_matches(['(', '“', '"']).trim_end_matches(['.', ',', ';', ':', '?', '!', ')', '”', '"'])
}

#[cfg(test)]
mod tests {
    use super::told;

    fn marked(sentence: &str) -> String {
        told(sentence).0.replace(r#"<span class="kept">"#, "[").replace("</span>", "]")
    }

    #[test]
    fn figures_keep_their_units_and_codes_their_hyphens() {
        assert_eq!(
            marked("It bears 1,000 kg, the worst case puts 926 kg on it."),
            "It bears [1,000 kg,] the worst case puts [926 kg] on it."
        );
        assert_eq!(marked("spread on 1500 × 1500 mm standing still"), "spread on [1500 × 1500 mm] standing still");
        assert_eq!(marked("2,000 mm × 1,000 mm"), "[2,000 mm × 1,000 mm]");
        assert_eq!(marked("a road rule, > 1,500 kg (5 % of it)"), "a road rule, [&#62; 1,500 kg] [(5 %] of it)");
        assert_eq!(marked("bumps of a rough track (× 3), at 0.5 g"), "bumps of a rough track [(× 3),] at [0.5 g]");
        assert_eq!(marked("Coupling head (CO-50-3500-HD)"), "Coupling head [(CO-50-3500-HD)]");
        assert_eq!(marked("R-0006, R-0007: BA-CABLE of 2026-003"), "[R-0006,] [R-0007:] [BA-CABLE] of [2026-003]");
    }

    #[test]
    fn plain_words_stay_plain() {
        for plain in
            ["A cross-member of an A-frame.", "3 pieces, then more", "m and kg", "", "- and -5 alone", "two  spaces"]
        {
            assert_eq!(marked(plain), plain);
        }
        assert_eq!(told("<b> & 5 kg").0, r#"&#60;b&#62; &#38; <span class="kept">5 kg</span>"#);
    }
}
