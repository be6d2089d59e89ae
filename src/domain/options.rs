//! What the customer may choose: every combination of the options, worked out by the same pipeline and judged before it is offered.
//! What is frozen here is read by the customer: nothing of it can hold cost, margin, rate or supplier.

use std::ops::ControlFlow;

use serde::{Deserialize, Serialize};

use super::{
    choice::choice,
    estimate::{Estimate, estimate},
    form::Hand,
    measure::Money,
    nesting::{Budget, Progress, Stopped},
    pricing::CustomerPrice,
    shop::{Rack, ShopBook},
    trailer::{OfferOption, Spec, SpecFaults, with_options},
    weights::Extreme,
    working::{Check, Verdict},
};

/// The options of an issued quote, with every combination of them.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Options {
    pub offered: Vec<Offered>,
    /// In the order of [`combinations`]; the first is the trailer as described.
    pub combinations: Vec<Combination>,
}

/// An option as the customer reads it. It is called by its place in the list, from 1.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Offered {
    pub name: String,
    pub about: String,
    pub in_set: bool,
}

/// What the customer chooses together.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Combination {
    /// Places of the options, from 1, rising.
    pub chosen: Vec<usize>,
    pub judged: Judged,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Judged {
    Offered(Box<Figures>),
    /// It cannot be had so, and why.
    Refused(Refusal),
}

/// Why a combination cannot be had.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Refusal {
    /// In words: of revisions that know no other language.
    Told(String),
    Because {
        because: Because,
        /// What exactly, for the shop.
        detail: String,
    },
}

choice! {
    /// What stands in the way, as far as a customer needs to know.
    Because {
        Unbuildable = "unbuildable" / "it cannot be built so",
        Strength = "strength" / "frame or drawbar would not hold",
        Balance = "balance" / "too much or too little on the coupling",
        Towing = "towing" / "coupling, towing vehicle or brakes",
        RunningGear = "running-gear" / "axle, wheels or tyres",
        Deck = "deck" / "the deck would not hold",
        Loading = "loading" / "loading over the ramp",
        Restraint = "restraint" / "tying down the load",
        Electrics = "electrics" / "lamps and plug",
        Road = "road" / "the road rules",
        Other = "other" / "a check fails",
        NoPrice = "no-price" / "a price is missing",
    }
}

impl Because {
    /// The kind of a check by its key.
    fn of_check(key: &str) -> Self {
        match key.split('/').next().unwrap_or_default() {
            "strength" if key.contains("deck") => Self::Deck,
            "strength" if key.contains("ramp") => Self::Loading,
            "strength" => Self::Strength,
            "balance" => Self::Balance,
            "towing" => Self::Towing,
            "gear" | "mass" => Self::RunningGear,
            "deck" => Self::Deck,
            "loading" | "ramp" | "handling" => Self::Loading,
            "restraint" => Self::Restraint,
            "electrics" => Self::Electrics,
            "road" => Self::Road,
            _ => Self::Other,
        }
    }
}

/// What a combination costs and weighs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Figures {
    pub price: CustomerPrice,
    pub deposit: Money,
    pub empty_mass_kg: f64,
    pub gross_kg: f64,
    pub payload_left_kg: f64,
    /// Least and largest load on the coupling over all loading cases.
    pub coupling_kg: [f64; 2],
}

/// Places of the options that can be chosen together: nothing first, then every set of free options in the order of a count in twos,
/// each without and with one of those that exclude each other.
pub fn combinations(options: &[OfferOption]) -> Vec<Vec<usize>> {
    let places = |in_set| {
        let of = options.iter().enumerate().filter(move |(_, option)| option.in_set == in_set);
        of.map(|(at, _)| at + 1).collect::<Vec<usize>>()
    };
    let (free, set) = (places(false), places(true));
    let one_of_set: Vec<Option<usize>> = [None].into_iter().chain(set.into_iter().map(Some)).collect();
    let mut all = Vec::new();
    // A spec with more is refused long before; this only bounds the shift.
    for count in 0..1_u64 << free.len().min(16) {
        for one in &one_of_set {
            let of_free = free.iter().enumerate().filter(|(bit, _)| count >> bit & 1 == 1).map(|(_, place)| *place);
            let mut chosen: Vec<usize> = of_free.chain(*one).collect();
            chosen.sort_unstable();
            all.push(chosen);
        }
    }
    all
}

/// The spec of a combination: its changes made, and no options left to choose.
///
/// # Errors
/// Changes that cannot be made.
pub fn chosen_spec(spec: &Spec, chosen: &[usize], book: &ShopBook) -> Result<Spec, SpecFaults> {
    let hand = Hand { units: book.units, money: &book.currency };
    let options = chosen.iter().filter_map(|place| spec.offer.options.get(place.checked_sub(1)?));
    let mut changed = with_options(spec, options, hand).map_err(SpecFaults)?;
    changed.offer.options.clear();
    Ok(changed)
}

