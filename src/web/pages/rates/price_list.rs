//! A price list as a file: what its columns are, how a row is read, and what each row would do. Nothing is written here.

use std::collections::BTreeMap;

use jiff::civil::Date;
use rust_decimal::Decimal;

use super::{item, item_form, lines};
use crate::{
    domain::{
        form::Hand,
        measure::{Money, MoneyStyle, read_number},
        shop::{Goods, Item, Jump, Policy, Sizes, Supply, jump},
    },
    storage::{KeptItem, ListEntry},
    web::form::Form,
};

/// So many rows of a list are read, the head not counted.
pub const MOST_ROWS: usize = 20_000;

/// The columns, in the order of the export, and what each holds. A list may leave out all but the code.
pub const COLUMNS: [(&str, &str); 27] = [
    ("code", "The shop's code of the item. A code that the rate book does not know adds an item."),
    ("kind", "Of a new item: bar, sheet, part, consumable, labour or outside."),
    ("name", "Up to 120 letters."),
    (
        "class",
        "As in the sample: hollow-section, open-section, steel-sheet, aluminium, timber, part, consumable, paint, labour, outside-work.",
    ),
    ("supplier", "Whose price it is. Another than the item's first supplier gets a price of its own."),
    ("article", "The supplier's own number of the article."),
    (
        "unit",
        "What one price buys: metre, kilogram, bar, sheet, each, litre, hour, cubic-metre, square-metre, kilometre.",
    ),
    ("price", "Before tax, without the sign of the currency."),
    ("from", "The day from which it holds: 2026-11-25. Without it the day typed beside the file."),
    ("pack", "Of another supplier: the least sold at once, in the item's unit."),
    ("lead_days", "Days until it is here, 0 to 365."),
    ("source", "Where the figures come from."),
    ("section", "Of a bar: shs 50x50x3."),
    ("grade", "Of a bar: S235."),
    ("lengths", "Of a bar: 6000 | 7500 @ 41.20, each with its own price where it has one."),
    ("material", "Of a sheet: as in the sample."),
    ("thickness", "Of a sheet."),
    ("sizes", "Of a sheet: 2440 x 1220 | 3000 x 1500 @ 62."),
    ("part", "Of a bought-in part: its kind, as in the sample."),
    ("mass", "Of a part, kg."),
    ("minutes", "Of a part: minutes to fit one."),
    ("attributes", "Of a part: rating_kg = 750 | form = ball-50."),
    ("used_for", "Of a consumable: wire, gas, disc …"),
    ("trade", "Of labour: fabricator, welder …"),
    ("service", "Of outside work: galvanising, powder-coat …"),
    ("minimum", "Of outside work: the smallest charge of one order."),
    ("priced", "Not read: whether estimates take this price."),
];

/// Columns that hold a figure of money or another decimal.
const DECIMALS: [&str; 3] = ["price", "minimum", "pack"];

/// How decimals are written in a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Mark {
    Point,
    Comma,
    /// The head does not say: a cell with two readings is refused.
    Unsaid,
}

/// What a row would do.
#[derive(Clone, Debug, PartialEq)]
pub enum Fate {
    New,
    /// What changes: field, before, after.
    Changed(Vec<[String; 3]>),
    Same,
    /// Field and reason of everything that is wrong.
    Refused(Vec<[String; 2]>),
}

/// A row with its fate.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Of the file, counted from 1 with the head.
    pub line: u64,
    pub code: String,
    pub fate: Fate,
    pub doubtful: Option<Jump>,
    pub entry: Option<ListEntry>,
}

/// What the rate book holds, for a list to be compared with.
pub struct Known<'a> {
    pub items: &'a [KeptItem],
    pub supplies: &'a BTreeMap<String, Vec<Supply>>,
    pub policy: &'a Policy,
    pub hand: Hand<'a>,
}

/// The money style in which lists are read and written: a decimal point, no grouping.
pub fn plain_money(style: &MoneyStyle) -> MoneyStyle {
    MoneyStyle { decimal_mark: '.', group_mark: ',', ..style.clone() }
}

