//! Plain text to a formula.

use std::str::FromStr;

use winnow::{
    ascii::{digit1, space0, space1},
    combinator::{alt, cut_err, delimited, eof, opt, peek, preceded, repeat, separated, terminated},
    error::ContextError,
    prelude::*,
    token::{one_of, take_while},
};

use super::{Expr, Formula, Function, Relation, Sign, Statement, Symbol, Times};

/// Why a text is no formula: where reading stopped.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "the formula “{text}” cannot be read from “{rest}” on: write symbols such as x_g, products by a space or ·, quotients by /"
)]
pub struct FormulaFault {
    pub text: String,
    pub rest: String,
}

/// Longer texts and deeper parentheses are no formula: reading them must not exhaust the stack.
const LONGEST: usize = 600;
const DEEPEST: usize = 20;
/// More letters than this without a subscript are a word.
const LONGEST_NAME: usize = 3;

type Read<T> = winnow::ModalResult<T, ContextError>;

impl FromStr for Formula {
    type Err = FormulaFault;

    fn from_str(text: &str) -> Result<Self, FormulaFault> {
        let fault = |rest: &str| FormulaFault { text: text.into(), rest: rest.chars().take(20).collect() };
        let opened = text.chars().filter(|character| "(|⌈√^".contains(*character)).count();
        if text.len() > LONGEST || opened > DEEPEST {
            return Err(fault(text));
        }
        let mut input = text.trim();
        formula(&mut input).map_err(|_| fault(input))
    }
}

fn formula(input: &mut &str) -> Read<Formula> {
    let parted = separated(1.., statement, (space0, one_of([';', ',']), space0));
    terminated(parted, (space0, eof)).map(|statements| Formula { statements }).parse_next(input)
}

fn statement(input: &mut &str) -> Read<Statement> {
    let first = sum.parse_next(input)?;
    let rest = repeat(0.., (preceded(space0, relation), preceded(space0, cut_err(sum)))).parse_next(input)?;
    Ok(Statement { first, rest })
}

fn relation(input: &mut &str) -> Read<Relation> {
    alt((
        "<=".value(Relation::AtMost),
        ">=".value(Relation::AtLeast),
        "≤".value(Relation::AtMost),
        "≥".value(Relation::AtLeast),
        "=".value(Relation::Equal),
        "≈".value(Relation::About),
        "≠".value(Relation::Unequal),
        "<".value(Relation::Less),
        ">".value(Relation::More),
    ))
    .parse_next(input)
}

fn sign(input: &mut &str) -> Read<Sign> {
    alt(("+".value(Sign::Plus), one_of(['−', '-', '–']).value(Sign::Minus), "±".value(Sign::Either))).parse_next(input)
}

fn sum(input: &mut &str) -> Read<Expr> {
    let lead = opt(terminated(sign, space0)).parse_next(input)?;
    let first = product.parse_next(input)?;
    let more: Vec<(Sign, Expr)> = repeat(0.., (delimited(space0, sign, space0), cut_err(product))).parse_next(input)?;
    if more.is_empty() && lead.is_none() {
        return Ok(first);
    }
    Ok(Expr::Sum(std::iter::once((lead.unwrap_or(Sign::Plus), first)).chain(more).collect()))
}

/// What joins a factor to those before it.
#[derive(Clone, Copy)]
enum Joint {
    Times(Times),
    Over,
}

fn joint(input: &mut &str) -> Read<Joint> {
    alt((
        delimited(space0, one_of(['·', '×', '*']), space0).value(Joint::Times(Times::Dot)),
        delimited(space0, '/', space0).value(Joint::Over),
        // Side by side: `M (L − x)`, `2π`.
        terminated(space0, peek(factor_start)).value(Joint::Times(Times::Unseen)),
    ))
    .parse_next(input)
}

fn factor_start(input: &mut &str) -> Read<char> {
    one_of(|c: char| c.is_alphanumeric() || "(√|⌈Σ".contains(c)).parse_next(input)
}

fn product(input: &mut &str) -> Read<Expr> {
    let mut whole = power.parse_next(input)?;
    loop {
        let before = *input;
        let Some(next) = opt((joint, power)).parse_next(input)? else {
            *input = before;
            return Ok(whole);
        };
        whole = match next {
            (Joint::Over, under) => Expr::Quotient(Box::new(whole), Box::new(under)),
            (Joint::Times(times), factor) => match whole {
                Expr::Product(mut factors) => {
                    factors.push((times, factor));
                    Expr::Product(factors)
                }
                first => Expr::Product(vec![(Times::Unseen, first), (times, factor)]),
            },
        };
    }
}

fn power(input: &mut &str) -> Read<Expr> {
    let base = atom.parse_next(input)?;
    Ok(match opt(exponent).parse_next(input)? {
        Some(exponent) => Expr::Power(Box::new(base), Box::new(exponent)),
        None => base,
    })
}

