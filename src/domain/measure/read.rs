//! Reading what people type. Exact decimals and checked arithmetic throughout; a result is rounded once, to the nearest
//! nanometre or microgram. Negative values are read: whether one is permitted is for the limits to say.

use rust_decimal::{Decimal, RoundingStrategy, prelude::ToPrimitive};

use super::{
    GaugeTable, Length, Mass, Money, MoneyStyle, Units,
    fault::{Asked, ReadFault, short},
    gauge::gauge_thickness,
    number::{Marks, Token, decimal, tokens},
    units::{MICROGRAMS_PER_POUND, NM_PER_INCH},
};

/// A length: `1830` in the shop's unit, `1.83 m`, `183cm`, `6ft`, `6' 2 1/2"`, `3-1/2 in`, `72"`, a gauge with its table
/// (`10 SWG`, `10 ga BWG`). A fraction without a unit (`3/16`, `2 1/2`) is inches, whatever the shop's unit.
///
/// # Errors
/// A gauge without its table is asked about ([`ReadFault::WhichGauge`]), as is a lone comma; see [`ReadFault`].
pub fn read_length(text: &str, units: Units) -> Result<Length, ReadFault> {
    let typed = Typed::new(text, Asked::Length)?;
    if let Some(thickness) = typed.gauge() {
        return thickness;
    }
    let (value, rest) = typed.value(&typed.tokens)?;
    let nm = match rest {
        [] if value.fraction || units == Units::Imperial => value.times(NM_PER_INCH),
        [] => value.times(1_000_000),
        [unit] => value.times(typed.unit(unit, length_unit)?),
        [feet, rest @ ..] if is_unit(feet, "ft") => {
            let (inches, rest) = typed.value(rest.strip_prefix(&[Token::Sign('-')]).unwrap_or(rest))?;
            if !rest.is_empty() && !matches!(rest, [unit] if is_unit(unit, "in")) {
                return Err(typed.unreadable());
            }
            let feet = value.times(12 * NM_PER_INCH);
            feet.zip(inches.times(NM_PER_INCH)).and_then(|(feet, inches)| feet.checked_add(inches))
        }
        _ => return Err(typed.unreadable()),
    };
    typed.integer(nm).map(Length::from_nm)
}

/// A mass: `350` in the shop's unit, `350 kg`, `1.2 t`, `800 g`, `770 lb`, `12 oz`, `12 lb 4 oz`.
///
/// # Errors
/// `ton` is asked about, having three meanings; see [`ReadFault`].
pub fn read_mass(text: &str, units: Units) -> Result<Mass, ReadFault> {
    let typed = Typed::new(text, Asked::Mass)?;
    if matches!(typed.tokens.as_slice(), [.., Token::Word(ton)] if ton == "ton" || ton == "tons") {
        return Err(ReadFault::WhichTon);
    }
    let (value, rest) = typed.value(&typed.tokens)?;
    let sixteenths = |value: Value| value.times(MICROGRAMS_PER_POUND).and_then(|mass| mass.checked_div(16.into()));
    let micrograms = match rest {
        [] if units == Units::Imperial => value.times(MICROGRAMS_PER_POUND),
        [] => value.times(1_000_000_000),
        [unit] if is_unit(unit, "oz") => sixteenths(value),
        [unit] => value.times(typed.unit(unit, mass_unit)?),
        [pounds, rest @ ..] if is_unit(pounds, "lb") => match typed.value(rest)? {
            (ounces, [unit]) if is_unit(unit, "oz") => value
                .times(MICROGRAMS_PER_POUND)
                .zip(sixteenths(ounces))
                .and_then(|(pounds, ounces)| pounds.checked_add(ounces)),
            _ => return Err(typed.unreadable()),
        },
        _ => return Err(typed.unreadable()),
    };
    typed.integer(micrograms).map(Mass::from_micrograms)
}

/// A plain number: `1,250.5`, `1/2`, `2 1/2`.
///
/// # Errors
/// See [`ReadFault`].
pub fn read_number(text: &str) -> Result<Decimal, ReadFault> {
    Typed::new(text, Asked::Number)?.only(|_| None)
}

