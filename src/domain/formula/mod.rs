//! Formulas of workings: read from plain text, with values put in, and worked out again to test what is shown.
//!
//! A symbol is a letter (or a short name of up to three) with an optional subscript: `x_g`, `f_vw,d`, `mᵢ`. Products stand by a
//! space or `·`, quotients by `/` from left to right, powers as `²` or `^n`, roots as `√(…)`, functions as `sin(…)` or
//! `min(a, b)`, `|…|` is a magnitude and `⌈…⌉` the next whole number above. `Σ` sums what follows. Angles are in degrees. Units
//! never stand in a formula. Several statements are parted by `;`.

mod read;
mod value;

pub use read::FormulaFault;
pub use value::{Outcome, Written};

/// One statement or several.
#[derive(Clone, Debug, PartialEq)]
pub struct Formula {
    pub statements: Vec<Statement>,
}

/// Sides with a relation between each two: `S_min ≤ S ≤ S_max`.
#[derive(Clone, Debug, PartialEq)]
pub struct Statement {
    pub first: Expr,
    pub rest: Vec<(Relation, Expr)>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Relation {
    Equal,
    About,
    Less,
    More,
    AtMost,
    AtLeast,
    Unequal,
}

impl Relation {
    pub const fn sign(self) -> char {
        match self {
            Self::Equal => '=',
            Self::About => '≈',
            Self::Less => '<',
            Self::More => '>',
            Self::AtMost => '≤',
            Self::AtLeast => '≥',
            Self::Unequal => '≠',
        }
    }
}

/// `x_g`: its letter and what stands below it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Symbol {
    pub name: String,
    pub below: String,
}

#[derive(Clone, Debug, PartialEq)]
pub enum Expr {
    /// As written, digits possibly grouped.
    Number(String),
    Symbol(Symbol),
    /// The sign of each term; the first one's `+` is not shown.
    Sum(Vec<(Sign, Expr)>),
    Product(Vec<(Times, Expr)>),
    Quotient(Box<Expr>, Box<Expr>),
    Power(Box<Expr>, Box<Expr>),
    Root(Box<Expr>),
    Call(Function, Vec<Expr>),
    Magnitude(Box<Expr>),
    NextWhole(Box<Expr>),
    /// In parentheses.
    Group(Box<Expr>),
    /// `Σ`: sums the factors after it over whatever their index counts.
    Series,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    Plus,
    Minus,
    Either,
}

/// How a factor is joined to the one before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Times {
    Unseen,
    Dot,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Function {
    Sin,
    Cos,
    Tan,
    Asin,
    Acos,
    Atan,
    Min,
    Max,
    Exp,
    Ln,
}

impl Function {
    const ALL: [Self; 10] = [
        Self::Asin,
        Self::Acos,
        Self::Atan,
        Self::Sin,
        Self::Cos,
        Self::Tan,
        Self::Min,
        Self::Max,
        Self::Exp,
        Self::Ln,
    ];

    pub const fn name(self) -> &'static str {
        match self {
            Self::Sin => "sin",
            Self::Cos => "cos",
            Self::Tan => "tan",
            Self::Asin => "asin",
            Self::Acos => "acos",
            Self::Atan => "atan",
            Self::Min => "min",
            Self::Max => "max",
            Self::Exp => "exp",
            Self::Ln => "ln",
        }
    }
}
