//! The server as a process: what it prints, what it refuses to start on, how it stops.

use std::{
    fs,
    io::{BufRead, BufReader, Read, Write},
    net::{SocketAddr, TcpListener, TcpStream},
    path::Path,
    process::{Child, ChildStdout, Command, Output, Stdio},
    time::{Duration, Instant},
};

pub fn server(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hitchwright"));
    for name in ["DATABASE", "BACKUPS", "LISTEN", "PUBLIC_ADDRESS", "TRUSTED_PROXY", "NO_DEMO", "LOG"] {
        command.env_remove(format!("HITCHWRIGHT_{name}"));
    }
    command
        .env("HITCHWRIGHT_LOG", "trace,sqlx=off,hyper=off")
        .current_dir(folder)
        .args(arguments)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    command
}

/// Runs a server that must refuse to start; returns what it said.
#[track_caller]
fn refusal(arguments: &[&str]) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    let Output { status, stderr, .. } = server(folder.path(), arguments).output().expect("the program runs");
    assert!(!status.success(), "{arguments:?} must be refused");
    String::from_utf8(stderr).expect("text")
}

/// A server under way; killed when the test ends, whatever happens.
struct Running {
    child: Child,
    address: SocketAddr,
    said: BufReader<ChildStdout>,
    folder: tempfile::TempDir,
}

impl Running {
    fn start(arguments: &[&str]) -> Self {
        Self::start_in(tempfile::tempdir().expect("a folder"), arguments)
    }

    fn start_in(folder: tempfile::TempDir, arguments: &[&str]) -> Self {
        let mut child = server(folder.path(), arguments).spawn().expect("the program runs");
        let mut line = String::new();
        let mut said = BufReader::new(child.stdout.take().expect("its output"));
        said.read_line(&mut line).expect("a line");
        let address = line
            .split_once("http://")
            .and_then(|(_, rest)| rest.split_once('/'))
            .and_then(|(address, _)| address.parse().ok())
            .unwrap_or_else(|| panic!("no address in {line:?}"));
        Self { child, address, said, folder }
    }

    /// The path of the link that the console shows to whoever is to become the owner.
    fn owners_link(&mut self) -> String {
        let mut line = String::new();
        self.said.read_line(&mut line).expect("a line");
        let link = line.split_whitespace().find_map(|word| word.strip_prefix(&format!("http://{}", self.address)));
        link.unwrap_or_else(|| panic!("no link in {line:?}")).to_owned()
    }

    fn post(&self, path: &str, body: &str) -> String {
        self.post_from("same-origin", path, body)
    }

    fn post_from(&self, site: &str, path: &str, body: &str) -> String {
        let mut stream = TcpStream::connect(self.address).expect("it listens");
        let (address, length) = (self.address, body.len());
        write!(
            stream,
            "POST {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\nSec-Fetch-Site: {site}\r\n\
             Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {length}\r\n\r\n{body}"
        )
        .expect("sent");
        let mut answer = String::new();
        stream.read_to_string(&mut answer).expect("an answer");
        answer
    }

    /// Stops it; its folder stays. Returns what it wrote to its log.
    fn stop(mut self) -> (tempfile::TempDir, String) {
        let _ = self.child.kill();
        let mut log = String::new();
        self.child.stderr.take().expect("its log").read_to_string(&mut log).expect("text");
        let other = tempfile::tempdir().expect("a folder");
        (std::mem::replace(&mut self.folder, other), log)
    }

