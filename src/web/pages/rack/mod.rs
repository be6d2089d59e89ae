//! The rack: what lies there, what comes in, and the history of each piece.

pub mod list;
pub mod piece;
pub mod receive;
pub mod tags;

use axum::Router;

use crate::{
    domain::{
        measure::{Tenths, read_length},
        rack::stock_length,
        shop::Stocked,
    },
    web::{AppState, form::Form, show::Show},
};

pub(super) fn router() -> Router<AppState> {
    Router::new().merge(list::router()).merge(receive::router()).merge(piece::router()).merge(tags::router())
}

/// Longer than any bar that a shop could lay down, so that a slip of the unit is seen.
const LONGEST_MM: f64 = 20_000.0;

/// A length of stock, between nothing and 20 m.
fn length(form: &mut Form, name: &str, label: &str, show: &Show) -> Option<Tenths> {
    let text = form.value(name).to_owned();
    match read_length(&text, show.hand().units) {
        Ok(length) if length.mm() >= 1.0 && length.mm() <= LONGEST_MM => Some(stock_length(length)),
        Ok(_) => {
            form.wrong(name, label, format!("“{text}” is out of range: type a length from 1 to 20000 mm."));
            None
        }
        Err(fault) => {
            form.wrong(name, label, format!("{fault}."));
            None
        }
    }
}

/// A text that must be there, of at most 200 characters.
fn words(form: &mut Form, name: &str, label: &str, wanted: &str) -> String {
    let text = form.value(name).trim().to_owned();
    if text.is_empty() || text.chars().count() > 200 {
        form.wrong(name, label, format!("Type {wanted}, in at most 200 characters."));
    }
    text
}

/// What a piece is, in words.
pub(in crate::web::pages) fn described(stock: &Stocked) -> String {
    match stock {
        Stocked::Bar { section, grade, .. } => format!("{section}, {grade}"),
        Stocked::Sheet { material, thickness, .. } => format!("{} {} mm", material.label(), thickness.mm()),
    }
}

/// How long (and wide) a piece is.
pub(in crate::web::pages) fn measured(stock: &Stocked, show: &Show) -> String {
    match stock {
        Stocked::Bar { length, .. } => show.length(length.mm()).main,
        Stocked::Sheet { length, width, .. } => {
            format!("{} × {}", show.length(length.mm()).main, show.length(width.mm()).main)
        }
    }
}
