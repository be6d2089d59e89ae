//! A rule that fails, as a check beside the price.

use super::{Compared, RoadRules, RuleFinding};
use crate::{
    measure::{Grouping, beside, show_number},
    road::{FactKind, FactWords, Mark, Op, Value},
    working::{Check, Sure, Verdict, Working},
};

pub fn failing(found: &RuleFinding, rules: &RoadRules) -> Check {
    let key = format!("road/{}", found.rule);
    let name = format!("Road rule {}, {}", found.rule, rules.name);
    let missed = found.limit.iter().find(|compared| compared.holds() == Some(false));
    let vehicle = found.vehicle.as_ref().map(|name| format!(" Towing vehicle: {name}.")).unwrap_or_default();
    let is = missed.map(what_is).unwrap_or_default();
    let says = format!("{} {is}.{vehicle} Change it, or ask {}.", found.text, rules.authority);
    match missed.and_then(|compared| working(compared, found)) {
        Some((working, demand, capacity, unit)) => {
            let check = Check::compared(key, name, demand, capacity, unit, says).with(working);
            // A least figure that is missed by a hair fails too.
            Check { verdict: Verdict::Fails, ..check }
        }
        None => Check::told(key, name, Verdict::Fails, says),
    }
}

/// `The overall width is 2,600 mm`.
fn what_is(compared: &Compared) -> String {
    let Some(fact) = FactWords::of(&compared.fact) else { return String::new() };
    let value = match &compared.is {
        Some(Value::Number(value)) => {
            let decimals = if fact.kind == FactKind::Ratio { 3 } else { 0 };
            let shown = match (compared.value.as_number(), compared.op) {
                (Some(limit), Op::More | Op::AtLeast) => beside(limit, *value, decimals)[1].clone(),
                (Some(limit), _) => beside(*value, limit, decimals)[0].clone(),
                (None, _) => show_number(*value, decimals, Grouping::Western),
            };
            format!("{shown} {}", fact.unit()).trim_end().to_owned()
        }
        Some(Value::YesNo(yes)) => return format!("The trailer is {}{}", if *yes { "" } else { "not " }, fact.words),
        Some(Value::Word(word)) => word.clone(),
        None => return String::new(),
    };
    format!("The {} is {value}", fact.words)
}

/// The comparison with its working: what is demanded and what is borne, both as numbers.
fn working(compared: &Compared, found: &RuleFinding) -> Option<(Working, f64, f64, &'static str)> {
    let fact = FactWords::of(&compared.fact)?;
    let (is, limit) = (compared.is.as_ref()?.as_number()?, compared.value.as_number()?);
    let (bound, most) = match compared.op {
        Op::Less | Op::AtMost => ("max", true),
        Op::More | Op::AtLeast => ("min", false),
        Op::Is => return None,
    };
    let plain = fact.symbol.replace('_', ",");
    let limit_symbol = match fact.symbol.split_once('_') {
        Some((letter, index)) => format!("{letter}_{index},{bound}"),
        None => format!("{plain}_{bound}"),
    };
    let working = Working::new(
        format!("{}, {}", fact.words, found.rule),
        format!("{} {} {limit_symbol}", fact.symbol, compared.op),
    )
    .given(&limit_symbol, format!("limit: {}", found.threshold), limit, fact.unit())
    .gives(fact.symbol, is, fact.unit())
    .source(found.source.clone(), if found.mark == Mark::Memory { Sure::Memory } else { Sure::Read });
    let (demand, capacity) = if most { (is, limit) } else { (limit, is) };
    Some((working, demand, capacity, fact.unit()))
}
