//! Many people at once: estimators who edit, customers who read, against the program as a process of its own, on this
//! machine alone; beside a bare route of the same web library as the ceiling. Nothing may be lost: each edit that was taken
//! is counted in its job's version, each piece of the rack is given to one job.
//!
//! `cargo bench --bench load -- [--estimators 50] [--customers 200] [--seconds 30]`

mod client;
#[path = "../../app/html.rs"]
mod html;
mod tally;

use std::{
    io::{BufRead, BufReader},
    net::SocketAddr,
    process::{Child, Command, Stdio},
    time::{Duration, Instant},
};

use axum::{Router, routing::get};
use client::{Client, rows_links};
use html::{Fields, attribute, changed, fields, form};
use hyper::StatusCode;
use tally::Tally;
use tokio::task::JoinSet;

/// The demo's owner; its sign-in page shows both.
const SIGN_IN: [(&str, &str); 2] = [("name", "Mara Holloway"), ("password", "demo owner at wick sands")];
/// Between two things that a person does.
const PAUSE: Duration = Duration::from_millis(2000);
/// That everybody wants at once.
const BARS: usize = 20;

fn main() {
    let asked: Vec<String> = std::env::args().skip(1).collect();
    let number = |name: &str, usual: u64| {
        let at = asked.iter().position(|word| word == name);
        at.map_or(usual, |at| asked.get(at + 1).and_then(|text| text.parse().ok()).expect("a whole number"))
    };
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("a runtime");
    if asked.iter().any(|word| word == "--bare") {
        return runtime.block_on(bare());
    }
    let (estimators, customers) = (number("--estimators", 50), number("--customers", 200));
    let lasting = Duration::from_secs(number("--seconds", 30));
    runtime.block_on(ceiling(customers, lasting / 3));
    runtime.block_on(shop(estimators, customers, lasting));
}

/// A server as a process of its own; ended when it is dropped.
struct Server {
    process: Child,
    address: SocketAddr,
    _folder: tempfile::TempDir,
}

impl Server {
    fn start(program: &str, arguments: &[&str]) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let mut command = Command::new(program);
        command.args(arguments).current_dir(folder.path()).env("HITCHWRIGHT_LOG", "off");
        let mut process = command.stdout(Stdio::piped()).spawn().expect("it starts");
        let said = BufReader::new(process.stdout.take().expect("what it says"));
        let address = said
            .lines()
            .map_while(Result::ok)
            .find_map(|line| line.split_once("http://").and_then(|(_, rest)| rest.split('/').next()?.parse().ok()));
        Self { process, address: address.expect("it says where it is open"), _folder: folder }
    }

    /// Most memory that it ever held, in MB.
    fn memory(&self) -> f64 {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.process.id())).unwrap_or_default();
        let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        line.and_then(|line| line.trim().trim_end_matches("kB").trim().parse::<f64>().ok()).unwrap_or(f64::NAN) / 1024.0
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// A page of 16 kB from memory and nothing else.
async fn bare() {
    let page = "wick sands ".repeat(1490);
    let router = Router::new().route("/", get(move || async move { page }));
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.expect("a free port");
    println!("open at http://{}/", listener.local_addr().expect("its address"));
    axum::serve(listener, router).await.expect("it serves");
}

async fn ceiling(customers: u64, lasting: Duration) {
    let program = std::env::current_exe().expect("this program");
    let server = Server::start(program.to_str().expect("a path of text"), &["--bare"]);
    for (what, pause) in
        [("bare route, at the customers' pace", PAUSE), ("bare route, without a pause", Duration::ZERO)]
    {
        let mut crowd = JoinSet::new();
        for _ in 0..customers {
            let address = server.address;
            crowd.spawn(async move {
                let mut client = Client::connect(address, "").await;
                let began = Instant::now();
                while began.elapsed() < lasting {
                    client.get(what, "/").await;
                    tokio::time::sleep(pause).await;
                }
                client.tally
            });
        }
        all(crowd).await.print(lasting);
    }
    println!("memory of the bare server at most {:.0} MB\n", server.memory());
}

async fn all(mut crowd: JoinSet<Tally>) -> Tally {
    let mut whole = Tally::default();
    while let Some(done) = crowd.join_next().await {
        whole.add(done.expect("a visitor comes to the end"));
    }
    whole
}

