//! Pages through the whole site (gate, headers, handler, store, template), on a file with the demo shop.
//! Run with `cargo bench --bench page`. The slowest of 400 stands above the 99th percentile, which is promised to be under 25 ms.

use std::{path::Path, sync::OnceLock};

use axum::{
    Router,
    body::{Body, to_bytes},
    http::{Request, StatusCode, header},
};
use divan::Bencher;
use hitchwright::{
    demo,
    domain::people::Role,
    storage::{By, JobId, JobQuery, JobSort, Store},
    web::{
        self, AppState, clock,
        form::Form,
        forms::spec::{self, Part},
        pages::job::desk::Desk,
        session,
    },
};
use tokio::runtime::{Builder, Runtime};
use tower::ServiceExt;

static SITE: OnceLock<Site> = OnceLock::new();

fn main() {
    let folder = tempfile::tempdir().expect("a folder");
    SITE.get_or_init(|| Site::open(&folder.path().join("shop.sqlite")));
    divan::main();
}

/// The site with the demo.
struct Site {
    runtime: Runtime,
    router: Router,
    state: AppState,
    job: JobId,
    /// Of the demo's owner.
    cookie: String,
    /// The path of a customer's copy.
    copy: String,
    /// The whole form of the trailer page, as a browser sends it.
    design: String,
}

impl Site {
    fn open(file: &Path) -> Self {
        let runtime = Builder::new_multi_thread().enable_all().build().expect("a runtime");
        let (state, job, cookie, copy, design) = runtime.block_on(async {
            let store = Store::open(file).await.expect("a store").store;
            demo::fill(&store, clock::now(), clock::today()).await.expect("the demo");
            let (job, copy) = quoted(&store).await;
            let state = AppState::new(store, None, Vec::new());
            let desk = Desk::open(&state, job).await.expect("the job");
            let design = spec::fill(Part::Design, &desk.spec(), desk.show.hand());
            let cookie = owners_cookie(&state.store).await;
            (state, job, cookie, copy, encoded(&design))
        });
        Self { runtime, router: web::router(state.clone()), state, job, cookie, copy, design }
    }

    fn ask(&self, request: Request<Body>) -> usize {
        self.runtime.block_on(async {
            let answer = self.router.clone().oneshot(request).await.expect("an answer");
            assert_eq!(answer.status(), StatusCode::OK);
            to_bytes(answer.into_body(), 32 << 20).await.expect("a whole body").len()
        })
    }

    fn get(&self, path: &str) -> usize {
        let request = Request::get(path).header(header::HOST, "127.0.0.1:4717").header(header::COOKIE, &self.cookie);
        self.ask(request.body(Body::empty()).expect("a request"))
    }
}

fn site() -> &'static Site {
    SITE.get().expect("opened before the benchmarks")
}

fn encoded(form: &Form) -> String {
    let percent = |text: &str| text.bytes().map(|byte| format!("%{byte:02X}")).collect::<String>();
    form.pairs().map(|(name, value)| format!("{}={}", percent(name), percent(value))).collect::<Vec<_>>().join("&")
}

/// A browser in which the demo's owner is signed in.
async fn owners_cookie(store: &Store) -> String {
    let people = store.people().await.expect("the people");
    let owner = people.iter().find(|person| person.role == Role::Owner).expect("an owner");
    let now = clock::now();
    let until = now + jiff::Span::new().hours(12);
    session::cookie_header(&store.start_session(owner.id, now, until).await.expect("a session"))
}

/// A job with an issued quote, and a link to it.
async fn quoted(store: &Store) -> (JobId, String) {
    let all = JobQuery {
        search: String::new(),
        stages: Vec::new(),
        asked: false,
        sort: JobSort::Updated,
        offset: 0,
        limit: 100,
    };
    for row in store.jobs(&all).await.expect("the jobs").rows {
        let Some(head) = store.revisions(row.id).await.expect("its revisions").pop() else { continue };
        let now = clock::now();
        let until = now + jiff::Span::new().hours(24);
        let by = By { who: "a benchmark", at: now };
        let (_, token) = store.make_link(head.id, until, by).await.expect("a link").expect("a revision");
        return (row.id, format!("/q/{token}"));
    }
    panic!("the demo has no issued quote");
}

fn page(bencher: Bencher, path: &str) {
    bencher.bench_local(|| site().get(path));
}

#[divan::bench(sample_count = 400, sample_size = 1, args = ["/", "/jobs", "/rates", "/shop"])]
fn shop(bencher: Bencher, path: &str) {
    page(bencher, path);
}

#[divan::bench(sample_count = 400, sample_size = 1)]
fn customers_copy(bencher: Bencher) {
    page(bencher, &site().copy);
}

const TABS: [&str; 10] =
    ["", "/need", "/trailer", "/weights", "/road", "/cutting", "/parts", "/hours", "/price", "/revisions"];

#[divan::bench(sample_count = 400, sample_size = 1, args = TABS)]
fn job(bencher: Bencher, tab: &str) {
    page(bencher, &format!("/jobs/{}{tab}", site().job));
}

/// What is asked at every pause of typing.
#[divan::bench(sample_count = 400, sample_size = 1)]
fn trailer_preview(bencher: Bencher) {
    let path = format!("/jobs/{}/trailer/preview", site().job);
    bencher.bench_local(|| {
        let request = Request::post(&path)
            .header(header::HOST, "127.0.0.1:4717")
            .header(header::COOKIE, &site().cookie)
            .header("sec-fetch-site", "same-origin")
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        site().ask(request.body(Body::from(site().design.as_str())).expect("a request"))
    });
}

/// The shop's books, as nearly every page reads them.
#[divan::bench(sample_count = 400, sample_size = 1)]
fn shops_books(bencher: Bencher) {
    bencher.bench_local(|| site().runtime.block_on(site().state.shop(clock::today())).expect("the books"));
}
