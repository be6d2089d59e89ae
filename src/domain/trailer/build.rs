//! From what is asked to what is built.

use super::{
    Assumed, FinishSystem, Layout, SheetStock, Spec, SpecFaults, Trailer, Weld, assembly::Assembly, fit_out::fit_out,
    lay_out_with, layout::deck_split, marks, members, panels, validate, vents, wiring::wire,
};
use crate::domain::{
    shop::{Goods, RateBook},
    steel::SheetMaterial,
};

/// Builds the trailer: every member, panel, joint, weld and fitting at its place. Depends on nothing but its arguments.
///
/// # Errors
/// Every fault of the spec, all at once, when it cannot be built.
pub fn build(spec: &Spec, rates: &RateBook, assumed: &Assumed) -> Result<Trailer, SpecFaults> {
    validate(spec)?;
    Ok(build_valid(spec, rates, assumed))
}

/// The same for a spec that was validated before: the estimate builds again and again until what it assumed stands still.
pub fn build_valid(spec: &Spec, rates: &RateBook, assumed: &Assumed) -> Trailer {
    let sheets = sheet_stock(rates, spec.design.deck.material, spec.design.deck.thickness.mm());
    let layout = lay_out_with(spec, assumed, &sheets);
    let mut trailer = assemble(spec, layout, rates, &sheets);
    trailer.fittings = fit_out(spec, &trailer.layout, rates, assumed);
    trailer.wiring = wire(spec, &trailer.layout);
    trailer
}

/// Steel, sheets and joints of a layout, without bought parts.
fn assemble(spec: &Spec, layout: Layout, rates: &RateBook, sheets: &[SheetStock]) -> Trailer {
    let mut asm = Assembly::new(&spec.design, &layout, rates);
    let drawbar = members::drawbar::build(&mut asm);
    let frame = members::frame::build(&mut asm, &drawbar);
    members::drawbar::meet_frame(&mut asm, &drawbar, &frame);
    let feet = members::sides::build(&mut asm, &frame, drawbar.pole);
    members::loading::build(&mut asm, &frame);
    members::fittings::build(&mut asm, &drawbar, &frame);
    panels::deck::build(&mut asm, deck_split(&spec.design, &layout, sheets), &feet);
    panels::plates::build(&mut asm, &drawbar, &frame);
    asm.cap_ends();
    let Assembly { members, panels, joints, seams, .. } = asm;
    let welds = seams.iter().enumerate().filter_map(|(joint, seam)| seam.map(|seam| (joint, seam)));
    let welds = welds
        .zip(1..)
        .map(|((joint, seam), number)| Weld {
            number,
            joint,
            kind: seam.kind,
            run_mm: seam.run_mm,
            size_mm: seam.size_mm,
            all_round: seam.all_round,
            place: joints[joint].place,
        })
        .collect();
    let mut trailer = Trailer { layout, members, joints, welds, panels, ..Trailer::default() };
    if spec.design.finish.system == FinishSystem::Galvanised {
        vents::drill(&mut trailer);
    }
    marks::mark(&mut trailer);
    trailer
}

/// Sizes that this sheet is sold in; the usual one where the rate book has none, so that the price says what is missing.
pub(super) fn sheet_stock(rates: &RateBook, wanted: SheetMaterial, thickness_mm: f64) -> Vec<SheetStock> {
    let sizes = rates.items.iter().filter(|item| !item.retired).filter_map(|item| match &item.goods {
        Goods::Sheet { material, thickness, sizes }
            if *material == wanted && (thickness.mm() - thickness_mm).abs() < 0.01 =>
        {
            Some(sizes)
        }
        _ => None,
    });
    let mut stock: Vec<_> =
        sizes.flatten().map(|size| SheetStock { length_mm: size.length.mm(), width_mm: size.width.mm() }).collect();
    if stock.is_empty() {
        stock.push(SheetStock::USUAL);
    }
    stock
}
