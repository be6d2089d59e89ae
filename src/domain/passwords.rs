//! What is a password: long, and not among the first that anyone would try. Those are told by rule, because people make them by
//! rule: a word that everybody takes, a year, a run of keys, a name.

use std::collections::HashSet;

use super::people::PersonName;

/// OWASP ASVS 4.0.3, 2.1.1 and 2.1.2 (from memory): at least 12 characters, at most 128.
pub const SHORTEST_PASSWORD: usize = 12;
pub const LONGEST_PASSWORD: usize = 128;
/// Fewer different characters than this are a pattern, not a password.
const FEWEST_CHARACTERS: usize = 5;
/// So many pieces that anyone would try, or fewer, make no password: a word, a year and a sign are three.
const TOO_FEW_PIECES: usize = 3;
/// Shorter parts of a name are ordinary letters.
const SHORTEST_WORD: usize = 3;
/// Keys beside each other from here on are a run.
const SHORTEST_RUN: usize = 3;
/// So many digits at the end, or fewer, are one piece whatever they are: people add a number to a word.
const LONGEST_NUMBER: usize = 4;

/// Passwords of at least 12 characters that stand on many lists of the commonest (from memory).
const COMMONEST: &str = include_str!("../../seed-data/common-passwords.txt");
/// Words of which people make passwords (from memory: common practice, no list of anyone's).
const WORDS: &str = include_str!("../../seed-data/common-password-words.txt");
/// What is typed by moving along: the alphabet, the digits, keyboard rows and columns of common layouts. Backwards too.
const ROWS: [&str; 15] = [
    "abcdefghijklmnopqrstuvwxyz",
    "01234567890",
    "qwertyuiop",
    "asdfghjkl",
    "zxcvbnm",
    "qwertzuiopü",
    "azertyuiop",
    "qsdfghjklm",
    "yxcvbnm",
    "wxcvbn",
    "1qaz2wsx3edc4rfv5tgb6yhn7ujm8ik9ol",
    "1q2w3e4r5t6y7u8i9o0p",
    "qazwsxedcrfvtgbyhnujm",
    "a1b2c3d4e5f6g7h8i9",
    "!@#$%^&*()",
];

/// Why a text is no password; says what would do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PasswordFault {
    #[error("This password is too short: use at least {SHORTEST_PASSWORD} characters. A few words in a row do well.")]
    TooShort,
    #[error("This password is too long: use at most {LONGEST_PASSWORD} characters.")]
    TooLong,
    #[error("This password is one of the first that anyone would try: use another. A few words in a row do well.")]
    Common,
    #[error(
        "This password is made of what anyone would try first (a common word, a name, the shop, a year, keys in a row): use \
         another. A few words in a row that have nothing to do with each other do well."
    )]
    Guessable,
}

/// Whether a text may be a person's password. No kind of character is asked for: length counts. `shop` is what the shop is
/// called and where it is.
pub fn check_password(password: &str, name: &PersonName, shop: &str) -> Result<(), PasswordFault> {
    let length = password.chars().count();
    if length < SHORTEST_PASSWORD {
        return Err(PasswordFault::TooShort);
    }
    if length > LONGEST_PASSWORD {
        return Err(PasswordFault::TooLong);
    }
    let folded = password.to_lowercase();
    let letters: Vec<char> = folded.chars().collect();
    let different: HashSet<char> = letters.iter().copied().collect();
    if different.len() < FEWEST_CHARACTERS || COMMONEST.lines().any(|line| line == folded) {
        return Err(PasswordFault::Common);
    }
    if pieces(unit(&letters), &words(name, shop)) <= TOO_FEW_PIECES {
        return Err(PasswordFault::Guessable);
    }
    Ok(())
}

/// Common words, and those that stand on the shop's own sign.
fn words(name: &PersonName, shop: &str) -> Vec<Vec<char>> {
    let own = format!("{} {} hitchwright", name.folded(), shop.to_lowercase());
    let own = own.split(|char: char| !char.is_alphanumeric()).filter(|word| word.chars().count() >= SHORTEST_WORD);
    WORDS.lines().chain(own).map(|word| word.chars().collect()).collect()
}

/// The shortest part of which the whole is a repetition.
fn unit(letters: &[char]) -> &[char] {
    let repeats = |length: &usize| {
        letters.len().is_multiple_of(*length) && letters.chunks(*length).all(|part| part == &letters[..*length])
    };
    (1..letters.len()).find(repeats).map_or(letters, |length| &letters[..length])
}

