//! Several jobs planned together: one cutting plan over all their parts, so that what one job leaves of a bar another may use.
//!
//! Each part keeps its job: it stands in its mark. Beside the common plan stands the plan of each job by itself, made one after
//! the other, each with what those before it left on the rack. What a group of the common plan (a section and grade, a material and
//! thickness) costs net is shared out among the jobs by the net length (of sheets: the net area) of their parts in it: common
//! practice, no source.

use rust_decimal::Decimal;

use super::{
    Budget, Progress, Watch,
    cutting::{self, BarCutting, Charge, Cutting, SheetCutting},
};
use crate::{
    measure::{Money, Tenths, round::shared_out},
    shop::{Rack, RackPiece, ShopBook},
    trailer::{BarDemand, SheetDemand, TakeOff},
};

/// A job that is planned together with others.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// What its parts' marks begin with: unique among the jobs.
    pub number: String,
    /// Of one trailer.
    pub take_off: TakeOff,
    /// Identical trailers.
    pub count: u32,
}

/// A piece of the rack that may be taken.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenPiece {
    pub piece: RackPiece,
    /// The place in the list of the job that it is reserved for; none of a free one.
    pub reserved_for: Option<usize>,
}

/// The common plan, and the separate ones beside it.
#[derive(Clone, Debug, PartialEq)]
pub struct CommonPlan {
    pub jobs: Vec<Job>,
    /// The parts of all jobs and all their trailers, under marks that name the job.
    pub take_off: TakeOff,
    pub cutting: Cutting,
    /// The plan of each job by itself, in order.
    pub alone: Vec<Cutting>,
}

/// What a group costs, and each job's share of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// As [`BarCutting::key`] and [`SheetCutting::key`] have it.
    pub key: String,
    /// Net, to the smallest coin.
    pub cost: Money,
    /// In the order of the jobs; they add up to the cost exactly.
    pub shares: Vec<Share>,
}

/// A job's part in a group.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Share {
    /// Net length of its parts in metres; of sheets, net area in square metres.
    pub size: Decimal,
    pub cost: Money,
    /// What the group costs it by itself.
    pub alone: Money,
}

/// What is cut, in the order in which it is planned: first the parts of all jobs together, then those of each job (by its place in the
/// list) by itself. Each group of each is a cutting problem of its own.
pub fn steps(jobs: &[Job]) -> Vec<(Option<usize>, TakeOff)> {
    let alone = jobs.iter().enumerate().map(|(at, job)| (Some(at), all_trailers(job, |id| id.to_owned())));
    [(None, common(jobs))].into_iter().chain(alone).collect()
}

/// Plans the jobs together, and each by itself. The budget is for each problem. Deterministic.
pub fn plan(jobs: Vec<Job>, rack: &[OpenPiece], book: &ShopBook, budget: Budget, watch: Watch<'_>) -> CommonPlan {
    let mut begun = 0;
    let mut plan = |take_off: &TakeOff, rack: &Rack| {
        let mut numbered = |at: Progress| watch(Progress { problem: begun + at.problem, ..at });
        let cutting = cutting::plan(take_off, 1, book, rack, budget, &mut numbered);
        begun += take_off.bars.len() + take_off.sheets.len();
        cutting
    };
    let mut steps = steps(&jobs).into_iter();
    let (_, take_off) = steps.next().unwrap_or_default();
    let pieces = |open: &[OpenPiece]| Rack { pieces: open.iter().map(|open| open.piece.clone()).collect() };
    let cutting = plan(&take_off, &pieces(rack));
    let mut left = rack.to_vec();
    let alone = steps.map(|(at, take_off)| {
        let theirs: Vec<OpenPiece> =
            left.iter().filter(|open| open.reserved_for.is_none_or(|job| Some(job) == at)).cloned().collect();
        let cutting = plan(&take_off, &pieces(&theirs));
        let taken = cutting.rack_tags();
        left.retain(|open| !taken.contains(&open.piece.tag.as_str()));
        cutting
    });
    let alone = alone.collect();
    CommonPlan { jobs, take_off, cutting, alone }
}

