//! Who works in the shop: their roles and their names.

use std::fmt;

/// What a person does in the shop, and so what they may open.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Keeps rates, policies and people.
    Owner,
    /// Makes the quotes.
    Estimator,
    /// Builds; never sees cost, rates or margin.
    Workshop,
}

impl Role {
    pub const ALL: [Self; 3] = [Self::Owner, Self::Estimator, Self::Workshop];

    pub const fn word(self) -> &'static str {
        match self {
            Self::Owner => "owner",
            Self::Estimator => "estimator",
            Self::Workshop => "workshop",
        }
    }

    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.word() == word)
    }

    /// What a person of this role may do, in one line.
    pub const fn says(self) -> &'static str {
        match self {
            Self::Owner => "everything, with settings and people",
            Self::Estimator => "jobs, quotes and the rate book",
            Self::Workshop => "drawings, cutting plans, parts, hours and electrics, without any money",
        }
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// A sign-in of the demo shop.
#[derive(Clone, Copy, Debug)]
pub struct Demo {
    pub name: &'static str,
    pub role: Role,
    pub password: &'static str,
}

/// The demo shop's people, with passwords that anyone may read.
pub const DEMO: [Demo; 3] = [
    Demo { name: "Mara Holloway", role: Role::Owner, password: "demo owner at wick sands" },
    Demo { name: "Tam Orrick", role: Role::Estimator, password: "demo estimator at wick sands" },
    Demo { name: "Jory Pell", role: Role::Workshop, password: "demo workshop at wick sands" },
];

const LONGEST_NAME: usize = 80;

/// A person's name: one short line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PersonName(String);

/// Why a text is no name; says what would do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NameFault {
    #[error("Nothing was entered: type a name.")]
    Missing,
    #[error("This name is too long: use at most {LONGEST_NAME} letters.")]
    TooLong,
    #[error("This name holds a character that cannot be written on a line: use letters, spaces and the like.")]
    Unwritable,
}

impl PersonName {
    /// A name as it was typed: spaces around it are dropped.
    pub fn parse(text: &str) -> Result<Self, NameFault> {
        let name = text.trim();
        if name.is_empty() {
            return Err(NameFault::Missing);
        }
        if name.chars().count() > LONGEST_NAME {
            return Err(NameFault::TooLong);
        }
        if name.chars().any(char::is_control) {
            return Err(NameFault::Unwritable);
        }
        Ok(Self(name.to_owned()))
    }

    /// The name by which two people are told apart: upper and lower case are one.
    pub fn folded(&self) -> String {
        self.0.to_lowercase()
    }
}

impl fmt::Display for PersonName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_one_short_line() {
        assert_eq!(PersonName::parse("  Zoë Hale ").map(|name| name.to_string()), Ok("Zoë Hale".to_owned()));
        assert_eq!(PersonName::parse("ÅSA").map(|name| name.folded()), Ok("åsa".to_owned()));
        assert_eq!(PersonName::parse("   "), Err(NameFault::Missing));
        assert_eq!(PersonName::parse("a\nb"), Err(NameFault::Unwritable));
        assert_eq!(PersonName::parse(&"x".repeat(81)), Err(NameFault::TooLong));
    }
}
