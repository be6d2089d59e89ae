//! A price list sent as a file: every row's fate is shown before anything is written; what is confirmed is what was shown.

use askama::Template;
use axum::{
    Router,
    extract::{FromRequest, Multipart, Request, State},
    http::StatusCode,
    response::Response,
    routing::get,
};

use super::{
    from_day,
    open_quotes::{self, Effect},
    price_list::{self, COLUMNS, Fate, Known, Row, plain_money},
};
use crate::{
    domain::{form::Hand, quote::sha256_hex, shop::ShopBook},
    storage::{By, KeptItem, ListEntry, Listed, PriceList, Version},
    web::{
        AppState, Error, Result, clock,
        extract::Path,
        form::Form,
        frame::{Frame, Room},
        pages::{self, table_file},
        paths,
        session::see_other,
    },
};

const NONE: Error = Error::NotFound("There is no such price list: it was written, or it waited for more than a week.");
/// So many rows of a kind are shown; the refused ones all are.
const SHOWN: usize = 500;

#[derive(Template)]
#[template(path = "web/rates/price_list.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    /// A list that waits to be confirmed.
    sent: Option<Sent>,
}

struct Sent {
    id: i64,
    file_name: String,
    /// Counts: new, changed, same, refused.
    counts: [usize; 4],
    refused: Vec<Line>,
    changes: Vec<Line>,
    left_out: usize,
    /// Of what would be written, so that nothing else is.
    hash: String,
    effect: Option<Effect>,
}

struct Line {
    line: u64,
    code: String,
    fate: &'static str,
    details: Vec<String>,
    doubtful: bool,
}

pub(super) fn router() -> Router<AppState> {
    Router::new()
        .route(paths::PRICE_LIST, get(ask).post(send))
        .route(paths::PRICE_LIST_SENT, get(look).post(confirm))
        .route(paths::PRICE_LIST_CSV, get(export))
        .route(paths::SAMPLE_CSV, get(sample))
}

async fn ask(frame: Frame) -> Result<Response> {
    let form = Form::filled([("from", clock::today().to_string())]);
    render(frame, form, None)
}

/// Keeps the file that was sent, if it can be read at all, and leads to what its rows would do.
async fn send(State(state): State<AppState>, frame: Frame, request: Request) -> Result<Response> {
    let (mut form, file) = upload(request, &state).await?;
    let from = from_day(&mut form);
    let Some((name, bytes)) = file.filter(|(_, bytes)| !bytes.is_empty()) else {
        form.wrong("file", "File", "No file was chosen, or it is empty.");
        return render(frame, form, None);
    };
    let text = match price_list::text(&bytes) {
        Ok(text) => text,
        Err(says) => {
            form.wrong("file", "File", says);
            return render(frame, form, None);
        }
    };
    let list = PriceList { id: 0, file_name: name, text: text.to_owned(), from };
    if let Err(says) = rows(&state, &list).await? {
        form.wrong("file", "File", says);
        return render(frame, form, None);
    }
    let Some(actor) = form.actor(&frame) else { return Err(Error::SignedOut) };
    let by = By { who: &actor.signature(), at: clock::now() };
    let id = state.store.keep_price_list(&list.file_name, text, from, by).await?;
    Ok(see_other(&paths::price_list(&id), &actor))
}

async fn look(State(state): State<AppState>, frame: Frame, Path(id): Path<i64>) -> Result<Response> {
    let list = state.store.price_list(id).await?.ok_or(NONE)?;
    show(&state, frame, Form::default(), &list, false).await
}

