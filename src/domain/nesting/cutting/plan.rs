//! The problems of a job, posed from take-off, rate book and rack, and solved.

use rust_decimal::{Decimal, RoundingStrategy};

use super::{BarCutting, Cutting, SheetCutting, Source, metres};
use crate::{
    measure::{Length, Money, Tenths},
    nesting::{Budget, Progress, Watch, bars, check, panels},
    shop::{Goods, Rack, ShopBook, Stocked},
    steel::{Section, SectionKind, SheetMaterial},
    trailer::{BarDemand, CutPlane, EndCut, Grain, LongPoint, SheetDemand, TakeOff},
};

/// Plans the cutting of `count` identical trailers. The budget is for each problem.
pub fn plan(take_off: &TakeOff, count: u32, book: &ShopBook, rack: &Rack, budget: Budget, watch: Watch<'_>) -> Cutting {
    let mut bars = Vec::with_capacity(take_off.bars.len());
    for (problem, demand) in take_off.bars.iter().enumerate() {
        let mut numbered = |at: Progress| watch(Progress { problem, ..at });
        bars.push(plan_bars(demand, count, book, rack, budget, &mut numbered));
    }
    let mut sheets = Vec::with_capacity(take_off.sheets.len());
    for (nth, demand) in take_off.sheets.iter().enumerate() {
        let mut numbered = |at: Progress| watch(Progress { problem: take_off.bars.len() + nth, ..at });
        sheets.push(plan_sheets(demand, count, book, rack, budget, &mut numbered));
    }
    Cutting { bars, sheets, full: budget.units() >= Budget::full().units() }
}

fn plan_bars(
    demand: &BarDemand,
    count: u32,
    book: &ShopBook,
    rack: &Rack,
    budget: Budget,
    watch: Watch<'_>,
) -> BarCutting {
    let policy = &book.policy;
    let (stock, sources): (Vec<_>, Vec<_>) = bar_stock(demand, book, rack).into_iter().unzip();
    let problem = bars::Problem {
        kerf: up(policy.kerf),
        end_trim: up(policy.end_trim),
        keep_offcut: up(policy.keep_offcut),
        stock,
        parts: demand
            .parts
            .iter()
            .map(|part| bars::Part {
                id: part.id.clone(),
                length: part.length,
                quantity: part.quantity.saturating_mul(count),
                mitre: mitre(demand.section, &part.cuts),
            })
            .collect(),
    };
    let answer = if problem.stock.is_empty() {
        Err(format!(
            "the rate book sells no {} in {}, and none is on the rack: add it with its stock lengths",
            demand.section, demand.grade
        ))
    } else {
        let solved = bars::solve(&problem, budget, watch).map_err(|fault| fault.to_string());
        solved.and_then(|answer| sound(check::bar_plan(&problem, &answer)).map(|()| answer))
    };
    BarCutting { section: demand.section, grade: demand.grade, problem, sources, answer }
}

fn bar_stock(demand: &BarDemand, book: &ShopBook, rack: &Rack) -> Vec<(bars::Stock, Source)> {
    let mut all = Vec::new();
    for item in book.rates.bars(demand.section, demand.grade) {
        let Goods::Bar { lengths, .. } = &item.goods else { continue };
        for bar in lengths {
            let Some(cost) = item.bar_price(bar) else { continue };
            let length = down(bar.length);
            let stock = bars::Stock {
                id: format!("{} {}", item.code, whole_mm(length)),
                length,
                cost: Some(cost),
                quantity: None,
                offcut_value_per_m: share(cost, book.policy.offcut_worth_percent, metres(length)),
                end_trim: None,
            };
            all.push((stock, Source::New(item.code.clone())));
        }
    }
    for piece in &rack.pieces {
        let Stocked::Bar { section, grade, length } = &piece.stock else { continue };
        if section.upright() == demand.section.upright() && *grade == demand.grade {
            let stock = bars::Stock {
                id: piece.tag.clone(),
                length: *length,
                cost: Some(piece.worth.rounded(4)),
                quantity: Some(1),
                offcut_value_per_m: share(piece.worth.rounded(4), Decimal::ONE_HUNDRED, metres(*length)),
                end_trim: piece.sawn_here.then_some(Tenths(0)),
            };
            all.push((stock, Source::Rack(piece.tag.clone())));
        }
    }
    all
}

fn mitre(section: Section, cuts: &[EndCut; 2]) -> Option<bars::Mitre> {
    if cuts.iter().all(|cut| cut.angle_deg == 0.0) {
        return None;
    }
    Some(bars::Mitre {
        section_depth: Tenths::nearest(section.depth_mm()),
        section_width: Tenths::nearest(section.width_mm()),
        may_flip: section.is_hollow() || section.kind() == SectionKind::Flat,
        ends: cuts.map(|cut| bars::End {
            angle_deg: cut.angle_deg,
            plane: match cut.plane {
                CutPlane::Depth => bars::Plane::Depth,
                CutPlane::Width => bars::Plane::Width,
            },
            long_point: match cut.long_point {
                LongPoint::Top => bars::LongPoint::Top,
                LongPoint::Bottom => bars::LongPoint::Bottom,
            },
        }),
    })
}

