//! What a job's pages work with: the job, its chosen design, the shop's books of today, and the estimate.

use std::{collections::BTreeSet, sync::Arc};

use jiff::civil::Date;

use super::{Head, Tab, stage_mark};
use crate::{
    domain::{
        estimate::{Estimate, estimate},
        measure::Mass,
        nesting::{Budget, unwatched},
        shop::{Goods, Rack, ShopBook},
        trailer::{Spec, SpecFaults},
    },
    storage::{Headline, Job, JobId, Variant},
    web::{AppState, Error, Result, clock, show::Show},
};

/// One job with all that its pages need.
#[derive(Debug)]
pub struct Desk {
    pub job: Job,
    /// The chosen design with its offer.
    pub variant: Variant,
    pub shop: Arc<ShopBook>,
    pub show: Show,
    pub today: Date,
}

/// What became of working a spec out: faults are for the page, not for the log.
pub type Worked = Result<Arc<Estimate>, SpecFaults>;

impl Desk {
    /// The desk of a job; not found where there is none.
    pub async fn open(state: &AppState, id: JobId) -> Result<Self> {
        let (job, variant) = kept(state, id).await?.ok_or(Error::NotFound("There is no such job."))?;
        let today = clock::today();
        let shop = state.shop(today).await?;
        let show = Show::of(&shop);
        Ok(Self { job, variant, shop, show, today })
    }

    /// Need, design and offer as they are kept.
    pub fn spec(&self) -> Spec {
        spec_of(&self.job, &self.variant)
    }

    pub fn head(&self, tab: Tab) -> Head {
        let stage = &self.job.stage;
        Head {
            job: self.job.id,
            number: self.job.number.to_string(),
            title: self.job.title.clone(),
            customer: self.job.customer.contact.name.clone(),
            stage: stage.kind().label(),
            stage_kind: stage_mark(stage.kind()),
            note: format!("since {}", self.show.day(clock::day_of(stage.since()))),
            tab,
        }
    }

    /// Sections that the rate book sells, each once.
    pub fn sections(&self) -> Vec<String> {
        self.goods(|goods| match goods {
            Goods::Bar { section, .. } => Some(section.to_string()),
            _ => None,
        })
    }

    /// Grades that the rate book sells, each once.
    pub fn grades(&self) -> Vec<String> {
        self.goods(|goods| match goods {
            Goods::Bar { grade, .. } => Some(grade.to_string()),
            _ => None,
        })
    }

    fn goods(&self, text: impl Fn(&Goods) -> Option<String>) -> Vec<String> {
        let items = self.shop.rates.items.iter().filter(|item| !item.retired);
        items.filter_map(|item| text(&item.goods)).collect::<BTreeSet<_>>().into_iter().collect()
    }

    /// The estimate of the kept spec, as fast as while typing.
    pub async fn work_out(&self) -> Result<Worked> {
        work_out(self.shop.clone(), self.spec(), Budget::preview()).await
    }
}

/// Need, design and offer as they are kept.
pub fn spec_of(job: &Job, variant: &Variant) -> Spec {
    Spec { need: job.need.clone(), design: variant.design.clone(), offer: variant.offer.clone() }
}

/// A job with its chosen design.
pub async fn kept(state: &AppState, id: JobId) -> Result<Option<(Job, Variant)>> {
    let Some(job) = state.store.job(id).await? else { return Ok(None) };
    let variants = state.store.variants(id).await?;
    Ok(variants.into_iter().find(|variant| variant.chosen).map(|variant| (job, variant)))
}

/// Works a spec out on a thread that may compute.
pub async fn work_out(shop: Arc<ShopBook>, spec: Spec, budget: Budget) -> Result<Worked> {
    let work = move || estimate(&spec, &shop, &Rack::default(), budget, &mut unwatched).map(Arc::new);
    tokio::task::spawn_blocking(work).await.map_err(Error::internal)
}

/// The figures that lists show of a spec; none while it cannot be built or has nothing to carry.
pub async fn headline(state: &AppState, spec: Spec) -> Result<Option<Headline>> {
    let worked = work_out(state.shop(clock::today()).await?, spec, Budget::preview()).await?;
    Ok(worked.ok().as_deref().and_then(headline_of))
}

/// The figures that lists show of an estimate.
pub fn headline_of(estimate: &Estimate) -> Option<Headline> {
    let count = |checks: usize| u32::try_from(checks).unwrap_or(u32::MAX);
    if estimate.spec.need.loads.is_empty() {
        return None;
    }
    Some(Headline {
        price: estimate.build_up.total(),
        empty_mass: Mass::from_kg(estimate.weights.empty.mass_kg),
        failing_checks: count(estimate.headline().failing_checks),
        unanswered_checks: count(estimate.unanswered().count()),
        oldest_price: estimate.build_up.oldest_material_price(),
    })
}

#[cfg(test)]
impl Desk {
    /// A job of the demo shop that carries one load.
    pub fn sample() -> Self {
        use crate::{
            domain::{
                quote::{JobNumber, Stage},
                trailer::Load,
            },
            storage::{Contact, Customer, CustomerId, VariantId, Version},
        };
        let at = jiff::Timestamp::UNIX_EPOCH;
        let contact = Contact { name: "Ann <b>".into(), ..Contact::default() };
        let mut spec = Spec::default();
        spec.need.loads = vec![Load { name: "hives <b>".into(), ..Load::default() }];
        let job = Job {
            id: JobId(7),
            number: JobNumber { year: 2026, sequence: 7 },
            title: "Trailer for <i>four hives</i>".into(),
            customer: Customer { id: CustomerId(3), contact, version: Version(1), erased: false },
            stage: Stage::Enquiry { enquired_at: at },
            need: spec.need,
            version: Version(1),
            cloned_from: None,
            created_at: at,
            updated_at: at,
        };
        let variant = Variant {
            id: VariantId(5),
            job: JobId(7),
            name: "design".into(),
            chosen: true,
            design: spec.design,
            offer: spec.offer,
            version: Version(1),
            changed_at: at,
            changed_by: "Ann <b>".into(),
            headline: None,
        };
        let shop = Arc::new(ShopBook::demo());
        Self { job, variant, show: Show::of(&shop), today: shop.rates.day, shop }
    }

    pub fn worked_now(&self) -> Estimate {
        estimate(&self.spec(), &self.shop, &Rack::default(), Budget::preview(), &mut unwatched).expect("an estimate")
    }
}