/// The mark of a job's part in the common plan.
pub fn mark(number: &str, id: &str) -> String {
    format!("{number} {id}")
}

fn common(jobs: &[Job]) -> TakeOff {
    let mut all = TakeOff::default();
    for job in jobs {
        let TakeOff { bars, sheets, .. } = all_trailers(job, |id| mark(&job.number, id));
        for demand in bars {
            match all.bars.iter_mut().find(|other| is_same_bar(other, &demand)) {
                Some(other) => other.parts.extend(demand.parts),
                None => all.bars.push(demand),
            }
        }
        for demand in sheets {
            match all.sheets.iter_mut().find(|other| is_same_sheet(other, &demand)) {
                Some(other) => other.parts.extend(demand.parts),
                None => all.sheets.push(demand),
            }
        }
    }
    all
}

/// What is cut for all trailers of a job, under these marks.
fn all_trailers(job: &Job, mark: impl Fn(&str) -> String) -> TakeOff {
    let (mut bars, mut sheets) = (job.take_off.bars.clone(), job.take_off.sheets.clone());
    for part in bars.iter_mut().flat_map(|demand| &mut demand.parts) {
        (part.id, part.quantity) = (mark(&part.id), part.quantity.saturating_mul(job.count));
    }
    for part in sheets.iter_mut().flat_map(|demand| &mut demand.parts) {
        (part.id, part.quantity) = (mark(&part.id), part.quantity.saturating_mul(job.count));
    }
    TakeOff { bars, sheets, ..TakeOff::default() }
}

fn is_same_bar(one: &BarDemand, other: &BarDemand) -> bool {
    (one.section, one.grade) == (other.section, other.grade)
}

fn is_same_sheet(one: &SheetDemand, other: &SheetDemand) -> bool {
    (one.material, one.thickness) == (other.material, other.thickness)
}

impl CommonPlan {
    /// The separate plans as one list of plans: what they buy and cost together.
    pub fn separately(&self) -> Cutting {
        Cutting {
            bars: self.alone.iter().flat_map(|cutting| cutting.bars.clone()).collect(),
            sheets: self.alone.iter().flat_map(|cutting| cutting.sheets.clone()).collect(),
            full: self.alone.iter().all(|cutting| cutting.full),
        }
    }

    /// Why the plans cannot be compared: each that is missing or was cut short, in words; empty when none is.
    pub fn blocks(&self) -> Vec<String> {
        let alone = self.jobs.iter().zip(&self.alone).flat_map(|(job, cutting)| {
            cutting.blocks().map(|block| format!("Job {} by itself: {block}", job.number)).collect::<Vec<_>>()
        });
        self.cutting.blocks().chain(alone).collect()
    }

    /// What each group costs and how it is shared out, to so many decimals of the currency. A group without a plan costs nothing here:
    /// see [`Self::blocks`].
    pub fn groups(&self, decimals: u32) -> Vec<Group> {
        let bars = self.cutting.bars.iter().map(|group| {
            let sizes = self.jobs.iter().map(|job| {
                let theirs = job.take_off.bars.iter().find(|demand| is_bar(demand, group));
                theirs.map_or(Decimal::ZERO, |demand| times(job, metres_of(demand)))
            });
            let alone = self.alone.iter().map(|cutting| {
                let theirs =
                    cutting.bars.iter().find(|other| (other.section, other.grade) == (group.section, group.grade));
                net(theirs.and_then(BarCutting::charge))
            });
            Group::of(group.key(), net(group.charge()), sizes.collect(), alone, decimals)
        });
        let sheets = self.cutting.sheets.iter().map(|group| {
            let sizes = self.jobs.iter().map(|job| {
                let theirs = job.take_off.sheets.iter().find(|demand| is_sheet(demand, group));
                theirs.map_or(Decimal::ZERO, |demand| times(job, m2_of(demand)))
            });
            let alone = self.alone.iter().map(|cutting| {
                let same =
                    |other: &&SheetCutting| (other.material, other.thickness) == (group.material, group.thickness);
                net(cutting.sheets.iter().find(same).and_then(SheetCutting::charge))
            });
            Group::of(group.key(), net(group.charge()), sizes.collect(), alone, decimals)
        });
        bars.chain(sheets).collect()
    }
}

