//! What of a common plan is booked for which job. A piece of stock is cut once, so one job has it with all that is cut from it: the one that
//! it is reserved for or was bought for, else the one whose parts take most of it, the first of equals.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{
    Status, bars, check,
    cutting::{BarCutting, Cutting, SheetCutting, Source},
    panels,
    several::{CommonPlan, OpenPiece},
};
use crate::{measure::Tenths, trailer::TakeOff};

/// The plan by which several jobs were released together, as it is kept.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SharedPlan {
    /// Of the jobs.
    pub numbers: Vec<String>,
    /// The parts of all of them, under marks that name the job.
    pub take_off: TakeOff,
    pub cutting: Cutting,
}

/// Whether a part with this mark in a common plan is of the job with this number.
pub fn is_of(mark: &str, number: &str) -> bool {
    mark.split_once(' ').is_some_and(|(job, _)| job == number)
}

impl CommonPlan {
    pub fn shared(&self) -> SharedPlan {
        SharedPlan {
            numbers: self.jobs.iter().map(|job| job.number.clone()).collect(),
            take_off: self.take_off.clone(),
            cutting: self.cutting.clone(),
        }
    }

    /// What of the plan is booked for each job, in order; `rack` is what the plan was made with.
    pub fn booked(&self, rack: &[OpenPiece]) -> Vec<Cutting> {
        let theirs = |source: &Source| {
            let tag = source.tag()?;
            rack.iter().find(|open| open.piece.tag == tag)?.reserved_for
        };
        let mut all = vec![Cutting { full: self.cutting.full, ..Cutting::default() }; self.jobs.len()];
        for group in &self.cutting.bars {
            let size = |id: &String| group.problem.parts.iter().find(|part| part.id == *id).map(|part| part.length.0);
            let jobs: Vec<usize> = group
                .taken()
                .map(|(bar, _, source)| {
                    theirs(source).unwrap_or_else(|| {
                        self.most_of(bar.parts.iter().map(|id| (id.as_str(), size(id).unwrap_or_default().into())))
                    })
                })
                .collect();
            for (at, cutting) in all.iter_mut().enumerate() {
                cutting.bars.extend(bars_of(group, &jobs, at));
            }
        }
        for group in &self.cutting.sheets {
            let area = |placed: &panels::Placed| i128::from(placed.length.0) * i128::from(placed.width.0);
            let jobs: Vec<usize> = group
                .taken()
                .map(|(sheet, _, source)| {
                    theirs(source).unwrap_or_else(|| {
                        self.most_of(sheet.placed.iter().map(|placed| (placed.part.as_str(), area(placed))))
                    })
                })
                .collect();
            for (at, cutting) in all.iter_mut().enumerate() {
                cutting.sheets.extend(sheets_of(group, &jobs, at));
            }
        }
        all
    }

    /// The job to which most of these parts belong.
    fn most_of<'a>(&self, parts: impl Iterator<Item = (&'a str, i128)>) -> usize {
        let mut sizes = vec![0_i128; self.jobs.len()];
        for (mark, size) in parts {
            for (sum, _) in sizes.iter_mut().zip(&self.jobs).filter(|(_, job)| is_of(mark, &job.number)) {
                *sum += size;
            }
        }
        let most = sizes.iter().copied().max().unwrap_or_default();
        sizes.iter().position(|size| *size == most).unwrap_or_default()
    }
}

/// The bars of a plan that this job has.
fn bars_of(group: &BarCutting, jobs: &[usize], job: usize) -> Option<BarCutting> {
    let answer = group.answer.as_ref().ok()?;
    let plan: Vec<bars::Bar> = only(&answer.plan, jobs, job);
    let counts = counted(plan.iter().flat_map(|bar| bar.parts.iter().map(|id| (id, bar.count))));
    let parts = group
        .problem
        .parts
        .iter()
        .filter_map(|part| Some(bars::Part { quantity: *counts.get(part.id.as_str())?, ..part.clone() }));
    let problem = bars::Problem { parts: parts.collect(), ..group.problem.clone() };
    let mut own = BarCutting {
        problem,
        answer: Ok(bars::Answer {
            status: Status::Feasible,
            lower_bound: None,
            gap: None,
            bars: plan.iter().map(|bar| bar.count).sum(),
            patterns: u32::try_from(plan.len()).unwrap_or(u32::MAX),
            plan,
            ..answer.clone()
        }),
        ..group.clone()
    };
    let cost = own.charge().map(|charge| charge.whole - charge.kept_worth);
    let answer = own.answer.as_mut().ok()?;
    answer.net_cost = cost;
    (!answer.plan.is_empty()).then_some(own)
}

