//! Panel problems and plans.

use super::{Fault, Read, fields::Fields};
use crate::{
    measure::{Money, Tenths},
    nesting::{
        Ties, Unplaced,
        panels::{Answer, Cut, CutClass, Part, Placed, Problem, Remainder, Sheet, Stock},
    },
};

/// Reads a panel problem.
///
/// # Errors
/// The first field that cannot be read; figures are checked by the solver.
pub fn problem(text: &str) -> Result<Read<Problem>, Fault> {
    let mut fields = Fields::whole(text)?;
    let mut notes = Vec::new();
    let kerf = fields.length("kerf_mm", true, &mut notes)?.unwrap_or_default();
    let edge_trim = fields.length("edge_trim_mm", true, &mut notes)?.unwrap_or_default();
    let keep_offcut = fields.lengths::<2>("keep_offcut_mm", &mut notes)?.unwrap_or_default();
    let cuts = fields.word("cuts", "\"guillotine\" or \"free\"")?.unwrap_or(CutClass::Guillotine);
    let max_stages = fields.count("max_stages")?;
    let time_limit_ms = fields.milliseconds("time_limit_ms")?;
    let stock = fields.list("stock")?.into_iter().map(|f| stock(f, &mut notes)).collect::<Result<_, _>>()?;
    let parts = fields.list("parts")?.into_iter().map(|f| part(f, &mut notes)).collect::<Result<_, _>>()?;
    fields.done()?;
    let problem = Problem { kerf, edge_trim, keep_offcut, cuts, max_stages, stock, parts };
    Ok(Read { problem, notes, time_limit_ms })
}

fn stock(mut fields: Fields<'_>, notes: &mut Vec<String>) -> Result<Stock, Fault> {
    let stock = Stock {
        id: fields.text("id")?,
        length: fields.needed_length("length_mm", false, notes)?,
        width: fields.needed_length("width_mm", false, notes)?,
        cost: fields.money("cost")?,
        quantity: fields.count("quantity")?,
        grain: fields.word("grain", "\"length\", \"width\" or \"none\"")?.unwrap_or_default(),
        offcut_value_per_m2: fields.money("offcut_value_per_m2")?.unwrap_or(Money::ZERO),
    };
    fields.done()?;
    Ok(stock)
}

fn part(mut fields: Fields<'_>, notes: &mut Vec<String>) -> Result<Part, Fault> {
    let part = Part {
        id: fields.text("id")?,
        length: fields.needed_length("length_mm", true, notes)?,
        width: fields.needed_length("width_mm", true, notes)?,
        quantity: fields.count("quantity")?.unwrap_or(1),
        grain: fields.word("grain", "\"any\", \"length\" or \"width\"")?.unwrap_or_default(),
    };
    fields.done()?;
    Ok(part)
}

/// Reads an answer to a panel problem, as printed; nothing is rounded.
///
/// # Errors
/// The first field that cannot be read.
pub fn answer(text: &str) -> Result<Answer, Fault> {
    let mut fields = Fields::whole(text)?;
    let missing = |name: &str| Fault::new(name, "is missing");
    let answer = Answer {
        status: fields.word("status", "a status")?.ok_or_else(|| missing("status"))?,
        net_cost: fields.money("net_cost")?,
        lower_bound: fields.money("lower_bound")?,
        gap: fields.number("gap")?,
        cut_class: fields.word("cut_class", "\"guillotine\" or \"free\"")?.ok_or_else(|| missing("cut_class"))?,
        ties: fields.word("ties", "\"proven\" or \"searched\"")?.unwrap_or(Ties::Searched),
        plan: fields.list("plan")?.into_iter().map(sheet).collect::<Result<_, _>>()?,
        unplaced: unplaced(&mut fields)?,
        notes: fields.texts("notes")?,
        sheets: fields.count("sheets")?.ok_or_else(|| missing("sheets"))?,
        stopped: fields.word("stopped", "a reason")?,
    };
    fields.skip(&["elapsed_ms"]);
    fields.done()?;
    Ok(answer)
}

pub(super) fn unplaced(fields: &mut Fields<'_>) -> Result<Vec<Unplaced>, Fault> {
    let read = |mut fields: Fields<'_>| {
        let unplaced = Unplaced {
            part: fields.text("part")?,
            quantity: fields.count("quantity")?.unwrap_or(0),
            why: fields.text("why")?,
        };
        fields.done()?;
        Ok(unplaced)
    };
    fields.list("unplaced")?.into_iter().map(read).collect()
}

fn sheet(mut fields: Fields<'_>) -> Result<Sheet, Fault> {
    let sheet = Sheet {
        stock: fields.text("stock")?,
        count: fields.count("count")?.ok_or_else(|| Fault::new(fields.field("count"), "is missing"))?,
        placed: fields.list("placed")?.into_iter().map(placed).collect::<Result<_, _>>()?,
        cuts: fields.list("cuts")?.into_iter().map(cut).collect::<Result<_, _>>()?,
        remainders: fields.list("remainders")?.into_iter().map(remainder).collect::<Result<_, _>>()?,
    };
    fields.done()?;
    Ok(sheet)
}

fn placed(mut fields: Fields<'_>) -> Result<Placed, Fault> {
    let placed = Placed {
        part: fields.text("part")?,
        x: fields.exact_length("x_mm")?,
        y: fields.exact_length("y_mm")?,
        length: fields.exact_length("length_mm")?,
        width: fields.exact_length("width_mm")?,
        turned: fields.flag("turned")?.unwrap_or(false),
    };
    fields.done()?;
    Ok(placed)
}

fn cut(mut fields: Fields<'_>) -> Result<Cut, Fault> {
    let mut rounded = Vec::new();
    let piece: Option<[Tenths; 4]> = fields.lengths::<4>("piece", &mut rounded)?;
    if let Some(note) = rounded.first() {
        return Err(Fault::new(fields.field("piece"), format!("more than one decimal: {note}")));
    }
    let cut = Cut {
        stage: fields.count("stage")?.unwrap_or(0),
        piece: piece.ok_or_else(|| Fault::new(fields.field("piece"), "is missing"))?,
        axis: fields.word("axis", "\"x\" or \"y\"")?.ok_or_else(|| Fault::new(fields.field("axis"), "is missing"))?,
        at: fields.exact_length("at_mm")?,
    };
    fields.done()?;
    Ok(cut)
}

fn remainder(mut fields: Fields<'_>) -> Result<Remainder, Fault> {
    let remainder = Remainder {
        x: fields.exact_length("x_mm")?,
        y: fields.exact_length("y_mm")?,
        length: fields.exact_length("length_mm")?,
        width: fields.exact_length("width_mm")?,
        kept: fields.flag("kept")?.unwrap_or(false),
    };
    fields.done()?;
    Ok(remainder)
}
