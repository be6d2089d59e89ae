//! From a frozen quote to what its customer reads. Only here is the shop's side of a revision touched for a customer; what is
//! taken are needs, sizes, choices in words, the customer's price and the terms.

use jiff::civil::Date;

use super::{CustomersCopy, Figure, Line, Shop, View};
use crate::{
    documents::{plan_view, show::Show, side_view},
    domain::{
        cautions,
        estimate::Estimate,
        issued::{IssuedQuote, IssuedShop},
        options::Figures,
        road::Outcome,
        trailer::{Brakes, Delivery, Design, Need, RampForm, SideForm},
    },
};

/// What stands around a frozen quote: whose it is and since when.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Issue {
    pub job_title: String,
    pub customer: String,
    /// `Revision 2`.
    pub revision: String,
    pub issued: Option<Date>,
    pub valid_until: Option<Date>,
}

/// The copy of a revision on the customer's day, or without a day; with the figures of what they chose, where it is not the trailer as described.
pub fn copy(quote: &IssuedQuote, issue: &Issue, today: Option<Date>, chosen: Option<&Figures>) -> CustomersCopy {
    let show = Show::of_issued(&quote.shop);
    let estimate = &quote.estimate;
    let price = chosen.map_or(&estimate.build_up.customer, |chosen| &chosen.price);
    let line = |text: &str, amount| Line { text: text.to_owned(), amount: show.money(amount) };
    let mut lines: Vec<Line> = price.lines.iter().map(|of| line(&of.text, of.amount)).collect();
    if !price.rounding.0.is_zero() {
        lines.push(line("Rounding", price.rounding));
    }
    let policy = &quote.shop.policy;
    let deposit =
        chosen.map_or_else(|| estimate.build_up.deposit(policy, quote.shop.currency.decimals), |chosen| chosen.deposit);
    let deposit_text = format!("Deposit, {} %", policy.deposit_percent.normalize());
    CustomersCopy {
        shop: shop(&quote.shop.name, &quote.shop.town),
        job_title: issue.job_title.clone(),
        customer: issue.customer.clone(),
        revision: issue.revision.clone(),
        issued: issue.issued.map(|day| show.day(day)).unwrap_or_default(),
        valid_until: issue.valid_until.map(|day| show.day(day)).unwrap_or_default(),
        time_left: issue.valid_until.zip(today).map(|(until, today)| time_left(until, today)).unwrap_or_default(),
        asked: asked(&estimate.spec.need, &show),
        gets: gets(estimate, chosen, &show),
        made_of: made_of(&estimate.spec.design, &show),
        tie_down: tie_down(estimate),
        drawings: drawings(estimate, &show),
        lines,
        net: show.money(price.before_tax),
        tax: (!price.tax.0.is_zero()).then(|| line(&price.tax_name, price.tax)),
        total: show.money(price.total),
        deposit: (!deposit.0.is_zero()).then(|| line(&deposit_text, deposit)),
        earliest: earliest(quote, today, &show),
        terms: terms(&quote.shop),
        cautions: cautions::ALL.map(str::to_owned).into_iter().chain(for_the_road(estimate)).collect(),
    }
}

/// Papers to hand in and what to ask, as the road rules of the region say.
fn for_the_road(estimate: &Estimate) -> Vec<String> {
    let road = &estimate.road;
    let told = [
        (Outcome::ToFile, "Papers for the road"),
        (Outcome::Ask, "To ask before it goes on the road"),
        (Outcome::Warn, "To be confirmed before it goes on the road"),
    ];
    let lines = told.iter().flat_map(|&(outcome, what)| {
        road.of_outcome(outcome).map(move |found| format!("{what} ({}): {}", road.authority, found.text))
    });
    lines.collect()
}

/// Whom to call.
pub fn shop(name: &str, town: &str) -> Shop {
    Shop {
        name: name.to_owned(),
        reach: [town].into_iter().filter(|line| !line.is_empty()).map(str::to_owned).collect(),
    }
}

fn time_left(until: Date, today: Date) -> String {
    match (until - today).get_days() {
        days if days < 0 => "its time is over".into(),
        0 => "until the end of today".into(),
        1 => "until tomorrow".into(),
        days => format!("{days} days left"),
    }
}

fn asked(need: &Need, show: &Show) -> Vec<String> {
    let mut asked: Vec<String> = Vec::new();
    for load in &need.loads {
        let size = |length: crate::domain::measure::Length| show.length(length.mm()).main;
        asked.push(format!(
            "It carries {}: {}, {} long, {} wide, {} high.",
            load.name,
            show.mass(load.mass.kg()).main,
            size(load.length),
            size(load.width),
            size(load.height)
        ));
    }
    for trip in need.trips.iter().filter(|trip| !trip.carries.is_empty()) {
        let loads: Vec<&str> = trip.carries.iter().map(|placed| placed.load.as_str()).collect();
        let name = if trip.name.is_empty() { "A trip" } else { trip.name.as_str() };
        asked.push(format!("{name} takes together: {}.", loads.join(", ")));
    }
    let vehicles: Vec<&str> =
        need.towing_vehicles.iter().map(|vehicle| vehicle.name.as_str()).filter(|name| !name.is_empty()).collect();
    if !vehicles.is_empty() {
        asked.push(format!("It is towed by: {}.", vehicles.join(", ")));
    }
    let salt = if need.usage.marine { ", also in salt water or by the sea" } else { "" };
    asked.push(format!("It goes on {}{salt}.", need.usage.road.label()));
    if need.count > 1 {
        asked.push(format!("{} of them, all alike.", need.count));
    }
    asked
}

