//! The purchase list and the tags of the rack.

use axum::http::StatusCode;
use hitchwright::domain::people::Role;
use rust_decimal::Decimal;
use scraper::Selector;

use super::{
    Desk, changed, fields,
    rack::BAR,
    release::{accepted, receive_cheap_bar},
};
use crate::support::{Answer, Ask, signed_in};

const LIST: &str = "/purchase-list";

fn lines(page: &Answer) -> Vec<String> {
    page.texts("[data-test=lines] tbody tr")
}

/// The line of an item, by its code.
#[track_caller]
fn line(page: &Answer, code: &str) -> String {
    let has = |line: &String| line.split([' ', ',']).any(|word| word == code);
    lines(page).into_iter().find(has).unwrap_or_else(|| panic!("{code} is not on the list"))
}

fn amount(text: &str) -> Decimal {
    let figure = text.split('£').nth(1).expect("an amount").split_whitespace().next().expect("a figure");
    figure.replace(',', "").parse().expect("a number")
}

/// The sum of each order, and what its lines come to.
fn sums(page: &Answer) -> Vec<[Decimal; 2]> {
    let [order, head, line] = ["section.order", "[data-test=order]", "tbody td[data-label=Amount]"]
        .map(|selector| Selector::parse(selector).expect("a selector"));
    let text = |element: scraper::ElementRef<'_>| element.text().collect::<String>();
    let html = page.html();
    let of = |order: scraper::ElementRef<'_>| {
        let sum = amount(&text(order.select(&head).next().expect("a sum")));
        [sum, order.select(&line).map(|cell| amount(&text(cell))).sum()]
    };
    html.select(&order).map(of).collect()
}

#[tokio::test]
async fn an_accepted_job_is_bought_for_by_supplier_with_what_lies_on_the_rack() {
    let desk = Desk::open().await;
    assert!(desk.get(LIST).await.assert_status(StatusCode::OK).body.contains("there is nothing to buy"));
    let job = accepted(&desk).await;
    let id = job.strip_prefix("/jobs/").expect("a job");
    let page = desk.get(LIST).await.assert_status(StatusCode::OK);
    let jobs = page.texts("[data-test=jobs] tbody tr");
    assert!(jobs.len() == 1 && jobs[0].contains("plan of revision 1"), "{jobs:?}");
    assert!(lines(&page).len() > 15 && page.texts("[data-test=without]").is_empty(), "{}", page.body);
    let sums_shown = sums(&page);
    assert!(sums_shown.len() > 3 && sums_shown.iter().all(|[sum, lines]| sum == lines), "{sums_shown:?}");
    let total = amount(&page.texts("[data-test=sum]")[0]);
    assert_eq!(sums_shown.iter().map(|[sum, _]| sum).sum::<Decimal>(), total);
    let orders = page.texts("[data-test=order]");
    assert!(orders.iter().all(|order| order.contains("longest lead") && order.contains("order by")), "{orders:?}");
    assert_eq!(
        desk.get(&format!("{job}/rack")).await.attribute("a[href^='/purchase-list']", "href"),
        Some(format!("{LIST}?chosen=yes&consumables=on&job={id}")),
        "the job leads there"
    );

    // A bar that its plan takes is not bought.
    let bars = |page: &Answer, section: &str| -> u32 {
        let code = format!("HS-{section}");
        let cells = page.texts("[data-test=lines] tbody tr > *");
        let of = cells.iter().enumerate().filter(|(_, cell)| cell.split_whitespace().any(|word| word == code));
        let count = |(at, _): (usize, &String)| {
            cells[at + 2].strip_suffix(" bar").or(cells[at + 2].strip_suffix(" bars"))?.parse::<u32>().ok()
        };
        of.filter_map(count).sum()
    };
    let section = receive_cheap_bar(&desk, &job).await;
    let name = section.split_whitespace().nth(1).expect("its size").to_owned();
    assert!(bars(&page, &name) > 0, "{name} is bought: {:?}", lines(&page));
    let with_rack = desk.get(LIST).await;
    assert!(with_rack.texts("[data-test=jobs] tbody tr")[0].contains("R-0001"), "{}", with_rack.body);
    assert_eq!(bars(&with_rack, &name) + 1, bars(&page, &name), "{name}");
    let number = jobs[0].split_whitespace().next().expect("a number").to_owned();
    let other = changed(fields(BAR), &[("count", "1"), ("section", "rhs 120x80x5")]);
    let other: Vec<(&str, &str)> = other.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    desk.send("/rack/receive", "/rack/receive", &other).await.assert_redirect();
    desk.post("/rack/pieces/R-0001", &fields(&[("action", "reserve"), ("job", &number)])).await.assert_redirect();
    assert!(
        desk.get(LIST).await.texts("[data-test=jobs] tbody tr")[0].contains("R-0001"),
        "reserved for it, it stays its own"
    );

    // Released, the plan that was released is bought for.
    let release = format!("{job}/release");
    desk.send(&release, "release", &[]).await.assert_redirect();
    let released = desk.get(LIST).await;
    assert!(released.texts("[data-test=jobs] tbody tr")[0].contains("plan released on"), "{}", released.body);
    assert_eq!(bars(&released, &name), bars(&with_rack, &name));

    // An accepted job that was changed since is bought for as it stands.
    let second = accepted(&desk).await;
    desk.send(&format!("{second}/trailer"), "design", &[("design.bed.length", "2700"), ("action", "save")])
        .await
        .assert_redirect();
    let both = desk.get(LIST).await;
    assert!(both.texts("[data-test=jobs]")[0].contains("no longer revision 1"), "{}", both.body);
    let wire = line(&both, "CN-WIRE");
    assert_eq!(wire.matches(": ").count(), 2, "of both jobs, bought once: {wire}");
    let one =
        desk.get(&format!("{LIST}?chosen=yes&consumables=on&job={id}&job=999")).await.assert_status(StatusCode::OK);
    assert_eq!(line(&one, "CN-WIRE").matches(": ").count(), 1);
    assert!(one.texts("[data-test=unknown]")[0].starts_with("Left out: 999."));
    let none = desk.get(&format!("{LIST}?chosen=yes")).await;
    assert!(none.body.contains("No job is ticked") && lines(&none).is_empty());
}

