//! A formula as MathML Core: fractions, roots, powers and subscripts set by the browser, without image or script.

use std::fmt::Write;

use super::svg::escape;
use crate::domain::{
    formula::{Expr, Formula, Sign, Statement, Symbol, Times, Written},
    working::Working,
};

/// The formula of a working in symbols; None where its text is no formula.
pub fn formula(working: &Working) -> Option<String> {
    let formula: Formula = working.formula.parse().ok()?;
    let mut out = String::with_capacity(400);
    for (index, statement) in formula.statements.iter().enumerate() {
        if index > 0 {
            out.push_str("<mo separator=\"true\">;</mo>");
        }
        write_statement(&mut out, statement);
    }
    Some(math(&working.formula, &out))
}

/// The values put in, and the result as it is shown: `S = 740 × (2,640 − 2,400) / 2,640 = 67.3 kg`. Without values to put in,
/// only the result.
pub fn with_values(working: &Working, written: &Written<'_>, result: &str) -> Option<String> {
    let formula: Formula = working.formula.parse().ok()?;
    let symbol: Symbol = working.symbol.parse().ok()?;
    let mut out = String::with_capacity(400);
    write_symbol(&mut out, &symbol);
    if let Some(put) = formula.put_in(working, written) {
        operator(&mut out, "=");
        write_expr(&mut out, &put);
    }
    operator(&mut out, "=");
    let _ = write!(out, "<mtext>{}</mtext>", escape(result));
    let words = format!("{} = {result}", working.symbol);
    Some(math(&words, &out))
}

/// A symbol as it stands in the formula; None where it is none.
pub fn symbol(text: &str) -> Option<String> {
    let mut out = String::new();
    write_symbol(&mut out, &text.parse().ok()?);
    Some(math(text, &out))
}