/// Each load once, as its fullest trip asks.
fn tie_down(estimate: &Estimate) -> Vec<String> {
    let mut told: Vec<(&str, String)> = Vec::new();
    for held in estimate.strength.restraint.iter().filter(|held| held.missing.is_empty()) {
        if !told.iter().any(|(load, _)| *load == held.load) {
            told.push((&held.load, format!("{}: {}", held.load, held.do_this)));
        }
    }
    told.into_iter().map(|(_, words)| words).collect()
}

fn gets(estimate: &Estimate, chosen: Option<&Figures>, show: &Show) -> Vec<Figure> {
    let (weights, layout) = (&estimate.weights, &estimate.trailer.layout);
    let [empty_kg, gross_kg, payload_kg] = chosen
        .map_or([weights.empty.mass_kg, weights.gross_kg, weights.payload_left_kg], |chosen| {
            [chosen.empty_mass_kg, chosen.gross_kg, chosen.payload_left_kg]
        });
    let coupling_kg = chosen.map_or_else(|| weights.envelope.coupling_kg(), |chosen| chosen.coupling_kg[1]);
    let figure = |words: &str, value, note: &str| Figure { words: words.into(), value, note: note.into() };
    vec![
        figure("It weighs, empty", show.mass(empty_kg), "worked out"),
        figure("It may weigh, loaded", show.mass(gross_kg), "for the plate"),
        figure("You can load", show.mass(payload_kg), ""),
        figure("It presses on the tow ball", show.mass(coupling_kg), "at most"),
        figure("Bed length", show.length(layout.bed_length_mm()), ""),
        figure("Bed width", show.length(layout.bed_width_mm), ""),
        figure("Bed height", show.length(layout.deck_top_z_mm), "empty"),
        figure("Whole length", show.length(layout.overall_length_mm), ""),
        figure("Whole width", show.length(layout.overall_width_mm), ""),
    ]
}

fn made_of(design: &Design, show: &Show) -> Vec<String> {
    let mut made = vec![
        format!("Welded frame, {}; {}.", design.frame.corner.label(), design.frame.stack.label()),
        format!("Drawbar: {}.", design.drawbar.form.label()),
        format!("Deck: {}, {}.", design.deck.material.label(), show.length(design.deck.thickness.mm()).main),
        format!("{}, tyres {}.", capital(design.running_gear.suspension.label()), design.running_gear.wheel.size),
    ];
    if design.running_gear.axles > 1 {
        made.push(format!("{} axles.", design.running_gear.axles));
    }
    made.push(match design.running_gear.brakes {
        Brakes::None => "Without brakes.".into(),
        brakes => format!("Brakes: {}.", brakes.label()),
    });
    if design.sides.form != SideForm::None {
        made.push(format!("Sides: {}.", design.sides.form.label()));
    }
    if design.loading.ramp != RampForm::None {
        made.push(format!("Ramp: {}.", design.loading.ramp.label()));
    }
    made.push(format!("Coupling: {}.", design.towing.coupling.label()));
    made.push(format!("Lamps with a plug of {}.", design.electrics.connector.label()));
    let colour = if design.finish.colour.is_empty() { String::new() } else { format!(", {}", design.finish.colour) };
    made.push(format!("Finish: {}{colour}.", design.finish.system.label()));
    made
}

fn drawings(estimate: &Estimate, show: &Show) -> Vec<View> {
    let plan = plan_view(&estimate.trailer, &estimate.weights, show.units);
    let side = side_view(&estimate.trailer, &estimate.weights, show.units);
    vec![View { shows: "From above".into(), drawing: plan }, View { shows: "From the side".into(), drawing: side }]
}

fn earliest(quote: &IssuedQuote, today: Option<Date>, show: &Show) -> String {
    let days = quote.estimate.build_up.days;
    let is = match quote.estimate.spec.offer.delivery {
        Delivery::Collection => "It can be collected",
        Delivery::Delivered => "It is delivered",
    };
    let after = format!("{is} {} working days after acceptance, deposit and approved drawing", days.total());
    match today {
        None => format!("{after}."),
        Some(today) => {
            let day = show.day(days.collection(today, &quote.shop.policy));
            format!("{after}: on {day} at the earliest, if all three are there today.")
        }
    }
}

fn terms(shop: &IssuedShop) -> Vec<String> {
    let of = [
        ("Payment", &shop.terms.payment),
        ("Warranty", &shop.terms.warranty),
        ("Changes after acceptance", &shop.terms.variation),
        ("Not included", &shop.terms.exclusions),
        ("Title", &shop.terms.title),
    ];
    of.into_iter().filter(|(_, text)| !text.trim().is_empty()).map(|(name, text)| format!("{name}: {text}")).collect()
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn the_time_left_is_told_in_words() {
        let until = date(2026, 12, 1);
        for (today, words) in [
            (date(2026, 11, 25), "6 days left"),
            (date(2026, 10, 25), "37 days left"),
            (date(2026, 11, 30), "until tomorrow"),
            (date(2026, 12, 1), "until the end of today"),
            (date(2026, 12, 2), "its time is over"),
        ] {
            assert_eq!(time_left(until, today), words);
        }
    }
}
