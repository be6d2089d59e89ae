//! Why a typed text could not be read, and what would do.

use std::fmt;

use super::{GaugeTable, Length, gauge::gauge_range};

/// What kind of value was asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asked {
    Length,
    Mass,
    Money,
    Number,
    Percent,
    Angle,
    Time,
}

impl Asked {
    const fn name(self) -> &'static str {
        match self {
            Self::Length => "a length",
            Self::Mass => "a mass",
            Self::Money => "an amount",
            Self::Number => "a number",
            Self::Percent => "a percentage",
            Self::Angle => "an angle",
            Self::Time => "a time",
        }
    }

    const fn examples(self) -> &'static str {
        match self {
            Self::Length => "1830, 1.83 m, 6' 2 1/2\", 3/16 in or 10 SWG",
            Self::Mass => "350 kg, 1.2 t or 770 lb",
            Self::Money => "1,250.00",
            Self::Number => "1,250.5",
            Self::Percent => "12.5 %",
            Self::Angle => "45 or 22.5°",
            Self::Time => "90 min, 1.5 h or 1h 30",
        }
    }

    const fn units(self) -> &'static str {
        match self {
            Self::Length => "mm, cm, m, in, ft, yd, or a gauge with its table",
            Self::Mass => "g, kg, t, oz, lb",
            Self::Money => "the shop's currency alone",
            Self::Number => "no unit",
            Self::Percent => "%",
            Self::Angle => "°, deg, rad",
            Self::Time => "min, h, days as hours",
        }
    }
}

/// A text that was not read. `Display` is one sentence for the field: what was read, and what would do.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ReadFault {
    #[error("nothing was entered: type {}, such as {}", .0.name(), .0.examples())]
    Empty(Asked),
    #[error("“{text}” is not {}: type one such as {}", .asked.name(), .asked.examples())]
    Unreadable { text: String, asked: Asked },
    #[error("“{unit}” is not a unit for {}: use {}", .asked.name(), .asked.units())]
    UnknownUnit { unit: String, asked: Asked },
    /// A lone comma (or, where the comma is the decimal mark, a lone dot) that both groups and decimals would explain.
    #[error("“{text}” can be read as {} or as {}: type the one that is meant", .readings[0], .readings[1])]
    Ambiguous { text: String, readings: [String; 2] },
    #[error("the digits of “{text}” are not grouped as 1,234,567 or 12,34,567: type it without separators")]
    Grouping { text: String },
    #[error(
        "“ton” has several meanings: type t (1,000 kg), or the pounds (a US ton is 2,000 lb, a British one 2,240 lb)"
    )]
    WhichTon,
    #[error("{}", which_gauge(*.gauge, .readings))]
    WhichGauge { gauge: u32, readings: Vec<(GaugeTable, Length)> },
    #[error("there is no {gauge} {} here: the table runs from {} to {}; type the thickness instead", table_name(*.table), gauge_range().0, gauge_range().1)]
    NoSuchGauge { gauge: String, table: Option<GaugeTable> },
    #[error("“{text}” divides by zero: type a fraction such as 3/16")]
    DividesByZero { text: String },
    #[error("“{text}” is too large, or has too many digits, to be {}", .asked.name())]
    TooLarge { text: String, asked: Asked },
    #[error("“{text}” names another currency: amounts are in {currency}")]
    OtherCurrency { text: String, currency: String },
}

fn table_name(table: Option<GaugeTable>) -> &'static str {
    table.map_or("gauge", GaugeTable::name)
}

fn which_gauge(gauge: u32, readings: &[(GaugeTable, Length)]) -> String {
    use fmt::Write;
    let mut text = format!("{gauge} gauge has several meanings: type ");
    for (nth, (table, thickness)) in readings.iter().enumerate() {
        let joint = match nth {
            0 => "",
            _ if nth + 1 == readings.len() => " or ",
            _ => ", ",
        };
        let _ = write!(text, "{joint}{gauge} {table} ({:.2} mm, {})", thickness.mm(), table.used_for());
    }
    text
}

/// The text for a message: no longer than a field shows.
pub fn short(text: &str) -> String {
    match text.char_indices().nth(40) {
        Some((at, _)) => format!("{}…", &text[..at]),
        None => text.to_owned(),
    }
}
