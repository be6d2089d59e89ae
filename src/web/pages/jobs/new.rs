//! A new job: blank, or from an earlier one.

use askama::Template;

use crate::web::{form::Form, frame::Frame};

#[derive(Template)]
#[template(path = "web/jobs/new.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    earlier: Vec<(String, String)>,
}

impl Page {
    fn earlier(&self) -> Vec<(&str, &str)> {
        let blank = [("", "nothing: a blank job")];
        blank.into_iter().chain(self.earlier.iter().map(|(id, text)| (id.as_str(), text.as_str()))).collect()
    }

    fn takes(&self) -> [(&'static str, &'static str); 3] {
        [("both", "need and design"), ("need", "the need only"), ("design", "the design only")]
    }
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [nobody, ann] = Frame::samples();
        let mut form = Form::filled([("title", ""), ("customer", "Ann <b>"), ("from", "7")]);
        form.wrong("title", "What it is for", "Nothing was entered.");
        vec![
            Self { frame: nobody, form, earlier: vec![("7".into(), "Hives".into())] },
            Self { frame: ann, form: Form::default(), earlier: vec![] },
        ]
    }
}
