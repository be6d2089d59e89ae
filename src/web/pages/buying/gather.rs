//! What the purchase list is made of, from the store: jobs with the plans that they are built by, the rack, the rate book with
//! everybody who sells.

use std::{
    collections::{BTreeMap, HashMap},
    sync::Arc,
};

use jiff::civil::Date;

use crate::{
    domain::{
        buying::{
            Account, Choice, Had, Job, Line, Lying, Need, Placing, PurchaseList, Sold, account, needs, purchase_list,
            rest,
        },
        estimate::Estimate,
        pricing::dates::{after_working_days, comes_too_late},
        quote::StageKind,
        rack::State as Where,
        shop::{Goods, Policy, ShopBook},
    },
    storage::{JobId, JobQuery, JobRow, JobSort, KeptItem, OrderedSoFar, OrdersSeen, Piece, PlacedOrder},
    web::{
        AppState, Error, Result,
        bought_for::stage,
        clock,
        form::Form,
        pages::job::{desk, revision::thawed},
        show::Show,
    },
};

/// More jobs at once than a small shop builds in a year.
const MOST_JOBS: u32 = 200;

/// A job that could be bought for.
pub struct Row {
    pub job: JobId,
    pub number: String,
    pub title: String,
    pub stage: &'static str,
}

/// A job that is bought for.
pub struct Bought {
    pub job: JobId,
    pub number: String,
    /// By which plan, in words.
    pub by: String,
    /// The day on which work is to begin, and so its goods are needed.
    pub here_by: Option<Date>,
    /// The day for which it was promised.
    pub promised: Option<Date>,
    /// Tags of what it takes from the rack.
    pub from_rack: Vec<String>,
    estimate: Arc<Estimate>,
    is_released: bool,
}

pub struct Gathered {
    pub today: Date,
    pub show: Show,
    pub rows: Vec<Row>,
    /// In the order in which their goods are needed.
    pub bought: Vec<Bought>,
    /// Jobs that were asked for and cannot be bought for.
    pub unknown: Vec<String>,
    pub list: PurchaseList,
    /// What is not on the list because it was ordered for these jobs, or because earlier orders left it over.
    pub had: Vec<Had>,
    /// What of it is laid aside for them with the next order.
    pub laid_aside: Vec<Need>,
    /// Orders of which something is still to come.
    pub awaited: Vec<PlacedOrder>,
    /// The orders that it counts with.
    pub seen: OrdersSeen,
    pub shop: Arc<ShopBook>,
}

impl Gathered {
    /// The order to a supplier as it would be placed now; none where nothing is bought of it.
    pub fn placing(&self, supplier: &str) -> Option<Placing<JobId>> {
        let order = self.list.orders.iter().find(|order| order.supplier == supplier)?;
        let jobs: Vec<JobId> = self.bought.iter().map(|job| job.job).collect();
        Some(Placing::of(order, &self.laid_aside, &jobs))
    }

    /// Whether a line that is ordered today comes too late for a job.
    pub fn is_late(&self, line: &Line) -> bool {
        let workdays = self.shop.policy.workdays;
        line.here_by.is_some_and(|needed| comes_too_late(self.today, line.offer.lead_days, needed, workdays))
    }
}

