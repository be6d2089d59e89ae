//! Figures as pages write them: in the shop's units and money, with the other family of units beside.

use std::{cmp::Ordering, fmt::Display};

use jiff::civil::Date;
use rust_decimal::Decimal;

use crate::domain::{
    form::Hand,
    issued::IssuedShop,
    measure::{
        Grouping, Money, MoneyStyle, Units, beside_each, lengths_beside, masses_beside, percent_of_limit, show_length,
        show_mass, show_number, show_other_length, show_other_mass,
    },
    shop::ShopBook,
    working::MONEY,
};

/// How this shop writes its figures.
#[derive(Clone, Debug)]
pub struct Show {
    pub units: Units,
    pub money: MoneyStyle,
}

/// A figure in the shop's units, and in the other family: the macro `both` puts the second into the tooltip.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Both {
    pub main: String,
    pub other: String,
}

impl Both {
    /// A text that is no measure, or has no other family.
    pub fn plain(text: impl Into<String>) -> Self {
        Self { main: text.into(), other: String::new() }
    }
}

impl Show {
    pub fn of(shop: &ShopBook) -> Self {
        Self { units: shop.units, money: shop.currency.clone() }
    }

    /// As on the day on which a revision was issued.
    pub fn of_issued(shop: &IssuedShop) -> Self {
        Self { units: shop.units, money: shop.currency.clone() }
    }

    /// How what is typed is read.
    pub fn hand(&self) -> Hand<'_> {
        Hand { units: self.units, money: &self.money }
    }

    pub fn length(&self, mm: f64) -> Both {
        Both { main: whole(show_length(mm, self.units)), other: whole(show_other_length(mm, self.units)) }
    }

    pub fn mass(&self, kg: f64) -> Both {
        Both { main: whole(show_mass(kg, self.units)), other: whole(show_other_mass(kg, self.units)) }
    }

    pub fn money(&self, amount: Money) -> String {
        self.money.show(amount)
    }

    /// What an amount is more or less than another: with its sign.
    pub fn difference(&self, amount: Money) -> String {
        match amount.0.cmp(&Decimal::ZERO) {
            Ordering::Less => format!("−{}", self.money.show(Money(-amount.0))),
            Ordering::Equal => "no more, no less".into(),
            Ordering::Greater => format!("+{}", self.money.show(amount)),
        }
    }

    /// An amount without the currency's sign and with all its decimals: for a field, where reading it back must give the same.
    pub fn exact_money(&self, amount: Money) -> String {
        let amount = Money(amount.0.normalize());
        match (amount.0.scale() <= self.money.decimals, self.money.decimal_mark) {
            (true, _) => self.money.show_bare(amount),
            (false, ',') => amount.0.to_string().replace('.', ","),
            (false, _) => amount.0.to_string(),
        }
    }

    /// A number without unit, to so many decimals.
    pub fn number(&self, value: f64, decimals: usize) -> String {
        show_number(value, decimals, Grouping::Western)
    }

    /// A part of a whole, 0 to 1, in per cent.
    pub fn share(&self, share: f64) -> String {
        self.with_unit(self.number(share * 100.0, 1), "%")
    }

    /// A result of a working with its unit.
    pub fn result(&self, value: f64, unit: &str) -> String {
        match unit {
            "mm" => self.length(value).main,
            "kg" => self.mass(value).main,
            MONEY => self.money(Money(Decimal::try_from(value).unwrap_or_default())),
            "" => self.number(value, decimals(value, RESULT_DIGITS)),
            unit => self.with_unit(self.number(value, decimals(value, RESULT_DIGITS)), unit),
        }
    }

    /// A figure and its unit, which no end of a line parts.
    pub fn with_unit(&self, figure: impl Display, unit: &str) -> String {
        let figure = figure.to_string();
        let unit = if figure == "1" { one_of(unit) } else { unit.to_owned() };
        whole(format!("{figure} {unit}").trim_end().to_owned())
    }

    /// A value put into a working with its unit: exact enough to work the result out again.
    fn put_in(&self, value: f64, unit: &str) -> String {
        match unit {
            "mm" | "kg" | MONEY => self.result(value, unit),
            unit => self.with_unit(self.figure(value), unit),
        }
    }

    /// A value and its limit with their unit, in digits that tell which is the larger.
    pub fn beside(&self, value: f64, limit: f64, unit: &str) -> [String; 2] {
        let pair = [value, limit];
        match unit {
            "mm" => lengths_beside(value, limit, self.units).map(whole),
            "kg" => masses_beside(value, limit, self.units).map(whole),
            MONEY => pair.map(|value| self.result(value, unit)),
            unit => beside_each(pair, pair.map(|value| decimals(value, RESULT_DIGITS)))
                .map(|text| self.with_unit(text, unit)),
        }
    }

    /// A share of a limit in per cent: over 100 exactly if it is over.
    pub fn share_of_limit(&self, share: f64) -> String {
        self.with_unit(percent_of_limit(share, 1), "%")
    }

    /// The same where formulas stand in millimetres and kilograms: a shop that works in others reads both.
    pub fn both_families(&self, value: f64, unit: &str) -> String {
        self.with_metric(self.result(value, unit), value, unit)
    }

    /// The same of a value put in.
    pub fn given(&self, value: f64, unit: &str) -> String {
        self.with_metric(self.put_in(value, unit), value, unit)
    }

    fn with_metric(&self, shown: String, value: f64, unit: &str) -> String {
        match unit {
            "mm" | "kg" if self.units == Units::Imperial => {
                format!("{shown} ({})", self.with_unit(self.figure(value), unit))
            }
            _ => shown,
        }
    }

    /// A value as a formula takes it, without its unit.
    pub fn bare(&self, value: f64, unit: &str) -> String {
        match unit {
            MONEY => self.exact_money(Money(Decimal::try_from(value).unwrap_or_default().round_dp(4))),
            _ => self.figure(value),
        }
    }

    /// A number to the digits that count of a value put in.
    pub fn figure(&self, value: f64) -> String {
        self.number(value, decimals(value, GIVEN_DIGITS))
    }

    /// A day: `5 Nov 2026`, which no country reads in two ways.
    pub fn day(&self, day: Date) -> String {
        day.strftime("%-d %b %Y").to_string()
    }
}

