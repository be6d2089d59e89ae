//! Figures, checks and workings as a job's pages show them.

use crate::{
    documents::{self, Letters, Shown, plan_view, side_view, still},
    domain::{estimate::Estimate, form::Fault, measure::Units, trailer::SpecFaults, words::Words, working::Working},
    storage::JobId,
    web::{
        forms::{sentence, spec::Part},
        pages::job::Tab,
        show::{Both, Show},
    },
};

pub use super::{
    checks::{CheckView, Checks, kind},
    workings::WorkingView,
};

/// One figure of a strip.
#[derive(Clone, Debug)]
pub struct Figure {
    /// A stable name for tests.
    pub key: &'static str,
    pub words: String,
    pub value: Both,
    pub note: String,
    pub working: Option<WorkingView>,
}

impl Figure {
    /// A figure without a working of its own.
    pub fn plain(key: &'static str, words: &str, value: impl Into<String>, note: impl Into<String>) -> Self {
        Self { key, words: words.into(), value: Both::plain(value), note: note.into(), working: None }
    }

    #[must_use]
    pub fn with(mut self, working: &Working, show: &Show) -> Self {
        self.working = Some(WorkingView::of(working, show));
        self
    }
}

/// The strip of figures that move as the spec is typed.
#[derive(Clone, Debug, Default)]
pub struct Headline {
    pub figures: Vec<Figure>,
}

impl Headline {
    pub fn of(estimate: &Estimate, show: &Show) -> Self {
        let headline = estimate.headline();
        let figure = |key, words: &str, value: Both, note: String, working: Option<Working>| Figure {
            key,
            words: words.into(),
            value,
            note,
            working: working.map(|working| WorkingView::of(&working, show)),
        };
        let failing = match headline.failing_checks {
            0 => "no check fails".to_owned(),
            1 => "1 check fails".to_owned(),
            many => format!("{many} checks fail"),
        };
        let share = format!("{} of the heaviest case", show.share(headline.coupling_share));
        let count = estimate.build_up.count;
        let price_note = if count > 1 { format!("for {count}, with tax") } else { "with tax".to_owned() };
        let none = String::new;
        let (bars, sheets) = (headline.bars.to_string(), headline.sheets.to_string());
        let total = Both::plain(show.money(estimate.build_up.total()));
        let figures = vec![
            figure(
                "empty-mass",
                "Empty mass",
                show.mass(headline.empty_mass_kg),
                none(),
                Some(estimate.empty_mass_working()),
            ),
            figure(
                "gross",
                "Gross for the plate",
                show.mass(headline.gross_kg),
                none(),
                Some(estimate.gross_working()),
            ),
            figure(
                "payload",
                "Payload left",
                show.mass(headline.payload_left_kg),
                none(),
                Some(estimate.payload_working()),
            ),
            figure("coupling", "On the coupling", show.mass(headline.coupling_kg), share, estimate.coupling_working()),
            figure("bars", "Bars", Both::plain(bars), none(), Some(estimate.bars_working())),
            figure("sheets", "Sheets", Both::plain(sheets), none(), Some(estimate.sheets_working())),
            figure("price", "Price", total, price_note, Some(estimate.price_working())),
            Figure::plain("checks", "Checks", estimate.checks.len().to_string(), failing),
        ];
        Self { figures }
    }
}

/// The faults of a spec, each with the way to its field.
pub fn faults_of(faults: &SpecFaults, job: &JobId) -> Vec<FaultView> {
    faults.0.iter().map(|fault| FaultView::of(fault, job)).collect()
}

impl FaultView {
    pub fn of(fault: &Fault, job: &JobId) -> Self {
        Self { path: Self::path(&fault.field, job), label: fault.label.clone(), message: sentence(fault) }
    }

    /// The address of a field of the spec.
    pub fn path(field: &str, job: &JobId) -> String {
        let tab = if Part::Need.holds(field) {
            Tab::Need
        } else if Part::Offer.holds(field) {
            Tab::Price
        } else {
            Tab::Trailer
        };
        format!("{}#f-{field}", tab.path(job))
    }
}

/// The whole, then plan and side view.
pub fn trailer_drawings(estimate: &Estimate, units: Units) -> Vec<Drawing> {
    let (trailer, weights, words) = (&estimate.trailer, &estimate.weights, Words::english());
    let plan = |letters| plan_view(trailer, weights, words, units, letters);
    let side = |letters| side_view(trailer, weights, words, units, letters);
    vec![
        Drawing::new("As built", "still", still(trailer, weights, words, Shown::Marks)),
        Drawing::for_both("From above", "plan", plan),
        Drawing::for_both("From the left-hand side", "side", side),
    ]
}

/// A fault of the spec, with the page on which it can be put right.
#[derive(Clone, Debug)]
pub struct FaultView {
    pub path: String,
    pub label: String,
    pub message: String,
}

/// A text and an amount.
#[derive(Clone, Debug)]
pub struct Line {
    pub text: String,
    pub note: String,
    pub amount: String,
}

/// An SVG made by `documents`, with what it shows.
#[derive(Clone, Debug)]
pub struct Drawing {
    pub shows: String,
    pub svg: String,
    /// For paper.
    pub of: documents::Drawing,
}

impl Drawing {
    /// `id` tells drawings of a page apart.
    pub fn new(shows: impl Into<String>, id: &str, of: documents::Drawing) -> Self {
        Self { shows: shows.into(), svg: of.svg(id), of }
    }

    /// With another for narrow windows, of larger letters.
    pub fn for_both(shows: impl Into<String>, id: &str, draw: impl Fn(Letters) -> documents::Drawing) -> Self {
        Self { shows: shows.into(), ..Self::titled(id, draw) }
    }

    /// The same, under its own title.
    pub fn titled(id: &str, draw: impl Fn(Letters) -> documents::Drawing) -> Self {
        let of = draw(Letters::Usual);
        Self { shows: of.title.clone(), svg: of.svg_or(&draw(Letters::Large), id), of }
    }
}

/// Something that stands in the way, why, and where it can be mended.
#[derive(Clone, Debug)]
pub struct Gap {
    pub why: String,
    pub path: String,
    pub mend: &'static str,
}