/// The text of a file: UTF-8 with or without its mark.
pub fn text(bytes: &[u8]) -> Result<&str, String> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let text = std::str::from_utf8(bytes).map_err(|fault| {
        let line =
            bytes.get(..fault.valid_up_to()).unwrap_or_default().iter().filter(|byte| **byte == b'\n').count() + 1;
        format!("Line {line} is not UTF-8 text. Save the list as CSV in UTF-8 and send it again.")
    })?;
    if text.contains('\0') {
        return Err("This is no text: save the list as CSV in UTF-8.".into());
    }
    if text.trim().is_empty() {
        return Err("The file is empty.".into());
    }
    Ok(text)
}

/// What each row of a list would do; `from` is the day of rows that name none.
///
/// # Errors
/// What is wrong with the list as a whole: no head, a column that is not known or stands twice, too many rows.
pub fn read(text: &str, from: Date, known: &Known<'_>) -> Result<Vec<Row>, String> {
    let head_line = text.lines().next().unwrap_or_default();
    let count = |mark| head_line.matches(mark).count();
    let separator = if count(';') > count(',') { b';' } else { b',' };
    let mut reader =
        csv::ReaderBuilder::new().delimiter(separator).flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
    let head = reader.headers().map_err(|fault| format!("The first line cannot be read: {fault}."))?.clone();
    let columns = columns(&head)?;
    let by_code: BTreeMap<&str, &KeptItem> = known.items.iter().map(|kept| (kept.item.code.as_str(), kept)).collect();
    let mut rows: Vec<Row> = Vec::new();
    let mut taken: BTreeMap<(String, String), u64> = BTreeMap::new();
    for record in reader.records() {
        if rows.len() >= MOST_ROWS {
            return Err(format!("The list has more than {MOST_ROWS} rows: send it in parts."));
        }
        let record = match record {
            Ok(record) => record,
            Err(fault) => {
                let line = fault.position().map_or(0, csv::Position::line);
                rows.push(refused(line, String::new(), vec![["row".into(), format!("cannot be read: {fault}")]]));
                continue;
            }
        };
        let line = record.position().map_or(0, csv::Position::line);
        if record.iter().all(str::is_empty) {
            continue;
        }
        rows.push(row(line, &record, &columns, from, known, &by_code, &mut taken));
    }
    if rows.is_empty() {
        return Err("The list has a head and no row.".into());
    }
    Ok(rows)
}

struct Column {
    name: &'static str,
    mark: Mark,
}

/// The columns of a head: `price`, `price (point)`, `price (comma)`.
fn columns(head: &csv::StringRecord) -> Result<Vec<Column>, String> {
    let mut found: Vec<Column> = Vec::new();
    for cell in head {
        let lower = cell.to_lowercase();
        let (name, mark) = match lower.split_once('(') {
            None => (lower.trim(), Mark::Unsaid),
            Some((name, rest)) => match rest.trim_end_matches(')').trim() {
                "point" => (name.trim(), Mark::Point),
                "comma" => (name.trim(), Mark::Comma),
                other => return Err(format!("The column “{cell}”: “{other}” is not known; write (point) or (comma).")),
            },
        };
        let Some((name, _)) = COLUMNS.iter().find(|(known, _)| *known == name) else {
            return Err(format!("The column “{cell}” is not known. The columns are explained on this page."));
        };
        if found.iter().any(|column| column.name == *name) {
            return Err(format!("The column “{name}” stands twice."));
        }
        found.push(Column { name, mark });
    }
    if !found.iter().any(|column| column.name == "code") {
        return Err("There is no column “code” in the first line: it tells which item a row is of.".into());
    }
    Ok(found)
}

fn refused(line: u64, code: String, faults: Vec<[String; 2]>) -> Row {
    Row { line, code, fate: Fate::Refused(faults), doubtful: None, entry: None }
}

