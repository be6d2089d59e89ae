//! A form as it was typed, and what is wrong with it. The handler reads every field, notes every fault, and shows the
//! same page again with all of them (422): nothing typed is lost.

use axum::{
    Form as AxumForm,
    extract::{FromRequest, Request},
    http::{StatusCode, header},
};

use crate::web::{Error, Result, frame::Frame, session::Actor};

/// What is wrong with one field (or, with an empty field name, with the whole form).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The name of the input.
    pub field: String,
    /// What people call it.
    pub label: String,
    /// What is wrong, and what would be right.
    pub message: String,
}

/// The fields of a form in the order sent, as strings, with the faults found so far. Also the source of a form's first
/// values: build it with [`Form::filled`].
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Form {
    values: Vec<(String, String)>,
    faults: Vec<Fault>,
}

impl Form {
    /// A form that shows these values.
    pub fn filled<N: Into<String>, V: Into<String>>(values: impl IntoIterator<Item = (N, V)>) -> Self {
        let values = values.into_iter().map(|(name, value)| (name.into(), value.into())).collect();
        Self { values, faults: Vec::new() }
    }

    /// Adds a value, beside those that the field has.
    pub fn add(&mut self, name: impl Into<String>, value: impl Into<String>) {
        self.values.push((name.into(), value.into()));
    }

    /// Puts a value in the place of those that the field has.
    pub fn set(&mut self, name: &str, value: impl Into<String>) {
        self.values.retain(|(field, _)| field != name);
        self.add(name, value);
    }

    /// The text of a field; empty where it was not sent.
    pub fn value(&self, name: &str) -> &str {
        self.values.iter().find(|(field, _)| field == name).map_or("", |(_, value)| value)
    }

    /// The last text of a field: what counts of a box to tick with a hidden "no" before it.
    pub fn last(&self, name: &str) -> Option<&str> {
        self.values.iter().rev().find(|(field, _)| field == name).map(|(_, value)| value.as_str())
    }

    /// All texts of a field that may be sent several times.
    pub fn values<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.values.iter().filter(move |(field, _)| field == name).map(|(_, value)| value.as_str())
    }

    /// Every field and its text, in the order sent.
    pub fn pairs(&self) -> impl Iterator<Item = (&str, &str)> {
        self.values.iter().map(|(name, value)| (name.as_str(), value.as_str()))
    }

    /// Whether the field was sent at all: a ticked box is, an empty one is not.
    pub fn has(&self, name: &str) -> bool {
        self.values.iter().any(|(field, _)| field == name)
    }

    /// Whether a field holds this value: a chosen option, a ticked box among several.
    pub fn is_chosen(&self, name: &str, value: &str) -> bool {
        self.values(name).any(|chosen| chosen == value)
    }

    /// Notes what is wrong with a field.
    pub fn wrong(&mut self, field: impl Into<String>, label: impl Into<String>, message: impl Into<String>) {
        self.faults.push(Fault { field: field.into(), label: label.into(), message: message.into() });
    }

    /// Notes what is wrong with the form as a whole.
    pub fn wrong_altogether(&mut self, message: impl Into<String>) {
        self.wrong("", "", message);
    }

    /// The first thing that is wrong with a field.
    pub fn fault(&self, field: &str) -> Option<&str> {
        self.faults.iter().find(|fault| fault.field == field).map(|fault| fault.message.as_str())
    }

    pub fn faults(&self) -> &[Fault] {
        &self.faults
    }

    pub fn is_right(&self) -> bool {
        self.faults.is_empty()
    }

    /// The status of the page that shows this form again.
    pub fn status(&self) -> StatusCode {
        if self.is_right() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY }
    }

    /// Who sends this form: whoever is signed in. The gate lets nobody else post to a page of the shop.
    pub fn actor(&self, frame: &Frame) -> Option<Actor> {
        frame.actor.clone()
    }
}

impl<S: Send + Sync> FromRequest<S> for Form {
    type Rejection = Error;

    async fn from_request(request: Request, state: &S) -> Result<Self> {
        // A post without any field (a form of one button) has no content type in some browsers' view of it.
        let is_empty = request.headers().get(header::CONTENT_LENGTH).is_some_and(|length| length == "0");
        if is_empty {
            return Ok(Self::default());
        }
        match AxumForm::<Vec<(String, String)>>::from_request(request, state).await {
            Ok(AxumForm(values)) => Ok(Self { values, faults: Vec::new() }),
            Err(rejection) => Err(match rejection.into_status() {
                StatusCode::PAYLOAD_TOO_LARGE => Error::TooLarge,
                StatusCode::UNSUPPORTED_MEDIA_TYPE => Error::NotAForm,
                _ => Error::Unreadable("The form could not be read. Nothing was changed.".into()),
            }),
        }
    }
}

/// The status that axum gives to what it cannot read.
trait IntoStatus {
    fn into_status(self) -> StatusCode;
}

impl IntoStatus for axum::extract::rejection::FormRejection {
    fn into_status(self) -> StatusCode {
        use axum::response::IntoResponse;
        self.into_response().status()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn repeated_fields_keep_their_order_and_missing_ones_are_empty() {
        let form = Form::filled([("side", "left"), ("length", "1830"), ("side", "rear")]);
        assert_eq!(form.values("side").collect::<Vec<_>>(), ["left", "rear"]);
        assert!(form.is_chosen("side", "rear") && !form.is_chosen("side", "front"));
        assert_eq!((form.value("length"), form.value("width")), ("1830", ""));
    }

    #[test]
    fn a_form_with_faults_is_shown_as_unprocessable() {
        let mut form = Form::filled([("length", "abc")]);
        assert_eq!(form.status(), StatusCode::OK);
        form.wrong("length", "Bed length", "“abc” is no length: write it like 1830 or 6 ft");
        assert_eq!(form.status(), StatusCode::UNPROCESSABLE_ENTITY);
        assert!(form.fault("length").is_some() && form.fault("width").is_none());
    }
}
