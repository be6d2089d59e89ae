//! The designs of a job side by side. One of them is chosen: the other pages show it, and quotes are issued from it. Another may become
//! an option of its offer.

use askama::Template;
use axum::{Router, extract::State, response::Response, routing::get};

use super::{
    Head, Tab,
    desk::{Desk, spec_of},
    keep,
    view::faults_of,
};
use crate::{
    domain::trailer::{Spec, option_to, put_option},
    storage::{By, JobId, NewVariant, Save, Variant, VariantId},
    web::{
        AppState, Error, Result, clock,
        extract::Path,
        form::Form,
        frame::{Frame, Room},
        pages, paths,
        session::{Actor, see_other},
    },
};

const GONE: &str = "There is no such variant any more.";

#[derive(Template)]
#[template(path = "web/job/variants.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    form: Form,
    rows: Vec<Row>,
}

struct Row {
    id: String,
    name: String,
    chosen: bool,
    /// Under this name it is an option already.
    offered: bool,
    /// Why there are no figures.
    unbuilt: String,
    figures: Option<Figures>,
}

struct Figures {
    price: String,
    difference: String,
    empty_mass: String,
    payload_left: String,
    failing: usize,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::VARIANTS, get(show).post(act))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    render(&state, frame, &desk, Form::default()).await
}

async fn act(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>, mut form: Form) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let Some(actor) = form.actor(&frame) else { return render(&state, frame, &desk, form).await };
    let by = By { who: &actor.signature(), at: clock::now() };
    let done = match form.value("action") {
        "choose" => on_another(&mut form, async |id| Ok(state.store.choose_variant(id, by).await?)).await?,
        "drop" => on_another(&mut form, async |id| Ok(state.store.drop_variant(id, by).await?)).await?,
        "offer" => return offer(&state, frame, &desk, form, &actor).await,
        _ => keep_copy(&state, &desk, &mut form, by).await?,
    };
    if !done {
        return render(&state, frame, &desk, form).await;
    }
    Ok(see_other(&Tab::Variants.path(&job), &actor))
}

/// Does something with the variant that the form names.
async fn on_another(form: &mut Form, act: impl AsyncFnOnce(VariantId) -> Result<bool>) -> Result<bool> {
    let done = match form.value("variant").parse() {
        Ok(id) => act(id).await?,
        Err(_) => false,
    };
    if !done {
        form.wrong_altogether(GONE);
    }
    Ok(done)
}

/// Lays a copy of the chosen design aside.
async fn keep_copy(state: &AppState, desk: &Desk, form: &mut Form, by: By<'_>) -> Result<bool> {
    let name = form.value("name").trim().to_owned();
    if name.is_empty() || name.chars().count() > 80 {
        form.wrong(
            "name",
            "Name of the variant",
            "is 1 to 80 characters long: type what sets it apart, such as “longer bed”.",
        );
        return Ok(false);
    }
    let Variant { design, offer, headline, .. } = desk.variant.clone();
    Ok(state.store.add_variant(desk.job.id, &NewVariant { name, design, offer, headline }, by).await?.is_some())
}

/// Makes a variant an option of the chosen design's offer.
async fn offer(state: &AppState, frame: Frame, desk: &Desk, mut form: Form, actor: &Actor) -> Result<Response> {
    let id: Option<VariantId> = form.value("variant").parse().ok();
    let all = state.store.variants(desk.job.id).await?;
    let Some(variant) = all.iter().find(|variant| Some(variant.id) == id && !variant.chosen) else {
        form.wrong_altogether(GONE);
        return render(state, frame, desk, form).await;
    };
    let mut spec = desk.spec();
    let refused = match option_to(&spec_of(&desk.job, variant), &spec, &variant.name, desk.show.hand()) {
        Ok(option) => {
            put_option(&mut spec.offer.options, option);
            match desk.work_out_as(spec.clone()).await? {
                Ok(_) => Vec::new(),
                Err(faults) => faults_of(&faults, &desk.job.id)
                    .into_iter()
                    .map(|fault| format!("{}: {}", fault.label, fault.message))
                    .collect(),
            }
        }
        Err(refused) => refused,
    };
    if !refused.is_empty() {
        for why in refused {
            form.wrong_altogether(format!("“{}” cannot be offered as an option. {why}", variant.name));
        }
        return render(state, frame, desk, form).await;
    }
    let by = By { who: &actor.signature(), at: clock::now() };
    match keep::design_and_offer(state, desk, &spec, by).await? {
        Save::Saved(_) => Ok(see_other(&format!("{}#offer", Tab::Price.path(&desk.job.id)), actor)),
        Save::Missing => Err(Error::NotFound("There is no such job.")),
        Save::Conflict(_) => {
            form.wrong_altogether("Somebody changed the design at the same moment. Nothing was changed: try again.");
            render(state, frame, desk, form).await
        }
    }
}

async fn render(state: &AppState, frame: Frame, desk: &Desk, form: Form) -> Result<Response> {
    let page = Page {
        frame: frame.at(Room::Jobs),
        head: desk.head(Tab::Variants),
        rows: rows(desk, &state.store.variants(desk.job.id).await?).await?,
        form,
    };
    pages::page(page.form.status(), &page)
}

/// Each worked out with the prices of today.
async fn rows(desk: &Desk, variants: &[Variant]) -> Result<Vec<Row>> {
    let show = &desk.show;
    let chosen = desk.work_out().await?.ok().map(|estimate| estimate.build_up.total());
    let mut rows = Vec::with_capacity(variants.len());
    for variant in variants {
        let spec: Spec = spec_of(&desk.job, variant);
        let worked = desk.work_out_as(spec).await?;
        let (figures, unbuilt) = match &worked {
            Ok(estimate) => {
                let headline = estimate.headline();
                let total = estimate.build_up.total();
                let difference = chosen.filter(|_| !variant.chosen).map(|chosen| show.difference(total - chosen));
                let figures = Figures {
                    price: show.money(total),
                    difference: difference.unwrap_or_default(),
                    empty_mass: show.mass(headline.empty_mass_kg).main,
                    payload_left: show.mass(headline.payload_left_kg).main,
                    failing: headline.failing_checks,
                };
                (Some(figures), String::new())
            }
            Err(faults) => {
                let first = faults_of(faults, &desk.job.id).into_iter().next();
                (None, first.map(|fault| format!("{}: {}", fault.label, fault.message)).unwrap_or_default())
            }
        };
        let offered = desk.variant.offer.options.iter().any(|option| option.name.eq_ignore_ascii_case(&variant.name));
        rows.push(Row {
            id: variant.id.to_string(),
            name: variant.name.clone(),
            chosen: variant.chosen,
            offered,
            unbuilt,
            figures,
        });
    }
    Ok(rows)
}

#[cfg(test)]
impl Page {
    pub(super) fn sample(frame: Frame, desk: &Desk) -> Self {
        let row = |name: &str, chosen, figures| Row {
            id: "5".into(),
            name: name.into(),
            chosen,
            offered: false,
            unbuilt: if figures { String::new() } else { "Bed length: “1 mm” is too small".into() },
            figures: figures.then(|| Figures {
                price: "£3,480.00".into(),
                difference: "+£90.00".into(),
                empty_mass: "312 kg".into(),
                payload_left: "420 kg".into(),
                failing: 1,
            }),
        };
        let rows = vec![row("design", true, true), row("longer <b>", false, true), row("no bed", false, false)];
        Self { frame: frame.at(Room::Jobs), head: desk.head(Tab::Variants), form: Form::default(), rows }
    }
}