/// Works every combination out, each with the same budget. `step` is told how many of how many are done, now and then, and may end it.
///
/// # Errors
/// Why it was ended: nothing of it may be issued then.
pub fn work_out(
    base: &Estimate,
    book: &ShopBook,
    rack: &Rack,
    budget: Budget,
    step: &mut dyn FnMut(usize, usize) -> ControlFlow<Stopped>,
) -> Result<Options, Stopped> {
    let options = &base.spec.offer.options;
    if options.is_empty() {
        return Ok(Options::default());
    }
    let all = combinations(options);
    let mut combinations = Vec::with_capacity(all.len());
    for chosen in &all {
        let done = combinations.len();
        let mut ended = None;
        let mut watch = |_: Progress| {
            let goes_on = step(done, all.len());
            if let ControlFlow::Break(why) = goes_on {
                ended = Some(why);
            }
            goes_on
        };
        let judged = if chosen.is_empty() {
            judge(base, Ok(base), book)
        } else {
            let worked =
                chosen_spec(&base.spec, chosen, book).and_then(|spec| estimate(&spec, book, rack, budget, &mut watch));
            judge(base, worked.as_ref(), book)
        };
        if let Some(why) = ended {
            return Err(why);
        }
        if let ControlFlow::Break(why) = step(done + 1, all.len()) {
            return Err(why);
        }
        combinations.push(Combination { chosen: chosen.clone(), judged });
    }
    Ok(Options { offered: options.iter().map(Offered::of).collect(), combinations })
}

/// Whether a combination can be had, beside the trailer as described.
pub fn judge(base: &Estimate, combined: Result<&Estimate, &SpecFaults>, book: &ShopBook) -> Judged {
    let estimate = match combined {
        Ok(estimate) => estimate,
        Err(SpecFaults(faults)) => {
            let why = faults.first().map(|fault| format!("{}: {} {}.", fault.label, fault.value, fault.wrong));
            return refused(Because::Unbuildable, why.unwrap_or_default());
        }
    };
    if let Some(check) = estimate.checks.iter().find(|check| stands_in_the_way(check, estimate, base)) {
        return refused(Because::of_check(&check.key), format!("{}. {}", check.name, check.says));
    }
    if estimate.cutting.blocks().chain(estimate.build_up.blocks()).next().is_some() {
        return refused(Because::NoPrice, String::new());
    }
    let headline = estimate.headline();
    let coupling = |extreme| estimate.weights.envelope.worst(extreme).map_or(0.0, |case| case.coupling_kg);
    Judged::Offered(Box::new(Figures {
        price: estimate.build_up.customer.clone(),
        deposit: estimate.build_up.deposit(&book.policy, book.currency.decimals),
        empty_mass_kg: headline.empty_mass_kg,
        gross_kg: headline.gross_kg,
        payload_left_kg: headline.payload_left_kg,
        coupling_kg: [coupling(Extreme::LeastCoupling), coupling(Extreme::MostCoupling)],
    }))
}

fn refused(because: Because, detail: String) -> Judged {
    Judged::Refused(Refusal::Because { because, detail })
}

/// How much worse than the trailer as described a failing check may be whose answer was written for that one.
const AS_GOOD_AS_ANSWERED: f64 = 1.01;

fn stands_in_the_way(check: &Check, estimate: &Estimate, base: &Estimate) -> bool {
    if check.verdict != Verdict::Fails {
        return false;
    }
    if estimate.unanswered().any(|open| open.key == check.key) {
        return true;
    }
    // The answer speaks of the trailer as described: it holds for this one only where that fails as much.
    let before = base.checks.iter().find(|other| other.key == check.key && other.verdict == Verdict::Fails);
    match (before.map(|before| before.usage), check.usage) {
        (None, _) => true,
        (Some(Some(before)), Some(now)) => now > before * AS_GOOD_AS_ANSWERED,
        (Some(_), _) => false,
    }
}

impl Options {
    /// The combination of these options, whatever their order; none where one is unknown or two exclude each other.
    pub fn of(&self, chosen: &[usize]) -> Option<&Combination> {
        let mut chosen = chosen.to_vec();
        chosen.sort_unstable();
        chosen.dedup();
        self.combinations.iter().find(|combination| combination.chosen == chosen)
    }

    pub fn is_empty(&self) -> bool {
        self.offered.is_empty()
    }

    /// Whether the option at this place excludes others.
    pub fn is_in_set(&self, place: usize) -> bool {
        place.checked_sub(1).and_then(|at| self.offered.get(at)).is_some_and(|offered| offered.in_set)
    }
}

impl Combination {
    pub fn figures(&self) -> Option<&Figures> {
        match &self.judged {
            Judged::Offered(figures) => Some(figures),
            Judged::Refused(_) => None,
        }
    }
}

impl Offered {
    pub fn of(option: &OfferOption) -> Self {
        Self { name: option.name.clone(), about: option.about.clone(), in_set: option.in_set }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn option(name: &str, in_set: bool) -> OfferOption {
        OfferOption { name: name.into(), in_set, ..OfferOption::default() }
    }

    #[test]
    fn every_set_of_free_options_comes_with_each_of_those_that_exclude_each_other() {
        let options = [option("a", false), option("b", true), option("c", false), option("d", true)];
        let all = combinations(&options);
        assert_eq!(all.len(), 4 * 3);
        assert_eq!(all[0], Vec::<usize>::new());
        assert_eq!(all[1..6], [vec![2], vec![4], vec![1], vec![1, 2], vec![1, 4]]);
        assert!(all.iter().all(|chosen| !(chosen.contains(&2) && chosen.contains(&4))));
        assert_eq!(combinations(&[]), [Vec::<usize>::new()]);
    }
}
