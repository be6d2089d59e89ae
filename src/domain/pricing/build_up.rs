//! The build-up, step by step.

use rust_decimal::Decimal;

use super::{
    BuildUp, CustomerLine, CustomerPrice, Days, Finding, FindingKind, PriceLine, Step,
    customer::Assembly,
    lines::{Draft, Ledger},
    margin_percent, price_at_margin,
};
use crate::{
    labour::Hours,
    measure::{
        Money,
        round::{money_to_step, shared_out},
    },
    nesting::cutting::Cutting,
    shop::{OutsideService, PriceShown, RoundPlace, ShopBook, TaxOn, Trade},
    trailer::{Delivery, PanelRole, Role, Spec, TakeOff},
    working::Sure,
};

/// The price of a job of `spec.need.count` identical trailers, by the shop's book of the day.
pub fn build_up(spec: &Spec, take_off: &TakeOff, cutting: &Cutting, hours: &Hours, book: &ShopBook) -> BuildUp {
    let count = spec.need.count.max(1);
    let mut ledger = Ledger::new(book, &spec.offer.overruled);
    ledger.materials(cutting);
    ledger.parts(take_off, Decimal::from(count));
    ledger.consumables(take_off, cutting, f64::from(count));
    ledger.outside_work(take_off, f64::from(count));
    ledger.labour(hours);
    ledger.allowance();
    ledger.contingency();
    ledger.mark_ups();
    let each = trailer_price(&mut ledger, spec, count);
    let beside = beside_the_trailer(&mut ledger, spec);
    let weights = weights(&ledger.lines, take_off, hours, book);
    let customer = customer(&mut ledger, count, each, &weights, beside);
    look_at_margin(&mut ledger);
    look_at_idle_overrules(&mut ledger, take_off, hours);
    let days = Days::new(hours.total(), ledger.delivery_days, ledger.outside_days, &book.policy);
    BuildUp { count, lines: ledger.lines, findings: ledger.findings, customer, days }
}

/// Margin, rounding and an agreed price; returns the price of one trailer.
fn trailer_price(ledger: &mut Ledger<'_>, spec: &Spec, count: u32) -> Money {
    let policy = &ledger.book.policy;
    let number = Decimal::from(count);
    let wanted = spec.offer.margin_percent.unwrap_or(policy.margin_percent);
    let margin = wanted.clamp(Decimal::ZERO, Decimal::from(95));
    if margin != wanted {
        let says =
            format!("A margin of {wanted} % on the price cannot be worked with; {margin} % stands. Type 0 to 95.");
        ledger.find(FindingKind::Unread, "margin", says);
    }
    let base = ledger.sum(|_| true);
    let exact = price_at_margin(base, margin);
    let draft = Draft {
        text: "margin".into(),
        quantity: Some(margin.normalize()),
        unit: "% of the price",
        amount: exact - base,
        how: "price = cost / (1 − margin)".into(),
        sure: Some(Sure::Computed),
        ..Draft::default()
    };
    ledger.write(Step::Margin, "margin", draft);

    let priced = ledger.sum(|_| true);
    let one = ledger.coins(Money(priced.0 / number));
    let one = match policy.round_place {
        RoundPlace::TrailerPrice => ledger.coins(money_to_step(one, policy.round_step.0, policy.rounding)),
        RoundPlace::Nowhere | RoundPlace::Total => one,
    };
    plain(ledger, Step::Rounding, "rounding", "rounding of the trailer's price".into(), one * number - priced);

    let Some(agreed) = spec.offer.agreed_price else { return one };
    let agreed = ledger.coins(agreed);
    let text = format!(
        "agreed price of {} each instead of {}",
        ledger.book.currency.show(agreed),
        ledger.book.currency.show(one)
    );
    plain(ledger, Step::Agreed, "agreed", text, (agreed - one) * number);
    agreed
}

/// Free lines, delivery and discount, as the customer sees them.
fn beside_the_trailer(ledger: &mut Ledger<'_>, spec: &Spec) -> Vec<CustomerLine> {
    let first = ledger.lines.len();
    for (at, line) in spec.offer.free_lines.iter().enumerate() {
        plain(ledger, Step::Free, &format!("free/{}", at + 1), line.text.clone(), line.price);
    }
    if spec.offer.delivery == Delivery::Delivered {
        let (policy, km) = (&ledger.book.policy, spec.offer.delivery_km.max(Decimal::ZERO));
        let by_distance = policy.delivery_per_km * km;
        if km.is_zero() {
            let says =
                "Delivery: the distance is not given. Enter the kilometres, or let the customer collect.".to_owned();
            ledger.find(FindingKind::Missing, "delivery", says);
        }
        let draft = Draft {
            text: OutsideService::Delivery.label().to_owned(),
            quantity: Some(km.normalize()),
            unit: "km",
            rate: Some(policy.delivery_per_km),
            amount: by_distance.max(policy.delivery_minimum),
            how: format!("at least {}", ledger.book.currency.show(policy.delivery_minimum)),
            ..Draft::default()
        };
        ledger.write(Step::Delivery, "delivery", draft);
    }
    if let Some(discount) = spec.offer.discount {
        plain(ledger, Step::Discount, "discount", "discount".into(), -discount);
    }
    let shown = |of: &PriceLine| {
        let word = if of.key.starts_with("free/") { "" } else { &of.key };
        line(word, capital(&of.text), of.amount)
    };
    ledger.lines[first..].iter().map(shown).collect()
}

