//! The electrics: what sits on which pin, the wiring table that the workshop wires from, what the lamps draw, and which cables were chosen.

use askama::Template;
use axum::{Router, extract::State, response::Response, routing::get};

use super::{Head, Tab, calculation::Table, checks::CheckView, parts::PartRow, unbuilt};
use crate::{
    domain::{
        electrics::{Electrics, LampDraw, PinUse, Wire},
        estimate::Estimate,
        shop::PartClass,
        working::Area,
    },
    storage::JobId,
    web::{AppState, Result, extract::Path, frame::Frame, paths, show::Show},
};

#[derive(Template)]
#[template(path = "web/job/electrics.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    plug: String,
    source: String,
    sure: &'static str,
    tables: Vec<Table>,
    cables: Vec<CableRow>,
    checks: Vec<CheckView>,
}

struct CableRow {
    runs: String,
    part: PartRow,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::ELECTRICS, get(show))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    unbuilt::results(&state, frame, job, Tab::Electrics, Page::of).await
}

impl Page {
    pub(super) fn of(frame: Frame, head: Head, estimate: &Estimate, show: &Show) -> Self {
        let electrics = &estimate.electrics;
        let checks = CheckView::all(&estimate.checks, &estimate.spec.offer.answers, show);
        let cables = estimate.take_off.parts.iter().filter(|demand| demand.part.need.class == PartClass::Cable);
        Self {
            frame,
            head,
            plug: electrics.plug.clone(),
            source: electrics.source.clone(),
            sure: electrics.sure.map_or("", |sure| sure.label()),
            tables: tables(electrics, show),
            cables: cables
                .map(|demand| CableRow { runs: runs(&demand.part.need.key), part: PartRow::of(demand, show) })
                .collect(),
            checks: checks.into_iter().filter(|check| check.area == Area::Electrics).collect(),
        }
    }
}

/// What is wired with the cable of a need.
fn runs(key: &str) -> String {
    match key.strip_prefix("cable-branch-") {
        Some(cores) => format!("Branches of {cores} cores"),
        None if key == "cable-plug" => "From the plug to the junction box".to_owned(),
        None if key == "cable-brakes" => "From the plug to the brakes".to_owned(),
        None => key.to_owned(),
    }
}

/// Pins, wires and lamps, for this page and for the calculation; none where nothing was worked out.
pub fn tables(electrics: &Electrics, show: &Show) -> Vec<Table> {
    let tables = [
        Table {
            caption: format!("Pins of the plug: {}", electrics.plug),
            head: vec!["Pin", "Circuit", "Contact", "Core", "Used", "Current"],
            rows: electrics.pins.iter().map(|pin| pin_row(pin, show)).collect(),
            figures_from: 5,
        },
        Table {
            caption: "Wiring table".into(),
            head: vec!["Circuit", "Pin", "Core at the plug", "From", "To", "Length", "Core area", "Current", "Lost"],
            rows: electrics.wires.iter().map(|wire| wire_row(wire, show)).collect(),
            figures_from: 5,
        },
        Table {
            caption: "What the lamps draw at 12 V, each".into(),
            head: vec!["Lamp", "Light", "Chosen", "From", "Number", "Power", "Current"],
            rows: electrics.lamps.iter().map(|lamp| lamp_row(lamp, show)).collect(),
            figures_from: 4,
        },
    ];
    tables.into_iter().filter(|table| !table.rows.is_empty()).collect()
}

fn amps(amps: Option<f64>, show: &Show) -> String {
    amps.map_or_else(|| "–".to_owned(), |amps| format!("{} A", show.number(amps, 2)))
}

fn pin_row(pin: &PinUse, show: &Show) -> Vec<String> {
    let used = if pin.is_used { "used" } else { "left free" };
    let current = if pin.is_used { amps(pin.amps, show) } else { String::new() };
    vec![pin.pin.clone(), pin.words.clone(), pin.letter.clone(), pin.core.clone(), used.to_owned(), current]
}

fn wire_row(wire: &Wire, show: &Show) -> Vec<String> {
    let or_none = |text: &String| if text.is_empty() { "none".to_owned() } else { text.clone() };
    vec![
        wire.circuit.clone(),
        or_none(&wire.pin),
        wire.core.clone(),
        wire.from.clone(),
        wire.to.clone(),
        show.length(wire.length_mm).main,
        wire.core_mm2.map_or_else(|| "not known".to_owned(), |mm2| format!("{} mm²", show.number(mm2, 2))),
        amps(wire.amps, show),
        wire.volts.map_or_else(|| "–".to_owned(), |volts| format!("{} V", show.number(volts, 2))),
    ]
}

fn lamp_row(lamp: &LampDraw, show: &Show) -> Vec<String> {
    vec![
        lamp.lamp.clone(),
        lamp.light.clone(),
        lamp.item.clone(),
        if lamp.is_known { "rate book" } else { "usual figure" }.to_owned(),
        lamp.count.to_string(),
        format!("{} W", show.number(lamp.watts, 1)),
        amps(Some(lamp.amps), show),
    ]
}
