//! Decimal text as exact tenths of a millimetre, money and whole numbers.

use rust_decimal::Decimal;

/// A JSON number as digits × 10^exponent.
struct Exact {
    digits: i128,
    exponent: i32,
}

/// More digits or a larger exponent than this is no length or price.
const MOST_DIGITS: usize = 30;
const MOST_EXPONENT: i32 = 40;
/// A million kilometres in tenths of a millimetre, and a thousand thousand millions of money: what is larger is a slip, and
/// whatever is summed up of these stays within what a number holds.
const MOST_TENTHS: i64 = 10_000_000_000_000;
const MOST_MONEY: i64 = 1_000_000_000_000;

fn exact(text: &str) -> Option<Exact> {
    let (mantissa, exponent) = match text.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => (mantissa, exponent.parse::<i32>().ok()?),
        None => (text, 0),
    };
    let (sign, mantissa) = match mantissa.strip_prefix('-') {
        Some(rest) => (-1, rest),
        None => (1, mantissa),
    };
    let (whole, fraction) = mantissa.split_once('.').unwrap_or((mantissa, ""));
    if whole.is_empty() || !(whole.bytes().chain(fraction.bytes())).all(|b| b.is_ascii_digit()) {
        return None;
    }
    let fraction = fraction.trim_end_matches('0');
    let digits = format!("{whole}{fraction}");
    let digits = digits.trim_start_matches('0');
    if digits.is_empty() {
        return Some(Exact { digits: 0, exponent: 0 });
    }
    let exponent = exponent.checked_sub(i32::try_from(fraction.len()).ok()?)?;
    if digits.len() > MOST_DIGITS || exponent.abs() > MOST_EXPONENT {
        return None;
    }
    Some(Exact { digits: sign * digits.parse::<i128>().ok()?, exponent })
}

/// Tenths of a millimetre, rounded up or down, and whether that changed the value.
pub(super) fn tenths(text: &str, up: bool) -> Option<(i64, bool)> {
    rounded(text, up).filter(|(length, _)| length.abs() <= MOST_TENTHS)
}

fn rounded(text: &str, up: bool) -> Option<(i64, bool)> {
    let Exact { digits, exponent } = exact(text)?;
    let power = exponent + 1;
    if power >= 0 {
        let scaled = digits.checked_mul(10_i128.checked_pow(power.unsigned_abs())?)?;
        return Some((i64::try_from(scaled).ok()?, false));
    }
    let Some(divisor) = 10_i128.checked_pow(power.unsigned_abs()) else {
        // Smaller than any digit that is kept.
        return Some((i64::from(up && digits > 0) - i64::from(!up && digits < 0), digits != 0));
    };
    let down = digits.div_euclid(divisor);
    let rounded = digits.rem_euclid(divisor) != 0;
    Some((i64::try_from(down + i128::from(up && rounded)).ok()?, rounded))
}

pub(super) fn decimal(text: &str) -> Option<Decimal> {
    amount(text).filter(|amount| amount.abs() <= Decimal::from(MOST_MONEY))
}

fn amount(text: &str) -> Option<Decimal> {
    let Exact { digits, exponent } = exact(text)?;
    if exponent >= 0 {
        let scaled = digits.checked_mul(10_i128.checked_pow(exponent.unsigned_abs())?)?;
        return Decimal::try_from_i128_with_scale(scaled, 0).ok();
    }
    Decimal::try_from_i128_with_scale(digits, exponent.unsigned_abs()).ok()
}

/// A whole number; `500.0` is one too.
pub(super) fn whole(text: &str) -> Option<u64> {
    let Exact { digits, exponent } = exact(text)?;
    if exponent < 0 {
        return None;
    }
    u64::try_from(digits.checked_mul(10_i128.checked_pow(exponent.unsigned_abs())?)?).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_read_from_their_digits() {
        assert_eq!(tenths("1234.5", true), Some((12_345, false)));
        assert_eq!(tenths("1234.50000", true), Some((12_345, false)));
        // 0.1 + 0.2 as a float would print 0.30000000000000004.
        assert_eq!(tenths("0.30000000000000004", true), Some((4, true)));
        assert_eq!(tenths("0.30000000000000004", false), Some((3, true)));
        assert_eq!(tenths("1.2345e3", true), Some((12_345, false)));
        assert_eq!(tenths("-0.05", true), Some((0, true)));
        assert_eq!(tenths("1e-39", true), Some((1, true)));
    }

    #[test]
    fn what_is_no_number_or_too_large_is_none() {
        assert_eq!((tenths("1e12", true), tenths("1.1e12", true)), (Some((10_000_000_000_000, false)), None));
        assert_eq!((decimal("1e12").is_some(), decimal("79228162514264337593543950335")), (true, None));
        for text in ["", "-", "1e999999999999", "1e99", "0x10", "1.2.3", "NaN", "99999999999999999999999999999999"] {
            assert_eq!(tenths(text, true), None, "{text}");
            assert_eq!(whole(text), None, "{text}");
        }
        assert_eq!(whole("1.5"), None);
        assert_eq!(whole("-1"), None);
        assert_eq!(whole("500.0"), Some(500));
    }
}
