//! A shown calculation, and a check: what every doubtful figure carries so that a page can open it and a test can read it.

use serde::{Deserialize, Serialize};

use super::measure::{Grouping, round::nearest, show_number};

/// How sure the source of a value is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sure {
    /// The source's text was read.
    Read,
    /// Computed here from values that were read, or from plain geometry.
    Computed,
    /// Usual in the trade; no source.
    CommonPractice,
    /// Not checked against a text; never shown as a fact of a standard.
    Memory,
    /// Entered by the shop.
    Shop,
}

impl Sure {
    pub const fn label(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Computed => "computed",
            Self::CommonPractice => "common practice, no source",
            Self::Memory => "from memory",
            Self::Shop => "the shop's own",
        }
    }
}

/// The unit of an amount in the shop's currency.
pub const MONEY: &str = "money";

/// One value put in: `L = 2640 mm`, with its words.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Given {
    pub symbol: String,
    pub words: String,
    pub value: f64,
    pub unit: String,
}

/// How a figure came about.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Working {
    /// What was worked out, in words.
    pub title: String,
    /// The formula in symbols, as plain text: `S = M (L − x_g) / L`.
    pub formula: String,
    pub given: Vec<Given>,
    pub symbol: String,
    pub result: f64,
    pub unit: String,
    /// Standard and clause, handbook, or "common practice".
    pub source: String,
    pub sure: Sure,
}

impl Working {
    pub fn new(title: impl Into<String>, formula: impl Into<String>) -> Self {
        Self {
            title: title.into(),
            formula: formula.into(),
            given: Vec::new(),
            symbol: String::new(),
            result: 0.0,
            unit: String::new(),
            source: String::new(),
            sure: Sure::Computed,
        }
    }

    pub fn given(mut self, symbol: &str, words: impl Into<String>, value: f64, unit: &str) -> Self {
        self.given.push(Given { symbol: symbol.into(), words: words.into(), value, unit: unit.into() });
        self
    }

    pub fn gives(mut self, symbol: &str, result: f64, unit: &str) -> Self {
        self.symbol = symbol.into();
        self.result = result;
        self.unit = unit.into();
        self
    }

    pub fn source(mut self, source: impl Into<String>, sure: Sure) -> Self {
        self.source = source.into();
        self.sure = sure;
        self
    }
}

/// What a check says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    Holds,
    /// Use above 0.90.
    Close,
    Fails,
    /// With what is missing.
    CannotTell(String),
}

impl Verdict {
    /// From a use (demand over capacity): above 1 fails, above 0.90 is close; not-a-number cannot tell.
    pub fn of_use(usage: f64) -> Self {
        if usage.is_nan() {
            Self::CannotTell("a figure that could not be computed".into())
        } else if usage > 1.0 {
            Self::Fails
        } else if usage > 0.9 {
            Self::Close
        } else {
            Self::Holds
        }
    }

    pub const fn label(&self) -> &'static str {
        match self {
            Self::Holds => "holds",
            Self::Close => "close",
            Self::Fails => "fails",
            Self::CannotTell(_) => "cannot tell",
        }
    }
}

/// A use (1 is full) as it is read: two decimals, more (at most four) where two would tell another verdict or make full what is not.
pub fn show_use(usage: f64) -> String {
    let verdict = Verdict::of_use(usage);
    let rounded = |decimals: usize| nearest(usage, 10f64.powi(-(decimals as i32)));
    let tells = |shown: f64| Verdict::of_use(shown) == verdict && (shown != 1.0 || usage == 1.0);
    let decimals = (2..=4).find(|decimals| tells(rounded(*decimals))).unwrap_or(4);
    let shown = rounded(decimals);
    // Over a bound by less than the digits tell: then by the last of them.
    let shown = if Verdict::of_use(shown) == verdict { shown } else { shown + 1e-4 };
    let text = show_number(shown, decimals, Grouping::Western);
    match text.split_once('.').map(|(_, after)| after.len()) {
        _ if !usage.is_finite() => text,
        None => format!("{text}.00"),
        Some(1) => format!("{text}0"),
        Some(_) => text,
    }
}

/// The areas of checks, in the order in which an engineer goes through them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Area {
    Balance,
    Loading,
    Gear,
    Towing,
    Strength,
    Restraint,
    Electrics,
    Road,
    Other,
}

impl Area {
    pub const ALL: [Self; 9] = [
        Self::Balance,
        Self::Loading,
        Self::Gear,
        Self::Towing,
        Self::Strength,
        Self::Restraint,
        Self::Electrics,
        Self::Road,
        Self::Other,
    ];

    /// By the first part of a check's key.
    pub fn of(key: &str) -> Self {
        match key.split('/').next().unwrap_or_default() {
            "balance" | "mass" | "weights" => Self::Balance,
            "loading" | "handling" | "unhitched" => Self::Loading,
            "gear" => Self::Gear,
            "towing" => Self::Towing,
            "strength" => Self::Strength,
            "restraint" => Self::Restraint,
            "electrics" => Self::Electrics,
            "road" => Self::Road,
            _ => Self::Other,
        }
    }

