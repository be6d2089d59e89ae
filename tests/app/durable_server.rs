//! The real server, killed hard while several people write through it: every answered write is there, whole, and no more than
//! the one that each of them was waiting for.

use std::{
    io::{BufRead, BufReader, Read, Write},
    net::{SocketAddr, TcpStream},
    path::Path,
    process::{Child, ChildStdout, Command, Stdio},
    thread,
    time::{Duration, Instant},
};

use hitchwright::{
    demo,
    domain::{
        measure::{Length, Money},
        people::Role,
        shop::ShopBook,
    },
    storage::{By, Contact, ForCustomer, JobId, NewJob, NewVariant, Store, nights},
};
use jiff::{Timestamp, civil::Date};
use proptest::{
    strategy::{Strategy, ValueTree},
    test_runner::TestRunner,
};
use rust_decimal::Decimal;

use crate::{keeping, serve::server, support};

const FILE: &str = "hitchwright.sqlite";

/// A server under way; killed (SIGKILL) when it goes.
pub struct Served {
    child: Child,
    pub address: SocketAddr,
    /// Closed, the server could no longer say anything.
    _said: BufReader<ChildStdout>,
}

impl Served {
    pub fn start(folder: &Path) -> Self {
        Self::opened(spawn(folder))
    }

    fn opened(mut child: Child) -> Self {
        let mut said = BufReader::new(child.stdout.take().expect("its output"));
        let mut line = String::new();
        said.read_line(&mut line).expect("a line");
        let address = line.split_once("http://").and_then(|(_, rest)| rest.split_once('/'));
        let address = address.and_then(|(address, _)| address.parse().ok());
        let address = address.unwrap_or_else(|| panic!("it never opened: {line:?}"));
        Self { child, address, _said: said }
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

const SERVE: [&str; 4] = ["serve", "--listen", "127.0.0.1:0", "--no-demo"];

fn spawn(folder: &Path) -> Child {
    spawned(server(folder, &SERVE))
}

fn spawned(mut command: Command) -> Child {
    // Nobody reads its log here: a full pipe would hold it up.
    command.env("HITCHWRIGHT_LOG", "error").stderr(Stdio::null());
    command.spawn().expect("the program runs")
}

/// Sends a form as the browser of whoever carries this cookie. None when no whole first line came back.
pub fn send(address: SocketAddr, cookie: &str, path: &str, body: &str) -> Option<String> {
    request(address, cookie, "POST", path, body)
}

fn request(address: SocketAddr, cookie: &str, method: &str, path: &str, body: &str) -> Option<String> {
    let mut stream = TcpStream::connect(address).ok()?;
    let length = body.len();
    write!(
        stream,
        "{method} {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\nCookie: {cookie}\r\nSec-Fetch-Site: same-origin\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {length}\r\n\r\n{body}"
    )
    .ok()?;
    let mut answer = Vec::new();
    // What came before the connection broke counts.
    let _ = stream.read_to_end(&mut answer);
    let answer = String::from_utf8_lossy(&answer).into_owned();
    answer.contains("\r\n").then_some(answer)
}

/// Who writes what. The n-th write of each says that it is the n-th.
#[derive(Clone, Debug)]
enum Writer {
    /// Length and width of the bed together.
    Spec(JobId),
    /// A new price.
    Rate(String),
    /// Three pieces.
    Rack(u32),
}

const PIECES: usize = 3;

impl Writer {
    fn form(&self, number: u64) -> (String, String) {
        match self {
            Self::Spec(job) => {
                let mm = bed(number).mm();
                let form = format!("action=save&version={number}&design.bed.length={mm}&design.bed.width={mm}");
                (format!("/jobs/{job}/trailer"), form)
            }
            Self::Rate(code) => {
                let form = format!("version={number}&price={}&sure=yes", price(number).0);
                (format!("/rates/items/{code}/price"), form)
            }
            Self::Rack(who) => {
                let form = format!(
                    "kind=bar&count={PIECES}&length=6+m&section=rhs+60x40x3&grade=S235&place=bay+{who}&origin={number}&worth=24.50"
                );
                ("/rack/receive".into(), form)
            }
        }
    }

    /// How many of its writes are in the file; fails where one is there in part, or one before it is missing.
    async fn kept(&self, store: &Store, today: Date) -> u64 {
        match self {
            Self::Spec(job) => {
                let variant = store.variants(*job).await.expect("read").remove(0);
                let count = u64::try_from(variant.version.0 - 1).expect("a count");
                if count > 0 {
                    let bed = (variant.design.bed.length, variant.design.bed.width);
                    assert_eq!(bed, (self::bed(count), self::bed(count)), "{self:?}");
                }
                count
            }
            Self::Rate(code) => {
                let item = store.item(code, today).await.expect("read").expect("an item");
                let count = u64::try_from(item.version.0 - 1).expect("a count");
                let mut history = store.item_history(code).await.expect("read");
                history.sort_by_key(|dated| dated.price);
                let prices: Vec<Money> = history.iter().map(|dated| dated.price).filter(|at| *at >= price(1)).collect();
                assert_eq!(prices, (1..=count).map(price).collect::<Vec<_>>(), "{self:?}");
                assert!(count == 0 || item.item.price == price(count), "{self:?}: the last one holds");
                count
            }
            Self::Rack(who) => {
                let place = format!("bay {who}");
                let pieces = store.rack_pieces().await.expect("read");
                let mut from: Vec<u64> = pieces
                    .iter()
                    .filter(|it| it.place == place)
                    .map(|it| it.origin.parse().expect("a number"))
                    .collect();
                from.sort_unstable();
                let count = from.last().copied().unwrap_or(0);
                let whole: Vec<u64> = (1..=count).flat_map(|number| [number; PIECES]).collect();
                assert_eq!(from, whole, "{self:?}: each delivery whole, none missing");
                count
            }
        }
    }

    /// Writes on until the server no longer answers; the number of the last write that it answered.
    fn write(&self, address: SocketAddr, cookie: &str, kept: u64) -> u64 {
        for number in kept + 1.. {
            let (path, form) = self.form(number);
            let Some(answer) = send(address, cookie, &path, &form) else { return number - 1 };
            assert!(answer.starts_with("HTTP/1.1 303"), "{self:?}, write {number}: {answer}");
        }
        kept
    }
}

/// From 1.5 m on, a tenth of a millimetre more with each write.
fn bed(number: u64) -> Length {
    Length::from_mm(1500.0 + (number % 10_000) as f64 / 10.0)
}

/// Far above what the book had before.
fn price(number: u64) -> Money {
    Money(Decimal::from(1_000_000 + number))
}

/// A shop with an owner who is signed in, two jobs and two priced items.
async fn prepared(path: &Path) -> (String, Vec<Writer>) {
    let store = Store::open(path).await.expect("a store").store;
    let now = Timestamp::now();
    let by = By { who: "Mara", at: now };
    let today = now.to_zoned_datetime(jiff::tz::TimeZone::UTC).date();
    demo::start_empty(&store, now, today).await.expect("a shop");
    let items: Vec<_> = ShopBook::demo().rates.items.into_iter().take(2).collect();
    assert_eq!(store.add_items(&items, by).await.expect("items"), [""; 0]);
    let mut writers = vec![Writer::Rack(1), Writer::Rack(2)];
    writers.extend(items.iter().map(|item| Writer::Rate(item.code.clone())));
    for title in ["Hive trailer", "Boat trailer"] {
        let new = NewJob {
            title: title.into(),
            customer: ForCustomer::New(Contact { name: "Wick Sands Apiary".into(), ..Contact::default() }),
            need: Default::default(),
            variant: NewVariant {
                name: "A".into(),
                design: Default::default(),
                offer: Default::default(),
                headline: None,
            },
            cloned_from: None,
        };
        writers.push(Writer::Spec(store.create_job(&new, 2026, by).await.expect("stored").expect("a job").0));
    }
    let cookie = support::signed_in(&store, "Mara", Role::Owner).await;
    store.close().await;
    (cookie, writers)
}

/// Ten kills in each run, 300 with HITCHWRIGHT_LONG=1. Every fourth time it is killed once more while it starts.
#[tokio::test]
async fn every_answered_write_survives_a_kill_of_the_server() {
    let rounds = if std::env::var_os("HITCHWRIGHT_LONG").is_some() { 240 } else { 8 };
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join(FILE);
    let (cookie, writers) = prepared(&path).await;
    let mut random = TestRunner::deterministic();
    let mut within =
        |low: u64, high: u64| Duration::from_millis((low..high).new_tree(&mut random).expect("a number").current());
    let began = Instant::now();
    let mut kept: Vec<u64> = vec![0; writers.len()];
    let (mut kills, mut unanswered) = (0, 0);
    let mut running = Served::start(folder.path());
    for round in 0..rounds {
        let writing: Vec<_> = writers
            .iter()
            .cloned()
            .zip(kept.iter().copied())
            .map(|(writer, from)| {
                let (address, cookie) = (running.address, cookie.clone());
                thread::spawn(move || writer.write(address, &cookie, from))
            })
            .collect();
        thread::sleep(within(20, 1500));
        drop(running);
        kills += 1;
        let answered: Vec<u64> = writing.into_iter().map(|writer| writer.join().expect("a writer")).collect();
        if round % 4 == 3 {
            let mut starting = spawn(folder.path());
            thread::sleep(within(0, 80));
            starting.kill().expect("killed");
            starting.wait().expect("gone");
            kills += 1;
        }

        running = Served::start(folder.path());
        let store = Store::open_to_read(&path).await.expect("read beside the server");
        let today = Timestamp::now().to_zoned_datetime(jiff::tz::TimeZone::system()).date();
        for (at, writer) in writers.iter().enumerate() {
            let found = writer.kept(&store, today).await;
            // Of those that nobody was told of, the one under way at most.
            assert!(
                (answered[at]..=answered[at] + 1).contains(&found),
                "{writer:?}: {} answered, {found} kept",
                answered[at]
            );
            unanswered += found - answered[at];
            kept[at] = found;
        }
        store.close().await;
        let (code, said, fault) = keeping::run(folder.path(), &["verify", FILE]);
        assert_eq!((code, fault.as_str()), (0, ""), "{said}");
    }
    let total: u64 = kept.iter().sum();
    println!(
        "{kills} kills in {:.1} s: {total} writes, {unanswered} of them kept but not answered; by writer {kept:?}",
        began.elapsed().as_secs_f64()
    );
    assert!(kept.iter().all(|count| *count > 0), "each wrote something: {kept:?}");
}

/// The disk is as small as the system's limit on the size of a file makes it (`ulimit -f`, POSIX.1-2017 setrlimit: a write
/// beyond it fails with EFBIG once SIGXFSZ is ignored).
#[cfg(target_os = "linux")]
#[tokio::test]
async fn on_a_disk_that_takes_no_more_nothing_answered_is_lost_and_reading_goes_on() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join(FILE);
    let (cookie, writers) = prepared(&path).await;
    let mut shell = Command::new("sh");
    // Blocks of 512 bytes in some shells, of 1024 in others.
    shell.args(["-c", "trap '' XFSZ; ulimit -S -f 1200; exec \"$0\" \"$@\"", env!("CARGO_BIN_EXE_hitchwright")]);
    shell.args(SERVE).env_remove("HITCHWRIGHT_DATABASE").current_dir(folder.path()).stdout(Stdio::piped());
    let running = Served::opened(spawned(shell));
    let rack = &writers[0];
    let mut answered = 0;
    let refused = loop {
        let (path, form) = rack.form(answered + 1);
        let answer = send(running.address, &cookie, &path, &form).expect("an answer");
        if !answer.starts_with("HTTP/1.1 303") {
            break answer;
        }
        answered += 1;
        assert!(answered < 2000, "it never became full");
    };
    assert!(answered > 0 && refused.starts_with("HTTP/1.1 507"), "{answered}: {refused}");
    assert!(refused.contains("could not be written") && refused.contains("what was saved before is safe"), "{refused}");
    for page in ["/rack", "/rates", "/jobs"] {
        let read = request(running.address, &cookie, "GET", page, "").expect("an answer");
        assert!(read.starts_with("HTTP/1.1 200"), "{page}: {read}");
    }
    let (code, said, _) = keeping::run(folder.path(), &["verify", FILE]);
    assert_eq!(code, 0, "{said}");

    // With room again the same server goes on from what was answered.
    let room = ["--pid".into(), running.child.id().to_string(), "--fsize=unlimited".into()];
    assert!(Command::new("prlimit").args(room).status().expect("prlimit of util-linux").success());
    let (path_of, form) = rack.form(answered + 1);
    let answer = send(running.address, &cookie, &path_of, &form).expect("an answer");
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
    let store = Store::open_to_read(&path).await.expect("read");
    assert_eq!(rack.kept(&store, Date::MIN).await, answered + 1);
    assert_eq!(keeping::run(folder.path(), &["verify", FILE]).0, 0);
}

/// The real server makes the copy that is missing as it starts; where the folder's disk takes none it says so and works on. The
/// disk is as small as in the test before.
#[cfg(target_os = "linux")]
#[tokio::test]
async fn the_server_copies_its_file_at_the_start_and_says_why_it_could_not() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join(FILE);
    let (cookie, writers) = prepared(&path).await;
    let copies = folder.path().join("copies");
    std::fs::create_dir(&copies).expect("a folder");
    let until = |what: &str, is_done: &dyn Fn() -> bool| {
        let began = Instant::now();
        while !is_done() {
            assert!(began.elapsed() < Duration::from_secs(20), "{what} did not happen in 20 s");
            thread::sleep(Duration::from_millis(50));
        }
    };
    let said = |address: SocketAddr| request(address, &cookie, "GET", "/copies", "").unwrap_or_default();
    let in_folder = || nights(&copies, &path).expect("copies");

