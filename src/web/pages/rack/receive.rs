//! Pieces that come in: several equal ones at once, each with a tag of its own.

use askama::Template;
use axum::{Router, extract::State, response::Response, routing::get};

use super::{length, words};
use crate::{
    domain::{
        measure::{Money, read_length, read_money},
        shop::Stocked,
        steel::{Grade, Section, SheetMaterial},
    },
    storage::{By, NewPiece},
    web::{
        AppState, Result, clock,
        form::Form,
        frame::{Frame, Room},
        pages, paths,
        session::see_other,
        show::Show,
    },
};

/// More at once are rather a slip than a delivery.
const MOST_AT_ONCE: u32 = 200;

#[derive(Template)]
#[template(path = "web/rack/receive.html")]
pub struct Page {
    frame: Frame,
    form: Form,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::RACK_RECEIVE, get(ask).post(receive))
}

async fn ask(frame: Frame) -> Result<Response> {
    render(frame, Form::filled([("count", "1"), ("kind", "bar")]))
}

async fn receive(State(state): State<AppState>, frame: Frame, mut form: Form) -> Result<Response> {
    let show = Show::of(&*state.shop(clock::today()).await?);
    let (new, count) = (piece(&mut form, &show, frame.sees_money()), count(&mut form));
    let (Some(new), Some(count), Some(actor), true) = (new, count, form.actor(&frame), form.is_right()) else {
        return render(frame, form);
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    state.store.receive_pieces(&new, count, by).await?;
    Ok(see_other(paths::RACK, &actor))
}

fn count(form: &mut Form) -> Option<u32> {
    let text = form.value("count").trim().to_owned();
    let count = text.parse().ok().filter(|count| (1..=MOST_AT_ONCE).contains(count));
    if count.is_none() {
        form.wrong("count", "How many", format!("“{text}” is no such number: type a whole number from 1 to 200."));
    }
    count
}

/// What is typed, with every fault of it. Nobody who does not see money says what a piece is worth.
fn piece(form: &mut Form, show: &Show, sees_money: bool) -> Option<NewPiece> {
    let long = length(form, "length", "Length", show);
    let stock = match form.value("kind") {
        "sheet" => sheet(form, show, long),
        "bar" => bar(form, long),
        _ => {
            form.wrong("kind", "Kind", "Choose a bar or a sheet.");
            None
        }
    };
    let worth = form.value("worth").trim().to_owned();
    let worth = match read_money(&worth, &show.money) {
        _ if !sees_money || worth.is_empty() => Money::ZERO,
        Ok(worth) => worth,
        Err(fault) => {
            form.wrong("worth", "Worth of each", format!("{fault}."));
            Money::ZERO
        }
    };
    let origin = words(form, "origin", "Where from", "where it comes from, like a delivery note");
    let place = words(form, "place", "Where it lies", "where it lies, like “bay 2”");
    Some(NewPiece { stock: stock?, worth, sawn_here: form.has("sawn_here"), place, origin })
}

fn bar(form: &mut Form, long: Option<crate::domain::measure::Tenths>) -> Option<Stocked> {
    let section = form.value("section").parse::<Section>();
    let section = section.map_err(|fault| form.wrong("section", "Section", format!("{fault}."))).ok();
    let grade = form.value("grade").parse::<Grade>();
    let grade = grade.map_err(|fault| form.wrong("grade", "Grade", format!("{fault}."))).ok();
    Some(Stocked::Bar { section: section?, grade: grade?, length: long? })
}

fn sheet(form: &mut Form, show: &Show, long: Option<crate::domain::measure::Tenths>) -> Option<Stocked> {
    let wide = length(form, "width", "Width", show);
    let material = SheetMaterial::from_word(form.value("material"));
    if material.is_none() {
        form.wrong("material", "Material", "Choose a material of the list.");
    }
    let text = form.value("thickness").to_owned();
    let thickness = match read_length(&text, show.hand().units) {
        Ok(thickness) if thickness.mm() >= 0.1 && thickness.mm() <= 100.0 => Some(thickness),
        Ok(_) => {
            form.wrong("thickness", "Thickness", format!("“{text}” is out of range: type 0.1 to 100 mm."));
            None
        }
        Err(fault) => {
            form.wrong("thickness", "Thickness", format!("{fault}."));
            None
        }
    };
    Some(Stocked::Sheet { material: material?, thickness: thickness?, length: long?, width: wide? })
}

fn render(frame: Frame, form: Form) -> Result<Response> {
    pages::page(form.status(), &Page { frame: frame.at(Room::Rack), form })
}

impl Page {
    fn kinds(&self) -> [(&'static str, &'static str); 2] {
        [("bar", "bar or offcut"), ("sheet", "sheet")]
    }

    fn grades(&self) -> Vec<(&'static str, &'static str)> {
        Grade::all().map(|grade| (grade.id(), grade.id())).collect()
    }

    fn materials(&self) -> &'static [(&'static str, &'static str)] {
        SheetMaterial::WORDS
    }
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [nobody, ann] = Frame::samples();
        let mut wrong = Form::filled([("kind", "bar"), ("section", "Ann <b>"), ("length", "<b>")]);
        piece(&mut wrong, &Show::sample(), true);
        count(&mut wrong);
        vec![Self { frame: nobody, form: Form::default() }, Self { frame: ann, form: wrong }]
    }
}