/// A percentage in points: `12.5`, `12.5 %` and `12.5 per cent` are all 12.5.
///
/// # Errors
/// See [`ReadFault`].
pub fn read_percent(text: &str) -> Result<Decimal, ReadFault> {
    Typed::new(text, Asked::Percent)?.only(|unit| matches!(unit, "%" | "percent" | "pct").then_some(1))
}

/// An angle in degrees: `45`, `22.5°`, `30 deg`, `0.5 rad`.
///
/// # Errors
/// See [`ReadFault`].
pub fn read_angle(text: &str) -> Result<f64, ReadFault> {
    let typed = Typed::new(text, Asked::Angle)?;
    if let [digits @ .., Token::Word(unit)] = typed.tokens.as_slice()
        && matches!(unit.as_str(), "rad" | "radian" | "radians")
        && let (value, []) = typed.value(digits)?
    {
        let radians = typed.fits(value.times(1))?.to_f64().unwrap_or_default();
        return Ok(radians.to_degrees());
    }
    let degrees = typed.only(|unit| matches!(unit, "°" | "deg" | "degree" | "degrees").then_some(1))?;
    // By way of its digits: the nearest f64, so that writing it gives them again.
    Ok(degrees.normalize().to_string().parse().unwrap_or_default())
}

/// A time in minutes: `90`, `90 min`, `1.5 h`, `1h 30`, `1 h 30 min`, `1:30`.
///
/// # Errors
/// See [`ReadFault`].
pub fn read_minutes(text: &str) -> Result<Decimal, ReadFault> {
    let typed = Typed::new(text, Asked::Time)?;
    let (value, rest) = typed.value(&typed.tokens)?;
    let is_hour = |token: &Token| *token == Token::Sign(':') || typed.unit(token, time_unit) == Ok(60);
    match rest {
        [hours, rest @ ..] if is_hour(hours) && !rest.is_empty() => {
            let (minutes, rest) = typed.value(rest)?;
            if !rest.is_empty() && !matches!(rest, [unit] if typed.unit(unit, time_unit) == Ok(1)) {
                return Err(typed.unreadable());
            }
            let total = value.times(60).zip(minutes.times(1)).and_then(|(hours, minutes)| hours.checked_add(minutes));
            typed.fits(total)
        }
        _ => typed.only(time_unit),
    }
}

/// An amount in the shop's currency, its symbol or code before or after, grouped as `style` says or in any lawful way.
///
/// # Errors
/// Another currency's sign is refused, never converted; see [`ReadFault`].
pub fn read_money(text: &str, style: &MoneyStyle) -> Result<Money, ReadFault> {
    let marks = if style.decimal_mark == ',' { Marks::COMMA } else { Marks::POINT };
    let bare = without_currency(text, style);
    let bare = match style.group_mark {
        ',' | '.' => bare,
        mark => bare.replace(mark, " "),
    };
    let mut typed = Typed::with_marks(&bare, Asked::Money, marks)?;
    typed.text = text.trim();
    if let [.., Token::Word(_)] | [Token::Word(_), ..] = typed.tokens.as_slice() {
        return Err(typed.other_currency(style));
    }
    if typed.tokens.iter().any(|token| matches!(token, Token::Sign('$' | '€' | '£' | '¥' | '₹' | '₽' | '₩' | '₺')))
    {
        return Err(typed.other_currency(style));
    }
    typed.only(|_| None).map(Money)
}

/// The text without the shop's own sign or code, at either end, a minus kept in front.
fn without_currency(text: &str, style: &MoneyStyle) -> String {
    let mut rest = text.trim();
    let mut minus = "";
    for _ in 0..2 {
        if minus.is_empty()
            && let Some(after) = rest.strip_prefix(['-', '−'])
        {
            (minus, rest) = ("-", after.trim_start());
        }
        for sign in [style.symbol.as_str(), style.currency_code.as_str()] {
            if sign.is_empty() {
                continue;
            }
            let bounds = |at: usize| rest.get(..at).zip(rest.get(at..));
            if let Some((head, tail)) = bounds(sign.len())
                && head.eq_ignore_ascii_case(sign)
            {
                rest = tail.trim_start();
            }
            let bounds = |at: usize| rest.get(..at).zip(rest.get(at..));
            if let Some((head, tail)) = rest.len().checked_sub(sign.len()).and_then(bounds)
                && tail.eq_ignore_ascii_case(sign)
            {
                rest = head.trim_end();
            }
        }
    }
    format!("{minus}{rest}")
}

