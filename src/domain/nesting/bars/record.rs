//! Writes down the proof of a search while it runs, where somebody asked for it.

use super::{
    model::Model,
    rows::{Limit, Row, Rows},
};
use crate::nesting::proof::bars::{self as proof, Node, Recorder};

/// The record, or nothing. Places are the record's own; [`Log::NOWHERE`] is not written to.
#[derive(Default)]
pub(super) struct Log(Option<Recorder>);

impl Log {
    /// Of what belongs to no proof: dives, and searches of a part of the columns.
    pub const NOWHERE: usize = usize::MAX;
    pub const ROOT: usize = Recorder::ROOT;

    pub fn of(recorder: Option<Recorder>) -> Self {
        Self(recorder)
    }

    pub fn into_tree(self) -> Option<proof::Tree> {
        self.0.map(Recorder::into_tree)
    }

    /// These prices of the types and of the rows behind them hold from here on; returns where the case goes on.
    pub fn priced(&mut self, place: usize, model: &Model, rows: &Rows, prices: &[i64], list: bool) -> usize {
        let Some(recorder) = self.0.as_mut().filter(|_| place != Self::NOWHERE && !prices.is_empty()) else {
            return place;
        };
        let (parts, behind) = prices.split_at(model.types.len());
        // Whoever rechecks takes the limits on stock from the problem.
        let stock = model.kinds.iter().filter(|kind| kind.limited).count();
        let (mut limits, mut cuts) = (Vec::new(), Vec::new());
        for (&price, row) in behind.iter().zip(&rows.rows).skip(stock) {
            match row {
                Row::Limit(limit) => limits.push(if limit.at_least { price } else { -price }),
                Row::Cut(cut) if price != 0 => {
                    let parts = cut.parts.iter().enumerate().filter(|(_, u)| **u != 0);
                    let cut = proof::Cut {
                        parts: parts.map(|(t, &u)| (t as u32, u as u32)).collect(),
                        denominator: cut.denominator as u32,
                    };
                    cuts.push((recorder.cut(cut), -price));
                }
                Row::Cut(_) => {}
            }
        }
        recorder.priced(place, proof::Prices { parts: parts.to_vec(), limits, cuts, list, then: None })
    }

    /// The ways that the prices at this place allow were listed.
    pub fn listed(&mut self, place: usize) {
        if let Some(recorder) = &mut self.0 {
            recorder.listed(place);
        }
    }

    /// Splits a case by limits that speak of the same bars; the places of the two, in the order of the limits.
    pub fn split(&mut self, place: usize, limits: &[Limit; 2]) -> [usize; 2] {
        let Some(recorder) = self.0.as_mut().filter(|_| place != Self::NOWHERE) else { return [place; 2] };
        let most = limits.iter().find(|limit| !limit.at_least).unwrap_or(&limits[0]);
        let [at_most, at_least] = recorder.split(
            place,
            proof::Split {
                kinds: most.kinds.iter().map(|&kind| kind as u32).collect(),
                kept: most.kept,
                holding: most.holding.iter().map(|&(t, n)| (u32::from(t), n)).collect(),
                count: most.count as u32,
                ..proof::Split::default()
            },
        );
        limits.each_ref().map(|limit| if limit.at_least { at_least } else { at_most })
    }

    /// The whole problem closed by prices of the types alone.
    pub fn close(&mut self, parts: Vec<i64>) {
        if let Some(recorder) = &mut self.0 {
            recorder.close(Self::ROOT, Node::Prices(proof::Prices { parts, ..proof::Prices::default() }));
        }
    }
}