/// The list for the jobs that the form ticks; for all where it was never sent.
pub async fn gather(state: &AppState, form: &Form) -> Result<Gathered> {
    let today = clock::today();
    let shop = state.shop(today).await?;
    // Before all else: what is ordered after this is seen by whoever places an order from it.
    let OrderedSoFar { seen, lines, jobs } = state.store.ordered_so_far().await?;
    let query = JobQuery {
        search: String::new(),
        stages: vec![StageKind::Accepted, StageKind::InTheShop],
        asked: false,
        sort: JobSort::Number,
        offset: 0,
        limit: MOST_JOBS,
    };
    let found = state.store.jobs(&query).await?.rows;
    let is_ticked = |job: &JobRow| !form.has("chosen") || form.is_chosen("job", &job.id.to_string());
    let known = |id: &str| found.iter().any(|job| job.id.to_string() == id);
    let unknown: Vec<String> = form.values("job").filter(|id| !known(id)).map(str::to_owned).collect();
    let mut bought = Vec::new();
    for job in found.iter().filter(|job| is_ticked(job)) {
        bought.extend(built_by(state, job, &shop.policy).await?);
    }
    bought.sort_by(|one, other| {
        let key = |of: &Bought| (of.here_by.is_none(), of.here_by, of.number.clone());
        key(one).cmp(&key(other))
    });
    let account = account(&lines, |job, of| {
        let stands = bought.iter().find(|bought| bought.job == job && bought.is_released);
        stage(jobs.get(&job).map(|job| job.stage), of, stands.map(|bought| &*bought.estimate))
    });
    let mut lying: Vec<Lying> = state
        .store
        .rack_pieces()
        .await?
        .into_iter()
        .filter(|piece| !account.spoken_for.contains_key(&piece.on_rack.tag))
        .filter_map(|piece| lying(piece, &bought))
        .collect();
    for (at, job) in bought.iter().enumerate().filter(|(_, job)| job.is_released) {
        let planned = job.estimate.cutting.rack_tags();
        let beside = state.store.cut_for(job.job).await?;
        let beside = beside.into_iter().filter(|piece| !planned.contains(&piece.on_rack.tag.as_str()));
        lying.extend(beside.map(|piece| Lying { piece: piece.on_rack, of: Some(at) }));
    }
    let awaited = state.store.awaited_orders().await?;
    let (items, supplies) = (state.store.items(today, None).await?, state.store.supplies(today).await?);
    let suppliers: BTreeMap<String, String> = form
        .pairs()
        .filter_map(|(name, supplier)| Some((name.strip_prefix("from.")?.to_owned(), supplier.to_owned())))
        .filter(|(_, supplier)| !supplier.is_empty())
        .collect();
    let with_consumables = form.has("consumables");
    let show = Show::of(&shop);
    let book = shop.clone();
    let work = move || {
        let jobs: Vec<Job<'_>> = bought
            .iter()
            .map(|job| Job { estimate: &job.estimate, is_released: job.is_released, here_by: job.here_by })
            .collect();
        let mut needs = needs(&jobs, lying, &shop);
        let by_code: HashMap<&str, &KeptItem> = items.iter().map(|kept| (kept.item.code.as_str(), kept)).collect();
        let is_consumable =
            |code: &str| by_code.get(code).is_some_and(|kept| matches!(kept.item.goods, Goods::Consumable { .. }));
        needs.all.retain(|need| with_consumables || !is_consumable(&need.code));
        let sold = |code: &str| {
            let kept = by_code.get(code)?;
            let others = supplies.get(code).map(Vec::as_slice).unwrap_or_default();
            Some(Sold { item: &kept.item, article: &kept.article, priced_by: &kept.priced_by, others })
        };
        let choice = Choice { suppliers: &suppliers, workdays: shop.policy.workdays, decimals: shop.currency.decimals };
        let here_by: Vec<Option<Date>> = jobs.iter().map(|job| job.here_by).collect();
        let ids: Vec<JobId> = bought.iter().map(|job| job.job).collect();
        for need in &mut needs.all {
            if let Some(kept) = by_code.get(need.code.as_str()) {
                need.name.clone_from(&kept.item.name);
            }
        }
        let Account { all, .. } = account;
        let rest = rest(&needs.all, &ids, &all);
        let list = purchase_list(&rest.to_buy, &here_by, sold, choice);
        for (job, tags) in bought.iter_mut().zip(needs.from_rack) {
            job.from_rack = tags;
        }
        let had = rest.had();
        (bought, list, had, rest.laid_aside)
    };
    let (bought, list, had, laid_aside) = tokio::task::spawn_blocking(work).await.map_err(Error::internal)?;
    let rows = found.iter().map(Row::of).collect();
    Ok(Gathered { today, show, rows, bought, unknown, list, had, laid_aside, awaited, seen, shop: book })
}

/// A piece that is free or reserved for one of the jobs.
fn lying(piece: Piece, bought: &[Bought]) -> Option<Lying> {
    let of = match piece.state {
        Where::Free => None,
        Where::Reserved(job) => Some(bought.iter().position(|bought| bought.job == job)?),
        Where::Gone => return None,
    };
    Some(Lying { piece: piece.on_rack, of })
}