#[tokio::test]
async fn packs_suppliers_and_what_nobody_sells() {
    let desk = Desk::open().await;
    let job = accepted(&desk).await;
    let id = job.strip_prefix("/jobs/").expect("a job");
    let item = "/rates/items/CN-WIRE";
    let typed = [
        ("supplier", "Quay <b> Welding"),
        ("supply_price", "3.90"),
        ("pack", "15"),
        ("supply_lead", "9"),
        ("supply_from", ""),
    ];
    let supply = changed(desk.get(item).await.form("supply"), &typed);
    desk.post(&format!("{item}/supply"), &supply).await.assert_redirect();
    let cheapest = desk.get(LIST).await;
    let wire = line(&cheapest, "CN-WIRE");
    assert!(!wire.contains("pack of"), "15 kg for the few that are needed cost more: {wire}");
    let chosen = format!("{LIST}?chosen=yes&consumables=on&job={id}&from.CN-WIRE=Quay+%3Cb%3E+Welding");
    let page = desk.get(&chosen).await.assert_status(StatusCode::OK);
    let wire = line(&page, "CN-WIRE");
    assert!(wire.contains("1 pack of 15 kg") && wire.contains("£58.50"), "{wire}");
    assert!(page.texts("section.order h2").contains(&"Quay <b> Welding".to_owned()));
    assert_eq!(
        page.attribute("select[name='from.CN-WIRE'] option[selected]", "value").as_deref(),
        Some("Quay <b> Welding")
    );
    let by_item = changed(desk.get(item).await.form("priced-by"), &[("priced_by", "supplier:Quay <b> Welding")]);
    desk.post(&format!("{item}/priced-by"), &by_item).await.assert_redirect();
    assert!(line(&desk.get(LIST).await, "CN-WIRE").contains("pack of 15 kg"), "what the rate book says stands");

    // As a file: the same lines, the same amounts.
    let file = page.attribute("a[href^='/purchase-list.csv']", "href").expect("a file");
    let csv = desk.get(&file).await.assert_status(StatusCode::OK);
    assert!(
        csv.header("content-type").starts_with("text/csv")
            && csv.header("content-disposition").contains("purchase-list-")
    );
    let mut reader = csv::Reader::from_reader(csv.body.as_bytes());
    let head = reader.headers().expect("a head").clone();
    let at = |name: &str| head.iter().position(|column| column == name).unwrap_or_else(|| panic!("no column {name}"));
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    assert_eq!(rows.len(), lines(&page).len());
    let sum: Decimal = rows.iter().map(|row| row[at("amount (GBP)")].parse::<Decimal>().expect("an amount")).sum();
    assert_eq!(sum, amount(&page.texts("[data-test=sum]")[0]));
    let wire = rows.iter().find(|row| &row[at("code")] == "CN-WIRE").expect("wire");
    assert_eq!(
        (&wire[at("supplier")], &wire[at("packs")], &wire[at("buy")], &wire[at("unit")]),
        ("Quay <b> Welding", "1", "15", "kg")
    );

    // The workshop sees what and of whom, and no money.
    let workshop = signed_in(&desk.site.store, "Jory", Role::Workshop).await;
    let theirs = Ask::get(&chosen).with("cookie", &workshop).of(&desk.site).await.assert_status(StatusCode::OK);
    assert!(!theirs.body.contains('£') && line(&theirs, "CN-WIRE").contains("1 pack of 15 kg"), "{}", theirs.body);
    let theirs = Ask::get(&file).with("cookie", &workshop).of(&desk.site).await.assert_status(StatusCode::OK);
    assert!(!theirs.body.contains("GBP") && !theirs.body.contains("58.50") && theirs.body.contains("Quay <b> Welding"));

    // Without consumables; and with one that is offered no longer.
    let without = desk.get(&format!("{LIST}?chosen=yes&job={id}")).await;
    assert!(
        !lines(&without).is_empty()
            && lines(&without).iter().all(|line| !line.contains("CN-") && !line.contains("PA-"))
    );
    let retire = format!("{item}/retire");
    let form = desk.get(item).await.form(&retire);
    desk.post(&retire, &form).await.assert_redirect();
    let page = desk.get(LIST).await;
    let nobody = page.texts("[data-test=without] tbody tr");
    assert!(nobody.len() == 1 && nobody[0].contains("CN-WIRE") && nobody[0].contains("no longer"), "{nobody:?}");
    assert!(lines(&page).iter().all(|line| !line.contains("CN-WIRE")));
}

