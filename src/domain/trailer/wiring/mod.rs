//! The wiring: from the plug along drawbar and bed to the junction box, from there to every lamp, and from the plug to electric brakes by a
//! cable of their own.
//!
//! Plug tail 1.25 m, 10 % more for bends and ends: common practice, no source (1.0 to 1.5 m and 10 % are usual).

mod drop;
mod loads;

pub use drop::{Areas, CoreArea, Drop, LEAST_MM2, LOST_SHARE, Needed, RESISTIVITY, Term, VOLTS};
pub use loads::{Draw, Light, USUAL, draws, is_lamp};

use super::{Brakes, CableRun, Connector, Fitting, Layout, Point, Spec};
use crate::{
    plugs::{self, Duty, Pin, Plug},
    shop::PartClass,
};

const PLUG_TAIL_MM: f64 = 1250.0;
/// From a run to the lamp's terminals.
const LAMP_TAIL_MM: f64 = 200.0;
const SPARE: f64 = 1.10;

/// Everything that is wired, and how.
#[derive(Clone, Debug)]
pub struct Harness {
    pub plug: Option<&'static Plug>,
    pub circuits: Vec<Circuit>,
    pub runs: Vec<Run>,
}

/// What one pin feeds, or one thing that the plug has no pin for.
#[derive(Clone, Debug)]
pub struct Circuit {
    pub pin: Option<&'static Pin>,
    /// What is really fed by it.
    pub duties: Vec<Duty>,
    /// What asks for its lamps.
    pub because: Vec<String>,
}

/// A cable from one place to another.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    pub name: String,
    pub from: &'static str,
    pub to: String,
    pub cable: Cable,
    pub cores: u32,
    pub length_mm: f64,
    /// The run that feeds it; none where it begins at the plug.
    pub fed_by: Option<usize>,
    /// What its cores feed at its end; of a run that feeds others this is empty.
    pub feeds: Vec<Feed>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Feed {
    /// Index into [`Harness::circuits`].
    pub circuit: usize,
    /// None where the current follows from what is charged.
    pub amps: Option<f64>,
}

/// Runs of one kind are cut from one cable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cable {
    Plug,
    /// With so many cores.
    Branch(u32),
    Brakes,
}

impl Cable {
    /// Key of the need that it is bought for.
    pub fn key(self) -> String {
        match self {
            Self::Plug => "cable-plug".into(),
            Self::Branch(cores) => format!("cable-branch-{cores}"),
            Self::Brakes => "cable-brakes".into(),
        }
    }
}

impl Circuit {
    pub fn words(&self) -> &str {
        match (self.pin, self.duties.first()) {
            (Some(pin), _) => &pin.words,
            (None, Some(duty)) => duty.label(),
            (None, None) => "",
        }
    }

    /// Areas of its own two cores in a cable: a supply with an earth of its own has a thick one each way.
    pub fn area_in(&self, area: CoreArea) -> CoreArea {
        if self.pin.is_some_and(|pin| pin.earth.is_some()) { CoreArea::equal(area.earth_mm2) } else { area }
    }

    pub fn feeds(&self, duty: Duty) -> bool {
        self.duties.contains(&duty)
    }
}

impl Harness {
    /// Of the lamps and brakes that are fitted.
    pub fn of(spec: &Spec, layout: &Layout, fittings: &[Fitting]) -> Self {
        let plug = plugs::of(ways(spec.design.electrics.connector), &spec.need.usage.region);
        let mut harness = Self { plug, circuits: Vec::new(), runs: Vec::new() };
        let from = junction(layout);
        let to_box = PLUG_TAIL_MM + from[0] + rise(layout) + travel(spec);
        harness.runs.push(run("plug to junction box", "plug", "junction box", Cable::Plug, to_box, None));
        for fitting in fittings.iter().filter(|fitting| is_lamp(fitting.class)) {
            harness.wire_lamps(fitting, from);
        }
        if spec.design.running_gear.brakes == Brakes::Electric {
            harness.wire_brakes(spec, layout, fittings);
        }
        let cores = harness.cores_at_plug();
        if let Some(trunk) = harness.runs.first_mut() {
            trunk.cores = cores;
        }
        harness
    }

