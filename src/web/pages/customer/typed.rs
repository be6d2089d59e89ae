//! What a customer types, read with faults in the language of their quote.

use crate::{domain::words::Words, web::form::Form};

/// Names are one short line.
const LONGEST_LINE: usize = 120;
const LONGEST_TEXT: usize = 4000;

/// A name, without the spaces around it.
pub fn name(form: &mut Form, field: &str, words: &Words) -> String {
    let name = checked(form, field, "your-name", true, LONGEST_LINE, words);
    if name.chars().any(char::is_control) {
        form.wrong(field, words.say("your-name").text(), words.say("fault-one-line").text());
    }
    name
}

/// Several lines of text.
pub fn text(form: &mut Form, field: &str, label: &str, is_needed: bool, words: &Words) -> String {
    checked(form, field, label, is_needed, LONGEST_TEXT, words)
}

fn checked(form: &mut Form, field: &str, label: &str, is_needed: bool, most: usize, words: &Words) -> String {
    let text = form.value(field).trim().to_owned();
    if is_needed && text.is_empty() {
        form.wrong(field, words.say(label).text(), words.say("fault-empty").text());
    } else if text.chars().count() > most {
        form.wrong(field, words.say(label).text(), words.say("fault-too-long").count("most", most).text());
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_wrong_is_said_in_the_language_of_the_quote() {
        let words = Words::of("de");
        let mut form = Form::filled([("name", " "), ("lines", "1\n2"), ("why", "x".repeat(4001).as_str())]);
        name(&mut form, "name", words);
        name(&mut form, "lines", words);
        text(&mut form, "why", "decline-why", false, words);
        let said: Vec<&str> = form.faults().iter().map(|fault| fault.message.as_str()).collect();
        assert_eq!(
            said,
            [
                "Hier fehlt eine Angabe.",
                "Das muss in einer Zeile stehen, ohne Sonderzeichen.",
                "Das ist zu lang: höchstens 4000 Zeichen."
            ]
        );
    }

    #[test]
    fn what_is_right_is_trimmed() {
        let mut form = Form::filled([("name", " Ann "), ("why", "")]);
        assert_eq!(name(&mut form, "name", Words::english()), "Ann");
        assert_eq!(text(&mut form, "why", "decline-why", false, Words::english()), "");
        assert!(form.is_right());
    }
}
