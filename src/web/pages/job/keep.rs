//! Keeping a changed part of a job's spec, with the figures that lists show of it. Two people may change different parts at
//! the same time; only where both changed the same part are they asked.

use super::desk::{self, Desk, headline_of};
use crate::{
    domain::trailer::{Design, Need, Offer, Spec},
    storage::{By, Conflict, Headline, Save, VariantId, Version},
    web::{AppState, Result},
};

/// Keeps the need; every design's figures follow from it.
pub async fn need(state: &AppState, desk: &Desk, read: Version, need: &Need, by: By<'_>) -> Result<Save<Need>> {
    let mut headlines: Vec<(VariantId, Option<Headline>)> = Vec::new();
    for variant in state.store.variants(desk.job.id).await? {
        let spec = Spec { need: need.clone(), design: variant.design, offer: variant.offer };
        headlines.push((variant.id, figures(desk, spec).await?));
    }
    Ok(state.store.save_need(desk.job.id, read, need, &headlines, by).await?)
}

/// Keeps the design. `opened` is the design that stood there when the form was opened: where it still stands, a change of
/// the offer in between is no conflict.
pub async fn design(
    state: &AppState,
    desk: &Desk,
    read: Version,
    design: &Design,
    opened: Option<&Design>,
    by: By<'_>,
) -> Result<Save<Design>> {
    let (mut read, mut offer) = (read, desk.variant.offer.clone());
    loop {
        match put(state, desk, read, (design, &offer), by).await? {
            Save::Conflict(found) if opened == Some(&found.theirs.0) => {
                (read, offer) = (found.version, found.theirs.1);
            }
            other => return Ok(of_part(other, |(design, _)| design)),
        }
    }
}

/// Keeps the offer; as for [`design`]. Overruled values and written answers have pages of their own: what stands of them
/// now stays.
pub async fn offer(
    state: &AppState,
    desk: &Desk,
    read: Version,
    offer: &Offer,
    opened: Option<&Offer>,
    by: By<'_>,
) -> Result<Save<Offer>> {
    let (mut read, mut design, mut offer) = (read, desk.variant.design.clone(), offer.clone());
    loop {
        match put(state, desk, read, (&design, &offer), by).await? {
            Save::Conflict(found) if opened.is_some_and(|opened| typed(opened) == typed(&found.theirs.1)) => {
                let (their_design, theirs) = found.theirs;
                (read, design) = (found.version, their_design);
                offer = Offer { overruled: theirs.overruled, answers: theirs.answers, ..offer };
            }
            other => return Ok(of_part(other, |(_, offer)| offer)),
        }
    }
}

/// Keeps design and offer as they were worked out from what stands there.
pub async fn design_and_offer(state: &AppState, desk: &Desk, spec: &Spec, by: By<'_>) -> Result<Save<(Design, Offer)>> {
    put(state, desk, desk.variant.version, (&spec.design, &spec.offer), by).await
}

/// The part of an offer that its form shows.
fn typed(offer: &Offer) -> Offer {
    Offer { overruled: Default::default(), answers: Default::default(), ..offer.clone() }
}

/// Changes one entry of the offer (an overruled value, an answer) as it stands now; `change` says whether it still may.
pub async fn amend<R>(
    state: &AppState,
    id: crate::storage::JobId,
    by: By<'_>,
    change: impl Fn(&mut Offer) -> Result<(), R>,
) -> Result<Result<(), R>> {
    loop {
        let desk = Desk::open(state, id).await?;
        let mut offer = desk.variant.offer.clone();
        if let Err(refused) = change(&mut offer) {
            return Ok(Err(refused));
        }
        match put(state, &desk, desk.variant.version, (&desk.variant.design, &offer), by).await? {
            // Somebody else saved between our reading and our writing: look again.
            Save::Conflict(_) => {}
            Save::Saved(_) | Save::Missing => return Ok(Ok(())),
        }
    }
}

async fn put(
    state: &AppState,
    desk: &Desk,
    read: Version,
    (design, offer): (&Design, &Offer),
    by: By<'_>,
) -> Result<Save<(Design, Offer)>> {
    let spec = Spec { need: desk.job.need.clone(), design: design.clone(), offer: offer.clone() };
    let headline = figures(desk, spec).await?;
    Ok(state.store.save_variant(desk.variant.id, read, (design, offer), headline.as_ref(), by).await?)
}

async fn figures(desk: &Desk, spec: Spec) -> Result<Option<Headline>> {
    let worked: desk::Worked = desk.work_out_as(spec).await?;
    Ok(worked.ok().as_deref().and_then(headline_of))
}

fn of_part<T, P>(save: Save<T>, part: impl FnOnce(T) -> P) -> Save<P> {
    match save {
        Save::Saved(version) => Save::Saved(version),
        Save::Missing => Save::Missing,
        Save::Conflict(found) => {
            let Conflict { theirs, version, who, when } = *found;
            Save::Conflict(Box::new(Conflict { theirs: part(theirs), version, who, when }))
        }
    }
}
