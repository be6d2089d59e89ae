//! How a shop writes its money.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Money;

/// Before every figure below nought that a person reads; fields and files take a hyphen.
pub(super) const MINUS: &str = "−";

/// How the digits before the decimal mark are grouped.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Grouping {
    /// 1,234,567
    #[default]
    Western,
    /// 12,34,567
    Indian,
    /// 1234567
    None,
}

/// How amounts are written and read. The currency belongs to the shop; nothing is ever converted.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MoneyStyle {
    /// ISO 4217, such as `GBP`.
    pub currency_code: String,
    /// The sign written with an amount, such as `£`.
    pub symbol: String,
    pub symbol_before: bool,
    /// Decimals of the smallest unit: 2 for pence, 0 for yen.
    pub decimals: u32,
    pub group: Grouping,
    pub decimal_mark: char,
    pub group_mark: char,
}

impl MoneyStyle {
    /// An amount with the currency's sign, rounded to its decimals: `₹1,00,000.00`.
    pub fn show(&self, amount: Money) -> String {
        let (sign, digits) = self.signed_digits(amount);
        // A sign made of letters stands apart from the digits; the space does not break.
        let space = if self.symbol.chars().any(char::is_alphabetic) || !self.symbol_before { "\u{a0}" } else { "" };
        match self.symbol_before {
            _ if self.symbol.is_empty() => format!("{sign}{digits}"),
            true => format!("{sign}{}{space}{digits}", self.symbol),
            false => format!("{sign}{digits}{space}{}", self.symbol),
        }
    }

    /// An amount without the sign of the currency, rounded to its decimals: for a field or a file, with the hyphen that machines read.
    pub fn show_bare(&self, amount: Money) -> String {
        let (sign, digits) = self.signed_digits(amount);
        format!("{}{digits}", if sign.is_empty() { "" } else { "-" })
    }

    fn signed_digits(&self, amount: Money) -> (&'static str, String) {
        let rounded = amount.rounded(self.decimals).0;
        let sign = if rounded.is_sign_negative() && !rounded.is_zero() { MINUS } else { "" };
        let text = format!("{:.*}", self.decimals.min(28) as usize, rounded.abs());
        let (whole, fraction) = text.split_once('.').unwrap_or((&text, ""));
        let whole = grouped(whole, self.group, self.group_mark);
        match fraction {
            "" => (sign, whole),
            fraction => (sign, format!("{whole}{}{fraction}", self.decimal_mark)),
        }
    }
}

/// An amount as the shop writes it; see [`MoneyStyle::show`].
pub fn show_money(amount: Money, style: &MoneyStyle) -> String {
    style.show(amount)
}

/// ASCII digits with a mark between their groups.
pub fn grouped(digits: &str, group: Grouping, mark: char) -> String {
    let mut text = String::with_capacity(digits.len() * 4 / 3 + 1);
    for (at, digit) in digits.chars().enumerate() {
        let left = digits.len() - at;
        let breaks = match group {
            Grouping::Western => left.is_multiple_of(3),
            Grouping::Indian => left == 3 || (left > 3 && !left.is_multiple_of(2)),
            Grouping::None => false,
        };
        if at > 0 && breaks {
            text.push(mark);
        }
        text.push(digit);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pounds() -> MoneyStyle {
        MoneyStyle {
            currency_code: "GBP".into(),
            symbol: "£".into(),
            symbol_before: true,
            decimals: 2,
            group: Grouping::Western,
            decimal_mark: '.',
            group_mark: ',',
        }
    }

    fn money(text: &str) -> Money {
        Money(text.parse().unwrap())
    }

    #[test]
    fn amounts_are_written_as_the_shop_writes_them() {
        assert_eq!(pounds().show(money("1234567.895")), "£1,234,567.90");
        assert_eq!(pounds().show(money("-0.5")), "−£0.50");
        assert_eq!(pounds().show(money("-0.001")), "£0.00");
        assert_eq!(pounds().show_bare(money("12")), "12.00");
        assert_eq!(pounds().show_bare(money("-12")), "-12.00");
        let rupees = MoneyStyle { symbol: "₹".into(), group: Grouping::Indian, ..pounds() };
        assert_eq!(rupees.show(money("100000")), "₹1,00,000.00");
        assert_eq!(rupees.show(money("123456789")), "₹12,34,56,789.00");
        assert_eq!(rupees.show(money("999")), "₹999.00");
        let euros =
            MoneyStyle { symbol: "€".into(), symbol_before: false, decimal_mark: ',', group_mark: '.', ..pounds() };
        assert_eq!(euros.show(money("1234.5")), "1.234,50\u{a0}€");
        let yen = MoneyStyle { symbol: "JPY".into(), decimals: 0, ..pounds() };
        assert_eq!(yen.show(money("1234.5")), "JPY\u{a0}1,235");
    }
}
