//! What was ordered, set against what is needed: nothing is asked for twice, and what whole packs left over serves the next.
//!
//! An order counts from its press until it is cancelled, whether it has arrived or not; what of it is here and what is still to come is told
//! beside. Bars and sheets that came on the rack count by
//! their piece: while it lies there for the jobs that it was ordered for, no plan of another counts on it; once it is cut or
//! scrapped, it is had no longer.

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use super::{
    Need,
    orders::{Wanted, together},
};
use crate::shop::{RateUnit, Stocked};

/// Where a piece of the rack is that came with an order. `J` names a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Now<J> {
    Free,
    Reserved(J),
    CutFor(J),
    Scrapped,
}

/// One line of an order that was not cancelled.
#[derive(Clone, Debug, PartialEq)]
pub struct Ordered<J> {
    pub code: String,
    /// What the book never had goes by what it is called.
    pub name: String,
    pub stock: Option<Stocked>,
    pub unit: Option<RateUnit>,
    pub bought: Decimal,
    /// What of that has come.
    pub came: Decimal,
    /// What each job needed of it.
    pub jobs: Vec<(J, Decimal)>,
    /// The pieces of the rack that came with it, by tag.
    pub pieces: Vec<(String, Now<J>)>,
}

/// How far a job is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// It may still need all that was ordered for it, but no more than this where that is known.
    Open { most: Option<Decimal> },
    /// What was ordered for it is built in.
    Built,
}

/// What jobs have of one thing, ordered or here.
#[derive(Clone, Debug, PartialEq)]
pub struct OnOrder<J> {
    pub code: String,
    pub name: String,
    pub stock: Option<Stocked>,
    pub unit: Option<RateUnit>,
    pub jobs: Vec<(J, Decimal)>,
    /// Of whole packs and of jobs that need it no longer: whoever needs it next may have it.
    pub over: Decimal,
    /// What of both is still to come.
    pub to_come: ToCome<J>,
}

/// What is still to come: of a delivery in parts what is over counts as missing first, then what the later jobs need.
#[derive(Clone, Debug, PartialEq)]
pub struct ToCome<J> {
    pub jobs: BTreeMap<J, Decimal>,
    pub over: Decimal,
}

/// What was ordered and is still to be had.
#[derive(Clone, Debug, PartialEq)]
pub struct Account<J> {
    pub all: Vec<OnOrder<J>>,
    /// The pieces of the rack that are counted in it, by tag, each with the job that it was bought for.
    pub spoken_for: BTreeMap<String, J>,
}

/// What of needs is still to be bought, and what is not because it was.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rest {
    pub to_buy: Vec<Need>,
    /// By orders for the same job.
    pub ordered: Vec<Need>,
    /// Of what earlier orders left over.
    pub laid_aside: Vec<Need>,
    /// What of those two is still to come.
    pub to_come: Vec<Need>,
}

/// What is had of one thing.
#[derive(Clone, Debug, PartialEq)]
pub struct Had {
    pub thing: Wanted,
    pub here: Decimal,
    pub to_come: Decimal,
}

impl Rest {
    /// What is not to be bought, for all jobs together.
    pub fn had(&self) -> Vec<Had> {
        let all = together(&[self.ordered.as_slice(), &self.laid_aside].concat());
        let waits = together(&self.to_come);
        let of = |thing: Wanted| {
            let to_come = waits.iter().find(|other| other.is_same(&thing)).map_or(Decimal::ZERO, |other| other.needed);
            Had { here: thing.needed - to_come, to_come, thing }
        };
        all.into_iter().map(of).collect()
    }
}

/// What is to be had of these lines (the earlier ones first). Where jobs were promised more than there is, the later promise stands: by it
/// an earlier one was given up.
pub fn account<J: Copy + Ord>(lines: &[Ordered<J>], stage: impl Fn(J, &Ordered<J>) -> Stage) -> Account<J> {
    let mut same: BTreeMap<&str, Vec<Vec<&Ordered<J>>>> = BTreeMap::new();
    for line in lines {
        let groups = same.entry(&line.code).or_default();
        let alike = |group: &&mut Vec<&Ordered<J>>| {
            group.first().is_some_and(|first| {
                (&first.stock, first.unit) == (&line.stock, line.unit)
                    && (!line.code.is_empty() || first.name == line.name)
            })
        };
        match groups.iter_mut().find(alike) {
            Some(group) => group.push(line),
            None => groups.push(vec![line]),
        }
    }
    let mut account = Account { all: Vec::new(), spoken_for: BTreeMap::new() };
    for group in same.values().flatten() {
        let Some(first) = group.first() else { continue };
        let (of, spoken_for) = of_one(first, group, &stage);
        account.all.push(of);
        account.spoken_for.extend(spoken_for);
    }
    account
}

