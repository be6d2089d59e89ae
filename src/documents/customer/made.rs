//! From a frozen quote to what its customer reads. Only here is the shop's side of a revision touched for a customer; what is
//! taken are needs, sizes, choices in words, the customer's price and the terms.

use jiff::{Timestamp, civil::Date};

use super::{
    CustomersCopy, Line, Shop, Told, View, Voice,
    hold::how_to_hold,
    told::{asked, gets, lead, made_of, told},
};
use crate::{
    documents::{Drawing, Letters, Shown, plan_view, side_view, still},
    domain::{
        estimate::Estimate,
        issued::{IssuedQuote, IssuedShop},
        measure::Units,
        options::Figures,
        pricing::CustomerLine,
        road::Outcome,
        trailer::{Delivery, Trailer},
        weights::Weights,
        words::Words,
    },
};

/// What stands around a frozen quote: whose it is and since when.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Issue {
    pub job_title: String,
    pub customer: String,
    /// Number of the revision; none where nothing is issued.
    pub number: Option<u32>,
    pub issued: Option<Timestamp>,
    pub valid_until: Option<Date>,
}

/// The copy of a revision on the customer's day, or without a day; with the figures of what they chose, where it is not the trailer
/// as described.
pub fn copy(
    quote: &IssuedQuote,
    issue: &Issue,
    today: Option<Date>,
    chosen: Option<&Figures>,
    voice: &Voice,
) -> CustomersCopy {
    let estimate = &quote.estimate;
    let price = chosen.map_or(&estimate.build_up.customer, |chosen| &chosen.price);
    let line = |text: String, amount| Line { text, amount: voice.money(amount) };
    let mut lines: Vec<Line> = price.lines.iter().map(|of| line(name_of(of, price.count, voice), of.amount)).collect();
    if !price.rounding.0.is_zero() {
        lines.push(line(voice.say("price-rounding").text(), price.rounding));
    }
    let policy = &quote.shop.policy;
    let deposit =
        chosen.map_or_else(|| estimate.build_up.deposit(policy, quote.shop.currency.decimals), |chosen| chosen.deposit);
    let percent = |points| voice.words.percent(points);
    let tax_name = voice.say("price-tax").with("name", &policy.tax_name).with("percent", percent(policy.tax_percent));
    let deposit_name = voice.say("price-deposit").with("percent", percent(policy.deposit_percent));
    CustomersCopy {
        shop: shop(&quote.shop.name, &quote.shop.town),
        job_title: issue.job_title.clone(),
        standing: standing(&quote.shop, issue, voice),
        revision: revision(issue, voice),
        valid_until: issue.valid_until.map(|day| voice.day(day)).unwrap_or_default(),
        time_left: issue
            .valid_until
            .zip(today)
            .map(|(until, today)| time_left(until, today, voice))
            .unwrap_or_default(),
        lead: lead(estimate, chosen, voice),
        asked: asked(&estimate.spec.need, voice),
        gets: gets(estimate, chosen, voice),
        made_of: made_of(&estimate.spec.design, voice),
        tie_down: tie_down(estimate, voice),
        whole: View {
            shows: voice.say("view-whole").text(),
            drawing: still(&estimate.trailer, &estimate.weights, voice.words, Shown::Shapes),
            narrow: None,
        },
        drawings: drawings(estimate, voice),
        lines,
        net: voice.money(price.before_tax),
        tax: (!price.tax.0.is_zero()).then(|| line(tax_name.text(), price.tax)),
        total: voice.money(price.total),
        deposit: (!deposit.0.is_zero()).then(|| line(deposit_name.text(), deposit)),
        earliest: earliest(quote, today, voice),
        terms: terms(&quote.shop, voice),
        cautions: cautions(estimate, voice),
    }
}

/// A quote by whom, for whom, and since when.
fn standing(shop: &IssuedShop, issue: &Issue, voice: &Voice) -> String {
    let said = match issue.issued {
        Some(at) => voice.say("quote-by").with("customer", &issue.customer).with("day", voice.day_of(at)),
        None => voice.say("quote-by-open"),
    };
    said.with("shop", &shop.name).with("revision", revision(issue, voice)).text()
}

fn revision(issue: &Issue, voice: &Voice) -> String {
    match issue.number {
        Some(number) => voice.say("revision").with("number", number).text(),
        None => voice.say("revision-open").text(),
    }
}

/// A price line by what it is; as it was written where somebody wrote it.
fn name_of(line: &CustomerLine, count: u32, voice: &Voice) -> String {
    match line.word.as_str() {
        "" => line.text.clone(),
        "trailers" => voice.say("price-trailers").with("count", count).text(),
        word => voice.say(format!("price-{word}")).text(),
    }
}

const CAUTIONS: [&str; 8] = [
    "caution-no-certification",
    "caution-engineer",
    "caution-law",
    "caution-weigh",
    "caution-vehicle",
    "caution-share",
    "caution-restraint",
    "caution-wheels",
];