/// The plan that a job is built by: what was released; else what the customer accepted; or the job as it stands, where that is
/// no longer the same. None of a job without any.
async fn built_by(state: &AppState, row: &JobRow, policy: &Policy) -> Result<Option<Bought>> {
    let Some((job, variant)) = desk::kept(state, row.id).await? else { return Ok(None) };
    let accepted_on = job.stage.accepted_at().map(clock::day_of);
    let quote = match state.store.revisions(row.id).await?.first() {
        Some(head) => state.store.revision(head.id).await?.map(|found| Ok::<_, Error>((head.number, thawed(&found)?))),
        None => None,
    };
    let quote = quote.transpose()?;
    // What was promised stays promised, whatever was changed since.
    let days = quote.as_ref().map(|(_, quote)| (quote.estimate.build_up.days, &quote.shop.policy));
    let promised = accepted_on.zip(days).map(|(day, (days, policy))| days.collection(day, policy));
    let release = state.store.job_release(row.id).await?;
    let (estimate, by, is_released) = if let Some(release) = release {
        (Arc::new(release.estimate), format!("plan released on {}", clock::moment(release.at)), true)
    } else {
        let spec = desk::spec_of(&job, &variant);
        match quote.as_ref().filter(|(_, quote)| is_of(quote, &spec)) {
            Some((number, quote)) => (
                Arc::new(quote.estimate.clone()),
                format!("plan of revision {number}"),
                job.stage.kind() == StageKind::InTheShop,
            ),
            None => {
                let shop = state.shop(clock::today()).await?;
                // Of new stock: what lies on the rack is found for all jobs together.
                let worked = desk::work_out(shop, Arc::default(), spec).await?;
                match (worked, &quote) {
                    (Ok(estimate), Some((number, _))) => {
                        (estimate, format!("the job as it stands, which is no longer revision {number}"), false)
                    }
                    (Ok(estimate), None) => (estimate, "the job as it stands".to_owned(), false),
                    (Err(_), Some((number, quote))) => (
                        Arc::new(quote.estimate.clone()),
                        format!("plan of revision {number}: the job as it stands cannot be built"),
                        false,
                    ),
                    (Err(_), None) => return Ok(None),
                }
            }
        }
    };
    let (taken, policy) = days.unwrap_or((estimate.build_up.days, policy));
    let here_by = accepted_on.map(|day| after_working_days(day, taken.before, policy.workdays));
    let number = row.summary.number.to_string();
    Ok(Some(Bought { job: row.id, number, by, here_by, promised, from_rack: Vec::new(), estimate, is_released }))
}

fn is_of(quote: &crate::domain::issued::IssuedQuote, spec: &crate::domain::trailer::Spec) -> bool {
    (&quote.estimate.spec.need, &quote.estimate.spec.design) == (&spec.need, &spec.design)
}

impl Row {
    fn of(row: &JobRow) -> Self {
        Self {
            job: row.id,
            number: row.summary.number.to_string(),
            title: row.summary.title.clone(),
            stage: row.summary.stage.kind().label(),
        }
    }
}

#[cfg(test)]
impl Gathered {
    pub fn sample() -> Self {
        use crate::domain::{
            buying::{Need, Rest},
            shop::{PricedBy, RateUnit, ShopBook},
        };
        let desk = desk::Desk::sample();
        let estimate = Arc::new(desk.worked_now());
        let job = Job { estimate: &estimate, is_released: false, here_by: Some(desk.today) };
        let mut all = needs(&[job], Vec::new(), &desk.shop).all;
        let unit = Some(RateUnit::Each);
        let one = rust_decimal::Decimal::ONE;
        all.push(Need { job: 0, code: String::new(), name: "Ann <b>".into(), stock: None, quantity: one, unit });
        let shop = ShopBook::demo();
        let sold = |item| Sold { item, article: "<b>", priced_by: &PricedBy::First, others: &[] };
        let choice = Choice { suppliers: &BTreeMap::new(), workdays: shop.policy.workdays, decimals: 2 };
        let list = purchase_list(&all, &[Some(desk.today)], |code| shop.rates.item(code).map(sold), choice);
        let bought = Bought {
            job: desk.job.id,
            number: "2026-007".into(),
            by: "plan of revision 1".into(),
            here_by: Some(desk.today),
            promised: Some(desk.today),
            from_rack: vec!["R-0001".into()],
            estimate,
            is_released: false,
        };
        let row = Row { job: desk.job.id, number: "2026-007".into(), title: "Ann <b>".into(), stage: "accepted" };
        let rest = Rest { ordered: all.clone(), to_come: all.clone(), ..Rest::default() };
        let (had, laid_aside) = (rest.had(), all);
        let shop = Arc::new(shop);
        Self {
            today: desk.today,
            show: desk.show,
            rows: vec![row],
            bought: vec![bought],
            unknown: Vec::new(),
            list,
            had,
            laid_aside,
            awaited: vec![super::orders::order_sample(desk.today)],
            seen: OrdersSeen::default(),
            shop,
        }
    }
}
