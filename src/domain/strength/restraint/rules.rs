//! The formulas of load restraint: EN 12195-1 and 49 CFR 393.
//!
//! EN 12195-1:2010: formulas and coefficients from memory; that direct lashings count 75 % of the friction is read (CTU Code appendix 2).
//! 49 CFR 393.102–108: read in the rule's text and in summaries.

use crate::strength::G;

/// Where a load wants to go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    Forward,
    Rearward,
    Left,
    Right,
}

impl Way {
    pub const ALL: [Self; 4] = [Self::Forward, Self::Rearward, Self::Left, Self::Right];

    pub const fn label(self) -> &'static str {
        match self {
            Self::Forward => "forward",
            Self::Rearward => "rearward",
            Self::Left => "to the left",
            Self::Right => "to the right",
        }
    }

    /// Unit vector of the motion: x rearwards, y right.
    pub const fn vector(self) -> [f64; 2] {
        match self {
            Self::Forward => [-1.0, 0.0],
            Self::Rearward => [1.0, 0.0],
            Self::Left => [0.0, -1.0],
            Self::Right => [0.0, 1.0],
        }
    }

    pub const fn along(self) -> bool {
        matches!(self, Self::Forward | Self::Rearward)
    }
}

/// A region's rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    En12195,
    Cfr393,
}

impl Rule {
    pub const fn name(self) -> &'static str {
        match self {
            Self::En12195 => "EN 12195-1",
            Self::Cfr393 => "49 CFR 393",
        }
    }

    /// Horizontal acceleration, in g, against which working loads must hold.
    pub const fn sliding(self, way: Way) -> f64 {
        match (self, way) {
            (Self::En12195, Way::Forward) => 0.8,
            (Self::Cfr393, Way::Forward) => 0.435,
            (_, Way::Rearward) | (Self::En12195, _) => 0.5,
            (Self::Cfr393, _) => 0.25,
        }
    }

    /// The same for tipping: sideways EN asks 0.6 of goods that would tip.
    pub const fn tipping(self, way: Way) -> f64 {
        match (self, way) {
            (Self::En12195, Way::Left | Way::Right) => 0.6,
            _ => self.sliding(way),
        }
    }

    /// Safety factor of over-top lashing.
    pub const fn over_top(self, way: Way) -> f64 {
        match (self, way) {
            (Self::En12195, Way::Forward) => 1.25,
            (Self::En12195, _) => 1.1,
            (Self::Cfr393, _) => 1.0,
        }
    }
}

/// Share of the friction that direct lashings count. Source: CTU Code appendix 2, read.
pub const DYNAMIC_FRICTION: f64 = 0.75;

/// Straps over the top, unrounded: n = (c − μ) m g f_s / (2 μ sin α F_T). None where no number would do (no friction, no angle, no
/// tension).
pub fn over_top_straps(mass_kg: f64, c: f64, mu: f64, alpha_deg: f64, tension_n: f64, factor: f64) -> Option<f64> {
    let down = 2.0 * mu * alpha_deg.to_radians().sin() * tension_n;
    (down > 1e-9).then(|| (c - mu) * mass_kg * G * factor / down)
}

/// Capacity each of n direct straps needs, N: m g (c − f_μ μ) / (n (cos α cos β + f_μ μ sin α)).
pub fn direct_strap_n(mass_kg: f64, c: f64, mu: f64, alpha_deg: f64, beta_deg: f64, n: f64) -> Option<f64> {
    let (alpha, beta, grip) = (alpha_deg.to_radians(), beta_deg.to_radians(), DYNAMIC_FRICTION * mu);
    let holds = n * (alpha.cos() * beta.cos() + grip * alpha.sin());
    (holds > 1e-9).then(|| (mass_kg * G * (c - grip) / holds).max(0.0))
}

/// What blocking must hold, N: m g (c − μ).
pub fn blocking_n(mass_kg: f64, c: f64, mu: f64) -> f64 {
    (mass_kg * G * (c - mu)).max(0.0)
}

/// Straps of 49 CFR 393.110 for an article of this length (m) and mass (kg), blocked forward or not. Longer than 10 ft unblocked: from
/// memory.
pub fn us_straps(length_m: f64, mass_kg: f64, blocked: bool) -> u32 {
    let (feet, pounds) = (length_m / 0.3048, mass_kg / 0.453_592_37);
    let tens = |feet: f64| (feet / 10.0 - 1e-9).ceil().max(0.0) as u32;
    if blocked {
        tens(feet).max(1)
    } else if feet <= 5.0 {
        if pounds <= 1100.0 { 1 } else { 2 }
    } else if feet <= 10.0 {
        2
    } else {
        2 + tens(feet - 10.0)
    }
}