fn row(
    line: u64,
    record: &csv::StringRecord,
    columns: &[Column],
    from: Date,
    known: &Known<'_>,
    by_code: &BTreeMap<&str, &KeptItem>,
    taken: &mut BTreeMap<(String, String), u64>,
) -> Row {
    let mut faults: Vec<[String; 2]> = Vec::new();
    let mut cells: BTreeMap<&'static str, String> = BTreeMap::new();
    if record.len() > columns.len() {
        let says = format!(
            "{} cells stand in it and {} in the head: quote cells that hold the separator",
            record.len(),
            columns.len()
        );
        faults.push(["row".into(), says]);
    }
    for (column, cell) in columns.iter().zip(record) {
        if cell.is_empty() {
            continue;
        }
        let cell = if DECIMALS.contains(&column.name) { decimal(cell, column.mark) } else { Ok(cell.to_owned()) };
        match cell {
            Ok(cell) => _ = cells.insert(column.name, cell),
            Err(says) => faults.push([column.name.into(), says]),
        }
    }
    let code = cells.remove("code").unwrap_or_default();
    if code.is_empty() {
        faults.push(["code".into(), "nothing was entered: every row names its item".into()]);
    }
    let day = match cells.remove("from").map(|text| (text.parse::<Date>(), text)) {
        None => from,
        Some((Ok(day), _)) => day,
        Some((Err(_), text)) => {
            faults.push(["from".into(), format!("“{text}” is no day: write it like 2026-11-25")]);
            from
        }
    };
    if !faults.is_empty() {
        return refused(line, code, faults);
    }
    let kept = by_code.get(code.as_str()).copied();
    let supplier = cells.get("supplier").cloned().unwrap_or_default();
    let other =
        kept.filter(|kept| !supplier.is_empty() && supplier != kept.item.supplier && !kept.item.supplier.is_empty());
    let of = if other.is_some() { supplier } else { String::new() };
    if let Some(first) = taken.insert((code.clone(), of), line) {
        return refused(
            line,
            code,
            vec![["code".into(), format!("the same item and supplier stand in line {first} already")]],
        );
    }
    match (other, kept) {
        (Some(kept), _) => supply_row(line, kept, &cells, day, known),
        (None, Some(kept)) => item_row(line, kept, cells, day, known),
        (None, None) => new_row(line, code, cells, day, known),
    }
}

/// A decimal with a point, from a cell in the column's way of writing.
fn decimal(cell: &str, mark: Mark) -> Result<String, String> {
    let bare: String = cell.chars().filter(|char| !matches!(char, ' ' | '\u{a0}' | '\u{202f}' | '\'')).collect();
    let is_number = |text: &str| {
        let digits = text.strip_prefix('-').unwrap_or(text);
        !digits.is_empty()
            && digits.chars().all(|char| char.is_ascii_digit() || char == '.')
            && digits.matches('.').count() <= 1
    };
    let (point, comma) = (bare.rfind('.'), bare.rfind(','));
    let by = |group: char, decimal: char| bare.replace(group, "").replace(decimal, ".");
    let read = match (mark, point, comma) {
        (Mark::Point, ..) => by(',', '.'),
        (Mark::Comma, ..) => by('.', ','),
        (Mark::Unsaid, Some(point), Some(comma)) if point < comma => by('.', ','),
        (Mark::Unsaid, Some(_), Some(_)) => by(',', '.'),
        (Mark::Unsaid, None, None) => bare.clone(),
        (Mark::Unsaid, one, other) => {
            let sign = if one.is_some() { '.' } else { ',' };
            let after = bare.len() - one.or(other).unwrap_or(0) - 1;
            if after == 3 || bare.matches(sign).count() > 1 {
                return Err(format!(
                    "“{cell}” has two readings: say in the head whether decimals have a point or a comma, price (point) or price (comma)"
                ));
            }
            bare.replace(',', ".")
        }
    };
    // Grouped digits stand in threes.
    let group = match mark {
        Mark::Comma => '.',
        _ if comma > point && mark == Mark::Unsaid => '.',
        _ => ',',
    };
    let whole = bare.split(if group == ',' { '.' } else { ',' }).next().unwrap_or_default();
    let lawful = !whole.contains(group) || whole.split(group).skip(1).all(|digits| digits.len() == 3);
    if is_number(&read) && lawful { Ok(read) } else { Err(format!("“{cell}” is no number: write it like 41.20")) }
}

/// The item's form with the cells of a row in it; the cells are taken as on the page of an item.
fn form_of(cells: &BTreeMap<&'static str, String>, is_new: bool) -> Form {
    let named = cells.iter().filter(|(name, _)| !matches!(**name, "kind" | "article" | "pack" | "priced"));
    let mut form = Form::filled(named.map(|(name, value)| {
        let value =
            if matches!(*name, "lengths" | "sizes" | "attributes") { value.replace('|', "\n") } else { value.clone() };
        (format!("item.{name}"), value)
    }));
    if !is_new {
        form.set("item.code", "");
    }
    form
}

