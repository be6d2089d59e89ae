//! One load in one trip: what holds it, and whether that is enough.

use super::{
    HeldLoad, WayUse, friction,
    lashing::{self, Anchor, Strap},
    rules::{DYNAMIC_FRICTION, Rule, Way, aggregate_kg, over_top_straps, us_straps},
};
use crate::domain::{
    strength::{G, whole},
    trailer::{Load, Spec, StrapMethod, Trailer},
    weights::PlacedLoad,
    working::{Check, Sure, Verdict, Working},
};

/// How its straps run.
pub enum Laid {
    Direct(Vec<Strap>),
    /// The two points of each strap and its flattest angle to the deck.
    OverTop(Vec<([usize; 2], f64)>),
}

pub fn lay(load: &Load, placed: &PlacedLoad, trailer: &Trailer, anchors: &mut [Anchor]) -> Laid {
    let deck = trailer.layout.deck_top_z_mm;
    match load.held.method {
        StrapMethod::Direct => Laid::Direct(lashing::direct(placed, deck, load.held.straps, anchors)),
        StrapMethod::OverTop => Laid::OverTop(lashing::over_top(placed, deck, load.held.straps, anchors)),
    }
}

pub struct Case<'a> {
    pub spec: &'a Spec,
    pub trailer: &'a Trailer,
    pub rule: Rule,
    pub trip: &'a str,
    pub load: &'a Load,
    pub placed: &'a PlacedLoad,
    pub laid: Laid,
    pub anchors: &'a [Anchor],
}

/// How full the restraint is in one direction, with its working.
struct Full {
    way: Way,
    usage: f64,
    working: Working,
}