/// The fewest pieces that a text can be put together from: a word forwards or backwards, a run, a year, a day, a whole date, a short
/// number at the end, one character several times, several signs in a row, and else a character. What only separates counts nothing.
fn pieces(letters: &[char], words: &[Vec<char>]) -> usize {
    let mut fewest = vec![usize::MAX; letters.len() + 1];
    fewest[0] = 0;
    for at in 0..letters.len() {
        let rest = &letters[at..];
        let so_far = fewest[at];
        let separates = matches!(rest[0], ' ' | '-' | '_' | '.' | ',' | '/');
        fewest[at + 1] = fewest[at + 1].min(so_far + usize::from(!separates));
        let mut reach = |length: usize| {
            // What begins a piece may end anywhere in it: of a run of nine also the first five.
            fewest[at + length] = fewest[at + length].min(so_far + 1);
        };
        words.iter().filter(|word| begins_with(rest, word.iter())).for_each(|word| reach(word.len()));
        words.iter().filter(|word| begins_with(rest, word.iter().rev())).for_each(|word| reach(word.len()));
        (2..=signs(rest)).for_each(&mut reach);
        (2..=same(rest)).for_each(&mut reach);
        (SHORTEST_RUN..=run(rest)).for_each(&mut reach);
        if is_year(rest) || is_day(rest) {
            reach(4);
        }
        dates(rest).for_each(&mut reach);
        if at > 0 && rest.len() <= LONGEST_NUMBER && rest.iter().all(char::is_ascii_digit) {
            reach(rest.len());
        }
    }
    fewest[letters.len()]
}

/// Whether a text begins with a word, also where signs stand for its letters.
fn begins_with<'a>(text: &[char], word: impl ExactSizeIterator<Item = &'a char>) -> bool {
    let stands_for = |sign: char, letter: char| match sign {
        '0' => letter == 'o',
        '1' | '!' | '|' => letter == 'i' || letter == 'l',
        '2' => letter == 'z',
        '3' | '€' => letter == 'e',
        '4' | '@' => letter == 'a',
        '5' | '$' => letter == 's',
        '6' => letter == 'g' || letter == 'b',
        '7' | '+' => letter == 't',
        '8' => letter == 'b',
        '9' => letter == 'g',
        _ => false,
    };
    text.len() >= word.len() && text.iter().zip(word).all(|(sign, letter)| sign == letter || stands_for(*sign, *letter))
}

/// How often the first character stands there.
fn same(text: &[char]) -> usize {
    text.iter().take_while(|char| **char == text[0]).count()
}

/// How many signs stand there, that are neither letter nor digit.
fn signs(text: &[char]) -> usize {
    text.iter().take_while(|char| !char.is_alphanumeric()).count()
}

/// The longest run of keys at the start.
fn run(text: &[char]) -> usize {
    let along = |row: &[char]| {
        (0..row.len())
            .map(|from| text.iter().zip(&row[from..]).take_while(|(typed, key)| typed == key).count())
            .max()
            .unwrap_or(0)
    };
    ROWS.iter()
        .map(|row| {
            let forwards: Vec<char> = row.chars().collect();
            let backwards: Vec<char> = row.chars().rev().collect();
            along(&forwards).max(along(&backwards))
        })
        .max()
        .unwrap_or(0)
}

/// The number of the first digits, so many of them.
fn number(text: &[char], digits: usize) -> Option<u32> {
    let first = text.get(..digits)?;
    first.iter().try_fold(0, |number, char| Some(number * 10 + char.to_digit(10)?))
}

fn is_year(text: &[char]) -> bool {
    number(text, 4).is_some_and(|year| (1900..2100).contains(&year))
}

/// Day and month, or month and day.
fn is_day(text: &[char]) -> bool {
    let fits = |day: u32, month: u32| (1..=31).contains(&day) && (1..=12).contains(&month);
    number(text, 4).is_some_and(|both| fits(both / 100, both % 100) || fits(both % 100, both / 100))
}

