//! The strength of the frame: how full each member is, drawn and as a table, and what was compared.

use askama::Template;
use axum::{Router, extract::State, response::Response, routing::get};

use super::{Head, Tab, checks::CheckView, unbuilt, view::Drawing};
use crate::{
    documents::{Used, use_plan, use_side},
    domain::{
        estimate::Estimate,
        strength::{MemberUse, Strength},
        working::{Area, show_use},
    },
    storage::JobId,
    web::{AppState, Result, extract::Path, frame::Frame, paths, show::Show},
};

#[derive(Template)]
#[template(path = "web/job/strength.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    /// The member that governs, in words; empty where nothing was analysed.
    governs: String,
    size: String,
    drawings: Vec<Drawing>,
    members: Vec<MemberRow>,
    checks: Vec<CheckView>,
}

/// A member of the table, the fullest first.
pub struct MemberRow {
    pub mark: String,
    pub name: String,
    pub usage: String,
    /// Ending of the verdict's class.
    pub kind: &'static str,
    pub word: &'static str,
    pub case: String,
    pub place: String,
    pub stress: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::STRENGTH, get(show))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    unbuilt::results(&state, frame, job, Tab::Strength, Page::of).await
}

impl Page {
    pub(super) fn of(frame: Frame, head: Head, estimate: &Estimate, show: &Show) -> Self {
        let strength = &estimate.strength;
        let checks = CheckView::all(&estimate.checks, &estimate.spec.offer.answers, show);
        Self {
            frame,
            head,
            governs: governs(estimate, show),
            size: size(strength),
            drawings: drawings(estimate),
            members: members(estimate, show),
            checks: checks.into_iter().filter(|check| check.area == Area::Strength).collect(),
        }
    }
}

/// How large the analysis was, and how well its forces balance.
pub fn size(strength: &Strength) -> String {
    let [nodes, beams, equations] = strength.size;
    format!(
        "{} loading cases on a frame of {beams} beams between {nodes} joints ({equations} equations); the forces left unbalanced are {:.0e} of the largest.",
        strength.cases, strength.residual
    )
}

/// "The rear cross-member is the fullest …", or nothing.
pub fn governs(estimate: &Estimate, show: &Show) -> String {
    let worst = worst_first(estimate);
    worst.first().map_or_else(String::new, |used| {
        format!(
            "The {} governs: use {}, {} from its front or left end, loading case: {}.",
            used.name,
            show_use(used.usage),
            show.length(used.at_mm).main,
            used.case
        )
    })
}

/// Plan and side view with the use of each member.
pub fn drawings(estimate: &Estimate) -> Vec<Drawing> {
    let uses: Vec<Used> = estimate.strength.members.iter().map(used).collect();
    if uses.is_empty() {
        return Vec::new();
    }
    let plan = |letters| use_plan(&estimate.trailer, &uses, letters);
    let side = |letters| use_side(&estimate.trailer, &uses, letters);
    let side_shows = "Use of the members, from the left-hand side; where members hide one another, the fullest is seen";
    vec![
        Drawing::for_both("Use of the members, from above", "use-plan", plan),
        Drawing::for_both(side_shows, "use-side", side),
    ]
}

fn used(member: &MemberUse) -> Used {
    Used { member: member.member, usage: member.usage, place: member.place, name: member.name.clone() }
}

fn worst_first(estimate: &Estimate) -> Vec<&MemberUse> {
    let mut members: Vec<&MemberUse> = estimate.strength.members.iter().collect();
    members.sort_by(|a, b| b.usage.total_cmp(&a.usage));
    members
}

/// The table that says what the drawings show.
pub fn members(estimate: &Estimate, show: &Show) -> Vec<MemberRow> {
    let row = |used: &MemberUse| {
        let (kind, word) = match used.usage {
            usage if usage.is_nan() => ("unknown", "cannot tell"),
            usage if usage > 1.0 => ("fails", "fails"),
            usage if usage > 0.9 => ("close", "close"),
            _ => ("holds", "holds"),
        };
        MemberRow {
            mark: estimate.trailer.members.get(used.member).map_or_else(String::new, |member| member.mark.clone()),
            name: used.name.clone(),
            usage: show_use(used.usage),
            kind,
            word,
            case: used.case.clone(),
            place: show.length(used.at_mm).main,
            stress: show.with_unit(show.beside(used.stress_mpa, used.allowed_mpa, "").join(" of "), "MPa"),
        }
    };
    worst_first(estimate).into_iter().map(row).collect()
}
