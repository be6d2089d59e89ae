//! A job's title and its customer, as forms ask for them.

use crate::{storage::Contact, web::form::Form};

/// Names, titles and numbers are one short line.
const LONGEST_LINE: usize = 120;
/// Addresses, questions, notes.
const LONGEST_TEXT: usize = 4000;

pub fn title(form: &mut Form) -> String {
    line(form, "title", "What it is for", true)
}

pub fn contact(form: &mut Form) -> Contact {
    Contact {
        name: line(form, "customer", "Customer", true),
        email: email(form),
        phone: line(form, "phone", "Telephone", false),
        address: text(form, "address", "Address", false),
    }
}

/// A mailbox has something before and behind one “@”; whether it exists only a mail would tell.
fn email(form: &mut Form) -> String {
    let email = line(form, "email", "E-mail", false);
    let is_mailbox = |text: &str| {
        text.split_once('@').is_some_and(|(name, host)| {
            !name.is_empty() && !host.is_empty() && !host.contains('@') && !text.contains(char::is_whitespace)
        })
    };
    if !email.is_empty() && form.fault("email").is_none() && !is_mailbox(&email) {
        form.wrong("email", "E-mail", format!("“{email}” is no e-mail address: write it like ann@example.com."));
    }
    email
}

/// One line of text, without the spaces around it.
pub fn line(form: &mut Form, field: &str, label: &str, is_needed: bool) -> String {
    let text = checked(form, field, label, is_needed, LONGEST_LINE);
    if text.chars().any(char::is_control) {
        form.wrong(field, label, "This must stand on one line, without special characters.");
    }
    text
}

/// Several lines of text.
pub fn text(form: &mut Form, field: &str, label: &str, is_needed: bool) -> String {
    checked(form, field, label, is_needed, LONGEST_TEXT)
}

fn checked(form: &mut Form, field: &str, label: &str, is_needed: bool, most: usize) -> String {
    let text = form.value(field).trim().to_owned();
    if is_needed && text.is_empty() {
        form.wrong(field, label, "Nothing was entered: type it here.");
    } else if text.chars().count() > most {
        form.wrong(field, label, format!("This is too long: use at most {most} characters."));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_missing_or_wrong_is_said_beside_its_field() {
        let mut form =
            Form::filled([("title", " "), ("customer", "Ann <b>"), ("email", "ann at home"), ("phone", "1\n2")]);
        assert_eq!(title(&mut form), "");
        assert_eq!(contact(&mut form).name, "Ann <b>");
        let fields: Vec<&str> = form.faults().iter().map(|fault| fault.field.as_str()).collect();
        assert_eq!(fields, ["title", "email", "phone"]);
    }

    #[test]
    fn what_is_right_is_trimmed() {
        let mut form = Form::filled([("title", " hives "), ("customer", "Ann"), ("email", "ann@example.com")]);
        assert_eq!(title(&mut form), "hives");
        assert_eq!(contact(&mut form).email, "ann@example.com");
        assert!(form.is_right());
    }

    #[test]
    fn a_text_has_an_end() {
        let long = "x".repeat(5000);
        let mut form = Form::filled([("title", long.as_str()), ("note", long.as_str())]);
        title(&mut form);
        text(&mut form, "note", "Note", false);
        assert_eq!(form.faults().len(), 2);
    }
}