async fn shop(estimators: u64, customers: u64, lasting: Duration) {
    let server = Server::start(env!("CARGO_BIN_EXE_hitchwright"), &["serve", "--listen", "127.0.0.1:0"]);
    let address = server.address;
    let cookie = sign_in(address).await;
    let copy = link(address, &cookie).await;
    // Two estimators to a job: they get in each other's way on purpose.
    let jobs = new_jobs(address, &cookie, estimators.div_ceil(2)).await;
    let before = versions(address, &cookie, &jobs).await;

    let mut crowd = JoinSet::new();
    let mut edits = JoinSet::new();
    for number in 0..customers {
        let copy = copy.clone();
        crowd.spawn(async move { read(Client::connect(address, "").await, &copy, number, lasting).await });
    }
    for number in 0..estimators {
        let (cookie, job) = (cookie.clone(), jobs[number as usize / 2].clone());
        edits.spawn(async move { edit(Client::connect(address, &cookie).await, job, number, lasting).await });
    }
    let mut whole = Tally::default();
    let mut taken = vec![0; jobs.len()];
    let mut crossed = 0;
    while let Some(done) = edits.join_next().await {
        let done = done.expect("an estimator comes to the end");
        taken[done.number as usize / 2] += done.taken;
        crossed += done.crossed;
        whole.add(done.tally);
    }
    whole.add(all(crowd).await);
    println!("{estimators} estimators, {customers} customers, {} s", lasting.as_secs());
    whole.print(lasting);

    let after = versions(address, &cookie, &jobs).await;
    let lost: u64 = (0..jobs.len()).map(|at| taken[at].abs_diff(after[at] - before[at])).sum();
    println!("edits taken {}, met another's edit {crossed}, lost {lost}", taken.iter().sum::<u64>());
    let (given, twice) = race_for_the_rack(address, &cookie, estimators).await;
    println!("pieces raced for {given}, reserved twice {twice}");
    println!("memory of the server at most {:.0} MB", server.memory());
    assert_eq!((lost, given, twice), (0, BARS, 0), "something was lost, not given or given twice");
}

async fn sign_in(address: SocketAddr) -> String {
    let mut client = Client::connect(address, "").await;
    client.post("sign in", "/sign-in", &fields(&SIGN_IN)).await.cookie.expect("the demo's owner signs in")
}

/// The path of a new link to the customer's copy of a quoted demo job.
async fn link(address: SocketAddr, cookie: &str) -> String {
    let mut client = Client::connect(address, cookie).await;
    let page = client.post("link", "/jobs/6/revisions/1/link", &Fields::new()).await.text;
    let link = attribute(&page, "[data-test=link]", "href").expect("a link");
    link.split_once("/q/").map(|(_, token)| format!("/q/{token}")).expect("a link to a copy")
}

async fn new_jobs(address: SocketAddr, cookie: &str, count: u64) -> Vec<String> {
    let mut client = Client::connect(address, cookie).await;
    let mut jobs = Vec::new();
    let page = client.get("", "/jobs/new?from=8").await.text;
    let empty = form(&page, "/jobs/new");
    for number in 1..=count {
        let title = format!("Puppet stage {number}");
        let filled = changed(empty.clone(), &[("title", &title), ("customer", "Wick Sands Players")]);
        let made = client.post("", "/jobs/new", &filled).await;
        assert_eq!(made.status, StatusCode::SEE_OTHER, "{}", made.text);
        let path = made.location.trim_end_matches("/need");
        jobs.push(path.to_owned());
    }
    jobs
}

async fn versions(address: SocketAddr, cookie: &str, jobs: &[String]) -> Vec<u64> {
    let mut client = Client::connect(address, cookie).await;
    let mut versions = Vec::new();
    for job in jobs {
        let page = client.get("", &format!("{job}/trailer")).await.text;
        let version = attribute(&page, "#design input[name=version]", "value");
        versions.push(version.and_then(|version| version.parse().ok()).expect("a version"));
    }
    versions
}

