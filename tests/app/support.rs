//! What tests through HTTP need: the site without a network, and answers that can be asked.

use axum::{
    Router,
    body::{Body, to_bytes},
    http::{HeaderMap, Method, Request, StatusCode, header},
};
use hitchwright::{
    domain::{nesting::Budget, shop::ShopBook},
    storage::{By, Save, Store},
    web::{self, AppState},
};
use jiff::Timestamp;
use scraper::{ElementRef, Html, Selector};
use tempfile::TempDir;
use tower::ServiceExt;

/// The address under which the site of these tests serves customers.
pub const PUBLIC_HOST: &str = "quotes.example.com";

/// A site with a public address and an empty store of its own.
pub struct Site {
    pub router: Router,
    pub store: Store,
    _folder: TempDir,
}

pub async fn site() -> Site {
    // Unoptimised, a full search takes a minute: the pages are tested here, the plans elsewhere.
    site_planning(Budget::preview()).await
}

/// A site whose revisions are planned with this budget.
async fn site_planning(budget: Budget) -> Site {
    let folder = tempfile::tempdir().expect("a folder");
    let store = Store::open(&folder.path().join("shop.sqlite")).await.expect("a store").store;
    let public = format!("https://{PUBLIC_HOST}").parse().expect("an address");
    let mut state = AppState::new(store.clone(), Some(public), Vec::new());
    state.issue_budget = budget;
    let router = web::router(state);
    Site { router, store, _folder: folder }
}

/// The site of the demo shop: its books are kept, there is no job yet.
pub async fn shop_site() -> Site {
    shop_site_planning(Budget::preview()).await
}

/// The same, with this budget for its revisions.
pub async fn shop_site_planning(budget: Budget) -> Site {
    let site = site_planning(budget).await;
    let by = By { who: "Mara (not signed in)", at: Timestamp::now() };
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
    pub body: String,
}

/// A request to be made. It comes from a browser on this machine unless something else is said.
pub struct Ask {
    method: Method,
    path: String,
    headers: Vec<(String, String)>,
    body: Vec<u8>,
}

impl Ask {
    pub fn get(path: &str) -> Self {
        Self::new(Method::GET, path)
    }

    pub fn new(method: Method, path: &str) -> Self {
        let headers = vec![("host".to_owned(), "127.0.0.1:4717".to_owned())];
        Self { method, path: path.to_owned(), headers, body: Vec::new() }
    }

    /// A form as a browser sends it from our own page.
    pub fn form(path: &str, fields: &[(&str, &str)]) -> Self {
        let body: Vec<String> =
            fields.iter().map(|(name, value)| format!("{}={}", percent(name), percent(value))).collect();
        Self::new(Method::POST, path)
            .with("content-type", "application/x-www-form-urlencoded")
            .with("sec-fetch-site", "same-origin")
            .body(body.join("&"))
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

    /// Makes the request.
    pub async fn of(self, site: &Site) -> Answer {
        let mut request = Request::builder().method(self.method).uri(self.path);
        for (name, value) in self.headers {
            request = request.header(name, value);
        }
        let request = request
            .header(header::CONTENT_LENGTH, self.body.len())
            .body(Body::from(self.body))
            .expect("a request that can be written");
        let response = site.router.clone().oneshot(request).await.expect("an answer");
        let (parts, body) = response.into_parts();
        let body = to_bytes(body, 32 * 1024 * 1024).await.expect("a whole body");
        Answer {
            status: parts.status,
            headers: parts.headers,
            body: String::from_utf8(body.to_vec()).expect("text in an answer"),
        }
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
        self.html().select(&Selector::parse(selector).expect("a selector")).map(text).collect()
    }

    /// An attribute of the first element that a selector finds.
    pub fn attribute(&self, selector: &str, name: &str) -> Option<String> {
        let html = self.html();
        let found = html.select(&Selector::parse(selector).expect("a selector")).next()?;
        found.attr(name).map(str::to_owned)
    }

    /// What a browser would send of the form with this id or action: typed texts, ticked boxes, chosen options, no buttons.
    #[track_caller]
    pub fn form(&self, form: &str) -> Vec<(String, String)> {
        let html = self.html();
        let select = |text: &str| Selector::parse(text).expect("a selector");
        let found = html
            .select(&select("form"))
            .find(|found| found.attr("id") == Some(form) || found.attr("action") == Some(form));
        let found = found.unwrap_or_else(|| panic!("no form {form}: {}", self.body));
        let mut fields = Vec::new();
        for input in found.select(&select("input, select, textarea")) {
            let Some(name) = input.attr("name") else { continue };
            let value = match (input.value().name(), input.attr("type")) {
                (_, Some("checkbox" | "radio")) if input.attr("checked").is_none() => continue,
                ("textarea", _) => input.text().collect::<String>().trim_start_matches('\n').to_owned(),
                ("select", _) => {
                    let options: Vec<ElementRef> = input.select(&select("option")).collect();
                    let chosen = options.iter().find(|option| option.attr("selected").is_some()).or(options.first());
                    chosen.and_then(|option| option.attr("value")).unwrap_or_default().to_owned()
                }
                _ => input.attr("value").unwrap_or_default().to_owned(),
            };
            fields.push((name.to_owned(), value));
        }
        fields
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

fn percent(text: &str) -> String {
    text.bytes()
        .map(|byte| if byte.is_ascii_alphanumeric() { char::from(byte).to_string() } else { format!("%{byte:02X}") })
        .collect()
}
