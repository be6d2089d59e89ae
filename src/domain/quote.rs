//! A quote's life: the stages of a job, what is frozen when a quote is issued, and what waits for whom.

use std::{fmt, str::FromStr};

use jiff::{Timestamp, civil::Date};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::choice::choice;

// ---------------------------------------------------------------- number

/// The number on a job's papers, counted within its year: `2026-014`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct JobNumber {
    pub year: i16,
    pub sequence: u32,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a job number is a year and a count, like 2026-014")]
pub struct NotAJobNumber;

impl fmt::Display for JobNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:03}", self.year, self.sequence)
    }
}

impl FromStr for JobNumber {
    type Err = NotAJobNumber;

    fn from_str(text: &str) -> Result<Self, NotAJobNumber> {
        let (year, sequence) = text.trim().split_once('-').ok_or(NotAJobNumber)?;
        let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
        if !digits(year) || !digits(sequence) {
            return Err(NotAJobNumber);
        }
        Ok(Self {
            year: year.parse().map_err(|_| NotAJobNumber)?,
            sequence: sequence.parse().map_err(|_| NotAJobNumber)?,
        })
    }
}

impl TryFrom<String> for JobNumber {
    type Error = NotAJobNumber;

    fn try_from(text: String) -> Result<Self, NotAJobNumber> {
        text.parse()
    }
}

impl From<JobNumber> for String {
    fn from(number: JobNumber) -> String {
        number.to_string()
    }
}

// ---------------------------------------------------------------- stages

choice! {
    /// The stages of a job, without their times: for lists, filters and forms.
    StageKind {
        Enquiry = "enquiry" / "enquiry",
        Quoted = "quoted" / "quoted",
        Accepted = "accepted" / "accepted",
        InTheShop = "in-the-shop" / "in the shop",
        HandedOver = "handed-over" / "handed over",
        Declined = "declined" / "declined",
        Lapsed = "lapsed" / "lapsed",
    }
}

choice! {
    /// What moves a job from one stage to another.
    Move {
        Quote = "quote" / "issue a quote",
        Accept = "accept" / "accept the quote",
        Start = "start" / "start in the shop",
        HandOver = "hand-over" / "hand over",
        Decline = "decline" / "decline",
        Lapse = "lapse" / "let the quote lapse",
    }
}

/// Where a job stands, with the times that belong to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "stage", rename_all = "kebab-case")]
pub enum Stage {
    Enquiry {
        enquired_at: Timestamp,
    },
    Quoted {
        enquired_at: Timestamp,
        /// Of the latest revision.
        quoted_at: Timestamp,
        /// The last day on which the customer may accept.
        valid_until: Date,
    },
    Accepted {
        enquired_at: Timestamp,
        quoted_at: Timestamp,
        accepted_at: Timestamp,
    },
    InTheShop {
        enquired_at: Timestamp,
        quoted_at: Timestamp,
        accepted_at: Timestamp,
        started_at: Timestamp,
    },
    HandedOver {
        enquired_at: Timestamp,
        quoted_at: Timestamp,
        accepted_at: Timestamp,
        started_at: Timestamp,
        handed_over_at: Timestamp,
    },
    /// By the customer, or by the shop before any quote.
    Declined {
        enquired_at: Timestamp,
        quoted_at: Option<Timestamp>,
        declined_at: Timestamp,
    },
    Lapsed {
        enquired_at: Timestamp,
        quoted_at: Timestamp,
        valid_until: Date,
        lapsed_at: Timestamp,
    },
}

/// A move that the stage does not allow; says what it does allow.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub struct InvalidTransition {
    pub from: StageKind,
    pub wanted: Move,
}

impl fmt::Display for InvalidTransition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "this job is {}: it is not possible to {}", self.from.phrase(), self.wanted)?;
        match self.from.moves() {
            [] => f.write_str("; nothing more can happen to it, start a new job from it instead"),
            [only] => write!(f, "; it is possible to {only}"),
            [first @ .., last] => {
                f.write_str("; it is possible to ")?;
                for (place, possible) in first.iter().enumerate() {
                    write!(f, "{}{possible}", if place == 0 { "" } else { ", " })?;
                }
                write!(f, " or {last}")
            }
        }
    }
}