fn math(words: &str, inside: &str) -> String {
    format!(r#"<math aria-label="{}"><mrow>{inside}</mrow></math>"#, escape(words))
}

fn write_statement(out: &mut String, Statement { first, rest }: &Statement) {
    write_expr(out, first);
    for (relation, side) in rest {
        operator(out, &escape(&relation.sign().to_string()));
        write_expr(out, side);
    }
}

fn operator(out: &mut String, sign: &str) {
    let _ = write!(out, "<mo>{sign}</mo>");
}

fn write_symbol(out: &mut String, Symbol { name, below }: &Symbol) {
    let name = format!("<mi>{}</mi>", escape(name));
    if below.is_empty() {
        out.push_str(&name);
    } else {
        let _ = write!(out, "<msub>{name}<mtext>{}</mtext></msub>", escape(below));
    }
}

fn write_expr(out: &mut String, expr: &Expr) {
    match expr {
        Expr::Number(digits) => {
            let _ = write!(out, "<mn>{}</mn>", escape(digits));
        }
        Expr::Symbol(symbol) => write_symbol(out, symbol),
        Expr::Series => out.push_str("<mo largeop=\"false\">∑</mo>"),
        Expr::Sum(terms) => write_sum(out, terms),
        Expr::Product(factors) => write_product(out, factors),
        Expr::Quotient(over, under) => element(out, "mfrac", &[bare(over), bare(under)]),
        Expr::Power(base, exponent) => element(out, "msup", &[base, bare(exponent)]),
        Expr::Root(under) => element(out, "msqrt", &[under]),
        Expr::Call(function, of) => {
            let _ = write!(out, "<mi>{}</mi>", function.name());
            fenced(out, "(", ")", of);
        }
        Expr::Magnitude(of) => fenced(out, "|", "|", std::slice::from_ref(of)),
        Expr::NextWhole(of) => fenced(out, "⌈", "⌉", std::slice::from_ref(of)),
        Expr::Group(of) => fenced(out, "(", ")", std::slice::from_ref(of)),
    }
}

fn write_sum(out: &mut String, terms: &[(Sign, Expr)]) {
    for (index, (sign, term)) in terms.iter().enumerate() {
        match (sign, index) {
            (Sign::Plus, 0) => {}
            (Sign::Plus, _) => operator(out, "+"),
            (Sign::Minus, 0) => out.push_str("<mo form=\"prefix\">−</mo>"),
            (Sign::Minus, _) => operator(out, "−"),
            (Sign::Either, _) => operator(out, "±"),
        }
        write_expr(out, term);
    }
}

fn write_product(out: &mut String, factors: &[(Times, Expr)]) {
    for (index, (times, factor)) in factors.iter().enumerate() {
        let after_series = index > 0 && factors[index - 1].1 == Expr::Series;
        if index > 0 && !after_series {
            match times {
                // Figures side by side would read as one.
                _ if begins_with_figure(factor) => operator(out, "×"),
                Times::Dot => operator(out, "·"),
                Times::Unseen => out.push_str("<mo>\u{2062}</mo><mspace width=\"0.17em\"></mspace>"),
            }
        }
        write_expr(out, factor);
    }
}

pub(super) fn begins_with_figure(expr: &Expr) -> bool {
    match expr {
        Expr::Number(_) | Expr::Group(_) => matches!(expr, Expr::Number(_)) || holds_figures_only(expr),
        Expr::Power(base, _) => begins_with_figure(base),
        Expr::Quotient(over, _) => begins_with_figure(over),
        Expr::Product(factors) => factors.first().is_some_and(|(_, first)| begins_with_figure(first)),
        Expr::Root(of) | Expr::Magnitude(of) | Expr::NextWhole(of) => holds_figures_only(of),
        _ => false,
    }
}

/// Whether the values have been put in.
fn holds_figures_only(expr: &Expr) -> bool {
    match expr {
        Expr::Number(_) => true,
        Expr::Symbol(_) | Expr::Series => false,
        Expr::Sum(terms) => terms.iter().all(|(_, term)| holds_figures_only(term)),
        Expr::Product(factors) => factors.iter().all(|(_, factor)| holds_figures_only(factor)),
        Expr::Quotient(a, b) | Expr::Power(a, b) => holds_figures_only(a) && holds_figures_only(b),
        Expr::Root(of) | Expr::Magnitude(of) | Expr::NextWhole(of) | Expr::Group(of) => holds_figures_only(of),
        Expr::Call(_, of) => of.iter().all(holds_figures_only),
    }
}

/// What a fraction's bar or a raised place groups by itself needs no parentheses.
fn bare(expr: &Expr) -> &Expr {
    if let Expr::Group(inner) = expr { inner } else { expr }
}

fn element(out: &mut String, name: &str, inside: &[&Expr]) {
    let _ = write!(out, "<{name}>");
    for expr in inside {
        out.push_str("<mrow>");
        write_expr(out, expr);
        out.push_str("</mrow>");
    }
    let _ = write!(out, "</{name}>");
}

fn fenced<E: std::borrow::Borrow<Expr>>(out: &mut String, open: &str, close: &str, inside: &[E]) {
    let _ = write!(out, "<mrow><mo form=\"prefix\" stretchy=\"true\">{open}</mo>");
    for (index, expr) in inside.iter().enumerate() {
        if index > 0 {
            out.push_str("<mo separator=\"true\">,</mo>");
        }
        write_expr(out, expr.borrow());
    }
    let _ = write!(out, "<mo form=\"postfix\" stretchy=\"true\">{close}</mo></mrow>");
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::working::Sure;

    fn coupling() -> Working {
        Working::new("Coupling load", "S = M (L − x_g) / L")
            .given("M", "trailer and loads", 740.0, "kg")
            .given("L", "coupling to axle", 2640.0, "mm")
            .given("x_g", "centre of gravity", 2400.0, "mm")
            .gives("S", 67.27, "kg")
            .source("statics", Sure::Computed)
    }

    #[test]
    fn a_formula_is_set_as_fractions_and_subscripts() {
        let set = formula(&coupling()).expect("a formula");
        assert!(
            set.starts_with(r#"<math aria-label="S = M (L − x_g) / L"><mrow><mi>S</mi><mo>=</mo><mfrac>"#),
            "{set}"
        );
        assert!(set.contains("<msub><mi>x</mi><mtext>g</mtext></msub>"), "{set}");
    }

    #[test]
    fn values_stand_in_place_of_symbols() {
        let set = with_values(&coupling(), &|given| given.value.to_string(), "67.3 kg").expect("a formula");
        assert!(set.contains("<mn>740</mn><mo>×</mo>") && set.contains("<mn>2400</mn>"), "{set}");
        assert!(
            set.ends_with("<mo>=</mo><mtext>67.3 kg</mtext></mrow></math>") && !set.contains("<mi>L</mi>"),
            "{set}"
        );
    }

    #[test]
    fn every_element_is_closed_and_nothing_is_markup_but_ours() {
        for text in ["y = √(a² + |b|) / ⌈c⌉ · min(a, b); a ≤ b < c", "m = Σ mᵢ", "θ = asin(h / l)"] {
            let set = formula(&Working::new("", text)).expect("a formula");
            for name in ["math", "mrow", "mfrac", "msup", "msub", "msqrt", "mi", "mo", "mn", "mtext", "mspace"] {
                let opened = set.matches(&format!("<{name}>")).count() + set.matches(&format!("<{name} ")).count();
                assert_eq!(opened, set.matches(&format!("</{name}>")).count(), "{name} in {set}");
            }
        }
        let evil = Working::new("", "a < b").gives("a", 1.0, "");
        let set = with_values(&evil, &|given| given.value.to_string(), "<b>\"").expect("a formula");
        assert!(set.contains("&lt;b&gt;&quot;") && !set.contains("<b>"), "{set}");
    }

    #[test]
    fn prose_is_left_to_plain_text() {
        assert_eq!(formula(&Working::new("", "the next 10 kg up")), None);
        assert_eq!(symbol("x y"), None);
    }
}
