//! From what is asked to what is built.

use super::{
    Assumed, FinishSystem, Layout, SheetStock, Spec, SpecFaults, Trailer, Weld,
    assembly::Assembly,
    fit_out::{fit_out, lamps},
    lay_out_with,
    layout::deck_split,
    marks, members, panels, validate, vents,
    wiring::Harness,
};
use crate::{
    shop::{Goods, ShopBook},
    steel::SheetMaterial,
};

/// Builds the trailer: every member, panel, joint, weld and fitting at its place. Depends on nothing but its arguments.
///
/// # Errors
/// Every fault of the spec, all at once, when it cannot be built.
pub fn build(spec: &Spec, book: &ShopBook, assumed: &Assumed) -> Result<Trailer, SpecFaults> {
    validate(spec)?;
    Ok(build_valid(spec, book, assumed))
}

/// The same for a spec that was validated before: the estimate builds again and again until what it assumed stands still.
pub fn build_valid(spec: &Spec, book: &ShopBook, assumed: &Assumed) -> Trailer {
    let sheets = sheet_stock(book, spec.design.deck.material, spec.design.deck.thickness.mm());
    let layout = lay_out_with(spec, assumed, &sheets);
    let mut trailer = assemble(spec, layout, book, &sheets);
    let lamps = lamps(spec, &trailer.layout, assumed.gross_kg);
    trailer.fittings = fit_out(spec, &trailer.layout, &book.rates, assumed, &lamps);
    trailer.wiring = Harness::of(spec, &trailer.layout, &trailer.fittings).cable_runs();
    trailer
}

