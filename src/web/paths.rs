//! Every URL of the site. Routes and links both come from here, so that they cannot disagree.

use crate::{storage::JobId, web::assets};

/// What waits for us and for customers: the first page.
pub const START: &str = "/";
/// The list of jobs.
pub const JOBS: &str = "/jobs";
/// The rate book.
pub const RATES: &str = "/rates";
/// The shop's settings.
pub const SHOP: &str = "/shop";

/// GET: a form for a new job, blank or from an earlier one (`?from=ID`). POST makes it.
pub const NEW_JOB: &str = "/jobs/new";
/// A job at a glance: its stage, its figures, its messages, its trail.
pub const JOB: &str = "/jobs/{job}";
/// What the customer must carry.
pub const NEED: &str = "/jobs/{job}/need";
/// The design.
pub const TRAILER: &str = "/jobs/{job}/trailer";
/// POST: the design as typed, answered with the figures that it would give; nothing is kept.
pub const TRAILER_PREVIEW: &str = "/jobs/{job}/trailer/preview";
pub const WEIGHTS: &str = "/jobs/{job}/weights";
/// What the road rules say.
pub const ROAD: &str = "/jobs/{job}/road";
/// How full the members of the frame are.
pub const STRENGTH: &str = "/jobs/{job}/strength";
pub const RESTRAINT: &str = "/jobs/{job}/restraint";
/// Pins, wiring table, currents and cables.
pub const ELECTRICS: &str = "/jobs/{job}/electrics";
pub const CUTTING: &str = "/jobs/{job}/cutting";
/// What other choices of stock would cost.
pub const CHOICES: &str = "/jobs/{job}/cutting/choices";
pub const PARTS: &str = "/jobs/{job}/parts";
/// The arrangement drawing on sheets: `?paper=A3&deck=off&loads=off&marks=on`.
pub const DRAWINGS: &str = "/jobs/{job}/drawings";
/// A sheet for each part of the cut list.
pub const PART_DRAWINGS: &str = "/jobs/{job}/drawings/parts";
/// A flat part as DXF, by its mark.
pub const PART_DXF: &str = "/jobs/{job}/drawings/parts/{mark}";
pub const HOURS: &str = "/jobs/{job}/hours";
/// The build-up and the offer. POST keeps the offer.
pub const PRICE: &str = "/jobs/{job}/price";
/// What the customer could choose of the options.
pub const OFFERED: &str = "/jobs/{job}/price/options";
/// One derived value replaced by hand: `?key=part/coupling`. POST keeps or drops it.
pub const OVERRULE: &str = "/jobs/{job}/overrule";
/// The whole calculation as one document.
pub const CALCULATION: &str = "/jobs/{job}/calculation";
/// The open spec's calculation and cutting plans as PDF; their heads say that nothing is issued.
pub const CALCULATION_PDF: &str = "/jobs/{job}/calculation.pdf";
pub const CUTTING_PDF: &str = "/jobs/{job}/cutting.pdf";
/// POST: a written answer to a failing check.
pub const ANSWER: &str = "/jobs/{job}/answer";
/// The issued revisions. POST issues the next.
pub const REVISIONS: &str = "/jobs/{job}/revisions";
/// How far the plan of a revision is, or what became of it.
pub const PLAN: &str = "/jobs/{job}/plans/{plan}";
/// POST: ends the plan; nothing is issued.
pub const PLAN_CANCEL: &str = "/jobs/{job}/plans/{plan}/cancel";
pub const REVISION: &str = "/jobs/{job}/revisions/{number}";
/// The frozen cutting plans, for the saw.
pub const REVISION_CUTTING: &str = "/jobs/{job}/revisions/{number}/cutting";
/// The frozen drawings.
pub const REVISION_DRAWINGS: &str = "/jobs/{job}/revisions/{number}/drawings";
pub const REVISION_PART_DRAWINGS: &str = "/jobs/{job}/revisions/{number}/drawings/parts";
pub const REVISION_PART_DXF: &str = "/jobs/{job}/revisions/{number}/drawings/parts/{mark}";
/// The frozen calculation.
pub const REVISION_CALCULATION: &str = "/jobs/{job}/revisions/{number}/calculation";
/// What changed since an earlier revision: `?since=1`, the one before where it is not said.
pub const REVISION_CHANGED: &str = "/jobs/{job}/revisions/{number}/changed";
/// What other choices of stock would have cost, from the frozen plans.
pub const REVISION_CHOICES: &str = "/jobs/{job}/revisions/{number}/choices";
/// The frozen documents as PDF.
pub const REVISION_QUOTE_PDF: &str = "/jobs/{job}/revisions/{number}/quote.pdf";
pub const REVISION_DRAWING_PDF: &str = "/jobs/{job}/revisions/{number}/drawing.pdf";
pub const REVISION_CALCULATION_PDF: &str = "/jobs/{job}/revisions/{number}/calculation.pdf";
pub const REVISION_CUTTING_PDF: &str = "/jobs/{job}/revisions/{number}/cutting.pdf";
/// POST: a new link to the customer's copy; the answer shows it, once.
pub const REVISION_LINK: &str = "/jobs/{job}/revisions/{number}/link";
/// POST: the links to the customer's copy stop working.
pub const REVISION_REVOKE: &str = "/jobs/{job}/revisions/{number}/revoke";
/// POST: what the customer chose goes into the open design.
pub const REVISION_TAKE: &str = "/jobs/{job}/revisions/{number}/take";
/// POST: moves the job to another stage.
pub const STAGE: &str = "/jobs/{job}/stage";
/// POST: an answer in the customer's thread.
pub const MESSAGES: &str = "/jobs/{job}/messages";
/// GET: a form for a new item of the rate book. POST adds it.
pub const NEW_ITEM: &str = "/rates/new";
/// Prices of a class changed by per cent: GET asks, POST shows every line or applies them.
pub const BULK: &str = "/rates/bulk";
/// An item with its history. POST changes what it is.
pub const ITEM: &str = "/rates/items/{code}";
/// POST: a new dated price.
pub const ITEM_PRICE: &str = "/rates/items/{code}/price";
/// POST: takes the item out of use, or back.
pub const ITEM_RETIRE: &str = "/rates/items/{code}/retire";
/// A customer's copy of a revision.
pub const COPY: &str = "/q/{token}";
/// The customer's copy as PDF.
pub const COPY_PDF: &str = "/q/{token}/quote.pdf";
/// POST: a question.
pub const COPY_ASK: &str = "/q/{token}/ask";
pub const COPY_ACCEPT: &str = "/q/{token}/accept";
pub const COPY_DECLINE: &str = "/q/{token}/decline";

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