/// Aggregate working load limit, kg: half of each strap from the vehicle to the load, all of one over the load to the other side.
pub fn aggregate_kg(straps: f64, limit_kg: f64, direct: bool) -> f64 {
    straps * limit_kg * if direct { 0.5 } else { 1.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: f64, expect: f64, within: f64) {
        assert!((found - expect).abs() <= within, "{found} instead of {expect}");
    }

    /// Source: EN 12195-1 formula (from memory), worked beside it: m, μ, α, F_T, forward, sideways.
    #[test]
    fn the_tie_down_table() {
        let rule = Rule::En12195;
        for (m, mu, alpha, tension, forward, sideways) in [
            (500.0, 0.30, 60.0, 2500.0, 2.360, 0.831),
            (500.0, 0.45, 60.0, 2500.0, 1.101, 0.138),
            (1000.0, 0.30, 90.0, 4000.0, 2.555, 0.899),
            (2000.0, 0.30, 60.0, 5000.0, 4.720, 1.661),
        ] {
            for (way, expect) in [(Way::Forward, forward), (Way::Left, sideways)] {
                let n = over_top_straps(m, rule.sliding(way), mu, alpha, tension, rule.over_top(way));
                close(n.unwrap(), expect, 6e-4);
            }
        }
        close(over_top_straps(500.0, 0.8, 0.6, 60.0, 2500.0, 1.25).unwrap(), 0.472, 6e-4);
        assert!(over_top_straps(500.0, 0.5, 0.6, 60.0, 2500.0, 1.1).unwrap() < 0.0);
        // A strap of LC 2500 daN and S_TF 400 daN at μ = 0.3 holds at most 240 daN (GDV, read).
        let straps = over_top_straps(500.0, 0.8, 0.3, 90.0, 4000.0, 1.0).unwrap();
        close((0.8 - 0.3) * 500.0 * G / straps, 2400.0, 1e-9);
        assert_eq!(over_top_straps(500.0, 0.8, 0.0, 60.0, 2500.0, 1.25), None);
        assert_eq!(over_top_straps(500.0, 0.8, 0.3, 0.0, 2500.0, 1.25), None);
    }

    /// Source: EN 12195-1 formula (from memory), worked beside it.
    #[test]
    fn direct_pairs() {
        close(direct_strap_n(500.0, 0.8, 0.3, 40.0, 40.0, 2.0).unwrap(), 1928.0, 0.6);
        close(direct_strap_n(1000.0, 0.8, 0.3, 40.0, 40.0, 2.0).unwrap(), 3856.0, 0.6);
        close(direct_strap_n(1500.0, 0.8, 0.45, 35.0, 45.0, 2.0).unwrap(), 4403.0, 0.6);
        close(blocking_n(1000.0, 0.8, 0.3), 4905.0, 1e-6);
        assert_eq!(blocking_n(1000.0, 0.3, 0.5), 0.0);
    }

    /// Source: 49 CFR 393.106 and 393.110 as read: 1500 lb with four direct straps of 1750 lb; 6000 lb with four chains of 4700 lb, and on rings of
    /// 2000 lb; 30,000 lb need 15,000 lb.
    #[test]
    fn aggregate_limits_and_counts() {
        close(aggregate_kg(4.0, 1750.0, true), 3500.0, 1e-9);
        close(aggregate_kg(4.0, 4700.0, true), 9400.0, 1e-9);
        close(aggregate_kg(4.0, 2000.0, true), 4000.0, 1e-9);
        close(0.5 * 30_000.0, 15_000.0, 1e-9);
        let (foot, pound) = (0.3048, 0.453_592_37);
        for (feet, pounds, blocked, expect) in [
            (5.0, 1100.0, false, 1),
            (5.0, 1101.0, false, 2),
            (5.1, 100.0, false, 2),
            (10.0, 5000.0, false, 2),
            (10.1, 5000.0, false, 3),
            (10.0, 5000.0, true, 1),
            (11.0, 5000.0, true, 2),
        ] {
            assert_eq!(us_straps(feet * foot, pounds * pound, blocked), expect, "{feet} ft, {pounds} lb");
        }
    }
}
