//! The sections of a calculation: inputs, the trailer, masses, then the checks by area.

use super::{Entry, Section, Table};
use crate::{
    domain::{
        estimate::Estimate,
        working::{Area, Verdict},
    },
    web::{
        forms::{
            Input, Shape, Sheet,
            spec::{self, Part},
        },
        pages::job::{checks::CheckView, electrics, view::trailer_drawings, workings::WorkingView},
        show::Show,
    },
};

pub fn all(estimate: &Estimate, show: &Show) -> Vec<Section> {
    let checks = CheckView::all(&estimate.checks, &estimate.spec.offer.answers, show);
    let of_areas = |areas: &[Area]| {
        // By area in the engineer's order, the worst first within one.
        let in_area = |area| checks.iter().filter(move |check: &&CheckView| check.area == area).cloned();
        areas.iter().flat_map(|area| in_area(*area)).collect::<Vec<_>>()
    };
    let mut sections = vec![
        Section { title: "What is asked and chosen", tables: inputs(estimate, show), ..Section::default() },
        trailer(estimate, show),
        masses(estimate, show),
    ];
    let parts: [(&'static str, &[Area]); 8] = [
        ("Balance", &[Area::Balance]),
        ("Loading, unhitched and by hand", &[Area::Loading]),
        ("Running gear", &[Area::Gear]),
        ("Towing", &[Area::Towing]),
        ("Strength", &[Area::Strength]),
        ("Load restraint", &[Area::Restraint]),
        ("Electrics", &[Area::Electrics]),
        ("Road rules", &[Area::Road]),
    ];
    for (title, areas) in parts {
        let checks = of_areas(areas);
        let mut section = Section { title, checks: entries(checks), ..Section::default() };
        match areas {
            [Area::Balance] => balance(&mut section, estimate, show),
            [Area::Gear] => rating(&mut section, estimate, show),
            [Area::Electrics] => section.tables = electrics::tables(&estimate.electrics, show),
            [Area::Strength] => super::frame::analysis(&mut section, estimate, show),
            _ => {}
        }
        if section.checks.is_empty() {
            let says = "Nothing was checked here: this program made no check of this kind for this trailer.";
            section.says.push(says.to_owned());
        }
        sections.push(section);
    }
    let others = of_areas(&[Area::Other]);
    if !others.is_empty() {
        sections.push(Section { title: "Other checks", checks: entries(others), ..Section::default() });
    }
    sections.push(answers(&checks));
    for (index, section) in sections.iter_mut().enumerate() {
        number(section, index + 1);
    }
    sections
}

/// How the checks came out, in a sentence.
pub fn verdict(estimate: &Estimate) -> String {
    let of = |wanted: fn(&Verdict) -> bool| estimate.checks.iter().filter(|check| wanted(&check.verdict)).count();
    let unanswered = estimate.unanswered().count();
    format!(
        "Of {} checks {} hold, {} are close to their limit, {} fail ({unanswered} without a written answer), and {} cannot be told.",
        estimate.checks.len(),
        of(|verdict| *verdict == Verdict::Holds),
        of(|verdict| *verdict == Verdict::Close),
        of(|verdict| *verdict == Verdict::Fails),
        of(|verdict| matches!(verdict, Verdict::CannotTell(_))),
    )
}

fn entries<T>(of: Vec<T>) -> Vec<Entry<T>> {
    of.into_iter().map(|of| Entry { number: String::new(), of }).collect()
}

fn number(section: &mut Section, number: usize) {
    section.number = number;
    let workings = section.workings.iter_mut().map(|entry| &mut entry.number);
    let all = workings.chain(section.checks.iter_mut().map(|entry| &mut entry.number));
    for (index, entry) in all.enumerate() {
        *entry = format!("{number}.{}", index + 1);
    }
}

/// The fields of need and design that matter, by group; without the offer.
fn inputs(estimate: &Estimate, show: &Show) -> Vec<Table> {
    let mut tables = Vec::new();
    for part in [Part::Need, Part::Design] {
        let form = spec::fill(part, &estimate.spec, show.hand());
        for section in Sheet::of_spec(part, &estimate.spec, show.hand()).sections {
            let rows: Vec<Vec<String>> = section
                .inputs
                .iter()
                .map(|input| vec![input.label.clone(), chosen(input, form.value(&input.name))])
                .filter(|row| row.iter().all(|cell| !cell.is_empty()))
                .collect();
            if !rows.is_empty() {
                tables.push(Table { caption: section.heading, head: vec!["Input", "Value"], rows, figures_from: 2 });
            }
        }
    }
    tables
}

/// A field's text as its form shows it.
fn chosen(input: &Input, text: &str) -> String {
    match &input.shape {
        Shape::Choice(options) => {
            options.iter().find(|(word, _)| word == text).map_or_else(|| text.to_owned(), |(_, label)| label.clone())
        }
        _ if text.is_empty() || input.unit.is_empty() || text.ends_with(&input.unit) => text.to_owned(),
        _ if text.chars().last().is_some_and(|last| last.is_ascii_digit()) => format!("{text} {}", input.unit),
        _ => text.to_owned(),
    }
}

fn trailer(estimate: &Estimate, show: &Show) -> Section {
    let bars = estimate.take_off.bars.iter().flat_map(|demand| {
        demand.parts.iter().map(move |part| {
            vec![
                part.id.clone(),
                part.role.label().to_owned(),
                format!("{} {}", demand.section, demand.grade),
                part.quantity.to_string(),
                show.length(part.length.mm()).main,
            ]
        })
    });
    let sheets = estimate.take_off.sheets.iter().flat_map(|demand| {
        demand.parts.iter().map(move |part| {
            vec![
                part.id.clone(),
                part.role.label().to_owned(),
                format!("{} {}", demand.material.label(), show.length(demand.thickness.mm()).main),
                part.quantity.to_string(),
                format!("{} × {}", show.length(part.length.mm()).main, show.length(part.width.mm()).main),
            ]
        })
    });
    let head = || vec!["Mark", "What", "Of", "Pieces", "Size"];
    let tables = [
        Table { caption: "Members".into(), head: head(), rows: bars.collect(), figures_from: 3 },
        Table { caption: "Panels and plates".into(), head: head(), rows: sheets.collect(), figures_from: 3 },
    ];
    Section {
        title: "The built trailer",
        drawings: trailer_drawings(estimate, show.units),
        tables: tables.into_iter().filter(|table| !table.rows.is_empty()).collect(),
        ..Section::default()
    }
}

fn masses(estimate: &Estimate, show: &Show) -> Section {
    let weights = &estimate.weights;
    let row = |name: &str, body: &crate::domain::weights::Body| {
        let [behind, aside, above] = body.centre;
        let places = [behind, aside, above].map(|mm| show.length(mm).main);
        [name.to_owned(), show.mass(body.mass_kg).main].into_iter().chain(places).collect::<Vec<_>>()
    };
    let head = || vec!["", "Mass", "Behind the coupling", "Right of the middle", "Above ground"];
    let groups = weights.groups.iter().map(|group| row(group.group.label(), &group.body));
    let groups = groups.chain([row("empty", &weights.empty)]).collect();
    let items = weights.items.iter().map(|item| row(&item.name, &item.body)).collect();
    let mut workings = vec![estimate.empty_mass_working(), estimate.gross_working(), estimate.payload_working()];
    let known: Vec<String> = workings.iter().map(|working| working.title.clone()).collect();
    workings.extend(weights.workings.iter().filter(|working| !known.contains(&working.title)).cloned());
    Section {
        title: "Masses and centre of gravity",
        says: vec![
            "Worked out, not weighed: the finished trailer is weighed, its plate follows the weighbridge.".into(),
        ],
        tables: vec![
            Table { caption: "By group".into(), head: head(), rows: groups, figures_from: 1 },
            Table { caption: "Every part".into(), head: head(), rows: items, figures_from: 1 },
        ],
        workings: entries(WorkingView::all(&workings, show)),
        ..Section::default()
    }
}

fn balance(section: &mut Section, estimate: &Estimate, show: &Show) {
    let rows = estimate.weights.cases.iter().map(|case| {
        vec![
            case.name.clone(),
            show.mass(case.body.mass_kg).main,
            show.mass(case.coupling_kg).main,
            show.share(case.coupling_share),
            show.mass(case.axle_kg).main,
        ]
    });
    section.tables.push(Table {
        caption: "Loading cases".into(),
        head: vec!["Case", "Mass", "On the coupling", "Share", "On the axle"],
        rows: rows.collect(),
        figures_from: 1,
    });
}

fn rating(section: &mut Section, estimate: &Estimate, show: &Show) {
    let limits = &estimate.weights.rating.limits;
    if limits.is_empty() {
        return;
    }
    let rows =
        limits.iter().map(|limit| vec![limit.part.clone(), limit.because.clone(), show.mass(limit.gross_kg).main]);
    section.tables.push(Table {
        caption: "Gross mass at which each part is full; the first governs".into(),
        head: vec!["Part", "Because", "Gross mass"],
        rows: rows.collect(),
        figures_from: 2,
    });
    let workings: Vec<_> = limits.iter().filter_map(|limit| limit.working.clone()).collect();
    section.workings = entries(WorkingView::all(&workings, show));
}

fn answers(checks: &[CheckView]) -> Section {
    let failing = checks.iter().filter(|check| check.takes_answer || check.blocks);
    let rows: Vec<Vec<String>> = failing
        .map(|check| {
            let answer = if check.is_answered() { check.answer.clone() } else { "not answered".to_owned() };
            vec![check.name.clone(), check.says.clone(), answer]
        })
        .collect();
    let mut section = Section { title: "What fails, and what was answered", ..Section::default() };
    if rows.is_empty() {
        section.says.push("No check fails.".into());
    } else {
        section.tables.push(Table {
            caption: "Failing checks with their written answers".into(),
            head: vec!["Check", "What was found", "Written answer"],
            rows,
            figures_from: 3,
        });
    }
    section
}
