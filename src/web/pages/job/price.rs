//! The price: its build-up for the shop's eyes, what is set by hand, what is missing, and the checks beside it.

use askama::Template;
use axum::{
    Router,
    extract::State,
    response::Response,
    routing::{get, post},
};

use super::{
    Head, Tab,
    desk::{Desk, Worked},
    details,
    hours::ByHand,
    keep, spec_form,
    unbuilt::built,
    view::{Checks, Figure, Gap, Line, WorkingView},
};
use crate::{
    domain::{
        estimate::Estimate,
        nesting::cutting::Cutting,
        pricing::{BuildUp, Finding, FindingKind, PriceLine, Step},
        trailer::{Offer, Spec},
        working::Working,
    },
    storage::{By, JobId, Save},
    web::{
        AppState, Error, Result, clock,
        extract::Path,
        form::Form,
        forms::{
            Action, Sheet,
            spec::{self, Part},
        },
        frame::{Frame, Room},
        pages::{self, conflict},
        paths,
        session::see_other,
        show::Show,
    },
};

#[derive(Template)]
#[template(path = "web/job/price.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    form: Form,
    figures: Vec<Figure>,
    gaps: Vec<Gap>,
    /// What of the rack the price counts on; empty where prices are made with new stock.
    counted: String,
    checks: Checks,
    groups: Vec<Group>,
    totals: Vec<Line>,
    workings: Vec<WorkingView>,
    customer_lines: Vec<Line>,
    customer_totals: Vec<Line>,
    sheet: Sheet,
    has_options: bool,
    version: i64,
    opened: String,
}

/// The lines of one step of the build-up.
struct Group {
    name: String,
    total: String,
    lines: Vec<Row>,
}

impl Group {
    /// How much there is to open.
    fn says(&self) -> String {
        let lines = if self.lines.len() == 1 { "1 line".to_owned() } else { format!("{} lines", self.lines.len()) };
        match self.lines.iter().filter(|line| line.overruled.is_some()).count() {
            0 => lines,
            by_hand => format!("{lines}, {by_hand} by hand"),
        }
    }
}

struct Row {
    /// `price/steel/rhs 60x40x3 S235`; empty where the line is set elsewhere.
    key: String,
    text: String,
    note: String,
    quantity: String,
    rate: String,
    amount: String,
    overruled: Option<ByHand>,
    working: Option<WorkingView>,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::PRICE, get(show).post(save)).route(paths::ANSWER, post(answer))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let form = spec::fill(Part::Offer, &desk.spec(), desk.show.hand());
    match built(&desk, &frame, Tab::Price).await? {
        Ok(estimate) => render(frame, &desk, form, &desk.spec(), &estimate),
        Err(unbuilt) => Ok(unbuilt),
    }
}

/// Keeps what is set by hand.
async fn save(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>, form: Form) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let spec_form::Typed { mut form, action, spec } = spec_form::read(Part::Offer, &form, &desk);
    let worked = desk.work_out_as(spec.clone()).await?;
    let is_list = matches!(action, Action::Add(_) | Action::Remove(_));
    if let (Err(faults), false) = (&worked, is_list) {
        spec_form::note_all(Part::Offer, &mut form, faults);
    }
    let actor = if is_list { None } else { form.actor(&frame) };
    let (Some(actor), true) = (actor, form.is_right()) else {
        return again(frame, &desk, form, &spec, worked).await;
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    let read = form.value("version").parse().unwrap_or(desk.variant.version);
    let opened = spec_form::read_opened::<Offer>(&form);
    match keep::offer(&state, &desk, read, &spec.offer, opened.as_ref(), by).await? {
        Save::Saved(_) => Ok(see_other(&Tab::Price.path(&job), &actor)),
        Save::Missing => Err(Error::NotFound("There is no such job.")),
        Save::Conflict(found) => {
            let theirs = Spec { offer: found.theirs.clone(), ..desk.spec() };
            let opened = opened.map(|offer| Spec { offer, ..desk.spec() });
            let sides = spec_form::Sides { theirs: &theirs, yours: &spec, opened: opened.as_ref() };
            let both = spec_form::conflict_of(Part::Offer, &desk, &found, &sides, Tab::Price);
            conflict::show(frame.at(Room::Jobs), form, both)
        }
    }
}

/// The page with the form as typed; where nothing can be worked out with it, the figures are those of the kept offer.
async fn again(frame: Frame, desk: &Desk, form: Form, spec: &Spec, worked: Worked) -> Result<Response> {
    match worked {
        Ok(estimate) => render(frame, desk, form, spec, &estimate),
        Err(_) => match built(desk, &frame, Tab::Price).await? {
            Ok(estimate) => render(frame, desk, form, spec, &estimate),
            Err(unbuilt) => Ok(unbuilt),
        },
    }
}

