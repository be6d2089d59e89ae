//! What jobs need and do not have: new stock of their cutting plans, bought-in parts, consumables.

use jiff::civil::Date;
use rust_decimal::Decimal;

use crate::{
    estimate::Estimate,
    nesting::{
        Budget,
        cutting::{Bought, Cutting, Source, plan},
        unwatched,
    },
    pricing::Step,
    shop::{PartClass, Rack, RackPiece, RateUnit, ShopBook, Stocked},
    trailer::{BarDemand, SheetDemand, TakeOff},
};

/// A job that is bought for.
#[derive(Clone, Copy, Debug)]
pub struct Job<'a> {
    pub estimate: &'a Estimate,
    /// Its cutting plan stands, and what that takes from the rack is cut. Otherwise it is planned again with the rack as it lies.
    pub is_released: bool,
    /// The day on which its goods must be here.
    pub here_by: Option<Date>,
}

/// A piece on the rack that is free, or reserved for one of the jobs; or one that was cut for a released job beside its plan: it was
/// new stock of that plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Lying {
    pub piece: RackPiece,
    /// Place of the job in the list of jobs.
    pub of: Option<usize>,
}

/// So much of something, for one job.
#[derive(Clone, Debug, PartialEq)]
pub struct Need {
    /// Place of the job in the list of jobs.
    pub job: usize,
    /// Of the item in the rate book; empty for what the book never had.
    pub code: String,
    /// What it is called where the book does not say.
    pub name: String,
    /// Of bars and sheets: which size.
    pub stock: Option<Stocked>,
    /// Of bars and sheets pieces, else in this unit.
    pub quantity: Decimal,
    pub unit: Option<RateUnit>,
}

/// What is to be bought, and what lies there already.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Needs {
    pub all: Vec<Need>,
    /// Tags of the pieces of the rack that each job takes instead of new stock.
    pub from_rack: Vec<Vec<String>>,
}

