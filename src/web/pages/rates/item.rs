//! One item: what it is, its price today, its history.

use askama::Template;
use axum::{
    Router,
    extract::State,
    http::StatusCode,
    response::Response,
    routing::{get, post},
};
use serde::Deserialize;

use super::{from_day, item_form, list::anchor};
use crate::{
    domain::{
        measure::{Length, Money},
        shop::{BarLength, Goods, Item, ItemClass, RateUnit, SheetSize},
    },
    storage::{Added, By, Conflict, KeptItem, Save},
    web::{
        AppState, Error, Result, clock,
        extract::{Path, Query},
        form::Form,
        forms::{Sheet, flat},
        frame::{Frame, Room},
        pages, paths,
        session::{self, see_other},
        show::Show,
    },
};

const NONE: Error = Error::NotFound("There is no such item in the rate book.");

#[derive(Template)]
#[template(path = "web/rates/item.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    title: String,
    /// Where “what it is” goes.
    action: String,
    /// Kinds to choose from, for a new item.
    kinds: Vec<(String, &'static str)>,
    kind: String,
    sheet: Sheet,
    kept: Option<Kept>,
    is_retired: bool,
}

/// An item that stands in the book.
struct Kept {
    code: String,
    version: i64,
    unit: &'static str,
    history: Vec<Rate>,
}

struct Rate {
    from: String,
    price: String,
    by: String,
}

#[derive(Debug, Deserialize)]
struct Asked {
    #[serde(default)]
    kind: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new()
        .route(paths::NEW_ITEM, get(new).post(add))
        .route(paths::ITEM, get(show).post(save))
        .route(paths::ITEM_PRICE, post(price))
        .route(paths::ITEM_RETIRE, post(retire))
}

async fn new(State(state): State<AppState>, frame: Frame, Query(asked): Query<Asked>) -> Result<Response> {
    let show = Show::of(&*state.shop(clock::today()).await?);
    let blank = blank(&asked.kind);
    let fields = item_form::fields(item_form::kind_of(&blank.goods), true);
    let form = flat::fill(&fields, &item_form::document(&blank, show.hand()), show.hand());
    render_new(frame, form, &blank, &show)
}

