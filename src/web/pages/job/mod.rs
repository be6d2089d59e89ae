//! A job's pages: what all of them show around their content.

/// The job with all that its pages need.
pub mod desk;
/// Title and customer, as forms ask for them.
pub mod details;
/// Keeping a changed part of the spec.
mod keep;
/// What need, trailer and price have in common: a part of the spec as a form.
mod spec_form;

/// The whole calculation as one document.
pub mod calculation;
/// What changed since an earlier revision.
pub mod changed;
/// What other choices of stock would cost.
pub mod choices;
pub mod cutting;
pub mod electrics;
/// Sheets at true scale, and flat parts as DXF.
pub mod drawings;
pub mod hours;
pub mod need;
pub mod offered;
pub mod overview;
pub mod overrule;
/// The workshop's papers.
pub mod pack;
/// What a job takes from the rack, and gives back.
pub mod rack;
/// The plan with the rack as it lies.
mod rack_plan;
/// The way to the workshop.
pub mod release;
pub mod papers;
pub mod parts;
/// How far the plan of a revision is.
pub mod plan;
pub mod price;
pub mod restraint;
pub mod revision;
pub mod revisions;
pub mod road;
/// The trailer in three dimensions.
pub mod scene;
pub mod strength;
pub mod trailer;
/// What stands on a page of results while there are none.
mod unbuilt;
pub mod weights;
/// The designs side by side.
pub mod variants;
/// Checks as pages show them.
pub mod checks;
/// Shared views of figures, faults and drawings.
pub mod view;
/// Workings as pages show them.
pub mod workings;

use axum::Router;

use crate::{
    domain::quote::StageKind,
    storage::JobId,
    web::{AppState, frame::Frame, paths},
};

pub(super) fn router() -> Router<AppState> {
    Router::new()
        .merge(overview::router())
        .merge(need::router())
        .merge(trailer::router())
        .merge(variants::router())
        .merge(scene::router())
        .merge(weights::router())
        .merge(road::router())
        .merge(strength::router())
        .merge(restraint::router())
        .merge(electrics::router())
        .merge(pack::router())
        .merge(rack::router())
        .merge(release::router())
        .merge(cutting::router())
        .merge(parts::router())
        .merge(drawings::router())
        .merge(hours::router())
        .merge(price::router())
        .merge(offered::router())
        .merge(calculation::router())
        .merge(overrule::router())
        .merge(revisions::router())
        .merge(revision::router())
        .merge(changed::router())
        .merge(plan::router())
        .merge(papers::router())
        .merge(choices::router())
}

/// The mark of a stage, as the style sheet knows it.
pub fn stage_mark(stage: StageKind) -> &'static str {
    match stage {
        StageKind::Enquiry => "open",
        StageKind::Quoted => "sent",
        StageKind::Accepted | StageKind::InTheShop => "good",
        StageKind::HandedOver => "done",
        StageKind::Declined | StageKind::Lapsed => "closed",
    }
}

/// The rooms of one job, in the order of the work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tab {
    Overview,
    Need,
    Trailer,
    Variants,
    Drawings,
    Weights,
    Strength,
    Restraint,
    Road,
    Calculation,
    Pack,
    Rack,
    Cutting,
    Parts,
    Electrics,
    Hours,
    Price,
    Revisions,
}

impl Tab {
    /// The group that the tab stands in.
    fn group(self) -> &'static Group {
        GROUPS.iter().find(|group| group.tabs.contains(&self)).unwrap_or(&GROUPS[0])
    }

    pub fn label(self) -> &'static str {
        match self {
            Self::Overview => "Overview",
            Self::Need => "Need",
            Self::Trailer => "Trailer",
            Self::Variants => "Variants",
            Self::Drawings => "Drawings",
            Self::Weights => "Weights",
            Self::Road => "Road rules",
            Self::Restraint => "Restraint",
            Self::Electrics => "Electrics",
            Self::Strength => "Strength",
            Self::Pack => "Job pack",
            Self::Rack => "From the rack",
            Self::Cutting => "Cutting",
            Self::Parts => "Parts",
            Self::Hours => "Hours",
            Self::Price => "Price",
            Self::Calculation => "Calculation",
            Self::Revisions => "Revisions",
        }
    }

    /// The pattern of its path.
    pub const fn pattern(self) -> &'static str {
        match self {
            Self::Overview => paths::JOB,
            Self::Need => paths::NEED,
            Self::Trailer => paths::TRAILER,
            Self::Variants => paths::VARIANTS,
            Self::Drawings => paths::DRAWINGS,
            Self::Weights => paths::WEIGHTS,
            Self::Road => paths::ROAD,
            Self::Restraint => paths::RESTRAINT,
            Self::Electrics => paths::ELECTRICS,
            Self::Strength => paths::STRENGTH,
            Self::Pack => paths::PACK,
            Self::Rack => paths::JOB_RACK,
            Self::Cutting => paths::CUTTING,
            Self::Parts => paths::PARTS,
            Self::Hours => paths::HOURS,
            Self::Price => paths::PRICE,
            Self::Calculation => paths::CALCULATION,
            Self::Revisions => paths::REVISIONS,
        }
    }

    pub fn path(self, job: &JobId) -> String {
        paths::of_job(self.pattern(), job)
    }
}

/// Rooms that belong together: a group of one is the room itself.
#[derive(Debug, PartialEq, Eq)]
pub struct Group {
    pub label: &'static str,
    pub tabs: &'static [Tab],
}