/// What these jobs need beside what lies on the rack. A piece serves one job only, those that come first in the list first.
pub fn needs(jobs: &[Job<'_>], mut rack: Vec<Lying>, book: &ShopBook) -> Needs {
    let mut needs = Needs::default();
    for (at, job) in jobs.iter().enumerate() {
        let (stock, tags) = if job.is_released {
            served(job.estimate.cutting.bought(), &mut rack, at)
        } else {
            planned(job.estimate, &mut rack, at, book)
        };
        needs.from_rack.push(tags);
        needs.all.extend(stock.into_iter().map(|bought| Need {
            job: at,
            name: String::new(),
            code: bought.item,
            stock: Some(bought.stock),
            quantity: Decimal::from(bought.count),
            unit: None,
        }));
        needs.all.extend(parts(job.estimate, at));
        needs.all.extend(consumables(job.estimate, at));
    }
    needs.all.retain(|need| need.quantity > Decimal::ZERO);
    needs
}

/// What of new stock is left when every whole piece that is at least as large is laid aside for it: of those that are reserved for
/// the job first, then the smallest.
fn served(bought: Vec<Bought>, rack: &mut Vec<Lying>, job: usize) -> (Vec<Bought>, Vec<String>) {
    let mut tags = Vec::new();
    let mut left = Vec::new();
    for mut bought in bought {
        while bought.count > 0 {
            let serves = rack.iter().enumerate().filter(|(_, lying)| lying.of.is_none_or(|of| of == job));
            let serves = serves.filter(|(_, lying)| holds(&lying.piece.stock, &bought.stock));
            let best = serves.min_by_key(|(_, lying)| (lying.of.is_none(), size(&lying.piece.stock)));
            let Some((at, _)) = best else { break };
            tags.push(rack.remove(at).piece.tag);
            bought.count -= 1;
        }
        left.push(bought);
    }
    (left, tags)
}

fn size(stock: &Stocked) -> (i64, i64) {
    match stock {
        Stocked::Bar { length, .. } => (length.0, 0),
        Stocked::Sheet { length, width, .. } => (length.0, width.0),
    }
}

/// Whether all that a plan cuts from one piece can be cut from another.
fn holds(piece: &Stocked, wanted: &Stocked) -> bool {
    let ((long, wide), (length, width)) = (size(piece), size(wanted));
    let alike = match (piece, wanted) {
        (Stocked::Bar { section, grade, .. }, Stocked::Bar { section: asked, grade: of, .. }) => {
            section.upright() == asked.upright() && grade == of
        }
        (Stocked::Sheet { material, thickness, .. }, Stocked::Sheet { material: asked, thickness: of, .. }) => {
            material == asked && thickness == of
        }
        _ => false,
    };
    alike && long >= length && wide >= width
}

/// What the job's plans buy with the rack as it lies: planned again is only what something lies there for, and the new plan stands
/// only where it takes some of it. Pieces that are taken are no longer there for the next job.
fn planned(estimate: &Estimate, rack: &mut Vec<Lying>, job: usize, book: &ShopBook) -> (Vec<Bought>, Vec<String>) {
    let open: Vec<RackPiece> =
        rack.iter().filter(|lying| lying.of.is_none_or(|of| of == job)).map(|lying| lying.piece.clone()).collect();
    let mut cutting = estimate.cutting.clone();
    let counts_on_rack = |sources: &[Source]| sources.iter().any(|source| matches!(source, Source::Rack(_)));
    let bars = cutting.bars.iter().filter(|cut| {
        counts_on_rack(&cut.sources)
            || open.iter().any(|piece| {
                matches!(&piece.stock, Stocked::Bar { section, grade, .. }
                if section.upright() == cut.section.upright() && *grade == cut.grade)
            })
    });
    let sheets = cutting.sheets.iter().filter(|cut| {
        counts_on_rack(&cut.sources)
            || open.iter().any(|piece| {
                matches!(&piece.stock, Stocked::Sheet { material, thickness, .. }
                if *material == cut.material && *thickness == cut.thickness)
            })
    });
    let of = &estimate.take_off;
    let bar_demand = |section, grade| of.bars.iter().find(|of| (of.section, of.grade) == (section, grade)).cloned();
    let sheet_demand =
        |material, thickness| of.sheets.iter().find(|of| (of.material, of.thickness) == (material, thickness)).cloned();
    let again = TakeOff {
        bars: bars.filter_map(|cut| bar_demand(cut.section, cut.grade)).collect::<Vec<BarDemand>>(),
        sheets: sheets.filter_map(|cut| sheet_demand(cut.material, cut.thickness)).collect::<Vec<SheetDemand>>(),
        ..TakeOff::default()
    };
    let new = plan(&again, estimate.spec.need.count, book, &Rack { pieces: open }, Budget::preview(), &mut unwatched);
    for cut in new.bars {
        let old = cutting.bars.iter_mut().find(|old| (old.section, old.grade) == (cut.section, cut.grade));
        let Some(old) = old else { continue };
        let takes = !Cutting { bars: vec![cut.clone()], ..Cutting::default() }.rack_tags().is_empty();
        if cut.charge().is_some() && (takes || counts_on_rack(&old.sources)) {
            *old = cut;
        }
    }
    for cut in new.sheets {
        let old = cutting.sheets.iter_mut().find(|old| (old.material, old.thickness) == (cut.material, cut.thickness));
        let Some(old) = old else { continue };
        let takes = !Cutting { sheets: vec![cut.clone()], ..Cutting::default() }.rack_tags().is_empty();
        if cut.charge().is_some() && (takes || counts_on_rack(&old.sources)) {
            *old = cut;
        }
    }
    let tags: Vec<String> = cutting.rack_tags().into_iter().map(str::to_owned).collect();
    rack.retain(|lying| !tags.contains(&lying.piece.tag));
    (cutting.bought(), tags)
}

fn parts(estimate: &Estimate, job: usize) -> impl Iterator<Item = Need> {
    let count = Decimal::from(estimate.spec.need.count);
    estimate.take_off.parts.iter().map(move |demand| {
        let class = demand.part.need.class;
        let item = demand.part.item.as_ref();
        let by_length = matches!(class, PartClass::Cable | PartClass::CableFixings);
        Need {
            job,
            code: item.map(|item| item.code.clone()).unwrap_or_default(),
            name: item.map_or_else(|| class.label().to_owned(), |item| item.name.clone()),
            stock: None,
            quantity: Decimal::try_from(demand.quantity).unwrap_or_default().round_dp(3) * count,
            unit: Some(if by_length { RateUnit::Metre } else { RateUnit::Each }),
        }
    })
}

fn consumables(estimate: &Estimate, job: usize) -> impl Iterator<Item = Need> {
    estimate.build_up.of_step(Step::Consumables).filter_map(move |line| {
        Some(Need {
            job,
            code: line.code.clone()?,
            name: line.text.clone(),
            stock: None,
            quantity: line.quantity?,
            unit: RateUnit::ALL.iter().copied().find(|unit| unit.short() == line.unit),
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        estimate::estimate,
        measure::{Money, Tenths},
        trailer::{Load, Spec},
    };

    fn worked(book: &ShopBook) -> Estimate {
        let mut spec = Spec::default();
        spec.need.loads = vec![Load { name: "hives".into(), ..Load::default() }];
        estimate(&spec, book, &Rack::default(), Budget::preview(), &mut unwatched).unwrap()
    }

    fn stock_of(needs: &Needs, job: usize) -> Vec<(&Stocked, Decimal)> {
        let of = needs.all.iter().filter(|need| need.job == job);
        of.filter_map(|need| Some((need.stock.as_ref()?, need.quantity))).collect()
    }

    fn piece(tag: &str, stock: &Stocked, worth: &str) -> RackPiece {
        RackPiece { tag: tag.into(), stock: stock.clone(), worth: Money(worth.parse().unwrap()), sawn_here: false }
    }

    #[test]
    fn with_an_empty_rack_a_job_needs_what_it_was_priced_with() {
        let book = ShopBook::demo();
        let estimate = worked(&book);
        let job = |is_released| Job { estimate: &estimate, is_released, here_by: None };
        let bought = estimate.cutting.bought();
        let expected: Vec<_> = bought.iter().map(|of| (&of.stock, Decimal::from(of.count))).collect();
        for is_released in [false, true] {
            let needs = needs(&[job(is_released)], Vec::new(), &book);
            assert_eq!(stock_of(&needs, 0), expected);
            // Every part and consumable of the price lines, each once, in the unit that the book prices.
            let lines = estimate.build_up.lines.iter().filter(|line| {
                line.code.is_some() && (line.step == Step::Consumables || line.key.starts_with("part/"))
            });
            let lines: Vec<_> = lines.map(|line| (line.code.clone().unwrap(), line.quantity)).collect();
            let others: Vec<_> = needs.all.iter().filter(|need| need.stock.is_none()).collect();
            assert!(others.len() > 15);
            assert_eq!(
                others.iter().map(|need| (need.code.clone(), Some(need.quantity.normalize()))).collect::<Vec<_>>(),
                lines
                    .iter()
                    .map(|(code, quantity)| (code.clone(), quantity.map(|of| of.normalize())))
                    .collect::<Vec<_>>()
            );
            for need in others {
                assert_eq!(need.unit, book.rates.item(&need.code).map(|item| item.unit), "{}", need.code);
            }
        }
    }

    #[test]
    fn a_piece_of_the_rack_serves_one_job_only_and_a_reserved_one_its_own() {
        let book = ShopBook::demo();
        let estimate = worked(&book);
        let bar = estimate.cutting.bought().into_iter().find(|of| matches!(of.stock, Stocked::Bar { .. })).unwrap();
        let count = |needs: &Needs, job| {
            stock_of(needs, job)
                .iter()
                .find(|(stock, _)| **stock == bar.stock)
                .map_or(Decimal::ZERO, |(_, count)| *count)
        };
        let before = Decimal::from(bar.count);
        let released = Job { estimate: &estimate, is_released: true, here_by: None };
        let jobs = [released, released];
        let lying = |of| vec![Lying { piece: piece("R-1", &bar.stock, "0.01"), of }];
        let free = needs(&jobs, lying(None), &book);
        assert_eq!((count(&free, 0), count(&free, 1)), (before - Decimal::ONE, before));
        assert_eq!(free.from_rack, [vec!["R-1".to_owned()], Vec::new()]);
        let theirs = needs(&jobs, lying(Some(1)), &book);
        assert_eq!((count(&theirs, 0), count(&theirs, 1)), (before, before - Decimal::ONE));
        // A shorter one is no bar of that plan.
        let short = match bar.stock.clone() {
            Stocked::Bar { section, grade, length } => Stocked::Bar { section, grade, length: Tenths(length.0 - 1) },
            other => other,
        };
        let short = vec![Lying { piece: piece("R-2", &short, "0.01"), of: None }];
        assert_eq!(count(&needs(&jobs, short, &book), 0), before);
    }

    #[test]
    fn a_job_that_is_not_released_is_planned_with_what_lies_there() {
        let book = ShopBook::demo();
        let estimate = worked(&book);
        // A worthless bar longer than any that is sold: no plan without it costs as little.
        let first = &estimate.cutting.bars[0];
        let long = Stocked::Bar { section: first.section, grade: first.grade, length: Tenths(150_000) };
        let accepted = Job { estimate: &estimate, is_released: false, here_by: None };
        let lying = || vec![Lying { piece: piece("R-1", &long, "0.01"), of: None }];
        let alone = needs(&[accepted, accepted], lying(), &book);
        assert_eq!(alone.from_rack, [vec!["R-1".to_owned()], Vec::new()]);
        let pieces = |needs: &Needs, job| stock_of(needs, job).iter().map(|(_, count)| *count).sum::<Decimal>();
        assert!(pieces(&alone, 0) < pieces(&alone, 1));
        let others: Vec<_> = alone.all.iter().filter(|need| need.job == 1 && need.stock.is_some()).collect();
        assert_eq!(others.len(), estimate.cutting.bought().len(), "the second job is bought for as it was priced");
        // What is reserved for another is not planned with.
        let held = needs(&[accepted], vec![Lying { of: Some(1), ..lying().remove(0) }], &book);
        assert_eq!((held.from_rack.concat(), pieces(&held, 0)), (Vec::<String>::new(), pieces(&alone, 1)));
    }
}
