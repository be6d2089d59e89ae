//! The customer's copy of a revision: phone first, nothing of the shop's inside.

pub mod copy;

use askama::Template;

use self::copy::{CustomersCopy, Shop};
use crate::web::{form::Form, frame::Frame};

/// A message as both sides read it.
#[derive(Clone, Debug)]
pub struct Message {
    pub from_us: bool,
    pub author: String,
    pub at: String,
    pub text: String,
}

/// What they said to the quote.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    Open,
    Accepted { by: String, at: String },
    Declined { by: String, at: String },
}

#[derive(Template)]
#[template(path = "web/customer/copy.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    token: String,
    copy: CustomersCopy,
    answer: Answer,
    messages: Vec<Message>,
    asked_now: bool,
}

impl Page {
    fn can_answer(&self) -> bool {
        self.answer == Answer::Open
    }

    fn total_note(&self) -> &'static str {
        if self.copy.tax.is_some() { "with tax" } else { "" }
    }

    fn decline_is_open(&self) -> bool {
        self.form.fault("decline_name").is_some() || self.form.fault("why").is_some()
    }
}

/// Why a link shows no quote any more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Closed {
    Expired,
    Superseded,
    Revoked,
}

#[derive(Template)]
#[template(path = "web/customer/closed.html")]
pub struct ClosedPage {
    frame: Frame,
    why: Closed,
    shop: Shop,
}

impl ClosedPage {
    fn title(&self) -> &'static str {
        match self.why {
            Closed::Expired => "This quote is no longer valid",
            Closed::Superseded => "There is a newer quote",
            Closed::Revoked => "This link is no longer used",
        }
    }

    fn says(&self) -> &'static str {
        match self.why {
            Closed::Expired => {
                "Its time has run out, because prices of steel and parts move. Ask the shop for a fresh one: it is little work."
            }
            Closed::Superseded => {
                "The shop has made a newer quote for you. Please use the newest link that you were sent."
            }
            Closed::Revoked => "The shop has withdrawn this link. If you still want the trailer, please get in touch.",
        }
    }
}

#[cfg(test)]
impl Page {
    pub(super) fn samples() -> Vec<Self> {
        let page = |answer, form| Self {
            frame: Frame::customer_sample(),
            form,
            token: "abc".into(),
            copy: CustomersCopy::sample(),
            answer,
            messages: vec![Message {
                from_us: false,
                author: "Ann <b>".into(),
                at: "5 Nov 2026".into(),
                text: "Can it be blue?".into(),
            }],
            asked_now: true,
        };
        let mut wrong = Form::filled([("accept_name", "<b>")]);
        wrong.wrong("agree", "Terms", "Tick the box.");
        let by = || "Ann <b>".to_owned();
        vec![
            page(Answer::Open, wrong),
            page(Answer::Accepted { by: by(), at: "5 Nov 2026".into() }, Form::default()),
            page(Answer::Declined { by: by(), at: "5 Nov 2026".into() }, Form::default()),
        ]
    }
}

#[cfg(test)]
impl ClosedPage {
    pub(super) fn samples() -> Vec<Self> {
        let page = |why| Self { frame: Frame::customer_sample(), why, shop: CustomersCopy::sample().shop };
        vec![page(Closed::Expired), page(Closed::Superseded), page(Closed::Revoked)]
    }
}