fn faults_of(form: &Form) -> Vec<[String; 2]> {
    form.faults()
        .iter()
        .map(|fault| [fault.field.trim_start_matches("item.").to_owned(), fault.message.clone()])
        .collect()
}

fn new_row(line: u64, code: String, mut cells: BTreeMap<&'static str, String>, day: Date, known: &Known<'_>) -> Row {
    let kind = cells.get("kind").cloned().unwrap_or_default();
    if !item_form::KINDS.iter().any(|(word, _)| *word == kind) {
        let says = if kind.is_empty() {
            "the rate book does not know this code, and a new item needs its kind: bar, sheet, part, consumable, labour or outside".to_owned()
        } else {
            format!("“{kind}” is no kind: write bar, sheet, part, consumable, labour or outside")
        };
        return refused(line, code, vec![["kind".into(), says]]);
    }
    cells.insert("code", code.clone());
    let blank = Item { from: day, ..item::blank(&kind) };
    let mut form = form_of(&cells, true);
    // What a page would show of a blank item is not taken for what was meant.
    for needed in ["name", "price"] {
        if !cells.contains_key(needed) {
            form.wrong(format!("item.{needed}"), needed, "nothing was entered: a new item needs it");
        }
    }
    match item_form::read(&mut form, &blank, true, known.hand) {
        Some(item) => Row { line, code, fate: Fate::New, doubtful: None, entry: Some(ListEntry::Add(item)) },
        None => refused(line, code, faults_of(&form)),
    }
}

fn item_row(
    line: u64,
    kept: &KeptItem,
    mut cells: BTreeMap<&'static str, String>,
    day: Date,
    known: &Known<'_>,
) -> Row {
    let code = kept.item.code.clone();
    let price = cells.remove("price");
    let kind = item_form::kind_of(&kept.item.goods);
    if let Some(named) = cells.get("kind").filter(|named| *named != kind) {
        return refused(
            line,
            code,
            vec![["kind".into(), format!("the item is a {kind}, not a {named}: an item never changes its kind")]],
        );
    }
    let mut form = form_of(&cells, false);
    let read = item_form::read(&mut form, &kept.item, false, known.hand);
    let price = price.map_or(Ok(kept.item.price), |text| money(&text));
    let (Some(mut item), Ok(price)) = (read, price.clone()) else {
        let mut faults = faults_of(&form);
        faults.extend(price.err().map(|says| ["price".into(), says]));
        return refused(line, code, faults);
    };
    let moved = price != kept.item.price || Sizes::of(&item.goods) != Sizes::of(&kept.item.goods);
    if !cells.contains_key("lengths") && !cells.contains_key("sizes") && price != kept.item.price {
        item = item.at_price(price);
    }
    item.price = price;
    item.from = if moved { day } else { kept.item.from };
    let changes = changes(&kept.item, &item);
    if changes.is_empty() {
        return Row { line, code, fate: Fate::Same, doubtful: None, entry: None };
    }
    let doubtful = jump(item.class, (kept.item.price, kept.item.from), (price, item.from), known.policy);
    let entry = Some(ListEntry::Change(kept.version.0, item));
    Row { line, code, fate: Fate::Changed(changes), doubtful, entry }
}

