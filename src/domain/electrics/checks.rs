//! Plug and pins, cores, charge of the breakaway battery, and the voltage that each circuit loses.

use super::Laid;
use crate::{
    measure::{Grouping, beside, show_number},
    plugs::{self, Duty, Plug},
    trailer::{
        Spec,
        wiring::{Cable, Circuit, CoreArea, Drop, LOST_SHARE, RESISTIVITY, VOLTS},
    },
    working::{Check, Sure, Verdict, Working},
};

pub fn all(spec: &Spec, laid: &Laid<'_>) -> Vec<Check> {
    let Some(plug) = laid.harness.plug else { return Vec::new() };
    let region = spec.need.usage.region.as_str();
    let mut checks = vec![usual(plug, region), pins(laid, plug, region), cores(laid)];
    checks.extend(breakaway(laid, plug));
    checks.extend((0..laid.harness.circuits.len()).filter_map(|circuit| loss(laid, circuit)));
    checks
}

/// Whether vehicles of the region have such a socket.
fn usual(plug: &Plug, region: &str) -> Check {
    let (key, name) = ("electrics/plug", "The plug fits the vehicle's socket");
    if plug.is_usual_in(region) {
        let says =
            format!("A plug of {} is usual in this region. Look at the vehicle's socket all the same.", plug.title());
        return Check::told(key, name, Verdict::Holds, says);
    }
    let others: Vec<String> = plugs::all().iter().filter(|other| other.is_usual_in(region)).map(Plug::title).collect();
    let says = format!(
        "A plug of {} ways ({}) is not usual in this region: {} is. Look at the vehicle's socket, or choose another.",
        plug.ways,
        plug.standard,
        others.join(" or ")
    );
    Check::told(key, name, Verdict::Close, says)
}

/// Whether everything that is fitted has a pin.
fn pins(laid: &Laid<'_>, plug: &Plug, region: &str) -> Check {
    let (key, name) = ("electrics/pins", "A pin for everything that is fitted");
    let needed = |circuit: &&Circuit| !circuit.feeds(Duty::Charge) || circuit.duties.len() > 1;
    let circuits = || laid.harness.circuits.iter().filter(needed);
    let without: Vec<&Circuit> = circuits().filter(|circuit| circuit.pin.is_none()).collect();
    if without.is_empty() {
        let says = format!("Each of the {} circuits has a pin in {}.", circuits().count(), plug.title());
        return Check::told(key, name, Verdict::Holds, says);
    }
    let lacks = without.iter().map(|circuit| match circuit.because.is_empty() {
        true => circuit.words().to_owned(),
        false => format!("{} ({})", circuit.words(), circuit.because.join("; ")),
    });
    let lacks: Vec<String> = lacks.collect();
    let duties = || circuits().flat_map(|circuit| &circuit.duties);
    let would_do = |other: &&Plug| other.is_usual_in(region) && duties().all(|duty| other.pin_of(*duty).is_some());
    let mend = match plugs::all().iter().find(would_do) {
        Some(other) => format!("{} has one for all: choose it as the plug.", other.title()),
        None => {
            "No plug that is usual here has one for all: leave it off, or give it a connector of its own.".to_owned()
        }
    };
    let says = format!("{} has no pin for {}. {mend}", plug.title(), lacks.join(", nor for "));
    let mut check = Check::told(key, name, Verdict::Fails, says);
    (check.demand, check.capacity) =
        (Some(circuits().count() as f64), Some((circuits().count() - without.len()) as f64));
    check
}

/// Whether every cable has the cores that it needs, and that of the plug the standard's areas.
fn cores(laid: &Laid<'_>) -> Check {
    let (key, name) = ("electrics/cores", "Cores of the cables");
    let mut full = None;
    for (cable, needed, _) in laid.harness.cables() {
        let Some(item) = laid.item(cable) else {
            let missing = format!("a cable of {needed} cores in the rate book, for the run {}", run_name(laid, cable));
            return Check::cannot_tell(key, name, missing, "The rate book has no cable that does.");
        };
        let Some(has) = item.figure("cores") else {
            let missing = format!("the cores of {} ({}) in the rate book", item.name, item.code);
            return Check::cannot_tell(key, name, missing, "How many cores the cable has is not known.");
        };
        let says = format!("{} needs {needed} cores, {} has {has:.0}.", run_name(laid, cable), item.name);
        let working = Working::new(format!("Cores of the run {}", run_name(laid, cable)), "n ≥ n_min")
            .given("n_min", "circuits with a pin and their earths", f64::from(needed), "")
            .gives("n", has, "")
            .source("a core for each circuit and for each earth: the chassis is never relied on", Sure::CommonPractice);
        let mut check =
            Check::compared(key, name, f64::from(needed), has, "cores", says).with(working).of_part(&item.name);
        if check.verdict == Verdict::Fails {
            return check;
        }
        // Cables come in numbers of cores: being full is no warning.
        check.verdict = Verdict::Holds;
        if cable == Cable::Plug {
            full = Some(thin(laid, check));
        }
    }
    full.unwrap_or_else(|| Check::told(key, name, Verdict::Holds, "Nothing is wired."))
}

/// A cable picked by hand may be thinner than the plug's standard.
fn thin(laid: &Laid<'_>, mut check: Check) -> Check {
    let (Some(standard), Some(area)) = (laid.harness.needed().standard, laid.area(Cable::Plug)) else { return check };
    if area.core_mm2 < standard.core_mm2 || area.earth_mm2 < standard.earth_mm2 {
        let words = |area: CoreArea| format!("{} mm² (earth {} mm²)", figure(area.core_mm2), figure(area.earth_mm2));
        check.verdict = Verdict::Close;
        check.says = format!(
            "{} Its cores of {} are thinner than {}, which belongs to this plug.",
            check.says,
            words(area),
            words(standard)
        );
    }
    check
}

