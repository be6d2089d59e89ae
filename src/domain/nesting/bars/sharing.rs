//! Which of the parts that are charged alike goes on which bar: exchanged where more mitre cuts are shared for it.
//!
//! The patterns stay as they are, so net cost and proof do; an exchange that would make one more set-up is not made.

use std::collections::HashMap;

use super::{mitre::Layer, model::Model, report::Cut};

/// Exchanges that are tried.
const MOST_TRIES: u32 = 20_000;

pub(super) fn improve(model: &Model, layer: &mut Layer<'_>, cuts: &mut [Cut<'_>]) {
    let mut setups: HashMap<(usize, Vec<usize>), u32> = HashMap::new();
    for cut in cuts.iter() {
        *setups.entry((cut.piece, cut.parts.clone())).or_default() += 1;
    }
    let mut tries = 0;
    for lines in model.types.iter().map(|t| &t.parts) {
        let forms = lines.iter().map(|&(part, _)| layer.form(part));
        if lines.len() < 2 || !forms.clone().any(|form| form != layer.form(lines[0].0)) {
            continue;
        }
        let ours = |part: usize| lines.iter().any(|&(line, _)| line == part);
        let bars: Vec<usize> = (0..cuts.len()).filter(|&bar| cuts[bar].parts.iter().any(|&part| ours(part))).collect();
        for (i, &one) in bars.iter().enumerate() {
            for &other in &bars[i + 1..] {
                if tries >= MOST_TRIES {
                    return;
                }
                if cuts[one].parts == cuts[other].parts {
                    continue;
                }
                tries += exchange(layer, cuts, (one, other), &ours, &mut setups);
            }
        }
    }
}

/// Exchanges one pair of parts between two bars where that gains; returns how many were tried.
fn exchange(
    layer: &mut Layer<'_>,
    cuts: &mut [Cut<'_>],
    (one, other): (usize, usize),
    ours: &impl Fn(usize) -> bool,
    setups: &mut HashMap<(usize, Vec<usize>), u32>,
) -> u32 {
    let now = layer.gain(&cuts[one].parts) + layer.gain(&cuts[other].parts);
    let mut tries = 1;
    let first_of = |parts: &[usize], at: usize| ours(parts[at]) && parts[..at].last() != Some(&parts[at]);
    for i in (0..cuts[one].parts.len()).filter(|&i| first_of(&cuts[one].parts, i)).collect::<Vec<_>>() {
        for j in (0..cuts[other].parts.len()).filter(|&j| first_of(&cuts[other].parts, j)).collect::<Vec<_>>() {
            let (mut a, mut b) = (cuts[one].parts.clone(), cuts[other].parts.clone());
            if layer.form(a[i]) == layer.form(b[j]) {
                continue;
            }
            std::mem::swap(&mut a[i], &mut b[j]);
            tries += 1;
            if layer.gain(&a) + layer.gain(&b) <= now {
                continue;
            }
            // Within a length the parts stay in the order of the list, so that equal bars are seen to be equal.
            for parts in [&mut a, &mut b] {
                let at: Vec<usize> = (0..parts.len()).filter(|&at| ours(parts[at])).collect();
                if let (Some(&from), Some(&to)) = (at.first(), at.last()) {
                    parts[from..=to].sort_unstable();
                }
            }
            let change = [(one, -1), (other, -1)].map(|(bar, by)| ((cuts[bar].piece, cuts[bar].parts.clone()), by));
            let made = [((cuts[one].piece, a.clone()), 1), ((cuts[other].piece, b.clone()), 1)];
            let before = setups.len();
            let mut after = setups.clone();
            for (key, by) in change.into_iter().chain(made) {
                let count = after.entry(key.clone()).or_default();
                *count = count.saturating_add_signed(by);
                if *count == 0 {
                    after.remove(&key);
                }
            }
            if after.len() <= before {
                *setups = after;
                (cuts[one].parts, cuts[other].parts) = (a, b);
                return tries;
            }
        }
    }
    tries
}
