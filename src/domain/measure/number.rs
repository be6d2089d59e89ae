//! Digits with their marks, as people type them.
//!
//! The rule for commas and dots, said once:
//!
//! * the house's decimal mark is a decimal mark; it stands at most once;
//! * the other mark groups digits, in lawful groups only: `1,234,567` or `12,34,567`;
//! * spaces group by three; after a space-grouped part either mark is the decimal mark (`1 200,5`);
//! * where both marks stand, the last one, standing once, is the decimal mark (`1.200,50`);
//! * a lone other mark that is no lawful group (`1,5`) has two readings, so it is asked about, never guessed.

use rust_decimal::Decimal;
use winnow::{
    ascii::{digit1, space0},
    combinator::{alt, not, opt, preceded, repeat, terminated},
    prelude::*,
    token::{any, one_of, take_while},
};

use super::fault::{Asked, ReadFault, short};

/// A piece of what was typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Token {
    /// Digits with their marks, not yet weighed.
    Number(String),
    /// Letters, in lower case, without a closing full stop.
    Word(String),
    /// Any other single character.
    Sign(char),
}

/// Which mark a bare one is taken for.
#[derive(Clone, Copy, Debug)]
pub struct Marks {
    pub decimal: char,
    pub group: char,
}

impl Marks {
    pub const POINT: Self = Self { decimal: '.', group: ',' };
    pub const COMMA: Self = Self { decimal: ',', group: '.' };
}

/// One typed character made plain: typographic primes, dashes, spaces and fractions.
fn plain(character: char) -> &'static str {
    match character {
        '′' | '’' | '‘' | '´' | '`' => "'",
        '″' | '”' | '“' | '„' => "\"",
        '−' | '–' | '—' | '‐' | '‑' => "-",
        '⁄' | '∕' => "/",
        '\u{a0}' | '\u{2007}' | '\u{2009}' | '\u{200a}' | '\u{202f}' | '\t' => " ",
        '½' => " 1/2",
        '¼' => " 1/4",
        '¾' => " 3/4",
        '⅛' => " 1/8",
        '⅜' => " 3/8",
        '⅝' => " 5/8",
        '⅞' => " 7/8",
        '⅓' => " 1/3",
        '⅔' => " 2/3",
        'º' => "°",
        _ => "",
    }
}

/// The pieces of a text. Two single primes are one double; letters are made small.
pub fn tokens(text: &str) -> Vec<Token> {
    let mut plainer = String::with_capacity(text.len());
    for character in text.chars() {
        match plain(character) {
            "" => plainer.push(character),
            replaced => plainer.push_str(replaced),
        }
    }
    let plainer = plainer.replace("''", "\"");
    let mut input = plainer.trim();
    let read: winnow::Result<Vec<Token>> = repeat(0.., terminated(token, space0)).parse_next(&mut input);
    // Any character is at least a sign, so that nothing is left over and nothing fails.
    read.unwrap_or_default()
}

fn token(input: &mut &str) -> winnow::Result<Token> {
    alt((
        number.map(|digits: &str| Token::Number(digits.to_owned())),
        terminated(take_while(1.., |c: char| c.is_alphabetic() || c == '&'), opt('.'))
            .map(|word: &str| Token::Word(word.to_lowercase())),
        any.map(Token::Sign),
    ))
    .parse_next(input)
}

fn number<'i>(input: &mut &'i str) -> winnow::Result<&'i str> {
    let marked = (one_of(['.', ',']), digit1).void();
    // A space groups only before exactly three digits that do not begin a fraction: `2 1/2` is no group, `1 200` is.
    let digit = |c: char| c.is_ascii_digit();
    let spaced = (' ', take_while(3, digit), not(one_of(digit)), not(preceded(space0, '/'))).void();
    let grouped =
        (digit1, repeat::<_, _, (), _, _>(0.., alt((marked, spaced))), opt(terminated('.', not(one_of(digit)))));
    alt((grouped.void(), ('.', digit1).void())).take().parse_next(input)
}

