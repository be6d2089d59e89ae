//! Plans that are being made with the full budget: of revisions, and of several jobs together. A plan belongs to the server, not to the request that asked for it: whoever closes the
//! page finds it again, and anybody who may see it may cancel it. A restart forgets what runs; nothing is issued then.

use std::{
    collections::BTreeMap,
    fmt,
    future::Future,
    ops::ControlFlow,
    sync::{
        Arc, Mutex, MutexGuard, PoisonError,
        atomic::{AtomicBool, Ordering},
    },
    time::{Duration, Instant},
};

use tokio::sync::watch;

use super::{bought_for::Theirs, clock};
use crate::{
    domain::{
        estimate::Estimate,
        nesting::{
            Progress, Stopped,
            several::{CommonPlan, OpenPiece},
        },
        shop::ShopBook,
    },
    storage::{JobId, VariantId, Version},
};

/// The clock that ends a search which its budget does not: far beyond what any plan takes.
const LONGEST_SEARCH: Duration = Duration::from_secs(300);
/// The plans of one kind that run and those that ended lately. `S`: what they are about; `O`: what becomes of them.
#[derive(Debug)]
pub struct Planning<S, O> {
    tasks: Mutex<BTreeMap<i64, Arc<Task<S, O>>>>,
    /// More plans than this at once would slow down everybody's pages.
    most_running: usize,
    /// So many are remembered, so that a page left open can still say what became of its plan.
    most_kept: usize,
}

/// The making of revisions.
pub type Revisions = Planning<JobId, Outcome>;
/// The planning of several jobs together.
pub type Several = Planning<Vec<JobId>, Together>;

/// The making of one plan.
pub struct Task<S, O> {
    pub id: i64,
    pub about: S,
    /// Who asked for it.
    pub by: String,
    /// What is planned, in the order of the plans.
    pub problems: Vec<Planned>,
    started: Instant,
    cancelled: AtomicBool,
    seen: Mutex<Vec<Progress>>,
    /// Combinations of options: worked out, of how many.
    combined: Mutex<Option<(usize, usize)>>,
    outcome: watch::Sender<Option<O>>,
}

/// One cutting problem of a task.
#[derive(Clone, Debug)]
pub struct Planned {
    pub title: String,
    pub parts: u32,
}

/// What becomes of tasks.
pub trait Ends: Clone + Send + Sync + 'static {
    /// Our fault; it is in the log.
    const FAILED: Self;
}

/// The plan of several jobs, with all that it was made from.
#[derive(Debug)]
pub struct Joint {
    pub plan: CommonPlan,
    pub from: Basis,
    /// What was bought for other jobs, and so could not be taken.
    pub left_out: Vec<Theirs>,
}

/// What a plan of several jobs is made from: while all of it stands, so does the plan.
#[derive(Debug, PartialEq)]
pub struct Basis {
    pub jobs: Vec<Kept>,
    pub rack: Vec<OpenPiece>,
    pub shop: Arc<ShopBook>,
}

/// A job as it was kept when it was planned.
#[derive(Debug, PartialEq)]
pub struct Kept {
    pub job: JobId,
    pub need: Version,
    pub variant: (VariantId, Version),
    pub estimate: Arc<Estimate>,
}

/// What became of several jobs.
#[derive(Clone, Debug)]
pub enum Together {
    Planned(Arc<Joint>),
    CutShort(Stopped),
    Failed,
}

/// What became of a revision.
#[derive(Clone, Debug)]
pub enum Outcome {
    Issued(u32),
    /// Cancelled or timed out: not issued.
    CutShort(Stopped),
    /// The plans are made, but something stands in the way of issuing.
    Blocked(Arc<Estimate>),
    /// Somebody changed need, design or offer meanwhile.
    Changed(Arc<Estimate>),
    Refused(Arc<Estimate>, String),
    Failed,
}

impl Ends for Outcome {
    const FAILED: Self = Self::Failed;
}

