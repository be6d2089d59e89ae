//! The shop's settings: policy, terms, currency, units, norms. Generated from the registry of fields.

use askama::Template;
use axum::{Router, extract::State, response::Response, routing::get};
use serde_json::Value;

use crate::{
    domain::{
        form::{Field, Kind, Limit},
        shop::{Norm, ShopBook, policy_fields, shop_fields},
        words::Words,
        working::Sure,
    },
    storage::{By, Save},
    web::{
        AppState, Error, Result,
        books::KeptBook,
        clock,
        extract::Query,
        form::Form,
        forms::{Sheet, flat},
        frame::{Frame, Room},
        pages::{
            self,
            conflict::{self, Conflict},
        },
        paths,
        session::see_other,
        show::Show,
    },
};

#[derive(Template)]
#[template(path = "web/shop.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    sheet: Sheet,
    version: i64,
    saved: bool,
}

#[derive(Debug, serde::Deserialize)]
struct Asked {
    saved: Option<String>,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::SHOP, get(show).post(save))
}

/// Every setting: what the shop is, its policy, and the minutes of its operations.
fn fields(book: &ShopBook) -> Vec<Field> {
    let norms = book.norms.all().map(|norm| Field {
        path: format!("norms.{}", slot(&norm.key)),
        group: "Norms of work",
        label: format!("{} ({})", norm.operation, norm.unit),
        kind: Kind::Number,
        unit: "",
        limit: Limit { low: 0.0, high: 10_000.0 },
        optional: false,
        help: "",
    });
    let own = format!("other_terms.{}.", Words::of(&book.language).language());
    let shop = shop_fields().into_iter().filter(|field| !field.path.starts_with(&own));
    shop.chain(policy_fields()).chain(norms).collect()
}

/// A norm's key as one step of a path.
fn slot(key: &str) -> String {
    key.replace(['/', '.'], ":")
}

/// The book as the fields see it: norms by key.
fn document(book: &ShopBook) -> Result<Value> {
    let mut document = serde_json::to_value(book).map_err(Error::internal)?;
    let norms = book.norms.all().map(|norm| (slot(&norm.key), Value::from(norm.value)));
    document["norms"] = Value::Object(norms.collect());
    Ok(document)
}

/// The book from the document; a norm that was changed becomes the shop's own.
fn read_back(mut document: Value, before: &ShopBook) -> Result<ShopBook, String> {
    let norms = document["norms"].take();
    document["norms"] = serde_json::to_value(&before.norms).map_err(|fault| fault.to_string())?;
    let mut book: ShopBook = serde_json::from_value(document).map_err(|fault| fault.to_string())?;
    let today = clock::today();
    for norm in before.norms.all() {
        let value = norms[slot(&norm.key)].as_f64().unwrap_or(norm.value);
        if value != norm.value {
            let source = "the shop's own".to_owned();
            book.norms.set(Norm { value, source, sure: Sure::Shop, from: today, ..norm.clone() });
        }
    }
    Ok(book)
}

async fn show(State(state): State<AppState>, frame: Frame, Query(asked): Query<Asked>) -> Result<Response> {
    let kept = state.kept_shop(clock::today()).await?;
    let form = filled(&kept.book)?;
    render(frame, form, &kept, asked.saved.is_some())
}

