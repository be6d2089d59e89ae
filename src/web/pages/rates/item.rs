//! One item: what it is, its price today, its history.

use askama::Template;
use axum::{
    Router,
    extract::State,
    http::StatusCode,
    response::Response,
    routing::{get, post},
};
use jiff::civil::Date;
use rust_decimal::prelude::ToPrimitive;
use serde::Deserialize;

use super::{from_day, item_form, list::anchor};
use crate::{
    documents::chart,
    domain::{
        measure::{Length, Money},
        shop::{BarLength, Goods, Item, ItemClass, Jump, PricedBy, RateUnit, SheetSize, Sizes, Supply, jump},
    },
    storage::{Added, By, Conflict, DatedPrice, KeptItem, Save},
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

pub(super) const NONE: Error = Error::NotFound("There is no such item in the rate book.");

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
    /// A new price that the shop does not believe at once: it can be kept all the same.
    doubtful: bool,
}

/// An item that stands in the book.
struct Kept {
    code: String,
    version: i64,
    unit: &'static str,
    history: Vec<Rate>,
    /// The price of the first supplier over days, as SVG.
    chart: Option<String>,
    /// The first supplier.
    supplier: String,
    has_sizes: bool,
    doubtful_supply: bool,
    /// Who prices it today, in words.
    prices: String,
    suppliers: Vec<SupplierRow>,
    /// Who may price it: value and text.
    choices: Vec<(String, String)>,
}

/// What another supplier asks.
struct SupplierRow {
    name: String,
    article: String,
    price: String,
    since: String,
    pack: String,
    lead_days: u32,
    sizes: String,
}

