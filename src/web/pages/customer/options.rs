//! What the customer may choose on their copy, and what comes of it. All of it was worked out and frozen when the quote was issued.

use crate::{
    documents::customer::Voice,
    domain::options::{Combination, Figures, Judged, Options, Refusal},
};

/// The options as the page shows them, with what is chosen now.
#[derive(Clone, Debug, Default)]
pub struct Choosing {
    /// Those that go with all others.
    pub free: Vec<Row>,
    /// Those of which one at most is chosen.
    pub set: Vec<Row>,
    /// Why what is chosen cannot be had together; empty where it can.
    pub refused: String,
}

#[derive(Clone, Debug)]
pub struct Row {
    pub place: usize,
    pub name: String,
    pub about: String,
    pub is_chosen: bool,
    /// What it adds to the price of what else is chosen, or takes off it; empty where it cannot be had with that.
    pub difference: String,
    /// Why it cannot be had with what else is chosen; empty where it can.
    pub why_not: String,
}

/// The places of the options that a form names, rising and each once; what is no place is left out.
pub fn places<'a>(pairs: impl Iterator<Item = (&'a str, &'a str)>) -> Vec<usize> {
    let named = pairs.filter(|(name, _)| matches!(*name, "with" | "one"));
    let mut places: Vec<usize> = named.filter_map(|(_, place)| place.parse().ok()).collect();
    places.sort_unstable();
    places.dedup();
    places
}

/// The figures of what is chosen; none where it cannot be had.
pub fn figures<'a>(options: &'a Options, chosen: &[usize]) -> Option<&'a Figures> {
    options.of(chosen).and_then(Combination::figures)
}

/// The names of what is chosen.
pub fn names(options: &Options, chosen: &[usize]) -> Vec<String> {
    let named = chosen.iter().filter_map(|place| options.offered.get(place.checked_sub(1)?));
    named.map(|offered| offered.name.clone()).collect()
}

/// In words for the customer: what exactly stands in the way is the shop's to know.
fn why_not(refusal: &Refusal, voice: &Voice) -> String {
    match refusal {
        Refusal::Told(why) => why.clone(),
        Refusal::Because { because, .. } => voice.say(format!("refused-{}", because.word())).text(),
    }
}

impl Choosing {
    pub fn of(options: &Options, chosen: &[usize], voice: &Voice) -> Self {
        if options.is_empty() {
            return Self::default();
        }
        let row = |place: usize| {
            let offered = &options.offered[place - 1];
            // Beside what else is chosen; of those that exclude each other, in place of the other.
            let without = |other: &usize| *other != place && !(offered.in_set && options.is_in_set(*other));
            let rest: Vec<usize> = chosen.iter().copied().filter(without).collect();
            let with: Vec<usize> = rest.iter().copied().chain([place]).collect();
            let (difference, why_not) =
                match (options.of(&with).map(|combination| &combination.judged), figures(options, &rest)) {
                    (Some(Judged::Offered(with)), Some(rest)) => {
                        (voice.difference(with.price.total - rest.price.total), String::new())
                    }
                    (Some(Judged::Offered(with)), None) => (
                        voice.say("options-in-all").with("amount", voice.money(with.price.total)).text(),
                        String::new(),
                    ),
                    (Some(Judged::Refused(why)), _) => (String::new(), why_not(why, voice)),
                    (None, _) => (String::new(), voice.say("options-not-with").text()),
                };
            Row {
                place,
                name: offered.name.clone(),
                about: offered.about.clone(),
                is_chosen: chosen.contains(&place),
                difference,
                why_not,
            }
        };
        let (set, free): (Vec<usize>, Vec<usize>) =
            (1..=options.offered.len()).partition(|place| options.is_in_set(*place));
        let refused = match options.of(chosen).map(|combination| &combination.judged) {
            Some(Judged::Offered(_)) => String::new(),
            Some(Judged::Refused(why)) => why_not(why, voice),
            None => voice.say("options-unknown").text(),
        };
        Self { free: free.into_iter().map(row).collect(), set: set.into_iter().map(row).collect(), refused }
    }

    pub fn is_empty(&self) -> bool {
        self.free.is_empty() && self.set.is_empty()
    }

    /// Nothing of those that exclude each other.
    pub fn none_of_set(&self) -> bool {
        !self.set.iter().any(|row| row.is_chosen)
    }

    /// All that is chosen, for the form that accepts it.
    pub fn chosen(&self) -> impl Iterator<Item = &usize> {
        self.free.iter().chain(&self.set).filter(|row| row.is_chosen).map(|row| &row.place)
    }
}

#[cfg(test)]
impl Choosing {
    pub(super) fn sample() -> Self {
        let row = |place, name: &str, is_chosen, difference: &str, why_not: &str| Row {
            place,
            name: name.into(),
            about: "It lasts longer by the sea.".into(),
            is_chosen,
            difference: difference.into(),
            why_not: why_not.into(),
        };
        Self {
            free: vec![
                row(1, "Galvanised <b>", true, "+£310.00", ""),
                row(4, "Wider bed", false, "", "It would not hold."),
            ],
            set: vec![row(2, "Mesh sides", false, "+£90.00", ""), row(3, "Sheeted sides", false, "−£12.00", "")],
            refused: String::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_read_from_a_form_and_what_is_no_place_is_left_out() {
        let form =
            [("with", "3"), ("with", "1"), ("one", ""), ("with", "3"), ("one", "x"), ("agree", "2"), ("one", "2")];
        assert_eq!(places(form.into_iter()), [1, 2, 3]);
        assert!(places([("name", "1")].into_iter()).is_empty());
    }
}
