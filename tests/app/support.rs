//! What tests through HTTP need: the site without a network, and answers that can be asked.

use std::net::SocketAddr;

use axum::{
    Router,
    body::{Body, to_bytes},
    extract::ConnectInfo,
    http::{HeaderMap, Method, Request, StatusCode, header},
};
use hitchwright::{
    domain::{
        nesting::Budget,
        people::{PersonName, Role},
        shop::ShopBook,
    },
    storage::{By, NewPerson, Save, Store},
    web::{self, AppState, session},
};
use jiff::{SignedDuration, Timestamp};
use scraper::{ElementRef, Html};
use tempfile::TempDir;
use tower::ServiceExt;

use crate::html;

/// The address under which the site of these tests serves customers.
pub const PUBLIC_HOST: &str = "quotes.example.com";

/// A site with a public address and a store of its own, which holds its owner alone.
pub struct Site {
    pub router: Router,
    pub store: Store,
    /// The cookie of the owner's browser, which every request carries unless something else is said.
    pub owner: String,
    _folder: TempDir,
}

pub async fn site() -> Site {
    // Unoptimised, a full search takes a minute: the pages are tested here, the plans elsewhere.
    site_planning(Budget::preview()).await
}

impl Site {
    /// The same shop, served with this budget for its plans.
    pub fn allowed(self, budget: Budget) -> Self {
        Self { router: router(&self.store, budget), ..self }
    }
}

fn router(store: &Store, budget: Budget) -> Router {
    let public = format!("https://{PUBLIC_HOST}").parse().expect("an address");
    let mut state = AppState::new(store.clone(), Some(public), Vec::new());
    state.issue_budget = budget;
    web::router(state)
}

/// A site whose revisions are planned with this budget.
async fn site_planning(budget: Budget) -> Site {
    let folder = tempfile::tempdir().expect("a folder");
    let store = Store::open(&folder.path().join("shop.sqlite")).await.expect("a store").store;
    let router = router(&store, budget);
    let owner = signed_in(&store, "Mara", Role::Owner).await;
    Site { router, store, owner, _folder: folder }
}

/// The cookie of the browser of a new person of this role. They have no password: nothing is hashed.
pub async fn signed_in(store: &Store, name: &str, role: Role) -> String {
    let now = Timestamp::now();
    let parsed = PersonName::parse(name).expect("a name");
    let new = NewPerson { name: &parsed, role, password: None, demo: false };
    let person = store.add_person(new, By { who: "a test", at: now }).await.expect("an answer").expect("a new name");
    let until = now.checked_add(SignedDuration::from_hours(12)).expect("a moment");
    session::cookie_header(&store.start_session(person, now, until).await.expect("a session"))
}

/// The site of the demo shop: its books are kept, there is no job yet.
pub async fn shop_site() -> Site {
    shop_site_planning(Budget::preview()).await
}

/// The same, with this budget for its revisions.
pub async fn shop_site_planning(budget: Budget) -> Site {
    let site = site_planning(budget).await;
    let by = By { who: "Mara", at: Timestamp::now() };
    let book = ShopBook::demo();
    let taken = site.store.add_items(&book.rates.items, by).await.expect("a rate book");
    assert_eq!(taken, [""; 0]);
    assert!(matches!(site.store.save_shop_book(None, &book, by).await.expect("a shop"), Save::Saved(_)));
    site
}

/// An answer, read whole.
#[derive(Debug)]
pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    /// The text of an answer; empty where it is a file of another kind.
    pub body: String,
    pub bytes: Vec<u8>,
}

/// A request to be made. It comes from a browser on this machine in which the owner is signed in, unless something else is
/// said: of `.with("cookie", …)` or `.by_nobody()`.
pub struct Ask {
    method: Method,
    path: String,
    headers: Vec<(String, String)>,
    body: Vec<u8>,
    peer: Option<SocketAddr>,
}

impl Ask {
    pub fn get(path: &str) -> Self {
        Self::new(Method::GET, path)
    }

    pub fn new(method: Method, path: &str) -> Self {
        let headers = vec![("host".to_owned(), "127.0.0.1:4717".to_owned())];
        Self { method, path: path.to_owned(), headers, body: Vec::new(), peer: None }
    }