/// The sheets of a plan that this job has.
fn sheets_of(group: &SheetCutting, jobs: &[usize], job: usize) -> Option<SheetCutting> {
    let answer = group.answer.as_ref().ok()?;
    let plan: Vec<panels::Sheet> = only(&answer.plan, jobs, job);
    let counts = counted(plan.iter().flat_map(|sheet| sheet.placed.iter().map(|placed| (&placed.part, sheet.count))));
    let parts = group
        .problem
        .parts
        .iter()
        .filter_map(|part| Some(panels::Part { quantity: *counts.get(part.id.as_str())?, ..part.clone() }));
    let problem = panels::Problem { parts: parts.collect(), ..group.problem.clone() };
    let mut own = SheetCutting {
        problem,
        answer: Ok(panels::Answer {
            status: Status::Feasible,
            lower_bound: None,
            gap: None,
            sheets: plan.iter().map(|sheet| sheet.count).sum(),
            plan,
            ..answer.clone()
        }),
        ..group.clone()
    };
    let cost = own.charge().map(|charge| charge.whole - charge.kept_worth);
    let answer = own.answer.as_mut().ok()?;
    answer.net_cost = cost;
    (!answer.plan.is_empty()).then_some(own)
}

fn only<T: Clone>(plan: &[T], jobs: &[usize], job: usize) -> Vec<T> {
    plan.iter().zip(jobs).filter(|(_, has)| **has == job).map(|(piece, _)| piece.clone()).collect()
}

fn counted<'a>(parts: impl Iterator<Item = (&'a String, u32)>) -> BTreeMap<&'a str, u32> {
    let mut counts = BTreeMap::new();
    for (id, count) in parts {
        *counts.entry(id.as_str()).or_default() += count;
    }
    counts
}

impl SharedPlan {
    /// What does not add up, a line each: a plan that its verifier does not pass, stock that is booked for none of the jobs or for two,
    /// length or area that is made or lost. Nothing of a sound one.
    pub fn faults(&self, booked: &[&Cutting]) -> Vec<String> {
        let mut faults = Vec::new();
        for (group, answer) in self.cutting.bars.iter().filter_map(|group| Some((group, group.answer.as_ref().ok()?))) {
            faults.extend(check::bar_plan(&group.problem, answer));
        }
        for (group, answer) in self.cutting.sheets.iter().filter_map(|group| Some((group, group.answer.as_ref().ok()?)))
        {
            faults.extend(check::panel_plan(&group.problem, answer));
        }
        let (whole, mut sum) = (stock_of(&self.cutting), BTreeMap::new());
        for (piece, count) in booked.iter().flat_map(|cutting| stock_of(cutting)) {
            *sum.entry(piece).or_default() += count;
        }
        for piece in whole.keys().chain(sum.keys().filter(|piece| !whole.contains_key(*piece))) {
            let [planned, booked] = [&whole, &sum].map(|all| all.get(piece).copied().unwrap_or_default());
            if planned != booked {
                faults.push(format!("{planned} of {} are in the plan, but {booked} are booked", piece.words()));
            }
        }
        faults
    }
}

/// A piece of stock with all that becomes of it.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Cut {
    key: String,
    /// Tag or item.
    from: String,
    size: [Tenths; 2],
    parts: Vec<String>,
    /// What returns to the rack.
    kept: Vec<[Tenths; 2]>,
}

impl Cut {
    fn words(&self) -> String {
        format!("{} from {} ({} mm) cut to {}", self.key, self.from, self.size[0], self.parts.join(", "))
    }
}

/// Every piece that plans take, and how many of it are cut alike.
fn stock_of(cutting: &Cutting) -> BTreeMap<Cut, u32> {
    let mut all = BTreeMap::new();
    let from = |source: &Source| match source {
        Source::New(code) | Source::Rack(code) => code.clone(),
    };
    for group in &cutting.bars {
        for (bar, stock, source) in group.taken() {
            let kept = bar.kept.then_some([bar.remainder, Tenths(0)]).into_iter().collect();
            let size = [stock.length, Tenths(0)];
            let cut = Cut { key: group.key(), from: from(source), size, parts: bar.parts.clone(), kept };
            *all.entry(cut).or_default() += bar.count;
        }
    }
    for group in &cutting.sheets {
        for (sheet, stock, source) in group.taken() {
            let kept = sheet.remainders.iter().filter(|rest| rest.kept).map(|rest| [rest.length, rest.width]).collect();
            let parts = sheet.placed.iter().map(|placed| placed.part.clone()).collect();
            let cut = Cut { key: group.key(), from: from(source), size: [stock.length, stock.width], parts, kept };
            *all.entry(cut).or_default() += sheet.count;
        }
    }
    all
}
