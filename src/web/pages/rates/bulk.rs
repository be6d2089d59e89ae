//! The prices of a class changed by per cent: every line is shown before anything is changed.

use askama::Template;
use axum::{Router, extract::State, response::Response, routing::get};
use rust_decimal::Decimal;

use super::from_day;
use crate::{
    domain::{measure::read_percent, shop::ItemClass},
    storage::{BulkChange, By, KeptItem, Version},
    web::{
        AppState, Result, clock,
        form::Form,
        frame::{Frame, Room},
        pages, paths,
        session::see_other,
        show::Show,
    },
};

#[derive(Template)]
#[template(path = "web/rates/bulk.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    lines: Vec<Line>,
}

/// A price before and after.
struct Line {
    code: String,
    name: String,
    before: String,
    after: String,
    unit: &'static str,
    /// Code and version of what is shown, so that nothing else is changed.
    seen: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::BULK, get(ask).post(change))
}

async fn ask(frame: Frame) -> Result<Response> {
    let form = Form::filled([("class", ItemClass::HollowSection.word()), ("from", &clock::today().to_string())]);
    render(frame, form, Vec::new())
}

async fn change(State(state): State<AppState>, frame: Frame, mut form: Form) -> Result<Response> {
    let (class, percent, from) = (class(&mut form), percent(&mut form), from_day(&mut form));
    let (Some(class), Some(percent), true) = (class, percent, form.is_right()) else {
        return render(frame, form, Vec::new());
    };
    let show = Show::of(&*state.shop(clock::today()).await?);
    let items = state.store.items(from, Some(class)).await?;
    let lines = |items: &[KeptItem]| -> Vec<Line> {
        items.iter().filter(|kept| !kept.item.retired).map(|kept| Line::of(kept, percent, &show)).collect()
    };
    if form.value("action") != "apply" {
        let lines = lines(&items);
        if lines.is_empty() {
            form.wrong("class", "Class", "No item of this class has a price on that day.");
        }
        return render(frame, form, lines);
    }
    let Some(actor) = form.actor(&frame) else { return render(frame, form, lines(&items)) };
    let by = By { who: &actor.signature(), at: clock::now() };
    match state.store.bulk_change(class, percent, from, &seen(&form), by).await? {
        BulkChange::Done(_) => Ok(see_other(&format!("{}?class={}", paths::RATES, class.word()), &actor)),
        BulkChange::Changed(codes) => {
            form.wrong_altogether(format!(
                "Somebody changed these items meanwhile: {}. Nothing was changed yet; look at the lines again.",
                codes.join(", ")
            ));
            render(frame, form, lines(&items))
        }
    }
}

fn class(form: &mut Form) -> Option<ItemClass> {
    let class = ItemClass::from_word(form.value("class"));
    if class.is_none() {
        form.wrong("class", "Class", "Choose a class of the list.");
    }
    class
}

/// Prices are never halved or doubled by one change: such a figure is a slip.
fn percent(form: &mut Form) -> Option<Decimal> {
    let text = form.value("percent").to_owned();
    let limit = Decimal::from(50);
    match read_percent(&text) {
        Ok(percent) if percent.is_zero() => {
            form.wrong("percent", "Change", "A change of 0 % changes nothing: type something like 8.5 or -3.");
            None
        }
        Ok(percent) if percent.abs() > limit => {
            form.wrong(
                "percent",
                "Change",
                format!("“{text}” is too much for one change: type a value from -50 to 50 %."),
            );
            None
        }
        Ok(percent) => Some(percent),
        Err(fault) => {
            form.wrong("percent", "Change", format!("{fault}."));
            None
        }
    }
}

fn seen(form: &Form) -> Vec<(String, Version)> {
    let pairs = form.values("seen").filter_map(|seen| seen.rsplit_once(':'));
    pairs.filter_map(|(code, version)| Some((code.to_owned(), version.parse().ok()?))).collect()
}

fn render(frame: Frame, form: Form, lines: Vec<Line>) -> Result<Response> {
    pages::page(form.status(), &Page { frame: frame.at(Room::Rates), form, lines })
}

impl Page {
    fn classes(&self) -> &'static [(&'static str, &'static str)] {
        ItemClass::WORDS
    }
}

impl Line {
    fn of(kept: &KeptItem, percent: Decimal, show: &Show) -> Self {
        let item = &kept.item;
        Self {
            code: item.code.clone(),
            name: item.name.clone(),
            before: show.exact_money(item.price),
            after: show.exact_money(item.changed_by_percent(percent).price),
            unit: item.unit.label(),
            seen: format!("{}:{}", item.code, kept.version),
        }
    }
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [nobody, ann] = Frame::samples();
        let line = Line {
            code: "A".into(),
            name: "Ann <b>".into(),
            before: "1.00".into(),
            after: "1.08".into(),
            unit: "each",
            seen: "A:1".into(),
        };
        let mut wrong = Form::filled([("percent", "<b>")]);
        percent(&mut wrong);
        vec![
            Self { frame: nobody, form: Form::default(), lines: vec![line] },
            Self { frame: ann, form: wrong, lines: vec![] },
        ]
    }
}
