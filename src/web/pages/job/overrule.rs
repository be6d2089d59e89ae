//! One derived value replaced by hand, with a reason.

use askama::Template;
use axum::{Router, extract::State, http::StatusCode, response::Response, routing::get};
use serde::Deserialize;

use super::{Head, Tab, desk::Desk, details, keep, unbuilt::built};
use crate::{
    domain::{
        estimate::Estimate,
        measure::{Money, read_money, read_number},
        shop::{Goods, choose, shortfalls},
        trailer::{Offer, Overruled},
    },
    storage::{By, JobId},
    web::{
        AppState, Error, Result, clock,
        extract::{Path, Query},
        form::Form,
        frame::{Frame, Room},
        pages, paths,
        session::see_other,
        show::Show,
    },
};

const NOTHING: Error = Error::NotFound("There is nothing of this name that can be set by hand.");

#[derive(Template)]
#[template(path = "web/job/overrule.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    form: Form,
    key: String,
    value: Derived,
    current: Option<Overruled>,
    /// What stood there when the form was opened.
    was: String,
    back: String,
}

/// A derived value, as it would be without anybody's hand.
struct Derived {
    what: String,
    shown: String,
    unit: String,
    /// Items to choose from, for a part.
    options: Vec<(String, String)>,
    tab: Tab,
}

#[derive(Debug, Deserialize)]
struct Asked {
    #[serde(default)]
    key: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::OVERRULE, get(show).post(set))
}

async fn show(
    State(state): State<AppState>,
    frame: Frame,
    Path(job): Path<JobId>,
    Query(Asked { key }): Query<Asked>,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let form = match desk.variant.offer.overruled.get(&key) {
        Some(by_hand) => Form::filled([("value", &by_hand.value), ("reason", &by_hand.reason)]),
        None => Form::default(),
    };
    render(frame, &desk, form, key, StatusCode::OK).await
}

async fn set(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>, mut form: Form) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let key = form.value("key").to_owned();
    let wanted = match form.value("action") {
        "drop" => None,
        _ => Some(read(&mut form, &key, &desk.show)),
    };
    let (Some(actor), true) = (form.actor(&frame), form.is_right()) else {
        return render(frame, &desk, form, key, StatusCode::UNPROCESSABLE_ENTITY).await;
    };
    let derived = derived_of(&desk, &frame, &key).await?;
    let by = By { who: &actor.signature(), at: clock::now() };
    let (was, opened_with_it) = (form.value("was").to_owned(), form.has("was"));
    let kept = keep::amend(&state, job, by, |offer| {
        if opened_with_it && was != trace(offer, &key) {
            return Err(offer.overruled.get(&key).cloned());
        }
        match &wanted {
            Some(by_hand) => offer.overruled.insert(key.clone(), by_hand.clone()),
            None => offer.overruled.remove(&key),
        };
        Ok(())
    });
    match kept.await? {
        Ok(()) => Ok(see_other(&derived.map_or(Tab::Price, |value| value.tab).path(&job), &actor)),
        Err(now) => {
            let now = now.map_or_else(
                || "it is not set by hand any more".to_owned(),
                |now| format!("it is now “{}”, because: {}", now.value, now.reason),
            );
            form.wrong_altogether(format!(
                "Somebody else changed this meanwhile: {now}. What you typed stands below; send it again to keep yours."
            ));
            let desk = Desk::open(&state, job).await?;
            render(frame, &desk, form, key, StatusCode::CONFLICT).await
        }
    }
}

/// What stands in the offer for a key, to tell whether it moved.
fn trace(offer: &Offer, key: &str) -> String {
    offer.overruled.get(key).map_or_else(String::new, |by_hand| format!("{}\n{}", by_hand.value, by_hand.reason))
}

/// The value and the reason, as typed.
fn read(form: &mut Form, key: &str, show: &Show) -> Overruled {
    let reason = details::text(form, "reason", "Reason", true);
    let text = details::line(form, "value", "Instead", true);
    if form.fault("value").is_some() || key.starts_with("part/") {
        return Overruled { value: text, reason };
    }
    let read = if key.starts_with("price/") {
        read_money(&text, &show.money)
            .map(|amount| (amount < Money::ZERO, text.clone()))
            .map_err(|fault| fault.to_string())
    } else {
        read_number(&text).map(|value| (value.is_sign_negative(), value.to_string())).map_err(|fault| fault.to_string())
    };
    let value = match read {
        Ok((false, value)) => value,
        Ok((true, _)) => {
            form.wrong("value", "Instead", format!("“{text}” is negative: type 0 or more."));
            text
        }
        Err(fault) => {
            form.wrong("value", "Instead", format!("{fault}."));
            text
        }
    };
    Overruled { value, reason }
}

