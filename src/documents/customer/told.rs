//! What was asked for and what is built, in sentences that each tell of one thing.

use super::{Figure, Voice};
use crate::domain::{
    estimate::Estimate,
    options::Figures,
    trailer::{Design, FrontForm, Need, RampForm, SideForm, SparePlace},
    words::Words,
};

/// A sentence, and the thing of which it tells: what is named when it changes.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Told {
    pub about: String,
    pub text: String,
}

impl Told {
    /// Both in one line: `Deck: steel tread plate, 3 mm.`
    pub fn line(&self, words: &Words) -> String {
        words.say("told-of").with("about", &self.about).with("text", &self.text).text()
    }
}

pub(super) fn told(about: impl ToString, text: impl ToString) -> Told {
    Told { about: about.to_string(), text: text.to_string() }
}

pub(super) fn asked(need: &Need, voice: &Voice) -> Vec<Told> {
    let say = |id: &str| voice.say(id);
    let mut asked: Vec<Told> = Vec::new();
    for load in &need.loads {
        let size = |length: crate::domain::measure::Length| voice.length(length.mm()).main;
        let text = say("asked-load")
            .with("load", &load.name)
            .with("mass", voice.mass(load.mass.kg()).main)
            .with("length", size(load.length))
            .with("width", size(load.width))
            .with("height", size(load.height));
        asked.push(told(say("about-load").with("load", &load.name), text));
    }
    for trip in need.trips.iter().filter(|trip| trip.carries.len() > 1) {
        let loads = voice.words.list(trip.carries.iter().map(|placed| &placed.load));
        let text = match trip.name.as_str() {
            "" => say("asked-trip"),
            name => say("asked-trip-named").with("trip", name),
        };
        asked.push(told(say("about-trip"), text.with("loads", loads)));
    }
    let vehicles = need.towing_vehicles.iter().map(|vehicle| &vehicle.name).filter(|name| !name.is_empty());
    let vehicles = voice.words.list(vehicles);
    if !vehicles.is_empty() {
        asked.push(told(say("about-vehicles"), say("asked-vehicles").with("vehicles", vehicles)));
    }
    let road = say(if need.usage.marine { "asked-road-salt" } else { "asked-road" });
    asked.push(told(say("about-road"), road.with("road", need.usage.road.word())));
    if need.count > 1 {
        asked.push(told(say("about-count"), say("asked-count").with("count", need.count)));
    }
    asked
}

pub(super) fn made_of(design: &Design, voice: &Voice) -> Vec<Told> {
    let say = |id: &str| voice.say(id);
    let size = |length: crate::domain::measure::Length| voice.length(length.mm()).main;
    let gear = &design.running_gear;
    let mut made = vec![
        told(say("about-frame"), say("frame").with("stack", design.frame.stack.word())),
        told(say("about-drawbar"), say("drawbar").with("form", design.drawbar.form.word())),
        told(
            say("about-deck"),
            say("deck").with("material", design.deck.material.word()).with("thickness", size(design.deck.thickness)),
        ),
        told(
            say("about-suspension"),
            say("suspension").with("suspension", gear.suspension.word()).with("tyre", &gear.wheel.size),
        ),
    ];
    if gear.axles > 1 {
        made.push(told(say("about-axles"), say("axles").with("count", gear.axles)));
    }
    made.push(told(say("about-brakes"), say("brakes").with("brakes", gear.brakes.word())));
    let sides = &design.sides;
    if sides.form != SideForm::None {
        let text = say("sides").with("form", sides.form.word()).with("height", size(sides.height));
        made.push(told(say("about-sides"), text));
    }
    if sides.front != FrontForm::None {
        made.push(told(say("about-front"), say("front").with("form", sides.front.word())));
    }
    if design.loading.ramp != RampForm::None {
        made.push(told(say("about-ramp"), say("ramp").with("ramp", design.loading.ramp.word())));
    }
    made.push(told(say("about-coupling"), say("coupling").with("form", design.towing.coupling.word())));
    if design.towing.jockey_wheel {
        made.push(told(say("about-jockey"), say("jockey")));
    }
    made.push(told(say("about-plug"), say("plug").with("ways", design.electrics.connector.word())));
    if design.fittings.spare_wheel != SparePlace::None {
        made.push(told(say("about-spare"), say("spare").with("place", design.fittings.spare_wheel.word())));
    }
    let finish = match design.finish.colour.as_str() {
        "" => say("finish"),
        colour => say("finish-colour").with("colour", colour),
    };
    made.push(told(say("about-finish"), finish.with("system", design.finish.system.word())));
    made
}

/// Masses and sizes; with those of what they chose, where it is not the trailer as described.
pub(super) fn gets(estimate: &Estimate, chosen: Option<&Figures>, voice: &Voice) -> Vec<Figure> {
    let layout = &estimate.trailer.layout;
    let [empty, gross, payload, coupling] = masses(estimate, chosen);
    let figure = |words: &str, value, note: &str| Figure {
        words: voice.say(words).text(),
        value,
        note: if note.is_empty() { String::new() } else { voice.say(note).text() },
    };
    vec![
        figure("figure-empty", voice.mass(empty), "figure-empty-note"),
        figure("figure-gross", voice.mass(gross), "figure-gross-note"),
        figure("figure-payload", voice.mass(payload), ""),
        figure("figure-coupling", voice.mass(coupling), "figure-coupling-note"),
        figure("figure-bed-length", voice.length(layout.bed_length_mm()), ""),
        figure("figure-bed-width", voice.length(layout.bed_width_mm), ""),
        figure("figure-bed-height", voice.length(layout.deck_top_z_mm), "figure-bed-height-note"),
        figure("figure-length", voice.length(layout.overall_length_mm), ""),
        figure("figure-width", voice.length(layout.overall_width_mm), ""),
    ]
}

/// What matters most, in one sentence.
pub(super) fn lead(estimate: &Estimate, chosen: Option<&Figures>, voice: &Voice) -> String {
    let [empty, _, payload, coupling] = masses(estimate, chosen).map(|kg| voice.mass(kg).main);
    voice.say("lead").with("payload", payload).with("empty", empty).with("coupling", coupling).text()
}

/// Empty, gross, payload and most on the coupling, kg.
fn masses(estimate: &Estimate, chosen: Option<&Figures>) -> [f64; 4] {
    let weights = &estimate.weights;
    chosen.map_or_else(
        || [weights.empty.mass_kg, weights.gross_kg, weights.payload_left_kg, weights.envelope.coupling_kg()],
        |chosen| [chosen.empty_mass_kg, chosen.gross_kg, chosen.payload_left_kg, chosen.coupling_kg[1]],
    )
}
