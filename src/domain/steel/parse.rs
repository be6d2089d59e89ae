//! Reading the name of a section as people write it.

use std::str::FromStr;

use super::{
    channels::named_channel,
    section::{Section, SectionFault, SectionKind, Standard},
};
use crate::measure::{GaugeTable, Length, ReadFault, Units, read_length};

/// Any case; `x`, `×` or `*` between the dimensions; millimetres, or inches where that is said (`rhs 4x2x1/8 in`), where a
/// dimension is a bare fraction, or where a wall is a gauge and millimetres are impossible (`rhs 4x2 10 ga bwg`). The standard may
/// follow (`en10210`, `EN 10210-2`, `a500`). Channels also by name: `upn 80`, `c 3x4.1`, `ismc 75`.
impl FromStr for Section {
    type Err = SectionFault;

    fn from_str(text: &str) -> Result<Self, SectionFault> {
        let plain = text.trim().to_lowercase().replace(['×', '*', '✕'], "x");
        if plain.is_empty() {
            return Err(SectionFault::Empty);
        }
        let letters = plain.find(|c: char| !c.is_alphabetic()).unwrap_or(plain.len());
        let (word, size) = plain.split_at(letters);
        if let Some(channel) = named_channel(&plain).or_else(|| named_channel(size)) {
            return Ok(channel);
        }
        let kind = kind(word).ok_or_else(|| SectionFault::UnknownKind(excerpt(text)))?;
        Self::of_size(kind, size)
    }
}

impl Section {
    /// From a kind and a size as people write it: `100x50x3`, `4x2x1/8 in`, `80` (a channel's name is read by `FromStr`).
    ///
    /// # Errors
    /// See [`SectionFault`].
    pub fn of_size(kind: SectionKind, size: &str) -> Result<Self, SectionFault> {
        let lower = size.trim().to_lowercase().replace(['×', '*', '✕'], "x");
        let (size, standard) = split_standard(&lower);
        let pieces = pieces(size);
        let gauged = pieces.last().is_some_and(|last| has_gauge(last));
        let in_units = |units| -> Result<Self, SectionFault> {
            let read = |piece: &String| read_length(piece, units);
            let lengths: Result<Vec<Length>, ReadFault> = pieces.iter().map(read).collect();
            let lengths = lengths.map_err(|fault| match fault {
                ReadFault::Empty(_) | ReadFault::Unreadable { .. } => size_fault(kind, size),
                fault => SectionFault::Dimension { kind, fault },
            })?;
            Self::of_dimensions(kind, &lengths, standard).unwrap_or_else(|| Err(size_fault(kind, size)))
        };
        match stated_units(&pieces) {
            Some(units) => in_units(units),
            None if gauged => match (in_units(Units::Metric), in_units(Units::Imperial)) {
                (Err(_), Ok(inches)) => Ok(inches),
                (metric, _) => metric,
            },
            None => in_units(Units::Metric),
        }
    }
}

fn size_fault(kind: SectionKind, size: &str) -> SectionFault {
    SectionFault::Size { text: excerpt(size), kind }
}

fn excerpt(text: &str) -> String {
    text.trim().chars().take(40).collect()
}

fn kind(word: &str) -> Option<SectionKind> {
    Some(match word {
        "shs" => SectionKind::Shs,
        "rhs" => SectionKind::Rhs,
        "chs" => SectionKind::Chs,
        "angle" | "l" => SectionKind::Angle,
        "channel" | "u" => SectionKind::Channel,
        "flat" | "fl" => SectionKind::Flat,
        "round" => SectionKind::Round,
        "square" => SectionKind::Square,
        _ => return None,
    })
}

/// The size without the standard that may follow it.
fn split_standard(text: &str) -> (&str, Option<Standard>) {
    let text = text.trim();
    const NAMES: [(&str, Standard); 11] = [
        ("en 10219-2", Standard::En10219),
        ("en10219-2", Standard::En10219),
        ("en 10219", Standard::En10219),
        ("en10219", Standard::En10219),
        ("en 10210-2", Standard::En10210),
        ("en10210-2", Standard::En10210),
        ("en 10210", Standard::En10210),
        ("en10210", Standard::En10210),
        ("is 4923", Standard::Is4923),
        ("is4923", Standard::Is4923),
        ("a500", Standard::A500),
    ];
    for (name, standard) in NAMES {
        if let Some(size) = text.strip_suffix(name) {
            return (size.trim_end().trim_end_matches("astm").trim_end(), Some(standard));
        }
    }
    (text, None)
}

fn is_gauge_word(word: &str) -> bool {
    matches!(word, "ga" | "gauge" | "gage") || GaugeTable::named(word).is_some()
}

fn has_gauge(piece: &str) -> bool {
    piece.split(|c: char| !c.is_alphabetic() && c != '&').any(is_gauge_word)
}