fn exponent(input: &mut &str) -> Read<Expr> {
    let raised = alt((
        '⁻'.value("−"),
        '¹'.value("1"),
        '²'.value("2"),
        '³'.value("3"),
        '⁴'.value("4"),
        '⁵'.value("5"),
        '⁶'.value("6"),
    ));
    let raised = repeat(1.., raised).map(|digits: Vec<&str>| match digits.concat().strip_prefix('−') {
        Some(digits) => Expr::Sum(vec![(Sign::Minus, Expr::Number(digits.into()))]),
        None => Expr::Number(digits.concat()),
    });
    let negative = preceded(one_of(['−', '-']), atom).map(|expr| Expr::Sum(vec![(Sign::Minus, expr)]));
    alt((raised, preceded('^', alt((negative, atom))))).parse_next(input)
}

fn atom(input: &mut &str) -> Read<Expr> {
    alt((
        number,
        "Σ".value(Expr::Series),
        preceded(('√', space0), cut_err(atom)).map(|under| Expr::Root(Box::new(ungrouped(under)))),
        delimited(('(', space0), cut_err(sum), (space0, ')')).map(|inner| Expr::Group(Box::new(inner))),
        delimited(('|', space0), sum, (space0, '|')).map(|inner| Expr::Magnitude(Box::new(inner))),
        delimited(('⌈', space0), cut_err(sum), (space0, '⌉')).map(|inner| Expr::NextWhole(Box::new(inner))),
        call,
        symbol.map(Expr::Symbol),
    ))
    .parse_next(input)
}

fn number(input: &mut &str) -> Read<Expr> {
    (digit1, opt(('.', digit1))).take().map(|digits: &str| Expr::Number(digits.into())).parse_next(input)
}

fn call(input: &mut &str) -> Read<Expr> {
    let function = name.verify_map(|name: &str| Function::ALL.into_iter().find(|function| function.name() == name));
    let (function, raised) = (function, opt(exponent)).parse_next(input)?;
    let listed = delimited((space0, '(', space0), separated(1.., sum, (space0, ',', space1)), (space0, ')'));
    let inner = alt((listed, preceded(space1, atom).map(|inner| vec![inner]))).parse_next(input)?;
    let call = Expr::Call(function, inner);
    Ok(match raised {
        Some(raised) => Expr::Power(Box::new(call), Box::new(raised)),
        None => call,
    })
}

/// A run of letters that is not raised or lowered.
fn name<'i>(input: &mut &'i str) -> Read<&'i str> {
    take_while(1.., |c: char| c.is_alphabetic() && lowered(c).is_none() && c != 'Σ').parse_next(input)
}

fn symbol(input: &mut &str) -> Read<Symbol> {
    let mut name = (name, take_while(0.., ['\'', '′', '\u{304}', '\u{305}']))
        .take()
        .verify(|name: &str| name.chars().count() <= LONGEST_NAME);
    let name = name.parse_next(input)?.to_owned();
    let below = opt(alt((preceded('_', below), lowered_run))).parse_next(input)?;
    Ok(Symbol { name, below: below.unwrap_or_default() })
}

/// `vw,d`: a comma belongs to it where a letter or digit follows at once.
fn below(input: &mut &str) -> Read<String> {
    let run = |input: &mut &str| take_while(1.., char::is_alphanumeric).map(str::to_owned).parse_next(input);
    separated(1.., run, ',').map(|runs: Vec<String>| runs.join(",")).parse_next(input)
}

fn lowered_run(input: &mut &str) -> Read<String> {
    take_while(1.., |c| lowered(c).is_some())
        .map(|run: &str| run.chars().filter_map(lowered).collect())
        .parse_next(input)
}

/// The plain letter or digit of a lowered one.
fn lowered(character: char) -> Option<char> {
    Some(match character {
        '₀'..='₉' => char::from(b'0' + u8::try_from(u32::from(character) - u32::from('₀')).ok()?),
        'ᵢ' => 'i',
        'ⱼ' => 'j',
        'ₐ' => 'a',
        'ₑ' => 'e',
        'ₖ' => 'k',
        'ₘ' => 'm',
        'ₙ' => 'n',
        'ₓ' => 'x',
        _ => return None,
    })
}

fn ungrouped(expr: Expr) -> Expr {
    match expr {
        Expr::Group(inner) => *inner,
        other => other,
    }
}

/// A single symbol, as a working names it: `x_g`.
impl FromStr for Symbol {
    type Err = FormulaFault;

    fn from_str(text: &str) -> Result<Self, FormulaFault> {
        let mut input = text.trim();
        let read = terminated(symbol, eof).parse_next(&mut input);
        read.map_err(|_| FormulaFault { text: text.into(), rest: input.chars().take(20).collect() })
    }
}
