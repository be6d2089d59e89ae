//! What changed from an earlier revision to this one: the sentences that a customer reads, compared.

use super::{Issue, Told, Voice, copy, told::made_of};
use crate::domain::{
    changed::{Change, compared},
    issued::IssuedQuote,
    words::Words,
};

/// What changed of one matter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Changes {
    pub title: String,
    pub changes: Vec<Change>,
}

/// Both sides in the words of the later one. Empty where a customer would notice nothing.
pub fn changes(before: &IssuedQuote, after: &IssuedQuote) -> Vec<Changes> {
    let voice = Voice::of_issued(&after.shop);
    let [mut old, new] = [before, after].map(|quote| copy(quote, &Issue::default(), None, None, &voice));
    if Words::of(&before.shop.language).language() != voice.words.language() {
        // The shop's terms are its own words: in another language they can only be read, not compared.
        old.terms.clone_from(&new.terms);
    }
    let sentences = |told: &[Told]| told.iter().map(|told| (told.about.clone(), told.text.clone())).collect();
    let found = [
        ("changed-asked", [&old, &new].map(|copy| sentences(&copy.asked))),
        ("changed-gets", [&old, &new].map(|copy| sentences(&copy.made_of))),
        (
            "changed-figures",
            [&old, &new].map(|copy| copy.gets.iter().map(|of| (of.words.clone(), of.value.main.clone())).collect()),
        ),
        (
            "changed-price",
            [&old, &new].map(|copy| {
                let lines = copy.lines.iter().chain(&copy.tax).map(|line| (line.text.clone(), line.amount.clone()));
                lines.chain([(voice.say("price-total").text(), copy.total.clone())]).collect::<Vec<_>>()
            }),
        ),
        ("changed-terms", [&old, &new].map(|copy| sentences(&copy.terms))),
    ];
    let compared = found
        .into_iter()
        .map(|(title, [old, new])| Changes { title: voice.say(title).text(), changes: compared(&old, &new) });
    compared.filter(|of| !of.changes.is_empty()).collect()
}

/// Whether something of the construction changed that no sentence names.
pub fn changed_inside(before: &IssuedQuote, after: &IssuedQuote) -> bool {
    let voice = Voice::of_issued(&after.shop);
    let [old, new] = [before, after].map(|quote| &quote.estimate.spec.design);
    old != new && made_of(old, &voice) == made_of(new, &voice)
}
