//! The classes of ball couplings in the United States: coupler, ball and hitch by the trailer's gross mass. Elsewhere only the ball's size.
//!
//! Nothing is bought by them: Maryland's text is law there and a guide in other states, and links to SAE J684 are from memory.

use super::{chosen, coupling::no_head, vehicles::named};
use crate::{
    measure::beside,
    shop::{PartClass, PartItem},
    strength::{is_us, whole},
    trailer::{CouplingForm, Spec, TowingVehicle, Trailer},
    weights::{Extreme, Weights},
    working::{Check, Sure, Verdict, Working},
};

const SOURCE: &str =
    "Maryland COMAR 11.13.08.10, shown as a design guide elsewhere; classes as in SAE J684 (from memory)";

/// A class of ball coupling, and what coupler and ball must withstand at least.
///
/// Source: Maryland COMAR 11.13.08.10, read (state text; the classes match SAE J684, that from memory).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BallClass {
    pub class: u32,
    /// Smallest ball, inches; none where the ball is sized by its strength.
    pub ball_in: Option<f64>,
    /// Longitudinal tension and compression, transverse, vertical tension, vertical compression: kN.
    pub strengths_kn: [f64; 4],
}

/// One pound-force, N.
const LBF_N: f64 = 4.448_222;

/// One pound, kg.
const LB_KG: f64 = 0.453_592_37;

/// The class of a trailer by its gross mass, kg; none above 10,000 lb.
pub fn ball_class(gross_kg: f64) -> Option<BallClass> {
    let kn = |lbf: [f64; 4]| lbf.map(|lbf| lbf * LBF_N / 1000.0);
    let pounds = gross_kg / LB_KG;
    let small: [(f64, f64, [f64; 4]); 3] = [
        (2000.0, 1.875, [6000.0, 2000.0, 2500.0, 2500.0]),
        (3500.0, 2.0, [10_500.0, 3000.0, 4500.0, 4500.0]),
        (5000.0, 2.0, [15_000.0, 4000.0, 7000.0, 7000.0]),
    ];
    for (nth, (most, ball, strengths)) in small.into_iter().enumerate() {
        if pounds <= most {
            return Some(BallClass { class: nth as u32 + 1, ball_in: Some(ball), strengths_kn: kn(strengths) });
        }
    }
    let by_weight = [3.0, 1.0, 1.3, 1.4].map(|times| times * pounds);
    (pounds <= 10_000.0).then(|| BallClass { class: 4, ball_in: None, strengths_kn: kn(by_weight) })
}

/// What a weight-carrying hitch for trailers of this gross mass, kg, is tested with: down; along, the worse of push and pull; across: kN.
///
/// Source: Maryland COMAR 11.13.08.10, read, in pounds: 0.47 R + 480 down and pushing, 0.23 R + 1530 pulling, 0.20 R + 500 across.
pub fn hitch_test_kn(gross_kg: f64) -> [f64; 3] {
    let r = gross_kg / LB_KG;
    [0.47 * r + 480.0, (0.47 * r + 480.0).max(0.23 * r + 1530.0), 0.20 * r + 500.0].map(|lbf| lbf * LBF_N / 1000.0)
}

/// The largest static load, kg, on a hitch of the class of this gross mass, kg: 200 lb, 300 lb, above that 15 % of the gross mass.
///
/// Source: a class table in a club's newsletter, read; no standard. Of classes 3 and 4 it means hitches that distribute the weight.
pub fn most_static_kg(gross_kg: f64) -> Option<f64> {
    Some(match ball_class(gross_kg)?.class {
        1 => 200.0 * LB_KG,
        2 => 300.0 * LB_KG,
        _ => 0.15 * gross_kg,
    })
}

pub fn check(spec: &Spec, trailer: &Trailer, weights: &Weights, checks: &mut Vec<Check>) {
    if !is_us(spec) {
        checks.push(usual_ball(spec.design.towing.coupling));
        return;
    }
    let Some(class) = ball_class(weights.gross_kg) else {
        let says = "Above 10,000 lb the class table ends.";
        checks.push(Check::told("towing/ball", "Ball and class", Verdict::Fails, says));
        return;
    };
    checks.push(ball(spec, class, weights.gross_kg));
    let head = chosen(trailer, PartClass::Coupling).map(|(head, _)| head);
    checks.push(coupler(spec.design.towing.coupling, head, class, weights.gross_kg));
    checks.extend(hitch_test(spec.design.towing.coupling, head, weights.gross_kg));
    let vehicles = spec.need.towing_vehicles.iter().enumerate();
    checks.extend(vehicles.filter_map(|(index, vehicle)| hitch_class(index, vehicle, class, weights)));
}