    pub const fn word(self) -> &'static str {
        match self {
            Self::Balance => "balance",
            Self::Loading => "loading",
            Self::Gear => "gear",
            Self::Towing => "towing",
            Self::Strength => "strength",
            Self::Restraint => "restraint",
            Self::Electrics => "electrics",
            Self::Road => "road",
            Self::Other => "other",
        }
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Balance => "Masses and balance",
            Self::Loading => "Loading and handling",
            Self::Gear => "Running gear",
            Self::Towing => "Towing",
            Self::Strength => "Strength",
            Self::Restraint => "Load restraint",
            Self::Electrics => "Electrics",
            Self::Road => "Road rules",
            Self::Other => "Everything else",
        }
    }
}

/// One comparison of what is demanded with what is borne. A failing check never stops an estimate; it must be answered in
/// writing before a quote is issued.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Check {
    /// Stable name for answers: `balance/coupling-share`.
    pub key: String,
    pub name: String,
    pub demand: Option<f64>,
    pub capacity: Option<f64>,
    pub unit: String,
    /// demand / capacity, where that says something.
    #[serde(rename = "use")]
    pub usage: Option<f64>,
    pub verdict: Verdict,
    /// One sentence a fabricator understands: what was found, and what would mend it.
    pub says: String,
    pub loading_case: Option<String>,
    pub part: Option<String>,
    pub working: Option<Working>,
    /// A failing check that no written answer lifts (an unvented galvanised tube).
    pub blocks_issue: bool,
}

impl Check {
    /// A comparison: demand over capacity.
    pub fn compared(
        key: impl Into<String>,
        name: impl Into<String>,
        demand: f64,
        capacity: f64,
        unit: impl Into<String>,
        says: impl Into<String>,
    ) -> Self {
        let usage = if capacity > 0.0 {
            demand / capacity
        } else if demand > 0.0 {
            f64::INFINITY
        } else {
            0.0
        };
        Self {
            demand: Some(demand),
            capacity: Some(capacity),
            unit: unit.into(),
            usage: usage.is_finite().then_some(usage),
            ..Self::told(key, name, Verdict::of_use(usage), says)
        }
    }

    /// A statement without a use.
    pub fn told(key: impl Into<String>, name: impl Into<String>, verdict: Verdict, says: impl Into<String>) -> Self {
        Self {
            key: key.into(),
            name: name.into(),
            demand: None,
            capacity: None,
            unit: String::new(),
            usage: None,
            verdict,
            says: says.into(),
            loading_case: None,
            part: None,
            working: None,
            blocks_issue: false,
        }
    }

    /// A check that lacks an input: `missing` names it.
    pub fn cannot_tell(
        key: impl Into<String>,
        name: impl Into<String>,
        missing: impl Into<String>,
        says: impl Into<String>,
    ) -> Self {
        Self::told(key, name, Verdict::CannotTell(missing.into()), says)
    }

    #[must_use]
    pub fn with(mut self, working: Working) -> Self {
        self.working = Some(working);
        self
    }

    /// The loading case that governs.
    #[must_use]
    pub fn in_case(mut self, case: impl Into<String>) -> Self {
        self.loading_case = Some(case.into());
        self
    }

    /// The part that governs.
    #[must_use]
    pub fn of_part(mut self, part: impl Into<String>) -> Self {
        self.part = Some(part.into());
        self
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_use_is_shown_to_as_many_digits_as_its_verdict_needs() {
        for (usage, shown) in [
            (0.0, "0.00"),
            (0.5, "0.50"),
            (0.123_4, "0.12"),
            (0.9, "0.90"),
            (0.8996, "0.90"),
            (0.9004, "0.9004"),
            (0.996, "0.996"),
            (0.9996, "0.9996"),
            (0.999_99, "1.00"),
            (1.0, "1.00"),
            (1.001, "1.001"),
            (1.000_02, "1.0001"),
            (1.006, "1.01"),
            (2.5, "2.50"),
            (1e6, "1,000,000.00"),
            (f64::NAN, "–"),
            (f64::INFINITY, "–"),
        ] {
            assert_eq!(show_use(usage), shown, "{usage}");
        }
    }

    proptest! {
        #[test]
        fn what_is_read_of_a_use_has_the_verdict_of_the_use(
            usage in prop_oneof![0.0..3.0, 0.89..0.91, 0.99..1.01, 0.9999..1.0001, 0.8999..0.9001]
        ) {
            let read: f64 = show_use(usage).parse().expect("a number");
            prop_assert_eq!(Verdict::of_use(read), Verdict::of_use(usage), "{}", read);
            prop_assert_eq!(read > 1.0, usage > 1.0);
            prop_assert!((read - usage).abs() <= 0.005 + 1e-9);
        }
    }

    #[test]
    fn a_use_of_one_is_full_but_holds() {
        assert_eq!(Verdict::of_use(1.0), Verdict::Close);
        assert_eq!(Verdict::of_use(1.001), Verdict::Fails);
        assert_eq!(Verdict::of_use(0.9), Verdict::Holds);
        assert!(matches!(Verdict::of_use(f64::NAN), Verdict::CannotTell(_)));
    }
}