/// The same of one thing, and its pieces that are spoken for.
fn of_one<J: Copy + Ord>(
    first: &Ordered<J>,
    lines: &[&Ordered<J>],
    stage: &impl Fn(J, &Ordered<J>) -> Stage,
) -> (OnOrder<J>, BTreeMap<String, J>) {
    let mut promised: BTreeMap<J, Decimal> = BTreeMap::new();
    for (job, of) in lines.iter().flat_map(|line| &line.jobs) {
        *promised.entry(*job).or_default() += *of;
    }
    let stages: BTreeMap<J, Stage> = promised.keys().map(|job| (*job, stage(*job, first))).collect();
    let is_open = |job: &J| matches!(stages.get(job), Some(Stage::Open { .. }));
    let (mut lying, mut gone) = (Vec::new(), Decimal::ZERO);
    for (line, (tag, now)) in lines.iter().flat_map(|line| line.pieces.iter().map(move |piece| (*line, piece))) {
        match now {
            Now::Free => lying.push(Lying { tag, line, reserved: None }),
            Now::Reserved(job) if is_open(job) => lying.push(Lying { tag, line, reserved: Some(*job) }),
            Now::CutFor(job) => {
                gone += Decimal::ONE;
                if let Some(of) = promised.get_mut(job) {
                    *of -= Decimal::ONE;
                }
            }
            Now::Reserved(_) | Now::Scrapped => gone += Decimal::ONE,
        }
    }
    let bought: Decimal = lines.iter().map(|line| line.bought).sum();
    let on_rack = Decimal::from(lying.len());
    let mut there = (bought - gone).max(Decimal::ZERO);
    let mut elsewhere = (there - on_rack).max(Decimal::ZERO);

    let mut jobs: BTreeMap<J, Decimal> = BTreeMap::new();
    for (job, of) in lines.iter().rev().flat_map(|line| &line.jobs) {
        let Some(left) = promised.get_mut(job) else { continue };
        let most = match stages.get(job) {
            Some(Stage::Open { most: Some(most) }) => *most - jobs.get(job).copied().unwrap_or_default(),
            // What it used was never on the rack, or its piece is cut.
            Some(Stage::Built) => elsewhere,
            _ => *of,
        };
        let has = (*of).min(*left).min(most).min(there).max(Decimal::ZERO);
        *left -= has;
        there -= has;
        if is_open(job) {
            *jobs.entry(*job).or_default() += has;
        } else {
            elsewhere -= has;
        }
    }
    jobs.retain(|_, has| *has > Decimal::ZERO);
    let spoken_for = spoken_for(&lying, jobs.clone());
    // The other pieces lie on the rack for whoever's plan takes them.
    let over = there - (on_rack - Decimal::from(spoken_for.len()));
    let over = over.max(Decimal::ZERO);
    let of = OnOrder {
        code: first.code.clone(),
        name: first.name.clone(),
        stock: first.stock.clone(),
        unit: first.unit,
        to_come: to_come(lines, &jobs, over),
        jobs: jobs.into_iter().collect(),
        over,
    };
    (of, spoken_for)
}

/// What is still to come of what jobs have and of what is over: of a line its last jobs wait; what is missing of the rest of it, of packs and
/// of what was laid aside of them, is what is over first.
fn to_come<J: Copy + Ord>(lines: &[&Ordered<J>], jobs: &BTreeMap<J, Decimal>, over: Decimal) -> ToCome<J> {
    let mut missing: BTreeMap<J, Decimal> = jobs.keys().map(|job| (*job, Decimal::ZERO)).collect();
    let mut pool = Decimal::ZERO;
    for line in lines {
        let needed: Decimal = line.jobs.iter().map(|(_, of)| *of).sum();
        let all = (line.bought - line.came).max(Decimal::ZERO);
        let mut left = all - (line.bought - needed).clamp(Decimal::ZERO, all);
        pool += all;
        for (job, of) in line.jobs.iter().rev() {
            let waits = left.min(*of);
            left -= waits;
            if let (Some(missing), Some(has)) = (missing.get_mut(job), jobs.get(job)) {
                *missing = (*missing + waits).min(*has);
            }
        }
    }
    pool -= missing.values().copied().sum::<Decimal>();
    let of_over = over.min(pool);
    pool -= of_over;
    for (job, has) in jobs.iter().rev() {
        let more = missing.get(job).map_or(Decimal::ZERO, |missing| (*has - *missing).min(pool));
        missing.entry(*job).and_modify(|missing| *missing += more);
        pool -= more;
    }
    ToCome { jobs: missing, over: of_over }
}