/// A line without quantity; nothing for an amount of nought.
fn plain(ledger: &mut Ledger<'_>, step: Step, key: &str, text: String, amount: Money) {
    if ledger.coins(amount) != Money::ZERO {
        ledger.write(step, key, Draft { text, amount, ..Draft::default() });
    }
}

/// The customer's lines, the tax on them and the rounding of the total; writes the last two into the ledger.
fn customer(
    ledger: &mut Ledger<'_>,
    count: u32,
    each: Money,
    weights: &[(Assembly, f64)],
    beside: Vec<CustomerLine>,
) -> CustomerPrice {
    let policy = &ledger.book.policy;
    let decimals = ledger.book.currency.decimals;
    let trailers = ledger.sum(|step| step <= Step::Agreed);
    let mut lines: Vec<CustomerLine> = match policy.price_shown {
        PriceShown::Assemblies if !weights.is_empty() => {
            let only: Vec<f64> = weights.iter().map(|(_, weight)| *weight).collect();
            let shares = shared_out(trailers, &only, decimals);
            let named = weights.iter().zip(shares);
            named.map(|((assembly, _), amount)| line(assembly.word(), assembly.label().to_owned(), amount)).collect()
        }
        _ if count == 1 => vec![line("trailer", "Trailer as described".to_owned(), trailers)],
        _ => vec![line("trailers", format!("{count} trailers as described"), trailers)],
    };
    lines.retain(|line| line.amount != Money::ZERO);
    lines.extend(beside);
    let before_tax: Money = lines.iter().map(|line| line.amount).sum();
    let tax = match policy.tax_on {
        TaxOn::Sum => ledger.percent(before_tax, policy.tax_percent),
        TaxOn::EachLine => {
            for line in &mut lines {
                line.tax = Some(ledger.percent(line.amount, policy.tax_percent));
            }
            lines.iter().filter_map(|line| line.tax).sum()
        }
    };
    let tax_name = format!("{} {} %", policy.tax_name, policy.tax_percent.normalize());
    plain(ledger, Step::Tax, "tax", tax_name.clone(), tax);
    let due = before_tax + tax;
    let rounded = match policy.round_place {
        RoundPlace::Total => ledger.coins(money_to_step(due, policy.round_step.0, policy.rounding)),
        RoundPlace::Nowhere | RoundPlace::TrailerPrice => due,
    };
    plain(ledger, Step::TotalRounding, "total-rounding", "rounding of the total".into(), rounded - due);
    CustomerPrice { count, each, lines, before_tax, tax_name, tax, rounding: rounded - due, total: rounded }
}

fn line(word: &str, text: String, amount: Money) -> CustomerLine {
    CustomerLine { text, word: word.to_owned(), amount, tax: None }
}

