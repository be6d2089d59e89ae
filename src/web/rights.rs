//! Who may do what: every route of the site with the roles that may use it. A request to a route that does not stand here is
//! refused, so a new page is closed until somebody says for whom it is.

use axum::http::Method;

use super::paths;
use crate::domain::people::Role::{self, Estimator, Owner, Workshop};

/// Who may use a route.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Who {
    /// Whoever reaches us: it holds nothing of the shop's.
    Anyone,
    /// Whoever holds a customer's link.
    Customer,
    /// Whoever is about to sign in, at an address at which the shop answers.
    Visitor,
    /// People who are signed in, of these roles.
    People(&'static [Role]),
}

/// One line of the table.
#[derive(Clone, Debug)]
pub struct Right {
    pub path: &'static str,
    /// `GET` (a `HEAD` counts as one) or `POST`.
    pub method: Method,
    pub who: Who,
}

const ALL: Who = Who::People(&Role::ALL);
const OFFICE: Who = Who::People(&[Owner, Estimator]);
const OWNER: Who = Who::People(&[Owner]);
/// What stands on a page for these holds no figure of money: a test looks at every one of them.
const BENCH: Who = Who::People(&[Owner, Estimator, Workshop]);

const fn get(path: &'static str, who: Who) -> Right {
    Right { path, method: Method::GET, who }
}

const fn post(path: &'static str, who: Who) -> Right {
    Right { path, method: Method::POST, who }
}

/// The table.
pub const RIGHTS: &[Right] = &[
    get(paths::HEALTH, Who::Anyone),
    get(paths::STATIC, Who::Anyone),
    // The customers' copies.
    get(paths::COPY, Who::Customer),
    get(paths::COPY_PDF, Who::Customer),
    get(paths::COPY_SCENE, Who::Customer),
    post(paths::COPY_ASK, Who::Customer),
    post(paths::COPY_ACCEPT, Who::Customer),
    post(paths::COPY_DECLINE, Who::Customer),
    // Coming in and going.
    get(paths::SIGN_IN, Who::Visitor),
    post(paths::SIGN_IN, Who::Visitor),
    get(paths::SET_UP, Who::Visitor),
    post(paths::SET_UP, Who::Visitor),
    post(paths::SIGN_OUT, ALL),
    post(paths::SIGN_OUT_EVERYWHERE, ALL),
    post(paths::MY_SESSION_END, ALL),
    get(paths::ME, ALL),
    post(paths::MY_PASSWORD, ALL),
    // People.
    get(paths::PEOPLE, OWNER),
    post(paths::PEOPLE, OWNER),
    post(paths::PERSON_ROLE, OWNER),
    post(paths::PERSON_ACTIVE, OWNER),
    post(paths::PERSON_LINK, OWNER),
    // The shop.
    get(paths::START, ALL),
    get(paths::SHOP, OWNER),
    post(paths::SHOP, OWNER),
    get(paths::COPIES, OWNER),
    post(paths::COPIES, OWNER),
    post(paths::COPY_NOW, OWNER),
    get(paths::COMPONENTS, OWNER),
    post(paths::COMPONENTS, OWNER),
    // The rate book.
    get(paths::RATES, OFFICE),
    get(paths::NEW_ITEM, OWNER),
    post(paths::NEW_ITEM, OWNER),
    get(paths::BULK, OWNER),
    post(paths::BULK, OWNER),
    get(paths::ITEM, OFFICE),
    post(paths::ITEM, OWNER),
    post(paths::ITEM_PRICE, OWNER),
    post(paths::ITEM_RETIRE, OWNER),
    post(paths::ITEM_SUPPLY, OWNER),
    post(paths::ITEM_PRICED_BY, OWNER),
    post(paths::BULK_UNDO, OWNER),
    get(paths::PRICE_LIST, OWNER),
    post(paths::PRICE_LIST, OWNER),
    get(paths::PRICE_LIST_SENT, OWNER),
    post(paths::PRICE_LIST_SENT, OWNER),
    get(paths::PRICE_LIST_CSV, OFFICE),
    get(paths::SAMPLE_CSV, OFFICE),
    get(paths::INDEX, OFFICE),
    get(paths::OPEN_QUOTES, OFFICE),
    // The rack.
    get(paths::RACK, BENCH),
    get(paths::RACK_RECEIVE, BENCH),
    post(paths::RACK_RECEIVE, BENCH),
    get(paths::RACK_TAGS, BENCH),
    get(paths::PURCHASE_LIST, BENCH),
    get(paths::PURCHASE_LIST_CSV, BENCH),
    post(paths::ORDER_PLACE, OFFICE),
    post(paths::ORDER_BY_HAND, OFFICE),
    get(paths::ORDERS, BENCH),
    get(paths::ORDER, BENCH),
    // Goods arrive at the workshop.
    post(paths::ORDER, BENCH),
    post(paths::ORDER_CANCEL, OFFICE),
    get(paths::PIECE, BENCH),
    post(paths::PIECE, BENCH),
    post(paths::PIECE_CORRECT, OFFICE),
    get(paths::TOGETHER, BENCH),
    post(paths::TOGETHER, BENCH),
    get(paths::COMMON_PLAN, BENCH),
    post(paths::COMMON_PLAN_CANCEL, BENCH),
    get(paths::COMMON_PLAN_PDF, BENCH),
    post(paths::COMMON_PLAN_RELEASE, OFFICE),
    // Jobs.
    get(paths::JOBS, BENCH),
    get(paths::NEW_JOB, OFFICE),
    post(paths::NEW_JOB, OFFICE),
    get(paths::JOB, OFFICE),
    post(paths::JOB, OFFICE),
    post(paths::STAGE, OFFICE),
    post(paths::MESSAGES, OFFICE),
    post(paths::ERASE_CUSTOMER, OWNER),
    get(paths::NEED, OFFICE),
    post(paths::NEED, OFFICE),
    get(paths::TRAILER, OFFICE),
    post(paths::TRAILER, OFFICE),
    get(paths::TRAILER_SCENE, OFFICE),
    get(paths::VARIANTS, OFFICE),
    post(paths::VARIANTS, OFFICE),
    post(paths::TRAILER_PREVIEW, OFFICE),
    get(paths::DRAWINGS, BENCH),
    get(paths::DRAWINGS_PDF, BENCH),
    get(paths::PART_DRAWINGS, BENCH),
    get(paths::PART_DXF, BENCH),
    get(paths::WEIGHTS, OFFICE),
    get(paths::STRENGTH, OFFICE),
    get(paths::RESTRAINT, OFFICE),
    get(paths::ROAD, OFFICE),
    get(paths::CALCULATION, OFFICE),
    get(paths::CALCULATION_PDF, OFFICE),
    get(paths::PACK, BENCH),
    get(paths::JOB_RACK, BENCH),
    post(paths::JOB_RESERVE, BENCH),
    post(paths::JOB_RETURN, BENCH),
    get(paths::RELEASE, OFFICE),
    post(paths::RELEASE, OFFICE),
    get(paths::CUTTING, BENCH),
    get(paths::CUTTING_PDF, BENCH),
    get(paths::CHOICES, OFFICE),
    get(paths::PARTS, BENCH),
    get(paths::ELECTRICS, BENCH),
    get(paths::HOURS, BENCH),
    get(paths::PRICE, OFFICE),
    post(paths::PRICE, OFFICE),
    get(paths::OFFERED, OFFICE),
    get(paths::OVERRULE, OFFICE),
    post(paths::OVERRULE, OFFICE),
    post(paths::ANSWER, OFFICE),
    // What was issued.
    get(paths::REVISIONS, OFFICE),
    post(paths::REVISIONS, OFFICE),
    get(paths::PLAN, OFFICE),
    post(paths::PLAN_CANCEL, OFFICE),
    get(paths::REVISION, OFFICE),
    get(paths::REVISION_CUTTING, BENCH),
    get(paths::REVISION_SCENE, OFFICE),
    get(paths::REVISION_DRAWINGS, BENCH),
    get(paths::REVISION_PART_DRAWINGS, BENCH),
    get(paths::REVISION_PART_DXF, BENCH),
    get(paths::REVISION_CALCULATION, OFFICE),
    get(paths::REVISION_CHANGED, OFFICE),
    get(paths::REVISION_CHOICES, OFFICE),
    get(paths::REVISION_COPY, OFFICE),
    get(paths::REVISION_QUOTE_PDF, OFFICE),
    get(paths::REVISION_DRAWING_PDF, BENCH),
    get(paths::REVISION_CALCULATION_PDF, OFFICE),
    get(paths::REVISION_CUTTING_PDF, BENCH),
    post(paths::REVISION_LINK, OFFICE),
    post(paths::REVISION_REVOKE, OFFICE),
    post(paths::REVISION_TAKE, OFFICE),
];

