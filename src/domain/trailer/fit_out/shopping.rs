//! A need is described rule by rule, then bought.

use rust_decimal::Decimal;

use crate::{
    shop::{
        Attribute, ByHand, ChosenPart, Goods, Item, PartClass, PartItem, PartNeed, RateBook, Requirement, Rule, choose,
    },
    trailer::{Assumed, Fitting, Group, Layout, Point, Spec},
};

/// More pieces than any trailer has; keeps odd geometry from asking for endless screws.
const MOST_PIECES: f64 = 10_000.0;

pub struct Shopping<'a> {
    pub spec: &'a Spec,
    pub layout: &'a Layout,
    pub assumed: &'a Assumed,
    rates: &'a RateBook,
    pub fittings: Vec<Fitting>,
}

/// A need under way, and the need whose part picked by hand serves here too.
pub struct Need(PartNeed, Option<&'static str>);

/// One piece, without rules yet.
pub fn need(key: &str, class: PartClass) -> Need {
    Need(PartNeed { key: key.into(), class, count: 1.0, requirements: Vec::new() }, None)
}

impl Need {
    /// What was picked by hand for another need is taken here too, unless this one has a pick of its own.
    pub fn like(self, key: &'static str) -> Self {
        Self(self.0, Some(key))
    }

    pub fn count(mut self, count: f64) -> Self {
        self.0.count = if count.is_finite() { count.clamp(0.0, MOST_PIECES) } else { 0.0 };
        self
    }

    pub fn at_least(self, attribute: &str, value: f64, because: &str) -> Self {
        self.rule(attribute, Rule::AtLeast(value), because)
    }

    pub fn at_most(self, attribute: &str, value: f64, because: &str) -> Self {
        self.rule(attribute, Rule::AtMost(value), because)
    }

    pub fn is(self, attribute: &str, value: impl Into<Wanted>, because: &str) -> Self {
        self.rule(attribute, Rule::Is(value.into().0), because)
    }

    /// A rule that holds only where the value is known.
    pub fn when_known(self, attribute: &str, value: Option<Attribute>, because: &str) -> Self {
        match value {
            Some(value) => self.rule(attribute, Rule::Is(value), because),
            None => self,
        }
    }

    fn rule(mut self, attribute: &str, rule: Rule, because: &str) -> Self {
        self.0.requirements.push(Requirement { attribute: attribute.into(), rule, because: because.into() });
        self
    }
}

pub struct Wanted(Attribute);

impl From<&str> for Wanted {
    fn from(word: &str) -> Self {
        Self(Attribute::Word(word.into()))
    }
}

impl From<f64> for Wanted {
    fn from(figure: f64) -> Self {
        Self(Attribute::Figure(figure))
    }
}

impl<'a> Shopping<'a> {
    pub fn new(spec: &'a Spec, layout: &'a Layout, rates: &'a RateBook, assumed: &'a Assumed) -> Self {
        Self { spec, layout, assumed, rates, fittings: Vec::new() }
    }

    /// Chooses a part that stands where it is. Goods by the metre and small parts keep the need's count; the places say where
    /// their mass lies. A need for nothing is not bought.
    pub fn buy(&mut self, need: Need, group: Group, places: Vec<Point>) -> Option<PartItem> {
        self.fit(need, group, places, false)
    }

    /// One piece a place.
    pub fn buy_at(&mut self, need: Need, group: Group, places: Vec<Point>) -> Option<PartItem> {
        let need = need.count(places.len() as f64);
        self.fit(need, group, places, false)
    }

    /// One piece a place, on the axle.
    pub fn buy_on_axle(&mut self, need: Need, places: Vec<Point>) -> Option<PartItem> {
        let need = need.count(places.len() as f64);
        self.fit(need, Group::RunningGear, places, true)
    }

    pub fn fit(&mut self, Need(need, like): Need, group: Group, places: Vec<Point>, on_axle: bool) -> Option<PartItem> {
        if need.count <= 0.0 || places.is_empty() {
            return None;
        }
        let pick = |key: &str| self.spec.offer.overruled.get(&format!("part/{key}"));
        let overruled = pick(&need.key).or_else(|| like.and_then(pick));
        let by_hand = overruled.map(|by_hand| ByHand { code: &by_hand.value, reason: &by_hand.reason });
        let class = need.class;
        let part = choose(self.rates, need, by_hand);
        let item = part.item.clone();
        self.fittings.push(Fitting { group, class, part, places, moves_with_axle: on_axle });
        item
    }

    /// Whether any item of a class carries a figure.
    pub fn knows(&self, class: PartClass, attribute: &str) -> bool {
        let carries = |item: &Item| match &item.goods {
            Goods::Part { class: of, attributes, .. } => {
                *of == class && matches!(attributes.get(attribute), Some(Attribute::Figure(_)))
            }
            _ => false,
        };
        self.rates.items.iter().any(carries)
    }

    /// The value of an attribute with which two needs that must share it cost least together, by their counts; None where the rate book has no
    /// such pair, or the first is picked by hand.
    pub fn cheapest_common(
        &self,
        attribute: &str,
        one: impl Fn() -> Need,
        other: impl Fn() -> Option<Need>,
    ) -> Option<Attribute> {
        if self.spec.offer.overruled.contains_key(&format!("part/{}", one().0.key)) {
            return None;
        }
        let class = one().0.class;
        let of_class = |item: &&Item| matches!(&item.goods, Goods::Part { class: of, .. } if *of == class);
        let mut values: Vec<&Attribute> = Vec::new();
        for item in self.rates.items.iter().filter(of_class) {
            if let Goods::Part { attributes, .. } = &item.goods
                && let Some(value) = attributes.get(attribute)
                && !values.contains(&value)
            {
                values.push(value);
            }
        }
        let price = |need: Need, value: &Attribute| {
            let Need(need, _) = need.when_known(attribute, Some(value.clone()), "");
            let count = Decimal::try_from(need.count).unwrap_or(Decimal::ONE);
            choose(self.rates, need, None).item.map(|item| item.price * count)
        };
        let priced =
            values.into_iter().filter_map(|value| Some((price(one(), value)? + price(other()?, value)?, value)));
        priced.min_by_key(|(price, _)| *price).map(|(_, value)| value.clone())
    }

    /// A part that comes from the spec, not from the rate book.
    pub fn bring(
        &mut self,
        Need(need, _): Need,
        item: Option<PartItem>,
        not_known: Vec<String>,
        group: Group,
        places: Vec<Point>,
        on_axle: bool,
    ) {
        let class = need.class;
        let part = ChosenPart { need, item, falls_short: not_known, overruled: None, others: Vec::new() };
        self.fittings.push(Fitting { group, class, part, places, moves_with_axle: on_axle });
    }

    // ------------------------------------------------------------ what parts are chosen for

    pub fn gross_kg(&self) -> f64 {
        self.assumed.gross_kg
    }

    pub fn coupling_load_kg(&self) -> f64 {
        self.assumed.coupling_load_kg.max(0.0)
    }

    /// What one axle carries at most.
    pub fn axle_kg(&self) -> f64 {
        self.assumed.axle_load_kg.max(0.0)
    }

    /// What one wheel carries at most.
    pub fn wheel_kg(&self) -> f64 {
        self.assumed.wheel_load_kg.max(0.0)
    }

    pub fn axle_because(&self) -> String {
        let axles = if self.axles() == 1 { "the axle".to_owned() } else { format!("each of {} axles", self.axles()) };
        format!("load on {axles}, {:.0} kg", self.axle_kg())
    }

    pub fn axles(&self) -> usize {
        self.layout.axles_x_mm.len().max(1)
    }

    pub fn heaviest_load_kg(&self) -> f64 {
        self.spec.need.loads.iter().map(|load| load.mass.kg()).fold(0.0, f64::max)
    }

    /// Left and right at every axle, at this distance from the centre line and this height.
    pub fn both_sides(&self, y_mm: f64, z_mm: f64) -> Vec<Point> {
        self.layout.axles_x_mm.iter().flat_map(|&x| [[x, -y_mm, z_mm], [x, y_mm, z_mm]]).collect()
    }

    pub fn at_axles(&self, z_mm: f64) -> Vec<Point> {
        self.layout.axles_x_mm.iter().map(|&x| [x, 0.0, z_mm]).collect()
    }
}
