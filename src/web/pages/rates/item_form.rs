//! An item of the rate book as a form: what every item has, and what its kind of goods has besides.

use serde_json::{Value, json};

use super::lines;
use crate::{
    domain::{
        form::{Field, Hand, Kind, Limit},
        shop::{ConsumableUse, Goods, Item, ItemClass, OutsideService, PartClass, RateUnit, Trade},
        steel::SheetMaterial,
    },
    web::{form::Form, forms::flat},
};

/// The kinds of goods, as the form for a new item offers them.
pub const KINDS: [(&str, &str); 6] = [
    ("bar", "a section sold in bars"),
    ("sheet", "a sheet or plate"),
    ("part", "a bought-in part"),
    ("consumable", "a consumable or paint"),
    ("labour", "an hour of labour"),
    ("outside", "outside work"),
];

pub fn kind_of(goods: &Goods) -> &'static str {
    match goods {
        Goods::Bar { .. } => "bar",
        Goods::Sheet { .. } => "sheet",
        Goods::Part { .. } => "part",
        Goods::Consumable { .. } => "consumable",
        Goods::Labour { .. } => "labour",
        Goods::Outside { .. } => "outside",
    }
}

/// The fields of an item of a kind. Lists of lines stand as text in the document.
pub fn fields(kind: &str, is_new: bool) -> Vec<Field> {
    use Kind::{Choice, Count, Grade, Length, Mass, Minutes, Money, Section, Text};
    let what = "What it is";
    let field = |path: &str, label: &str, kind, (low, high), optional, help| Field {
        path: path.into(),
        group: what,
        label: label.into(),
        kind,
        unit: "",
        limit: Limit { low, high },
        optional,
        help,
    };
    let mut fields = Vec::new();
    if is_new {
        fields.push(field(
            "item.code",
            "Code",
            Text,
            (1.0, 60.0),
            false,
            "As on the shop's own lists; it never changes.",
        ));
    }
    fields.push(field("item.name", "Name", Text, (1.0, 120.0), false, ""));
    fields.push(field(
        "item.class",
        "Class",
        Choice(ItemClass::WORDS),
        (0.0, 0.0),
        false,
        "For mark-up, price age and changes by per cent.",
    ));
    fields.push(field("item.supplier", "Supplier", Text, (0.0, 120.0), false, "Never shown to a customer."));
    fields.push(field("item.unit", "One price buys", Choice(RateUnit::WORDS), (0.0, 0.0), false, ""));
    if is_new {
        fields.push(field("item.price", "Price before tax", Money, (0.0, 1e6), false, ""));
    }
    fields.push(field("item.lead_days", "Days until it is here", Count, (0.0, 365.0), false, ""));
    fields.push(field("item.source", "Where the figures come from", Text, (0.0, 300.0), false, ""));
    match kind {
        "bar" => {
            fields.push(field(
                "item.section",
                "Section",
                Section,
                (0.0, 0.0),
                false,
                "such as rhs 60x40x3; the depth stands first",
            ));
            fields.push(field("item.grade", "Grade", Grade, (0.0, 0.0), false, ""));
            fields.push(field(
                "item.lengths",
                "Lengths it is sold in, a line each",
                Text,
                (1.0, 2000.0),
                false,
                "6000, or 6000 @ 41.20 where that length has its own price",
            ));
        }
        "sheet" => {
            fields.push(field("item.material", "Material", Choice(SheetMaterial::WORDS), (0.0, 0.0), false, ""));
            fields.push(field("item.thickness", "Thickness", Length, (0.3, 60.0), false, ""));
            fields.push(field("item.sizes", "Sizes it is sold in, a line each", Text, (1.0, 2000.0), false, "2440 x 1220, or 2440 x 1220 @ 62 where that size has its own price; grain or pattern lies along the length"));
        }
        "part" => {
            fields.push(field("item.part", "Kind of part", Choice(PartClass::WORDS), (0.0, 0.0), false, ""));
            fields.push(field("item.mass", "Mass of one", Mass, (0.0, 2000.0), false, ""));
            fields.push(field(
                "item.minutes",
                "Time to fit one",
                Minutes,
                (0.0, 6000.0),
                true,
                "Else the norm of its kind.",
            ));
            fields.push(field(
                "item.attributes",
                "What rules may ask of it, a line each",
                Text,
                (0.0, 4000.0),
                false,
                "Such as rating_kg = 750",
            ));
        }
        "consumable" => {
            fields.push(field("item.used_for", "Used for", Choice(ConsumableUse::WORDS), (0.0, 0.0), false, ""));
        }
        "labour" => fields.push(field("item.trade", "Trade", Choice(Trade::WORDS), (0.0, 0.0), false, "")),
        _ => {
            fields.push(field("item.service", "Service", Choice(OutsideService::WORDS), (0.0, 0.0), false, ""));
            fields.push(field("item.minimum", "Smallest charge of one order", Money, (0.0, 1e6), false, ""));
        }
    }
    fields
}