fn supply_row(line: u64, kept: &KeptItem, cells: &BTreeMap<&'static str, String>, day: Date, known: &Known<'_>) -> Row {
    let code = kept.item.code.clone();
    let name = cells.get("supplier").cloned().unwrap_or_default();
    let before = known.supplies.get(&code).into_iter().flatten().find(|supply| supply.supplier == name);
    let mut faults: Vec<[String; 2]> = Vec::new();
    let mut note = |field: &str, says: String| faults.push([field.to_owned(), says]);
    if name.chars().count() > 120 {
        note("supplier", "this is too long: at most 120 letters".into());
    }
    let price = match cells.get("price").map(|text| money(text)) {
        Some(Ok(price)) => price,
        Some(Err(says)) => {
            note("price", says);
            Money::ZERO
        }
        None => before.map_or_else(
            || {
                note("price", format!("nothing was entered: {name} has no price of this item yet"));
                Money::ZERO
            },
            |before| before.price,
        ),
    };
    let pack = match cells.get("pack").map(|text| (text.parse::<Decimal>(), text)) {
        None => before.map_or(Decimal::ONE, |before| before.pack),
        Some((Ok(pack), _)) if pack > Decimal::ZERO && pack <= Decimal::from(100_000) => pack,
        Some((_, text)) => {
            note("pack", format!("“{text}” is no pack: write more than 0, to 100000"));
            Decimal::ONE
        }
    };
    let lead_days = match cells.get("lead_days").map(|text| (text.parse::<u32>(), text)) {
        None => before.map_or(0, |before| before.lead_days),
        Some((Ok(days), _)) if days <= 365 => days,
        Some((_, text)) => {
            note("lead_days", format!("“{text}” is no count of days: write 0 to 365"));
            0
        }
    };
    let listed = |text: &String| text.replace('|', "\n");
    let sizes = match &kept.item.goods {
        Goods::Bar { .. } => {
            cells.get("lengths").map(listed).map(|text| lines::read_lengths(&text, known.hand).map(Sizes::Lengths))
        }
        Goods::Sheet { .. } => {
            cells.get("sizes").map(listed).map(|text| lines::read_sizes(&text, known.hand).map(Sizes::Sheets))
        }
        _ => None,
    };
    let sizes = match sizes {
        None => before.and_then(|before| before.sizes.clone()),
        Some(Ok(sizes)) => Some(sizes),
        Some(Err(says)) => {
            note("lengths", says);
            None
        }
    };
    if !faults.is_empty() {
        return refused(line, code, faults);
    }
    let article =
        cells.get("article").cloned().or_else(|| before.map(|before| before.article.clone())).unwrap_or_default();
    let mut supply = Supply { supplier: name, article, pack, lead_days, price, from: day, sizes };
    let Some(before) = before else {
        let sold = jump(kept.item.class, (kept.item.price, kept.item.from), (price, day), known.policy);
        let entry = Some(ListEntry::Supply(kept.version.0, code.clone(), supply));
        return Row { line, code, fate: Fate::New, doubtful: sold, entry };
    };
    if supply.price == before.price && supply.sizes == before.sizes {
        supply.from = before.from;
    }
    let changes = changes(before, &supply);
    if changes.is_empty() {
        return Row { line, code, fate: Fate::Same, doubtful: None, entry: None };
    }
    let doubtful = jump(kept.item.class, (before.price, before.from), (price, supply.from), known.policy);
    let entry = Some(ListEntry::Supply(kept.version.0, code.clone(), supply));
    Row { line, code, fate: Fate::Changed(changes), doubtful, entry }
}

fn money(text: &str) -> Result<Money, String> {
    match read_number(text) {
        Ok(price) if price.is_sign_negative() && !price.is_zero() => {
            Err(format!("“{text}” is negative: write 0 or more"))
        }
        Ok(price) if price > Decimal::from(1_000_000) => Err(format!("“{text}” is more than 1,000,000")),
        Ok(price) => Ok(Money(price)),
        Err(fault) => Err(fault.to_string()),
    }
}

/// The fields that differ, before and after; figures of the same worth are the same.
fn changes<T: serde::Serialize + PartialEq>(before: &T, after: &T) -> Vec<[String; 3]> {
    if before == after {
        return Vec::new();
    }
    let value = |side: &T| serde_json::to_value(side).unwrap_or_default();
    let (before, after) = (value(before), value(after));
    let (Some(before), Some(after)) = (before.as_object(), after.as_object()) else { return Vec::new() };
    let said = |value: Option<&serde_json::Value>| match value {
        Some(serde_json::Value::String(text)) => text.clone(),
        Some(other) => other.to_string(),
        None => String::new(),
    };
    let differs = after.iter().filter(|(field, value)| before.get(*field) != Some(*value));
    differs.map(|(field, value)| [field.clone(), said(before.get(field)), said(Some(value))]).collect()
}