impl Case<'_> {
    fn key(&self, what: &str) -> String {
        format!("restraint/{what}/{}", self.load.name)
    }

    fn mass(&self) -> f64 {
        self.placed.body.mass_kg
    }

    /// What one strap may pull: its rating, or its share of the point it pulls at; with the name of the weaker.
    fn pull(&self, anchors: &[usize]) -> Result<(f64, String), &'static str> {
        let rated = self.load.held.strap_rating.ok_or("the rating of its straps")?.kg();
        let mut least = (rated, "the straps".to_owned());
        for anchor in anchors.iter().filter_map(|&index| self.anchors.get(index)) {
            let bears = anchor.rating_kg.ok_or("the rating of the lashing points")?;
            let share = bears / f64::from(anchor.straps.max(1));
            if share < least.0 {
                let shared =
                    if anchor.straps > 1 { format!(", shared by {} straps", anchor.straps) } else { String::new() };
                least = (share, format!("{} of {bears:.0} kg{shared}", anchor.name));
            }
        }
        Ok(least)
    }

    /// The weakest of all its straps.
    fn weakest(&self) -> Result<(f64, String), &'static str> {
        let all: Vec<usize> = match &self.laid {
            Laid::Direct(straps) => straps.iter().map(|strap| strap.anchor).collect(),
            Laid::OverTop(straps) => straps.iter().flat_map(|(anchors, _)| *anchors).collect(),
        };
        self.pull(&all)
    }

    /// How far it reaches from its centre of gravity towards a direction, and how high that is: mm.
    fn stance(&self, way: Way) -> (f64, f64) {
        let [x, y] = way.vector();
        let body = self.placed.body.centre;
        let from_middle = (body[0] - self.placed.x_mm) * x + (body[1] - self.placed.y_mm) * y;
        // It stands on its wheels where it has them, else on its whole footprint.
        let track = if friction::two_wheeled(self.load) { Some(0.0) } else { self.load.track.map(|track| track.mm()) };
        let base = if way.along() { self.load.wheelbase.map(|base| base.mm()) } else { track };
        let half = base.unwrap_or(if way.along() { self.placed.length_mm } else { self.placed.width_mm }) / 2.0;
        ((half - from_middle).max(0.0), body[2] - self.trailer.layout.deck_top_z_mm)
    }

    fn count(&self) -> usize {
        match &self.laid {
            Laid::Direct(straps) => straps.len(),
            Laid::OverTop(straps) => straps.len(),
        }
    }

    /// EN: m g (c − f_μ μ) over what the straps that are not slack hold.
    fn sliding(&self, way: Way, mu: &friction::Friction) -> Result<Full, &'static str> {
        let (c, m) = (self.rule.sliding(way), self.mass());
        let title = format!("Sliding {}: {}", way.label(), self.load.name);
        match &self.laid {
            Laid::Direct(straps) => {
                let grip = DYNAMIC_FRICTION * mu.mu;
                let mut holds = 0.0;
                for strap in straps.iter().filter(|strap| strap.against(way) > 0.05) {
                    let (pull, _) = self.pull(&[strap.anchor])?;
                    holds += pull * G * (strap.against(way) - grip * strap.pull[2]);
                }
                let asks = (m * G * (c - grip)).max(0.0);
                let working = Working::new(title, "F = max(0, m g (c − f_μ μ))")
                    .given("m", "mass", m, "kg")
                    .given("g", "gravity", G, "m/s²")
                    .given("c", format!("acceleration {}, in g", way.label()), c, "")
                    .given("f_μ", "share of friction that direct lashing counts", DYNAMIC_FRICTION, "")
                    .given("μ", mu.source, mu.mu, "")
                    .given("R", "held by the straps that are not slack", holds, "N")
                    .gives("F", asks, "N")
                    .source(format!("{}, from memory; friction: {}", self.rule.name(), mu.source), Sure::Memory);
                Ok(Full { way, usage: ratio(asks, holds), working })
            }
            Laid::OverTop(straps) => {
                let tension =
                    self.load.held.strap_tension.ok_or("hand tension of its straps (S_TF on the label)")?.kg();
                let alpha = straps.iter().map(|(_, angle)| *angle).fold(90.0, f64::min);
                let needed = over_top_straps(m, c, mu.mu, alpha, tension * G, self.rule.over_top(way));
                let has = straps.len() as f64;
                let working = Working::new(title, "n = (c − μ) m g f_s / (2 μ sin(α) F_T)")
                    .given("c", format!("acceleration {}, in g", way.label()), c, "")
                    .given("μ", mu.source, mu.mu, "")
                    .given("m", "mass", m, "kg")
                    .given("g", "gravity", G, "m/s²")
                    .given("f_s", "safety factor", self.rule.over_top(way), "")
                    .given("α", "flattest strap to the deck", alpha, "°")
                    .given("F_T", "hand tension of a strap", tension * G, "N")
                    .gives("n", needed.unwrap_or(0.0), "straps")
                    .source(
                        format!(
                            "{}, from memory; friction: {}{}",
                            self.rule.name(),
                            mu.source,
                            if needed.is_none() {
                                "; without friction, angle and tension no number of straps would do"
                            } else {
                                ""
                            }
                        ),
                        Sure::Memory,
                    );
                Ok(Full { way, usage: needed.map_or(f64::INFINITY, |needed| ratio(needed.max(0.0), has)), working })
            }
        }
    }

    /// About the lower edge; none where it stands by itself.
    fn tipping(&self, way: Way) -> Result<Option<Full>, &'static str> {
        let (reach, height) = self.stance(way);
        let (c, m) = (self.rule.tipping(way), self.mass());
        let asks = m * G * (c * height - reach);
        if asks <= 0.0 {
            return Ok(None);
        }
        let [x, y] = way.vector();
        let centre = self.placed.body.centre;
        let mut holds = 0.0;
        match &self.laid {
            Laid::Direct(straps) => {
                for strap in straps.iter().filter(|strap| strap.against(way) > 0.05) {
                    let ahead = (strap.from[0] - centre[0]) * x + (strap.from[1] - centre[1]) * y;
                    let up = strap.from[2] - self.trailer.layout.deck_top_z_mm;
                    let arm = strap.against(way) * up - strap.pull[2] * (reach - ahead);
                    holds += self.pull(&[strap.anchor])?.0 * G * arm.max(0.0);
                }
            }
            Laid::OverTop(straps) => {
                let tension =
                    self.load.held.strap_tension.ok_or("hand tension of its straps (S_TF on the label)")?.kg();
                // Sideways the strap on the far edge holds with its whole arm; along, all of them over half of the footing.
                let arm = if way.along() { 2.0 * reach } else { self.placed.width_mm };
                for (_, angle) in straps {
                    holds += tension * G * angle.to_radians().sin() * arm / self.rule.over_top(way);
                }
            }
        }
        let working = Working::new(format!("Tipping {}: {}", way.label(), self.load.name), "M = m g (c h − b)")
            .given("m", "mass", m, "kg")
            .given("g", "gravity", G, "m/s²")
            .given("c", format!("acceleration {}, in g", way.label()), c, "")
            .given("h", "centre of gravity above the deck", height, "mm")
            .given("b", "from it to the edge it tips over", reach, "mm")
            .given("R", "held by the straps that are not slack", holds / 1000.0, "N·m")
            .gives("M", asks / 1000.0, "N·m")
            .source(format!("statics with the accelerations of {}, from memory", self.rule.name()), Sure::Memory);
        Ok(Some(Full { way, usage: ratio(asks, holds), working }))
    }

    pub fn judge(self) -> (HeldLoad, Vec<Check>) {
        let mut row = HeldLoad {
            trip: self.trip.to_owned(),
            load: self.load.name.clone(),
            mass_kg: self.mass(),
            rule: self.rule.name().to_owned(),
            straps: self.load.held.straps,
            ..HeldLoad::default()
        };
        let mut checks = Vec::new();
        match self.worked(&mut row) {
            Ok(found) => checks.extend(found),
            Err(missing) => {
                row.missing = missing.to_owned();
                let says = format!("How {} is held cannot be said without {missing}.", self.load.name);
                let title = format!("{} held", self.load.name);
                checks.push(Check::cannot_tell(self.key("slide"), title, missing, says).in_case(self.trip));
            }
        }
        checks.extend(self.two_wheels());
        row.do_this = self.words(&row);
        (row, checks)
    }

    fn worked(&self, row: &mut HeldLoad) -> Result<Vec<Check>, &'static str> {
        let [along, across] = friction::of_load(self.load, self.spec.design.deck.material)?;
        if self.load.held.straps == 0 && !self.load.held.against_front {
            let says = format!("{} has no straps. Nothing may ride loose.", self.load.name);
            return Ok(vec![self.told("slide", "held", Verdict::Fails, says)]);
        }
        let (pull, weakest) = self.weakest()?;
        (row.pull_kg, row.weakest) = (Some(pull), weakest);
        let mut sliding = Vec::new();
        let mut tipping = Vec::new();
        for way in Way::ALL {
            let mu = if way.along() { &along } else { &across };
            // What stands against the front board leans on it; the board is a matter of its own check.
            let blocked = way == Way::Forward && self.load.held.against_front;
            let slides = (!blocked).then(|| self.sliding(way, mu)).transpose()?;
            let tips = self.tipping(way)?;
            row.ways.push(WayUse {
                way: way.label().into(),
                sliding: slides.as_ref().map(|full| full.usage).filter(|usage| usage.is_finite()),
                tipping: tips.as_ref().map(|full| full.usage).filter(|usage| usage.is_finite()),
            });
            sliding.extend(slides);
            tipping.extend(tips);
        }
        let worst = |fulls: Vec<Full>| fulls.into_iter().max_by(|a, b| a.usage.total_cmp(&b.usage));
        let mut checks = Vec::new();
        let mut most: f64 = 0.0;
        if let Some(full) = worst(sliding) {
            most = most.max(full.usage);
            checks.push(self.compared("slide", "kept from sliding", full, row));
        }
        if let Some(full) = worst(tipping) {
            most = most.max(full.usage);
            checks.push(self.compared("tip", "kept from tipping", full, row));
        }
        let needed = (most * f64::from(row.straps) - 1e-9).ceil().max(1.0);
        row.straps_needed = (most.is_finite() && needed <= 40.0 && row.straps > 0).then_some(needed as u32);
        if self.load.held.method == StrapMethod::Direct && row.straps % 2 == 1 {
            row.straps_needed = row.straps_needed.map(|needed| needed.max(2));
        }
        checks.push(self.points(pull, row));
        if self.rule == Rule::Cfr393 {
            checks.extend(self.federal(pull));
        }
        Ok(checks)
    }

    fn told(&self, what: &str, title: &str, verdict: Verdict, says: String) -> Check {
        Check::told(self.key(what), format!("{} {title}", self.load.name), verdict, says)
            .in_case(self.trip)
            .of_part(&self.load.name)
    }

    fn compared(&self, what: &str, title: &str, full: Full, row: &HeldLoad) -> Check {
        let Full { way, usage, working } = full;
        let says = if usage.is_finite() {
            format!(
                "{}: worst {}, {:.0} % of what {} straps hold, by {}; {} is the weakest.",
                self.trip,
                way.label(),
                100.0 * usage,
                row.straps,
                row.rule,
                row.weakest
            )
        } else {
            format!("{}: nothing holds it {}. Straps must pull the other way, down and out.", self.trip, way.label())
        };
        Check { usage: usage.is_finite().then_some(usage), ..self.told(what, title, Verdict::of_use(usage), says) }
            .with(working)
    }

    /// A point must bear what the strap on it can pull: else the strap's label promises more than holds.
    fn points(&self, pull: f64, row: &HeldLoad) -> Check {
        let rated = self.load.held.strap_rating.map_or(pull, |rating| rating.kg());
        let reached = match &self.laid {
            Laid::OverTop(_) => self.load.held.strap_tension.map_or(rated, |tension| tension.kg()),
            Laid::Direct(_) => rated,
        };
        let says = if pull + 1e-9 < reached {
            format!(
                "The straps may pull {} kg, but {} bears {} kg of it: that is what counts. Stronger points, or one strap a point.",
                whole(reached),
                row.weakest,
                whole(pull)
            )
        } else {
            format!("Points and straps both bear {} kg.", whole(pull))
        };
        // Of direct straps the weaker was counted with: an uneven pair is a warning. A strap drawn tight over the top does pull so much.
        let verdict = match &self.laid {
            _ if pull + 1e-9 >= reached => Verdict::Holds,
            Laid::Direct(_) => Verdict::Close,
            Laid::OverTop(_) => Verdict::Fails,
        };
        let mut check = self.told("points", "lashing points against straps", verdict, says);
        (check.demand, check.capacity, check.unit) = (Some(reached), Some(pull), "kg".into());
        check.with(
            Working::new("What one strap may pull", "F = min(F_s, F_p / n)")
                .given("F_s", "rating of the strap with its ratchet and hooks", rated, "kg")
                .given("F_p", "rating of the lashing point, shared by n straps", pull, "kg")
                .gives("F", pull, "kg")
                .source("the weakest part governs: 49 CFR 393.108(a), read; the same anywhere", Sure::Read),
        )
    }

    /// 49 CFR 393.106(d) and 393.110.
    fn federal(&self, pull: f64) -> Vec<Check> {
        let direct = self.load.held.method == StrapMethod::Direct;
        let sum = aggregate_kg(self.count() as f64, pull, direct);
        let half = self.mass() / 2.0;
        let says = format!(
            "The straps' working loads add up to {} kg; half of the load, {} kg, is asked.",
            whole(sum),
            whole(half)
        );
        let aggregate = Check::compared(
            self.key("aggregate"),
            format!("{} aggregate limit", self.load.name),
            half,
            sum,
            "kg",
            says,
        )
        .in_case(self.trip)
        .with(
            Working::new("Aggregate working load limit", "W = n f F")
                .given("n", "straps", self.count() as f64, "")
                .given("f", "half where a strap runs from vehicle to load", if direct { 0.5 } else { 1.0 }, "")
                .given("F", "weakest of strap and point", pull, "kg")
                .gives("W", sum, "kg")
                .source("49 CFR 393.106(d), read in a summary", Sure::Read),
        );
        let least = us_straps(self.load.length.mm() / 1000.0, self.mass(), self.load.held.against_front);
        let has = self.count() as u32;
        let verdict = if has >= least { Verdict::Holds } else { Verdict::Fails };
        let says = format!("{has} straps; 49 CFR 393.110 asks for at least {least} on a load of this length and mass.");
        vec![aggregate, self.told("count", "number of straps", verdict, says)]
    }

    /// A machine on two wheels needs four straps, down and out, and a chock (common practice, no source).
    fn two_wheels(&self) -> Option<Check> {
        if !friction::two_wheeled(self.load) {
            return None;
        }
        let held = &self.load.held;
        let four = held.straps >= 4 && held.method == StrapMethod::Direct;
        let verdict = match (four, held.chocks) {
            (true, true) => Verdict::Holds,
            (true, false) => Verdict::Close,
            _ => Verdict::Fails,
        };
        let says = "It stands on two wheels: four straps, down and out, two forwards and two rearwards, its front wheel in a chock \
                    (common practice, no source).";
        Some(self.told("two-wheels", "on two wheels", verdict, says.into()))
    }

    fn words(&self, row: &HeldLoad) -> String {
        let number = row.straps_needed.map_or(row.straps, |needed| needed.max(row.straps));
        let mut words = match &self.laid {
            _ if number == 0 => "No straps are asked.".to_owned(),
            Laid::Direct(straps) => {
                let slopes = straps
                    .iter()
                    .map(Strap::slope_deg)
                    .fold([90.0_f64, 0.0], |[low, high], slope| [low.min(slope), high.max(slope)]);
                let angle = if straps.is_empty() {
                    "no lashing point within reach".to_owned()
                } else if slopes[1] - slopes[0] < 3.0 {
                    format!("about {:.0}° to the deck", slopes[1])
                } else {
                    format!("{:.0}° to {:.0}° to the deck", slopes[0], slopes[1])
                };
                format!(
                    "{number} straps from the load to the points, half of them forwards and half rearwards, {angle}."
                )
            }
            Laid::OverTop(straps) => {
                let flattest = straps.iter().map(|(_, angle)| *angle).fold(90.0, f64::min);
                format!(
                    "{number} straps over the top, spread along the load, {flattest:.0}° to the deck or steeper, drawn tight."
                )
            }
        };
        if let Some(rating) = self.load.held.strap_rating {
            words.push_str(&format!(" Each rated for {} kg.", whole(rating.kg())));
        }
        if self.load.held.chocks {
            words.push_str(" Chock its wheels or feet.");
        } else if friction::on_wheels(self.load) {
            words.push_str(" Put its brake on; chocks would hold it better.");
        }
        if self.load.held.against_front {
            words.push_str(" Stand it against the front board.");
        }
        words
    }
}

