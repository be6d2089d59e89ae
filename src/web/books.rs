//! The shop's books: nearly every page needs them and few change them, so they are read again only after something was written.

use std::sync::Arc;

use jiff::civil::Date;
use tokio::sync::Mutex;

use super::{AppState, Error, Result, clock};
use crate::{
    domain::shop::ShopBook,
    storage::{FileState, Version},
};

/// The books as they were last read.
#[derive(Debug, Default)]
pub(super) struct Books(Mutex<Option<(FileState, Date, KeptBook)>>);

/// The books of a day, with the version that a save of the shop's own must name.
#[derive(Clone, Debug)]
pub struct KeptBook {
    pub book: Arc<ShopBook>,
    pub version: Version,
}

impl AppState {
    /// The shop's books as of a day.
    ///
    /// # Errors
    /// The store's; and a shop that was never saved, which the server's start rules out.
    pub async fn shop(&self, day: Date) -> Result<Arc<ShopBook>> {
        Ok(self.kept_shop(day).await?.book)
    }

    /// The same, with the version that a save must name.
    pub async fn kept_shop(&self, day: Date) -> Result<KeptBook> {
        // Of many that ask after a change one reads; the others wait for it.
        let mut last = self.books.0.lock().await;
        // The file's state comes first: what is written while the books are read makes them be read again.
        let state = self.store.file_state().await?;
        if let Some((_, _, kept)) = last.as_ref().filter(|(then, of, _)| (*then, *of) == (state, day)) {
            return Ok(kept.clone());
        }
        let kept = self.store.shop_book(day).await?.ok_or_else(|| Error::internal("the shop was never set up"))?;
        let mut book = kept.book;
        if book.time_zone.is_empty() {
            book.time_zone = clock::zone_name();
        }
        let kept = KeptBook { book: Arc::new(book), version: kept.version };
        *last = Some((state, day, kept.clone()));
        Ok(kept)
    }
}
