//! The purchase list as CSV: a row for each line of an order, and for what has no supplier.

use rust_decimal::Decimal;

use super::{by_job, gather::Gathered, measured, named, unit_word, why};

const COLUMNS: [&str; 13] = [
    "supplier",
    "article",
    "code",
    "name",
    "size",
    "needed",
    "unit",
    "packs",
    "pack",
    "buy",
    "over",
    "lead days",
    "order by",
];

/// The whole list; figures with a decimal point, days as year-month-day. Without money nothing of prices is in it.
///
/// # Errors
/// What cannot be written; nothing that a list holds.
pub fn write(gathered: &Gathered, with_money: bool) -> Result<String, csv::Error> {
    let (show, list) = (&gathered.show, &gathered.list);
    let numbers: Vec<&str> = gathered.bought.iter().map(|job| job.number.as_str()).collect();
    let plain = |of: Decimal| of.normalize().to_string();
    // A spreadsheet looks for plain spaces.
    let plain_size = |stock| measured(stock, show).replace('\u{a0}', " ");
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut head: Vec<String> = COLUMNS.iter().map(|name| (*name).to_owned()).collect();
    if with_money {
        head.extend(["price each", "amount"].map(|name| format!("{name} ({})", show.money.currency_code)));
    }
    head.extend(["jobs".to_owned(), "note".to_owned()]);
    writer.write_record(&head)?;
    for (order, line) in list.orders.iter().flat_map(|order| order.lines.iter().map(move |line| (order, line))) {
        let offer = &line.offer;
        let mut row = vec![
            order.supplier.clone(),
            offer.article.clone(),
            line.code.clone(),
            line.name.clone(),
            line.stock.as_ref().map_or_else(String::new, plain_size),
            plain(line.needed),
            unit_word(line.needed, line.unit, &line.stock).to_owned(),
            plain(offer.packs),
            plain(offer.pack),
            plain(offer.bought),
            plain(line.over()),
            offer.lead_days.to_string(),
            line.order_by.map_or_else(String::new, |day| day.to_string()),
        ];
        if with_money {
            row.extend([plain(offer.each.0), offer.amount.0.to_string()]);
        }
        let note = line.in_vain.as_ref().map(|name| format!("{name} does not sell this size"));
        row.extend([by_job(&line.jobs, &numbers), note.unwrap_or_default()]);
        writer.write_record(&row)?;
    }
    for of in &list.without {
        let name = named(&of.name, &of.stock);
        let mut row = vec![String::new(); head.len()];
        row[2].clone_from(&of.code);
        row[3] = name;
        row[4] = of.stock.as_ref().map_or_else(String::new, plain_size);
        row[5] = plain(of.needed);
        row[6] = unit_word(of.needed, of.unit, &of.stock).to_owned();
        row[head.len() - 2] = by_job(&of.jobs, &numbers);
        row[head.len() - 1] = why(of.why).to_owned();
        writer.write_record(&row)?;
    }
    let bytes = writer.into_inner().map_err(|fault| std::io::Error::other(fault.to_string()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
