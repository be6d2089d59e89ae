//! How pages break, and that writing is repeatable.

use proptest::prelude::*;

use crate::domain::words::Words;

use super::{
    Block, Document, Facts, Paper, Row, Table,
    face::Faces,
    pdf,
    set::{BOTTOM, FOR_THE_EYE, Laid, Mark, Role, TOP, lay},
};

fn document(blocks: Vec<Block>) -> Document {
    let facts = Facts {
        words: Words::english(),
        title: "A document".into(),
        author: "Saltmarsh Fabrications".into(),
        made: Some(jiff::civil::datetime(2026, 11, 5, 9, 30, 0, 0)),
        running: ["left".into(), "right".into()],
        paper: Paper::A4,
    };
    Document { facts, blocks }
}

fn laid(blocks: Vec<Block>) -> Laid {
    lay(&document(blocks), &Faces::load().unwrap()).unwrap()
}

fn table(rows: usize, cell: &str) -> Table {
    let row = |nth: usize| Row::new([format!("row {nth}"), cell.to_owned(), "1,234".into()]);
    let head = ["What", "Says", "Amount"].map(str::to_owned).to_vec();
    Table { caption: "Rows".into(), head, rows: (0..rows).map(row).collect(), figures_from: 2, ..Table::default() }
}

fn lines(marks: &[Mark]) -> Vec<(f32, String, usize)> {
    let of = |mark: &Mark| match mark {
        Mark::Line { at, line, element } => Some((at[1], line.text(), *element)),
        _ => None,
    };
    marks.iter().filter_map(of).collect()
}

#[test]
fn a_long_table_repeats_its_head_on_every_page_and_loses_no_row() {
    let laid = laid(vec![Block::Table(table(120, "text"))]);
    assert!(laid.pages.len() >= 3, "{}", laid.pages.len());
    for (nth, page) in laid.pages.iter().enumerate() {
        let lines = lines(page);
        let first = lines.iter().position(|(_, text, _)| text == "What").expect("a head");
        assert_eq!(lines[first].2 == FOR_THE_EYE, nth > 0, "the head is read aloud once");
        let rows = lines.iter().filter(|(_, text, _)| text.starts_with("row ")).count();
        assert!(rows >= 2, "no row alone on page {nth}");
    }
    let rows: Vec<String> = laid.pages.iter().flat_map(|page| lines(page)).map(|(_, text, _)| text).collect();
    for nth in 0..120 {
        assert_eq!(rows.iter().filter(|text| **text == format!("row {nth}")).count(), 1, "row {nth}");
    }
}

#[test]
fn a_row_taller_than_a_page_goes_on_over_the_next() {
    let laid = laid(vec![Block::Table(table(1, &"words and words ".repeat(900)))]);
    assert!(laid.pages.len() > 1);
    let words: String = laid.pages.iter().flat_map(|page| lines(page)).map(|(_, text, _)| text).collect();
    assert_eq!(words.matches("and").count(), 900);
}

#[test]
fn the_contents_name_the_pages_on_which_headings_stand() {
    let mut blocks = vec![Block::heading(1, "Title"), Block::Contents { to_level: 3 }];
    for nth in 0..30 {
        blocks.push(Block::heading(2, format!("Section {nth}")));
        blocks.extend((0..nth % 7).map(|_| Block::text("Some words that fill lines. ".repeat(40))));
    }
    let laid = laid(blocks);
    let named: Vec<usize> = laid
        .pages
        .iter()
        .flatten()
        .filter_map(|mark| match mark {
            Mark::PageOf { heading, .. } => Some(*heading),
            _ => None,
        })
        .collect();
    assert_eq!(named, (1..=30).collect::<Vec<_>>());
    for heading in named {
        let anchor = &laid.anchors[heading];
        assert!(lines(&laid.pages[anchor.page]).iter().any(|(_, text, _)| *text == anchor.text), "{anchor:?}");
    }
}

#[test]
fn the_same_document_gives_the_same_bytes() {
    let blocks = || vec![Block::heading(1, "Title"), Block::text("θ ≤ 45° ✓ Ж 漢"), Block::Table(table(90, "text"))];
    let once = pdf(&document(blocks())).unwrap();
    assert_eq!(once, pdf(&document(blocks())).unwrap());
    assert!(once.starts_with(b"%PDF-1.7"));
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn nothing_leaves_its_page_and_no_heading_ends_one(sizes in proptest::collection::vec((0_usize..5, 1_usize..60), 1..40)) {
        let mut blocks = vec![];
        for (kind, size) in sizes {
            blocks.push(match kind {
                0 => Block::heading(2, "Heading"),
                1 => Block::text("word ".repeat(size * 4)),
                2 => Block::Table(table(size, "text")),
                3 => Block::List(vec!["item ".repeat(size); 3]),
                _ => Block::Notice(vec!["mind ".repeat(size); 2]),
            });
        }
        // What a heading is for comes after it.
        blocks.push(Block::text("the end"));
        let laid = laid(blocks);
        let page_foot = Paper::A4.tall - BOTTOM;
        for page in &laid.pages {
            let lines = lines(page);
            prop_assert!(!lines.is_empty(), "an empty page");
            for (y, text, _) in &lines {
                prop_assert!(*y >= TOP && *y <= page_foot, "{text} at {y}");
            }
            let last = lines.iter().max_by(|one, other| one.0.total_cmp(&other.0)).unwrap();
            let is_heading = laid.elements.get(last.2).is_some_and(|element| matches!(element.role, Role::Heading(..)));
            prop_assert!(!is_heading, "a heading ends a page");
        }
    }
}