impl Ends for Together {
    const FAILED: Self = Self::Failed;
}

/// Why no task was started.
#[derive(Debug)]
pub enum Busy<S, O> {
    /// The same is being planned already.
    Same(Arc<Task<S, O>>),
    /// As many as may run do.
    Server,
}

impl<S: PartialEq + Send + Sync + 'static, O: Ends> Planning<S, O> {
    pub fn of(most_running: usize, most_kept: usize) -> Self {
        Self { tasks: Mutex::default(), most_running, most_kept }
    }

    /// Starts what `work` does unless the same, or too much else, is being planned.
    pub fn start<F>(
        &self,
        about: S,
        by: String,
        problems: Vec<Planned>,
        work: impl FnOnce(Arc<Task<S, O>>) -> F,
    ) -> Result<Arc<Task<S, O>>, Busy<S, O>>
    where
        F: Future<Output = O> + Send + 'static,
    {
        let mut tasks = lock(&self.tasks);
        let running: Vec<&Arc<Task<S, O>>> = tasks.values().filter(|task| task.outcome().is_none()).collect();
        if let Some(task) = running.iter().find(|task| task.about == about) {
            return Err(Busy::Same(Arc::clone(task)));
        }
        if running.len() >= self.most_running {
            return Err(Busy::Server);
        }
        // Ids of an earlier run of the server never come again: they are moments.
        let now = clock::now().as_millisecond();
        let id = tasks.last_key_value().map_or(now, |(last, _)| now.max(last.saturating_add(1)));
        let task = Arc::new(Task {
            id,
            about,
            by,
            problems,
            started: Instant::now(),
            cancelled: AtomicBool::new(false),
            seen: Mutex::default(),
            combined: Mutex::default(),
            outcome: watch::Sender::new(None),
        });
        while tasks.len() >= self.most_kept {
            let Some(oldest) = tasks.iter().find(|(_, task)| task.outcome().is_some()).map(|(id, _)| *id) else {
                break;
            };
            tasks.remove(&oldest);
        }
        tasks.insert(id, Arc::clone(&task));
        let (running, ends) = (tokio::spawn(work(Arc::clone(&task))), Arc::clone(&task));
        tokio::spawn(async move {
            let outcome = running.await.unwrap_or_else(|fault| {
                tracing::error!(%fault, "a plan was given up");
                O::FAILED
            });
            ends.outcome.send_replace(Some(outcome));
        });
        Ok(task)
    }

    /// A task, running or ended lately.
    pub fn task(&self, id: i64) -> Option<Arc<Task<S, O>>> {
        lock(&self.tasks).get(&id).cloned()
    }

    /// The task about this that runs now.
    pub fn running(&self, about: &S) -> Option<Arc<Task<S, O>>> {
        lock(&self.tasks).values().find(|task| task.about == *about && task.outcome().is_none()).cloned()
    }
}

impl<S, O: Clone> Task<S, O> {
    /// For the search: notes how far it is, and ends it when somebody cancelled it or the time is over.
    pub fn look(&self, at: Progress) -> ControlFlow<Stopped> {
        let mut seen = lock(&self.seen);
        match seen.last_mut() {
            Some(last) if last.problem == at.problem => *last = at,
            _ => seen.push(at),
        }
        drop(seen);
        match self.cut_short() {
            Some(why) => ControlFlow::Break(why),
            None => ControlFlow::Continue(()),
        }
    }

    /// For the options: notes how many combinations are worked out, and ends it when somebody cancelled it. Its length is bounded by
    /// the work allowed to each.
    pub fn combine(&self, done: usize, of: usize) -> ControlFlow<Stopped> {
        *lock(&self.combined) = Some((done, of));
        if self.cancelled.load(Ordering::Relaxed) {
            ControlFlow::Break(Stopped::Cancelled)
        } else {
            ControlFlow::Continue(())
        }
    }

    /// Combinations of options that are worked out, of how many; none before the first.
    pub fn combined(&self) -> Option<(usize, usize)> {
        *lock(&self.combined)
    }