/// How the price of a trailer is told apart: by what each assembly takes of material, parts and hours. What belongs to
/// no assembly (papers, overhead, margin) follows in proportion.
fn weights(lines: &[PriceLine], take_off: &TakeOff, hours: &Hours, book: &ShopBook) -> Vec<(Assembly, f64)> {
    let mut weights = vec![0.0; Assembly::ALL.len()];
    let mut add = |assembly: Assembly, amount: f64| weights[assembly as usize] += amount.max(0.0);
    let amount = |key: &str| {
        let line = lines.iter().find(|line| line.key == key);
        line.and_then(|line| f64::try_from(line.amount.0).ok()).unwrap_or(0.0)
    };
    let mut steel = vec![0.0; Assembly::ALL.len()];
    for demand in &take_off.bars {
        let length = |part: &crate::trailer::BarPart| part.length.mm() * f64::from(part.quantity);
        let all: f64 = demand.parts.iter().map(length).sum();
        let cost = amount(&format!("steel/{} {}", demand.section, demand.grade));
        for part in demand.parts.iter().filter(|_| all > 0.0) {
            add(of_role(part.role), cost * length(part) / all);
            steel[of_role(part.role) as usize] += f64::from(part.quantity);
        }
    }
    for demand in &take_off.sheets {
        let area = |part: &crate::trailer::SheetPart| part.length.mm() * part.width.mm() * f64::from(part.quantity);
        let all: f64 = demand.parts.iter().map(area).sum();
        let cost = amount(&format!("sheet/{} {}", demand.material.word(), demand.thickness.mm()));
        for part in demand.parts.iter().filter(|_| all > 0.0) {
            add(of_panel(part.role), cost * area(part) / all);
        }
    }
    for demand in &take_off.parts {
        add(demand.group.into(), amount(&format!("part/{}", demand.part.need.key)));
    }
    for line in lines.iter().filter(|line| line.step == Step::Outside) {
        add(Assembly::Finish, f64::try_from(line.amount.0).unwrap_or(0.0));
    }
    let pieces: f64 = steel.iter().sum();
    for line in &hours.lines {
        let rate = book.rates.labour(line.trade).and_then(|item| f64::try_from(item.price.0).ok()).unwrap_or(0.0);
        let cost = line.hours * rate;
        match line.key.split('/').next().unwrap_or_default() {
            "deck" | "body" | "ramp" | "tailgate" => add(Assembly::Body, cost),
            "paint" | "powder" | "galvanise" => add(Assembly::Finish, cost),
            "wiring" => add(Assembly::Electrics, cost),
            "mudguards" => add(Assembly::RunningGear, cost),
            "fit" => {
                let part = take_off
                    .parts
                    .iter()
                    .find(|demand| line.key.strip_prefix("fit/") == Some(demand.part.need.key.as_str()));
                add(part.map_or(Assembly::Fittings, |demand| demand.group.into()), cost);
            }
            _ if matches!(line.trade, Trade::Fabricator | Trade::Welder) && pieces > 0.0 && line.key != "handling" => {
                for assembly in Assembly::ALL {
                    add(*assembly, cost * steel[*assembly as usize] / pieces);
                }
            }
            _ => {}
        }
    }
    // An assembly that takes nothing has no line.
    let named = Assembly::ALL.iter().map(|assembly| (*assembly, weights[*assembly as usize]));
    named.filter(|(_, weight)| *weight > 0.0).collect()
}

const fn of_role(role: Role) -> Assembly {
    match role {
        Role::SideRail | Role::EndRail | Role::CrossMember | Role::Trimmer | Role::Pole | Role::Leg | Role::Inner => {
            Assembly::Frame
        }
        Role::Post
        | Role::TopRail
        | Role::MidRail
        | Role::RampStile
        | Role::RampRung
        | Role::RampCarrier
        | Role::PropLeg
        | Role::WinchPost => Assembly::Body,
        Role::MudguardStay => Assembly::RunningGear,
        Role::GuidePole | Role::SpareArm | Role::Bumper => Assembly::Fittings,
    }
}

const fn of_panel(role: PanelRole) -> Assembly {
    match role {
        PanelRole::Deck
        | PanelRole::Side
        | PanelRole::Front
        | PanelRole::Tailgate
        | PanelRole::RampSheet
        | PanelRole::WheelBox
        | PanelRole::RampLug => Assembly::Body,
        PanelRole::Mudguard | PanelRole::HangerPlate | PanelRole::SpringSeat | PanelRole::AxlePlate => {
            Assembly::RunningGear
        }
        PanelRole::CouplingPlate | PanelRole::PinPlate | PanelRole::Gusset | PanelRole::Cap => Assembly::Frame,
        PanelRole::LampBracket => Assembly::Electrics,
        PanelRole::Bracket => Assembly::Fittings,
    }
}

fn look_at_margin(ledger: &mut Ledger<'_>) {
    let cost = ledger.sum(|step| step <= Step::Contingency);
    let sold = ledger.sum(|step| step <= Step::Discount && step != Step::Delivery);
    let least = ledger.book.policy.least_margin_percent;
    if sold < Money::ZERO {
        let says = "The discount is more than the price: the shop would pay the customer. Take less off.".to_owned();
        return ledger.find(FindingKind::Missing, "discount", says);
    }
    let says = match margin_percent(cost, sold) {
        Some(margin) if margin < least => format!(
            "The price leaves a margin of {} %; below {} % the owner decides. Raise the price, or ask.",
            margin.normalize(),
            least.normalize()
        ),
        None if cost > Money::ZERO => "The price is nought: nothing covers the cost.".to_owned(),
        _ => return,
    };
    ledger.find(FindingKind::LowMargin, "margin", says);
}

/// Overrules of lines that are not there now are kept, without effect, and said.
fn look_at_idle_overrules(ledger: &mut Ledger<'_>, take_off: &TakeOff, hours: &Hours) {
    for key in ledger.overruled.keys() {
        let priced = |line: &str| ledger.lines.iter().any(|known| known.key == line);
        let there = match key.split_once('/') {
            Some(("price", line)) => priced(line),
            Some(("hours", line)) => hours.lines.iter().any(|known| known.key == line),
            Some(("part", need)) => take_off.parts.iter().any(|known| known.part.need.key == need),
            _ => priced(key),
        };
        if !there {
            let says = format!(
                "{key} is set by hand, but there is no such line now. It is kept; drop it if it is not needed."
            );
            ledger.findings.push(Finding { kind: FindingKind::Idle, key: key.clone(), says });
        }
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