/// The battery of a breakaway switch must be full when it is needed.
fn breakaway(laid: &Laid<'_>, plug: &Plug) -> Option<Check> {
    let (key, name) = ("electrics/breakaway-charge", "Charge of the breakaway battery");
    let circuit = laid.harness.circuits.iter().find(|circuit| circuit.feeds(Duty::Charge))?;
    Some(match circuit.pin {
        Some(pin) => {
            let says =
                format!("Pin {} of the plug ({}) keeps it charged, if the vehicle feeds that pin.", pin.pin, pin.words);
            Check::told(key, name, Verdict::Holds, says)
        }
        None => Check::cannot_tell(
            key,
            name,
            "how the breakaway battery is charged: a plug with a pin for it, or a charger of its own",
            format!(
                "{} has no pin for it: charge it in the shop and before trips, or from a panel or the brake circuit as its maker says.",
                plug.title()
            ),
        ),
    })
}

/// What a circuit loses at its farthest lamp.
fn loss(laid: &Laid<'_>, index: usize) -> Option<Check> {
    let circuit = &laid.harness.circuits[index];
    // What has no pin has no way to be reckoned; the check of the pins says so.
    if circuit.pin.is_none() && !circuit.feeds(Duty::Brakes) || laid.harness.circuit_amps(index) <= 0.0 {
        return None;
    }
    let words = circuit.words();
    let (key, name) = (format!("electrics/drop/{}", words.replace(' ', "-")), format!("Voltage lost, {words}"));
    let Some(drop) = laid.harness.farthest(index, &|cable| laid.area(cable)) else {
        let says = "What a core loses follows from its area, and that is not known.";
        return Some(Check::cannot_tell(key, name, missing_area(laid, index), says));
    };
    let (lost, limit) = (drop.volts(), LOST_SHARE * VOLTS);
    let run = &laid.harness.runs[drop.run];
    let [share, most] = beside(100.0 * drop.share(), 100.0 * LOST_SHARE, 1);
    let mut says = format!(
        "Of {VOLTS:.0} V at the plug {} V ({share} %) are lost on the way to the {} and back; at most {most} % is common practice.",
        figure(lost),
        run.to
    );
    if lost > limit {
        let needed = laid.harness.needed();
        let plug = if circuit.feeds(Duty::Brakes) { CoreArea::equal(needed.brakes_mm2) } else { needed.plug };
        says = format!(
            "{says} Cores of {} mm² from the plug (its earth {} mm²) would do, or lamps that draw less.",
            figure(plug.core_mm2),
            figure(plug.earth_mm2)
        );
    }
    Some(Check::compared(key, name, lost, limit, "V", says).with(working(laid, &drop, words)).of_part(&run.to))
}

fn working(laid: &Laid<'_>, drop: &Drop, words: &str) -> Working {
    let given = [("out from the plug", "back to the plug"), ("out in the branch", "back in the branch")];
    let run = &laid.harness.runs[drop.run];
    let mut sum = Vec::new();
    let mut working = Working::new(format!("Voltage lost up to the {}, {words}", run.to), "");
    working = working.given("ρ", "resistivity of a flexible copper core", RESISTIVITY, "Ω mm²/m");
    for (pair, (terms, (out, back))) in drop.terms.chunks(2).zip(given).enumerate() {
        let length = format!("l_{}", pair + 1);
        if let Some(term) = terms.first() {
            working =
                working.given(&length, format!("length of the way {out}, with a tenth to spare"), term.length_m, "m");
        }
        for (term, way) in terms.iter().zip([out, back]) {
            let (current, area) = (format!("I_{}", sum.len() + 1), format!("A_{}", sum.len() + 1));
            working = working.given(&current, format!("current {way}"), term.amps, "A").given(
                &area,
                format!("area of the core {way}"),
                term.mm2,
                "mm²",
            );
            sum.push(format!("{length} {current} / {area}"));
        }
    }
    working.formula = format!("ΔU = ρ ({})", sum.join(" + "));
    working.gives("ΔU", drop.volts(), "V").source(
        "Ohm's law; ρ of a flexible core by IEC 60228, from memory; back flows what burns together at night, braking while turning: common practice",
        Sure::CommonPractice,
    )
}

/// The cable whose area is missing, and where it can be given.
fn missing_area(laid: &Laid<'_>, circuit: usize) -> String {
    let runs = &laid.harness.runs;
    let branches = runs.iter().filter(|run| run.feeds.iter().any(|feed| feed.circuit == circuit));
    let ways = branches.flat_map(|run| [run.fed_by.and_then(|trunk| runs.get(trunk)), Some(run)]);
    let unknown = ways.flatten().find(|run| laid.area(run.cable).is_none());
    match unknown.map(|run| (run, laid.item(run.cable))) {
        Some((_, Some(item))) => format!("the core area (core_mm2) of {} ({}) in the rate book", item.name, item.code),
        Some((run, None)) => format!("a cable in the rate book for the run {}", run.name),
        None => "a figure that could not be computed".into(),
    }
}

fn run_name<'a>(laid: &'a Laid<'_>, cable: Cable) -> &'a str {
    laid.harness.runs.iter().find(|run| run.cable == cable).map_or("", |run| run.name.as_str())
}

fn figure(value: f64) -> String {
    show_number(value, 2, Grouping::Western)
}