/// Writes the rows that are not refused, if they are still those that were shown; or shows what they do to open quotes.
async fn confirm(State(state): State<AppState>, frame: Frame, Path(id): Path<i64>, mut form: Form) -> Result<Response> {
    let list = state.store.price_list(id).await?.ok_or(NONE)?;
    if form.value("action") == "quotes" {
        return show(&state, frame, form, &list, true).await;
    }
    let Some(actor) = form.actor(&frame) else { return Err(Error::SignedOut) };
    let rows = rows(&state, &list).await?.map_err(Error::internal)?;
    let entries = entries(&rows);
    let moved = "The rate book moved since this was shown. Nothing was written; look at the rows again.";
    if hash(&entries)? != form.value("hash") {
        form.wrong_altogether(moved);
        return show(&state, frame, form, &list, false).await;
    }
    let by = By { who: &actor.signature(), at: clock::now() };
    match state.store.enter_price_list(&list, &entries, by).await? {
        Listed::Done(_) => Ok(see_other(paths::RATES, &actor)),
        Listed::Changed(codes) => {
            form.wrong_altogether(format!("{moved} ({})", codes.join(", ")));
            show(&state, frame, form, &list, false).await
        }
    }
}

/// The whole rate book as a list.
async fn export(State(state): State<AppState>) -> Result<Response> {
    let today = clock::today();
    let shop = state.shop(today).await?;
    let (items, supplies) = (state.store.items(today, None).await?, state.store.supplies(today).await?);
    let money = plain_money(&shop.currency);
    let hand = Hand { units: shop.units, money: &money };
    let text = price_list::write(&Known { items: &items, supplies: &supplies, policy: &shop.policy, hand });
    Ok(table_file::csv(&format!("rates-{today}.csv"), text.map_err(Error::internal)?))
}

/// A few rows of each kind, to start from.
async fn sample() -> Result<Response> {
    let shop = ShopBook::demo();
    let money = plain_money(&shop.currency);
    let kinds = super::item_form::KINDS.map(|(kind, _)| kind);
    let first = |kind: &str| shop.rates.items.iter().find(|item| super::item_form::kind_of(&item.goods) == kind);
    let kept = |item: &crate::domain::shop::Item| KeptItem {
        item: item.clone(),
        version: Version(1),
        changed_at: clock::now(),
        changed_by: String::new(),
        retired_on: None,
        article: String::new(),
        priced_by: Default::default(),
    };
    let items: Vec<_> = kinds.into_iter().filter_map(first).map(kept).collect();
    let hand = Hand { units: shop.units, money: &money };
    let known = Known { items: &items, supplies: &Default::default(), policy: &shop.policy, hand };
    Ok(table_file::csv("sample.csv", price_list::write(&known).map_err(Error::internal)?))
}

/// What each row would do, or what is wrong with the list as a whole.
async fn rows(state: &AppState, list: &PriceList) -> Result<Result<Vec<Row>, String>> {
    let shop = state.shop(clock::today()).await?;
    let (items, supplies) = (state.store.items(list.from, None).await?, state.store.supplies(list.from).await?);
    let (text, from) = (list.text.clone(), list.from);
    // Thousands of rows take a while: not on a thread that serves others.
    let work = move || {
        let money = plain_money(&shop.currency);
        let hand = Hand { units: shop.units, money: &money };
        price_list::read(&text, from, &Known { items: &items, supplies: &supplies, policy: &shop.policy, hand })
    };
    tokio::task::spawn_blocking(work).await.map_err(Error::internal)
}

fn entries(rows: &[Row]) -> Vec<ListEntry> {
    rows.iter().filter_map(|row| row.entry.clone()).collect()
}

fn hash(entries: &[ListEntry]) -> Result<String> {
    Ok(sha256_hex(&serde_json::to_vec(entries).map_err(Error::internal)?))
}

async fn show(state: &AppState, frame: Frame, mut form: Form, list: &PriceList, quotes: bool) -> Result<Response> {
    let rows = match rows(state, list).await? {
        Ok(rows) => rows,
        Err(says) => {
            form.wrong_altogether(says);
            return render(frame, form, None);
        }
    };
    let entries = entries(&rows);
    let effect = if quotes {
        let book = open_quotes::with_changes(state, list.from, &entries).await?;
        Some(open_quotes::effect(state, book, 1).await?)
    } else {
        None
    };
    let sent = Sent::of(list, &rows, hash(&entries)?, effect);
    render(frame, form, Some(sent))
}

fn render(frame: Frame, form: Form, sent: Option<Sent>) -> Result<Response> {
    pages::page(form.status(), &Page { frame: frame.at(Room::Rates), form, sent })
}