    fn get(&self, path: &str) -> String {
        let mut stream = TcpStream::connect(self.address).expect("it listens");
        write!(stream, "GET {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", self.address).expect("asked");
        let mut answer = String::new();
        stream.read_to_string(&mut answer).expect("an answer");
        answer
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn without_a_command_it_serves_and_prints_its_address() {
    let running = Running::start(&["--listen", "127.0.0.1:0", "--no-demo"]);
    assert!(running.get("/health").starts_with("HTTP/1.1 200"));
    assert!(running.get("/").starts_with("HTTP/1.1 303"), "nobody is signed in");
    assert!(running.get("/sign-in").contains("</html>"));
}

/// Each start prints a fresh link until somebody used one; no log holds it, nor a customer's, nor a mistyped one.
#[test]
fn a_new_shop_gets_its_owner_by_a_link_on_the_console_and_no_log_holds_it() {
    let arguments = ["serve", "--listen", "127.0.0.1:0", "--no-demo"];
    let mut first = Running::start(&arguments);
    let old = first.owners_link();
    assert!(old.starts_with("/set-up/") && old.len() > 43, "{old}");
    assert!(first.get(&old).starts_with("HTTP/1.1 200"));
    let (folder, log) = first.stop();
    assert!(!log.contains(&old[8..]), "{log}");

    let mut second = Running::start_in(folder, &arguments);
    let link = second.owners_link();
    assert_ne!(old, link);
    assert!(second.get(&old).starts_with("HTTP/1.1 410"), "the older link is closed");
    second.get("/q/a-secret-that-opens-nothing/quote.pdf");
    second.get("/q/a-secret-mistyped/and/more");
    let made = second.post(&link, "name=Zoe&new_password=three+grey+gulls&again=three+grey+gulls");
    assert!(made.starts_with("HTTP/1.1 303") && made.contains("hitchwright_session="), "{made}");
    let token = made.split_once("hitchwright_session=").and_then(|(_, rest)| rest.split_once(';')).expect("a token").0;
    // A refused form is noted by more than one layer.
    assert!(second.post_from("cross-site", "/q/a-secret-from-elsewhere/ask", "x=y").starts_with("HTTP/1.1 403"));
    assert!(second.post("/sign-in", "name=Zoe&password=three+grey+gulls").starts_with("HTTP/1.1 303"));
    assert!(second.post("/sign-in", "name=Nobody-known&password=not+this+one").starts_with("HTTP/1.1 422"));
    let (folder, log) = second.stop();
    assert!(log.contains("signed in") && log.contains("/sign-in"), "it is a log of requests: {log}");
    for secret in [&link[8..], token, "gulls", "a-secret", "Nobody-known", "not this", "not+this"] {
        assert!(!log.contains(secret), "{secret} stands in the log: {log}");
    }

    let third = Running::start_in(folder, &arguments);
    assert!(third.get("/sign-in").contains("Sign in"), "there is an owner: no link is needed");
}

#[cfg(unix)]
#[test]
fn it_stops_cleanly_when_asked_even_while_a_visitor_keeps_a_connection_open() {
    for signal in ["INT", "TERM"] {
        let mut running = Running::start(&["serve", "--listen", "127.0.0.1:0", "--no-demo"]);
        let mut idle = TcpStream::connect(running.address).expect("it listens");
        idle.write_all(b"GET / HTTP/1.1\r\n").expect("half a request");
        let asked = Instant::now();
        let id = running.child.id().to_string();
        let sent = Command::new("sh").args(["-c", &format!("kill -{signal} {id}")]).status().expect("a shell");
        assert!(sent.success());
        let status = running.child.wait().expect("an end");
        assert!(status.success(), "{signal}: {status}");
        assert!(asked.elapsed() < Duration::from_secs(8), "{signal}: took {:?}", asked.elapsed());
    }
}

#[test]
fn a_busy_port_is_said_in_one_line() {
    let taken = TcpListener::bind("127.0.0.1:0").expect("a port");
    let address = taken.local_addr().expect("an address").to_string();
    let said = refusal(&["serve", "--listen", &address, "--no-demo"]);
    assert_eq!(said.lines().count(), 1, "{said}");
    assert!(said.contains(&address) && said.contains("--listen"), "{said}");
}

#[test]
fn an_address_that_others_reach_is_refused_with_the_reason() {
    for address in ["0.0.0.0:0", "[::]:0", "192.0.2.1:4717"] {
        let said = refusal(&["serve", "--listen", address, "--no-demo"]);
        assert_eq!(said.lines().count(), 1, "{said}");
        assert!(said.contains("passwords") && said.contains("127.0.0.1"), "{said}");
    }
}

#[test]
fn a_public_address_without_tls_is_refused() {
    let said = refusal(&["serve", "--public-address", "http://quotes.example.com"]);
    assert!(said.contains("https"), "{said}");
}

#[test]
fn a_file_that_is_no_database_of_ours_is_refused_and_left_as_it_was() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("notes.txt");
    fs::write(&file, "a shopping list that is longer than a header").expect("a file");
    let name = file.to_str().expect("a name");
    let said = refusal(&["serve", "--listen", "127.0.0.1:0", "--database", name]);
    assert_eq!(said.lines().count(), 1, "{said}");
    assert!(said.contains("not a Hitchwright database") && said.contains("--database"), "{said}");
    assert_eq!(fs::read_to_string(&file).expect("still there"), "a shopping list that is longer than a header");

    let said = refusal(&["serve", "--listen", "127.0.0.1:0", "--database", "no/such/folder/shop.sqlite"]);
    assert_eq!(said.lines().count(), 1, "{said}");
    assert!(said.contains("does not exist"), "{said}");
}
