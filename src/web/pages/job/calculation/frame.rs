//! The analysis of the frame, in the order in which it is checked: what was reckoned with, what the supports bear, how full members and
//! welds are.

use super::{Section, Table};
use crate::{
    domain::{estimate::Estimate, strength::Strength, working::show_use},
    web::{
        pages::job::strength::{drawings, governs, members, size},
        show::Show,
    },
};

/// What is drawn and tabled before the checks.
pub fn analysis(section: &mut Section, estimate: &Estimate, show: &Show) {
    let strength = &estimate.strength;
    if strength.members.is_empty() {
        section.says.push("The frame was not analysed.".into());
        return;
    }
    let factors = &strength.factors;
    section.says.extend([
        format!(
            "{} Stress is held against the yield strength over {} in service and over {} under test loads and on a jack (common practice, no source).",
            size(strength),
            show.figure(factors.divisor_service),
            show.figure(factors.divisor_test),
        ),
        "Not reckoned with: gussets, the stiffness of deck, sides and plates, local bending of tube walls, and fatigue.".into(),
        governs(estimate, show),
    ]);
    section.drawings = drawings(estimate);
    section.tables = vec![reactions(strength, show), uses(estimate, show), welds(strength)];
    section.tables.retain(|table| !table.rows.is_empty());
}

fn reactions(strength: &Strength, show: &Show) -> Table {
    let rows = strength.reactions.iter().map(|reactions| {
        let wheels: Vec<String> = reactions.wheels.iter().map(|newtons| show.figure(*newtons)).collect();
        let coupling = reactions.coupling.map(|newtons| show.figure(newtons));
        [reactions.case.clone(), wheels.join(", ")].into_iter().chain(coupling).collect()
    });
    Table {
        caption: "What the supports bear in the cases that govern, N".into(),
        head: vec![
            "Loading case",
            "Wheels, left and right, axle by axle",
            "Coupling along",
            "Coupling across",
            "Coupling up",
        ],
        rows: rows.collect(),
        figures_from: 2,
    }
}

fn uses(estimate: &Estimate, show: &Show) -> Table {
    let rows = members(estimate, show).into_iter().map(|member| {
        vec![member.name, member.mark, member.case, member.word.into(), member.place, member.stress, member.usage]
    });
    Table {
        caption: "Use of each member, the fullest first".into(),
        head: vec!["Member", "Mark", "Governing case", "Verdict", "From its end", "Stress", "Use"],
        rows: rows.collect(),
        figures_from: 4,
    }
}

fn welds(strength: &Strength) -> Table {
    let name = |index: usize| {
        let used = strength.members.iter().find(|used| used.member == index);
        used.map_or_else(String::new, |used| used.name.clone())
    };
    let rows = strength.welds.iter().map(|weld| {
        let [first, second] = weld.members.map(name);
        let scope = if weld.in_scope { "yes" } else { "no: common practice" };
        vec![
            format!("W{}", weld.number),
            format!("{first} to {second}"),
            weld.case.clone(),
            scope.into(),
            show_use(weld.usage),
        ]
    });
    Table {
        caption: "The fullest welds".into(),
        head: vec!["Weld", "Joins", "Governing case", "In the standard's range", "Use"],
        rows: rows.collect(),
        figures_from: 4,
    }
}
