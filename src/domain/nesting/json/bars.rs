//! Bar problems and plans.

use super::{Fault, Read, fields::Fields};
use crate::{
    measure::{Money, Tenths},
    nesting::{
        Ties,
        bars::{Answer, Bar, End, Laid, LongPoint, Mitre, Part, Plane, Problem, Stock},
    },
};

/// Reads a bar problem.
///
/// # Errors
/// The first field that cannot be read; figures are checked by the solver.
pub fn problem(text: &str) -> Result<Read<Problem>, Fault> {
    let mut fields = Fields::whole(text)?;
    let mut notes = Vec::new();
    let kerf = fields.length("kerf_mm", true, &mut notes)?.unwrap_or_default();
    let end_trim = fields.length("end_trim_mm", true, &mut notes)?.unwrap_or_default();
    let keep_offcut = fields.length("keep_offcut_mm", true, &mut notes)?.unwrap_or_default();
    let time_limit_ms = fields.milliseconds("time_limit_ms")?;
    let stock = fields.list("stock")?.into_iter().map(|f| stock(f, &mut notes)).collect::<Result<_, _>>()?;
    let parts = fields.list("parts")?.into_iter().map(|f| part(f, &mut notes)).collect::<Result<_, _>>()?;
    fields.done()?;
    Ok(Read { problem: Problem { kerf, end_trim, keep_offcut, stock, parts }, notes, time_limit_ms })
}

fn stock(mut fields: Fields<'_>, notes: &mut Vec<String>) -> Result<Stock, Fault> {
    let stock = Stock {
        id: fields.text("id")?,
        length: fields.needed_length("length_mm", false, notes)?,
        cost: fields.money("cost")?,
        quantity: fields.count("quantity")?,
        offcut_value_per_m: fields.money("offcut_value_per_m")?.unwrap_or(Money::ZERO),
        end_trim: fields.length("end_trim_mm", true, notes)?,
    };
    fields.done()?;
    Ok(stock)
}

fn part(mut fields: Fields<'_>, notes: &mut Vec<String>) -> Result<Part, Fault> {
    let id = fields.text("id")?;
    let length = fields.needed_length("length_mm", true, notes)?;
    let quantity = fields.count("quantity")?.unwrap_or(1);
    let may_flip = fields.flag("may_flip")?;
    let section_depth = fields.length("section_depth_mm", true, notes)?;
    let section_width = fields.length("section_width_mm", true, notes)?;
    let mitre = match fields.list_if_given("ends")? {
        None => None,
        Some(ends) => {
            let ends: Vec<End> = ends.into_iter().map(end).collect::<Result<_, _>>()?;
            let ends: [End; 2] =
                ends.try_into().map_err(|_| Fault::new(fields.field("ends"), "is not a list of the two ends"))?;
            if ends.iter().all(|end| end.angle_deg == 0.0) {
                None
            } else {
                let size = |size: Option<Tenths>, name: &str| {
                    size.ok_or_else(|| Fault::new(fields.field(name), "is missing; mitred ends need it"))
                };
                Some(Mitre {
                    section_depth: size(section_depth, "section_depth_mm")?,
                    section_width: size(section_width, "section_width_mm")?,
                    // The form of the section is not told here, so turning it over is not taken for granted.
                    may_flip: may_flip.unwrap_or(false),
                    ends,
                })
            }
        }
    };
    fields.done()?;
    Ok(Part { id, length, quantity, mitre })
}

fn end(mut fields: Fields<'_>) -> Result<End, Fault> {
    let end = End {
        angle_deg: fields.number("angle_deg")?.unwrap_or(0.0),
        plane: fields.word("plane", "\"depth\" or \"width\"")?.unwrap_or(Plane::Depth),
        long_point: fields.word("long_point", "\"top\" or \"bottom\"")?.unwrap_or(LongPoint::Top),
    };
    fields.done()?;
    Ok(end)
}

/// Reads an answer to a bar problem, as printed; nothing is rounded.
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
        ties: fields.word("ties", "\"proven\" or \"searched\"")?.unwrap_or(Ties::Searched),
        plan: fields.list("plan")?.into_iter().map(bar).collect::<Result<_, _>>()?,
        unplaced: super::panels::unplaced(&mut fields)?,
        notes: fields.texts("notes")?,
        bars: fields.count("bars")?.ok_or_else(|| missing("bars"))?,
        patterns: fields.count("patterns")?.ok_or_else(|| missing("patterns"))?,
        stopped: fields.word("stopped", "a reason")?,
    };
    fields.skip(&["elapsed_ms"]);
    fields.done()?;
    Ok(answer)
}

fn bar(mut fields: Fields<'_>) -> Result<Bar, Fault> {
    let needed = |fields: &Fields<'_>, name: &str| Fault::new(fields.field(name), "is missing");
    let bar = Bar {
        stock: fields.text("stock")?,
        count: fields.count("count")?.ok_or_else(|| needed(&fields, "count"))?,
        parts: fields.texts("parts")?,
        remainder: fields.exact_length("remainder_mm")?,
        kept: fields.flag("kept")?.ok_or_else(|| needed(&fields, "kept"))?,
        shared_gain: fields.exact_length("shared_gain_mm")?,
        laid: match fields.list_if_given("laid")? {
            Some(laid) => Some(laid.into_iter().map(self::laid).collect::<Result<_, _>>()?),
            None => None,
        },
    };
    fields.done()?;
    Ok(bar)
}

fn laid(mut fields: Fields<'_>) -> Result<Laid, Fault> {
    let laid = Laid {
        turned: fields.flag("turned")?.unwrap_or(false),
        flipped: fields.flag("flipped")?.unwrap_or(false),
        shares_next: fields.flag("shares_next")?.unwrap_or(false),
    };
    fields.done()?;
    Ok(laid)
}