async fn save(State(state): State<AppState>, frame: Frame, form: Form) -> Result<Response> {
    let kept = state.kept_shop(clock::today()).await?;
    let mut form = conflict::resolved(&form, &filled(&kept.book)?);
    let mut changed = document(&kept.book)?;
    let show = Show::of(&kept.book);
    flat::read(&mut form, &fields(&kept.book), &mut changed, show.hand());
    let book = read_back(changed, &kept.book);
    if let (Err(fault), true) = (&book, form.is_right()) {
        form.wrong_altogether(format!("These settings do not go together: {fault}."));
    }
    if let Ok(book) = &book
        && !clock::is_zone(&book.time_zone)
    {
        let wrong = format!("“{}” is no time zone: write it like Europe/London, Asia/Kolkata or UTC.", book.time_zone);
        form.wrong("time_zone", "Time zone", wrong);
    }
    let (Ok(book), Some(actor), true) = (book, form.actor(&frame), form.is_right()) else {
        return render(frame, form, &kept, false);
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    let version = form.value("version").parse().unwrap_or(kept.version);
    match state.store.save_shop_book(Some(version), &book, by).await? {
        Save::Saved(_) => {
            clock::keep_zone(&book.time_zone);
            Ok(see_other(&format!("{}?saved=yes", paths::SHOP), &actor))
        }
        Save::Missing => Err(Error::internal("the shop was never set up")),
        Save::Conflict(found) => differ(frame, form, *found),
    }
}

fn differ(frame: Frame, form: Form, found: crate::storage::Conflict<ShopBook>) -> Result<Response> {
    let labels = fields(&found.theirs);
    let labels = labels.iter().map(|field| (field.path.as_str(), field.label.as_str()));
    let mut yours = Form::default();
    for (name, _) in labels.clone() {
        // Of a box to tick the last value counts.
        yours.add(name, form.last(name).map(|text| if text == "no" { "" } else { text }).unwrap_or_default());
    }
    let differences = conflict::differences(labels, &filled(&found.theirs)?, &yours, None);
    let found = Conflict {
        what: "The shop's settings".into(),
        who: found.who,
        when: clock::moment(found.when),
        version: found.version.0,
        differences,
        action: paths::SHOP.into(),
        back: paths::SHOP.into(),
    };
    conflict::show(frame.at(Room::Shop), form, found)
}

fn filled(book: &ShopBook) -> Result<Form> {
    Ok(flat::fill(&fields(book), &document(book)?, Show::of(book).hand()))
}

fn render(frame: Frame, form: Form, kept: &KeptBook, saved: bool) -> Result<Response> {
    let sheet = Sheet::of_fields(&fields(&kept.book), &document(&kept.book)?, Show::of(&kept.book).hand());
    let version = form.value("version").parse().unwrap_or(kept.version.0);
    pages::page(form.status(), &Page { frame: frame.at(Room::Shop), form, sheet, version, saved })
}

#[cfg(test)]
impl Page {
    pub(super) fn samples() -> Vec<Self> {
        let mut book = ShopBook::demo();
        book.name = "Ann <b>".into();
        let sheet = Sheet::of_fields(&fields(&book), &document(&book).expect("a document"), Show::of(&book).hand());
        let mut wrong = filled(&book).expect("a form");
        wrong.wrong("policy.kerf", "Saw kerf", "“<b>” is no length.");
        let [nobody, ann] = Frame::samples();
        vec![
            Self { frame: nobody, form: wrong, sheet: sheet.clone(), version: 1, saved: false },
            Self { frame: ann, form: filled(&book).expect("a form"), sheet, version: 1, saved: true },
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_settings_are_read_back_as_they_are_shown() {
        let book = ShopBook::demo();
        let mut form = filled(&book).expect("a form");
        let mut read = document(&book).expect("a document");
        flat::read(&mut form, &fields(&book), &mut read, Show::of(&book).hand());
        assert!(form.is_right(), "{:?}", form.faults());
        assert_eq!(read_back(read, &book).as_ref(), Ok(&book));
    }

    #[test]
    fn a_changed_norm_becomes_the_shops_own() {
        let book = ShopBook::demo();
        let key = book.norms.all().next().expect("a norm").key.clone();
        let mut changed = document(&book).expect("a document");
        changed["norms"][slot(&key)] = Value::from(123.0);
        let read = read_back(changed, &book).expect("a book");
        assert_eq!(read.norms.get(&key).map(|norm| (norm.value, norm.sure)), Some((123.0, Sure::Shop)));
    }
}
