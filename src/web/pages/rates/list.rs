//! The rate book as a list by class, with prices that are edited in place.

use std::collections::BTreeMap;

use askama::Template;
use axum::{Router, extract::State, http::StatusCode, response::Response, routing::get};
use jiff::civil::Date;
use serde::Deserialize;

use crate::{
    domain::{
        measure::Money,
        shop::{ItemClass, PricedBy, ShopBook},
    },
    storage::KeptItem,
    web::{
        AppState, Result, clock,
        extract::Query,
        form::Form,
        frame::{Frame, Room},
        pages, paths,
        show::Show,
    },
};

/// The next prices, by code.
type Coming = BTreeMap<String, (Date, Money)>;

#[derive(Template)]
#[template(path = "web/rates/list.html")]
pub struct Page {
    frame: Frame,
    search: Form,
    groups: Vec<Group>,
    /// Where an edit in place comes back to.
    here: String,
}

struct Group {
    name: &'static str,
    rows: Vec<Row>,
}

struct Row {
    code: String,
    anchor: String,
    name: String,
    supplier: String,
    since: String,
    age: String,
    /// The next price and its day, where one is known.
    coming: String,
    /// Other suppliers price it today.
    priced_by: String,
    is_old: bool,
    is_retired: bool,
    /// As typed, where it could not be kept.
    price: String,
    unit: &'static str,
    /// Sizes with prices of their own move along.
    sizes_move: bool,
    version: i64,
}

#[derive(Clone, Debug, Default, Deserialize)]
pub(super) struct Asked {
    #[serde(default)]
    search: String,
    #[serde(default)]
    class: String,
    #[serde(default)]
    retired: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::RATES, get(show))
}

async fn show(State(state): State<AppState>, frame: Frame, Query(asked): Query<Asked>) -> Result<Response> {
    let today = clock::today();
    let shop = state.shop(today).await?;
    let items = state.store.items(today, ItemClass::from_word(&asked.class)).await?;
    let coming = state.store.coming_prices(today).await?;
    let page = Page::of(frame.at(Room::Rates), &asked, &items, &coming, &shop);
    pages::page(StatusCode::OK, &page)
}

impl Asked {
    fn suits(&self, kept: &KeptItem) -> bool {
        let item = &kept.item;
        let text = format!("{} {} {}", item.code, item.name, item.supplier).to_lowercase();
        let is_found = self.search.to_lowercase().split_whitespace().all(|word| text.contains(word));
        is_found && (!item.retired || !self.retired.is_empty())
    }
}

impl Page {
    fn of(frame: Frame, asked: &Asked, items: &[KeptItem], coming: &Coming, shop: &ShopBook) -> Self {
        let show = Show::of(shop);
        let row = |kept: &KeptItem| Row::of(kept, coming, shop, &show);
        let of_class = |class: &ItemClass| -> Vec<Row> {
            items.iter().filter(|kept| kept.item.class == *class && asked.suits(kept)).map(row).collect()
        };
        let groups = ItemClass::ALL.iter().map(|class| Group { name: class.label(), rows: of_class(class) });
        let mut search = Form::filled([("search", asked.search.as_str()), ("class", asked.class.as_str())]);
        if !asked.retired.is_empty() {
            search.add("retired", "on");
        }
        let encoded = paths::encoded;
        let here = format!(
            "{}?search={}&class={}&retired={}",
            paths::RATES,
            encoded(&asked.search),
            encoded(&asked.class),
            encoded(&asked.retired)
        );
        Self { frame, search, groups: groups.filter(|group| !group.rows.is_empty()).collect(), here }
    }

    fn classes(&self) -> Vec<(&'static str, &'static str)> {
        [("", "all")].into_iter().chain(ItemClass::WORDS.iter().copied()).collect()
    }

    fn found(&self) -> String {
        match self.groups.iter().map(|group| group.rows.len()).sum::<usize>() {
            0 => "No item is like that.".into(),
            1 => "1 item".into(),
            many => format!("{many} items"),
        }
    }
}

impl Row {
    fn of(kept: &KeptItem, coming: &Coming, shop: &ShopBook, show: &Show) -> Self {
        let today = shop.rates.day;
        let item = &kept.item;
        let age = item.price_age_days(today);
        Self {
            anchor: anchor(&item.code),
            code: item.code.clone(),
            name: item.name.clone(),
            supplier: item.supplier.clone(),
            since: show.day(item.from),
            age: match age {
                0 => "today".into(),
                1 => "1 day".into(),
                days => format!("{days} days"),
            },
            coming: coming.get(&item.code).map_or_else(String::new, |(from, price)| {
                format!("{} from {}", show.exact_money(*price), show.day(*from))
            }),
            priced_by: match &kept.priced_by {
                PricedBy::First => String::new(),
                PricedBy::Cheapest => "the cheapest supplier prices it".into(),
                PricedBy::Supplier(name) => format!("{name} prices it"),
            },
            is_old: i64::from(age) > i64::from(shop.policy.age_days(item.class)),
            is_retired: item.retired,
            price: show.exact_money(item.price),
            unit: item.unit.label(),
            sizes_move: item.has_size_prices(),
            version: kept.version.0,
        }
    }
}

/// The place of an item on the page.
pub(super) fn anchor(code: &str) -> String {
    format!(
        "item-{}",
        code.chars().map(|char| if char.is_ascii_alphanumeric() { char } else { '-' }).collect::<String>()
    )
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let shop = ShopBook::demo();
        let kept = |item: &crate::domain::shop::Item| KeptItem {
            item: item.clone(),
            version: crate::storage::Version(1),
            changed_at: jiff::Timestamp::UNIX_EPOCH,
            changed_by: "Ann <b>".into(),
            retired_on: None,
            article: String::new(),
            priced_by: PricedBy::Cheapest,
        };
        let mut items: Vec<KeptItem> = shop.rates.items.iter().map(kept).collect();
        items[0].item.name = "Ann <b>".into();
        let [nobody, ann] = Frame::samples();
        let asked = Asked { search: "<b>".into(), ..Asked::default() };
        let coming = Coming::from([(items[1].item.code.clone(), (shop.rates.day, Money::ZERO))]);
        vec![Self::of(nobody, &asked, &items, &coming, &shop), Self::of(ann, &Asked::default(), &items, &coming, &shop)]
    }
}
