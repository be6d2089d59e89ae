//! Every URL of the site. Routes and links both come from here, so that they cannot disagree.

use crate::{
    storage::{JobId, LineId, OrderId, PersonId, SessionId},
    web::assets,
};

/// What waits for us and for customers: the first page.
pub const START: &str = "/";
/// The list of jobs.
pub const JOBS: &str = "/jobs";
/// The rate book.
pub const RATES: &str = "/rates";
/// Bars, offcuts and sheets that the shop has.
pub const RACK: &str = "/rack";
/// GET: a form for pieces that come in. POST enters them.
pub const RACK_RECEIVE: &str = "/rack/receive";
/// Tags to print: `?tag=R-0001&tag=R-0002`, else of all pieces.
pub const RACK_TAGS: &str = "/rack/tags";
/// What is to be bought for jobs: `?chosen=yes&job=7&job=8&consumables=on`, else for all that are accepted or in the shop.
pub const PURCHASE_LIST: &str = "/purchase-list";
/// The same as a file.
pub const PURCHASE_LIST_CSV: &str = "/purchase-list.csv";
/// POST: what the list says of one supplier was ordered.
pub const ORDER_PLACE: &str = "/purchase-list/order";
/// `POST`: records an order of what has no supplier.
pub const ORDER_BY_HAND: &str = "/purchase-list/order-by-hand";
/// The orders that were placed: `?page=2`.
pub const ORDERS: &str = "/purchase-list/orders";
/// An order. POST says that it arrived, or not after all.
pub const ORDER: &str = "/purchase-list/orders/{order}";
/// POST: the order is cancelled.
pub const ORDER_CANCEL: &str = "/purchase-list/orders/{order}/cancel";
/// A piece and its history. POST reserves, frees, cuts or scraps it.
pub const PIECE: &str = "/rack/pieces/{tag}";
/// POST: a piece is of another size than the ledger says.
pub const PIECE_CORRECT: &str = "/rack/pieces/{tag}/correct";
/// Choosing accepted jobs that are planned together. POST plans them.
pub const TOGETHER: &str = "/rack/together";
/// How far the common plan is, then the plan.
pub const COMMON_PLAN: &str = "/rack/together/{plan}";
/// POST: ends it.
pub const COMMON_PLAN_CANCEL: &str = "/rack/together/{plan}/cancel";
/// The same as PDF, for the saw.
pub const COMMON_PLAN_PDF: &str = "/rack/together/{plan}/cutting.pdf";
/// `POST`: releases the jobs to the workshop by this plan.
pub const COMMON_PLAN_RELEASE: &str = "/rack/together/{plan}/release";
/// The shop's settings.
pub const SHOP: &str = "/shop";
/// Copies of the shop's file, and how the server makes them each night. POST keeps the setting.
pub const COPIES: &str = "/copies";
/// POST: makes a copy at once.
pub const COPY_NOW: &str = "/copies/now";

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
/// The built trailer as binary glTF.
pub const TRAILER_SCENE: &str = "/jobs/{job}/trailer.glb";
/// The designs of the job side by side. POST lays a copy aside, chooses one, drops one, or offers one as an option.
pub const VARIANTS: &str = "/jobs/{job}/variants";
pub const WEIGHTS: &str = "/jobs/{job}/weights";
/// What the road rules say.
pub const ROAD: &str = "/jobs/{job}/road";
/// How full the members of the frame are.
pub const STRENGTH: &str = "/jobs/{job}/strength";
pub const RESTRAINT: &str = "/jobs/{job}/restraint";
/// Pins, wiring table, currents and cables.
pub const ELECTRICS: &str = "/jobs/{job}/electrics";
/// The workshop's papers.
pub const PACK: &str = "/jobs/{job}/pack";
/// What the job takes from the rack, and what returns to it.
pub const JOB_RACK: &str = "/jobs/{job}/rack";
/// POST: the pieces that the job's plan takes are reserved for it, others that it had are freed.
pub const JOB_RESERVE: &str = "/jobs/{job}/rack/reserve";
/// POST: remainders of the released plan go on the rack.
pub const JOB_RETURN: &str = "/jobs/{job}/rack/return";
/// GET: the plan with the rack of this hour beside the priced one. POST releases the job to the workshop.
pub const RELEASE: &str = "/jobs/{job}/release";
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
pub const DRAWINGS_PDF: &str = "/jobs/{job}/drawings.pdf";
/// POST: a written answer to a failing check.
pub const ANSWER: &str = "/jobs/{job}/answer";
/// The issued revisions. POST issues the next.
pub const REVISIONS: &str = "/jobs/{job}/revisions";
/// How far the plan of a revision is, or what became of it.
pub const PLAN: &str = "/jobs/{job}/plans/{plan}";
/// POST: ends the plan; nothing is issued.
pub const PLAN_CANCEL: &str = "/jobs/{job}/plans/{plan}/cancel";
pub const REVISION: &str = "/jobs/{job}/revisions/{number}";
/// The frozen trailer as binary glTF.
pub const REVISION_SCENE: &str = "/jobs/{job}/revisions/{number}/trailer.glb";
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
/// What the customer reads, for the shop's own eyes.
pub const REVISION_COPY: &str = "/jobs/{job}/revisions/{number}/copy";
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
/// POST: erases the job's customer, on their request.
pub const ERASE_CUSTOMER: &str = "/jobs/{job}/erase-customer";
/// POST: an answer in the customer's thread.
pub const MESSAGES: &str = "/jobs/{job}/messages";
/// GET: a form for a new item of the rate book. POST adds it.
pub const NEW_ITEM: &str = "/rates/new";
/// Prices of a class changed by per cent: GET asks, POST shows every line or applies them.
pub const BULK: &str = "/rates/bulk";
/// POST: takes a change of many prices back.
pub const BULK_UNDO: &str = "/rates/bulk/{batch}/undo";
/// How the prices of each class moved.
pub const INDEX: &str = "/rates/index";
/// What today's prices do to open quotes: `?page=2`.
pub const OPEN_QUOTES: &str = "/rates/open-quotes";
/// GET: how a price list is written. POST sends one.
pub const PRICE_LIST: &str = "/rates/list";
/// All prices as such a list, and a small one to start from.
pub const PRICE_LIST_CSV: &str = "/rates/list.csv";
pub const SAMPLE_CSV: &str = "/rates/sample.csv";
/// A list that was sent: what each row would do. POST writes it.
pub const PRICE_LIST_SENT: &str = "/rates/list/{list}";
/// POST: another supplier's price of an item, or the end of it.
pub const ITEM_SUPPLY: &str = "/rates/items/{code}/supply";
/// POST: which supplier prices an item.
pub const ITEM_PRICED_BY: &str = "/rates/items/{code}/priced-by";
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
/// The copy's trailer as binary glTF: shapes alone.
pub const COPY_SCENE: &str = "/q/{token}/trailer.glb";
/// POST: a question.
pub const COPY_ASK: &str = "/q/{token}/ask";
pub const COPY_ACCEPT: &str = "/q/{token}/accept";
pub const COPY_DECLINE: &str = "/q/{token}/decline";