/// A piece that lies on the rack, with the line that it came of.
struct Lying<'a, J> {
    tag: &'a str,
    line: &'a Ordered<J>,
    reserved: Option<J>,
}

/// Who may have a piece, when the others are whose they are.
type Candidates<'a, J> = &'a dyn Fn(&Lying<'_, J>, &BTreeMap<String, J>) -> Vec<J>;

/// Whose each piece is while jobs have so much of it: of the job that it is reserved for; else of one that its line was ordered for; else
/// of whoever still lacks one.
fn spoken_for<J: Copy + Ord>(lying: &[Lying<'_, J>], mut lack: BTreeMap<J, Decimal>) -> BTreeMap<String, J> {
    let everybody: Vec<J> = lack.keys().copied().collect();
    let mut owners: BTreeMap<String, J> = BTreeMap::new();
    let mut give = |candidates: Candidates<'_, J>| {
        for piece in lying {
            if owners.contains_key(piece.tag) {
                continue;
            }
            let lacks = |job: &J| lack.get(job).is_some_and(|lacking| *lacking > Decimal::ZERO);
            if let Some(owner) = candidates(piece, &owners).into_iter().find(lacks) {
                lack.entry(owner).and_modify(|lacking| *lacking -= Decimal::ONE);
                owners.insert(piece.tag.to_owned(), owner);
            }
        }
    };
    give(&|piece, _| piece.reserved.into_iter().collect());
    give(&|piece, owners| {
        let of_line = || piece.line.pieces.iter().filter_map(|(tag, _)| owners.get(tag));
        let cut_for = |job: &J| piece.line.pieces.iter().filter(|(_, now)| *now == Now::CutFor(*job)).count();
        let has = |job: &J| Decimal::from(of_line().filter(|owner| *owner == job).count() + cut_for(job));
        piece.line.jobs.iter().filter(|(job, of)| has(job) < *of).map(|(job, _)| *job).collect()
    });
    give(&|_, _| everybody.clone());
    owners
}

/// What of the needs is still to be bought: each job has what was ordered for it, then what is over serves those that come first in the
/// list. `jobs` are those of the needs, by their places; what others have stays theirs.
pub fn rest<J: Copy + Ord>(needs: &[Need], jobs: &[J], account: &[OnOrder<J>]) -> Rest {
    let mut left: BTreeMap<&str, Vec<Left<'_, J>>> = BTreeMap::new();
    for of in account {
        let listed = of.jobs.iter().filter(|(job, _)| jobs.contains(job)).copied().collect();
        left.entry(&of.code).or_default().push(Left { of, jobs: listed, over: of.over, to_come: of.to_come.clone() });
    }
    let (mut rest, mut lacking) = (Rest::default(), Vec::new());
    for need in needs {
        let own = left_for(&mut left, need)
            .zip(jobs.get(need.job))
            .and_then(|(left, job)| Some((left.jobs.get_mut(job)?, left.to_come.jobs.entry(*job).or_default())));
        let (lacks, takes) = taken(need, own);
        rest.ordered.extend(takes.had);
        rest.to_come.extend(takes.to_come);
        lacking.extend(lacks);
    }
    for of in left.values_mut().flatten() {
        of.over += of.jobs.values().copied().sum::<Decimal>();
        of.to_come.over += of.to_come.jobs.values().copied().sum::<Decimal>();
    }
    for need in lacking {
        let over = left_for(&mut left, &need).map(|left| (&mut left.over, &mut left.to_come.over));
        let (lacks, takes) = taken(&need, over);
        rest.laid_aside.extend(takes.had);
        rest.to_come.extend(takes.to_come);
        rest.to_buy.extend(lacks);
    }
    rest
}

/// What is left of one thing while it is shared out.
struct Left<'a, J> {
    of: &'a OnOrder<J>,
    /// Of the jobs that are looked at.
    jobs: BTreeMap<J, Decimal>,
    over: Decimal,
    to_come: ToCome<J>,
}