/// Weighs the digits of one [`Token::Number`].
pub fn decimal(digits: &str, marks: Marks, asked: Asked) -> Result<Decimal, ReadFault> {
    let digits = digits.strip_suffix('.').unwrap_or(digits);
    let count = |mark| digits.matches(mark).count();
    let (decimals, groups, spaces) = (count(marks.decimal), count(marks.group), count(' '));
    let misgrouped = || ReadFault::Grouping { text: short(digits) };
    let point = match (decimals, groups) {
        (0, 0) => None,
        (1, 0) => digits.rfind(marks.decimal),
        (0, 1) if spaces > 0 => digits.rfind(marks.group),
        (0, _) if lawful(digits, marks.group) => None,
        (0, 1) => return Err(two_readings(digits, marks)),
        _ => {
            let last = digits.rfind(['.', ',']).filter(|&at| count(char_at(digits, at)) == 1);
            Some(last.ok_or_else(misgrouped)?)
        }
    };
    let (whole, fraction) = match point {
        Some(at) => (&digits[..at], &digits[at + 1..]),
        None => (digits, ""),
    };
    let separator = whole.chars().find(|c| !c.is_ascii_digit());
    if separator.is_some_and(|mark| !lawful(whole, mark)) || fraction.chars().any(|c| !c.is_ascii_digit()) {
        return Err(misgrouped());
    }
    let bare: String = whole.chars().filter(char::is_ascii_digit).collect();
    Decimal::from_str_exact(&format!("0{bare}.{fraction}0"))
        .map(|number| number.normalize())
        .map_err(|_| ReadFault::TooLarge { text: short(digits), asked })
}

/// `at` is where `rfind` found an ASCII mark.
fn char_at(digits: &str, at: usize) -> char {
    digits[at..].chars().next().unwrap_or('.')
}

/// Whether the digits stand in western (3, 3, 3) or Indian (2, 2, 3) groups with this mark and no other.
fn lawful(digits: &str, mark: char) -> bool {
    let groups: Vec<&str> = digits.split(mark).collect();
    let [first, middle @ .., last] = groups.as_slice() else { return false };
    let sized = |group: &str, size| group.len() == size && group.chars().all(|c| c.is_ascii_digit());
    let starts = |most| (1..=most).any(|size| sized(first, size)) && !first.starts_with('0');
    sized(last, 3)
        && ((starts(3) && middle.iter().all(|group| sized(group, 3)))
            || (starts(2) && middle.iter().all(|group| sized(group, 2))))
}

fn two_readings(digits: &str, marks: Marks) -> ReadFault {
    let grouped: String = digits.chars().filter(char::is_ascii_digit).collect();
    let grouped = match grouped.trim_start_matches('0') {
        "" => "0",
        rest => rest,
    };
    ReadFault::Ambiguous {
        text: short(digits),
        readings: [short(&digits.replace(marks.group, &marks.decimal.to_string())), short(grouped)],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, expect: &str) {
        let read = decimal(text, Marks::POINT, Asked::Number);
        assert_eq!(read.map(|d| d.to_string()).unwrap_or_else(|fault| format!("{fault:?}")), expect, "{text}");
    }

    #[test]
    fn lawful_numbers() {
        check("1830", "1830");
        check("1,200.5", "1200.5");
        check("1.200,5", "1200.5");
        check("1 200,5", "1200.5");
        check("1 200.5", "1200.5");
        check("1 234 567", "1234567");
        check("1,200", "1200");
        check("1,00,000", "100000");
        check("1,00,000.25", "100000.25");
        check("12,34,567", "1234567");
        check("1,234,567", "1234567");
        check(".5", "0.5");
        check("5.", "5");
        check("007", "7");
        check("0.10", "0.1");
    }

    #[test]
    fn what_is_not_certain_is_asked() {
        let readings = |text: &str| match decimal(text, Marks::POINT, Asked::Number) {
            Err(ReadFault::Ambiguous { readings: [a, b], .. }) => (a, b),
            other => panic!("{text}: {other:?}"),
        };
        assert_eq!(readings("1,5"), ("1.5".into(), "15".into()));
        assert_eq!(readings("0,500"), ("0.500".into(), "500".into()));
        assert_eq!(readings("1234,567"), ("1234.567".into(), "1234567".into()));
    }

    #[test]
    fn unlawful_groups_are_refused() {
        for text in ["1,00,00", "1,2,3", "1.2.3", "1,000,00", "12 34", "1 000,000,000", "1,000.000,000", "1234,567.8"] {
            let read = decimal(text, Marks::POINT, Asked::Number);
            assert!(matches!(read, Err(ReadFault::Grouping { .. })), "{text}: {read:?}");
        }
    }

    #[test]
    fn the_comma_may_be_the_decimal_mark() {
        let read = |text| decimal(text, Marks::COMMA, Asked::Money).map(|d| d.to_string());
        assert_eq!(read("1,5").unwrap(), "1.5");
        assert_eq!(read("1.200,50").unwrap(), "1200.5");
        assert_eq!(read("1.200").unwrap(), "1200");
        assert!(matches!(read("1.5"), Err(ReadFault::Ambiguous { .. })));
    }

    #[test]
    fn too_many_digits_are_refused() {
        let read = decimal(&"9".repeat(60), Marks::POINT, Asked::Number);
        assert!(matches!(read, Err(ReadFault::TooLarge { .. })));
    }
}
