//! Pages as a browser without scripts reads them, and forms as it sends them; the load test uses it too.

use hitchwright::web::paths;
use scraper::{ElementRef, Html, Selector};

/// Names and values, in the order of the form.
pub type Fields = Vec<(String, String)>;

pub fn selector(text: &str) -> Selector {
    Selector::parse(text).expect("a selector")
}

/// An attribute of the first element that a selector finds.
pub fn attribute(page: &str, finds: &str, name: &str) -> Option<String> {
    let html = Html::parse_document(page);
    html.select(&selector(finds)).next()?.attr(name).map(str::to_owned)
}

/// What a browser would send of the form with this id or action: typed texts, ticked boxes, chosen options, no buttons.
#[track_caller]
pub fn form(page: &str, form: &str) -> Fields {
    let html = Html::parse_document(page);
    let found = html
        .select(&selector("form"))
        .find(|found| found.attr("id") == Some(form) || found.attr("action") == Some(form));
    let found = found.unwrap_or_else(|| panic!("no form {form}: {page}"));
    let mut fields = Vec::new();
    for input in found.select(&selector("input, select, textarea")) {
        let Some(name) = input.attr("name") else { continue };
        let value = match (input.value().name(), input.attr("type")) {
            (_, Some("checkbox" | "radio")) if input.attr("checked").is_none() => continue,
            ("textarea", _) => input.text().collect::<String>().trim_start_matches('\n').to_owned(),
            ("select", _) => {
                let options: Vec<ElementRef> = input.select(&selector("option")).collect();
                let chosen = options.iter().find(|option| option.attr("selected").is_some()).or(options.first());
                chosen.and_then(|option| option.attr("value")).unwrap_or_default().to_owned()
            }
            _ => input.attr("value").unwrap_or_default().to_owned(),
        };
        fields.push((name.to_owned(), value));
    }
    fields
}

pub fn fields(pairs: &[(&str, &str)]) -> Fields {
    pairs.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect()
}

/// The fields with these values in place of theirs; new names are added.
pub fn changed(mut fields: Fields, changes: &[(&str, &str)]) -> Fields {
    for (name, value) in changes {
        fields.retain(|(field, _)| field != name);
        fields.push(((*name).to_owned(), (*value).to_owned()));
    }
    fields
}

/// The body of the request that sends them (application/x-www-form-urlencoded).
pub fn encoded<'a>(fields: impl IntoIterator<Item = (&'a str, &'a str)>) -> String {
    let pair = |(name, value)| format!("{}={}", paths::encoded(name), paths::encoded(value));
    fields.into_iter().map(pair).collect::<Vec<_>>().join("&")
}