/// Puts values into the places of a pattern, in order, percent-encoded.
fn fill(pattern: &str, values: &[&str]) -> String {
    let mut path = String::with_capacity(pattern.len() + 16);
    let mut values = values.iter();
    let mut rest = pattern;
    while let Some((before, after)) = rest.split_once('{') {
        path.push_str(before);
        path.push_str(&encoded(values.next().copied().unwrap_or_default()));
        rest = after.split_once('}').map_or("", |(_, rest)| rest);
    }
    path.push_str(rest);
    path
}

/// A text as one part of a path or one value of a query: everything but unreserved characters (RFC 3986, 2.3) encoded.
pub fn encoded(text: &str) -> String {
    use std::fmt::Write;
    text.bytes().fold(String::with_capacity(text.len()), |mut path, byte| {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            path.push(char::from(byte));
        } else {
            let _ = write!(path, "%{byte:02X}");
        }
        path
    })
}

/// One of a job's pages, by its pattern: `of_job(paths::NEED, id)`.
pub fn of_job(pattern: &str, job: &JobId) -> String {
    fill(pattern, &[&job.to_string()])
}

/// The form for a new job made from an earlier one.
pub fn new_job_from(job: &JobId) -> String {
    format!("{NEW_JOB}?from={job}")
}

/// The page that overrules one derived value.
pub fn overrule(job: &JobId, key: &str) -> String {
    format!("{}?key={}", of_job(OVERRULE, job), encoded(key))
}

/// One of a revision's pages, by its pattern.
pub fn of_revision(pattern: &str, job: &JobId, number: &u32) -> String {
    fill(pattern, &[&job.to_string(), &number.to_string()])
}

/// A flat part of a job as DXF.
pub fn part_dxf(job: &JobId, mark: &str) -> String {
    fill(PART_DXF, &[&job.to_string(), mark])
}

/// A flat part of a revision as DXF.
pub fn revision_part_dxf(job: &JobId, number: u32, mark: &str) -> String {
    fill(REVISION_PART_DXF, &[&job.to_string(), &number.to_string(), mark])
}

/// A plan's page, or the address that cancels it, by its pattern.
pub fn of_plan(pattern: &str, job: &JobId, plan: &i64) -> String {
    fill(pattern, &[&job.to_string(), &plan.to_string()])
}

/// One of an item's pages, by its pattern.
pub fn of_item(pattern: &str, code: &str) -> String {
    fill(pattern, &[code])
}

/// A customer's copy.
pub fn customer(token: &str) -> String {
    fill(COPY, &[token])
}

pub fn customer_pdf(token: &str) -> String {
    fill(COPY_PDF, &[token])
}

pub fn customer_ask(token: &str) -> String {
    fill(COPY_ASK, &[token])
}

pub fn customer_accept(token: &str) -> String {
    fill(COPY_ACCEPT, &[token])
}

pub fn customer_decline(token: &str) -> String {
    fill(COPY_DECLINE, &[token])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_with_any_character_is_one_part_of_a_path() {
        assert_eq!(of_item(ITEM_PRICE, "RHS 60/40?é"), "/rates/items/RHS%2060%2F40%3F%C3%A9/price");
        assert_eq!(customer("a-b_c"), "/q/a-b_c");
    }
}
