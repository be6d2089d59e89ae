//! How far an accepted trailer is, for its customer: the stages of its job.

use jiff::Timestamp;

use crate::{documents::customer::Voice, domain::quote::Stage};

/// A stage in plain words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    pub text: String,
    /// Since when, or that it is still to come.
    pub when: String,
    pub is_now: bool,
}

/// Every stage from the acceptance on; none of a job that is not accepted.
pub fn steps(stage: &Stage, voice: &Voice) -> Vec<Step> {
    let reached: [Option<Timestamp>; 3] = match *stage {
        Stage::Accepted { accepted_at, .. } => [Some(accepted_at), None, None],
        Stage::InTheShop { accepted_at, started_at, .. } => [Some(accepted_at), Some(started_at), None],
        Stage::HandedOver { accepted_at, started_at, handed_over_at, .. } => {
            [Some(accepted_at), Some(started_at), Some(handed_over_at)]
        }
        _ => return Vec::new(),
    };
    let now = reached.iter().rposition(Option::is_some);
    let texts = ["progress-accepted", "progress-started", "progress-handed-over"];
    let steps = texts.into_iter().zip(reached).enumerate().map(|(nth, (text, at))| Step {
        text: voice.say(text).text(),
        when: match at {
            Some(at) => voice.say("progress-since").with("day", voice.day_of(at)).text(),
            None => voice.say("progress-next").text(),
        },
        is_now: Some(nth) == now,
    });
    steps.collect()
}
