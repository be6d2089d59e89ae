//! How the prices of each class moved: the chained index of its items.

use askama::Template;
use axum::{Router, extract::State, http::StatusCode, response::Response, routing::get};
use rust_decimal::prelude::ToPrimitive;

use crate::{
    documents::chart,
    domain::shop::{ItemClass, class_index, movement},
    web::{
        AppState, Result, clock,
        frame::{Frame, Room},
        pages, paths,
        show::Show,
    },
};

#[derive(Template)]
#[template(path = "web/rates/index.html")]
pub struct Page {
    frame: Frame,
    classes: Vec<Class>,
}

struct Class {
    name: &'static str,
    svg: String,
    says: String,
    movement: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::INDEX, get(show))
}

async fn show(State(state): State<AppState>, frame: Frame) -> Result<Response> {
    let today = clock::today();
    let show = Show::of(&*state.shop(today).await?);
    let mut classes = Vec::new();
    for class in ItemClass::ALL {
        let prices = state.store.class_prices(*class, today).await?;
        let items = prices
            .iter()
            .map(|item| item.iter().map(|(day, price)| (*day, price.0.to_f64().unwrap_or(0.0))).collect::<Vec<_>>());
        let index = class_index(&items.collect::<Vec<_>>());
        let title = format!("Index of {}", class.label());
        let Some(drawing) = chart::steps(&title, &index, today, &show) else { continue };
        let level = index.last().map_or(100.0, |(_, level)| *level);
        let since = index.first().map_or(today, |(day, _)| *day);
        let says = format!("{} today, 100 on {}; {} items", show.number(level, 1), show.day(since), prices.len());
        let movement = movement(*class).map_or_else(String::new, |movement| {
            format!(
                "95 of 100 changes of a public index ({}) stayed below {} % in a month and {} % in three.",
                movement.index, movement.month, movement.quarter
            )
        });
        classes.push(Class {
            name: class.label(),
            svg: drawing.svg(&format!("index-{}", class.word())),
            says,
            movement,
        });
    }
    pages::page(StatusCode::OK, &Page { frame: frame.at(Room::Rates), classes })
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [_, ann] = Frame::samples();
        let class = Class {
            name: "hollow sections",
            svg: "<svg></svg>".into(),
            says: "Ann <b>".into(),
            movement: String::new(),
        };
        vec![Self { frame: ann, classes: vec![class] }]
    }
}