/// GET: asks for name and password (`?next=PATH`: where to go on). POST signs in.
pub const SIGN_IN: &str = "/sign-in";
/// POST: ends the session of this browser.
pub const SIGN_OUT: &str = "/sign-out";
/// POST: ends the person's sessions in every browser.
pub const SIGN_OUT_EVERYWHERE: &str = "/me/sign-out-everywhere";
/// POST: ends one of the person's own sessions.
pub const MY_SESSION_END: &str = "/me/sessions/{session}/end";
/// The person's own page.
pub const ME: &str = "/me";
/// POST: another password.
pub const MY_PASSWORD: &str = "/me/password";
/// Who works here. POST adds a person.
pub const PEOPLE: &str = "/people";
/// POST: another role.
pub const PERSON_ROLE: &str = "/people/{person}/role";
/// POST: switches a person off, or on again.
pub const PERSON_ACTIVE: &str = "/people/{person}/active";
/// POST: a new link by which the person chooses a password; the answer shows it, once.
pub const PERSON_LINK: &str = "/people/{person}/link";
/// Choosing a first or new password, by a link that works once.
pub const SET_UP: &str = "/set-up/{token}";
/// Whether the server is well, for a supervisor or a reverse proxy.
pub const HEALTH: &str = "/health";
/// Every component of the look on one page, for contributors; in debug builds only.
pub const COMPONENTS: &str = "/components";