impl StageKind {
    /// What may happen next. A new quote supersedes one that is out, was declined or lapsed.
    pub const fn moves(self) -> &'static [Move] {
        match self {
            Self::Enquiry => &[Move::Quote, Move::Decline],
            Self::Quoted => &[Move::Quote, Move::Accept, Move::Decline, Move::Lapse],
            Self::Accepted => &[Move::Start],
            Self::InTheShop => &[Move::HandOver],
            Self::HandedOver => &[],
            Self::Declined => &[Move::Quote],
            Self::Lapsed => &[Move::Quote, Move::Decline],
        }
    }

    pub fn allows(self, wanted: Move) -> bool {
        self.moves().contains(&wanted)
    }

    const fn phrase(self) -> &'static str {
        match self {
            Self::Enquiry => "still an enquiry",
            other => other.label(),
        }
    }
}

impl Stage {
    pub const fn kind(&self) -> StageKind {
        match self {
            Self::Enquiry { .. } => StageKind::Enquiry,
            Self::Quoted { .. } => StageKind::Quoted,
            Self::Accepted { .. } => StageKind::Accepted,
            Self::InTheShop { .. } => StageKind::InTheShop,
            Self::HandedOver { .. } => StageKind::HandedOver,
            Self::Declined { .. } => StageKind::Declined,
            Self::Lapsed { .. } => StageKind::Lapsed,
        }
    }

    pub const fn enquired_at(&self) -> Timestamp {
        match *self {
            Self::Enquiry { enquired_at }
            | Self::Quoted { enquired_at, .. }
            | Self::Accepted { enquired_at, .. }
            | Self::InTheShop { enquired_at, .. }
            | Self::HandedOver { enquired_at, .. }
            | Self::Declined { enquired_at, .. }
            | Self::Lapsed { enquired_at, .. } => enquired_at,
        }
    }

    /// When the job came to where it stands.
    pub const fn since(&self) -> Timestamp {
        match *self {
            Self::Enquiry { enquired_at } => enquired_at,
            Self::Quoted { quoted_at, .. } => quoted_at,
            Self::Accepted { accepted_at, .. } => accepted_at,
            Self::InTheShop { started_at, .. } => started_at,
            Self::HandedOver { handed_over_at, .. } => handed_over_at,
            Self::Declined { declined_at, .. } => declined_at,
            Self::Lapsed { lapsed_at, .. } => lapsed_at,
        }
    }

    /// Issues a quote, the first or the next: enquiry, quoted, declined, lapsed → quoted.
    pub const fn accepted_at(&self) -> Option<Timestamp> {
        match *self {
            Self::Accepted { accepted_at, .. }
            | Self::InTheShop { accepted_at, .. }
            | Self::HandedOver { accepted_at, .. } => Some(accepted_at),
            Self::Enquiry { .. } | Self::Quoted { .. } | Self::Declined { .. } | Self::Lapsed { .. } => None,
        }
    }

    pub fn quote(self, at: Timestamp, valid_until: Date) -> Result<Self, InvalidTransition> {
        self.checked(Move::Quote)?;
        Ok(Self::Quoted { enquired_at: self.enquired_at(), quoted_at: at, valid_until })
    }

    /// quoted → accepted. Whether it is still valid on the customer's day is [`Stage::is_overdue`].
    pub fn accept(self, at: Timestamp) -> Result<Self, InvalidTransition> {
        match self {
            Self::Quoted { enquired_at, quoted_at, .. } => {
                Ok(Self::Accepted { enquired_at, quoted_at, accepted_at: at })
            }
            other => Err(other.refuses(Move::Accept)),
        }
    }