impl Group {
    fn of(key: String, net: Money, sizes: Vec<Decimal>, alone: impl Iterator<Item = Money>, decimals: u32) -> Self {
        let cost = net.rounded(decimals);
        let weights: Vec<f64> = sizes.iter().map(|size| f64::try_from(*size).unwrap_or_default()).collect();
        let costs = shared_out(cost, &weights, decimals);
        let shares = sizes.into_iter().zip(costs).zip(alone);
        let share =
            |((size, cost), alone): ((Decimal, Money), Money)| Share { size, cost, alone: alone.rounded(decimals) };
        Self { key, cost, shares: shares.map(share).collect() }
    }
}

/// The sums over all groups for each of so many jobs, in order: what it pays of the common plan, and what it costs by itself.
pub fn by_job(groups: &[Group], jobs: usize) -> Vec<(Money, Money)> {
    let mut sums = vec![(Money::ZERO, Money::ZERO); jobs];
    for group in groups {
        for ((shared, alone), share) in sums.iter_mut().zip(&group.shares) {
            *shared += share.cost;
            *alone += share.alone;
        }
    }
    sums
}

fn is_bar(demand: &BarDemand, group: &BarCutting) -> bool {
    (demand.section, demand.grade) == (group.section, group.grade)
}

fn is_sheet(demand: &SheetDemand, group: &SheetCutting) -> bool {
    (demand.material, demand.thickness) == (group.material, group.thickness)
}

/// Stock taken less the remainders kept, at their worth.
fn net(charge: Option<Charge>) -> Money {
    charge.map_or(Money::ZERO, |charge| charge.whole - charge.kept_worth)
}

fn times(job: &Job, size: Decimal) -> Decimal {
    size.saturating_mul(job.count.into())
}

fn metres_of(demand: &BarDemand) -> Decimal {
    demand.parts.iter().map(|part| metres(part.length) * Decimal::from(part.quantity)).sum()
}

fn m2_of(demand: &SheetDemand) -> Decimal {
    let m2 = demand.parts.iter().map(|part| metres(part.length) * metres(part.width) * Decimal::from(part.quantity));
    m2.sum()
}