#[tokio::test]
async fn tags_are_printed_of_chosen_pieces_or_of_all() {
    let desk = Desk::open().await;
    let none = desk.get("/rack/tags").await.assert_status(StatusCode::OK);
    assert!(none.texts("[data-test=says]")[0].contains("no such piece"));
    desk.send("/rack/receive", "/rack/receive", &[BAR, &[("count", "12")]].concat()).await.assert_redirect();
    let all = desk.get("/rack/tags").await.assert_status(StatusCode::OK);
    assert_eq!(all.texts("[data-test=says]"), ["12 tags on 2 sheets."]);
    assert_eq!((all.texts("[data-test=sheet]").len(), all.texts("[data-test=sheet] li").len()), (2, 12));
    assert_eq!(all.body.matches("<svg").count(), 12, "a code on each");
    let first = &all.texts("[data-test=sheet] li")[0];
    assert!(["R-0001", "rhs 60x40x3", "S235", "6,000 mm"].iter().all(|part| first.contains(part)), "{first}");
    assert!(all.body.contains("http://127.0.0.1:4717"), "where the codes lead");
    let rack = desk.get("/rack").await.form("/rack/tags");
    assert!(rack.is_empty(), "nothing is ticked at first: all are printed");
    let some = desk.get("/rack/tags?tag=R-0003&tag=R-0011&tag=R-9%3Cb%3E").await.assert_status(StatusCode::OK);
    let tags = some.texts("[data-test=sheet] li");
    assert!(tags.len() == 2 && tags[0].contains("R-0003") && tags[1].contains("R-0011"), "{tags:?}");
    assert_eq!(some.texts("[data-test=missing]"), ["Not on the rack: R-9<b>."]);
    let codes: Vec<&str> = some.body.split("<svg").skip(1).filter_map(|part| part.split("</svg>").next()).collect();
    assert!(codes.len() == 2 && codes[0] != codes[1], "each leads to its own page");
}