    /// What was built: names, cores and lengths.
    pub fn cable_runs(&self) -> Vec<CableRun> {
        let runs = self.runs.iter();
        runs.map(|run| CableRun { name: run.name.clone(), cores: run.cores, length_mm: run.length_mm }).collect()
    }

    /// Each cable with its cores and the length of all its runs, mm.
    pub fn cables(&self) -> Vec<(Cable, u32, f64)> {
        let mut cables: Vec<Cable> = self.runs.iter().map(|run| run.cable).collect();
        cables.sort_unstable();
        cables.dedup();
        let of = |cable| {
            let runs = self.runs.iter().filter(move |run: &&Run| run.cable == cable);
            let cores = runs.clone().map(|run| run.cores).max().unwrap_or(0);
            (cable, cores, runs.map(|run| run.length_mm).sum())
        };
        cables.into_iter().map(of).collect()
    }

    /// The circuits whose current comes by the lamps' cable.
    pub fn lamp_circuits(&self) -> impl Iterator<Item = (usize, &Circuit)> {
        let by_lamps = |index: usize| {
            let fed = |run: &&Run| run.fed_by == Some(0) && run.feeds.iter().any(|feed| feed.circuit == index);
            self.runs.iter().any(|run| fed(&run))
        };
        self.circuits.iter().enumerate().filter(move |(index, _)| by_lamps(*index))
    }

