//! Drawings on sheets: true to scale, nothing overlaps, nothing leaves the paper; of every demo trailer and of any other.

use std::ops::ControlFlow;

use hitchwright::{
    documents::{
        Drawing, Ink, Letters, Shape, plan_view,
        sheet::{Facts, LineGroup, Options, PaperSize, Pen, Projection, Sheet, arrangement_sheets, part_sheets, pen},
        side_view,
    },
    domain::{
        estimate::{Estimate, estimate},
        measure::Units,
        nesting::Budget,
        shop::{Rack, ShopBook},
        steel::SheetMaterial,
        trailer::{HolePurpose, PanelRole, Role, Spec},
        words::Words,
    },
};
use proptest::{prelude::*, test_runner::RngSeed};

use super::any_spec::any_spec;

const DEMO: [&str; 9] = [
    include_str!("../../seed-data/demo/bike-courier.json"),
    include_str!("../../seed-data/demo/ferry-stores.json"),
    include_str!("../../seed-data/demo/oven-caterer.json"),
    include_str!("../../seed-data/demo/rowing-club.json"),
    include_str!("../../seed-data/demo/rescue-post.json"),
    include_str!("../../seed-data/demo/apiary.json"),
    include_str!("../../seed-data/demo/puppet-stage.json"),
    include_str!("../../seed-data/demo/hedge-contractor.json"),
    include_str!("../../seed-data/demo/pottery.json"),
];

fn worked(spec: &Spec) -> Option<Estimate> {
    estimate(spec, &ShopBook::demo(), &Rack::default(), Budget::preview(), &mut |_| ControlFlow::Continue(())).ok()
}

fn demo() -> impl Iterator<Item = Estimate> {
    DEMO.iter().map(|job| {
        let job: serde_json::Value = serde_json::from_str(job).expect("a demo job");
        worked(&serde_json::from_value(job["spec"].clone()).expect("its spec")).expect("a trailer")
    })
}

fn facts(units: Units, projection: Projection) -> Facts {
    Facts {
        shop: "Saltmarsh Fabrications".into(),
        job: "a job whose title is far longer than any title block could ever hold on a sheet of paper, surely".into(),
        number: "2026-007".into(),
        revision: Some(2),
        day: "2026-11-25".into(),
        program: "0.1.0".into(),
        words: Words::english(),
        units,
        projection,
    }
}

fn every_sheet(estimate: &Estimate) -> Vec<Sheet> {
    let mut sheets = Vec::new();
    for (paper, units, projection) in [
        (PaperSize::A4, Units::Metric, Projection::FirstAngle),
        (PaperSize::A3, Units::Metric, Projection::ThirdAngle),
        (PaperSize::Letter, Units::Imperial, Projection::ThirdAngle),
        (PaperSize::Ledger, Units::Imperial, Projection::FirstAngle),
    ] {
        // English on paper of inches, German on that of millimetres.
        let words = Words::of(if units == Units::Metric { "de" } else { "en" });
        let facts = Facts { words, ..facts(units, projection) };
        for options in [Options::default(), Options { deck: false, loads: false, marks: true }] {
            sheets.extend(arrangement_sheets(&estimate.trailer, &estimate.weights, &facts, paper, options));
        }
        sheets.extend(part_sheets(estimate, &facts, paper));
    }
    sheets
}

