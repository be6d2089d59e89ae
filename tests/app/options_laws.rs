//! Options: what a combination is frozen with is what its own spec gives.

use std::ops::ControlFlow;

use hitchwright::{
    demo,
    domain::{
        estimate::estimate,
        form::Hand,
        measure::{Length, Money},
        nesting::{Budget, Stopped, unwatched},
        options::{Judged, chosen_spec, combinations, work_out},
        shop::Rack,
        trailer::{FreeFitting, OfferOption, OptionChange, Spec, option_to, put_option},
    },
};
use jiff::civil::date;

#[test]
fn every_combination_is_frozen_with_what_its_own_spec_gives() {
    let book = demo::book_as_of(date(2026, 11, 25)).expect("the demo's book");
    let jobs = demo::jobs().expect("the demo's jobs");
    let with_options = jobs.iter().filter(|job| !job.spec.offer.options.is_empty());
    let mut seen = 0;
    for job in with_options {
        let (rack, budget) = (Rack::default(), Budget::preview());
        let base = estimate(&job.spec, &book, &rack, budget, &mut unwatched).expect("a demo trailer");
        let options =
            work_out(&base, &book, &rack, budget, &mut |_, _| ControlFlow::Continue(())).expect("all of them");
        assert_eq!(options.combinations.len(), combinations(&job.spec.offer.options).len());
        for combination in &options.combinations {
            let spec = chosen_spec(&job.spec, &combination.chosen, &book).expect("changes that can be made");
            assert!(spec.offer.options.is_empty());
            let alone = estimate(&spec, &book, &rack, budget, &mut unwatched).expect("a trailer");
            let Judged::Offered(figures) = &combination.judged else {
                panic!("{}: {:?} {:?}", job.title, combination.chosen, combination.judged)
            };
            assert_eq!(figures.price, alone.build_up.customer, "{}: {:?}", job.title, combination.chosen);
            assert_eq!(figures.empty_mass_kg, alone.weights.empty.mass_kg);
            seen += 1;
        }
        let mut steps = 0;
        let ended = work_out(&base, &book, &rack, budget, &mut |_, _| {
            steps += 1;
            if steps > 1 { ControlFlow::Break(Stopped::Cancelled) } else { ControlFlow::Continue(()) }
        });
        assert_eq!(ended, Err(Stopped::Cancelled), "what was cancelled is not issued");
    }
    assert!(seen >= 8, "{seen} combinations");
}

/// What a customer chooses is the variant: the option that was made of it builds the same trailer at the same price.
#[test]
fn an_option_made_of_a_variant_builds_that_variant() {
    let book = demo::book_as_of(date(2026, 11, 25)).expect("the demo's book");
    let hand = Hand { units: book.units, money: &book.currency };
    for job in demo::jobs().expect("the demo's jobs") {
        let mut spec = job.spec;
        spec.offer.options.clear();
        let mut other = spec.clone();
        other.design.bed.length = Length::from_mm(spec.design.bed.length.mm() + 150.0);
        other.design.fittings.rear_bumper = !spec.design.fittings.rear_bumper;
        let option = option_to(&other, &spec, "longer", hand).expect("only fields that an option may change");
        assert_eq!(option.changes.len(), 2, "{option:?}");
        spec.offer.options = vec![option];
        let chosen = chosen_spec(&spec, &[1], &book).expect("changes that can be made");
        assert_eq!(chosen.design, other.design, "{}", job.title);
    }
}

#[test]
fn a_variant_that_no_option_can_bring_about_is_refused_in_words() {
    let book = demo::book_as_of(date(2026, 11, 25)).expect("the demo's book");
    let hand = Hand { units: book.units, money: &book.currency };
    let spec = Spec::default();
    let refused = |change: &dyn Fn(&mut Spec)| {
        let mut other = spec.clone();
        change(&mut other);
        option_to(&other, &spec, "other", hand).expect_err("no option").join(" ")
    };
    assert!(refused(&|_| ()).contains("the same design"));
    let dearer = refused(&|other| other.offer.discount = Some(Money("10".parse().expect("an amount"))));
    assert!(dearer.contains("Its offer differs"), "{dearer}");
    let hook = refused(&|other| other.design.fittings.free.push(FreeFitting::default()));
    assert!(hook.contains("another number of items"), "{hook}");
}

#[test]
fn options_that_put_one_field_to_two_values_exclude_each_other() {
    let option = |name: &str, to: &str| OfferOption {
        name: name.into(),
        changes: vec![OptionChange { field: "design.bed.length".into(), to: to.into() }],
        ..OfferOption::default()
    };
    let mut options = vec![option("short", "2 m")];
    put_option(&mut options, option("longer", "3 m"));
    let zinc = OptionChange { field: "design.finish.system".into(), to: "galvanised".into() };
    put_option(&mut options, OfferOption { name: "zinc".into(), changes: vec![zinc], ..OfferOption::default() });
    assert_eq!(options.iter().map(|option| option.in_set).collect::<Vec<_>>(), [true, true, false]);
}
