//! One load in one trip: what holds it, and how full that is in each direction.

use super::{
    friction,
    lashing::{self, Anchor, Strap},
    rules::{DYNAMIC_FRICTION, Rule, Way, over_top_straps},
};
use crate::{
    strength::G,
    trailer::{Load, Spec, StrapMethod, Trailer},
    weights::PlacedLoad,
    working::{Sure, Working},
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
pub struct Full {
    pub way: Way,
    pub usage: f64,
    pub working: Working,
}

impl Case<'_> {
    pub fn mass(&self) -> f64 {
        self.placed.body.mass_kg
    }

    /// What one strap may pull: its rating, or its share of the point it pulls at; with the name of the weaker.
    fn pull(&self, anchors: &[usize]) -> Result<(f64, String), &'static str> {
        let rated = self.load.held.strap_rating.ok_or("the rating of one strap")?.kg();
        let mut least = (rated, "the straps".to_owned());
        for anchor in anchors.iter().filter_map(|&index| self.anchors.get(index)) {
            let bears = anchor.rating_kg.ok_or("the rating of the lashing points in the rate book")?;
            let share = bears / f64::from(anchor.straps.max(1));
            if share < least.0 {
                let shared =
                    if anchor.straps > 1 { format!(", shared by {} straps", anchor.straps) } else { String::new() };
                least = (share, format!("{} (bears {bears:.0} kg{shared})", anchor.name));
            }
        }
        Ok(least)
    }

    /// The weakest of all its straps.
    pub fn weakest(&self) -> Result<(f64, String), &'static str> {
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

    pub fn count(&self) -> usize {
        match &self.laid {
            Laid::Direct(straps) => straps.len(),
            Laid::OverTop(straps) => straps.len(),
        }
    }

    /// EN: m g (c − f_μ μ) over what the straps that are not slack hold.
    pub fn sliding(&self, way: Way, mu: &friction::Friction) -> Result<Full, &'static str> {
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
                    self.load.held.strap_tension.ok_or("the hand tension of one strap (S_TF on the label)")?.kg();
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
    pub fn tipping(&self, way: Way) -> Result<Option<Full>, &'static str> {
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
                    self.load.held.strap_tension.ok_or("the hand tension of one strap (S_TF on the label)")?.kg();
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