    /// A form as a browser sends it from our own page.
    pub fn form(path: &str, fields: &[(&str, &str)]) -> Self {
        Self::new(Method::POST, path)
            .with("content-type", "application/x-www-form-urlencoded")
            .with("sec-fetch-site", "same-origin")
            .body(html::encoded(fields.iter().copied()))
    }

    /// Sets a header, in place of one of the same name.
    pub fn with(mut self, name: &str, value: &str) -> Self {
        self.headers.retain(|(other, _)| other != name);
        self.headers.push((name.to_owned(), value.to_owned()));
        self
    }

    pub fn body(mut self, body: impl Into<Vec<u8>>) -> Self {
        self.body = body.into();
        self
    }

    /// From this address, at the other end of the connection.
    pub fn by_peer(mut self, address: &str) -> Self {
        self.peer = Some(SocketAddr::new(address.parse().expect("an address"), 5000));
        self
    }

    /// From a browser in which nobody is signed in.
    pub fn by_nobody(self) -> Self {
        self.with("cookie", "")
    }

    /// Makes the request.
    pub async fn of(mut self, site: &Site) -> Answer {
        if !self.headers.iter().any(|(name, _)| name == "cookie") {
            self.headers.push(("cookie".into(), site.owner.clone()));
        }
        let mut request = Request::builder().method(self.method).uri(self.path);
        for (name, value) in self.headers {
            request = request.header(name, value);
        }
        if let Some(peer) = self.peer {
            request = request.extension(ConnectInfo(peer));
        }
        let request = request
            .header(header::CONTENT_LENGTH, self.body.len())
            .body(Body::from(self.body))
            .expect("a request that can be written");
        let response = site.router.clone().oneshot(request).await.expect("an answer");
        let (parts, body) = response.into_parts();
        let body = to_bytes(body, 32 * 1024 * 1024).await.expect("a whole body");
        let bytes = body.to_vec();
        let kind = parts.headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or("text/plain");
        let is_binary = ["application/pdf", "model/", "image/png"].iter().any(|binary| kind.starts_with(binary));
        let body = if is_binary { String::new() } else { String::from_utf8(bytes.clone()).expect("text in an answer") };
        Answer { status: parts.status, headers: parts.headers, body, bytes }
    }
}

impl Answer {
    /// A header's text; empty where it is absent.
    pub fn header(&self, name: &str) -> &str {
        self.headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or_default()
    }

    #[track_caller]
    pub fn assert_status(self, expected: StatusCode) -> Self {
        assert_eq!(self.status, expected, "{}", self.body);
        self
    }

    /// Checks that the browser is sent on (303), and returns where to.
    #[track_caller]
    pub fn assert_redirect(&self) -> &str {
        assert_eq!(self.status, StatusCode::SEE_OTHER, "{}", self.body);
        self.header("location")
    }

    pub fn html(&self) -> Html {
        Html::parse_document(&self.body)
    }

    /// The texts of all elements that a selector finds, spaces made single.
    pub fn texts(&self, selector: &str) -> Vec<String> {
        let text =
            |element: ElementRef| element.text().collect::<String>().split_whitespace().collect::<Vec<_>>().join(" ");
        self.html().select(&html::selector(selector)).map(text).collect()
    }

    /// An attribute of the first element that a selector finds.
    pub fn attribute(&self, selector: &str, name: &str) -> Option<String> {
        html::attribute(&self.body, selector, name)
    }

    /// What a browser would send of the form with this id or action: typed texts, ticked boxes, chosen options, no buttons.
    #[track_caller]
    pub fn form(&self, form: &str) -> html::Fields {
        html::form(&self.body, form)
    }

    /// The cookies that this answer sets, as a browser sends them back.
    pub fn cookies(&self) -> String {
        let pairs = self.headers.get_all(header::SET_COOKIE).iter().filter_map(|cookie| {
            let (pair, _) = cookie.to_str().ok()?.split_once(';')?;
            Some(pair.to_owned())
        });
        pairs.collect::<Vec<_>>().join("; ")
    }
}
