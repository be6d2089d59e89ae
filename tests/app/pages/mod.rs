//! The pages through HTTP, as a browser without scripts uses them.

mod book;
mod buying;
mod changed;
mod checks;
mod copies;
mod customer;
mod jobs;
mod languages;
mod options;
mod orders;
mod papers;
mod plans;
mod price_lists;
mod rack;
mod rates;
mod release;
mod scenes;
mod sweep;
mod together;
mod variants;
mod workshop;
mod wrong;

pub use crate::html::{Fields, changed, fields};
use crate::support::{Answer, Ask, Site, shop_site};

/// The owner's browser.
pub struct Desk {
    pub site: Site,
}

impl Desk {
    pub async fn open() -> Self {
        Self { site: shop_site().await }
    }

    pub async fn get(&self, path: &str) -> Answer {
        Ask::get(path).of(&self.site).await
    }

    pub async fn post(&self, path: &str, fields: &Fields) -> Answer {
        let fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
        Ask::form(path, &fields).of(&self.site).await
    }

    /// Opens a page, changes fields of a form on it and sends it.
    pub async fn send(&self, page: &str, form: &str, changes: &[(&str, &str)]) -> Answer {
        let fields = changed(self.get(page).await.form(form), changes);
        let action = if form.starts_with('/') { form } else { page };
        self.post(action, &fields).await
    }

    /// A new job for this customer; its path.
    pub async fn new_job(&self, title: &str, customer: &str) -> String {
        let fields = fields(&[("title", title), ("customer", customer)]);
        let answer = self.post("/jobs/new", &fields).await;
        answer.assert_redirect().strip_suffix("/need").expect("on to the need").to_owned()
    }

    /// A job that carries one load.
    pub async fn job_with_load(&self) -> String {
        let job = self.new_job("Hives to the heath", "Ann").await;
        let need = format!("{job}/need");
        let added = self.send(&need, "need", &[("action", "add:need.loads")]).await;
        let load = changed(
            added.form("need"),
            &[
                ("need.loads.0.name", "hives"),
                ("need.loads.0.mass", "320 kg"),
                ("need.loads.0.length", "1800"),
                ("need.loads.0.width", "1000"),
                ("need.loads.0.height", "700"),
                ("action", "save"),
            ],
        );
        self.post(&need, &load).await.assert_redirect();
        job
    }

    /// Answers every failing check in writing.
    pub async fn answer_checks(&self, job: &str) {
        for _ in 0..30 {
            let price = self.get(&format!("{job}/price")).await;
            let html = price.html();
            let select = |text: &str| scraper::Selector::parse(text).expect("a selector");
            let open = html.select(&select("form")).find_map(|form| {
                let is_answer = form.attr("action") == Some(format!("{job}/answer").as_str());
                let text: String = form.select(&select("textarea")).flat_map(|area| area.text()).collect();
                let key = form.select(&select("input[name=key]")).next()?.attr("value")?.to_owned();
                (is_answer && text.trim().is_empty()).then_some(key)
            });
            let Some(key) = open else { return };
            let answer = fields(&[("key", &key), ("answer", "Looked at with the customer; agreed.")]);
            self.post(&format!("{job}/answer"), &answer).await.assert_redirect();
        }
        panic!("checks without end");
    }

    /// Issues a revision; its path.
    pub async fn issue(&self, job: &str) -> String {
        let page = format!("{job}/revisions");
        let answer = self.send(&page, &page, &[]).await;
        answer.assert_redirect().to_owned()
    }

    /// A link for the customer; its path.
    pub async fn link(&self, revision: &str) -> String {
        let page = self.post(&format!("{revision}/link"), &Fields::new()).await;
        assert_eq!(page.status, 200, "{}", page.body);
        let link = page.attribute("[data-test=link]", "href").expect("a link");
        link.strip_prefix("https://quotes.example.com").expect("the public address").to_owned()
    }
}