/// Steel, sheets and joints of a layout, without bought parts.
fn assemble(spec: &Spec, layout: Layout, book: &ShopBook, sheets: &[SheetStock]) -> Trailer {
    let mut asm = Assembly::new(&spec.design, &layout, book);
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

/// What the sizes that this sheet is sold in offer inside their edge trim; the usual size where the rate book has none, so that the price says what is missing.
pub(super) fn sheet_stock(book: &ShopBook, wanted: SheetMaterial, thickness_mm: f64) -> Vec<SheetStock> {
    let sizes = book.rates.items.iter().filter(|item| !item.retired).filter_map(|item| match &item.goods {
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
    // A part is planned to the tenth above its length.
    let trim = 2.0 * book.policy.sheet_edge_trim.mm() + 0.1;
    stock.iter_mut().for_each(|sheet| {
        sheet.length_mm -= trim;
        sheet.width_mm -= trim;
    });
    stock
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shop::RateBook;
    use crate::{
        measure::{Length, Tenths},
        trailer::{
            Corner, DrawbarForm, JointKind, Member, PanelRole, PartRef, RampForm, Role, Stack, unvented_closed_members,
        },
    };

    fn built(change: impl FnOnce(&mut Spec)) -> Trailer {
        let mut spec = Spec::default();
        change(&mut spec);
        let rates = RateBook { day: "2026-01-01".parse().unwrap(), items: Vec::new() };
        let book = ShopBook { rates, ..ShopBook::demo() };
        let assumed = Assumed::guess(750.0, 75.0, 2640.0, 1);
        build(&spec, &book, &assumed).unwrap_or_else(|faults| panic!("{faults}"))
    }

    fn of(trailer: &Trailer, role: Role) -> Vec<&Member> {
        trailer.members.iter().filter(|member| member.role == role).collect()
    }

    fn lengths(trailer: &Trailer, role: Role) -> Vec<Tenths> {
        of(trailer, role).iter().map(|member| member.length).collect()
    }

    /// Bed 2400 × 1300 with rails 40 wide: mitred rails are as long as the bed, 45° at both ends, and the two of a kind share
    /// a mark.
    #[test]
    fn mitred_rails_are_as_long_as_the_bed() {
        let trailer = built(|_| {});
        assert_eq!(lengths(&trailer, Role::SideRail), [Tenths(24_000); 2]);
        assert_eq!(lengths(&trailer, Role::EndRail), [Tenths(13_000); 2]);
        for rail in of(&trailer, Role::SideRail).into_iter().chain(of(&trailer, Role::EndRail)) {
            assert!(rail.cuts.iter().all(|cut| (cut.angle_deg - 45.0).abs() < 1e-9));
            assert_eq!(rail.mean_length_mm(), rail.length.mm() - 40.0);
        }
        assert_eq!(of(&trailer, Role::SideRail)[0].mark, of(&trailer, Role::SideRail)[1].mark);
        assert_eq!(trailer.joints.iter().filter(|joint| joint.mitred).count(), 4);
    }

    #[test]
    fn butted_side_rails_lose_two_end_rails() {
        let trailer = built(|spec| spec.design.frame.corner = Corner::Butted);
        assert_eq!(lengths(&trailer, Role::SideRail), [Tenths(24_000 - 800); 2]);
        assert_eq!(lengths(&trailer, Role::EndRail), [Tenths(13_000); 2]);
    }

    /// Between side rails 40 wide: 1300 − 80 = 1220 mm, square.
    #[test]
    fn cross_members_lie_between_the_side_rails() {
        let trailer = built(|_| {});
        let cross = lengths(&trailer, Role::CrossMember);
        assert_eq!(cross.len(), trailer.layout.cross_member_x_mm.len());
        assert!(cross.iter().all(|length| *length == Tenths(12_200)));
    }

    /// From 22.07 to 630 mm off the middle at 25°: 607.93 / sin 25° = 1438.5, and 20 × tan 25° = 9.3 to the long point.
    #[test]
    fn legs_by_trigonometry() {
        let trailer = built(|_| {});
        assert_eq!(lengths(&trailer, Role::Leg), [Tenths(14_478); 2]);
        assert!(of(&trailer, Role::Leg).iter().all(|leg| (leg.cuts[0].angle_deg - 25.0).abs() < 1e-9));
        let [left, right] = of(&trailer, Role::Leg)[..] else { panic!() };
        assert_eq!([left.to[0], -left.to[1], left.to[2]], right.to);
    }

    /// Seat for the coupling 160 + travel 200 + overlap 300 (more than 2.5 × 60).
    #[test]
    fn a_telescopic_inner() {
        let trailer = built(|spec| {
            let drawbar = &mut spec.design.drawbar;
            drawbar.form = DrawbarForm::Pole;
            drawbar.section = "shs 60x60x4".parse().unwrap();
            drawbar.inner_section = "shs 50x50x3".parse().unwrap();
            drawbar.telescopic = true;
        });
        assert_eq!(lengths(&trailer, Role::Inner), [Tenths(6_600)]);
        assert_eq!(of(&trailer, Role::Inner)[0].holes.len(), 5);
        let kinds = |kind| trailer.joints.iter().filter(|joint| joint.kind == kind).count();
        assert_eq!((kinds(JointKind::Sliding), kinds(JointKind::Pinned)), (1, 1));
    }

    /// A pole 60 wide level with the frame: the front rail and what it passes are halved, (1220 − 60) / 2 = 580 mm.
    #[test]
    fn a_flush_pole_halves_what_it_passes() {
        let trailer = built(|spec| {
            spec.design.frame.stack = Stack::Flush;
            spec.design.drawbar.form = DrawbarForm::Pole;
            spec.design.drawbar.section = "shs 60x60x4".parse().unwrap();
        });
        let cross = lengths(&trailer, Role::CrossMember);
        assert!(cross.contains(&Tenths(5_800)) && cross.contains(&Tenths(12_200)), "{cross:?}");
        assert_eq!(lengths(&trailer, Role::EndRail), [Tenths(6_200), Tenths(6_200), Tenths(13_000)]);
    }

    /// 1800 × 500 with stiles and rungs 25 wide: rungs 500 − 50 long, (1800 − 25) / 300 = 5.9, so six bays and seven rungs;
    /// carriers 50 longer than the ramp.
    #[test]
    fn a_loose_ramp() {
        let trailer = built(|spec| spec.design.loading.ramp = RampForm::Loose);
        assert_eq!(lengths(&trailer, Role::RampStile), [Tenths(18_000); 2]);
        assert_eq!(lengths(&trailer, Role::RampRung), [Tenths(4_500); 7]);
        assert_eq!(lengths(&trailer, Role::RampCarrier), [Tenths(18_500); 2]);
        assert_eq!(trailer.panels.iter().filter(|panel| panel.role == PanelRole::RampLug).count(), 2);
        // Aluminium tread on steel stiles is riveted, never welded.
        for (index, panel) in trailer.panels.iter().enumerate().filter(|(_, panel)| panel.role == PanelRole::RampSheet)
        {
            assert!(panel.material.is_aluminium());
            let joints = trailer.joints.iter().filter(|joint| joint.parts[0] == PartRef::Panel(index));
            assert!(joints.into_iter().all(|joint| joint.kind == JointKind::Bolted));
        }
    }

    /// Two sheets of 1200, 2 mm to the bed's edges and 2 between them: 1197 × 1296 each.
    #[test]
    fn the_deck_and_its_gaps_are_the_bed() {
        let trailer = built(|_| {});
        let deck: Vec<_> = trailer.panels.iter().filter(|panel| panel.role == PanelRole::Deck).collect();
        assert_eq!(deck.len(), 2);
        assert!(deck.iter().all(|panel| panel.length == Tenths(11_970) && panel.width == Tenths(12_960)));
        assert_eq!(deck[0].mark, deck[1].mark);
    }

    /// A 50 × 50 × 3 tube welded square: 4 × (50 − 12) + 2π × 6 = 189.7 mm, leg 3.
    #[test]
    fn a_weld_runs_round_the_tube() {
        let trailer = built(|spec| spec.design.frame.cross_member = "shs 50x50x3".parse().unwrap());
        let index = trailer.members.iter().position(|member| member.role == Role::CrossMember).unwrap();
        let joint = trailer.joints.iter().position(|joint| joint.parts[0] == PartRef::Member(index)).unwrap();
        let weld = trailer.welds.iter().find(|weld| weld.joint == joint).unwrap();
        assert!((weld.run_mm - (152.0 + 12.0 * std::f64::consts::PI)).abs() < 1e-9);
        assert_eq!((weld.size_mm, weld.all_round), (3.0, true));
    }

    #[test]
    fn galvanised_hollows_are_vented_and_a_forgotten_one_is_found() {
        let mut trailer = built(|spec| spec.design.finish.system = FinishSystem::Galvanised);
        assert_eq!(unvented_closed_members(&trailer), Vec::<usize>::new());
        let victim = trailer.members.iter().position(|member| member.role == Role::CrossMember).unwrap();
        trailer.members[victim].holes.clear();
        assert_eq!(unvented_closed_members(&trailer), [victim]);
        assert!(!unvented_closed_members(&built(|_| {})).is_empty());
    }

    #[test]
    fn posts_stand_at_most_800_apart() {
        let trailer = built(|spec| {
            spec.design.sides.form = crate::trailer::SideForm::Rails;
            spec.design.bed.length = Length::from_mm(2470.0);
        });
        // 2440 between the outer posts' centres: four bays of 610 a side.
        assert_eq!(of(&trailer, Role::Post).len(), 10);
        assert_eq!(lengths(&trailer, Role::MidRail), [Tenths(5_800); 8]);
        let deck = trailer.panels.iter().filter(|panel| panel.role == PanelRole::Deck);
        assert!(deck.map(|panel| panel.cut_outs.len()).sum::<usize>() >= 10);
    }
}
