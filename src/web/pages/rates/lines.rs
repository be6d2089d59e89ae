//! Stock lengths, sheet sizes and attributes as people type them: a line each.
//!
//! `6000` or `6000 @ 41.20` (a length that has its own price); `2440 x 1220 @ 62`; `rating_kg = 750`.

use crate::domain::{
    form::Hand,
    measure::{Length, read_length, read_money, read_number, write_length},
    shop::{Attribute, Attributes, BarLength, SheetSize},
};

/// The lengths that a bar is sold in.
pub fn read_lengths(text: &str, hand: Hand<'_>) -> Result<Vec<BarLength>, String> {
    let lengths: Result<Vec<_>, String> = lines(text)
        .map(|line| {
            let (length, price) = priced(line, hand)?;
            Ok(BarLength { length: positive(length, hand)?, price })
        })
        .collect();
    needed(lengths?, "a length such as 6000, or 6000 @ 41.20 with its own price")
}

/// The sizes that a sheet is sold in.
pub fn read_sizes(text: &str, hand: Hand<'_>) -> Result<Vec<SheetSize>, String> {
    let sizes: Result<Vec<_>, String> = lines(text)
        .map(|line| {
            let (size, price) = priced(line, hand)?;
            let (length, width) = size
                .split_once(['x', 'X', '×'])
                .ok_or_else(|| format!("“{size}” is no size: type length x width, such as 2440 x 1220."))?;
            Ok(SheetSize { length: positive(length, hand)?, width: positive(width, hand)?, price })
        })
        .collect();
    needed(sizes?, "a size such as 2440 x 1220, or 2440 x 1220 @ 62 with its own price")
}

/// What rules may ask of a part.
pub fn read_attributes(text: &str) -> Result<Attributes, String> {
    lines(text)
        .map(|line| {
            let (name, value) = line
                .split_once('=')
                .ok_or_else(|| format!("“{line}” is no attribute: type name = value, such as rating_kg = 750."))?;
            let value = value.trim();
            let figure = read_number(value).ok().and_then(|figure| figure.to_string().parse::<f64>().ok());
            let value = figure.map_or_else(|| Attribute::Word(value.to_owned()), Attribute::Figure);
            Ok((name.trim().to_owned(), value))
        })
        .collect()
}

pub fn write_lengths(lengths: &[BarLength], hand: Hand<'_>) -> String {
    let line = |length: &BarLength| format!("{}{}", write_length(length.length, hand.units), price(length.price, hand));
    lengths.iter().map(line).collect::<Vec<_>>().join("\n")
}

pub fn write_sizes(sizes: &[SheetSize], hand: Hand<'_>) -> String {
    let show = |length| write_length(length, hand.units);
    let line = |size: &SheetSize| format!("{} x {}{}", show(size.length), show(size.width), price(size.price, hand));
    sizes.iter().map(line).collect::<Vec<_>>().join("\n")
}

pub fn write_attributes(attributes: &Attributes) -> String {
    let line = |(name, value): (&String, &Attribute)| match value {
        Attribute::Figure(figure) => format!("{name} = {figure}"),
        Attribute::Word(word) => format!("{name} = {word}"),
    };
    attributes.iter().map(line).collect::<Vec<_>>().join("\n")
}

fn lines(text: &str) -> impl Iterator<Item = &str> {
    text.lines().map(str::trim).filter(|line| !line.is_empty())
}

fn priced<'a>(line: &'a str, hand: Hand<'_>) -> Result<(&'a str, Option<crate::domain::measure::Money>), String> {
    match line.split_once('@') {
        None => Ok((line, None)),
        Some((what, price)) => {
            let price = read_money(price.trim(), hand.money).map_err(|fault| format!("{fault}."))?;
            if price.0.is_sign_negative() && !price.0.is_zero() {
                return Err(format!("The price of “{}” is negative: type 0 or more.", what.trim()));
            }
            Ok((what.trim(), Some(price)))
        }
    }
}

fn positive(text: &str, hand: Hand<'_>) -> Result<Length, String> {
    let length = read_length(text.trim(), hand.units).map_err(|fault| format!("{fault}."))?;
    // Longer than any lorry carries is a slip of the unit.
    if length.mm() < 1.0 || length.mm() > 20_000.0 {
        return Err(format!("“{}” is no stock length: type one from 1 mm to 20 m.", text.trim()));
    }
    Ok(length)
}

fn needed<T>(items: Vec<T>, what: &str) -> Result<Vec<T>, String> {
    if items.is_empty() { Err(format!("Nothing was entered: type {what}.")) } else { Ok(items) }
}

fn price(price: Option<crate::domain::measure::Money>, hand: Hand<'_>) -> String {
    let exact = |price: crate::domain::measure::Money| {
        let price = price.0.normalize().to_string();
        if hand.money.decimal_mark == ',' { price.replace('.', ",") } else { price }
    };
    price.map_or_else(String::new, |price| format!(" @ {}", exact(price)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::web::show::Show;

    #[test]
    fn what_is_written_is_read_back() {
        let show = Show::sample();
        let hand = show.hand();
        let lengths = read_lengths("6000\n7.5 m @ 41.205\n", hand).expect("lengths");
        assert_eq!(lengths.len(), 2);
        assert_eq!(read_lengths(&write_lengths(&lengths, hand), hand).as_ref(), Ok(&lengths));
        let sizes = read_sizes("2440 x 1220 @ 62\n8 ft x 4 ft", hand).expect("sizes");
        assert_eq!(read_sizes(&write_sizes(&sizes, hand), hand).as_ref(), Ok(&sizes));
        let attributes = read_attributes("rating_kg = 750\nball=50\nsize = 155/80 R13").expect("attributes");
        assert_eq!(attributes["rating_kg"], Attribute::Figure(750.0));
        assert_eq!(attributes["size"], Attribute::Word("155/80 R13".into()));
        assert_eq!(read_attributes(&write_attributes(&attributes)).as_ref(), Ok(&attributes));
    }

    #[test]
    fn what_cannot_be_read_says_what_would_do() {
        let show = Show::sample();
        for (wrong, says) in
            [("", "6000"), ("long", "length"), ("0", "1 mm"), ("6000 @ cheap", "amount"), ("6000 @ -3", "negative")]
        {
            let said = read_lengths(wrong, show.hand()).expect_err(wrong);
            assert!(said.contains(says), "{wrong}: {said}");
        }
        assert!(read_sizes("2440", show.hand()).expect_err("no width").contains("2440 x 1220"));
        assert!(read_attributes("750").expect_err("no name").contains("rating_kg = 750"));
    }
}
