//! Every URL of the site. Routes and links both come from here, so that they cannot disagree.

use crate::web::assets;

/// What waits for us and for customers: the first page.
pub const START: &str = "/";
/// The list of jobs.
pub const JOBS: &str = "/jobs";
/// The rate book.
pub const RATES: &str = "/rates";
/// The shop's settings.
pub const SHOP: &str = "/shop";

/// POST: the name that signs what is done in this browser.
pub const NAME: &str = "/name";
/// Whether the server is well, for a supervisor or a reverse proxy.
pub const HEALTH: &str = "/health";
/// Every component of the look on one page, for contributors; in debug builds only.
pub const COMPONENTS: &str = "/components";

/// Style sheet, scripts and pictures.
pub const STATIC: &str = "/static/{*file}";
/// All customers' copies stand under this path, and nothing else does.
pub const CUSTOMER: &str = "/q/";

/// A file of `static/`, with its version: its URL changes when its content does.
pub fn asset(file: &str) -> String {
    match assets::version(file) {
        Some(version) => format!("/static/{file}?v={version}"),
        None => format!("/static/{file}"),
    }
}

/// Whether a path belongs to the customers' copies.
pub fn is_customers(path: &str) -> bool {
    path.starts_with(CUSTOMER)
}

/// Whether a path may be served to anyone who reaches us: it holds nothing of the shop's.
pub fn is_harmless(path: &str) -> bool {
    path == HEALTH || path.starts_with("/static/")
}
