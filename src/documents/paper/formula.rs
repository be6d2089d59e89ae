//! Formulas on one line: symbols slanted, subscripts lowered, powers raised, fractions with a stroke.

use super::{Face, Run, Style};
use crate::{
    documents::mathml::begins_with_figure,
    domain::{
        formula::{Expr, Formula, Sign, Symbol, Times, Written},
        working::Working,
    },
};

const UPRIGHT: Style = Style::body();
const SYMBOL: Style = Style::of(Face::Slanted, 9.0);

/// The formula of a working in symbols; as it is written where it is told in words.
pub fn formula(working: &Working) -> Vec<Run> {
    let Ok(formula) = working.formula.parse::<Formula>() else {
        return vec![Run::new(working.formula.clone(), UPRIGHT)];
    };
    let mut line = Setting::default();
    for (index, statement) in formula.statements.iter().enumerate() {
        if index > 0 {
            line.upright("; ");
        }
        line.expr(&statement.first);
        for (relation, side) in &statement.rest {
            line.sign(relation.sign());
            line.expr(side);
        }
    }
    line.runs
}

/// `S = 740 × (2,640 − 2,400) / 2,640 = 67.3 kg`; without values to put in, only the result. None where the working has no symbol.
pub fn with_values(working: &Working, written: &Written<'_>, result: &str) -> Option<Vec<Run>> {
    let formula: Formula = working.formula.parse().ok()?;
    let mut line = Setting::default();
    line.symbol(&working.symbol.parse().ok()?);
    if let Some(put) = formula.put_in(working, written) {
        line.sign('=');
        line.expr(&put);
    }
    line.sign('=');
    line.upright(result);
    Some(line.runs)
}

/// A symbol as it stands in the formula; None where it is none.
pub fn symbol(text: &str) -> Option<Vec<Run>> {
    let mut line = Setting::default();
    line.symbol(&text.parse().ok()?);
    Some(line.runs)
}

#[derive(Default)]
struct Setting {
    runs: Vec<Run>,
    /// How small and how high: 0 on the line, 1 once raised and so on.
    depth: i32,
    rise: f32,
}

impl Setting {
    fn push(&mut self, text: &str, style: Style) {
        let size = style.size * 0.72_f32.powi(self.depth);
        let style = Style { size, rise: self.rise, ..style };
        match self.runs.last_mut() {
            Some(last) if last.style == style => last.text.push_str(text),
            _ => self.runs.push(Run::new(text, style)),
        }
    }

    fn upright(&mut self, text: &str) {
        self.push(text, UPRIGHT);
    }

    fn sign(&mut self, sign: char) {
        self.upright(&format!(" {sign} "));
    }

    /// Smaller, so much above the line.
    fn moved(&mut self, rise: f32, set: impl FnOnce(&mut Self)) {
        let before = (self.depth, self.rise);
        self.rise += rise * 0.72_f32.powi(self.depth);
        self.depth += 1;
        set(self);
        (self.depth, self.rise) = before;
    }

    fn symbol(&mut self, Symbol { name, below }: &Symbol) {
        self.push(name, SYMBOL);
        if !below.is_empty() {
            self.moved(-2.2, |line| line.upright(below));
        }
    }

    fn fenced(&mut self, open: &str, close: &str, inside: &[Expr]) {
        self.upright(open);
        for (index, expr) in inside.iter().enumerate() {
            if index > 0 {
                self.upright(", ");
            }
            self.expr(expr);
        }
        self.upright(close);
    }