/// The fields and the file of a form that sends one.
async fn upload(request: Request, state: &AppState) -> Result<(Form, Option<(String, Vec<u8>)>)> {
    let unreadable = |_| Error::Unreadable("The file could not be read. Nothing was changed.".into());
    let mut parts = Multipart::from_request(request, state).await.map_err(|_| Error::NotAForm)?;
    let (mut form, mut file) = (Form::default(), None);
    while let Some(part) = parts.next_field().await.map_err(too_large)? {
        let name = part.name().unwrap_or_default().to_owned();
        if name == "file" {
            let file_name: String =
                part.file_name().unwrap_or("list.csv").chars().filter(|c| !c.is_control()).take(120).collect();
            let bytes = part.bytes().await.map_err(too_large)?;
            file = Some((file_name, bytes.to_vec()));
        } else {
            let value = part.text().await.map_err(unreadable)?;
            form.add(name, value);
        }
    }
    Ok((form, file))
}

fn too_large(fault: axum::extract::multipart::MultipartError) -> Error {
    if fault.status() == StatusCode::PAYLOAD_TOO_LARGE {
        Error::TooLarge
    } else {
        Error::Unreadable("The file could not be read. Nothing was changed.".into())
    }
}

impl Page {
    fn columns(&self) -> &'static [(&'static str, &'static str)] {
        &COLUMNS
    }
}

impl Sent {
    fn of(list: &PriceList, rows: &[Row], hash: String, effect: Option<Effect>) -> Self {
        let count = |is: fn(&Fate) -> bool| rows.iter().filter(|row| is(&row.fate)).count();
        let counts = [
            count(|fate| matches!(fate, Fate::New)),
            count(|fate| matches!(fate, Fate::Changed(_))),
            count(|fate| matches!(fate, Fate::Same)),
            count(|fate| matches!(fate, Fate::Refused(_))),
        ];
        let refused = rows.iter().filter(|row| matches!(row.fate, Fate::Refused(_))).map(Line::of).collect();
        let others = rows.iter().filter(|row| !matches!(row.fate, Fate::Refused(_)));
        Self {
            id: list.id,
            file_name: list.file_name.clone(),
            counts,
            refused,
            changes: others.clone().take(SHOWN).map(Line::of).collect(),
            left_out: others.count().saturating_sub(SHOWN),
            hash,
            effect,
        }
    }

    fn writes(&self) -> usize {
        self.counts[0].saturating_add(self.counts[1])
    }
}

impl Line {
    fn of(row: &Row) -> Self {
        let (fate, details) = match &row.fate {
            Fate::New => ("new", Vec::new()),
            Fate::Changed(changes) => (
                "changed",
                changes.iter().map(|[field, before, after]| format!("{field}: {before} → {after}")).collect(),
            ),
            Fate::Same => ("same", Vec::new()),
            Fate::Refused(faults) => {
                ("refused", faults.iter().map(|[field, says]| format!("{field}: {says}")).collect())
            }
        };
        Self { line: row.line, code: row.code.clone(), fate, details, doubtful: row.doubtful.is_some() }
    }
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [_, ann] = Frame::samples();
        let list = PriceList {
            id: 4,
            file_name: "Ann <b>".into(),
            text: String::new(),
            from: jiff::civil::date(2026, 11, 25),
        };
        let row = |fate| Row { line: 2, code: "Ann <b>".into(), fate, doubtful: None, entry: None };
        let rows = [
            row(Fate::New),
            row(Fate::Same),
            row(Fate::Changed(vec![["name".into(), "Ann <b>".into(), "Bo".into()]])),
            row(Fate::Refused(vec![["price".into(), "“Ann <b>” is no number".into()]])),
        ];
        let sent = Sent::of(&list, &rows, "ab".into(), Some(Effect::sample()));
        let mut wrong = Form::filled([("from", "<b>")]);
        wrong.wrong("file", "File", "“Ann <b>”");
        vec![
            Self { frame: ann.clone(), form: wrong, sent: None },
            Self { frame: ann, form: Form::default(), sent: Some(sent) },
        ]
    }
}