fn metres(length: Tenths) -> Decimal {
    Decimal::new(length.0, 4)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use proptest::prelude::*;

    use super::*;
    use crate::{
        measure::Length,
        nesting::{check, unwatched},
        shop::Stocked,
        steel::SheetMaterial,
        trailer::{BarPart, EndCut, Grain, PanelRole, Role, SheetPart},
    };

    const SECTIONS: [&str; 2] = ["shs 50x50x3", "rhs 60x40x3"];

    fn money(text: &str) -> Money {
        Money(text.parse().unwrap())
    }

    fn bars(section: &str, parts: &[(i64, u32)]) -> BarDemand {
        let part = |(at, (length, quantity)): (usize, &(i64, u32))| BarPart {
            id: format!("A{at}"),
            role: Role::SideRail,
            length: Tenths(*length),
            quantity: *quantity,
            cuts: [EndCut::SQUARE; 2],
        };
        BarDemand {
            section: section.parse().unwrap(),
            grade: "S235".parse().unwrap(),
            parts: parts.iter().enumerate().map(part).collect(),
        }
    }

    fn sheets(parts: &[(i64, i64, u32)]) -> SheetDemand {
        let part = |(at, (length, width, quantity)): (usize, &(i64, i64, u32))| SheetPart {
            id: format!("P{at}"),
            role: PanelRole::Deck,
            length: Tenths(*length),
            width: Tenths(*width),
            quantity: *quantity,
            grain: Grain::Any,
            bends: 0,
            cut_outs: 0,
        };
        SheetDemand {
            material: SheetMaterial::MeshPly,
            thickness: Length::from_mm(15.0),
            parts: parts.iter().enumerate().map(part).collect(),
        }
    }

    fn job(number: &str, count: u32, bars: Vec<BarDemand>, sheets: Vec<SheetDemand>) -> Job {
        Job { number: number.into(), take_off: TakeOff { bars, sheets, ..TakeOff::default() }, count }
    }

    fn lying(tag: &str, length: i64, worth: &str, reserved_for: Option<usize>) -> OpenPiece {
        let stock = Stocked::Bar {
            section: SECTIONS[0].parse().unwrap(),
            grade: "S235".parse().unwrap(),
            length: Tenths(length),
        };
        let piece = RackPiece { tag: tag.into(), stock, worth: money(worth), sawn_here: true };
        OpenPiece { piece, reserved_for }
    }

    fn planned(jobs: Vec<Job>, rack: &[OpenPiece]) -> CommonPlan {
        plan(jobs, rack, &ShopBook::demo(), Budget::of_units(2_000_000), &mut unwatched)
    }

    /// How many of each mark plans cut.
    fn cut(cutting: &Cutting) -> BTreeMap<String, u32> {
        let mut counts = BTreeMap::new();
        for (bar, ..) in cutting.bars.iter().flat_map(BarCutting::taken) {
            for id in &bar.parts {
                *counts.entry(id.clone()).or_default() += bar.count;
            }
        }
        for (sheet, ..) in cutting.sheets.iter().flat_map(SheetCutting::taken) {
            for part in &sheet.placed {
                *counts.entry(part.part.clone()).or_default() += sheet.count;
            }
        }
        counts
    }

    /// How many of each mark the jobs ask for.
    fn wanted(jobs: &[Job]) -> BTreeMap<String, u32> {
        let mut counts = BTreeMap::new();
        for job in jobs {
            let bars = job.take_off.bars.iter().flat_map(|demand| &demand.parts).map(|part| (&part.id, part.quantity));
            let sheets =
                job.take_off.sheets.iter().flat_map(|demand| &demand.parts).map(|part| (&part.id, part.quantity));
            for (id, quantity) in bars.chain(sheets) {
                *counts.entry(mark(&job.number, id)).or_default() += quantity * job.count;
            }
        }
        counts
    }

    /// Two jobs of 3 m each from bars of 6,100 mm: one bar together, two by themselves. By hand.
    #[test]
    fn two_jobs_share_a_bar_and_its_cost_by_length() {
        let mut book = ShopBook::demo();
        book.policy.offcut_worth_percent = Decimal::ZERO;
        for item in &mut book.rates.items {
            if let crate::shop::Goods::Bar { lengths, .. } = &mut item.goods {
                lengths.truncate(1);
                lengths[0].length = Length::from_mm(6100.0);
                lengths[0].price = Some(money("40.01"));
            }
        }
        let jobs = vec![
            job("2026-001", 1, vec![bars(SECTIONS[0], &[(30_000, 1)])], Vec::new()),
            job("2026-002", 2, vec![bars(SECTIONS[0], &[(15_000, 1)])], Vec::new()),
        ];
        let plan = plan(jobs, &[], &book, Budget::of_units(2_000_000), &mut unwatched);
        assert_eq!(plan.blocks(), [""; 0]);
        assert_eq!((plan.cutting.bars_used(), plan.separately().bars_used()), (1, 2));
        let [group] = &plan.groups(2)[..] else { panic!("one section") };
        assert_eq!((group.key.as_str(), group.cost), ("steel/shs 50x50x3 S235", money("40.01")));
        let share = |cost| Share { size: Decimal::from(3), cost: money(cost), alone: money("40.01") };
        assert_eq!(group.shares, [share("20.01"), share("20.00")]);
        assert_eq!(by_job(&plan.groups(2), 2), [(money("20.01"), money("40.01")), (money("20.00"), money("40.01"))]);
        assert_eq!(plan.groups(0)[0].cost, money("40"), "in a currency without cents");
    }

    /// The second job cannot count on what the first one took; a piece reserved for one of them is the common plan's too.
    #[test]
    fn separate_plans_take_no_piece_twice() {
        let jobs = || {
            let job = |number| job(number, 1, vec![bars(SECTIONS[0], &[(20_000, 1)])], Vec::new());
            vec![job("2026-001"), job("2026-002")]
        };
        let plan = planned(jobs(), &[lying("R-0001", 20_000, "0.01", None)]);
        assert_eq!(plan.cutting.rack_tags(), ["R-0001"]);
        assert_eq!((plan.alone[0].rack_tags(), plan.alone[1].rack_tags()), (vec!["R-0001"], vec![]));
        let plan = planned(jobs(), &[lying("R-0001", 20_000, "0.01", Some(1))]);
        assert_eq!(plan.cutting.rack_tags(), ["R-0001"]);
        assert_eq!((plan.alone[0].rack_tags(), plan.alone[1].rack_tags()), (vec![], vec!["R-0001"]));
    }

    #[test]
    fn a_plan_that_is_missing_is_named_with_its_job() {
        let jobs = vec![
            job("2026-001", 1, vec![bars(SECTIONS[0], &[(20_000, 1)])], Vec::new()),
            job("2026-002", 1, vec![bars("shs 55x55x3", &[(20_000, 1)])], Vec::new()),
        ];
        let plan = planned(jobs, &[]);
        let blocks = plan.blocks().join(" ");
        assert!(blocks.contains("sells no shs 55x55x3") && blocks.contains("Job 2026-002 by itself"), "{blocks}");
        assert_eq!(plan.groups(2)[1].cost, Money::ZERO);
    }

    /// How often it is built, its bars of two sections (length, how many), its panels (both sides, how many).
    type Made = (u32, [Vec<(i64, u32)>; 2], Vec<(i64, i64, u32)>);

    fn some_job() -> impl Strategy<Value = Made> {
        let lengths = || prop::collection::vec((2_000_i64..55_000, 1_u32..4), 0..4);
        let panels = prop::collection::vec((1_000_i64..12_000, 1_000_i64..12_000, 1_u32..3), 0..3);
        (1_u32..3, [lengths(), lengths()], panels)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        /// Every part of every job is cut exactly once, the verifier passes every plan, and the shares add up to what the plan costs.
        #[test]
        fn no_part_is_lost_and_no_coin(
            made in prop::collection::vec(some_job(), 2..5),
            offcuts in prop::collection::vec((5_000_i64..60_000, 1_i64..3_000, prop::option::of(0_usize..4)), 0..4),
            decimals in 0_u32..4,
        ) {
            let jobs: Vec<Job> = made.iter().enumerate().map(|(at, (count, lengths, panels))| {
                let of = |(section, parts): (&&str, &Vec<(i64, u32)>)| bars(section, parts);
                let bars = SECTIONS.iter().zip(lengths).filter(|(_, parts)| !parts.is_empty()).map(of).collect();
                job(&format!("2026-{at:03}"), *count, bars, if panels.is_empty() { Vec::new() } else { vec![sheets(panels)] })
            }).collect();
            let rack: Vec<OpenPiece> = offcuts.iter().enumerate().map(|(at, (length, worth, job))| {
                let worth = Decimal::new(*worth, 2).to_string();
                lying(&format!("R-{at:04}"), *length, &worth, job.filter(|job| *job < jobs.len()))
            }).collect();
            let plan = plan(jobs.clone(), &rack, &ShopBook::demo(), Budget::of_units(100_000), &mut unwatched);
            prop_assert_eq!(plan.blocks(), [""; 0]);
            prop_assert_eq!(cut(&plan.cutting), wanted(&jobs));
            for (job, alone) in jobs.iter().zip(&plan.alone) {
                let marked: BTreeMap<String, u32> =
                    cut(alone).into_iter().map(|(id, count)| (mark(&job.number, &id), count)).collect();
                prop_assert_eq!(marked, wanted(std::slice::from_ref(job)));
            }
            for cutting in [&plan.cutting].into_iter().chain(&plan.alone) {
                for bars in &cutting.bars {
                    prop_assert_eq!(check::bar_plan(&bars.problem, bars.answer.as_ref().unwrap()), [""; 0]);
                }
                for sheets in &cutting.sheets {
                    prop_assert_eq!(check::panel_plan(&sheets.problem, sheets.answer.as_ref().unwrap()), [""; 0]);
                }
            }
            // No piece of the rack twice, neither in the common plan nor over the separate ones.
            for tags in [plan.cutting.rack_tags(), plan.separately().rack_tags()] {
                prop_assert!(tags.windows(2).all(|pair| pair[0] != pair[1]), "{:?}", tags);
            }
            // Booked, no piece of stock and no part is lost or doubled; what is reserved for a job is its own.
            let booked = plan.booked(&rack);
            let cuttings: Vec<&Cutting> = booked.iter().collect();
            prop_assert_eq!(plan.shared().faults(&cuttings), [""; 0]);
            for (at, cutting) in booked.iter().enumerate() {
                let is_its_own = |tag: &&str| rack.iter().find(|open| open.piece.tag == **tag).is_some_and(|open| open.reserved_for.is_none_or(|job| job == at));
                prop_assert!(cutting.rack_tags().iter().all(is_its_own));
            }
            let cost = booked.iter().map(Cutting::cost).fold(cutting::Cost::default(), |sum, of| cutting::Cost {
                bought: sum.bought + of.bought,
                from_rack: sum.from_rack + of.from_rack,
                kept: sum.kept + of.kept,
            });
            prop_assert_eq!(cost, plan.cutting.cost());
            let kept = |cuttings: &[&Cutting]| {
                let all = cuttings.iter().flat_map(|cutting| cutting.kept(decimals)).map(|kept| (format!("{:?} {:?}", kept.from, kept.stock), kept.count));
                all.fold(BTreeMap::<String, u32>::new(), |mut all, (what, count)| { *all.entry(what).or_default() += count; all })
            };
            prop_assert_eq!(kept(&cuttings), kept(&[&plan.cutting]));
            // Lost or doubled, it is named.
            if let Some(more) = cuttings.iter().find(|cutting| cutting.bars_used() + cutting.sheets_used() > 0) {
                prop_assert!(!plan.shared().faults(&[cuttings.as_slice(), &[*more]].concat()).is_empty());
                prop_assert!(!plan.shared().faults(&[]).is_empty());
            }
            let groups = plan.groups(decimals);
            for group in &groups {
                prop_assert_eq!(group.shares.iter().map(|share| share.cost).sum::<Money>(), group.cost);
                let size: Decimal = group.shares.iter().map(|share| share.size).sum();
                let coin = Decimal::new(1, decimals);
                for share in &group.shares {
                    let exact = group.cost.0 * share.size / size;
                    prop_assert!((share.cost.0 - exact).abs() < coin, "{:?}", group);
                }
            }
            let shared: Money = by_job(&groups, jobs.len()).iter().map(|(shared, _)| *shared).sum();
            prop_assert_eq!(shared, groups.iter().map(|group| group.cost).sum::<Money>());
            // What is rounded is each group: the sum stays within half a coin of each.
            let off = (plan.cutting.cost().net() - shared).0.abs();
            prop_assert!(off <= Decimal::new(5, decimals + 1) * Decimal::from(groups.len()), "{}", off);
            let same = super::plan(jobs, &rack, &ShopBook::demo(), Budget::of_units(100_000), &mut unwatched);
            prop_assert_eq!(plan, same);
        }
    }
}
