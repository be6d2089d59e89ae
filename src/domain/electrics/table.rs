//! Pins, lamps and wires as tables.

use super::{Electrics, Laid, LampDraw, PinUse, Wire};
use crate::{
    measure::round,
    plugs::{Pin, Plug},
    trailer::wiring::{Drop, Run, draws},
};

pub fn of(laid: &Laid<'_>) -> Electrics {
    let Some(plug) = laid.harness.plug else { return Electrics::default() };
    Electrics {
        plug: plug.title(),
        source: plug.source.clone(),
        sure: Some(plug.sure),
        pins: plug.pins.iter().map(|pin| pin_use(laid, plug, pin)).collect(),
        lamps: lamps(laid),
        wires: wires(laid, plug),
    }
}

fn pin_use(laid: &Laid<'_>, plug: &Plug, pin: &Pin) -> PinUse {
    let harness = laid.harness;
    let own = harness.circuits.iter().position(|circuit| circuit.pin.is_some_and(|of| of.pin == pin.pin));
    let returns = returning(laid, plug, pin);
    PinUse {
        pin: pin.pin.clone(),
        letter: pin.letter.clone(),
        words: pin.words.clone(),
        core: pin.core.clone(),
        is_used: own.is_some() || returns.is_some(),
        amps: own.map(|circuit| harness.circuit_amps(circuit)).or(returns),
    }
}

/// The most that returns by a pin at once; none where nothing does.
fn returning(laid: &Laid<'_>, plug: &Plug, pin: &Pin) -> Option<f64> {
    let harness = laid.harness;
    let back = |circuit: &usize| {
        let feed = harness.circuits.get(*circuit)?.pin?;
        (plug.earth_of(feed)?.pin == pin.pin && feed.pin != pin.pin).then(|| harness.earth_amps(*circuit))
    };
    (0..harness.circuits.len()).filter_map(|circuit| back(&circuit)).reduce(f64::max)
}

fn lamps(laid: &Laid<'_>) -> Vec<LampDraw> {
    let of = |fitting| {
        let fitting: &crate::trailer::Fitting = fitting;
        draws(fitting).into_iter().map(|draw| LampDraw {
            lamp: fitting.class.label().to_owned(),
            item: fitting.part.item.as_ref().map_or_else(String::new, |item| item.name.clone()),
            light: draw.light.label().to_owned(),
            count: fitting.places.len(),
            watts: draw.watts,
            amps: draw.amps,
            is_known: draw.is_known,
        })
    };
    laid.fittings.iter().flat_map(of).collect()
}

/// Each core: run by run, those that begin at the plug first.
fn wires(laid: &Laid<'_>, plug: &Plug) -> Vec<Wire> {
    let runs = &laid.harness.runs;
    let trunks = runs
        .iter()
        .enumerate()
        .filter(|(_, run)| run.feeds.is_empty())
        .flat_map(|(at, run)| trunk(laid, plug, at, run));
    let ends = runs.iter().enumerate().flat_map(|(at, run)| run.feeds.iter().map(move |feed| (at, run, feed)));
    let ends = ends.map(|(at, run, feed)| Wire {
        amps: feed.amps,
        volts: laid.harness.drop(at, feed, &|cable| laid.area(cable)).map(|drop| drop.volts()),
        ..wire(laid, run, feed.circuit)
    });
    trunks.chain(ends).collect()
}

/// The cores of a run that feeds others, its earths last.
fn trunk(laid: &Laid<'_>, plug: &Plug, at: usize, run: &Run) -> Vec<Wire> {
    let harness = laid.harness;
    let feeds = |circuit: usize| {
        let fed = |branch: &&Run| branch.fed_by == Some(at) && branch.feeds.iter().any(|feed| feed.circuit == circuit);
        harness.runs.iter().any(|branch| fed(&branch))
    };
    let circuits: Vec<usize> = (0..harness.circuits.len())
        .filter(|circuit| feeds(*circuit) && (harness.circuits[*circuit].pin.is_some() || at > 0))
        .collect();
    // Out and back of this run alone.
    let share = |drop: Drop| drop.terms.iter().take(2).map(|term| term.volts()).sum::<f64>();
    let mut wires: Vec<Wire> = Vec::new();
    let mut earths: Vec<(&Pin, f64)> = Vec::new();
    for &circuit in &circuits {
        wires.push(Wire {
            amps: Some(harness.circuit_amps(circuit)),
            volts: harness.farthest(circuit, &|cable| laid.area(cable)).map(share),
            ..wire(laid, run, circuit)
        });
        let Some(earth) = harness.circuits[circuit].pin.and_then(|pin| plug.earth_of(pin)) else { continue };
        let back = harness.earth_amps(circuit);
        match earths.iter_mut().find(|(pin, _)| pin.pin == earth.pin) {
            Some((_, most)) => *most = most.max(back),
            None => earths.push((earth, back)),
        }
    }
    let area = laid.area(run.cable);
    wires.extend(earths.into_iter().map(|(pin, back)| Wire {
        circuit: pin.words.clone(),
        pin: pin.pin.clone(),
        core: pin.core.clone(),
        from: run.from.to_owned(),
        to: run.to.clone(),
        length_mm: round::up(run.length_mm, 10.0),
        core_mm2: area.map(|area| area.earth_mm2),
        amps: Some(back),
        volts: None,
    }));
    wires
}

fn wire(laid: &Laid<'_>, run: &Run, circuit: usize) -> Wire {
    let of = &laid.harness.circuits[circuit];
    Wire {
        circuit: of.words().to_owned(),
        pin: of.pin.map_or_else(String::new, |pin| pin.pin.clone()),
        core: of.pin.map_or_else(String::new, |pin| pin.core.clone()),
        from: run.from.to_owned(),
        to: run.to.clone(),
        length_mm: round::up(run.length_mm, 10.0),
        core_mm2: laid.area(run.cable).map(|area| of.area_in(area).core_mm2),
        amps: None,
        volts: None,
    }
}