fn usual_ball(form: CouplingForm) -> Check {
    let (key, name) = ("towing/ball", "Ball and class");
    let usual = matches!(form, CouplingForm::Ball50 | CouplingForm::Eye);
    let verdict = if usual { Verdict::Holds } else { Verdict::Close };
    let says = if usual {
        format!("{}: usual in this region.", form.label())
    } else {
        format!(
            "{} on a vehicle of this region: a 50 mm ball is usual there. Make sure that the vehicle's ball fits.",
            form.label()
        )
    };
    Check::told(key, name, verdict, says)
}

/// Diameter of the ball that a coupler takes, inches; none of a towing eye.
const fn inches(form: CouplingForm) -> Option<f64> {
    Some(match form {
        CouplingForm::Ball1_7_8 => 1.875,
        CouplingForm::Ball50 => 1.9685,
        CouplingForm::Ball2 => 2.0,
        CouplingForm::Ball2_5_16 => 2.3125,
        CouplingForm::Eye => return None,
    })
}

fn ball(spec: &Spec, class: BallClass, gross: f64) -> Check {
    let (key, name) = ("towing/ball", "Ball and class");
    let Some(inches) = inches(spec.design.towing.coupling) else {
        return Check::told(key, name, Verdict::Close, "A towing eye is outside the class table of ball couplings.");
    };
    let [along, across, up, down] = class.strengths_kn;
    let says = format!(
        "Class {} by {} kg gross: coupler and ball withstand at least {along:.1} kN along, {across:.1} kN across, {up:.1} kN up and \
         {down:.1} kN down{}.",
        class.class,
        whole(gross),
        class.ball_in.map_or(String::new(), |least| format!(", on a ball of {least} in or more"))
    );
    let working = Working::new("Longitudinal strength asked of coupler and ball", "F ≥ F_min")
        .given("G", "gross mass", gross, "kg")
        .gives("F", along, "kN")
        .source(SOURCE, Sure::Read);
    let verdict = match class.ball_in {
        Some(least) if inches + 1e-9 < least => Verdict::Fails,
        _ => Verdict::Holds,
    };
    Check::told(key, name, verdict, says).with(working)
}

/// The coupler chosen, whether it is one of the table: `Err` says why its strength cannot be told.
fn class_of<'h>(
    key: &str,
    name: &str,
    form: CouplingForm,
    head: Option<&'h PartItem>,
) -> Result<(&'h PartItem, f64, BallClass), Box<Check>> {
    let head = head.ok_or_else(|| Box::new(no_head(key, name)))?;
    if matches!(form, CouplingForm::Ball50 | CouplingForm::Eye) {
        let missing = "a coupling of the class table (a ball in inches)";
        let says = "It is rated as UN R55 has it (D value), not by the class table: choose a coupler for a ball in inches, or ask its maker.";
        return Err(Box::new(Check::cannot_tell(key, name, missing, says)));
    }
    let Some(rated) = head.figure("rating_kg") else {
        let missing = format!("the rating of {} in the rate book", head.name);
        let says = "The coupler's rating is not in the rate book: enter its rating_kg there.";
        return Err(Box::new(Check::cannot_tell(key, name, missing, says)));
    };
    // Above the table a coupler is at least of its last class.
    let most = rated.min(10_000.0 * LB_KG);
    let class = ball_class(most).ok_or_else(|| Box::new(no_head(key, name)))?;
    Ok((head, rated, class))
}

/// The four directions of the class table: name, what is asked, what is borne, and the fullest of them.
fn fullest(asked: [f64; 4], bears: [f64; 4]) -> (&'static str, f64, f64) {
    let ways = ["along", "across", "up", "down"].into_iter().zip(asked.into_iter().zip(bears));
    let ways = ways.map(|(way, (asked, bears))| (way, asked, bears));
    ways.reduce(|a, b| if b.1 / b.2 > a.1 / a.2 { b } else { a }).unwrap_or(("along", 0.0, 0.0))
}