    /// Pins by which the current of the lamps returns.
    pub fn lamp_earths(&self) -> Vec<&'static Pin> {
        let Some(plug) = self.plug else { return Vec::new() };
        let mut earths: Vec<&Pin> = Vec::new();
        for earth in self.lamp_circuits().filter_map(|(_, circuit)| plug.earth_of(circuit.pin?)) {
            if !earths.contains(&earth) {
                earths.push(earth);
            }
        }
        earths
    }

    /// A core for each circuit with a pin and for each earth.
    fn cores_at_plug(&self) -> u32 {
        let fed = self.lamp_circuits().filter(|(_, circuit)| circuit.pin.is_some()).count();
        (fed + self.lamp_earths().len()) as u32
    }

    fn wire_lamps(&mut self, fitting: &Fitting, from: Point) {
        for point in &fitting.places {
            let side = match point[1] {
                left if left < 0.0 => " left",
                right if right > 0.0 => " right",
                _ => "",
            };
            let name = format!("{}{side}", fitting.class.label());
            let mut feeds: Vec<Feed> = Vec::new();
            for draw in draws(fitting) {
                let circuit = self.circuit(draw.light.duty(point[1]), &fitting.part.need.reasons());
                match feeds.iter_mut().find(|feed| feed.circuit == circuit) {
                    // Turn and stop of one pin are one light.
                    Some(feed) => feed.amps = Some(feed.amps.map_or(draw.amps, |amps| amps.max(draw.amps))),
                    None => feeds.push(Feed { circuit, amps: Some(draw.amps) }),
                }
            }
            let cores = feeds.len() as u32 + 1;
            let bare_mm = away(from, *point) + LAMP_TAIL_MM;
            let branch = run(&name, "junction box", &name, Cable::Branch(cores), bare_mm, Some(0));
            self.runs.push(Run { feeds, cores, ..branch });
        }
    }

    /// A cable of two cores from the plug to the last axle, from there to each wheel, and one that charges the breakaway battery.
    fn wire_brakes(&mut self, spec: &Spec, layout: &Layout, fittings: &[Fitting]) {
        let circuit = self.circuit(Duty::Brakes, &["electric brakes asked for"]);
        let Some(&last) = layout.axles_x_mm.last() else { return };
        let trunk = self.runs.len();
        let to_axle = PLUG_TAIL_MM + last + rise(layout) + travel(spec);
        self.runs.push(run("plug to brakes", "plug", "brakes", Cable::Brakes, to_axle, None));
        let amps = loads::magnet_amps(fittings, layout.axles_x_mm.len());
        for axle in 1..=layout.axles_x_mm.len() {
            for side in ["left", "right"] {
                let name = format!("brake, axle {axle} {side}");
                let drop_mm = (layout.frame_bottom_z_mm - layout.axle_z_mm).abs();
                let bare_mm = layout.track_mm / 2.0 + drop_mm + LAMP_TAIL_MM;
                let branch = run(&name, "brake cable", &name, Cable::Brakes, bare_mm, Some(trunk));
                self.runs.push(Run { feeds: vec![Feed { circuit, amps: Some(amps) }], ..branch });
            }
        }
        for battery in fittings.iter().filter(|fitting| fitting.class == PartClass::Breakaway) {
            let circuit = self.circuit(Duty::Charge, &["breakaway battery"]);
            let place = battery.places.first().copied().unwrap_or_default();
            let bare_mm = PLUG_TAIL_MM + away([0.0, 0.0, layout.coupling_height_mm], place);
            let charge = run("plug to breakaway battery", "plug", "breakaway battery", Cable::Branch(2), bare_mm, None);
            self.runs.push(Run { feeds: vec![Feed { circuit, amps: None }], ..charge });
        }
    }

    /// The circuit of a duty: that of its pin, or one of its own without a pin.
    fn circuit(&mut self, duty: Duty, because: &[&str]) -> usize {
        let pin = self.plug.and_then(|plug| plug.pin_of(duty));
        let same = |circuit: &Circuit| match (circuit.pin, pin) {
            (Some(own), Some(pin)) => own.pin == pin.pin,
            (None, None) => circuit.feeds(duty),
            _ => false,
        };
        let index = self.circuits.iter().position(same).unwrap_or(self.circuits.len());
        if index == self.circuits.len() {
            self.circuits.push(Circuit { pin, duties: Vec::new(), because: Vec::new() });
        }
        let circuit = &mut self.circuits[index];
        if !circuit.feeds(duty) {
            circuit.duties.push(duty);
        }
        for reason in because {
            if !circuit.because.iter().any(|known| known == reason) {
                circuit.because.push((*reason).to_owned());
            }
        }
        index
    }
}

/// Ways of a plug.
pub fn ways(connector: Connector) -> u32 {
    match connector {
        Connector::Five => 5,
        Connector::Seven => 7,
        Connector::Thirteen => 13,
    }
}

/// The junction box sits at the middle of the rear, under the frame.
pub fn junction(layout: &Layout) -> Point {
    [layout.bed_rear_x_mm - 100.0, 0.0, layout.frame_bottom_z_mm]
}

fn rise(layout: &Layout) -> f64 {
    (layout.frame_bottom_z_mm - layout.coupling_height_mm).abs()
}

fn travel(spec: &Spec) -> f64 {
    if spec.design.drawbar.telescopic { spec.design.drawbar.travel.mm() } else { 0.0 }
}

/// Along the frame, not across it.
fn away(from: Point, to: Point) -> f64 {
    (0..3).map(|axis| (to[axis] - from[axis]).abs()).sum()
}

/// A run of two cores that feeds nothing yet.
fn run(name: &str, from: &'static str, to: &str, cable: Cable, bare_mm: f64, fed_by: Option<usize>) -> Run {
    let length_mm = if bare_mm.is_finite() { bare_mm.max(0.0) * SPARE } else { 0.0 };
    Run { name: name.into(), from, to: to.into(), cable, cores: 2, length_mm, fed_by, feeds: Vec::new() }
}

#[cfg(test)]
mod tests;
