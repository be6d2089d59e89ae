//! A formula with its values put in, and worked out.

use super::{Expr, Formula, Function, Relation, Sign, Statement, Symbol};
use crate::working::{Given, Working};

/// What a symbol stands for.
type Values<'a> = dyn Fn(&Symbol) -> Option<&'a Given> + 'a;
/// How the size of a given value is written, without its sign and unit.
pub type Written<'a> = dyn Fn(&Given) -> String + 'a;

/// How a formula and a working's result agree.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Outcome {
    /// What the formula gives with the given values, in units that may differ by a power of ten from those of the result.
    Gives(f64),
    /// Not to be worked out: a sum over many, or a value that is not among the given ones.
    Unsaid,
}

impl Formula {
    /// The first statement's last side with the values of a working put in; None where a value is not given or where there is
    /// nothing to put in.
    pub fn put_in(&self, working: &Working, written: &Written<'_>) -> Option<Expr> {
        let given = given(working);
        let mut any = false;
        let put = self.last_side()?.put(&|symbol| of(symbol, &given), written, &mut any)?;
        any.then_some(put)
    }

    /// Works the first statement's last side out with the values of a working.
    pub fn outcome(&self, working: &Working) -> Outcome {
        let given = given(working);
        let value = self.last_side().and_then(|side| side.value(&|symbol| of(symbol, &given)));
        value.map_or(Outcome::Unsaid, Outcome::Gives)
    }

    /// `M (L − x_g) / L` of `S = M (L − x_g) / L`: what the result is equal to.
    fn last_side(&self) -> Option<&Expr> {
        let Statement { rest, .. } = self.statements.first()?;
        match rest.last() {
            Some((Relation::Equal | Relation::About, side)) => Some(side),
            _ => None,
        }
    }
}

fn given(working: &Working) -> Vec<(Symbol, &Given)> {
    working.given.iter().filter_map(|given| Some((given.symbol.parse().ok()?, given))).collect()
}

fn of<'a>(symbol: &Symbol, given: &[(Symbol, &'a Given)]) -> Option<&'a Given> {
    given.iter().find(|(known, _)| known == symbol).map(|(_, given)| *given)
}

fn is_pi(symbol: &Symbol) -> bool {
    symbol.name == "π" && symbol.below.is_empty()
}

impl Expr {
    fn put(&self, values: &Values<'_>, written: &Written<'_>, any: &mut bool) -> Option<Expr> {
        let mut inner = |expr: &Expr| expr.put(values, written, any).map(Box::new);
        Some(match self {
            Self::Number(_) => self.clone(),
            Self::Series => return None,
            Self::Symbol(symbol) if is_pi(symbol) => self.clone(),
            Self::Symbol(symbol) => {
                let given = values(symbol)?;
                *any = true;
                let number = Self::Number(written(&Given { value: given.value.abs(), ..given.clone() }));
                if given.value < 0.0 { Self::Group(Box::new(Self::Sum(vec![(Sign::Minus, number)]))) } else { number }
            }
            Self::Sum(terms) => {
                let terms = terms.iter().map(|(sign, term)| Some((*sign, *inner(term)?)));
                Self::Sum(terms.collect::<Option<_>>()?)
            }
            Self::Product(factors) => {
                let factors = factors.iter().map(|(times, factor)| Some((*times, *inner(factor)?)));
                Self::Product(factors.collect::<Option<_>>()?)
            }
            Self::Quotient(over, under) => Self::Quotient(inner(over)?, inner(under)?),
            Self::Power(base, exponent) => Self::Power(inner(base)?, inner(exponent)?),
            Self::Root(under) => Self::Root(inner(under)?),
            Self::Call(function, of) => {
                Self::Call(*function, of.iter().map(|of| Some(*inner(of)?)).collect::<Option<_>>()?)
            }
            Self::Magnitude(of) => Self::Magnitude(inner(of)?),
            Self::NextWhole(of) => Self::NextWhole(inner(of)?),
            Self::Group(of) => Self::Group(inner(of)?),
        })
    }

    fn value(&self, values: &Values<'_>) -> Option<f64> {
        Some(match self {
            Self::Number(text) => text.parse().ok()?,
            Self::Series => return None,
            Self::Symbol(symbol) if is_pi(symbol) => std::f64::consts::PI,
            Self::Symbol(symbol) => values(symbol)?.value,
            Self::Sum(terms) => {
                let mut sum = 0.0;
                for (sign, term) in terms {
                    let value = term.value(values)?;
                    match sign {
                        Sign::Plus => sum += value,
                        Sign::Minus => sum -= value,
                        Sign::Either => return None,
                    }
                }
                sum
            }
            Self::Product(factors) => {
                let mut product = 1.0;
                for (_, factor) in factors {
                    product *= factor.value(values)?;
                }
                product
            }
            Self::Quotient(over, under) => over.value(values)? / under.value(values)?,
            Self::Power(base, exponent) => base.value(values)?.powf(exponent.value(values)?),
            Self::Root(under) => under.value(values)?.sqrt(),
            Self::Call(function, of) => {
                let of = of.iter().map(|of| of.value(values)).collect::<Option<Vec<_>>>()?;
                function.of(&of)?
            }
            Self::Magnitude(of) => of.value(values)?.abs(),
            // A whole number that a float missed by a hair is whole.
            Self::NextWhole(of) => (of.value(values)? - 1e-9).ceil(),
            Self::Group(of) => of.value(values)?,
        })
    }
}