    /// accepted → in the shop.
    pub fn start(self, at: Timestamp) -> Result<Self, InvalidTransition> {
        match self {
            Self::Accepted { enquired_at, quoted_at, accepted_at } => {
                Ok(Self::InTheShop { enquired_at, quoted_at, accepted_at, started_at: at })
            }
            other => Err(other.refuses(Move::Start)),
        }
    }

    /// in the shop → handed over.
    pub fn hand_over(self, at: Timestamp) -> Result<Self, InvalidTransition> {
        match self {
            Self::InTheShop { enquired_at, quoted_at, accepted_at, started_at } => {
                Ok(Self::HandedOver { enquired_at, quoted_at, accepted_at, started_at, handed_over_at: at })
            }
            other => Err(other.refuses(Move::HandOver)),
        }
    }

    /// enquiry, quoted, lapsed → declined.
    pub fn decline(self, at: Timestamp) -> Result<Self, InvalidTransition> {
        match self {
            Self::Enquiry { enquired_at } => Ok(Self::Declined { enquired_at, quoted_at: None, declined_at: at }),
            Self::Quoted { enquired_at, quoted_at, .. } | Self::Lapsed { enquired_at, quoted_at, .. } => {
                Ok(Self::Declined { enquired_at, quoted_at: Some(quoted_at), declined_at: at })
            }
            other => Err(other.refuses(Move::Decline)),
        }
    }

    /// quoted → lapsed.
    pub fn lapse(self, at: Timestamp) -> Result<Self, InvalidTransition> {
        match self {
            Self::Quoted { enquired_at, quoted_at, valid_until } => {
                Ok(Self::Lapsed { enquired_at, quoted_at, valid_until, lapsed_at: at })
            }
            other => Err(other.refuses(Move::Lapse)),
        }
    }

    /// A quote that is out although its last day has passed.
    pub fn is_overdue(&self, today: Date) -> bool {
        matches!(*self, Self::Quoted { valid_until, .. } if valid_until < today)
    }

    fn checked(&self, wanted: Move) -> Result<(), InvalidTransition> {
        if self.kind().allows(wanted) { Ok(()) } else { Err(self.refuses(wanted)) }
    }

    const fn refuses(&self, wanted: Move) -> InvalidTransition {
        InvalidTransition { from: self.kind(), wanted }
    }
}

// ---------------------------------------------------------------- revisions

/// The body of a revision as it is frozen: canonical JSON and the SHA-256 over its bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Frozen {
    pub json: String,
    /// 64 lower-case hexadecimal digits.
    pub sha256: String,
}

impl Frozen {
    pub fn new(body: &serde_json::Value) -> Self {
        let json = canonical_json(body);
        let sha256 = sha256_hex(json.as_bytes());
        Self { json, sha256 }
    }

    /// Whether a kept body is still the one that was hashed.
    pub fn is_whole(&self) -> bool {
        sha256_hex(self.json.as_bytes()) == self.sha256
    }
}

/// JSON whose bytes depend on its content alone: keys in the order of their code points, no space between tokens, strings
/// and numbers as serde_json writes them (the shortest digits that read back as the same number).
pub fn canonical_json(value: &serde_json::Value) -> String {
    let mut out = String::new();
    write_canonical(value, &mut out);
    out
}

fn write_canonical(value: &serde_json::Value, out: &mut String) {
    use serde_json::Value;
    match value {
        Value::Array(items) => {
            out.push('[');
            for (place, item) in items.iter().enumerate() {
                if place > 0 {
                    out.push(',');
                }
                write_canonical(item, out);
            }
            out.push(']');
        }
        Value::Object(fields) => {
            let mut sorted: Vec<_> = fields.iter().collect();
            sorted.sort_unstable_by_key(|(key, _)| key.as_str());
            out.push('{');
            for (place, (key, item)) in sorted.into_iter().enumerate() {
                if place > 0 {
                    out.push(',');
                }
                write_canonical(&Value::String(key.clone()), out);
                out.push(':');
                write_canonical(item, out);
            }
            out.push('}');
        }
        plain => out.push_str(&plain.to_string()),
    }
}

