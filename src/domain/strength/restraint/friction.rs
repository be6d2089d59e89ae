//! Friction between a load and the deck.

use crate::{
    steel::SheetMaterial,
    trailer::{Footing, Load, LoadKind},
    working::Sure,
};

/// A coefficient of friction with where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Friction {
    pub mu: f64,
    pub source: &'static str,
    pub sure: Sure,
}

const CTU: &str = "CTU Code appendix 2 (UNECE), read";
const CTU_LIKE: &str = "the nearest surface of CTU Code appendix 2; that this deck is like it is common practice";

/// The decks that the table knows.
#[derive(Clone, Copy, PartialEq)]
enum Floor {
    Plywood,
    GroovedAluminium,
    SteelSheet,
}

/// The coefficient of a footing on a deck; none where the footing is not known.
///
/// Source: CTU Code appendix 2, read (dry = wet where both are given); anti-slip mats read in a supplier's summary.
pub fn friction(footing: Footing, deck: SheetMaterial) -> Option<Friction> {
    let (floor, own) = match deck {
        SheetMaterial::MeshPly => (Floor::Plywood, true),
        SheetMaterial::ExteriorPly | SheetMaterial::HardwoodBoards => (Floor::Plywood, false),
        SheetMaterial::TreadAluminium | SheetMaterial::SheetAluminium => (Floor::GroovedAluminium, false),
        SheetMaterial::TreadSteel
        | SheetMaterial::ExpandedMetal
        | SheetMaterial::SheetSteel
        | SheetMaterial::GalvanisedSheet => (Floor::SteelSheet, false),
    };
    let by_floor = |plywood, aluminium, steel| match floor {
        Floor::Plywood => plywood,
        Floor::GroovedAluminium => aluminium,
        Floor::SteelSheet => steel,
    };
    let mu = match footing {
        Footing::NotKnown => return None,
        Footing::SawnTimber => by_floor(0.45, 0.40, 0.30),
        Footing::PlanedWood => by_floor(0.30, 0.25, 0.20),
        Footing::PlasticPallet => by_floor(0.20, 0.15, 0.15),
        Footing::SteelCrate => by_floor(0.45, 0.30, 0.20),
        Footing::RoughMetal => 0.40,
        Footing::PaintedRough => 0.30,
        Footing::SmoothMetal => 0.20,
        Footing::ShrinkFilm => 0.30,
        // Tabled on sawn wood alone.
        Footing::Concrete => by_floor(0.70, 0.30, 0.30),
        Footing::Mat => {
            return Some(Friction {
                mu: 0.60,
                source: "anti-slip mat 0.6, read in a supplier's summary",
                sure: Sure::Read,
            });
        }
    };
    let memory = footing == Footing::Concrete && floor != Floor::Plywood;
    let sure = if memory {
        Sure::Memory
    } else if own {
        Sure::Read
    } else {
        Sure::CommonPractice
    };
    Some(Friction { mu, source: if own { CTU } else { CTU_LIKE }, sure })
}

/// Tyres across their rolling direction, or held by chocks: what is taken for any surface that is not swept clean (from memory).
const TYRES: Friction =
    Friction { mu: 0.3, source: "tyres on a deck that is not swept: at most 0.3, from memory", sure: Sure::Memory };
/// A wheel that is free to roll holds nothing along (from memory).
const FREE_WHEELS: Friction =
    Friction { mu: 0.0, source: "free wheels hold nothing along, from memory", sure: Sure::Memory };

/// Whether a load stands on wheels of its own.
pub fn on_wheels(load: &Load) -> bool {
    matches!(load.kind, LoadKind::Motorcycle | LoadKind::Quad) || load.wheelbase.is_some()
}

/// Whether it stands on two wheels in line and falls over unless held.
pub fn two_wheeled(load: &Load) -> bool {
    on_wheels(load)
        && match load.kind {
            LoadKind::Motorcycle => true,
            LoadKind::Quad => false,
            // A machine whose track is not given stands on four.
            LoadKind::Other => load.track.is_none_or(|track| track.mm() < 50.0),
            _ => load.track.is_some_and(|track| track.mm() < 50.0),
        }
}

/// Along and across the load, or what is missing.
pub fn of_load(load: &Load, deck: SheetMaterial) -> Result<[Friction; 2], &'static str> {
    if on_wheels(load) {
        let along = if load.held.chocks { TYRES } else { FREE_WHEELS };
        return Ok([along, TYRES]);
    }
    let found = friction(load.held.footing, deck).ok_or("what it stands on")?;
    Ok([found.clone(), found])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: CTU Code appendix 2 as published (UNECE), read.
    #[test]
    fn the_table() {
        use Footing::*;
        let mu = |footing, deck| friction(footing, deck).unwrap().mu;
        for (footing, on_ply, on_aluminium, on_steel) in [
            (SawnTimber, 0.45, 0.40, 0.30),
            (PlanedWood, 0.30, 0.25, 0.20),
            (PlasticPallet, 0.20, 0.15, 0.15),
            (SteelCrate, 0.45, 0.30, 0.20),
        ] {
            assert_eq!(mu(footing, SheetMaterial::MeshPly), on_ply);
            assert_eq!(mu(footing, SheetMaterial::TreadAluminium), on_aluminium);
            assert_eq!(mu(footing, SheetMaterial::TreadSteel), on_steel);
        }
        assert_eq!(mu(RoughMetal, SheetMaterial::SheetSteel), 0.40);
        assert_eq!(mu(SmoothMetal, SheetMaterial::SheetSteel), 0.20);
        assert_eq!(mu(Mat, SheetMaterial::SheetSteel), 0.60);
        assert_eq!(friction(NotKnown, SheetMaterial::MeshPly), None);
    }

    #[test]
    fn wheels_roll_unless_chocked() {
        let quad = Load { kind: LoadKind::Quad, ..Load::default() };
        assert_eq!(of_load(&quad, SheetMaterial::MeshPly).unwrap()[0].mu, 0.0);
        let mut chocked = quad.clone();
        chocked.held.chocks = true;
        assert_eq!(of_load(&chocked, SheetMaterial::MeshPly).unwrap()[0].mu, 0.3);
        assert!(of_load(&Load::default(), SheetMaterial::MeshPly).is_err());
        assert!(two_wheeled(&Load { kind: LoadKind::Motorcycle, ..Load::default() }) && !two_wheeled(&quad));
    }
}
