//! A new job: blank, or from an earlier one.

use askama::Template;
use axum::{Router, extract::State, response::Response, routing::get};
use serde::Deserialize;

use crate::{
    domain::trailer::{Design, Need, Spec},
    storage::{By, ForCustomer, JobId, JobQuery, JobSort, NewJob, NewVariant},
    web::{
        AppState, Result, clock,
        extract::Query,
        form::Form,
        frame::{Frame, Room},
        pages::{
            self,
            job::{desk, details},
        },
        paths,
        session::see_other,
    },
};

/// Earlier jobs that are offered to start from.
const EARLIER: u32 = 100;
/// Name of a job's first design.
const FIRST_DESIGN: &str = "design";

#[derive(Template)]
#[template(path = "web/jobs/new.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    earlier: Vec<(String, String)>,
}

#[derive(Debug, Deserialize)]
struct Asked {
    #[serde(default)]
    from: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::NEW_JOB, get(show).post(make))
}

async fn show(State(state): State<AppState>, frame: Frame, Query(asked): Query<Asked>) -> Result<Response> {
    let form = Form::filled([("from", asked.from.as_str()), ("take", "both")]);
    render(&state, frame, form).await
}

async fn make(State(state): State<AppState>, frame: Frame, mut form: Form) -> Result<Response> {
    let title = details::title(&mut form);
    let contact = details::contact(&mut form);
    let start = start_from(&state, &mut form).await?;
    let actor = form.actor(&frame);
    let (Some(actor), Some((cloned_from, need, design)), true) = (actor, start, form.is_right()) else {
        return render(&state, frame, form).await;
    };
    let headline =
        desk::headline(&state, None, Spec { need: need.clone(), design: design.clone(), ..Spec::default() }).await?;
    let variant = NewVariant { name: FIRST_DESIGN.into(), design, offer: Default::default(), headline };
    let new = NewJob { title, customer: ForCustomer::New(contact), need, variant, cloned_from };
    let by = By { who: &actor.signature(), at: clock::now() };
    match state.store.create_job(&new, clock::today().year(), by).await? {
        Some((job, _)) => Ok(see_other(&paths::of_job(paths::NEED, &job), &actor)),
        None => render(&state, frame, form).await,
    }
}

/// Need and design that the job begins with; None, with the fault noted, where the earlier job is not there.
async fn start_from(state: &AppState, form: &mut Form) -> Result<Option<(Option<JobId>, Need, Design)>> {
    let from = form.value("from").to_owned();
    if from.is_empty() {
        let allowance = state.shop(clock::today()).await?.policy.gross_allowance;
        return Ok(Some((None, Need { gross_allowance: allowance, ..Need::default() }, Design::default())));
    }
    let earlier = match from.parse::<JobId>() {
        Ok(id) => desk::kept(state, id).await?,
        Err(_) => None,
    };
    let Some((job, variant)) = earlier else {
        form.wrong("from", "An earlier job", "There is no such job: choose one of the list.");
        return Ok(None);
    };
    let (need, design) = match form.value("take") {
        "need" => (job.need, Design::default()),
        "design" => (Need::default(), variant.design),
        _ => (job.need, variant.design),
    };
    Ok(Some((Some(job.id), need, design)))
}

async fn render(state: &AppState, frame: Frame, form: Form) -> Result<Response> {
    let query = JobQuery {
        search: String::new(),
        stages: Vec::new(),
        asked: false,
        sort: JobSort::Updated,
        offset: 0,
        limit: EARLIER,
    };
    let mut earlier: Vec<(String, String)> = Vec::new();
    for row in state.store.jobs(&query).await?.rows {
        let job = row.summary;
        earlier.push((row.id.to_string(), format!("{} {}, {}", job.number, job.title, job.customer)));
    }
    pages::page(form.status(), &Page { frame: frame.at(Room::Jobs), form, earlier })
}

impl Page {
    fn earlier(&self) -> Vec<(&str, &str)> {
        let blank = [("", "nothing: a blank job")];
        blank.into_iter().chain(self.earlier.iter().map(|(id, text)| (id.as_str(), text.as_str()))).collect()
    }

    fn takes(&self) -> [(&'static str, &'static str); 3] {
        [("both", "need and design"), ("need", "the need only"), ("design", "the design only")]
    }
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [nobody, ann] = Frame::samples();
        let mut form = Form::filled([("title", ""), ("customer", "Ann <b>"), ("from", "7")]);
        form.wrong("title", "What it is for", "Nothing was entered.");
        vec![
            Self { frame: nobody, form, earlier: vec![("7".into(), "Hives".into())] },
            Self { frame: ann, form: Form::default(), earlier: vec![] },
        ]
    }
}