/// What the class of the coupler's own rating withstands, against what the trailer's class asks.
fn coupler(form: CouplingForm, head: Option<&PartItem>, asked: BallClass, gross: f64) -> Check {
    let (key, name) = ("towing/coupler-strength", "Strength of the coupler");
    let (head, rated, own) = match class_of(key, name, form, head) {
        Ok(found) => found,
        Err(check) => return *check,
    };
    let (way, least, most) = fullest(asked.strengths_kn, own.strengths_kn);
    let [asks, bears] = beside(least, most, 1);
    let says = format!(
        "{}, rated for {} kg, is of class {}: at least {bears} kN {way}; class {}, this trailer's, asks for {asks} kN.",
        head.name,
        whole(rated),
        own.class,
        asked.class
    );
    let working = Working::new(format!("Strength asked of the coupler, {way}"), "F ≥ F_class")
        .given("G", "gross mass, which gives the class", gross, "kg")
        .given("R", "rating of the coupler, which gives its class", rated, "kg")
        .gives("F", least, "kN")
        .source(SOURCE, Sure::Read);
    let mut check = Check::compared(key, name, least, most, "kN", says).with(working).of_part(&head.name);
    // Both come from one table: being full means being of the class.
    if check.verdict == Verdict::Close {
        check.verdict = Verdict::Holds;
    }
    check
}

/// The coupler must not be what gives way before a hitch for this trailer has stood its test.
fn hitch_test(form: CouplingForm, head: Option<&PartItem>, gross: f64) -> Option<Check> {
    let (key, name) = ("towing/hitch-test", "Coupler under the hitch's test loads");
    let (head, _, own) = class_of(key, name, form, head).ok()?;
    let [down, along, across] = hitch_test_kn(gross);
    let (way, load, bears) = fullest([along, across, 0.0, down], own.strengths_kn);
    let [tested, most] = beside(load, bears, 1);
    let says = format!(
        "A hitch for {} kg is tested with {along:.1} kN along, {down:.1} kN down and {across:.1} kN across; {} withstands {most} kN {way} \
         against {tested} kN.",
        whole(gross),
        head.name
    );
    // In pounds, as the text has it.
    let r = gross / LB_KG;
    let working = match way {
        "down" => Working::new("Test load of the hitch, down", "V = 0.47 R + 480"),
        "across" => Working::new("Test load of the hitch, across", "V = 0.20 R + 500"),
        _ if 0.47 * r + 480.0 > 0.23 * r + 1530.0 => Working::new("Test load of the hitch, along", "V = 0.47 R + 480"),
        _ => Working::new("Test load of the hitch, along", "V = 0.23 R + 1530"),
    };
    let working = working
        .given("R", "gross mass of the trailer", r, "lb")
        .gives("V", load * 1000.0 / LBF_N, "lbf")
        .source(SOURCE, Sure::Read);
    Some(Check::compared(key, name, load, bears, "kN", says).with(working).of_part(&head.name))
}