/// The texts of the dimensions. A gauge may follow the last one after a space: `4x2 10 ga bwg` has three.
fn pieces(size: &str) -> Vec<String> {
    let mut pieces: Vec<String> = size.split('x').map(|piece| piece.trim().to_owned()).collect();
    if let Some(last) = pieces.pop() {
        let words: Vec<&str> = last.split_whitespace().collect();
        // The gauge's number: the last word that begins with a digit, before or in the first gauge word.
        let number = words.iter().rposition(|word| word.starts_with(|c: char| c.is_ascii_digit()));
        match number.filter(|&at| at > 0 && has_gauge(&last)) {
            Some(at) => pieces.extend([words[..at].join(" "), words[at..].join(" ")]),
            None => pieces.push(last),
        }
    }
    pieces
}

/// The unit that stands after the last dimension holds for all; a bare fraction among them makes all of them inches.
fn stated_units(pieces: &[String]) -> Option<Units> {
    let last = pieces.last()?;
    let ends = |units: &[&str]| units.iter().any(|unit| last.trim_end_matches('.').ends_with(unit));
    let fraction = |piece: &String| piece.contains(['/', '½', '¼', '¾', '⅛', '⅜', '⅝', '⅞']);
    if ends(&["in", "inch", "inches", "\"", "″", "”"]) || pieces.iter().any(fraction) {
        Some(Units::Imperial)
    } else if ends(&["mm"]) {
        Some(Units::Metric)
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, expect: &str) {
        let read = text.parse::<Section>().map(|section| section.to_string()).unwrap_or_else(|fault| fault.to_string());
        assert_eq!(read, expect, "{text}");
    }

    #[test]
    fn names_as_people_write_them() {
        check("rhs 100x50x3", "rhs 100x50x3");
        check("RHS 100 × 50 × 3", "rhs 100x50x3");
        check("rhs 100*50*3.0 mm", "rhs 100x50x3");
        check("rhs 50x100x3", "rhs 50x100x3");
        check("shs 50x3", "shs 50x50x3");
        check("SHS50x50x3 EN 10210-2", "shs 50x50x3 en10210");
        check("rhs 60x40x3 en10219", "rhs 60x40x3");
        check("rhs 60x40x2.9 IS 4923", "rhs 60x40x2.9 is4923");
        check("rhs 4x2x1/8 in", "rhs 101.6x50.8x3.175");
        check("rhs 4x2x1/8", "rhs 101.6x50.8x3.175");
        check("rhs 4x2x3/16 in astm a500", "rhs 101.6x50.8x4.7625 a500");
        check("rhs 4\"x2\"x1/8\"", "rhs 101.6x50.8x3.175");
        check("rhs 4x2 10 ga bwg", "rhs 101.6x50.8x3.4036");
        check("rhs 4x2x10 ga bwg", "rhs 101.6x50.8x3.4036");
        check("rhs 4 x 2 x 11ga BWG", "rhs 101.6x50.8x3.048");
        check("rhs 100x50 10 swg", "rhs 100x50x3.2512");
        check("shs 1 1/2x1 1/2x1/8 in", "shs 38.1x38.1x3.175");
        check("shs 2 1/2 10 ga bwg", "shs 63.5x63.5x3.4036");
        check("chs 48.3x3.2", "chs 48.3x3.2");
        check("angle 50x5", "angle 50x50x5");
        check("angle 60x30x5", "angle 60x30x5");
        check("flat 50x5", "flat 50x5");
        check("round 20", "round 20");
        check("square 25", "square 25");
        check("channel 80x45x6x8", "channel 80x45x6x8");
        check("channel 80x40x3", "channel 80x40x3");
        check("upn 80", "channel 80x45x6x8");
        check("Channel UPN80", "channel 80x45x6x8");
        check("c3x4.1", "channel 76.2x35.814x4.318x6.9342");
    }

    #[test]
    fn what_is_wrong_is_said() {
        check("", "no section was entered: type its kind and size, such as rhs 100x50x3");
        check(
            "beam 100",
            "“beam 100” is not a kind of section: use shs, rhs, chs, angle, channel, flat, round or square, such as rhs 100x50x3",
        );
        check("rhs 100x50", "“100x50” is not the size of an rhs section: write rhs 100x50x3");
        check("rhs axbxc", "“axbxc” is not the size of an rhs section: write rhs 100x50x3");
        check("shs 60x40x3", "the sides of a square hollow section are equal: write rhs for 60 × 40 mm");
        check(
            "rhs 40x20x8",
            "a wall of 8 mm is too thick for the rectangular hollow section, its sides and corners leave room for less than 4.0 mm",
        );
        check(
            "rhs 4x2x0.125",
            "the depth of the rectangular hollow section is 4 mm: it must be from 8 to 1000 mm (write in after a size in inches)",
        );
        check(
            "round 20 en10210",
            "EN 10210-2, hot-finished is a standard of hollow sections; the round bar takes none",
        );
        check(
            "rhs 100x50x1,5",
            "the size of the rectangular hollow section: “1,5” can be read as 1.5 or as 15: type the one that is meant",
        );
        let fault = "rhs 4x2 10 ga".parse::<Section>().unwrap_err().to_string();
        assert!(fault.contains("10 BWG (3.40 mm, tube wall and strip)"), "{fault}");
        assert!("rhs 100x50x-3".parse::<Section>().is_err());
    }
}