/// The border of ISO 5457: 20 mm on the side that is bound, 10 mm on the others.
const BORDER_MM: [f64; 2] = [20.0, 10.0];
/// What is wrong with a sheet, in words; nothing where all is well.
fn faults(sheet: &Sheet) -> Vec<String> {
    let [bound, edge] = BORDER_MM;
    let mut faults = Vec::new();
    for measured in &sheet.measured {
        let ([ax, ay], [bx, by]) = (measured.from, measured.to);
        let drawn = (bx - ax).hypot(by - ay);
        if (drawn * sheet.scale - measured.value_mm).abs() > 1e-6 {
            faults.push(format!("{} mm is drawn {drawn} mm long at 1:{}", measured.value_mm, sheet.scale));
        }
        let is_drawn = sheet.drawing.shapes.iter().any(|shape| {
            matches!(shape, Shape::Line { ink: Ink::Dimension, from, to } if *from == measured.from && *to == measured.to)
        });
        if !is_drawn {
            faults.push(format!("{measured:?} has no line"));
        }
    }
    let texts = sheet.boxes_of_text();
    let [wide, tall] = sheet.paper.mm();
    for (at, (a, text)) in texts.iter().enumerate() {
        if a[0] < bound || a[1] < edge || a[2] > wide - edge || a[3] > tall - edge {
            faults.push(format!("“{text}” leaves the border: {a:?}"));
        }
        for (b, other) in &texts[at + 1..] {
            if meet(a, b) {
                faults.push(format!("“{text}” {a:?} lies upon “{other}” {b:?}"));
            }
        }
    }
    // The mark of the centre of gravity: two black quarters, which no letter of a load or part may cover.
    for shape in &sheet.drawing.shapes {
        let Shape::Polygon { ink: Ink::Kerf, points, .. } = shape else { continue };
        for (text, words) in &texts {
            if points.iter().any(|[x, y]| *x > text[0] && *x < text[2] && *y > text[1] && *y < text[3]) {
                faults.push(format!("“{words}” lies upon the centre of gravity"));
            }
        }
    }
    for view in &sheet.narrow {
        let texts = view.text_boxes();
        for (at, (a, text)) in texts.iter().enumerate() {
            if let Some((_, other)) = texts[at + 1..].iter().find(|(b, _)| meet(a, b)) {
                faults.push(format!("alone, “{text}” lies upon “{other}”"));
            }
        }
        let wide = view.bounds()[2];
        if !(20.0..=100.0).contains(&wide) {
            faults.push(format!("alone it is {wide} mm wide"));
        }
    }
    if sheet.narrow.is_empty() {
        faults.push("a narrow window has no view".into());
    }
    let [x, y, width, height] = sheet.drawing.bounds();
    if x < 0.0 || y < 0.0 || x + width > wide || y + height > tall {
        faults.push(format!("something leaves the paper: {x} {y} {width} {height}"));
    }
    faults
}

fn meet(a: &[f64; 4], b: &[f64; 4]) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

#[test]
fn sheets_of_the_demo_are_true_to_scale_and_nothing_overlaps() {
    for estimate in demo() {
        let sheets = every_sheet(&estimate);
        assert!(sheets.iter().map(|sheet| sheet.measured.len()).sum::<usize>() > 100);
        for sheet in sheets {
            assert_eq!(faults(&sheet), [""; 0], "{} on {}", sheet.name, sheet.paper.label());
        }
    }
}

/// The figures are those of the built trailer, not of the drawing.
#[test]
fn the_arrangement_measures_what_is_built() {
    for estimate in demo() {
        let facts = facts(Units::Metric, Projection::FirstAngle);
        let sheets =
            arrangement_sheets(&estimate.trailer, &estimate.weights, &facts, PaperSize::A4, Options::default());
        let layout = &estimate.trailer.layout;
        for wanted in [
            layout.overall_length_mm,
            layout.overall_width_mm,
            layout.bed_length_mm(),
            layout.bed_width_mm,
            layout.track_mm,
            layout.axle_x_mm,
            layout.deck_top_z_mm,
            layout.coupling_height_mm,
        ] {
            let found = sheets.iter().flat_map(|sheet| &sheet.measured).any(|one| (one.value_mm - wanted).abs() < 1e-6);
            assert!(found, "nothing measures {wanted}");
        }
    }
}

