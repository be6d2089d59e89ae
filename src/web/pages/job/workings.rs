//! A working as pages show it: set in symbols, with its values put in, with where it comes from.

use crate::{
    documents::mathml,
    domain::working::{Given, Working},
    web::show::Show,
};

#[derive(Clone, Debug)]
pub struct WorkingView {
    /// What is shown, for paper.
    pub of: Working,
    pub title: String,
    /// As plain text.
    pub formula: String,
    /// In symbols, as MathML; none where the formula is told in words.
    pub set: Option<String>,
    /// With the values put in, as MathML.
    pub put_in: Option<String>,
    /// May be wider than a phone: then the keyboard must reach it to scroll.
    pub is_long: bool,
    pub given: Vec<GivenView>,
    pub result: String,
    pub source: String,
    pub sure: &'static str,
}

#[derive(Clone, Debug)]
pub struct GivenView {
    /// As MathML, or as it is written.
    pub set: Option<String>,
    pub symbol: String,
    pub words: String,
    pub value: String,
}

impl WorkingView {
    pub fn of(working: &Working, show: &Show) -> Self {
        let result = show.both_families(working.result, &working.unit);
        let set = mathml::formula(working);
        let put_in = mathml::with_values(working, &|given| show.bare(given.value, &given.unit), &result);
        let is_long = [&set, &put_in].into_iter().flatten().any(|set| letters(set) > LONG);
        Self {
            of: working.clone(),
            title: working.title.clone(),
            formula: working.formula.clone(),
            is_long,
            set,
            put_in,
            given: working.given.iter().map(|given| GivenView::of(given, show)).collect(),
            result: show.result(working.result, &working.unit),
            source: working.source.clone(),
            sure: working.sure.label(),
        }
    }

    pub fn all<'a>(workings: impl IntoIterator<Item = &'a Working>, show: &Show) -> Vec<Self> {
        workings.into_iter().map(|working| Self::of(working, show)).collect()
    }
}

/// So many letters of a formula fit on a phone beside everything around it.
const LONG: usize = 20;

/// Letters of a marked-up text.
fn letters(marked: &str) -> usize {
    let mut inside = false;
    let seen = marked.chars().filter(|&letter| {
        inside = letter == '<' || (inside && letter != '>');
        !inside && letter != '>'
    });
    seen.count()
}

impl GivenView {
    fn of(given: &Given, show: &Show) -> Self {
        Self {
            set: mathml::symbol(&given.symbol),
            symbol: given.symbol.clone(),
            words: given.words.clone(),
            value: show.given(given.value, &given.unit),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::{measure::Units, working::Sure};

    fn working() -> Working {
        Working::new("Coupling load", "S = M (L − x_g) / L")
            .given("M", "gross mass", 740.0, "kg")
            .given("L", "to the axle", 2640.0, "mm")
            .given("x_g", "centre", 2400.0, "mm")
            .gives("S", 67.272_727, "kg")
            .source("statics", Sure::Computed)
    }

    #[test]
    fn values_put_in_are_those_of_the_table_in_either_family() {
        let metric = WorkingView::of(&working(), &Show::sample());
        assert!(metric.put_in.as_ref().is_some_and(|put| put.contains("<mn>2,640</mn>")), "{metric:?}");
        assert_eq!(metric.given[1].value, "2,640\u{a0}mm");
        let imperial = WorkingView::of(&working(), &Show { units: Units::Imperial, ..Show::sample() });
        assert!(imperial.put_in.as_ref().is_some_and(|put| put.contains("<mn>2,640</mn>")), "{imperial:?}");
        assert!(imperial.given[1].value.ends_with("(2,640\u{a0}mm)"), "{:?}", imperial.given[1]);
    }

    #[test]
    fn what_is_no_formula_stays_text() {
        let view = WorkingView::of(&Working::new("Gross", "up to the next 10 kg"), &Show::sample());
        assert!(view.set.is_none() && view.put_in.is_none() && view.formula == "up to the next 10 kg");
    }
}