/// Demand over capacity; without capacity, full beyond measure unless nothing is asked.
fn ratio(asks: f64, holds: f64) -> f64 {
    if asks <= 0.0 {
        0.0
    } else if holds > 0.0 {
        asks / holds
    } else {
        f64::INFINITY
    }
}

#[cfg(test)]
mod tests {
    use super::{super::rules::direct_strap_n, *};

    /// The sum over straps at their places is the textbook formula where they stand symmetrically: 500 kg, 0.8, μ 0.3, 40° and 40°: 1928 N each
    /// (EN 12195-1 formula from memory, computed).
    #[test]
    fn the_sum_over_straps_is_the_formula_of_a_pair() {
        let (alpha, beta) = (40f64.to_radians(), 40f64.to_radians());
        let pull = |side: f64| [alpha.cos() * beta.cos(), side * alpha.cos() * beta.sin(), -alpha.sin()];
        let straps = [-1.0, 1.0].map(|side| Strap { from: [0.0; 3], anchor: 0, pull: pull(side) });
        let grip = DYNAMIC_FRICTION * 0.3;
        let per_newton: f64 = straps.iter().map(|strap| strap.against(Way::Forward) - grip * strap.pull[2]).sum();
        let each = 500.0 * G * (0.8 - grip) / per_newton;
        assert!((each - 1928.0).abs() < 0.6, "{each}");
        assert!((each - direct_strap_n(500.0, 0.8, 0.3, 40.0, 40.0, 2.0).unwrap()).abs() < 1e-6);
    }
}
