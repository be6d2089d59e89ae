//! In which language a customer reads, by itself: asked for where nothing else of a quote may be shown.

use super::{Result, Store, token};

impl Store {
    /// The tag that the quote behind a link froze, also of a link that is open no longer; empty in revisions older than
    /// languages, none where nobody made such a link.
    pub async fn language_behind(&self, token: &str) -> Result<Option<String>> {
        let hash = token::hash(token);
        Ok(sqlx::query_scalar!(
            r#"SELECT COALESCE(json_extract(r.body, '$.shop.language'), '') AS "language!: String"
               FROM customer_link l JOIN revision r ON r.id = l.revision_id WHERE l.token_sha256 = $1"#,
            hash
        )
        .fetch_optional(&self.reads)
        .await?)
    }

    /// The tag of the shop's usual language; none before the shop was first saved.
    pub async fn shop_language(&self) -> Result<Option<String>> {
        Ok(sqlx::query_scalar!(
            r#"SELECT COALESCE(json_extract(body, '$.language'), '') AS "language!: String"
               FROM shop_book ORDER BY version DESC LIMIT 1"#
        )
        .fetch_optional(&self.reads)
        .await?)
    }
}