/// A hitch's class bears so much downwards; a heavier load asks for a hitch of a higher class, never fails for itself: which hitch
/// the vehicle has is its owner's to see.
fn hitch_class(index: usize, vehicle: &TowingVehicle, class: BallClass, weights: &Weights) -> Option<Check> {
    let case = weights.envelope.worst_on(Extreme::MostOnVehicle, index)?;
    let (name, on) = (named(vehicle), case.coupling_kg.max(0.0));
    let bears = most_static_kg(weights.gross_kg)?;
    let [load, most] = beside(on, bears, 0);
    let mend = if on > bears { " A hitch of a higher class is needed, or less load on the coupling." } else { "" };
    let says = format!(
        "By {} kg gross the hitch of {name} must be of class {} or higher, which usually bears {most} kg; {load} kg are on it ({}).{mend}",
        whole(weights.gross_kg),
        class.class,
        case.name
    );
    let source =
        "a class table in a club's newsletter, read; no standard; 15 % is of hitches that distribute the weight";
    let working = Working::new("Load on a hitch of this class", "S ≤ S_class")
        .given("G", "gross mass, which gives the class", weights.gross_kg, "kg")
        .gives("S", on, "kg")
        .source(source, Sure::CommonPractice);
    let title = format!("Class of {name}'s hitch");
    let mut check = Check::compared(format!("towing/hitch-class/{name}"), title, on, bears, "kg", says)
        .with(working)
        .in_case(&case.name)
        .of_part(name);
    if check.verdict == Verdict::Fails {
        check.verdict = Verdict::Close;
    }
    Some(check)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{measure::Money, shop::Attribute};

    fn close(found: f64, expect: f64, within: f64) {
        assert!((found - expect).abs() <= within, "{found} instead of {expect}");
    }

    /// Source: Maryland COMAR 11.13.08.10, read, converted (table U-1); class 4 at 7,000 lb computed.
    #[test]
    fn classes_of_ball_couplings() {
        for (kg, class, ball, strengths) in [
            (907.0, 1, Some(1.875), [26.7, 8.9, 11.1, 11.1]),
            (908.0, 2, Some(2.0), [46.7, 13.3, 20.0, 20.0]),
            (1588.0, 3, Some(2.0), [66.7, 17.8, 31.1, 31.1]),
            (1587.0, 2, Some(2.0), [46.7, 13.3, 20.0, 20.0]),
        ] {
            let found = ball_class(kg).unwrap();
            assert_eq!((found.class, found.ball_in), (class, ball), "{kg} kg");
            for (found, expect) in found.strengths_kn.into_iter().zip(strengths) {
                close(found, expect, 0.06);
            }
        }
        let heavy = ball_class(7000.0 * 0.453_592_37).unwrap();
        for (found, pounds) in heavy.strengths_kn.into_iter().zip([21_000.0, 7000.0, 9100.0, 9800.0]) {
            close(found * 1000.0 / LBF_N, pounds, 0.01);
        }
        assert_eq!(ball_class(4600.0), None);
    }

    /// Source: Maryland COMAR 11.13.08.10, read; values computed at R = 2000 lb (reference E): 1420 down and pushing, 1990 pulling, 900 across.
    #[test]
    fn test_loads_of_hitches() {
        let [down, along, across] = hitch_test_kn(2000.0 * LB_KG).map(|kn| kn * 1000.0 / LBF_N);
        close(down, 1420.0, 1e-6);
        close(along, 1990.0, 1e-6);
        close(across, 900.0, 1e-6);
        // From 4375 lb pushing is the worse: 0.47 R + 480 = 0.23 R + 1530.
        let [down, along, _] = hitch_test_kn(4376.0 * LB_KG);
        close(along, down, 1e-12);
    }

    /// Source: class limits read in a newsletter: 200 lb, 300 lb, 15 %.
    #[test]
    fn static_loads_by_class() {
        for (pounds, most) in [(2000.0, 200.0), (2001.0, 300.0), (3500.0, 300.0), (3501.0, 525.15), (7000.0, 1050.0)] {
            close(most_static_kg(pounds * LB_KG).unwrap() / LB_KG, most, 1e-6);
        }
        assert_eq!(most_static_kg(4600.0), None);
    }

    fn head(rated: Option<f64>) -> PartItem {
        let attributes = rated.map(|kg| ("rating_kg".to_owned(), Attribute::Figure(kg))).into_iter().collect();
        PartItem {
            code: "C".into(),
            name: "coupler".into(),
            mass_kg: 3.0,
            price: Money::ZERO,
            minutes: None,
            attributes,
        }
    }

    /// Of the class table above: a coupler for 2,000 lb withstands 6000 lbf along, behind 3,000 lb 10,500 are asked.
    #[test]
    fn a_coupler_of_too_low_a_class_fails() {
        let (gross, form) = (3000.0 * LB_KG, CouplingForm::Ball2);
        let asked = ball_class(gross).unwrap();
        let small = coupler(form, Some(&head(Some(907.0))), asked, gross);
        assert_eq!(small.verdict, Verdict::Fails);
        close(small.usage.unwrap(), 4500.0 / 2500.0, 1e-9);
        assert_eq!(coupler(form, Some(&head(Some(1587.0))), asked, gross).verdict, Verdict::Holds);
        // Its hitch's test presses down with 0.47 × 3000 + 480 = 1890 lbf, of 2500 that the small one withstands.
        let tested = hitch_test(form, Some(&head(Some(907.0))), gross).unwrap();
        close(tested.usage.unwrap(), 1890.0 / 2500.0, 1e-9);
        for (form, rated, lacks) in
            [(form, None, "the rating"), (CouplingForm::Ball50, Some(1600.0), "a coupling of the class table")]
        {
            let unknown = coupler(form, Some(&head(rated)), asked, gross);
            assert!(matches!(&unknown.verdict, Verdict::CannotTell(what) if what.contains(lacks)), "{unknown:?}");
        }
        assert!(matches!(coupler(form, None, asked, gross).verdict, Verdict::CannotTell(_)));
    }
}