/// The document that the fields show.
pub fn document(item: &Item, hand: Hand<'_>) -> Value {
    let mut shown = json!({
        "code": item.code, "name": item.name, "class": item.class, "supplier": item.supplier, "unit": item.unit,
        "price": item.price, "lead_days": item.lead_days, "source": item.source,
    });
    let goods = match &item.goods {
        Goods::Bar { section, grade, lengths } => {
            json!({"section": section, "grade": grade, "lengths": lines::write_lengths(lengths, hand)})
        }
        Goods::Sheet { material, thickness, sizes } => {
            json!({"material": material, "thickness": thickness, "sizes": lines::write_sizes(sizes, hand)})
        }
        Goods::Part { class, mass_kg, minutes, attributes } => json!({
            "part": class, "mass": mass_kg, "minutes": minutes, "attributes": lines::write_attributes(attributes)
        }),
        Goods::Consumable { used_for } => json!({"used_for": used_for}),
        Goods::Labour { trade } => json!({"trade": trade}),
        Goods::Outside { service, minimum } => json!({"service": service, "minimum": minimum}),
    };
    if let (Value::Object(shown), Value::Object(goods)) = (&mut shown, goods) {
        shown.extend(goods);
    }
    json!({ "item": shown })
}

/// Reads what was typed into an item; None, with every fault noted, where it cannot be kept.
pub fn read(form: &mut Form, before: &Item, is_new: bool, hand: Hand<'_>) -> Option<Item> {
    let kind = kind_of(&before.goods);
    let mut shown = document(before, hand);
    flat::read(form, &fields(kind, is_new), &mut shown, hand);
    let goods = goods(form, kind, &shown, hand);
    let (Some(goods), true) = (goods, form.is_right()) else { return None };
    let item = json!({
        "code": shown["item"]["code"], "name": shown["item"]["name"], "class": shown["item"]["class"],
        "supplier": shown["item"]["supplier"], "unit": shown["item"]["unit"], "price": shown["item"]["price"],
        "from": before.from, "lead_days": shown["item"]["lead_days"], "source": shown["item"]["source"],
        "retired": before.retired, "goods": goods,
    });
    match serde_json::from_value(item) {
        Ok(item) => Some(item),
        Err(fault) => {
            form.wrong_altogether(format!("This cannot be kept: {fault}."));
            None
        }
    }
}

/// The goods in the rate book's own form, with the lists of lines read.
fn goods(form: &mut Form, kind: &str, shown: &Value, hand: Hand<'_>) -> Option<Value> {
    let item = &shown["item"];
    let typed = |form: &Form, field: &str| {
        form.last(field).map_or_else(
            || item[field.trim_start_matches("item.")].as_str().unwrap_or_default().to_owned(),
            str::to_owned,
        )
    };
    let mut lines_of =
        |field: &str, label: &str, read: &dyn Fn(&str) -> Result<Value, String>| match read(&typed(form, field)) {
            Ok(value) => Some(value),
            Err(message) => {
                if form.fault(field).is_none() {
                    form.wrong(field, label, message);
                }
                None
            }
        };
    let value = |list: Result<Value, serde_json::Error>| list.map_err(|fault| format!("{fault}."));
    Some(match kind {
        "bar" => {
            let lengths = lines_of("item.lengths", "Lengths", &|text| {
                value(serde_json::to_value(lines::read_lengths(text, hand)?))
            })?;
            json!({"kind": kind, "section": item["section"], "grade": item["grade"], "lengths": lengths})
        }
        "sheet" => {
            let sizes =
                lines_of("item.sizes", "Sizes", &|text| value(serde_json::to_value(lines::read_sizes(text, hand)?)))?;
            json!({"kind": kind, "material": item["material"], "thickness": item["thickness"], "sizes": sizes})
        }
        "part" => {
            let attributes = lines_of("item.attributes", "Attributes", &|text| {
                value(serde_json::to_value(lines::read_attributes(text)?))
            })?;
            json!({
                "kind": kind, "class": item["part"], "mass_kg": item["mass"], "minutes": item["minutes"],
                "attributes": attributes,
            })
        }
        "consumable" => json!({"kind": kind, "used_for": item["used_for"]}),
        "labour" => json!({"kind": kind, "trade": item["trade"]}),
        _ => json!({"kind": kind, "service": item["service"], "minimum": item["minimum"]}),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{domain::shop::ShopBook, web::show::Show};

    #[test]
    fn every_item_of_the_demo_shop_is_read_back_as_it_is_shown() {
        let shop = ShopBook::demo();
        let show = Show::of(&shop);
        for item in &shop.rates.items {
            let fields = fields(kind_of(&item.goods), true);
            let mut form = flat::fill(&fields, &document(item, show.hand()), show.hand());
            let read = read(&mut form, item, true, show.hand());
            assert_eq!(read.as_ref(), Some(item), "{}: {:?}", item.code, form.faults());
        }
    }

    #[test]
    fn all_that_is_wrong_is_said_at_once() {
        let shop = ShopBook::demo();
        let show = Show::of(&shop);
        let bar = shop.rates.items.iter().find(|item| kind_of(&item.goods) == "bar").expect("a bar");
        let mut form = Form::filled([
            ("item.name", ""),
            ("item.section", "rhs 60x40x30"),
            ("item.lengths", "long"),
            ("item.lead_days", "-1"),
        ]);
        assert_eq!(read(&mut form, bar, false, show.hand()), None);
        let fields: Vec<&str> = form.faults().iter().map(|fault| fault.field.as_str()).collect();
        assert_eq!(fields, ["item.name", "item.lead_days", "item.section", "item.lengths"]);
    }
}
