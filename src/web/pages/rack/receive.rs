//! Pieces that come in: several equal ones at once, each with a tag of its own. Of a line of an order the form is filled with what was
//! ordered, and the order knows its pieces.

use askama::Template;
use axum::{Router, extract::State, response::Response, routing::get};

use super::{described, length, measured, words};
use crate::{
    domain::{
        measure::{Money, read_length, read_money},
        shop::Stocked,
        steel::{Grade, Section, SheetMaterial},
    },
    storage::{By, KeptLine, LineId, NewPiece, OrderId, Received},
    web::{
        AppState, Error, Result, clock,
        extract::Query,
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
    /// The order that they come with, and what its line says.
    ordered: Option<(OrderId, String)>,
}

const NO_LINE: Error = Error::NotFound("There is no such line of an order.");

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::RACK_RECEIVE, get(ask).post(receive))
}

async fn ask(
    State(state): State<AppState>,
    frame: Frame,
    Query(asked): Query<Vec<(String, String)>>,
) -> Result<Response> {
    let ordered = ordered(&state, &Form::filled(asked)).await?;
    let show = Show::of(&*state.shop(clock::today()).await?);
    let form = match &ordered {
        Some((order, kept)) => filled(*order, kept, &show, frame.sees_money()),
        None => Form::filled([("count", "1"), ("kind", "bar")]),
    };
    render(frame, form, ordered.as_ref(), &show)
}

async fn receive(State(state): State<AppState>, frame: Frame, mut form: Form) -> Result<Response> {
    let show = Show::of(&*state.shop(clock::today()).await?);
    let ordered = ordered(&state, &form).await?;
    let (new, count) = (piece(&mut form, &show, frame.sees_money()), count(&mut form));
    let (Some(mut new), Some(count), Some(actor), true) = (new, count, form.actor(&frame), form.is_right()) else {
        return render(frame, form, ordered.as_ref(), &show);
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    let Some((order, kept)) = &ordered else {
        state.store.receive_pieces(&new, count, by).await?;
        return Ok(see_other(paths::RACK, &actor));
    };
    if !frame.sees_money() {
        // Who sees no money says nothing of it: it is worth what was paid.
        new.worth = kept.line.each;
    }
    match state.store.receive_ordered(kept.id, &new, count, clock::today(), by).await? {
        Received::OnRack(_) => return Ok(see_other(&paths::of_order(paths::ORDER, order), &actor)),
        Received::Missing => return Err(NO_LINE),
        Received::TooMany(left) => {
            let wrong = format!(
                "Only {left} of this line can still go on the rack: what is more is received without the order."
            );
            form.wrong("count", "How many", wrong);
        }
        Received::Other => form.wrong_altogether(format!(
            "The order’s line is {}: what is other than that is received without the order.",
            line_words(kept, &show)
        )),
        Received::Cancelled => {
            form.wrong_altogether("The order was cancelled: what came all the same is received without it.");
        }
    }
    render(frame, form, ordered.as_ref(), &show)
}

/// The line of an order that the field `line` names; none where it names nothing.
async fn ordered(state: &AppState, form: &Form) -> Result<Option<(OrderId, KeptLine)>> {
    let text = form.value("line");
    if text.is_empty() {
        return Ok(None);
    }
    let id: LineId = text.parse().map_err(|_| NO_LINE)?;
    let found = state.store.order_line(id).await?;
    found.filter(|(_, kept)| kept.line.stock.is_some()).ok_or(NO_LINE).map(Some)
}

/// What a line of an order says, as it would be typed.
fn filled(order: OrderId, kept: &KeptLine, show: &Show, sees_money: bool) -> Form {
    let mut form = Form::filled([("line", kept.id.to_string()), ("count", kept.to_rack().to_string())]);
    match &kept.line.stock {
        Some(Stocked::Bar { section, grade, length }) => {
            form.add("kind", "bar");
            form.add("section", section.to_string());
            form.add("grade", grade.id());
            form.add("length", format!("{} mm", length.mm()));
        }
        Some(Stocked::Sheet { material, thickness, length, width }) => {
            form.add("kind", "sheet");
            form.add("material", material.word());
            form.add("thickness", format!("{} mm", thickness.mm()));
            form.add("length", format!("{} mm", length.mm()));
            form.add("width", format!("{} mm", width.mm()));
        }
        None => {}
    }
    form.add("origin", format!("order {order}"));
    if sees_money {
        form.add("worth", show.exact_money(kept.line.each));
    }
    form
}

fn line_words(kept: &KeptLine, show: &Show) -> String {
    kept.line
        .stock
        .as_ref()
        .map_or_else(String::new, |stock| format!("{}, {}", described(stock), measured(stock, show)))
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

fn render(frame: Frame, form: Form, ordered: Option<&(OrderId, KeptLine)>, show: &Show) -> Result<Response> {
    let ordered = ordered.map(|(order, kept)| (*order, line_words(kept, show)));
    pages::page(form.status(), &Page { frame: frame.at(Room::Rack), form, ordered })
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
        let ordered = Some((OrderId(3), "Ann <b>".to_owned()));
        vec![Self { frame: nobody, form: Form::default(), ordered: None }, Self { frame: ann, form: wrong, ordered }]
    }
}
