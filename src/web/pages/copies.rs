//! Copies of each night: the last one, whether the last try failed, and the owner's setting.

use askama::Template;
use axum::{
    Router,
    extract::State,
    response::Response,
    routing::{get, post},
};

use crate::{
    storage::{self, By, Night, NightlyRule, Save, Version, nights},
    web::{
        AppState, Error, Result, clock,
        extract::Query,
        form::Form,
        frame::{Frame, Room},
        nightly,
        pages::{
            self,
            conflict::{self, Conflict},
        },
        paths,
        session::{Actor, see_other},
    },
};

const LABELS: [(&str, &str); 3] = [("on", "Make a copy every night"), ("hour", "Hour"), ("keep", "Copies kept")];

#[derive(Template)]
#[template(path = "web/copies.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    version: i64,
    said: &'static str,
    /// None where the server was started without one.
    folder: Option<String>,
    /// The latest first.
    copies: Vec<Night>,
    /// When and why the last try failed, or the folder cannot be looked at.
    failed: Option<(String, String)>,
}

impl Page {
    fn moment(&self, at: &jiff::Timestamp) -> String {
        clock::moment(*at)
    }

    fn hours(&self) -> Vec<(String, String)> {
        (0..24).map(|hour| (hour.to_string(), format!("{hour:02}:00"))).collect()
    }
}

#[derive(Debug, serde::Deserialize)]
struct Asked {
    done: Option<String>,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::COPIES, get(show).post(save)).route(paths::COPY_NOW, post(make_now))
}

async fn show(State(state): State<AppState>, frame: Frame, Query(asked): Query<Asked>) -> Result<Response> {
    let (rule, version) = state.store.nightly_rule().await?;
    let said = match asked.done.as_deref() {
        Some("saved") => "Saved.",
        Some("made") => "The copy was made, and is sound.",
        _ => "",
    };
    render(&state, frame, filled(rule), version, said)
}

fn filled(rule: NightlyRule) -> Form {
    let mut form = Form::filled([("hour", rule.hour.to_string()), ("keep", rule.keep.to_string())]);
    if rule.on {
        form.add("on", "on");
    }
    form
}

fn render(state: &AppState, frame: Frame, form: Form, version: Version, said: &'static str) -> Result<Response> {
    let mut failed = state.nightly.failed().map(|failed| (clock::moment(failed.at), failed.why));
    let mut copies = Vec::new();
    match state.nightly.folder().map(|folder| nights(folder, state.store.path())) {
        None => {}
        Some(Ok(found)) => copies = found,
        Some(Err(fault)) => failed = Some((clock::moment(clock::now()), fault.to_string())),
    }
    copies.reverse();
    let folder = state.nightly.folder().map(|folder| folder.display().to_string());
    let page = Page { frame: frame.at(Room::Shop), version: version.0, said, folder, copies, failed, form };
    pages::page(page.form.status(), &page)
}

async fn save(State(state): State<AppState>, frame: Frame, actor: Actor, form: Form) -> Result<Response> {
    let (now, version) = state.store.nightly_rule().await?;
    let mut form = conflict::resolved(&form, &filled(now));
    let number = |text: &str| text.trim().parse::<u32>().ok();
    let hour = number(form.value("hour")).and_then(|hour| u8::try_from(hour).ok()).filter(|hour| *hour < 24);
    if hour.is_none() {
        let wrong = format!("“{}” is no hour of the day: choose one of 0 to 23.", form.value("hour"));
        form.wrong("hour", "Hour", wrong);
    }
    let keep = number(form.value("keep")).filter(|keep| (1..=NightlyRule::MOST).contains(keep));
    if keep.is_none() {
        let wrong =
            format!("“{}” is no number of copies: give a whole one, 1 to {}.", form.value("keep"), NightlyRule::MOST);
        form.wrong("keep", "Copies kept", wrong);
    }
    let read = form.value("version").parse().map(Version).unwrap_or(version);
    let (Some(hour), Some(keep)) = (hour, keep) else { return render(&state, frame, form, read, "") };
    let rule = NightlyRule { on: form.value("on") == "on", hour, keep };
    let by = By { who: &actor.signature(), at: clock::now() };
    match state.store.save_nightly_rule(read, rule, by).await? {
        Save::Saved(_) => Ok(see_other(&format!("{}?done=saved", paths::COPIES), &actor)),
        Save::Missing => Err(Error::Unreadable("This form is of another shop's file: open the page again.".into())),
        Save::Conflict(found) => differ(frame, form, *found),
    }
}

fn differ(frame: Frame, form: Form, found: storage::Conflict<NightlyRule>) -> Result<Response> {
    let mut yours = Form::default();
    for (name, _) in LABELS {
        yours.add(name, form.value(name));
    }
    let found = Conflict {
        what: "The setting of the nightly copies".into(),
        who: found.who,
        when: clock::moment(found.when),
        version: found.version.0,
        differences: conflict::differences(LABELS, &filled(found.theirs), &yours, None),
        action: paths::COPIES.into(),
        back: paths::COPIES.into(),
    };
    conflict::show(frame.at(Room::Shop), form, found)
}

/// The copy is made to its end also when whoever asked for it goes away.
async fn make_now(State(state): State<AppState>, frame: Frame, actor: Actor) -> Result<Response> {
    let making = state.clone();
    let made =
        tokio::spawn(async move { nightly::make(&making, clock::now()).await }).await.map_err(Error::internal)?;
    if let Some(Ok(_)) = made {
        return Ok(see_other(&format!("{}?done=made", paths::COPIES), &actor));
    }
    let (rule, version) = state.store.nightly_rule().await?;
    let mut form = filled(rule);
    form.wrong_altogether(match made {
        Some(Err(why)) => format!("No copy was made: {why}."),
        _ => "The server knows no folder for copies: start it with --backups FOLDER.".into(),
    });
    render(&state, frame, form, version, "")
}

#[cfg(test)]
impl Page {
    pub(super) fn samples() -> Vec<Self> {
        let [nobody, ann] = Frame::samples();
        let night = |number| Night {
            number,
            made_at: clock::now(),
            bytes: 1_234_567,
            file: format!("/Ann <b>/hitchwright-night-{number:06}-2026-11-27-030004Z.sqlite").into(),
        };
        let mut wrong = filled(NightlyRule::default());
        wrong.wrong("keep", "Copies kept", "“<b>” is no number of copies.");
        vec![
            Self {
                frame: ann,
                form: filled(NightlyRule::default()),
                version: 0,
                said: "Saved.",
                folder: Some("/Ann <b>".into()),
                copies: vec![night(2), night(1)],
                failed: Some(("5 Nov 2026, 14:05".into(), "there is no folder /Ann <b>".into())),
            },
            Self { frame: nobody, form: wrong, version: 3, said: "", folder: None, copies: Vec::new(), failed: None },
        ]
    }
}