/// What to mind; and of the road rules what a customer has to get or to ask, with the number of points that are rather for the shop.
fn cautions(estimate: &Estimate, voice: &Voice) -> Vec<String> {
    let mut said: Vec<String> = CAUTIONS.map(|id| voice.say(id).text()).to_vec();
    let mut more = 0;
    for outcome in [Outcome::ToFile, Outcome::Ask, Outcome::Warn] {
        for found in estimate.road.of_outcome(outcome) {
            let id = format!("road-{}", found.rule.replace('.', "-"));
            if voice.words.has(&id) {
                said.push(voice.say(id).text());
            } else {
                more += 1;
            }
        }
    }
    if more > 0 {
        said.push(voice.say("caution-road-more").count("count", more).text());
    }
    said
}

/// Whom to call.
pub fn shop(name: &str, town: &str) -> Shop {
    Shop {
        name: name.to_owned(),
        reach: [town].into_iter().filter(|line| !line.is_empty()).map(str::to_owned).collect(),
    }
}

fn time_left(until: Date, today: Date, voice: &Voice) -> String {
    let said = match (until - today).get_days() {
        days if days < 0 => voice.say("left-over"),
        0 => voice.say("left-today"),
        1 => voice.say("left-tomorrow"),
        days => voice.say("left-days").count("days", days.unsigned_abs() as usize),
    };
    said.text()
}

/// Each load once, as its fullest trip asks.
fn tie_down(estimate: &Estimate, voice: &Voice) -> Vec<String> {
    let mut told: Vec<(&str, String)> = Vec::new();
    for held in estimate.strength.restraint.iter().filter(|held| held.missing.is_empty()) {
        if !told.iter().any(|(load, _)| *load == held.load) {
            let said = voice.say("hold-of").with("load", &held.load).with("how", how_to_hold(held, voice));
            told.push((&held.load, said.text()));
        }
    }
    told.into_iter().map(|(_, words)| words).collect()
}

fn drawings(estimate: &Estimate, voice: &Voice) -> Vec<View> {
    let view = |shows: &str, of: fn(&Trailer, &Weights, &Words, Units, Letters) -> Drawing| {
        let draw = |letters| of(&estimate.trailer, &estimate.weights, voice.words, voice.units, letters);
        View { shows: voice.say(shows).text(), drawing: draw(Letters::Usual), narrow: Some(draw(Letters::Large)) }
    };
    vec![view("view-plan", plan_view), view("view-side", side_view)]
}

fn earliest(quote: &IssuedQuote, today: Option<Date>, voice: &Voice) -> String {
    let days = quote.estimate.build_up.days;
    let is = match quote.estimate.spec.offer.delivery {
        Delivery::Collection => "earliest-collected",
        Delivery::Delivered => "earliest-delivered",
    };
    let said = match today {
        None => voice.say(is),
        Some(today) => {
            let day = voice.day(days.collection(today, &quote.shop.policy));
            voice.say(format!("{is}-day")).with("day", day)
        }
    };
    said.with("days", days.total()).text()
}

fn terms(shop: &IssuedShop, voice: &Voice) -> Vec<Told> {
    let of = [
        ("term-payment", &shop.terms.payment),
        ("term-warranty", &shop.terms.warranty),
        ("term-variation", &shop.terms.variation),
        ("term-exclusions", &shop.terms.exclusions),
        ("term-title", &shop.terms.title),
    ];
    let written = of.into_iter().filter(|(_, text)| !text.trim().is_empty());
    written.map(|(id, text)| told(voice.say(id), text)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::road::{Kind, Ship, seed};
    use jiff::civil::date;

    #[test]
    fn the_time_left_is_told_in_words() {
        let until = date(2026, 12, 1);
        let voice = Voice::english(Units::Metric, &crate::documents::show::Show::sample().money);
        for (today, words) in [
            (date(2026, 11, 25), "6 days left"),
            (date(2026, 10, 25), "37 days left"),
            (date(2026, 11, 30), "it ends tomorrow"),
            (date(2026, 12, 1), "until the end of today"),
            (date(2026, 12, 2), "its time is over"),
        ] {
            assert_eq!(time_left(until, today, &voice), words);
        }
    }

    /// What a customer has to file is never hidden behind a number, unless the maker of the trailer files it.
    #[test]
    fn papers_that_the_rules_ask_for_are_told_to_the_customer() {
        const MAKERS: [&str; 1] = ["us.cert.list"];
        for rule in &seed().rules {
            if rule.kind == Kind::File && rule.ship != Ship::Hold && !MAKERS.contains(&rule.id.as_str()) {
                let id = format!("road-{}", rule.id.replace('.', "-"));
                assert!(Words::english().has(&id), "{id}");
            }
        }
    }
}