/// SHA-256 (FIPS 180-4) as lower-case hexadecimal digits.
pub fn sha256_hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

// ---------------------------------------------------------------- what waits for whom

/// One job in a list.
#[derive(Clone, Debug, PartialEq)]
pub struct JobSummary {
    pub number: JobNumber,
    pub title: String,
    pub customer: String,
    pub stage: Stage,
    /// Questions of the customer that nobody has answered.
    pub open_questions: u32,
    /// Failing checks of the chosen variant that nobody has answered in writing.
    pub unanswered_checks: u32,
    /// The day of the oldest price in its estimate.
    pub oldest_price: Option<Date>,
}

/// Whose move it is, and what it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Waiting {
    pub for_whom: ForWhom,
    /// A short sentence: "answer the customer's question".
    pub next_step: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ForWhom {
    Us,
    Customer,
}

/// What the job waits for, the most pressing thing only; nothing for a job that is over or runs in the shop.
/// A price older than `price_holds_days` is too old to stand behind.
pub fn waiting(job: &JobSummary, today: Date, price_holds_days: u32) -> Option<Waiting> {
    let us = |next_step: String| Some(Waiting { for_whom: ForWhom::Us, next_step });
    match job.open_questions {
        0 => {}
        1 => return us("answer the customer's question".into()),
        more => return us(format!("answer the customer's {more} questions")),
    }
    match job.stage {
        Stage::Accepted { .. } => us("accepted: start it in the shop".into()),
        Stage::Enquiry { .. } => match job.unanswered_checks {
            0 => match old_price_days(job, today, price_holds_days) {
                Some(days) => {
                    us(format!("its oldest price is {days} days old: update the rate book, then issue the quote"))
                }
                None => us("issue the quote".into()),
            },
            1 => us("answer a failing check or change the design".into()),
            more => us(format!("answer {more} failing checks or change the design")),
        },
        Stage::Quoted { valid_until, .. } if valid_until < today => us(lapsed_step(valid_until)),
        Stage::Quoted { valid_until, .. } => {
            let next_step = match days_between(today, valid_until) {
                0 => "may accept until the end of today".into(),
                1 => "may accept until tomorrow".into(),
                days => format!("may accept within {days} days, until {}", show_day(valid_until)),
            };
            Some(Waiting { for_whom: ForWhom::Customer, next_step })
        }
        Stage::Lapsed { valid_until, .. } => us(lapsed_step(valid_until)),
        Stage::InTheShop { .. } | Stage::HandedOver { .. } | Stage::Declined { .. } => None,
    }
}

fn old_price_days(job: &JobSummary, today: Date, price_holds_days: u32) -> Option<i32> {
    let days = days_between(job.oldest_price?, today);
    (i64::from(days) > i64::from(price_holds_days)).then_some(days)
}

fn lapsed_step(valid_until: Date) -> String {
    format!("the quote lapsed after {}: issue a new one or close the job", show_day(valid_until))
}

fn days_between(from: Date, to: Date) -> i32 {
    from.duration_until(to).as_hours().try_into().map_or(i32::MAX, |hours: i32| hours / 24)
}