#[test]
fn a_sheet_is_real_text_with_a_title_and_its_true_size() {
    let estimate = demo().next().expect("a demo trailer");
    let facts = facts(Units::Metric, Projection::FirstAngle);
    let sheets = arrangement_sheets(&estimate.trailer, &estimate.weights, &facts, PaperSize::A4, Options::default());
    let svg = sheets[0].svg("a");
    assert!(svg.contains(r#"width="297mm" height="210mm""#) && svg.contains("viewBox=\"0 0 297 210\""), "{svg}");
    assert!(svg.contains("<title id=\"a-title\">") && svg.contains("<desc id=\"a-description\">Bed "), "{svg}");
    assert!(svg.contains("if printed at 100 %</text>") && !svg.contains("class=\"ink"), "{svg}");
}

/// The names of loads on the customer's views stand beside the centre of gravity, not upon it.
#[test]
fn the_names_of_loads_leave_the_centre_of_gravity_free() {
    let mut named = 0;
    for estimate in demo() {
        let (trailer, weights) = (&estimate.trailer, &estimate.weights);
        let [x, y, z] = weights.empty.centre;
        let views = [(plan_view as fn(_, _, _, _, _) -> _, [x, -y]), (side_view, [x, -z])];
        for (letters, (view, [x, y])) in
            [Letters::Usual, Letters::Large].into_iter().flat_map(|of| views.map(|view| (of, view)))
        {
            let drawing: Drawing = view(trailer, weights, Words::english(), Units::Metric, letters);
            let loads = weights.trips.iter().flat_map(|trip| &trip.loads);
            let names: Vec<&str> = loads.map(|load| load.name.as_str()).collect();
            for (text, words) in drawing.text_boxes() {
                if names.iter().any(|name| words.contains(name)) {
                    named += 1;
                    let covers = text[0] < x && x < text[2] && text[1] < y && y < text[3];
                    assert!(!covers, "“{words}” lies upon the centre of gravity");
                }
            }
        }
    }
    assert!(named >= 10, "{named}");
}

/// What is fixed on a sheet has room in every language: title block, view names, roles, materials.
#[test]
fn sheets_speak_every_language_of_the_catalogue() {
    let estimate = demo().next().expect("a demo trailer");
    for words in Words::all() {
        let facts =
            Facts { words, job: "a job".into(), revision: None, ..facts(Units::Metric, Projection::FirstAngle) };
        let arrangement =
            arrangement_sheets(&estimate.trailer, &estimate.weights, &facts, PaperSize::A4, Options::default());
        let on_letter = Facts { units: Units::Imperial, ..facts.clone() };
        let on_letter = part_sheets(&estimate, &on_letter, PaperSize::Letter);
        let texts = |sheet: &Sheet| sheet.boxes_of_text().into_iter().map(|(_, text)| text).collect::<Vec<_>>();
        for sheet in arrangement.iter().chain(&part_sheets(&estimate, &facts, PaperSize::A4)).chain(&on_letter) {
            let cut: Vec<String> = texts(sheet).into_iter().filter(|text| text.contains('…')).collect();
            assert_eq!(cut, [""; 0], "{} in {}", sheet.name, words.tag());
        }
        let said = texts(&arrangement[0]);
        for id in ["sheet-caution", "sheet-field-scale", "sheet-view-side", "sheet-open"] {
            assert!(said.contains(&words.say(id).text()), "{id} in {}: {said:?}", words.tag());
        }
        let has = |family: &str, word: &str| assert!(words.has(&format!("{family}-{word}")), "{family}-{word}");
        Role::ALL.iter().for_each(|role| has("member", role.word()));
        PanelRole::ALL.iter().for_each(|role| has("panel", role.word()));
        HolePurpose::ALL.iter().for_each(|purpose| has("hole", purpose.word()));
        SheetMaterial::ALL.iter().for_each(|material| has("sheet-material", material.word()));
    }
}

/// Line kinds differ without colour.
#[test]
fn kinds_of_lines_differ_in_black_and_white() {
    let kinds: Vec<Pen> = [Ink::Member, Ink::Hidden, Ink::Centre, Ink::Load, Ink::Fold, Ink::Ground, Ink::Border]
        .map(|ink| pen(ink, LineGroup::Usual))
        .to_vec();
    for (at, a) in kinds.iter().enumerate() {
        for b in &kinds[at + 1..] {
            assert!((a.width_mm - b.width_mm).abs() > 0.1 || a.dashes_mm != b.dashes_mm, "{a:?} {b:?}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 8, rng_seed: RngSeed::Fixed(5), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn sheets_of_any_trailer_are_true_to_scale_and_nothing_overlaps(spec in any_spec()) {
        let Some(estimate) = worked(&spec) else { return Ok(()) };
        for sheet in every_sheet(&estimate) {
            prop_assert_eq!(faults(&sheet), Vec::<String>::new(), "{} on {}", sheet.name, sheet.paper.label());
        }
    }
}
