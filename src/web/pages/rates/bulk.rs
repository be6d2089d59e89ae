//! Prices changed by per cent: every line is shown before anything is changed, and one press takes the whole change back.

use askama::Template;
use axum::{
    Router,
    extract::State,
    response::Response,
    routing::{get, post},
};
use rust_decimal::Decimal;

use super::{
    from_day,
    open_quotes::{self, Effect},
};
use crate::{
    domain::{
        measure::read_percent,
        shop::{ItemClass, Policy, Sizes, Supply, jump},
    },
    storage::{Batch, BulkChange, BulkLine, BulkScope, By, ListEntry, Undone, Version},
    web::{
        AppState, Error, Result, clock,
        extract::Path,
        form::Form,
        frame::{Frame, Room},
        pages, paths,
        session::see_other,
        show::Show,
    },
};

/// So many changes are shown.
const LATEST: u32 = 12;

#[derive(Template)]
#[template(path = "web/rates/bulk.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    suppliers: Vec<(String, String)>,
    lines: Vec<Line>,
    effect: Option<Effect>,
    batches: Vec<Made>,
}

/// A price before and after.
struct Line {
    code: String,
    name: String,
    supplier: String,
    before: String,
    after: String,
    unit: &'static str,
    /// Whether the item is to be changed.
    chosen: bool,
    /// Only the first line of an item has its box to tick.
    is_first: bool,
    doubtful: bool,
    /// Code and version of what is shown, so that nothing else is changed.
    seen: String,
}

/// A change that was made.
struct Made {
    id: i64,
    what: String,
    from: String,
    at: String,
    who: String,
    prices: u64,
    undoable: bool,
    undone: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::BULK, get(ask).post(change)).route(paths::BULK_UNDO, post(undo))
}

async fn ask(State(state): State<AppState>, frame: Frame) -> Result<Response> {
    let form = Form::filled([("class", ItemClass::HollowSection.word()), ("from", &clock::today().to_string())]);
    render(&state, frame, form, Vec::new(), None).await
}

async fn change(State(state): State<AppState>, frame: Frame, mut form: Form) -> Result<Response> {
    let (scope, percent, from) = (scope(&mut form), percent(&mut form), from_day(&mut form));
    let (Some(mut scope), Some(percent), true) = (scope, percent, form.is_right()) else {
        return render(&state, frame, form, Vec::new(), None).await;
    };
    let shop = state.shop(clock::today()).await?;
    let show = Show::of(&shop);
    let action = form.value("action").to_owned();
    let all = state.store.bulk_lines(&scope, from).await?;
    if action != "preview" {
        scope.codes = form.values("only").map(str::to_owned).collect();
    }
    let ticked = (action != "preview").then_some(scope.codes.as_slice());
    let lines = lines(&all, percent, from, ticked, (&show, &shop.policy));
    if lines.is_empty() {
        form.wrong("class", "Class", "No such item has a price on that day.");
        return render(&state, frame, form, lines, None).await;
    }
    if !lines.iter().any(|line| line.chosen) {
        form.wrong_altogether("No item is ticked: tick those that change.");
        return render(&state, frame, form, lines, None).await;
    }
    match action.as_str() {
        "quotes" => {
            let is_chosen = |line: &&BulkLine| scope.codes.contains(&line.kept.item.code);
            let entries: Vec<ListEntry> = all.iter().filter(is_chosen).map(|line| entry(line, percent, from)).collect();
            let book = open_quotes::with_changes(&state, from, &entries).await?;
            let effect = open_quotes::effect(&state, book, 1).await?;
            render(&state, frame, form, lines, Some(effect)).await
        }
        "apply" => {
            let Some(actor) = form.actor(&frame) else { return render(&state, frame, form, lines, None).await };
            let by = By { who: &actor.signature(), at: clock::now() };
            match state.store.bulk_change(&scope, percent, from, &seen(&form, &scope), by).await? {
                BulkChange::Done(_) => Ok(see_other(&format!("{}#changes", paths::BULK), &actor)),
                BulkChange::Changed(codes) => {
                    form.wrong_altogether(format!(
                        "Somebody changed these items meanwhile: {}. Nothing was changed yet; look at the lines again.",
                        codes.join(", ")
                    ));
                    render(&state, frame, form, lines, None).await
                }
            }
        }
        _ => render(&state, frame, form, lines, None).await,
    }
}

async fn undo(State(state): State<AppState>, frame: Frame, Path(batch): Path<i64>, mut form: Form) -> Result<Response> {
    let Some(actor) = form.actor(&frame) else { return render(&state, frame, form, Vec::new(), None).await };
    let by = By { who: &actor.signature(), at: clock::now() };
    match state.store.undo_batch(batch, by).await? {
        Undone::Done(_) => return Ok(see_other(&format!("{}#changes", paths::BULK), &actor)),
        Undone::Missing => return Err(Error::NotFound("There is no such change of prices.")),
        Undone::Already => form.wrong_altogether("This change was taken back before; nothing was done."),
        Undone::Newer(codes) => form.wrong_altogether(format!(
            "Newer prices stand on {}: nothing was taken back. Enter the prices that shall hold there.",
            codes.join(", ")
        )),
    }
    render(&state, frame, form, Vec::new(), None).await
}

