//! In which language a customer is answered where no quote is shown: that of the quote behind their link; where nobody made such a
//! link, the one that their browser asks for; else the shop's.

use std::time::Duration;

use axum::http::{HeaderMap, header};

use crate::{
    domain::words::Words,
    web::{AppState, frame::Frame},
};

/// A page that says what went wrong does not wait longer for the store to name its language.
const PATIENCE: Duration = Duration::from_secs(1);

/// The language for whoever opened the link of this token (or, without one, an address that is no link).
pub(super) async fn of_reader(state: &AppState, token: Option<&str>, frame: &Frame) -> &'static Words {
    let known = async {
        if let Some(token) = token
            && let Some(tag) = state.store.language_behind(token).await?
        {
            return Ok((Some(Words::of(&tag)), None));
        }
        Ok::<_, crate::storage::Error>((None, state.store.shop_language().await?))
    };
    let (of_quote, of_shop) = match tokio::time::timeout(PATIENCE, known).await {
        Ok(Ok(found)) => found,
        Ok(Err(fault)) => {
            tracing::warn!(%fault, "the language of a customer's page was not found");
            (None, None)
        }
        Err(_) => (None, None),
    };
    of_quote.unwrap_or_else(|| between(frame.wished, of_shop.as_deref().map(Words::of)))
}

/// Of one language the shop's own region counts, unless the browser names another that there is a file for.
fn between(wished: Option<&'static Words>, shop: Option<&'static Words>) -> &'static Words {
    match (wished, shop) {
        (Some(wished), Some(shop)) if wished.tag() == shop.language() => shop,
        (Some(words), _) | (None, Some(words)) => words,
        (None, None) => Words::english(),
    }
}

/// The catalogue's language that stands highest in `Accept-Language` (RFC 9110, 12.5.4): its region, else its language.
/// None where the browser leaves it open or asks for none that there is.
pub(super) fn wished(headers: &HeaderMap) -> Option<&'static Words> {
    let lines = headers.get_all(header::ACCEPT_LANGUAGE).iter().filter_map(|line| line.to_str().ok());
    let mut best: Option<(f64, &'static Words)> = None;
    for range in lines.flat_map(|line| line.split(',')) {
        let (tag, weight) = range.split_once(';').map_or((range, None), |(tag, weight)| (tag, Some(weight)));
        let weight = match weight {
            None => 1.0,
            Some(weight) => match weight.trim().strip_prefix("q=").and_then(|weight| weight.trim().parse().ok()) {
                Some(weight) => weight,
                None => continue,
            },
        };
        let Some(words) = found(tag.trim()) else { continue };
        // Of equal weights the first counts; a weight of 0 says "not this one".
        if weight > best.map_or(0.0, |(best, _)| best) {
            best = Some((weight, words));
        }
    }
    best.map(|(_, words)| words)
}

fn found(tag: &str) -> Option<&'static Words> {
    let of = |tag: &str| Words::all().iter().find(|words| words.tag().eq_ignore_ascii_case(tag));
    of(tag).or_else(|| of(tag.split('-').next().unwrap_or_default()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(line: &str) -> Option<&'static str> {
        let mut headers = HeaderMap::new();
        headers.insert(header::ACCEPT_LANGUAGE, line.parse().expect("a header"));
        wished(&headers).map(Words::tag)
    }

    #[test]
    fn what_the_browser_asks_for_first_and_we_have_counts() {
        for (line, expected) in [
            ("de", Some("de")),
            ("de-LI, en;q=0.8", Some("de")),
            ("DE-ch", Some("de-CH")),
            ("xx, en;q=0.5, de;q=0.7", Some("de")),
            ("en-GB;q=0.5, de;q=0.5", Some("en")),
            ("de;q=0, en;q=0.1", Some("en")),
            ("de ; q=0.9 , en ; q=0.3", Some("de")),
            ("de;q=high, en;q=0.3", Some("en")),
            ("xx, *;q=0.5", None),
            ("", None),
            (";;,=,-", None),
        ] {
            assert_eq!(asked(line), expected, "{line}");
        }
        assert_eq!(wished(&HeaderMap::new()), None);
    }

    #[test]
    fn the_shops_region_counts_within_the_language_that_was_asked_for() {
        let of = |tag: &str| Some(Words::of(tag));
        assert_eq!(between(of("de"), of("de-CH")).tag(), "de-CH");
        assert_eq!(between(of("de-AT"), of("de-CH")).tag(), "de-AT");
        assert_eq!(between(of("en"), of("de-CH")).tag(), "en");
        assert_eq!(between(None, of("de-CH")).tag(), "de-CH");
        assert_eq!(between(None, None).tag(), "en");
    }
}