async fn read(mut client: Client, copy: &str, number: u64, lasting: Duration) -> Tally {
    tokio::time::sleep(PAUSE * (number % 20) as u32 / 20).await;
    let began = Instant::now();
    for turn in number.. {
        if began.elapsed() >= lasting {
            break;
        }
        let answer = match turn % 10 {
            0 => client.get("customer's quote.pdf", &format!("{copy}/quote.pdf")).await,
            _ => client.get("customer's copy", copy).await,
        };
        assert_eq!(answer.status, StatusCode::OK, "a customer is answered");
        tokio::time::sleep(PAUSE).await;
    }
    client.tally
}

struct Edited {
    number: u64,
    taken: u64,
    crossed: u64,
    tally: Tally,
}

/// Opens the trailer, tries two changes, saves one; begins again.
async fn edit(mut client: Client, job: String, number: u64, lasting: Duration) -> Edited {
    let (mut taken, mut crossed) = (0, 0);
    let path = format!("{job}/trailer");
    tokio::time::sleep(PAUSE * (number % 20) as u32 / 20).await;
    let began = Instant::now();
    while began.elapsed() < lasting {
        let page = client.get("trailer", &path).await;
        assert_eq!(page.status, StatusCode::OK);
        let mut design = form(&page.text, &path);
        for long in [2400 + number, 2500 + number] {
            design = changed(design, &[("design.bed.length", &format!("{long} mm"))]);
            let preview = client.post("trailer, preview", &format!("{path}/preview"), &design).await;
            assert_eq!(preview.status, StatusCode::OK);
            tokio::time::sleep(PAUSE / 2).await;
        }
        let colour = format!("heron grey {number}, {}", taken + crossed);
        let design = changed(design, &[("design.finish.colour", &colour), ("action", "save")]);
        match client.post("trailer, save", &path, &design).await.status {
            StatusCode::SEE_OTHER => taken += 1,
            StatusCode::CONFLICT => crossed += 1,
            other => panic!("an edit was answered with {other}"),
        }
    }
    Edited { number, taken, crossed, tally: client.tally }
}

/// Bars on the rack, and everybody wants each for one of two jobs. Returns how many were reserved, and how many more than once.
async fn race_for_the_rack(address: SocketAddr, cookie: &str, people: u64) -> (usize, usize) {
    let mut client = Client::connect(address, cookie).await;
    let jobs = [number_of(&mut client, "/jobs/3").await, number_of(&mut client, "/jobs/4").await];
    let empty = form(&client.get("", "/rack/receive").await.text, "/rack/receive");
    let bars = [("kind", "bar"), ("count", &BARS.to_string()), ("length", "1234 mm"), ("section", "rhs 60x40x3")];
    let bars = changed(changed(empty, &bars), &[("place", "bay 7"), ("origin", "load test")]);
    let received = client.post("", "/rack/receive", &bars).await;
    assert_eq!(received.status, StatusCode::SEE_OTHER, "{}", received.text);
    let rack = client.get("", "/rack").await.text;
    let tags = rows_links(&rack, "bay 7");
    assert_eq!(tags.len(), BARS, "the pieces stand on the rack");
    let mut crowd = JoinSet::new();
    for number in 0..people {
        let (cookie, tags, job) = (cookie.to_owned(), tags.clone(), jobs[number as usize % 2].clone());
        crowd.spawn(async move {
            let mut client = Client::connect(address, &cookie).await;
            let mut won = Vec::new();
            for (at, tag) in tags.iter().enumerate() {
                let reserve = fields(&[("action", "reserve"), ("job", &job)]);
                if client.post("", tag, &reserve).await.status == StatusCode::SEE_OTHER {
                    won.push(at);
                }
            }
            won
        });
    }
    let mut times = vec![0; tags.len()];
    while let Some(won) = crowd.join_next().await {
        for at in won.expect("a rival comes to the end") {
            times[at] += 1;
        }
    }
    (times.iter().filter(|&&count| count > 0).count(), times.iter().filter(|&&count| count > 1).count())
}

/// The number of a job, as its page shows it.
async fn number_of(client: &mut Client, job: &str) -> String {
    let page = client.get("", job).await.text;
    let head = scraper::Html::parse_document(&page);
    let text = head.select(&html::selector(".page-head .quiet")).next().expect("a head").text().collect::<String>();
    text.split('·').next().unwrap_or_default().trim().to_owned()
}