/// A difference in numbers of pieces, with its sign.
pub fn signed(more: i64) -> String {
    match more {
        0 => "same".to_owned(),
        more if more < 0 => format!("−{}", more.unsigned_abs()),
        more => format!("+{more}"),
    }
}

/// No end of a line comes between the parts of a figure.
fn whole(figure: String) -> String {
    figure.replace(' ', "\u{a0}")
}

/// What is counted, of one: `pieces` is `piece`, `bars trimmed` is `bar trimmed`. Signs of units are too short to be plurals.
fn one_of(unit: &str) -> String {
    let one = |word: &str| match word.strip_suffix('s') {
        Some(one) if one.len() >= 3 && !one.ends_with('s') => one.to_owned(),
        _ => word.to_owned(),
    };
    unit.split(' ').map(one).collect::<Vec<_>>().join(" ")
}

/// Results are shown to three digits that count, as sentences show them; whole numbers keep all of theirs. More would claim what
/// neither loads nor sections are known to.
const RESULT_DIGITS: i32 = 3;
/// What is put in is shown finer, so that a reader who works it out again meets the result.
const GIVEN_DIGITS: i32 = 5;

/// So many decimals make these digits that count.
fn decimals(value: f64, digits: i32) -> usize {
    let before = if value.abs() < 1e-6 { 1 } else { value.abs().log10().floor() as i32 + 1 };
    (digits - before).clamp(0, 9) as usize
}

/// For tests of templates.
#[cfg(test)]
impl Show {
    pub fn sample() -> Self {
        let money = MoneyStyle {
            currency_code: "GBP".into(),
            symbol: "£".into(),
            symbol_before: true,
            decimals: 2,
            group: Grouping::Western,
            decimal_mark: '.',
            group_mark: ',',
        };
        Self { units: Units::Metric, money }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_beside_its_limit_tells_which_is_larger() {
        let show = Show::sample();
        assert_eq!(show.beside(186.674, 186.67, "MPa"), ["186.674\u{a0}MPa", "186.67\u{a0}MPa"]);
        assert_eq!(show.beside(62.5, 235.0, "MPa"), ["62.5\u{a0}MPa", "235\u{a0}MPa"]);
        assert_eq!(show.beside(750.3, 750.0, "kg"), ["750.3\u{a0}kg", "750\u{a0}kg"]);
        assert_eq!(show.beside(1.000_04, 1.0, ""), ["1.0001", "1"]);
        assert_eq!(show.share_of_limit(1.0001), "100.01\u{a0}%");
    }

    #[test]
    fn one_is_no_plural() {
        let show = Show::sample();
        let counted = |count: f64, unit: &str| show.with_unit(show.number(count, 2), unit).replace('\u{a0}', " ");
        for (count, unit, shown) in [
            (1.0, "pieces", "1 piece"),
            (2.0, "pieces", "2 pieces"),
            (1.0, "braked axles", "1 braked axle"),
            (1.0, "bars trimmed", "1 bar trimmed"),
            (1.0, "cut-outs", "1 cut-out"),
            (1.5, "pieces", "1.5 pieces"),
            (1.0, "h hands-on", "1 h hands-on"),
            (1.0, "m² and coat", "1 m² and coat"),
            (1.0, "% of gross", "1 % of gross"),
        ] {
            assert_eq!(counted(count, unit), shown);
        }
    }

    #[test]
    fn a_result_has_three_digits_and_what_is_put_in_five() {
        let show = Show::sample();
        for (value, unit, result, given) in [
            (186.674, "MPa", "187 MPa", "186.67 MPa"),
            (5.194_3, "kN", "5.19 kN", "5.1943 kN"),
            (12_345.6, "N", "12,346 N", "12,346 N"),
            (0.612_34, "", "0.612", "0.61234"),
            (4.0, "", "4", "4"),
            (1892.34, "mm", "1,892.3 mm", "1,892.3 mm"),
        ] {
            let shown = [show.both_families(value, unit), show.given(value, unit)];
            assert_eq!(shown, [result, given].map(|text| text.replace(' ', "\u{a0}")));
        }
    }

    #[test]
    fn a_figure_carries_both_families_of_units() {
        let show = Show::sample();
        assert_eq!(show.length(1892.3), Both { main: "1,892.3\u{a0}mm".into(), other: "6′\u{a0}2\u{a0}1/2″".into() });
        assert_eq!(show.mass(349.266_124_9).other, "770\u{a0}lb");
        assert_eq!(show.day(jiff::civil::date(2026, 11, 5)), "5 Nov 2026");
    }
}