async fn add(State(state): State<AppState>, frame: Frame, mut form: Form) -> Result<Response> {
    let show = Show::of(&*state.shop(clock::today()).await?);
    let blank = blank(form.value("kind"));
    let read = item_form::read(&mut form, &blank, true, show.hand());
    let (Some(item), Some(actor)) = (read, form.actor(&frame)) else {
        return render_new(frame, form, &blank, &show);
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    match state.store.add_item(&item, by).await? {
        Added::Done => Ok(see_other(&paths::of_item(paths::ITEM, &item.code), &actor)),
        Added::Taken => {
            form.wrong("item.code", "Code", format!("Another item has the code “{}”: choose another.", item.code));
            render_new(frame, form, &blank, &show)
        }
    }
}

async fn show(State(state): State<AppState>, frame: Frame, Path(code): Path<String>) -> Result<Response> {
    let (kept, show) = find(&state, &code).await?;
    render(&state, frame, Form::default(), &kept, &show, StatusCode::OK).await
}

/// Keeps what the item is.
async fn save(
    State(state): State<AppState>,
    frame: Frame,
    Path(code): Path<String>,
    mut form: Form,
) -> Result<Response> {
    let (kept, show) = find(&state, &code).await?;
    let read = item_form::read(&mut form, &kept.item, false, show.hand());
    let (Some(mut item), Some(actor)) = (read, form.actor(&frame)) else {
        return render(&state, frame, form, &kept, &show, StatusCode::UNPROCESSABLE_ENTITY).await;
    };
    item.from = clock::today().max(item.from);
    let by = By { who: &actor.signature(), at: clock::now() };
    let version = form.value("version").parse().unwrap_or(kept.version);
    match state.store.save_item(version, &item, by).await? {
        Save::Saved(_) => Ok(see_other(&paths::of_item(paths::ITEM, &code), &actor)),
        Save::Missing => Err(NONE),
        Save::Conflict(found) => stale(&state, frame, form, &code, &found).await,
    }
}

/// A new dated price, from the item's own page or in place from the list.
async fn price(
    State(state): State<AppState>,
    frame: Frame,
    Path(code): Path<String>,
    mut form: Form,
) -> Result<Response> {
    let (kept, show) = find(&state, &code).await?;
    let from = from_day(&mut form);
    let price = read_price(&mut form, &show);
    let (Some(price), Some(actor), true) = (price, form.actor(&frame), form.is_right()) else {
        return render(&state, frame, form, &kept, &show, StatusCode::UNPROCESSABLE_ENTITY).await;
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    let version = form.value("version").parse().unwrap_or(kept.version);
    match state.store.edit_price(&code, version, price, None, from, by).await? {
        Save::Saved(_) if form.has("back") => {
            Ok(see_other(&format!("{}#{}", session::local(form.value("back")), anchor(&code)), &actor))
        }
        Save::Saved(_) => Ok(see_other(&paths::of_item(paths::ITEM, &code), &actor)),
        Save::Missing => Err(NONE),
        Save::Conflict(found) => stale(&state, frame, form, &code, &found).await,
    }
}

fn read_price(form: &mut Form, show: &Show) -> Option<Money> {
    let text = form.value("price").to_owned();
    match crate::domain::measure::read_money(&text, &show.money) {
        Ok(price) if price < Money::ZERO => {
            form.wrong("price", "Price before tax", format!("“{text}” is negative: type 0 or more."));
            None
        }
        Ok(price) => Some(price),
        Err(fault) => {
            form.wrong("price", "Price before tax", format!("{fault}."));
            None
        }
    }
}

async fn retire(
    State(state): State<AppState>,
    frame: Frame,
    Path(code): Path<String>,
    mut form: Form,
) -> Result<Response> {
    let (kept, show) = find(&state, &code).await?;
    let Some(actor) = form.actor(&frame) else {
        return render(&state, frame, form, &kept, &show, StatusCode::UNPROCESSABLE_ENTITY).await;
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    let from = (form.value("retired") != "no").then(clock::today);
    let version = form.value("version").parse().unwrap_or(kept.version);
    match state.store.retire_item(&code, version, from, by).await? {
        Save::Saved(_) => Ok(see_other(&paths::of_item(paths::ITEM, &code), &actor)),
        Save::Missing => Err(NONE),
        Save::Conflict(found) => stale(&state, frame, form, &code, &found).await,
    }
}

/// Somebody else changed the item meanwhile: what stands now is shown, with what was typed still in its fields; sending the
/// form again keeps it.
async fn stale(state: &AppState, frame: Frame, mut form: Form, code: &str, found: &Conflict<Item>) -> Result<Response> {
    let (kept, show) = find(state, code).await?;
    let now = &found.theirs;
    form.wrong_altogether(format!(
        "{} changed this item on {}: it is now {}, {} {}. What you typed still stands below; send it again to keep yours.",
        found.who,
        clock::moment(found.when),
        now.name,
        show.money(now.price),
        now.unit.label()
    ));
    render(state, frame, form, &kept, &show, StatusCode::CONFLICT).await
}

async fn find(state: &AppState, code: &str) -> Result<(KeptItem, Show)> {
    let today = clock::today();
    let kept = state.store.item(code, today).await?.ok_or(NONE)?;
    Ok((kept, Show::of(&*state.shop(today).await?)))
}

async fn render(
    state: &AppState,
    frame: Frame,
    form: Form,
    kept: &KeptItem,
    show: &Show,
    status: StatusCode,
) -> Result<Response> {
    let history = state.store.item_history(&kept.item.code).await?;
    let history = history.iter().map(|rate| Rate {
        from: show.day(rate.from),
        price: show.exact_money(rate.price),
        by: rate.entered_by.clone(),
    });
    let page = Page::of(frame, form, kept, show, history.collect());
    pages::page(status, &page)
}

fn render_new(frame: Frame, form: Form, blank: &Item, show: &Show) -> Result<Response> {
    let page = Page::new(frame, form, blank, show);
    pages::page(page.form.status(), &page)
}

/// An item of a kind before anything was typed.
fn blank(kind: &str) -> Item {
    let first = |class, unit, goods| Item {
        code: String::new(),
        name: String::new(),
        class,
        supplier: String::new(),
        unit,
        price: Money::ZERO,
        from: clock::today(),
        lead_days: 0,
        goods,
        source: String::new(),
        retired: false,
    };
    let frame = crate::domain::trailer::Frame::default();
    let deck = crate::domain::trailer::Deck::default();
    match kind {
        "bar" => {
            let lengths = vec![BarLength { length: Length::from_mm(6000.0), price: None }];
            let goods = Goods::Bar { section: frame.side_rail, grade: frame.grade, lengths };
            first(ItemClass::HollowSection, RateUnit::Metre, goods)
        }
        "sheet" => {
            let size = SheetSize { length: Length::from_mm(2440.0), width: Length::from_mm(1220.0), price: None };
            let goods = Goods::Sheet { material: deck.material, thickness: deck.thickness, sizes: vec![size] };
            first(ItemClass::Timber, RateUnit::Sheet, goods)
        }
        "consumable" => first(
            ItemClass::Consumable,
            RateUnit::Kilogram,
            Goods::Consumable { used_for: crate::domain::shop::ConsumableUse::Wire },
        ),
        "labour" => {
            first(ItemClass::Labour, RateUnit::Hour, Goods::Labour { trade: crate::domain::shop::Trade::Fabricator })
        }
        "outside" => first(
            ItemClass::OutsideWork,
            RateUnit::Kilogram,
            Goods::Outside { service: crate::domain::shop::OutsideService::Galvanising, minimum: Money::ZERO },
        ),
        _ => first(
            ItemClass::Part,
            RateUnit::Each,
            Goods::Part {
                class: crate::domain::shop::PartClass::Coupling,
                mass_kg: 0.0,
                minutes: None,
                attributes: Default::default(),
            },
        ),
    }
}

impl Page {
    /// The page of an item; a form without the fields of “what it is” shows those that are kept.
    fn of(frame: Frame, form: Form, kept: &KeptItem, show: &Show, history: Vec<Rate>) -> Self {
        let item = &kept.item;
        let document = item_form::document(item, show.hand());
        let fields = item_form::fields(item_form::kind_of(&item.goods), false);
        let mut form = form;
        for (name, value) in flat::fill(&fields, &document, show.hand()).pairs() {
            if !form.has(name) {
                form.add(name, value);
            }
        }
        if !form.has("price") {
            form.add("price", show.exact_money(item.price));
        }
        if !form.has("from") {
            form.add("from", clock::today().to_string());
        }
        Self {
            frame: frame.at(Room::Rates),
            form,
            title: item.name.clone(),
            action: paths::of_item(paths::ITEM, &item.code),
            kinds: Vec::new(),
            kind: String::new(),
            sheet: Sheet::of_fields(&fields, &document, show.hand()),
            kept: Some(Kept { code: item.code.clone(), version: kept.version.0, unit: item.unit.label(), history }),
            is_retired: item.retired,
        }
    }

    fn new(frame: Frame, form: Form, blank: &Item, show: &Show) -> Self {
        let kind = item_form::kind_of(&blank.goods);
        let fields = item_form::fields(kind, true);
        let path = |kind: &str| format!("{}?kind={kind}", paths::NEW_ITEM);
        Self {
            frame: frame.at(Room::Rates),
            form,
            title: "New item".into(),
            action: paths::NEW_ITEM.into(),
            kinds: item_form::KINDS
                .iter()
                .filter(|(other, _)| *other != kind)
                .map(|(kind, text)| (path(kind), *text))
                .collect(),
            kind: kind.to_owned(),
            sheet: Sheet::of_fields(&fields, &item_form::document(blank, show.hand()), show.hand()),
            kept: None,
            is_retired: false,
        }
    }
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [nobody, ann] = Frame::samples();
        let show = Show::sample();
        let item = Item { name: "Ann <b>".into(), code: "A/1 <b>".into(), ..blank("bar") };
        let kept = KeptItem {
            item,
            version: crate::storage::Version(3),
            changed_at: jiff::Timestamp::UNIX_EPOCH,
            changed_by: "Ann <b>".into(),
            retired_on: None,
        };
        let rate = Rate { from: "5 Nov 2026".into(), price: "1.00".into(), by: "Ann <b>".into() };
        let mut wrong = Form::filled([("price", "<b>")]);
        wrong.wrong("price", "Price before tax", "“<b>” is no amount.");
        let mut pages = vec![Self::of(nobody, wrong, &kept, &show, vec![rate])];
        for (kind, _) in item_form::KINDS {
            pages.push(Self::new(ann.clone(), Form::default(), &blank(kind), &show));
        }
        pages
    }
}