/// How long the dates are that a text begins with: day and month with a year of two digits or of four, either part first.
fn dates(text: &[char]) -> impl Iterator<Item = usize> {
    let short = text.len() >= 6 && (is_day(text) || is_day(&text[2..])) && number(text, 6).is_some();
    let long = (is_day(text) && is_year(text.get(4..).unwrap_or_default()))
        || (is_year(text) && is_day(text.get(4..).unwrap_or_default()));
    [short.then_some(6), long.then_some(8)].into_iter().flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(password: &str) -> Result<(), PasswordFault> {
        let name = PersonName::parse("Marabel Holloway").expect("a name");
        check_password(password, &name, "Saltmarsh Fabrications Wick Sands")
    }

    #[test]
    fn a_password_is_long_and_not_the_first_that_anyone_would_try() {
        for (password, expected) in [
            ("three grey gulls", Ok(())),
            ("a heron by the lock", Ok(())),
            ("öäüßøåæœ€µ§¶", Ok(())),
            ("vT4-kp9!xQz2", Ok(())),
            ("730195284617", Ok(())), // No kind of character is asked for.
            ("elevenchars", Err(PasswordFault::TooShort)),
            ("Password1234", Err(PasswordFault::Common)),
            ("QWERTYUIOP123", Err(PasswordFault::Common)),
            ("abababababababab", Err(PasswordFault::Common)),
        ] {
            assert_eq!(check(password), expected, "{password}");
        }
        let long: String = "seven tin buckets roll downhill ".repeat(4).chars().collect();
        assert_eq!(check(&long[..127]), Ok(()));
        assert_eq!(check(&format!("{long}!")), Err(PasswordFault::TooLong));
    }

    #[test]
    fn what_people_make_passwords_of_is_found_in_every_dress() {
        for password in [
            "marabel HOLLOWAY",
            "Marabel-Holloway-1987",
            "holloway12041987",
            "Saltmarsh2026!!!",
            "wick sands 2026",
            "Hitchwright2026!",
            "Fabrications123",
            "Summer2025!!!",
            "P@$$w0rd!!!2024",
            "welcome-welcome-1",
            "dragon monkey football",
            "abcdefghijklmnop",
            "poiuytrewqlkjhgfdsa",
            "1qaz2wsx3edc!!",
            "zxcvbnm98765432",
            "999999999999abc",
            "passwortpasswortpasswort",
            "motdepasse2024",
            // Backwards, with a number at the end, with signs in a row, with a whole date.
            "drowssapdrow554p",
            "yawolloh 1987",
            "football-4711",
            "chocolate8362",
            "princess?!?!?!",
            "!!!!sunshine****",
            "schwarz... 1204",
            "marseille120487",
            "football20041231",
            "+r@iler-w3lder",
            "5un5hine-8utterfly",
            "thequickbrownfox",
            "1234qwerASDFzxcv",
        ] {
            assert!(matches!(check(password), Err(PasswordFault::Guessable | PasswordFault::Common)), "{password}");
        }
    }

    #[test]
    fn a_repetition_counts_as_what_is_repeated() {
        let letters = |text: &str| text.chars().collect::<Vec<_>>();
        assert_eq!(unit(&letters("gullgullgull")), letters("gull"));
        assert_eq!(unit(&letters("gullgullgul")), letters("gullgullgul"));
        assert_eq!(check("abcdefghabcdefgh"), Err(PasswordFault::Guessable));
    }

    #[test]
    fn of_all_ways_to_cut_a_text_into_pieces_the_fewest_counts() {
        let words = [["s", "u", "n"].concat(), ["s", "u", "n", "d", "a", "y"].concat()];
        let words: Vec<Vec<char>> = words.iter().map(|word| word.chars().collect()).collect();
        for (text, expected) in
            [("sunday", 1), ("sundance", 6), ("5unday", 1), ("sun-day", 4), ("sunday2024", 2), ("12345678x", 2)]
        {
            let letters: Vec<char> = text.chars().collect();
            assert_eq!(pieces(&letters, &words), expected, "{text}");
        }
    }

    #[test]
    fn the_lists_are_as_they_are_compared() {
        for line in COMMONEST.lines() {
            assert!(line.chars().count() >= SHORTEST_PASSWORD && line == line.to_lowercase(), "{line}");
        }
        for line in WORDS.lines() {
            assert!(line.chars().count() >= SHORTEST_WORD && line == line.to_lowercase().trim(), "{line}");
        }
        let all: HashSet<&str> = WORDS.lines().collect();
        assert_eq!(all.len(), WORDS.lines().count(), "a word stands there twice");
    }
}