struct Rate {
    from: String,
    /// Before its day.
    is_coming: bool,
    is_undone: bool,
    price: String,
    supplier: String,
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
    if form.value("sure") != "yes" && doubt(&state, &mut form, &code, (price, from), &show).await? {
        return render(&state, frame, form, &kept, &show, StatusCode::UNPROCESSABLE_ENTITY).await;
    }
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

/// Notes a price that moves farther than the shop believes at once, with both figures.
async fn doubt(state: &AppState, form: &mut Form, code: &str, new: (Money, Date), show: &Show) -> Result<bool> {
    let shop = state.shop(clock::today()).await?;
    let before = state.store.item(code, new.1).await?.ok_or(NONE)?.item;
    let Some(jump) = jump(before.class, (before.price, before.from), new, &shop.policy) else { return Ok(false) };
    form.wrong("price", "Price before tax", said(&jump, &before, show));
    form.set("doubtful", "yes");
    Ok(true)
}

/// Both figures of a doubtful price, in words.
pub(super) fn said(jump: &Jump, before: &Item, show: &Show) -> String {
    let (was, now) = (show.exact_money(jump.before), show.exact_money(jump.after));
    let moved = match jump.percent {
        Some(percent) if percent.is_sign_negative() => format!("{} % less", -percent),
        Some(percent) => format!("{percent} % more"),
        None => "from nothing".into(),
    };
    format!(
        "{now} instead of {was} of {} is {moved}; {} are asked about from {} % on. Is it the right unit ({}) and point? Save it all the same, or type another.",
        show.day(before.from),
        before.class.label(),
        jump.limit,
        before.unit.label()
    )
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

async fn retire(State(state): State<AppState>, frame: Frame, Path(code): Path<String>, form: Form) -> Result<Response> {
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
pub(super) async fn stale(
    state: &AppState,
    frame: Frame,
    mut form: Form,
    code: &str,
    found: &Conflict<Item>,
) -> Result<Response> {
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

pub(super) async fn find(state: &AppState, code: &str) -> Result<(KeptItem, Show)> {
    let today = clock::today();
    let kept = state.store.item(code, today).await?.ok_or(NONE)?;
    Ok((kept, Show::of(&*state.shop(today).await?)))
}

pub(super) async fn render(
    state: &AppState,
    frame: Frame,
    form: Form,
    kept: &KeptItem,
    show: &Show,
    status: StatusCode,
) -> Result<Response> {
    let today = clock::today();
    let code = &kept.item.code;
    let history = state.store.item_history(code).await?;
    let supplies = state.store.supplies_of(code, today).await?;
    let page = Page::of(frame, form, kept, show, Books { today, history, supplies });
    pages::page(status, &page)
}

/// What the store knows of an item beside the item itself.
struct Books {
    today: Date,
    history: Vec<DatedPrice>,
    supplies: Vec<Supply>,
}

fn render_new(frame: Frame, form: Form, blank: &Item, show: &Show) -> Result<Response> {
    let page = Page::new(frame, form, blank, show);
    pages::page(page.form.status(), &page)
}

/// An item of a kind before anything was typed.
pub(super) fn blank(kind: &str) -> Item {
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

impl Kept {
    fn of(kept: &KeptItem, show: &Show, books: &Books) -> Self {
        let item = &kept.item;
        let history = books.history.iter().map(|rate| Rate {
            from: show.day(rate.from),
            is_coming: rate.from > books.today,
            is_undone: rate.undone,
            price: show.exact_money(rate.price),
            supplier: rate.supplier.clone().unwrap_or_default(),
            by: rate.entered_by.clone(),
        });
        let mut held: Vec<(Date, f64)> = Vec::new();
        // The list has the latest day first, and of two for one day the one that holds first.
        let own =
            books.history.iter().filter(|rate| rate.supplier.is_none() && !rate.undone && rate.from <= books.today);
        for rate in own {
            if held.last().is_none_or(|(day, _)| *day != rate.from) {
                held.push((rate.from, rate.price.0.to_f64().unwrap_or(0.0)));
            }
        }
        held.reverse();
        let title = format!("Price of {} {}", item.name, item.unit.label());
        let chart = chart::steps(&title, &held, books.today, show).map(|drawing| drawing.svg("price-chart"));
        let priced = item.priced(&kept.priced_by, &books.supplies);
        let first = if item.supplier.is_empty() { "the shop's own price" } else { &item.supplier };
        let mut choices = vec![
            (PricedBy::First.to_string(), format!("always {first}")),
            (PricedBy::Cheapest.to_string(), "the cheapest of the day".to_owned()),
        ];
        choices.extend(books.supplies.iter().map(|supply| {
            (PricedBy::Supplier(supply.supplier.clone()).to_string(), format!("always {}", supply.supplier))
        }));
        let supplier_row = |supply: &Supply| SupplierRow {
            name: supply.supplier.clone(),
            article: supply.article.clone(),
            price: show.exact_money(supply.price),
            since: show.day(supply.from),
            pack: supply.pack.normalize().to_string(),
            lead_days: supply.lead_days,
            sizes: match &supply.sizes {
                Some(Sizes::Lengths(lengths)) => super::lines::write_lengths(lengths, show.hand()),
                Some(Sizes::Sheets(sizes)) => super::lines::write_sizes(sizes, show.hand()),
                None => String::new(),
            },
        };
        Self {
            code: item.code.clone(),
            version: kept.version.0,
            unit: item.unit.label(),
            history: history.collect(),
            chart,
            supplier: first.to_owned(),
            has_sizes: Sizes::of(&item.goods).is_some(),
            doubtful_supply: false,
            prices: format!(
                "Estimates take {} {} of {}.",
                show.exact_money(priced.price),
                priced.unit.label(),
                if priced.supplier.is_empty() { "the shop's own price" } else { &priced.supplier }
            ),
            suppliers: books.supplies.iter().map(supplier_row).collect(),
            choices,
        }
    }

    /// The chart, made by us from numbers and escaped text.
    fn chart(&self) -> &str {
        self.chart.as_deref().unwrap_or_default()
    }
}

impl Page {
    /// The page of an item; a form without the fields of “what it is” shows those that are kept.
    fn of(frame: Frame, form: Form, kept: &KeptItem, show: &Show, books: Books) -> Self {
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
        for (name, value) in [("pack", "1"), ("supply_from", &clock::today().to_string())] {
            if !form.has(name) {
                form.add(name, value);
            }
        }
        if !form.has("priced_by") {
            form.add("priced_by", kept.priced_by.to_string());
        }
        if !form.has("own_article") {
            form.add("own_article", kept.article.clone());
        }
        let (doubtful, doubtful_supply) = (form.has("doubtful"), form.has("doubtful_supply"));
        Self {
            frame: frame.at(Room::Rates),
            doubtful,
            form,
            title: item.name.clone(),
            action: paths::of_item(paths::ITEM, &item.code),
            kinds: Vec::new(),
            kind: String::new(),
            sheet: Sheet::of_fields(&fields, &document, show.hand()),
            kept: Some(Kept { doubtful_supply, ..Kept::of(kept, show, &books) }),
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
            doubtful: false,
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
            article: "A <b>".into(),
            priced_by: PricedBy::Supplier("Ann <b>".into()),
        };
        let day = kept.item.from;
        let supply = Supply {
            supplier: "Ann <b>".into(),
            article: "9 <b>".into(),
            pack: rust_decimal::Decimal::TEN,
            lead_days: 3,
            price: Money::ZERO,
            from: day,
            sizes: Sizes::of(&kept.item.goods),
        };
        let rate = DatedPrice {
            from: day,
            price: Money::ZERO,
            sizes: None,
            supplier: None,
            undone: false,
            entered_at: jiff::Timestamp::UNIX_EPOCH,
            entered_by: "Ann <b>".into(),
        };
        let other = DatedPrice { supplier: Some("Ann <b>".into()), undone: true, ..rate.clone() };
        let books = Books { today: day, history: vec![rate, other], supplies: vec![supply] };
        let mut wrong = Form::filled([("price", "<b>")]);
        wrong.wrong("price", "Price before tax", "“<b>” is no amount.");
        let mut pages = vec![Self::of(nobody, wrong, &kept, &show, books)];
        for (kind, _) in item_form::KINDS {
            pages.push(Self::new(ann.clone(), Form::default(), &blank(kind), &show));
        }
        pages
    }
}