fn scope(form: &mut Form) -> Option<BulkScope> {
    let (word, supplier) = (form.value("class").to_owned(), form.value("supplier").trim().to_owned());
    let class = ItemClass::from_word(&word);
    if class.is_none() && !word.is_empty() {
        form.wrong("class", "Class", "Choose a class of the list.");
        return None;
    }
    Some(BulkScope { class, supplier: (!supplier.is_empty()).then_some(supplier), codes: Vec::new() })
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

fn seen(form: &Form, scope: &BulkScope) -> Vec<(String, Version)> {
    let pairs = form.values("seen").filter_map(|seen| seen.rsplit_once(':'));
    let pairs = pairs.filter_map(|(code, version)| Some((code.to_owned(), version.parse().ok()?)));
    pairs.filter(|(code, _)| scope.codes.contains(code)).collect()
}

/// What a line would write.
fn entry(line: &BulkLine, percent: Decimal, from: jiff::civil::Date) -> ListEntry {
    let changed = line.changed(percent);
    let version = line.kept.version.0;
    match &line.supply {
        None => ListEntry::Change(version, crate::domain::shop::Item { from, ..changed }),
        Some(supply) => {
            let sizes = supply.sizes.as_ref().and(Sizes::of(&changed.goods));
            let supply = Supply { price: changed.price, from, sizes, ..supply.clone() };
            ListEntry::Supply(version, line.kept.item.code.clone(), supply)
        }
    }
}

fn lines(
    all: &[BulkLine],
    percent: Decimal,
    from: jiff::civil::Date,
    ticked: Option<&[String]>,
    (show, policy): (&Show, &Policy),
) -> Vec<Line> {
    let mut last = "";
    let mut lines = Vec::with_capacity(all.len());
    for line in all {
        let (sold, after) = (line.sold(), line.changed(percent));
        let code = &line.kept.item.code;
        lines.push(Line {
            code: code.clone(),
            name: sold.name.clone(),
            supplier: sold.supplier.clone(),
            before: show.exact_money(sold.price),
            after: show.exact_money(after.price),
            unit: sold.unit.label(),
            chosen: ticked.is_none_or(|codes| codes.contains(code)),
            is_first: last != code,
            doubtful: jump(sold.class, (sold.price, sold.from), (after.price, from), policy).is_some(),
            seen: format!("{code}:{}", line.kept.version),
        });
        last = code;
    }
    lines
}

async fn render(
    state: &AppState,
    frame: Frame,
    form: Form,
    lines: Vec<Line>,
    effect: Option<Effect>,
) -> Result<Response> {
    let batches = state.store.batches(LATEST).await?;
    let show = Show::of(&*state.shop(clock::today()).await?);
    let suppliers = state.store.suppliers().await?;
    let page = Page {
        frame: frame.at(Room::Rates),
        form,
        suppliers: suppliers.into_iter().map(|name| (name.clone(), name)).collect(),
        lines,
        effect,
        batches: batches.iter().map(|batch| Made::of(batch, &show)).collect(),
    };
    pages::page(page.form.status(), &page)
}

impl Page {
    fn classes(&self) -> Vec<(&'static str, &'static str)> {
        [("", "all")].into_iter().chain(ItemClass::WORDS.iter().copied()).collect()
    }

    fn suppliers(&self) -> impl Iterator<Item = (&str, &str)> {
        let named = self.suppliers.iter().map(|(value, text)| (value.as_str(), text.as_str()));
        [("", "all")].into_iter().chain(named)
    }

    fn doubtful(&self) -> usize {
        self.lines.iter().filter(|line| line.doubtful).count()
    }
}

impl Made {
    fn of(batch: &Batch, show: &Show) -> Self {
        let undone = batch.undone.as_ref().map(|(at, who)| format!("taken back on {} by {who}", clock::moment(*at)));
        Self {
            id: batch.id,
            what: batch.what.clone(),
            from: show.day(batch.from),
            at: clock::moment(batch.at),
            who: batch.who.clone(),
            prices: batch.prices,
            undoable: batch.undoable && undone.is_none(),
            undone: undone.unwrap_or_default(),
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
            supplier: "Ann <b>".into(),
            before: "1.00".into(),
            after: "1.08".into(),
            unit: "each",
            chosen: true,
            is_first: true,
            doubtful: true,
            seen: "A:1".into(),
        };
        let made = |undoable| Made {
            id: 3,
            what: "Ann <b>".into(),
            from: "5 Nov 2026".into(),
            at: "5 Nov 2026, 14:05".into(),
            who: "Ann <b>".into(),
            prices: 3,
            undoable,
            undone: if undoable { String::new() } else { "taken back by Ann <b>".into() },
        };
        let mut wrong = Form::filled([("percent", "<b>")]);
        percent(&mut wrong);
        vec![
            Self {
                frame: nobody,
                form: Form::default(),
                suppliers: vec![("Ann <b>".into(), "Ann <b>".into())],
                lines: vec![line],
                effect: Some(Effect::sample()),
                batches: vec![made(true), made(false)],
            },
            Self { frame: ann, form: wrong, suppliers: vec![], lines: vec![], effect: None, batches: vec![made(true)] },
        ]
    }
}