/// The derived value of a key; none where there is no such value now, or nothing can be worked out.
async fn derived_of(desk: &Desk, frame: &Frame, key: &str) -> Result<Option<Derived>> {
    Ok(match built(desk, frame, Tab::Price).await? {
        Ok(estimate) => Derived::of(&estimate, desk, key),
        Err(_) => None,
    })
}

async fn render(frame: Frame, desk: &Desk, mut form: Form, key: String, status: StatusCode) -> Result<Response> {
    let current = desk.variant.offer.overruled.get(&key).cloned();
    let value = match (derived_of(desk, &frame, &key).await?, &current) {
        (Some(value), _) => value,
        // Kept for a value that is not there now: it can still be seen and dropped.
        (None, Some(_)) => Derived {
            what: key.clone(),
            shown: "nothing of this name now".into(),
            unit: String::new(),
            options: Vec::new(),
            tab: Tab::Price,
        },
        (None, None) => return Err(NOTHING),
    };
    let was = trace(&desk.variant.offer, &key);
    form.set("was", was.clone());
    let back = value.tab.path(&desk.job.id);
    let head = desk.head(value.tab);
    pages::page(status, &Page { frame: frame.at(Room::Jobs), head, form, key, value, current, was, back })
}

impl Derived {
    fn of(estimate: &Estimate, desk: &Desk, key: &str) -> Option<Self> {
        let show = &desk.show;
        let (kind, rest) = key.split_once('/')?;
        match kind {
            "part" => {
                let part = &estimate.take_off.parts.iter().find(|demand| demand.part.need.key == rest)?.part;
                let by_rule = choose(&desk.shop.rates, part.need.clone(), None).item;
                Some(Self {
                    what: capital(part.need.class.label()),
                    shown: by_rule
                        .map_or_else(|| "nothing will do".into(), |item| format!("{} ({})", item.name, item.code)),
                    unit: String::new(),
                    options: options(desk, &part.need),
                    tab: Tab::Parts,
                })
            }
            "hours" => {
                let line = estimate.hours.line(rest)?;
                let hours = line.derived.unwrap_or(line.hours);
                Some(Self {
                    what: line.operation.clone(),
                    shown: format!("{} h", show.number(hours, 2)),
                    unit: "hours".into(),
                    options: Vec::new(),
                    tab: Tab::Hours,
                })
            }
            _ => {
                let line = estimate.build_up.line(if kind == "price" { rest } else { key })?;
                let amount = show.money(line.derived.unwrap_or(line.amount));
                let is_price = kind == "price";
                let quantity =
                    line.quantity.map_or_else(String::new, |many| format!("{} {}", many.normalize(), line.unit));
                Some(Self {
                    what: line.text.clone(),
                    shown: if is_price { amount } else { quantity },
                    unit: if is_price { show.money.currency_code.clone() } else { line.unit.clone() },
                    options: Vec::new(),
                    tab: Tab::Price,
                })
            }
        }
    }
}

/// Every item of the class: those that do, then those that fall short, which says so.
fn options(desk: &Desk, need: &crate::domain::shop::PartNeed) -> Vec<(String, String)> {
    let (mut will_do, mut short) = (Vec::new(), Vec::new());
    for item in desk.shop.rates.items.iter().filter(|item| !item.retired) {
        let Goods::Part { class, attributes, .. } = &item.goods else { continue };
        if *class != need.class {
            continue;
        }
        let price = desk.show.money(item.price);
        if shortfalls(&need.requirements, attributes).is_empty() {
            will_do.push((item.code.clone(), format!("{} ({}), {price}", item.name, item.code)));
        } else {
            short.push((item.code.clone(), format!("{} ({}), {price}: falls short", item.name, item.code)));
        }
    }
    will_do.extend(short);
    will_do
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
