//! Options: what a combination is frozen with is what its own spec gives.

use std::ops::ControlFlow;

use hitchwright::{
    demo,
    domain::{
        estimate::estimate,
        nesting::{Budget, Stopped, unwatched},
        options::{Judged, chosen_spec, combinations, work_out},
        shop::Rack,
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