fn length_unit(unit: &str) -> Option<i64> {
    Some(match unit {
        "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => 1_000_000,
        "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => 10_000_000,
        "m" | "metre" | "metres" | "meter" | "meters" | "mtr" => 1_000_000_000,
        "in" | "inch" | "inches" => NM_PER_INCH,
        "ft" | "foot" | "feet" => 12 * NM_PER_INCH,
        "yd" | "yard" | "yards" => 36 * NM_PER_INCH,
        _ => return None,
    })
}

fn mass_unit(unit: &str) -> Option<i64> {
    Some(match unit {
        "g" | "gram" | "grams" | "gramme" | "grammes" => 1_000_000,
        "kg" | "kgs" | "kilo" | "kilos" | "kilogram" | "kilograms" => 1_000_000_000,
        "t" | "tonne" | "tonnes" => 1_000_000_000_000,
        "lb" | "lbs" | "pound" | "pounds" => MICROGRAMS_PER_POUND,
        _ => return None,
    })
}

fn time_unit(unit: &str) -> Option<i64> {
    Some(match unit {
        "min" | "mins" | "minute" | "minutes" | "m" => 1,
        "h" | "hr" | "hrs" | "hour" | "hours" => 60,
        _ => return None,
    })
}

/// The unit that a token names; primes are feet and inches.
fn unit_name(token: &Token) -> &str {
    match token {
        Token::Word(word) => match word.as_str() {
            "foot" | "feet" => "ft",
            "inch" | "inches" => "in",
            "lbs" | "pound" | "pounds" => "lb",
            "ounce" | "ounces" => "oz",
            other => other,
        },
        Token::Sign('\'') => "ft",
        Token::Sign('"') => "in",
        Token::Sign('%') => "%",
        Token::Sign('°') => "°",
        Token::Sign(_) | Token::Number(_) => "",
    }
}

fn is_unit(token: &Token, name: &str) -> bool {
    unit_name(token) == name
}

/// A value as typed: a decimal, or a whole and a fraction.
#[derive(Clone, Copy, Debug)]
struct Value {
    numerator: Decimal,
    denominator: Decimal,
    fraction: bool,
}

impl Value {
    /// The value times an integer, or none where it does not fit.
    fn times(self, by: i64) -> Option<Decimal> {
        self.numerator.checked_mul(by.into())?.checked_div(self.denominator)
    }
}

/// A text taken into tokens, its sign set aside.
struct Typed<'t> {
    text: &'t str,
    asked: Asked,
    marks: Marks,
    negative: bool,
    tokens: Vec<Token>,
}

impl<'t> Typed<'t> {
    fn new(text: &'t str, asked: Asked) -> Result<Self, ReadFault> {
        Self::with_marks(text, asked, Marks::POINT)
    }

    fn with_marks(text: &'t str, asked: Asked, marks: Marks) -> Result<Self, ReadFault> {
        let mut tokens = tokens(text);
        if tokens.is_empty() {
            return Err(ReadFault::Empty(asked));
        }
        let sign = match tokens[0] {
            Token::Sign(sign @ ('-' | '+')) => Some(sign),
            _ => None,
        };
        if sign.is_some() {
            tokens.remove(0);
        }
        Ok(Self { text: text.trim(), asked, marks, negative: sign == Some('-'), tokens })
    }

    fn unreadable(&self) -> ReadFault {
        ReadFault::Unreadable { text: short(self.text), asked: self.asked }
    }

    fn other_currency(&self, style: &MoneyStyle) -> ReadFault {
        ReadFault::OtherCurrency { text: short(self.text), currency: style.currency_code.clone() }
    }