/// The whole rate book as such a list: a row for each item, and one for each other supplier of it.
///
/// # Errors
/// What cannot be written; nothing that a rate book holds.
pub fn write(known: &Known<'_>) -> Result<String, String> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let head = COLUMNS
        .iter()
        .map(|(name, _)| if DECIMALS.contains(name) { format!("{name} (point)") } else { (*name).to_owned() });
    let failed = |fault: csv::Error| fault.to_string();
    writer.write_record(head).map_err(failed)?;
    for kept in known.items.iter().filter(|kept| !kept.item.retired) {
        let supplies = known.supplies.get(&kept.item.code).map(Vec::as_slice).unwrap_or_default();
        let priced = kept.item.priced(&kept.priced_by, supplies).supplier;
        let mut own = cells_of(&kept.item, known.hand);
        own.insert("article", kept.article.clone());
        own.insert("priced", yes(priced == kept.item.supplier));
        writer
            .write_record(COLUMNS.iter().map(|(name, _)| own.get(name).map_or("", String::as_str)))
            .map_err(failed)?;
        for supply in supplies {
            let mut cells = BTreeMap::from([
                ("code", kept.item.code.clone()),
                ("supplier", supply.supplier.clone()),
                ("article", supply.article.clone()),
                ("pack", supply.pack.normalize().to_string()),
                ("lead_days", supply.lead_days.to_string()),
                ("price", supply.price.0.to_string()),
                ("from", supply.from.to_string()),
                ("priced", yes(priced == supply.supplier)),
            ]);
            match &supply.sizes {
                Some(Sizes::Lengths(lengths)) => {
                    _ = cells.insert("lengths", lines::write_lengths(lengths, known.hand).replace('\n', " | "))
                }
                Some(Sizes::Sheets(sizes)) => {
                    _ = cells.insert("sizes", lines::write_sizes(sizes, known.hand).replace('\n', " | "))
                }
                None => {}
            }
            writer
                .write_record(COLUMNS.iter().map(|(name, _)| cells.get(name).map_or("", String::as_str)))
                .map_err(failed)?;
        }
    }
    let bytes = writer.into_inner().map_err(|fault| fault.to_string())?;
    String::from_utf8(bytes).map_err(|fault| fault.to_string())
}

fn yes(is: bool) -> String {
    if is { "yes".into() } else { String::new() }
}

fn cells_of(item: &Item, hand: Hand<'_>) -> BTreeMap<&'static str, String> {
    let kind = item_form::kind_of(&item.goods);
    let fields = item_form::fields(kind, true);
    let filled = crate::web::forms::flat::fill(&fields, &item_form::document(item, hand), hand);
    let mut cells = BTreeMap::from([("kind", kind.to_owned()), ("from", item.from.to_string())]);
    for (name, _) in COLUMNS {
        if let Some(value) = filled.last(&format!("item.{name}")) {
            cells.insert(name, value.replace('\n', " | "));
        }
    }
    // With all its decimals, whatever the currency has.
    cells.insert("price", item.price.0.to_string());
    if let Goods::Outside { minimum, .. } = &item.goods {
        cells.insert("minimum", minimum.0.to_string());
    }
    cells
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_decimal_with_two_readings_is_refused_unless_the_head_tells() {
        for (cell, mark, expected) in [
            ("41.20", Mark::Unsaid, Some("41.20")),
            ("41,20", Mark::Unsaid, Some("41.20")),
            ("1.234,50", Mark::Unsaid, Some("1234.50")),
            ("1,234.50", Mark::Unsaid, Some("1234.50")),
            ("1,234", Mark::Unsaid, None),
            ("1.234", Mark::Unsaid, None),
            ("1,234", Mark::Point, Some("1234")),
            ("1,234", Mark::Comma, Some("1.234")),
            ("1.234", Mark::Comma, Some("1234")),
            ("1 234,5", Mark::Comma, Some("1234.5")),
            ("12,34.5", Mark::Point, None),
            ("7", Mark::Unsaid, Some("7")),
            ("-3", Mark::Unsaid, Some("-3")),
            ("cheap", Mark::Unsaid, None),
            ("1.2.3", Mark::Unsaid, None),
            ("£4", Mark::Point, None),
        ] {
            assert_eq!(decimal(cell, mark).ok().as_deref(), expected, "{cell} {mark:?}");
        }
    }

    #[test]
    fn a_file_says_what_it_is_not() {
        assert_eq!(text(b"\xef\xbb\xbfcode"), Ok("code"));
        for (bytes, says) in [(&b"code\nn\xe9"[..], "Line 2"), (b" \n", "empty"), (b"PK\0\x03", "no text")] {
            assert!(text(bytes).unwrap_err().contains(says), "{says}");
        }
    }
}