fn plan_sheets(
    demand: &SheetDemand,
    count: u32,
    book: &ShopBook,
    rack: &Rack,
    budget: Budget,
    watch: Watch<'_>,
) -> SheetCutting {
    let policy = &book.policy;
    let (stock, sources): (Vec<_>, Vec<_>) = sheet_stock(demand, book, rack).into_iter().unzip();
    let problem = panels::Problem {
        kerf: up(policy.sheet_kerf),
        edge_trim: up(policy.sheet_edge_trim),
        keep_offcut: [up(policy.keep_sheet_long), up(policy.keep_sheet_short)],
        cuts: if policy.guillotine { panels::CutClass::Guillotine } else { panels::CutClass::Free },
        max_stages: None,
        stock,
        parts: demand
            .parts
            .iter()
            .map(|part| panels::Part {
                id: part.id.clone(),
                length: part.length,
                width: part.width,
                quantity: part.quantity.saturating_mul(count),
                grain: match part.grain {
                    Grain::Any => panels::PartGrain::Any,
                    Grain::Length => panels::PartGrain::Length,
                    Grain::Width => panels::PartGrain::Width,
                },
            })
            .collect(),
    };
    let answer = if problem.stock.is_empty() {
        Err(format!(
            "the rate book sells no {} of {} mm, and none is on the rack: add it with its sheet sizes",
            demand.material.label(),
            demand.thickness.mm()
        ))
    } else {
        let solved = panels::solve(&problem, budget, watch).map_err(|fault| fault.to_string());
        solved.and_then(|answer| sound(check::panel_plan(&problem, &answer)).map(|()| answer))
    };
    SheetCutting { material: demand.material, thickness: demand.thickness, problem, sources, answer }
}

fn sheet_stock(demand: &SheetDemand, book: &ShopBook, rack: &Rack) -> Vec<(panels::Stock, Source)> {
    let grain = match demand.material {
        SheetMaterial::SheetSteel | SheetMaterial::GalvanisedSheet | SheetMaterial::SheetAluminium => {
            panels::SheetGrain::None
        }
        _ => panels::SheetGrain::Length,
    };
    let mut all = Vec::new();
    for item in book.rates.sheets(demand.material, demand.thickness) {
        let Goods::Sheet { sizes, .. } = &item.goods else { continue };
        for sheet in sizes {
            let Some(cost) = item.sheet_price(sheet) else { continue };
            let (length, width) = (down(sheet.length), down(sheet.width));
            let stock = panels::Stock {
                id: format!("{} {}×{}", item.code, whole_mm(length), whole_mm(width)),
                length,
                width,
                cost: Some(cost),
                quantity: None,
                grain,
                offcut_value_per_m2: share(cost, book.policy.offcut_worth_percent, metres(length) * metres(width)),
            };
            all.push((stock, Source::New(item.code.clone())));
        }
    }
    for piece in &rack.pieces {
        let Stocked::Sheet { material, thickness, length, width } = &piece.stock else { continue };
        if *material == demand.material && *thickness == demand.thickness {
            let cost = piece.worth.rounded(4);
            let stock = panels::Stock {
                id: piece.tag.clone(),
                length: *length,
                width: *width,
                cost: Some(cost),
                quantity: Some(1),
                grain,
                offcut_value_per_m2: share(cost, Decimal::ONE_HUNDRED, metres(*length) * metres(*width)),
            };
            all.push((stock, Source::Rack(piece.tag.clone())));
        }
    }
    all
}

/// Per cent of a cost over a size, rounded down to 4 decimals: the worth of the whole never exceeds its cost.
pub(super) fn share(cost: Money, percent: Decimal, size: Decimal) -> Money {
    let worth = (cost * percent).0.checked_div(size * Decimal::ONE_HUNDRED).unwrap_or_default();
    Money(worth.round_dp_with_strategy(4, RoundingStrategy::ToZero))
}

/// No plan enters an estimate, and so none is issued or stored, that the verifier does not pass.
fn sound(faults: Vec<String>) -> Result<(), String> {
    match faults.first() {
        None => Ok(()),
        Some(fault) => {
            Err(format!("the plan that was found is not sound and was thrown away ({fault}); please report this"))
        }
    }
}

fn whole_mm(length: Tenths) -> i64 {
    length.0 / 10
}

fn up(length: Length) -> Tenths {
    Tenths(length.nm().div_euclid(100_000) + i64::from(length.nm().rem_euclid(100_000) > 0))
}

fn down(length: Length) -> Tenths {
    Tenths(length.nm().div_euclid(100_000))
}
