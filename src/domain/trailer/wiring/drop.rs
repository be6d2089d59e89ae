//! The voltage that cores lose, and the areas that keep it small.
//!
//! ΔU = ρ l I / A for each core of the way out and back. Not reckoned with: contacts, the vehicle's own cable, a chassis that carries current beside
//! the earth core (never relied on). Heating needs no limit of its own: what loses at most 0.6 V over 3 m and back carries at most
//! 0.6 / (2 · 3 · 0.02) = 5 A a mm², and no way from plug to lamp is shorter.

use super::{Cable, Circuit, Feed, Harness, Run};
use crate::plugs::Duty;

/// At the plug.
pub const VOLTS: f64 = 12.0;
/// Of it may be lost at the farthest lamp: common practice, no source.
pub const LOST_SHARE: f64 = 0.05;
/// Ω mm²/m of a stranded core. Copper has 0.01724 at 20 °C (IEC 60028) and 0.0199 at 60 °C; IEC 60228 allows 13.3 Ω/km for a flexible core of
/// 1.5 mm² at 20 °C, which is 0.01995 (both from memory).
pub const RESISTIVITY: f64 = 0.0200;
/// Thinner cores break before they burn: common practice, no source.
pub const LEAST_MM2: f64 = 0.75;
/// Areas that cores are made in, mm² (IEC 60228).
const SERIES: [f64; 7] = [LEAST_MM2, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0];

/// Of a cable's cores: those that feed, and those that return or belong to a supply with an earth of its own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoreArea {
    pub core_mm2: f64,
    pub earth_mm2: f64,
}

impl CoreArea {
    pub const fn equal(mm2: f64) -> Self {
        Self { core_mm2: mm2, earth_mm2: mm2 }
    }
}

/// The areas of a cable where they are known.
pub type Areas<'a> = &'a dyn Fn(Cable) -> Option<CoreArea>;

/// One core on the way to a lamp and back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Term {
    pub length_m: f64,
    pub amps: f64,
    pub mm2: f64,
}

impl Term {
    pub fn volts(self) -> f64 {
        RESISTIVITY * self.length_m * self.amps / self.mm2
    }
}

/// What is lost up to one lamp: out and back in the cable from the plug, then out and back in its branch.
#[derive(Clone, Debug, PartialEq)]
pub struct Drop {
    /// Index into [`Harness::runs`].
    pub run: usize,
    pub terms: Vec<Term>,
}

impl Drop {
    pub fn volts(&self) -> f64 {
        self.terms.iter().map(|term| term.volts()).sum()
    }

    pub fn share(&self) -> f64 {
        self.volts() / VOLTS
    }
}

/// The least areas with which no lamp loses too much.
#[derive(Clone, Debug, PartialEq)]
pub struct Needed {
    pub plug: CoreArea,
    pub branch_mm2: f64,
    pub brakes_mm2: f64,
    /// What the plug's standard asks, where it is known.
    pub standard: Option<CoreArea>,
}

impl Needed {
    /// What is asked of a cable: attribute, least area, what asks for it.
    pub fn areas_of(&self, cable: Cable) -> Vec<(&'static str, f64, &'static str)> {
        const LOSS: &str = "no lamp loses more than 5 % of 12 V (common practice)";
        const STANDARD: &str = "cores that belong to the pins of this plug";
        match cable {
            Cable::Plug => {
                let least = self.standard.unwrap_or(CoreArea::equal(0.0));
                let because = |least: f64, asked: f64| if least >= asked { STANDARD } else { LOSS };
                let CoreArea { core_mm2, earth_mm2 } = self.plug;
                vec![
                    ("core_mm2", core_mm2, because(least.core_mm2, core_mm2)),
                    ("earth_mm2", earth_mm2, because(least.earth_mm2, earth_mm2)),
                ]
            }
            Cable::Branch(_) => vec![("core_mm2", self.branch_mm2, LOSS)],
            Cable::Brakes => {
                vec![("core_mm2", self.brakes_mm2, "no brake magnet loses more than 5 % of 12 V (common practice)")]
            }
        }
    }
}

impl Harness {
    /// Amperes of a circuit at the plug: of all its lamps.
    pub fn circuit_amps(&self, circuit: usize) -> f64 {
        let feeds = self.runs.iter().flat_map(|run| &run.feeds);
        feeds.filter(|feed| feed.circuit == circuit).filter_map(|feed| feed.amps).sum()
    }

    /// Amperes that return together with those of a circuit: at night, braking while turning.
    pub fn earth_amps(&self, circuit: usize) -> f64 {
        let Some(of) = self.circuits.get(circuit) else { return 0.0 };
        if of.feeds(Duty::Brakes) {
            return self.circuit_amps(circuit);
        }
        let earth = |circuit: &Circuit| self.plug.and_then(|plug| plug.earth_of(circuit.pin?)).map(|pin| &pin.pin);
        let shares = |other: &Circuit| other.pin.is_some() && earth(other) == earth(of);
        let turns = |duty| self.circuits.iter().position(|circuit| circuit.feeds(duty)).unwrap_or(usize::MAX);
        let (left, right) = (turns(Duty::TurnLeft), turns(Duty::TurnRight));
        let turning = match circuit {
            own if own == left || own == right => own,
            _ if self.circuit_amps(left) > self.circuit_amps(right) => left,
            _ => right,
        };
        let lit = |index: usize, other: &Circuit| {
            let always = [Duty::TailLeft, Duty::TailRight, Duty::StopLeft, Duty::StopRight];
            index == circuit || index == turning || always.iter().any(|duty| other.feeds(*duty))
        };
        let with =
            self.lamp_circuits().filter(|(index, other)| *index != circuit && shares(other) && lit(*index, other));
        self.circuit_amps(circuit) + with.map(|(index, _)| self.circuit_amps(index)).sum::<f64>()
    }