    /// Why the plan must not be issued, whatever the search found.
    pub fn cut_short(&self) -> Option<Stopped> {
        if self.cancelled.load(Ordering::Relaxed) {
            Some(Stopped::Cancelled)
        } else {
            (self.started.elapsed() >= LONGEST_SEARCH).then_some(Stopped::Time)
        }
    }

    pub fn cancel(&self) {
        self.cancelled.store(true, Ordering::Relaxed);
    }

    /// The last look at every problem that was begun.
    pub fn seen(&self) -> Vec<Progress> {
        lock(&self.seen).clone()
    }

    pub fn outcome(&self) -> Option<O> {
        self.outcome.borrow().clone()
    }

    /// What became of it, if it ends within this time.
    pub async fn ended_within(&self, patience: Duration) -> Option<O> {
        let mut ends = self.outcome.subscribe();
        let ended = tokio::time::timeout(patience, ends.wait_for(Option::is_some)).await;
        ended.ok()?.ok()?.clone()
    }
}

impl<S, O> fmt::Debug for Task<S, O> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Task").field("id", &self.id).finish_non_exhaustive()
    }
}

/// A panic elsewhere leaves these values whole: each is changed in one step.
fn lock<T>(kept: &Mutex<T>) -> MutexGuard<'_, T> {
    kept.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SOON: Duration = Duration::from_secs(10);

    type RevisionTask = Task<JobId, Outcome>;

    async fn endless(task: Arc<RevisionTask>) -> Outcome {
        loop {
            let at = Progress { problem: 0, work: 1, budget: 2, net_cost: None, lower_bound: None };
            if let ControlFlow::Break(why) = task.look(at) {
                return Outcome::CutShort(why);
            }
            tokio::task::yield_now().await;
        }
    }

    #[tokio::test]
    async fn a_task_runs_once_for_each_job_and_ends_when_it_is_cancelled() {
        let planning = Revisions::of(2, 64);
        let start = |job| planning.start(JobId(job), "Ann".into(), Vec::new(), endless);
        let first = start(1).expect("a task");
        assert!(matches!(start(1), Err(Busy::Same(task)) if task.id == first.id));
        let second = start(2).expect("a second task");
        assert!(matches!(start(3), Err(Busy::Server)));
        assert!(first.ended_within(Duration::from_millis(5)).await.is_none());
        first.cancel();
        assert!(matches!(first.ended_within(SOON).await, Some(Outcome::CutShort(Stopped::Cancelled))));
        assert_eq!(first.seen().len(), 1);
        assert!(planning.running(&JobId(1)).is_none() && planning.task(first.id).is_some());
        start(3).expect("room again").cancel();
        second.cancel();
    }

    /// The clock stands still in the test: only the start lies so far back.
    #[tokio::test]
    async fn a_task_that_takes_too_long_is_ended_by_the_clock() {
        let task = |running: Duration| RevisionTask {
            id: 1,
            about: JobId(1),
            by: String::new(),
            problems: Vec::new(),
            started: Instant::now().checked_sub(running).expect("a computer that has run for some minutes"),
            cancelled: AtomicBool::new(false),
            seen: Mutex::default(),
            combined: Mutex::default(),
            outcome: watch::Sender::new(None),
        };
        let soon = task(LONGEST_SEARCH - Duration::from_secs(60));
        assert_eq!(soon.cut_short(), None);
        let late = task(LONGEST_SEARCH);
        assert!(matches!(endless(Arc::new(late)).await, Outcome::CutShort(Stopped::Time)));
    }

    #[tokio::test]
    async fn a_task_that_panics_has_failed() {
        let planning = Revisions::of(2, 64);
        let task = planning.start(JobId(1), String::new(), Vec::new(), |_| async { panic!("a fault of ours") });
        assert!(matches!(task.expect("a task").ended_within(SOON).await, Some(Outcome::Failed)));
    }
}