fn show_day(day: Date) -> impl fmt::Display {
    day.strftime("%-d %b %Y")
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use proptest::prelude::*;
    use serde_json::json;

    use super::*;

    fn at(seconds: i64) -> Timestamp {
        Timestamp::from_second(seconds).unwrap()
    }

    fn moved(stage: Stage, wanted: Move) -> Result<Stage, InvalidTransition> {
        match wanted {
            Move::Quote => stage.quote(at(50), date(2026, 12, 24)),
            Move::Accept => stage.accept(at(51)),
            Move::Start => stage.start(at(52)),
            Move::HandOver => stage.hand_over(at(53)),
            Move::Decline => stage.decline(at(54)),
            Move::Lapse => stage.lapse(at(55)),
        }
    }

    fn every_stage() -> Vec<Stage> {
        let enquiry = Stage::Enquiry { enquired_at: at(1) };
        let quoted = enquiry.quote(at(2), date(2026, 12, 1)).unwrap();
        let accepted = quoted.accept(at(3)).unwrap();
        let started = accepted.start(at(4)).unwrap();
        vec![
            enquiry,
            quoted,
            accepted,
            started,
            started.hand_over(at(5)).unwrap(),
            quoted.decline(at(6)).unwrap(),
            quoted.lapse(at(7)).unwrap(),
        ]
    }

    #[test]
    fn the_table_of_moves_and_the_moving_methods_say_the_same() {
        let stages = every_stage();
        assert_eq!(stages.iter().map(Stage::kind).collect::<Vec<_>>(), StageKind::ALL);
        for stage in stages {
            for wanted in Move::ALL.iter().copied() {
                let done = moved(stage, wanted);
                assert_eq!(done.is_ok(), stage.kind().allows(wanted), "{stage:?} {wanted}");
                if let Ok(after) = done {
                    assert_eq!(after.enquired_at(), at(1));
                }
            }
        }
    }

    #[test]
    fn a_job_keeps_its_times_on_its_way() {
        let handed_over = every_stage()[4];
        assert_eq!(
            handed_over,
            Stage::HandedOver {
                enquired_at: at(1),
                quoted_at: at(2),
                accepted_at: at(3),
                started_at: at(4),
                handed_over_at: at(5),
            }
        );
        assert_eq!(handed_over.since(), at(5));
    }

    #[test]
    fn a_refused_move_says_what_is_possible() {
        let enquiry = Stage::Enquiry { enquired_at: at(1) };
        assert_eq!(
            enquiry.accept(at(2)).unwrap_err().to_string(),
            "this job is still an enquiry: it is not possible to accept the quote; \
             it is possible to issue a quote or decline"
        );
        let handed_over = every_stage()[4];
        assert_eq!(
            handed_over.quote(at(9), date(2026, 12, 1)).unwrap_err().to_string(),
            "this job is handed over: it is not possible to issue a quote; \
             nothing more can happen to it, start a new job from it instead"
        );
        let accepted = every_stage()[2];
        assert_eq!(
            accepted.decline(at(9)).unwrap_err().to_string(),
            "this job is accepted: it is not possible to decline; it is possible to start in the shop"
        );
    }

    #[test]
    fn a_quote_is_overdue_on_the_day_after_its_last() {
        let quoted = every_stage()[1];
        assert!(!quoted.is_overdue(date(2026, 12, 1)));
        assert!(quoted.is_overdue(date(2026, 12, 2)));
    }

    #[test]
    fn job_numbers_are_read_as_they_are_written() {
        for (text, expected) in [
            ("2026-014", Some("2026-014")),
            (" 2026-14 ", Some("2026-014")),
            ("2026-1014", Some("2026-1014")),
            ("2026", None),
            ("2026-", None),
            ("-2026-1", None),
            ("2026-+1", None),
            ("99999-1", None),
            ("2026-99999999999", None),
        ] {
            assert_eq!(
                text.parse::<JobNumber>().ok().map(|number| number.to_string()).as_deref(),
                expected,
                "{text:?}"
            );
        }
    }

    /// Source: FIPS 180-4 examples, the hash of "abc" and of the empty message.
    #[test]
    fn sha256_gives_the_standard_s_examples() {
        assert_eq!(sha256_hex(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
        assert_eq!(sha256_hex(b""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    }

    #[test]
    fn the_canonical_form_forgets_order_and_space_alone() {
        let one: serde_json::Value =
            serde_json::from_str(r#"{ "b": [1, 2.50, "x\u0041"], "a": {"z": null, "y": true} }"#).unwrap();
        let other: serde_json::Value = serde_json::from_str(r#"{"a":{"y":true,"z":null},"b":[1,2.5,"xA"]}"#).unwrap();
        assert_eq!(canonical_json(&one), r#"{"a":{"y":true,"z":null},"b":[1,2.5,"xA"]}"#);
        assert_eq!(Frozen::new(&one), Frozen::new(&other));
        assert_ne!(Frozen::new(&one).sha256, Frozen::new(&json!({"a": 1})).sha256);
    }

    #[test]
    fn a_changed_body_is_not_whole() {
        let mut frozen = Frozen::new(&json!({"price": "1200.00"}));
        assert!(frozen.is_whole());
        frozen.json = frozen.json.replace("1200", "1100");
        assert!(!frozen.is_whole());
    }

    fn any_json() -> impl Strategy<Value = serde_json::Value> {
        let leaf = prop_oneof![
            Just(serde_json::Value::Null),
            any::<bool>().prop_map(Into::into),
            any::<i64>().prop_map(Into::into),
            (-1_000_000_i64..1_000_000).prop_map(|thousandths| json!(thousandths as f64 / 1000.0)),
            ".{0,8}".prop_map(Into::into),
        ];
        leaf.prop_recursive(4, 32, 5, |inner| {
            prop_oneof![
                prop::collection::vec(inner.clone(), 0..5).prop_map(Into::into),
                prop::collection::vec((".{0,4}", inner), 0..5)
                    .prop_map(|fields| serde_json::Value::Object(fields.into_iter().collect())),
            ]
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn the_canonical_form_reads_back_and_is_a_fixed_point(value in any_json()) {
            let text = canonical_json(&value);
            let back: serde_json::Value = serde_json::from_str(&text).unwrap();
            prop_assert_eq!(&back, &value);
            prop_assert_eq!(canonical_json(&back), text);
        }
    }

    fn job(stage: Stage) -> JobSummary {
        JobSummary {
            number: JobNumber { year: 2026, sequence: 14 },
            title: "Hive trailer".into(),
            customer: "Wick Sands Apiary".into(),
            stage,
            open_questions: 0,
            unanswered_checks: 0,
            oldest_price: Some(date(2026, 11, 20)),
        }
    }

    #[test]
    fn what_waits_for_whom() {
        let stages = every_stage();
        let today = date(2026, 11, 25);
        let says =
            |job: &JobSummary, today| waiting(job, today, 30).map(|waiting| (waiting.for_whom, waiting.next_step));
        let us = |text: &str| Some((ForWhom::Us, text.to_owned()));
        let customer = |text: &str| Some((ForWhom::Customer, text.to_owned()));

        let enquiry = job(stages[0]);
        assert_eq!(says(&enquiry, today), us("issue the quote"));
        assert_eq!(
            says(&JobSummary { unanswered_checks: 2, ..enquiry.clone() }, today),
            us("answer 2 failing checks or change the design")
        );
        // 30 days old still holds, 31 does not.
        assert_eq!(says(&enquiry, date(2026, 12, 20)), us("issue the quote"));
        assert_eq!(
            says(&enquiry, date(2026, 12, 21)),
            us("its oldest price is 31 days old: update the rate book, then issue the quote")
        );

        let quoted = job(stages[1]);
        assert_eq!(says(&quoted, today), customer("may accept within 6 days, until 1 Dec 2026"));
        assert_eq!(says(&quoted, date(2026, 11, 30)), customer("may accept until tomorrow"));
        assert_eq!(says(&quoted, date(2026, 12, 1)), customer("may accept until the end of today"));
        let lapsed = us("the quote lapsed after 1 Dec 2026: issue a new one or close the job");
        assert_eq!(says(&quoted, date(2026, 12, 2)), lapsed);
        assert_eq!(says(&job(stages[6]), date(2026, 12, 2)), lapsed);
        assert_eq!(says(&JobSummary { open_questions: 1, ..quoted }, today), us("answer the customer's question"));

        assert_eq!(says(&job(stages[2]), today), us("accepted: start it in the shop"));
        for over in [stages[3], stages[4], stages[5]] {
            assert_eq!(says(&job(over), today), None);
        }
        assert_eq!(
            says(&JobSummary { open_questions: 3, ..job(stages[5]) }, today),
            us("answer the customer's 3 questions")
        );
    }
}