/// What the table says of a request to a route.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ruling {
    For(Who),
    /// The route takes other methods only.
    WrongMethod,
    /// Nobody said for whom it is.
    Unlisted,
}

/// Looks a request up, by the pattern of its route.
pub fn ruling(path: &str, method: &Method) -> Ruling {
    let method = if *method == Method::HEAD { &Method::GET } else { method };
    let mut ruling = Ruling::Unlisted;
    for right in RIGHTS.iter().filter(|right| right.path == path) {
        if right.method == *method {
            return Ruling::For(right.who);
        }
        ruling = Ruling::WrongMethod;
    }
    ruling
}

/// The methods that a route takes, as the `Allow` header lists them.
pub fn methods(path: &str) -> String {
    let methods = RIGHTS.iter().filter(|right| right.path == path);
    let named = methods.map(|right| if right.method == Method::GET { "GET,HEAD" } else { right.method.as_str() });
    named.collect::<Vec<_>>().join(",")
}

/// Whether a role may open a page.
pub fn may_open(role: Role, path: &str) -> bool {
    may(role, path, &Method::GET)
}

/// Whether a role may use a route in this way.
pub fn may(role: Role, path: &str, method: &Method) -> bool {
    match ruling(path, method) {
        Ruling::For(Who::Anyone | Who::Customer | Who::Visitor) => true,
        Ruling::For(Who::People(roles)) => roles.contains(&role),
        Ruling::WrongMethod | Ruling::Unlisted => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_route_stands_in_the_table_once() {
        for (at, right) in RIGHTS.iter().enumerate() {
            let twin = RIGHTS[..at].iter().any(|other| (other.path, &other.method) == (right.path, &right.method));
            assert!(!twin, "{} {}", right.method, right.path);
        }
    }

    #[test]
    fn what_is_not_said_is_refused() {
        assert_eq!(ruling("/nowhere", &Method::GET), Ruling::Unlisted);
        assert_eq!(ruling(paths::WEIGHTS, &Method::POST), Ruling::WrongMethod);
        assert_eq!(ruling(paths::WEIGHTS, &Method::HEAD), Ruling::For(OFFICE));
        assert_eq!(methods(paths::PRICE), "GET,HEAD,POST");
    }

    #[test]
    fn the_owner_may_do_all_that_anyone_may() {
        for right in RIGHTS {
            if let Who::People(roles) = right.who {
                assert!(roles.contains(&Owner), "{}", right.path);
            }
        }
    }
}