/// Style sheet, scripts and pictures.
pub const STATIC: &str = "/static/{*file}";
/// A file of `static/`, with its version: its URL changes when its content does.
pub fn asset(file: &str) -> String {
    match assets::version(file) {
        Some(version) => format!("/static/{file}?v={version}"),
        None => format!("/static/{file}"),
    }
}

/// The secret of a path that leads to a customer's copy, or would.
pub fn token_in(path: &str) -> Option<&str> {
    let (before, _) = COPY.split_once('{')?;
    path.strip_prefix(before)?.split('/').next()
}

/// Whether the paths of a pattern hold a secret.
pub fn is_secret(pattern: &str) -> bool {
    pattern.contains("{token}")
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

/// The purchase list of one job.
pub fn purchases_of(job: &JobId) -> String {
    format!("{PURCHASE_LIST}?chosen=yes&consumables=on&job={job}")
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

/// One of the pages of a plan of several jobs, by its pattern.
pub fn of_common_plan(pattern: &str, plan: &i64) -> String {
    fill(pattern, &[&plan.to_string()])
}

/// One of an item's pages, by its pattern.
pub fn of_item(pattern: &str, code: &str) -> String {
    fill(pattern, &[code])
}

/// The sign-in that leads on to a page.
pub fn sign_in_for(next: &str) -> String {
    if next == START { SIGN_IN.to_owned() } else { format!("{SIGN_IN}?next={}", encoded(next)) }
}

/// One of a person's addresses, by its pattern.
pub fn of_person(pattern: &str, person: &PersonId) -> String {
    fill(pattern, &[&person.to_string()])
}

/// Where one of the person's own sessions is ended.
pub fn end_session(session: &SessionId) -> String {
    fill(MY_SESSION_END, &[&session.to_string()])
}

/// Where a set-up link leads.
pub fn set_up(token: &str) -> String {
    fill(SET_UP, &[token])
}

/// Where a change of many prices is taken back.
pub fn undo(batch: &i64) -> String {
    fill(BULK_UNDO, &[&batch.to_string()])
}

/// One of a piece's pages, by its pattern.
pub fn of_piece(pattern: &str, tag: &str) -> String {
    fill(pattern, &[tag])
}

/// One of an order's addresses, by its pattern.
pub fn of_order(pattern: &str, order: &OrderId) -> String {
    fill(pattern, &[&order.to_string()])
}

/// The form for pieces that come with a line of an order.
pub fn receive_ordered(line: &LineId) -> String {
    format!("{RACK_RECEIVE}?line={line}")
}

/// A price list that was sent.
pub fn price_list(id: &i64) -> String {
    fill(PRICE_LIST_SENT, &[&id.to_string()])
}

/// A customer's copy.
pub fn customer(token: &str) -> String {
    fill(COPY, &[token])
}

/// The copy after a question was sent, with what is chosen on it.
pub fn customer_asked(token: &str, chosen: &[usize]) -> String {
    let chosen: String = chosen.iter().map(|place| format!("&with={place}")).collect();
    format!("{}?asked=yes{chosen}", customer(token))
}

pub fn customer_pdf(token: &str) -> String {
    fill(COPY_PDF, &[token])
}

pub fn customer_scene(token: &str) -> String {
    fill(COPY_SCENE, &[token])
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
        assert_eq!(
            ["/q/a-b_c", "/q/a-b_c/ask/more", "/q", "/jobs"].map(token_in),
            [Some("a-b_c"), Some("a-b_c"), None, None]
        );
    }
}