    let mut shell = Command::new("sh");
    shell.args(["-c", "trap '' XFSZ; ulimit -S -f 100; exec \"$0\" \"$@\"", env!("CARGO_BIN_EXE_hitchwright")]);
    shell.args(SERVE).args(["--backups", "copies"]).env_remove("HITCHWRIGHT_DATABASE");
    let small = Served::opened(spawned({
        shell.current_dir(folder.path()).stdout(Stdio::piped());
        shell
    }));
    until("the failure", &|| said(small.address).contains("The last try"));
    let page = said(small.address);
    assert!(page.starts_with("HTTP/1.1 200") && page.contains("takes no writes"), "{page}");
    assert_eq!(std::fs::read_dir(&copies).expect("a folder").count(), 0, "half a copy is none");
    drop(small);

    let running = Served::opened(spawned(server(folder.path(), &[&SERVE[..], &["--backups", "copies"][..]].concat())));
    until("the copy", &|| !in_folder().is_empty());
    let (rack, form) = writers[0].form(1);
    let answer = send(running.address, &cookie, &rack, &form).expect("an answer");
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
    let answer = send(running.address, &cookie, "/copies/now", "x=y").expect("an answer");
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
    drop(running);
    let found = in_folder();
    assert_eq!(found.iter().map(|night| night.number).collect::<Vec<_>>(), [1, 2]);
    for (night, kept) in found.iter().zip([0, 1]) {
        let name = night.file.to_str().expect("a name");
        let (code, said, fault) = keeping::run(folder.path(), &["verify", name]);
        assert_eq!((code, fault.as_str()), (0, ""), "{said}");
        let copy = Store::open_to_read(&night.file).await.expect("read");
        assert_eq!(writers[0].kept(&copy, Date::MIN).await, kept);
        copy.close().await;
    }
    // And back.
    let last = found[1].file.to_str().expect("a name");
    assert_eq!(keeping::run(folder.path(), &["restore", last]).0, 0);
    assert_eq!(keeping::run(folder.path(), &["verify", FILE]).0, 0);
}