fn left_for<'l, 'a, J>(left: &'l mut BTreeMap<&'a str, Vec<Left<'a, J>>>, need: &Need) -> Option<&'l mut Left<'a, J>> {
    left.get_mut(need.code.as_str())?.iter_mut().find(|left| left.of.serves(need))
}

/// What a need takes of what there is, and what of that is still to come.
#[derive(Default)]
struct Takes {
    had: Option<Need>,
    to_come: Option<Need>,
}

/// Takes what there is for a need, here first; what is lacking then.
fn taken(need: &Need, there: Option<(&mut Decimal, &mut Decimal)>) -> (Option<Need>, Takes) {
    let of = |quantity: Decimal| (quantity > Decimal::ZERO).then(|| Need { quantity, ..need.clone() });
    let Some((there, to_come)) = there else { return (of(need.quantity), Takes::default()) };
    let takes = need.quantity.min(*there).max(Decimal::ZERO);
    let here = (*there - *to_come).max(Decimal::ZERO);
    let waits = (takes - here).max(Decimal::ZERO);
    *there -= takes;
    *to_come = (*to_come - waits).max(Decimal::ZERO);
    (of(need.quantity - takes), Takes { had: of(takes), to_come: of(waits) })
}

impl<J> OnOrder<J> {
    fn serves(&self, need: &Need) -> bool {
        (&self.code, &self.stock, self.unit) == (&need.code, &need.stock, need.unit)
            && (!need.code.is_empty() || self.name == need.name)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::measure::Tenths;

    fn dec(number: i64) -> Decimal {
        Decimal::from(number)
    }

    fn bar() -> Stocked {
        Stocked::Bar { section: "shs 40x40x3".parse().unwrap(), grade: "S235".parse().unwrap(), length: Tenths(60_000) }
    }

    fn need(job: usize, code: &str, quantity: i64) -> Need {
        let unit = Some(RateUnit::Each);
        Need { job, code: code.into(), name: String::new(), stock: None, quantity: dec(quantity), unit }
    }

    fn ordered(bought: i64, jobs: &[(char, i64)]) -> Ordered<char> {
        let jobs = jobs.iter().map(|(job, of)| (*job, dec(*of))).collect();
        let (unit, bought) = (Some(RateUnit::Each), dec(bought));
        Ordered { code: "H".into(), name: String::new(), stock: None, unit, bought, came: bought, jobs, pieces: vec![] }
    }

    fn bars(bought: i64, jobs: &[(char, i64)], pieces: &[(&str, Now<char>)]) -> Ordered<char> {
        let pieces = pieces.iter().map(|(tag, now)| ((*tag).to_owned(), *now)).collect();
        Ordered { stock: Some(bar()), unit: None, pieces, ..ordered(bought, jobs) }
    }

    const OPEN: Stage = Stage::Open { most: None };

    /// What jobs have, what is over, and which pieces are theirs.
    fn had(lines: &[Ordered<char>], stage: impl Fn(char) -> Stage) -> (Vec<(char, Decimal)>, Decimal, Vec<String>) {
        let account = account(lines, |job, _| stage(job));
        let [of] = account.all.as_slice() else { panic!("{account:?}") };
        (of.jobs.clone(), of.over, account.spoken_for.into_keys().collect())
    }

    fn quantities(needs: &[Need]) -> Vec<(usize, Decimal)> {
        needs.iter().map(|need| (need.job, need.quantity)).collect()
    }

    /// By hand: 4 hinges for a, bought as a pack of 10. b needs 3, c needs 5: 6 are over, so 2 are to be bought, for c.
    #[test]
    fn what_is_over_serves_the_next_and_the_rest_is_bought() {
        let lines = [ordered(10, &[('a', 4)])];
        let account = account(&lines, |_, _| OPEN).all;
        let needs = [need(0, "H", 4), need(1, "H", 3), need(2, "H", 5), need(2, "G", 1)];
        let found = rest(&needs, &['a', 'b', 'c'], &account);
        assert_eq!(quantities(&found.ordered), [(0, dec(4))]);
        assert_eq!(quantities(&found.laid_aside), [(1, dec(3)), (2, dec(3))]);
        assert_eq!(quantities(&found.to_buy), [(2, dec(2)), (2, dec(1))]);
        // a is not looked at: what was ordered for it stays its own.
        let found = rest(&[need(0, "H", 8)], &['b'], &account);
        assert_eq!((quantities(&found.laid_aside), quantities(&found.to_buy)), (vec![(0, dec(6))], vec![(0, dec(2))]));
        // Another unit or size is another thing.
        let other = Need { unit: Some(RateUnit::Metre), ..need(0, "H", 1) };
        let asked = rest(std::slice::from_ref(&other), &['a'], &account).to_buy;
        assert_eq!(asked, [other]);
    }

    /// What the book never had is known by its name alone.
    #[test]
    fn what_has_no_code_is_not_asked_for_again_by_its_name() {
        let named = |name: &str| Need { name: name.into(), ..need(0, "", 2) };
        let lines = [Ordered { code: String::new(), name: "old axle".into(), ..ordered(2, &[('a', 2)]) }];
        let found = rest(&[named("old axle"), named("old tow eye")], &['a'], &account(&lines, |_, _| OPEN).all);
        assert_eq!((found.ordered, found.to_buy), (vec![named("old axle")], vec![named("old tow eye")]));
    }

    /// By hand: a pack of 10 for a (4) and b (3). Of 5 that came, a has its 4 and b 1; what is over is still to come.
    #[test]
    fn what_came_in_part_is_told_from_what_is_still_to_come() {
        let part = |came: i64| [Ordered { came: dec(came), ..ordered(10, &[('a', 4), ('b', 3)]) }];
        let needs = [need(0, "H", 4), need(1, "H", 3), need(2, "H", 2)];
        let told = |came: i64| {
            let found = rest(&needs, &['a', 'b', 'c'], &account(&part(came), |_, _| OPEN).all);
            let had: Vec<_> = found.had().iter().map(|of| (of.thing.needed, of.here, of.to_come)).collect();
            (quantities(&found.to_come), had)
        };
        let all = |of: [i64; 3]| vec![(dec(of[0]), dec(of[1]), dec(of[2]))];
        assert_eq!(told(0), (vec![(0, dec(4)), (1, dec(3)), (2, dec(2))], all([9, 0, 9])));
        assert_eq!(told(5), (vec![(1, dec(2)), (2, dec(2))], all([9, 5, 4])));
        assert_eq!(told(9), (vec![], all([9, 9, 0])), "one of three over is to come, and c needs two");
        assert_eq!(told(10), (vec![], all([9, 9, 0])));
        // Ordered since: whether it came or not, nothing is asked for twice.
        assert!(rest(&needs, &['a', 'b', 'c'], &account(&part(0), |_, _| OPEN).all).to_buy.is_empty());
    }

    #[test]
    fn what_is_laid_aside_stays_laid_aside_when_its_job_is_built() {
        let lines = [ordered(10, &[('a', 4)]), ordered(0, &[('b', 3)])];
        let built = |of: &'static str| move |job: char| if of.contains(job) { Stage::Built } else { OPEN };
        assert_eq!(had(&lines, |_| OPEN), (vec![('a', dec(4)), ('b', dec(3))], dec(3), vec![]));
        assert_eq!(had(&lines, built("b")), (vec![('a', dec(4))], dec(3), vec![]));
        assert_eq!(had(&lines, built("ab")), (vec![], dec(3), vec![]));
        // Without the order that it came from there is nothing to lay aside.
        assert_eq!(had(&lines[1..], |_| OPEN), (vec![], dec(0), vec![]));
        // a needed one less, and b was promised it: the later promise stands.
        let given_up = [ordered(4, &[('a', 4)]), ordered(0, &[('b', 1)])];
        assert_eq!(had(&given_up, built("a")), (vec![('b', dec(1))], dec(0), vec![]));
    }

    /// By hand: a's order has come whole, b's in part, and one bar over; c's is reserved already.
    #[test]
    fn each_piece_is_spoken_for_by_the_job_that_it_was_bought_for() {
        let lines = [
            bars(3, &[('a', 2)], &[("1", Now::Free), ("2", Now::Free), ("3", Now::Free)]),
            bars(2, &[('b', 2)], &[("4", Now::Free)]),
            bars(2, &[('a', 1), ('c', 1)], &[("5", Now::Reserved('c')), ("6", Now::Free)]),
        ];
        let owners = |lines: &[Ordered<char>]| account(lines, |_, _| OPEN).spoken_for.into_iter().collect::<Vec<_>>();
        let named = |all: &[(&str, char)]| all.iter().map(|(tag, job)| ((*tag).to_owned(), *job)).collect::<Vec<_>>();
        let expected = [("1", 'a'), ("2", 'a'), ("3", 'b'), ("4", 'b'), ("5", 'c'), ("6", 'a')];
        assert_eq!(owners(&lines), named(&expected), "what is over serves who still waits");
        assert_eq!(owners(&lines[..1]), named(&[("1", 'a'), ("2", 'a')]), "the third lies there for anybody");
        let built = account(&lines, |job, _| if job == 'a' { Stage::Built } else { OPEN }).spoken_for;
        assert_eq!(built.into_values().filter(|job| *job == 'a').count(), 0);
    }

    #[test]
    fn bars_count_by_their_pieces_once_they_lie_on_the_rack() {
        use Now::{CutFor, Free, Reserved, Scrapped};
        let five = |pieces: &[(&str, Now<char>)]| [bars(6, &[('a', 3), ('b', 2)], pieces)];
        let tags = |tags: &[&str]| tags.iter().map(|tag| (*tag).to_owned()).collect::<Vec<_>>();
        let both = vec![('a', dec(3)), ('b', dec(2))];
        assert_eq!(had(&five(&[]), |_| OPEN), (both.clone(), dec(1), vec![]));
        // All are here: five are spoken for, the sixth lies there for any plan and is not over besides.
        let here: Vec<(&str, Now<char>)> = ["1", "2", "3", "4", "5", "6"].map(|tag| (tag, Free)).to_vec();
        assert_eq!(had(&five(&here), |_| OPEN), (both.clone(), dec(0), tags(&["1", "2", "3", "4", "5"])));
        // Four are here: all are spoken for, and the one that is over is still to come.
        assert_eq!(had(&five(&here[..4]), |_| OPEN), (both.clone(), dec(1), tags(&["1", "2", "3", "4"])));
        // Two cut for a: it has one to come. One scrapped, one taken by another: lacking.
        let cut = [("1", CutFor('a')), ("2", CutFor('a')), ("3", Free)];
        assert_eq!(had(&five(&cut), |_| OPEN), (vec![('a', dec(1)), ('b', dec(2))], dec(1), tags(&["3"])));
        let lost = [("1", Scrapped), ("2", Reserved('z')), ("3", Reserved('b'))];
        let (jobs, over, spoken) = had(&five(&lost), |_| OPEN);
        assert_eq!((jobs.iter().map(|(_, of)| *of).sum::<Decimal>(), over, spoken), (dec(4), dec(0), tags(&["3"])));
        // Both are built: what went to the saw is used, what still lies there is for others.
        assert_eq!(had(&five(&here[..2]), |_| Stage::Built), (vec![], dec(0), vec![]));
        assert_eq!(had(&five(&[]), |_| Stage::Built), (vec![], dec(1), vec![]));
        // The released plan of a buys one: the others serve whoever needs them.
        let plan = |job| Stage::Open { most: (job == 'a').then_some(dec(1)) };
        assert_eq!(had(&five(&[]), plan), (vec![('a', dec(1)), ('b', dec(2))], dec(3), vec![]));
    }

    proptest! {
        /// Jobs come, need more or less, are ordered for in packs, and orders are cancelled: at every moment what is asked for is exactly
        /// what is needed and not bought, for every job and together; ordered, nothing is asked for any more.
        #[test]
        fn nothing_is_asked_for_twice_or_lost(
            steps in prop::collection::vec((prop::collection::vec((0_usize..3, 0_usize..3, 0_i64..40), 1..6), 1_i64..25, any::<prop::sample::Index>(), any::<bool>()), 1..12),
        ) {
            const JOBS: [char; 3] = ['a', 'b', 'c'];
            let codes = ["F", "G", "H"];
            let mut wanted = [[0_i64; 3]; 3];
            let mut orders: Vec<Vec<Ordered<char>>> = Vec::new();
            for (changes, pack, cancelled, cancels) in steps {
                for (job, code, quantity) in changes {
                    wanted[job][code] = quantity;
                }
                let needs: Vec<Need> = (0..9).map(|at| need(at / 3, codes[at % 3], wanted[at / 3][at % 3]))
                    .filter(|need| need.quantity > Decimal::ZERO).collect();
                let asked = |orders: &[Vec<Ordered<char>>]| {
                    let lines = orders.concat();
                    rest(&needs, &JOBS, &account(&lines, |_, _| OPEN).all)
                };
                let lack = |orders: &[Vec<Ordered<char>>], code: &str| {
                    let needed: Decimal = needs.iter().filter(|need| need.code == code).map(|need| need.quantity).sum();
                    let bought: Decimal = orders.iter().flatten().filter(|of| of.code == code).map(|of| of.bought).sum();
                    (needed - bought).max(Decimal::ZERO)
                };
                if cancels && !orders.is_empty() {
                    orders.remove(cancelled.index(orders.len()));
                }
                let found = asked(&orders);
                for code in codes {
                    let of = |all: &[Need]| all.iter().filter(|need| need.code == code).map(|need| need.quantity).sum::<Decimal>();
                    prop_assert_eq!(of(&found.to_buy), lack(&orders, code));
                    prop_assert_eq!(of(&found.to_buy) + of(&found.ordered) + of(&found.laid_aside), of(&needs));
                }
                prop_assert!(found.to_buy.iter().all(|need| need.quantity > Decimal::ZERO));
                // What is still to be bought is ordered in whole packs, and what was over is laid aside.
                let one = |need: &Need, bought: Decimal| Ordered {
                    code: need.code.clone(), name: String::new(), stock: None, unit: need.unit, bought, came: Decimal::ZERO, jobs: vec![(JOBS[need.job], need.quantity)], pieces: vec![],
                };
                let whole = |quantity: Decimal| (quantity / dec(pack)).ceil() * dec(pack);
                let lines = found.to_buy.iter().map(|need| one(need, whole(need.quantity)));
                orders.push(lines.chain(found.laid_aside.iter().map(|need| one(need, Decimal::ZERO))).collect());
                let all_ordered = asked(&orders);
                prop_assert_eq!(&all_ordered.to_buy, &Vec::<Need>::new());
                // Nothing came yet: all that is had is still to come.
                prop_assert!(all_ordered.had().iter().all(|of| of.here.is_zero() && of.to_come == of.thing.needed));
            }
        }

        /// Orders for two jobs, in packs, come onto the rack in part; the one that goes to the saw first takes whatever was not bought for the
        /// other, all of it. The other still finds each piece that was there for it, and all that was ordered for it.
        #[test]
        fn each_of_two_jobs_finds_what_was_bought_for_it(
            bought in prop::collection::vec((0_i64..4, 0_i64..6, 0_i64..6, 0_usize..16), 1..5),
            a_is_first in any::<bool>(),
        ) {
            let (first, other) = if a_is_first { ('a', 'b') } else { ('b', 'a') };
            let mut lines: Vec<Ordered<char>> = bought.iter().map(|(more, a, b, _)| bars(more + a + b, &[('a', *a), ('b', *b)], &[])).collect();
            for (at, (line, (more, a, b, came))) in lines.iter_mut().zip(&bought).enumerate() {
                let came = (*came).min(usize::try_from(more + a + b).unwrap());
                line.pieces = (0..came).map(|piece| (format!("{at}-{piece}"), Now::Free)).collect();
            }
            let theirs_of = |owners: &BTreeMap<String, char>| owners.iter().filter(|(_, job)| **job == other).map(|(tag, _)| tag.clone()).collect::<Vec<_>>();
            let before = account(&lines, |_, _| OPEN);
            let theirs = theirs_of(&before.spoken_for);
            for (tag, now) in lines.iter_mut().flat_map(|line| &mut line.pieces) {
                if !theirs.contains(tag) {
                    *now = Now::CutFor(first);
                }
            }
            let after = account(&lines, |_, _| OPEN);
            prop_assert_eq!(theirs_of(&after.spoken_for), theirs);
            let has = |account: &Account<char>| account.all[0].jobs.iter().find(|(job, _)| *job == other).map(|(_, of)| *of);
            let ordered: i64 = bought.iter().map(|(_, a, b, _)| if a_is_first { b } else { a }).sum();
            prop_assert_eq!(has(&before), (ordered > 0).then(|| dec(ordered)));
            prop_assert_eq!(has(&after), has(&before));
        }

        /// Lines of which nothing lies on the rack, all bought was needed, and whose jobs are built count nothing: they need not be read.
        #[test]
        fn what_is_built_in_whole_need_not_be_read(
            bought in prop::collection::vec((0_i64..3, 0_i64..5, 0_i64..5, 0_usize..12, any::<bool>(), any::<bool>()), 1..8),
        ) {
            let lines: Vec<Ordered<char>> = bought.iter().enumerate().map(|(at, (more, a, b, came, of_built, is_used))| {
                // c and d are built.
                let (one, other) = if *of_built { ('c', 'd') } else { ('a', 'c') };
                let came = (*came).min(usize::try_from(a + b).unwrap());
                let owner = |piece: usize| if i64::try_from(piece).unwrap() < *a { one } else { other };
                let now = |piece: usize| if *is_used || owner(piece) != 'a' { Now::CutFor(owner(piece)) } else { Now::Free };
                let pieces = (0..came).map(|piece| (format!("{at}-{piece}"), now(piece))).collect();
                Ordered { pieces, ..bars(if *of_built { a + b } else { more + a + b }, &[(one, *a), (other, *b)], &[]) }
            }).collect();
            let stage = |job: char, _: &Ordered<char>| if job == 'a' { OPEN } else { Stage::Built };
            let settled = |line: &&Ordered<char>| line.jobs.iter().all(|(job, _)| *job != 'a');
            let read: Vec<Ordered<char>> = lines.iter().filter(|line| !settled(line)).cloned().collect();
            let told = |lines: &[Ordered<char>]| {
                let account = account(lines, stage);
                let of = account.all.first().map(|of| (of.jobs.clone(), of.over));
                (of.unwrap_or_default(), account.spoken_for)
            };
            prop_assert_eq!(told(&lines), told(&read));
        }

        /// Bars on the rack: what jobs have, what is over and what lies free for other plans is what was bought less what is cut, scrapped,
        /// taken by others or built in; no piece is counted twice.
        #[test]
        fn no_bar_is_counted_twice(
            bought in prop::collection::vec((0_i64..9, 0_i64..9, 0_i64..9), 1..4),
            places in prop::collection::vec(0_u8..6, 0..12),
            a_is_built in any::<bool>(),
        ) {
            let mut lines: Vec<Ordered<char>> = bought.iter().map(|(more, a, b)| bars(more + a + b, &[('a', *a), ('b', *b)], &[])).collect();
            let all: Decimal = lines.iter().map(|line| line.bought).sum();
            for (at, place) in places.iter().enumerate() {
                let now = [Now::Free, Now::Reserved('a'), Now::Reserved('z'), Now::CutFor('a'), Now::CutFor('z'), Now::Scrapped][usize::from(*place)];
                let line = lines.iter_mut().find(|line| Decimal::from(line.pieces.len()) < line.bought);
                if let Some(line) = line {
                    line.pieces.push((at.to_string(), now));
                }
            }
            let pieces: Vec<Now<char>> = lines.iter().flat_map(|line| &line.pieces).map(|(_, now)| *now).collect();
            let stage = |job| if a_is_built && job == 'a' { Stage::Built } else { OPEN };
            let owners = account(&lines, |job, _| stage(job)).spoken_for;
            let (jobs, over, spoken) = had(&lines, stage);
            // Each job finds what was bought for it: as many pieces as it has, while so many lie there.
            for (job, has) in &jobs {
                let theirs = owners.values().filter(|owner| *owner == job).count();
                prop_assert!(Decimal::from(theirs) <= *has);
            }
            let lies = |now: &&Now<char>| **now == Now::Free || (**now == Now::Reserved('a') && !a_is_built);
            let lying = pieces.iter().filter(lies).count();
            let gone = pieces.len() - lying;
            let had: Decimal = jobs.iter().map(|(_, of)| *of).sum();
            prop_assert!(Decimal::from(spoken.len()) <= had && spoken.len() <= lying);
            let counted = had + over + Decimal::from(lying - spoken.len());
            let there = all - Decimal::from(gone);
            prop_assert!(counted <= there);
            if !a_is_built {
                prop_assert_eq!(counted, there);
            }
        }
    }
}
