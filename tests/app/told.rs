//! What a fabricator is told: the checks and gaps of an odd trailer, in words.

use std::ops::ControlFlow;

use hitchwright::domain::{
    estimate::{Estimate, estimate},
    measure::{Length, Mass, Money},
    nesting::Budget,
    pricing::FindingKind,
    shop::{Rack, ShopBook},
    trailer::{ChainPurpose, DeckFixing, Load, Overruled, Spec, Suspension},
    working::{Check, Verdict},
};

fn worked(spec: &Spec) -> Estimate {
    estimate(spec, &ShopBook::demo(), &Rack::default(), Budget::preview(), &mut |_| ControlFlow::Continue(()))
        .expect("a trailer")
}

fn check<'e>(estimate: &'e Estimate, key: &str) -> Option<&'e Check> {
    estimate.checks.iter().find(|check| check.key == key)
}

#[test]
fn an_axle_that_carried_less_than_it_must_fails_and_an_unknown_one_cannot_be_told() {
    let mut spec = Spec::default();
    spec.need.declared_gross = Some(Mass::from_kg(750.0));
    spec.design.running_gear.suspension = Suspension::FromVehicle;
    let missing = |spec: &Spec| match check(&worked(spec), "part/axle").map(|check| check.verdict.clone()) {
        Some(Verdict::CannotTell(missing)) => missing,
        other => format!("{other:?}"),
    };
    assert_eq!(missing(&spec), "the mass of the axle taken from a vehicle");
    let unweighed = worked(&spec);
    let gap = unweighed.build_up.findings.iter().find(|finding| finding.key == "part/axle").expect("a gap");
    assert_eq!(gap.kind, FindingKind::Missing);
    assert!(gap.says.contains("its mass is not known") && !gap.says.contains("rate book"), "{}", gap.says);
    spec.design.running_gear.donor.mass = Some(Mass::from_kg(48.0));
    spec.design.running_gear.donor.price = Some(Money("120".parse().expect("money")));
    assert_eq!(missing(&spec), "what the axle carried in its vehicle");
    spec.design.running_gear.donor.rating = Some(Mass::from_kg(500.0));
    let short = worked(&spec);
    let told = check(&short, "part/axle").expect("a check");
    assert_eq!(told.verdict, Verdict::Fails);
    assert!(told.says.contains("rating is 500 kg, at least 6"), "{}", told.says);
    spec.design.running_gear.donor.rating = Some(Mass::from_kg(900.0));
    assert_eq!(check(&worked(&spec), "part/axle"), None);
}

#[test]
fn a_chain_that_only_keeps_the_trailer_says_what_is_missing() {
    let mut spec = Spec::default();
    assert_eq!(check(&worked(&spec), "towing/secondary"), None);
    for purpose in [ChainPurpose::KeepsOnly, ChainPurpose::None] {
        spec.design.towing.chains = purpose;
        let estimate = worked(&spec);
        let told = check(&estimate, "towing/secondary").expect("a check");
        assert_eq!(told.verdict, Verdict::Fails);
        assert!(told.says.contains("a chain and shackles rated for"), "{}", told.says);
    }
}

#[test]
fn a_part_that_nobody_sells_is_named_with_its_strictest_need() {
    let mut spec = Spec::default();
    spec.design.towing.jockey_rating = Some(Mass::from_kg(1900.0));
    let estimate = worked(&spec);
    let gap = estimate.build_up.findings.iter().find(|finding| finding.key == "part/jockey-wheel").expect("a gap");
    assert_eq!(
        gap.says,
        "jockey wheel with clamp (rating at least 1,900 kg): nothing in the rate book suits. Add an item that does, or pick one by \
         hand."
    );
    let told = check(&estimate, "part/jockey-wheel").expect("a check");
    assert!(matches!(told.verdict, Verdict::CannotTell(_)), "{told:?}");
    assert!(!estimate.blocks().is_empty(), "a price with a gap is not issued");
}

#[test]
fn a_bolted_deck_has_its_holes_drilled() {
    let mut spec = Spec::default();
    let screwed = worked(&spec).take_off.holes.small;
    spec.design.deck.fixing = DeckFixing::Bolted;
    let bolted = worked(&spec);
    let bolts = bolted.take_off.parts.iter().find(|part| part.part.need.key == "deck-fixing").expect("bolts");
    assert_eq!(f64::from(bolted.take_off.holes.small - screwed), bolts.quantity);
}

#[test]
fn the_demo_shop_sells_tube_in_inch_sizes() {
    let mut spec = Spec::default();
    let frame = &mut spec.design.frame;
    frame.side_rail = "shs 2x2 10 ga bwg".parse().expect("a section");
    (frame.end_rail, frame.cross_member) = (frame.side_rail, frame.side_rail);
    spec.design.drawbar.section = "rhs 4x2 10 ga bwg".parse().expect("a section");
    spec.design.bed.length = Length::from_mm(2400.0);
    let estimate = worked(&spec);
    for cut in &estimate.cutting.bars {
        assert!(cut.answer.is_ok(), "{} {}: {:?}", cut.section, cut.grade, cut.answer);
    }
}

#[test]
fn an_overrule_of_nothing_is_said_and_kept() {
    let mut spec = Spec::default();
    for key in ["hours/nonsense", "part/nonsense", "price/nonsense", "nonsense", "hours/deburr"] {
        let by_hand = Overruled { value: "1".into(), reason: "tried".into() };
        spec.offer.overruled.insert(key.into(), by_hand);
    }
    let estimate = worked(&spec);
    let idle = estimate.build_up.findings.iter().filter(|finding| finding.kind == FindingKind::Idle);
    let keys: Vec<&str> = idle.map(|finding| finding.key.as_str()).collect();
    assert_eq!(keys, ["hours/nonsense", "nonsense", "part/nonsense", "price/nonsense"]);
    assert_eq!(estimate.spec.offer.overruled.len(), 5);
}

#[test]
fn a_discount_beyond_the_price_is_not_issued() {
    let mut spec = Spec::default();
    spec.need.loads.push(Load::default());
    spec.offer.discount = Some(Money("999999".parse().expect("money")));
    let estimate = worked(&spec);
    assert!(estimate.blocks().iter().any(|block| block.contains("more than the price")), "{:?}", estimate.blocks());
}
