//! How one load is held, as checks and as words for who straps it down.

use super::{
    HeldLoad, Hold, WayUse, friction,
    hold::{Case, Full, Laid},
    lashing::Strap,
    rules::{Rule, Way, aggregate_kg, us_straps},
};
use crate::{
    measure::{beside, percent_of_limit},
    strength::whole,
    trailer::StrapMethod,
    working::{Check, Sure, Verdict, Working},
};

impl Case<'_> {
    fn key(&self, what: &str) -> String {
        format!("restraint/{what}/{}", self.load.name)
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
                let missing = format!("{missing}, of {}", self.load.name);
                checks.push(Check::cannot_tell(self.key("slide"), title, missing, says).in_case(self.trip));
            }
        }
        checks.extend(self.two_wheels());
        row.hold = Some(self.hold(&row));
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
                "{}: worst {}, {} % of what {} straps hold, by {}; {} is the weakest.",
                self.trip,
                way.label(),
                percent_of_limit(usage, 0),
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
            let [asked, most] = beside(reached, pull, 0);
            format!(
                "The straps may pull {asked} kg, but {} bears {most} kg of it: that is what counts. Stronger points, or one strap a point.",
                row.weakest
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
        let [asked, most] = beside(half, sum, 0);
        let says = format!("The straps' working loads add up to {most} kg; half of the load, {asked} kg, is asked.");
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

    fn hold(&self, row: &HeldLoad) -> Hold {
        let angles: Vec<f64> = match &self.laid {
            Laid::Direct(straps) => straps.iter().map(Strap::slope_deg).collect(),
            Laid::OverTop(straps) => straps.iter().map(|(_, angle)| *angle).collect(),
        };
        let flattest = angles.iter().copied().reduce(f64::min);
        let steepest = angles.iter().copied().reduce(f64::max);
        let held = &self.load.held;
        Hold {
            straps: row.straps_needed.map_or(row.straps, |needed| needed.max(row.straps)),
            over_top: matches!(self.laid, Laid::OverTop(_)),
            slopes_deg: flattest.zip(steepest).map(|(low, high)| [low, high]),
            rating_kg: held.strap_rating.map(|rating| rating.kg()),
            chocks: held.chocks,
            brake: !held.chocks && friction::on_wheels(self.load),
            front: held.against_front,
        }
    }
}