/// Keeps a written answer to a failing check; an empty one is taken back.
async fn answer(
    State(state): State<AppState>,
    frame: Frame,
    Path(job): Path<JobId>,
    mut form: Form,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let key = form.value("key").to_owned();
    let text = details::text(&mut form, "answer", "Written answer", false);
    let estimate = match built(&desk, &frame, Tab::Price).await? {
        Ok(estimate) => estimate,
        Err(unbuilt) => return Ok(unbuilt),
    };
    if !estimate.checks.iter().any(|check| check.key == key && !check.blocks_issue) {
        form.wrong_altogether("This check does not fail any more, so it takes no answer.");
    }
    let (Some(actor), true) = (form.actor(&frame), form.is_right()) else {
        let mut shown = spec::fill(Part::Offer, &desk.spec(), desk.show.hand());
        for fault in form.faults() {
            shown.wrong(fault.field.clone(), fault.label.clone(), fault.message.clone());
        }
        for field in ["key", "answer"] {
            shown.add(field, form.value(field));
        }
        return render(frame, &desk, shown, &desk.spec(), &estimate);
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    keep::amend(&state, job, by, |offer| {
        match text.as_str() {
            "" => offer.answers.remove(&key),
            text => offer.answers.insert(key.clone(), text.to_owned()),
        };
        Ok::<(), std::convert::Infallible>(())
    })
    .await?
    .unwrap_or_else(|never| match never {});
    Ok(see_other(&format!("{}#checks-title", Tab::Price.path(&job)), &actor))
}

fn render(frame: Frame, desk: &Desk, form: Form, spec: &Spec, estimate: &Estimate) -> Result<Response> {
    let page = Page::of(frame.at(Room::Jobs), desk, form, spec, estimate);
    pages::page(page.form.status(), &page)
}

impl Page {
    fn of(frame: Frame, desk: &Desk, form: Form, spec: &Spec, estimate: &Estimate) -> Self {
        let (show, build_up) = (&desk.show, &estimate.build_up);
        let mut checks = Checks::of(&estimate.checks, &estimate.spec, &desk.job.id, show);
        // An answer that could not be kept comes back as typed.
        if let Some(check) = checks.find(form.value("key")).filter(|_| form.has("key")) {
            check.answer = form.value("answer").to_owned();
            check.fault = form.fault("answer").map(str::to_owned);
        }
        let opened = if form.has(spec_form::OPENED) {
            form.value(spec_form::OPENED).to_owned()
        } else {
            spec_form::opened(&desk.variant.offer)
        };
        let (customer_lines, customer_totals) = customer_view(build_up, show);
        Self {
            frame,
            head: desk.head(Tab::Price),
            figures: figures(desk, build_up, &estimate.price_working()),
            gaps: build_up.findings.iter().map(|finding| gap(finding, desk)).collect(),
            counted: counted(desk, &estimate.cutting),
            checks,
            groups: groups(build_up, show),
            totals: totals(build_up, show),
            workings: WorkingView::all(&build_up.workings(), show),
            customer_lines,
            customer_totals,
            has_options: !desk.variant.offer.options.is_empty(),
            sheet: spec_form::sheet(Part::Offer, spec, desk, &form),
            version: form.value("version").parse().unwrap_or(desk.variant.version.0),
            opened,
            form,
        }
    }
}

#[cfg(test)]
impl Page {
    pub(super) fn sample(desk: &Desk, estimate: &Estimate) -> Self {
        let [nobody, _] = Frame::samples();
        let form = spec::fill(Part::Offer, &desk.spec(), desk.show.hand());
        Self::of(nobody, desk, form, &desk.spec(), estimate)
    }
}

fn figures(desk: &Desk, build_up: &BuildUp, total: &Working) -> Vec<Figure> {
    let show = &desk.show;
    let figure = |key, words: &str, value: String, note: String| Figure::plain(key, words, value, note);
    let margin = build_up.margin_percent().map_or_else(|| "–".to_owned(), |margin| format!("{} %", margin.normalize()));
    let mark_up = build_up.mark_up_percent().map_or_else(String::new, |up| format!("{} % on cost", up.normalize()));
    let margin_figure = match build_up.workings().first() {
        Some(working) => figure("margin", "Margin on price", margin, mark_up).with(working, show),
        None => figure("margin", "Margin on price", margin, mark_up),
    };
    let deposit = build_up.deposit(&desk.shop.policy, desk.shop.currency.decimals);
    let earliest = build_up.days.collection(desk.today, &desk.shop.policy);
    vec![
        figure("total", "To pay", show.money(build_up.total()), "with tax".into()).with(total, show),
        figure("before-tax", "Before tax", show.money(build_up.before_tax()), String::new()),
        figure("each", "One trailer", show.money(build_up.each()), "before tax".into()),
        figure("cost", "Cost", show.money(build_up.cost()), String::new()),
        margin_figure,
        figure("profit", "Left over cost", show.money(build_up.profit()), String::new())
            .with(&build_up.profit_working(), show),
        figure("deposit", "Deposit", show.money(deposit), String::new())
            .with(&build_up.deposit_working(&desk.shop.policy, desk.shop.currency.decimals), show),
        figure("earliest", "Ready at the earliest", show.day(earliest), "if ordered today".into()),
    ]
}

/// What of the rack the price counts on, in words, where the shop's settings let it.
fn counted(desk: &Desk, cutting: &Cutting) -> String {
    if !desk.shop.policy.counts_on_rack {
        return String::new();
    }
    match on_rack(cutting, &desk.show) {
        None => "Prices may count on the rack by the shop’s settings, but nothing that lies there serves this job: the price is that of new stock.".into(),
        Some(pieces) => format!(
            "The price counts on {pieces}. They are not reserved before the customer has accepted. If one of them is gone at release, an issued \
             price stays as it is, and the release shows what the difference costs the shop."
        ),
    }
}

/// The pieces of the rack that plans take, in words: how many, which, and their worth.
pub fn on_rack(cutting: &Cutting, show: &Show) -> Option<String> {
    let tags = cutting.rack_tags();
    let many = match tags.len() {
        0 => return None,
        1 => "1 piece".to_owned(),
        many => format!("{many} pieces"),
    };
    Some(format!("{many} of the rack, worth {} ({})", show.money(cutting.cost().from_rack), tags.join(", ")))
}

fn groups(build_up: &BuildUp, show: &Show) -> Vec<Group> {
    let group = |(step, sum)| Group {
        name: capital(Step::label(step)),
        total: show.money(sum),
        lines: build_up.of_step(step).map(|line| Row::of(line, build_up, show)).collect(),
    };
    build_up.steps().into_iter().map(group).collect()
}

fn totals(build_up: &BuildUp, show: &Show) -> Vec<Line> {
    let line =
        |text: &str, amount, note: &str| Line { text: text.into(), note: note.into(), amount: show.money(amount) };
    vec![
        line("Cost", build_up.cost(), "to contingency"),
        line("Trailers", build_up.trailers(), "with margin"),
        line("Before tax", build_up.before_tax(), ""),
        line("To pay", build_up.total(), "with tax"),
    ]
}

/// Lines and totals as the customer reads them.
pub fn customer_view(build_up: &BuildUp, show: &Show) -> (Vec<Line>, Vec<Line>) {
    let price = &build_up.customer;
    let line = |text: &str, amount| Line { text: text.to_owned(), note: String::new(), amount: show.money(amount) };
    let lines = price.lines.iter().map(|of| line(&of.text, of.amount)).collect();
    let mut totals = vec![line("Before tax", price.before_tax), line(&price.tax_name, price.tax)];
    if !price.rounding.0.is_zero() {
        totals.push(line("Rounding", price.rounding));
    }
    totals.push(line("Total", price.total));
    (lines, totals)
}

impl Row {
    fn of(line: &PriceLine, build_up: &BuildUp, show: &Show) -> Self {
        let overruled = line.overruled.as_ref().map(|reason| ByHand {
            derived: line.derived.map_or_else(|| "nothing".to_owned(), |amount| show.money(amount)),
            reason: reason.clone(),
        });
        let is_derived = line.step <= Step::MarkUp;
        let dated = line.price_date.map(|day| format!("price of {}", show.day(day)));
        let note: Vec<String> =
            [Some(line.how.clone()), dated].into_iter().flatten().filter(|part| !part.is_empty()).collect();
        Self {
            key: if is_derived { format!("price/{}", line.key) } else { String::new() },
            text: line.text.clone(),
            note: note.join("; "),
            quantity: line.quantity.map_or_else(String::new, |many| show.with_unit(many.normalize(), &line.unit)),
            rate: line.rate.map_or_else(String::new, |rate| show.exact_money(rate)),
            amount: show.money(line.amount),
            overruled,
            working: build_up.working(line).map(|working| WorkingView::of(&working, show)),
        }
    }
}

/// What a finding says, and where it can be mended.
pub fn gap(finding: &Finding, desk: &Desk) -> Gap {
    let job = &desk.job.id;
    let (path, mend) = match finding.kind {
        FindingKind::Missing if finding.key.starts_with("part/") => {
            (paths::overrule(job, &finding.key), "Pick by hand")
        }
        FindingKind::Missing => (paths::NEW_ITEM.to_owned(), "Add it to the rate book"),
        FindingKind::OldPrice if desk.shop.rates.items.iter().any(|item| item.code == finding.key) => {
            (paths::of_item(paths::ITEM, &finding.key), "Look at the price")
        }
        FindingKind::OldPrice => (paths::RATES.to_owned(), "Look at the rate book"),
        FindingKind::LowMargin => (format!("{}#offer", Tab::Price.path(job)), "Set the margin"),
        FindingKind::Unread | FindingKind::Idle => (paths::overrule(job, &finding.key), "Look at it"),
    };
    Gap { why: finding.says.clone(), path, mend }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