    /// What is lost at the end of a run; none where nothing flows or an area is not known.
    pub fn drop(&self, run: usize, feed: &Feed, areas: Areas<'_>) -> Option<Drop> {
        let branch = self.runs.get(run)?;
        let amps = feed.amps?;
        let mut terms = Vec::new();
        if let Some(trunk) = branch.fed_by.and_then(|index| self.runs.get(index)) {
            let area = self.circuits.get(feed.circuit)?.area_in(areas(trunk.cable)?);
            terms.extend(both_ways(trunk, self.circuit_amps(feed.circuit), self.earth_amps(feed.circuit), area));
        }
        let back = branch.feeds.iter().filter_map(|feed| feed.amps).sum();
        terms.extend(both_ways(branch, amps, back, areas(branch.cable)?));
        Some(Drop { run, terms })
    }

    /// The lamp of a circuit that loses most; none where nothing flows or an area is not known.
    pub fn farthest(&self, circuit: usize, areas: Areas<'_>) -> Option<Drop> {
        let ends =
            self.runs.iter().enumerate().flat_map(|(index, run)| run.feeds.iter().map(move |feed| (index, feed)));
        let drops =
            ends.filter(|(_, feed)| feed.circuit == circuit).filter_map(|(run, feed)| self.drop(run, feed, areas));
        drops.reduce(|worst, drop| if drop.volts() > worst.volts() { drop } else { worst })
    }

    /// The thinnest cores that lose little enough: first at the plug, then in the branches, which are never thicker.
    pub fn needed(&self) -> Needed {
        let standard = self.standard_areas();
        let least = standard.unwrap_or(CoreArea::equal(LEAST_MM2));
        let lamps: Vec<usize> =
            self.lamp_circuits().filter(|(_, circuit)| circuit.pin.is_some()).map(|(at, _)| at).collect();
        let thickest = CoreArea::equal(SERIES[SERIES.len() - 1]);
        let (plug, branch_mm2) = plug_areas(least)
            .flat_map(|plug| {
                SERIES.into_iter().filter(move |branch| *branch <= plug.core_mm2).map(move |branch| (plug, branch))
            })
            .find(|(plug, branch)| {
                let areas = |cable| match cable {
                    Cable::Plug => Some(*plug),
                    _ => Some(CoreArea::equal(*branch)),
                };
                self.loses_little(&lamps, &areas)
            })
            .unwrap_or((thickest, thickest.core_mm2));
        let brakes: Vec<usize> = (0..self.circuits.len()).filter(|at| self.circuits[*at].feeds(Duty::Brakes)).collect();
        let brakes_mm2 = SERIES.into_iter().find(|mm2| self.loses_little(&brakes, &|_| Some(CoreArea::equal(*mm2))));
        Needed { plug, branch_mm2, brakes_mm2: brakes_mm2.unwrap_or(thickest.core_mm2), standard }
    }

    fn loses_little(&self, circuits: &[usize], areas: Areas<'_>) -> bool {
        let lost = |circuit: &usize| self.farthest(*circuit, areas).map_or(0.0, |drop| drop.share());
        circuits.iter().all(|circuit| lost(circuit) <= LOST_SHARE)
    }

    /// Of the pins that are used; none where the plug's table gives no areas.
    fn standard_areas(&self) -> Option<CoreArea> {
        let most = |areas: Vec<f64>| areas.into_iter().reduce(f64::max);
        let common = self.lamp_circuits().filter_map(|(_, circuit)| circuit.pin.filter(|pin| pin.earth.is_none()));
        let core_mm2 = most(common.filter_map(|pin| pin.core_mm2).collect())?;
        let earth_mm2 = most(self.lamp_earths().into_iter().filter_map(|pin| pin.core_mm2).collect())?;
        Some(CoreArea { core_mm2, earth_mm2 })
    }
}

/// Areas for the cable at the plug, the thinnest first: all cores alike, then with the earth a step thicker.
fn plug_areas(least: CoreArea) -> impl Iterator<Item = CoreArea> {
    let steps = SERIES.into_iter().zip(SERIES.into_iter().skip(1).chain([SERIES[SERIES.len() - 1]]));
    let both = steps.flat_map(|(core_mm2, next)| [core_mm2, next].map(|earth_mm2| CoreArea { core_mm2, earth_mm2 }));
    both.filter(move |area| area.core_mm2 >= least.core_mm2 && area.earth_mm2 >= least.earth_mm2)
}

fn both_ways(run: &Run, out: f64, back: f64, area: CoreArea) -> [Term; 2] {
    let length_m = run.length_mm / 1000.0;
    [Term { length_m, amps: out, mm2: area.core_mm2 }, Term { length_m, amps: back, mm2: area.earth_mm2 }]
}