    /// The value at the front, with what follows it.
    fn value<'s>(&self, tokens: &'s [Token]) -> Result<(Value, &'s [Token]), ReadFault> {
        use Token::{Number, Sign};
        let weigh = |digits: &str| decimal(digits, self.marks, self.asked);
        match tokens {
            [Number(numerator), Sign('/'), Number(denominator), rest @ ..] => {
                let value = self.fraction(Decimal::ZERO, weigh(numerator)?, weigh(denominator)?)?;
                Ok((value, rest))
            }
            [Number(whole), Number(numerator), Sign('/'), Number(denominator), rest @ ..]
            | [Number(whole), Sign('-'), Number(numerator), Sign('/'), Number(denominator), rest @ ..] => {
                let value = self.fraction(weigh(whole)?, weigh(numerator)?, weigh(denominator)?)?;
                Ok((value, rest))
            }
            [Number(digits), rest @ ..] => {
                Ok((Value { numerator: weigh(digits)?, denominator: Decimal::ONE, fraction: false }, rest))
            }
            _ => Err(self.unreadable()),
        }
    }

    fn fraction(&self, whole: Decimal, numerator: Decimal, denominator: Decimal) -> Result<Value, ReadFault> {
        if denominator.is_zero() {
            return Err(ReadFault::DividesByZero { text: short(self.text) });
        }
        let numerator = whole.checked_mul(denominator).and_then(|whole| whole.checked_add(numerator));
        let numerator = numerator.ok_or_else(|| self.too_large())?;
        Ok(Value { numerator, denominator, fraction: true })
    }

    fn unit(&self, token: &Token, known: fn(&str) -> Option<i64>) -> Result<i64, ReadFault> {
        let unit = unit_name(token);
        match token {
            _ if unit.is_empty() => Err(self.unreadable()),
            _ => known(unit).ok_or_else(|| ReadFault::UnknownUnit { unit: short(unit), asked: self.asked }),
        }
    }

    /// A value alone, or with one unit.
    fn only(&self, known: fn(&str) -> Option<i64>) -> Result<Decimal, ReadFault> {
        match self.value(&self.tokens)? {
            (value, []) => self.fits(value.times(1)),
            (value, [unit]) => self.fits(value.times(self.unit(unit, known)?)),
            (value, [Token::Word(per), Token::Word(cent)]) if per == "per" && cent == "cent" => {
                self.fits(value.times(known("%").ok_or_else(|| self.unreadable())?))
            }
            _ => Err(self.unreadable()),
        }
    }

    fn too_large(&self) -> ReadFault {
        ReadFault::TooLarge { text: short(self.text), asked: self.asked }
    }

    /// The signed value, normalised.
    fn fits(&self, value: Option<Decimal>) -> Result<Decimal, ReadFault> {
        let value = value.ok_or_else(|| self.too_large())?.normalize();
        Ok(if self.negative && !value.is_zero() { -value } else { value })
    }

    /// The signed value as a whole number of the smallest unit, nearest, halves away from zero.
    fn integer(&self, value: Option<Decimal>) -> Result<i64, ReadFault> {
        let value = self.fits(value)?.round_dp_with_strategy(0, RoundingStrategy::MidpointAwayFromZero);
        value.to_i64().ok_or_else(|| self.too_large())
    }

    /// The thickness, where a gauge was typed.
    fn gauge(&self) -> Option<Result<Length, ReadFault>> {
        use Token::{Number, Word};
        let is_gauge = |word: &str| matches!(word, "ga" | "gauge" | "gage" | "g");
        let (digits, table) = match self.tokens.as_slice() {
            [Number(digits), Word(ga)] if is_gauge(ga) => (digits, None),
            [Number(digits), Word(table)] | [Word(table), Number(digits)] => (digits, Some(GaugeTable::named(table)?)),
            [Number(digits), Word(ga), Word(table)]
            | [Number(digits), Word(table), Word(ga)]
            | [Word(table), Number(digits), Word(ga)]
                if is_gauge(ga) =>
            {
                (digits, Some(GaugeTable::named(table)?))
            }
            _ => return None,
        };
        Some(self.thickness(digits, table))
    }

    fn thickness(&self, digits: &str, table: Option<GaugeTable>) -> Result<Length, ReadFault> {
        let missing = || ReadFault::NoSuchGauge { gauge: short(digits), table };
        let gauge = digits.parse().ok().filter(|_| !self.negative).ok_or_else(missing)?;
        let Some(table) = table else {
            let readings: Vec<_> =
                GaugeTable::ALL.into_iter().filter_map(|table| Some((table, gauge_thickness(table, gauge)?))).collect();
            return Err(if readings.is_empty() { missing() } else { ReadFault::WhichGauge { gauge, readings } });
        };
        gauge_thickness(table, gauge).ok_or_else(missing)
    }
}

#[cfg(test)]
#[path = "read_tests.rs"]
mod tests;