impl Function {
    fn of(self, of: &[f64]) -> Option<f64> {
        Some(match (self, of) {
            (Self::Min, of) => of.iter().copied().fold(f64::INFINITY, f64::min),
            (Self::Max, of) => of.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            (Self::Sin, [of]) => of.to_radians().sin(),
            (Self::Cos, [of]) => of.to_radians().cos(),
            (Self::Tan, [of]) => of.to_radians().tan(),
            (Self::Asin, [of]) => of.asin().to_degrees(),
            (Self::Acos, [of]) => of.acos().to_degrees(),
            (Self::Atan, [of]) => of.atan().to_degrees(),
            (Self::Exp, [of]) => of.exp(),
            (Self::Ln, [of]) => of.ln(),
            _ => return None,
        })
    }
}

impl Outcome {
    /// Whether it is a result, but for its unit's power of ten and its rounding (a thousandth of it, or a hundredth).
    pub fn agrees(self, result: f64) -> bool {
        let Self::Gives(value) = self else { return true };
        // Hours and money are rounded to a hundredth.
        if (value - result).abs() <= 0.005_000_1 {
            return true;
        }
        if result.abs() < 1e-9 || value.abs() < 1e-9 {
            return false;
        }
        let ratio = value / result;
        ratio > 0.0 && {
            let power = 10f64.powf(ratio.log10().round());
            (ratio / power - 1.0).abs() < 1e-3
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::working::Sure;

    fn gives(formula: &str, given: &[(&str, f64)]) -> Outcome {
        let mut working = Working::new("", formula).source("", Sure::Computed);
        for (symbol, value) in given {
            working = working.given(symbol, "", *value, "");
        }
        formula.parse::<Formula>().expect("a formula").outcome(&working)
    }

    #[test]
    fn precedence_is_the_usual_one() {
        for (formula, expected) in [
            ("y = 2 a + b / c", 8.5),
            ("y = a b / c d", 3.0 * 5.0 / 2.0 * 4.0),
            ("y = a / b / c", 3.0 / 5.0 / 2.0),
            ("y = −a² + √(b² + 11)", -3.0),
            ("y = (a − b)² / |a − b|", 2.0),
            ("y = max(a, b, c) · min(a, c)", 10.0),
            ("y = ⌈(a + b) / 3⌉", 3.0),
            ("y = 2sin(30) + sin²(30) + asin(0.5) / 30", 2.25),
            ("y = a 10^−3", 0.003),
            ("y = √c^2", 2.0),
            ("x = y = a + b", 8.0),
        ] {
            let Outcome::Gives(value) = gives(formula, &[("a", 3.0), ("b", 5.0), ("c", 2.0), ("d", 4.0)]) else {
                panic!("{formula} cannot be worked out")
            };
            assert!((value - expected).abs() < 1e-9, "{formula}: {value} against {expected}");
        }
    }

    #[test]
    fn what_is_not_given_is_not_worked_out() {
        assert_eq!(gives("m = Σ mᵢ", &[("m_i", 1.0)]), Outcome::Unsaid);
        assert_eq!(gives("y = a b", &[("a", 1.0)]), Outcome::Unsaid);
        assert_eq!(gives("a ≤ b", &[("a", 1.0), ("b", 2.0)]), Outcome::Unsaid);
    }

    #[test]
    fn a_result_agrees_but_for_its_unit() {
        assert!(Outcome::Gives(1500.0).agrees(1.5) && Outcome::Gives(1.5004).agrees(1.5));
        assert!(
            !Outcome::Gives(1.51).agrees(1.5) && !Outcome::Gives(-1.5).agrees(1.5) && !Outcome::Gives(4.5).agrees(1.5)
        );
        assert!(Outcome::Gives(0.0).agrees(0.0) && !Outcome::Gives(0.0).agrees(1.0));
    }

    #[test]
    fn prose_and_units_are_no_formulas() {
        for text in [
            "empty + heaviest trip + allowance, up to the next 10 kg",
            "",
            "a +",
            "(a",
            "a b)",
            "m = 5 %",
            "sin(",
            "a_",
            "|a",
            "√",
            "x = y = ",
        ] {
            assert!(text.parse::<Formula>().is_err(), "{text} was read: {:?}", text.parse::<Formula>());
        }
        let deep = format!("y = {}a{}", "(".repeat(5000), ")".repeat(5000));
        assert!(deep.parse::<Formula>().is_err());
    }

    #[test]
    fn values_are_put_in_where_all_are_given() {
        let working = Working::new("", "S = M (L − x_g) / L")
            .given("M", "", 740.0, "kg")
            .given("L", "", 2640.0, "mm")
            .given("x_g", "", -10.0, "mm");
        let put = |formula: &str| {
            formula.parse::<Formula>().expect("a formula").put_in(&working, &|given| given.value.to_string())
        };
        assert!(put("S = M (L − x_g) / L").is_some_and(|expr| !format!("{expr:?}").contains("Symbol")));
        assert_eq!(put("S = M (L − x) / L"), None);
        assert_eq!(put("S = 2"), None);
    }
}