    fn expr(&mut self, expr: &Expr) {
        match expr {
            Expr::Number(digits) => self.upright(digits),
            Expr::Symbol(symbol) => self.symbol(symbol),
            Expr::Series => self.upright("∑"),
            Expr::Sum(terms) => {
                for (index, (sign, term)) in terms.iter().enumerate() {
                    match (sign, index) {
                        (Sign::Plus, 0) => {}
                        (Sign::Minus, 0) => self.upright("−"),
                        (Sign::Plus, _) => self.sign('+'),
                        (Sign::Minus, _) => self.sign('−'),
                        (Sign::Either, _) => self.sign('±'),
                    }
                    self.expr(term);
                }
            }
            Expr::Product(factors) => self.product(factors),
            Expr::Quotient(over, under) => {
                self.grouped(over, matches!(**over, Expr::Sum(_)));
                self.upright(" / ");
                self.grouped(under, matches!(**under, Expr::Sum(_) | Expr::Product(_) | Expr::Quotient(..)));
            }
            Expr::Power(base, exponent) => {
                self.grouped(base, matches!(**base, Expr::Sum(_) | Expr::Product(_) | Expr::Quotient(..)));
                let exponent = if let Expr::Group(inner) = &**exponent { inner } else { exponent };
                self.moved(3.4, |line| line.expr(exponent));
            }
            Expr::Root(under) => {
                let simple = matches!(**under, Expr::Number(_) | Expr::Symbol(_) | Expr::Group(_));
                self.upright("√");
                self.grouped(under, !simple);
            }
            Expr::Call(function, of) => {
                self.upright(function.name());
                self.fenced("(", ")", of);
            }
            Expr::Magnitude(of) => self.fenced("|", "|", std::slice::from_ref(of)),
            Expr::NextWhole(of) => self.fenced("⌈", "⌉", std::slice::from_ref(of)),
            Expr::Group(of) => self.fenced("(", ")", std::slice::from_ref(of)),
        }
    }

    fn grouped(&mut self, expr: &Expr, is_group: bool) {
        if is_group {
            self.fenced("(", ")", std::slice::from_ref(expr));
        } else {
            self.expr(expr);
        }
    }

    fn product(&mut self, factors: &[(Times, Expr)]) {
        for (index, (times, factor)) in factors.iter().enumerate() {
            let after_series = index > 0 && factors[index - 1].1 == Expr::Series;
            match times {
                _ if index == 0 => {}
                // Figures side by side would read as one.
                _ if begins_with_figure(factor) && !after_series => self.sign('×'),
                Times::Dot if !after_series => self.sign('·'),
                _ => self.upright(" "),
            }
            // A fraction as a later factor keeps its own parentheses: a (b / c).
            self.grouped(factor, index > 0 && matches!(factor, Expr::Quotient(..)));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(runs: &[Run]) -> String {
        runs.iter().map(|run| run.text.as_str()).collect()
    }

    #[test]
    fn a_formula_on_one_line_says_what_it_says_as_text() {
        for (written, set) in [
            ("S = M (L − x_g) / L", "S = M (L − xg) / L"),
            ("y = √(a² + |b|) / ⌈c⌉ · min(a, b); a ≤ b", "y = √(a2 + |b|) / ⌈c⌉ · min(a, b); a ≤ b"),
            ("the next 10 kg up", "the next 10 kg up"),
        ] {
            assert_eq!(text(&formula(&Working::new("", written))), set);
        }
    }

    #[test]
    fn powers_are_raised_and_subscripts_lowered() {
        let runs = formula(&Working::new("", "a = b_c^2"));
        let rise = |text: &str| runs.iter().find(|run| run.text == text).map(|run| run.style.rise);
        assert!(rise("c").is_some_and(|rise| rise < 0.0) && rise("2").is_some_and(|rise| rise > 0.0), "{runs:?}");
    }

    #[test]
    fn values_stand_in_place_of_symbols() {
        let working = Working::new("", "S = M (L − x_g) / L")
            .given("M", "", 740.0, "kg")
            .given("L", "", 2640.0, "mm")
            .given("x_g", "", 2400.0, "mm")
            .gives("S", 67.27, "kg");
        let set = with_values(&working, &|given| given.value.to_string(), "67.3 kg").unwrap();
        assert_eq!(text(&set), "S = 740 × (2640 − 2400) / 2640 = 67.3 kg");
    }
}