/// The groups of a job's rooms, in the order of the work.
pub static GROUPS: [Group; 7] = [
    Group { label: "Overview", tabs: &[Tab::Overview] },
    Group { label: "Need", tabs: &[Tab::Need] },
    Group { label: "Trailer", tabs: &[Tab::Trailer, Tab::Variants, Tab::Drawings] },
    Group { label: "Checks", tabs: &[Tab::Weights, Tab::Strength, Tab::Restraint, Tab::Road, Tab::Calculation] },
    Group { label: "Workshop", tabs: &[Tab::Pack, Tab::Rack, Tab::Cutting, Tab::Parts, Tab::Electrics, Tab::Hours] },
    Group { label: "Price", tabs: &[Tab::Price] },
    Group { label: "Revisions", tabs: &[Tab::Revisions] },
];

fn open_to(frame: &Frame, group: &Group) -> Vec<Tab> {
    group.tabs.iter().copied().filter(|tab| frame.may_open(tab.pattern())).collect()
}

/// What stands above each of a job's pages.
#[derive(Clone, Debug)]
pub struct Head {
    pub job: JobId,
    pub number: String,
    pub title: String,
    pub customer: String,
    pub stage: &'static str,
    pub stage_kind: &'static str,
    /// Since when, or how long still.
    pub note: String,
    pub tab: Tab,
}

impl Head {
    /// The groups that whoever is signed in may open, each with the first of its rooms that they may.
    pub fn groups(&self, frame: &Frame) -> Vec<(&'static Group, Tab)> {
        GROUPS.iter().filter_map(|group| Some((group, *open_to(frame, group).first()?))).collect()
    }

    /// The rooms of the group that is open.
    pub fn inside(&self, frame: &Frame) -> Vec<Tab> {
        open_to(frame, self.tab.group())
    }

    /// How a group is marked for those who hear the page: as the page itself, as what holds it, or not at all.
    pub fn mark(&self, group: &Group) -> &'static str {
        match (group.tabs.contains(&self.tab), group.tabs.len()) {
            (false, _) => "false",
            (true, 1) => "page",
            (true, _) => "true",
        }
    }

    pub fn is_at(&self, tab: &Tab) -> bool {
        self.tab == *tab
    }
}

#[cfg(test)]
mod tests {
    use askama::Template;

    use super::*;

    /// Every page of results renders with a whole estimate, and what people type is escaped.
    #[test]
    fn every_page_of_results_renders() {
        let desk = desk::Desk::sample();
        let estimate = desk.worked_now();
        let [_, nobody] = Frame::samples();
        let (show, head) = (&desk.show, |tab| desk.head(tab));
        let pages = [
            variants::Page::sample(nobody.clone(), &desk).render(),
            weights::Page::of(nobody.clone(), head(Tab::Weights), &estimate, show).render(),
            road::Page::of(nobody.clone(), head(Tab::Road), &estimate, show).render(),
            strength::Page::of(nobody.clone(), head(Tab::Strength), &estimate, show).render(),
            restraint::Page::of(nobody.clone(), head(Tab::Restraint), &estimate, show).render(),
            electrics::Page::of(nobody.clone(), head(Tab::Electrics), &estimate, show).render(),
            pack::Page::sample(nobody.clone(), head(Tab::Pack)).render(),
            rack::Page::sample(nobody.clone(), &desk, &estimate).render(),
            release::Page::sample(nobody.clone(), &desk, &estimate).render(),
            cutting::Page::of(nobody.clone(), head(Tab::Cutting), &estimate, show).render(),
            parts::Page::of(nobody.clone(), head(Tab::Parts), &estimate, show).render(),
            drawings::Page::sample(nobody.clone(), &desk, &estimate).render(),
            hours::Page::of(nobody.clone(), head(Tab::Hours), &estimate, show).render(),
            price::Page::sample(&desk, &estimate).render(),
            calculation::Page::open(nobody.clone(), &desk, &estimate).render(),
        ];
        for page in pages {
            let page = page.expect("a page");
            assert!(page.contains("<!doctype html>") && page.trim_end().ends_with("</html>"), "{page}");
            assert!(!page.contains("Ann <b>") && page.contains("Ann &#60;b&#62;"), "a name is not escaped: {page}");
        }
    }

    /// The cutting list goes to the workshop.
    #[test]
    fn no_money_stands_on_the_printed_cutting_list() {
        let desk = desk::Desk::sample();
        let printed =
            format!("{:?}", cutting::on_paper(&desk.worked_now(), &desk.show, cutting::PaperSubject::default()));
        assert!(printed.contains("Kerf") && !printed.contains('£'), "{printed}");
    }

    /// A tab that no group holds could not be reached.
    #[test]
    fn every_group_is_led_to_and_holds_its_tabs_alone() {
        let tabs: Vec<Tab> = GROUPS.iter().flat_map(|group| group.tabs).copied().collect();
        for (at, tab) in tabs.iter().enumerate() {
            assert_eq!(tabs.iter().position(|other| other == tab), Some(at), "{tab:?} stands twice");
            assert!(tab.group().tabs.contains(tab), "{tab:?}");
        }
        // Each tab is the arm of `label`; the last one declared counts them.
        assert_eq!(tabs.len(), Tab::Revisions as usize + 1, "a tab stands in no group");
    }

    #[test]
    fn a_head_says_where_the_job_stands() {
        let head = desk::Desk::sample().head(Tab::Need);
        assert_eq!((head.stage, head.stage_kind, head.number.as_str()), ("enquiry", "open", "2026-007"));
    }
}
