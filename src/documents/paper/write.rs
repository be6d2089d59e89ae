//! Pages written as PDF 1.7 with tags, bookmarks and links, by PDF/UA-1 (ISO 14289-1) as far as a program can see to it.

use std::{collections::HashMap, num::NonZeroU16};

use krilla::{
    Document as Pdf, SerializeSettings,
    annotation::{Annotation, LinkAnnotation, Target},
    configure::{Accessibility, ConfigurationBuilder},
    destination::{Destination, XyzDestination},
    geom::{PathBuilder, Point, Rect},
    metadata::{DateTime, Metadata},
    outline::{Outline, OutlineNode},
    page::PageSettings,
    surface::Surface,
    tagging::{
        Artifact, ArtifactType, ContentTag, ListNumbering, Node, SpanTag, TableHeaderScope, Tag, TagGroup, TagKind,
        TagTree,
    },
    text::KrillaGlyph,
};

use super::{
    PaperFault,
    block::{Document, Facts},
    face::{Face, Faces},
    picture,
    set::{self, Anchor, BOTTOM, FOR_THE_EYE, Laid, Mark, Role, SIDE, TOP},
    text::{Line, Run, Style},
};

/// Between the edge of a drawing's paper and its border, in points (10 mm).
const IN_MARGIN: f32 = 28.3;

/// A document as PDF; the same document gives the same bytes.
pub fn pdf(document: &Document) -> Result<Vec<u8>, PaperFault> {
    let faces = Faces::load()?;
    let laid = set::lay(document, &faces)?;
    // Names typed by people may hold letters that the standard forbids (of private use): then without its seal, but readable.
    write(&laid, &document.facts, &faces, true).or_else(|_| write(&laid, &document.facts, &faces, false))
}

fn write(laid: &Laid, facts: &Facts, faces: &Faces, to_standard: bool) -> Result<Vec<u8>, PaperFault> {
    let mut settings = SerializeSettings { enable_tagging: true, ..SerializeSettings::default() };
    if to_standard {
        let configuration = ConfigurationBuilder::new().with_accessibility_validator(Accessibility::UA1).finish();
        settings.configuration = configuration.map_err(|fault| PaperFault::Written(format!("{fault:?}")))?;
    }
    let mut pdf = Pdf::new_with(settings);
    let mut leaves: HashMap<usize, Vec<Node>> = HashMap::new();
    let count = laid.pages.len();
    for (nth, marks) in laid.pages.iter().enumerate() {
        let size = PageSettings::from_wh(facts.paper.wide, facts.paper.tall);
        let size = size.ok_or_else(|| PaperFault::Written("a page without an area".into()))?;
        let mut page = pdf.start_page_with(size);
        let mut surface = page.surface();
        for mark in marks {
            draw(&mut surface, faces, mark, &laid.anchors, &mut leaves);
        }
        if marks.iter().any(|mark| matches!(mark, Mark::Picture { pens: Some(_), .. })) {
            number_in_margin(&mut surface, faces, facts, nth + 1, count);
        } else {
            head_and_foot(&mut surface, faces, facts, nth + 1, count);
        }
        surface.finish();
        for mark in marks {
            if let Mark::Link { heading, box_of: [left, top, right, bottom], words, element } = mark
                && let (Some(anchor), Some(area)) =
                    (laid.anchors.get(*heading), Rect::from_ltrb(*left, *top, *right, *bottom))
            {
                let link = LinkAnnotation::new(area, Target::Destination(Destination::Xyz(place(anchor))));
                let id = page.add_tagged_annotation(Annotation::new_link(link, Some(words.clone())));
                leaves.entry(*element).or_default().push(Node::Leaf(id));
            }
        }
        page.finish();
    }
    pdf.set_outline(outline(&laid.anchors));
    pdf.set_metadata(metadata(facts));
    pdf.set_tag_tree(tree(laid, facts.words.tag(), leaves));
    pdf.finish().map_err(|fault| PaperFault::Written(format!("{fault:?}")))
}

fn draw(
    surface: &mut Surface<'_>,
    faces: &Faces,
    mark: &Mark,
    anchors: &[Anchor],
    leaves: &mut HashMap<usize, Vec<Node>>,
) {
    let mut tagged = |surface: &mut Surface<'_>, element: usize, paint: &mut dyn FnMut(&mut Surface<'_>)| {
        if element == FOR_THE_EYE {
            artifact(surface, ArtifactType::PaginationOther, paint);
        } else {
            let id = surface.start_tagged(ContentTag::Span(SpanTag::empty()));
            paint(surface);
            surface.end_tagged();
            leaves.entry(element).or_default().push(Node::Leaf(id));
        }
    };
    match mark {
        Mark::Line { at, line: of, element } => tagged(surface, *element, &mut |surface| line(surface, faces, of, *at)),
        Mark::Rule { from, to, width, grey } => artifact(surface, ArtifactType::Layout, &mut |surface| {
            rule(surface, *from, *to, *width, *grey);
        }),
        Mark::Picture { corner, scale, drawing, pens, element } => {
            tagged(surface, *element, &mut |surface| picture::draw(surface, faces, drawing, *corner, *scale, *pens));
        }
        Mark::PageOf { heading, right: [x, y], element } => {
            let Some(anchor) = anchors.get(*heading) else { return };
            let of = single(faces, format!(" {}", anchor.page + 1), Style { tabular: true, ..Style::body() });
            tagged(surface, *element, &mut |surface| line(surface, faces, &of, [x - of.width, *y]));
        }
        Mark::Link { .. } => {}
    }
}

fn artifact(surface: &mut Surface<'_>, kind: ArtifactType, paint: &mut dyn FnMut(&mut Surface<'_>)) {
    surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(kind)));
    paint(surface);
    surface.end_tagged();
}

fn single(faces: &Faces, text: String, style: Style) -> Line {
    let width = faces.width(&text, style);
    Line { runs: vec![(0.0, Run::new(text, style))], width }
}

fn rule(surface: &mut Surface<'_>, [x, y]: [f32; 2], [to_x, to_y]: [f32; 2], width: f32, grey: u8) {
    let mut path = PathBuilder::new();
    path.move_to(x, y);
    path.line_to(to_x, to_y);
    surface.set_fill(None);
    surface.set_stroke(Some(picture::stroke(grey, width, &[])));
    if let Some(path) = path.finish() {
        surface.draw_path(&path);
    }
}

/// A line of text with its foot here.
pub(super) fn line(surface: &mut Surface<'_>, faces: &Faces, line: &Line, [x, y]: [f32; 2]) {
    surface.set_stroke(None);
    for (from, run) in &line.runs {
        surface.set_fill(Some(picture::fill(run.style.grey)));
        let mut at = x + from;
        // Neighbours of one font are written together.
        let mut glyphs: Vec<KrillaGlyph> = Vec::new();
        let mut font = Face::Plain;
        let (mut start, mut begin) = (at, 0);
        let flush = |surface: &mut Surface<'_>, glyphs: &mut Vec<KrillaGlyph>, font: Face, start: f32, text: &str| {
            if !glyphs.is_empty() {
                let point = Point::from_xy(start, y - run.style.rise);
                surface.draw_glyphs(point, glyphs, faces.font(font).clone(), text, run.style.size, false);
                glyphs.clear();
            }
        };
        for (byte, letter) in run.text.char_indices() {
            let of = faces.letter(run.style.face, letter, run.style.tabular);
            if of.face != font {
                flush(surface, &mut glyphs, font, start, &run.text[begin..byte]);
                (font, start, begin) = (of.face, at, byte);
            }
            let range = byte - begin..byte - begin + letter.len_utf8();
            glyphs.push(KrillaGlyph::new(of.into(), of.advance, of.shift, 0.0, 0.0, range, None));
            at += of.advance * run.style.size;
        }
        flush(surface, &mut glyphs, font, start, &run.text[begin..]);
    }
}

fn head_and_foot(surface: &mut Surface<'_>, faces: &Faces, facts: &Facts, page: usize, of: usize) {
    let style = Style::small();
    let (left, right) = (SIDE, facts.paper.wide - SIDE);
    artifact(surface, ArtifactType::Header, &mut |surface| {
        let words = single(faces, facts.running[0].clone(), style);
        line(surface, faces, &words, [left, TOP - 26.0]);
        let words = single(faces, facts.running[1].clone(), style);
        line(surface, faces, &words, [right - words.width, TOP - 26.0]);
        rule(surface, [left, TOP - 20.0], [right, TOP - 20.0], 0.4, 120);
    });
    artifact(surface, ArtifactType::Footer, &mut |surface| {
        let foot = facts.paper.tall - BOTTOM + 24.0;
        let words = single(faces, facts.author.clone(), style);
        line(surface, faces, &words, [left, foot]);
        let words = single(faces, facts.words.say("paper-page").with("page", page).with("of", of).text(), style);
        line(surface, faces, &words, [right - words.width, foot]);
    });
}

/// Below the border of a drawing, which has its title block instead of a head.
fn number_in_margin(surface: &mut Surface<'_>, faces: &Faces, facts: &Facts, page: usize, of: usize) {
    artifact(surface, ArtifactType::Footer, &mut |surface| {
        let words =
            single(faces, facts.words.say("paper-page").with("page", page).with("of", of).text(), Style::small());
        let place = [facts.paper.wide - IN_MARGIN - words.width, facts.paper.tall - IN_MARGIN / 2.0];
        line(surface, faces, &words, place);
    });
}

fn place(anchor: &Anchor) -> XyzDestination {
    XyzDestination::new(anchor.page, Point::from_xy(SIDE, (anchor.y - 6.0).max(0.0)))
}

/// Bookmarks: headings of the second level, those of the third below them.
fn outline(anchors: &[Anchor]) -> Outline {
    let mut outline = Outline::new();
    let mut open: Option<OutlineNode> = None;
    for anchor in anchors {
        let node = OutlineNode::new(anchor.text.clone(), place(anchor));
        match (&mut open, anchor.level) {
            (Some(above), 3..) => above.push_child(node),
            _ => {
                if let Some(done) = open.replace(node) {
                    outline.push_child(done);
                }
            }
        }
    }
    if let Some(done) = open {
        outline.push_child(done);
    }
    outline
}

fn metadata(facts: &Facts) -> Metadata {
    let mut metadata = Metadata::new()
        .title(facts.title.clone())
        .language(facts.words.tag().to_owned())
        .authors(vec![facts.author.clone()])
        .creator("Hitchwright".to_owned());
    if let Some(made) = facts.made {
        let part = |value: i8| u8::try_from(value).unwrap_or(0);
        let date = DateTime::new(u16::try_from(made.year()).unwrap_or(0))
            .month(part(made.month()))
            .day(part(made.day()))
            .hour(part(made.hour()))
            .minute(part(made.minute()))
            .second(part(made.second()))
            .utc_offset_hour(0)
            .utc_offset_minute(0);
        metadata = metadata.creation_date(date);
    }
    metadata
}

/// The tree of elements, each with what was drawn of it.
fn tree(laid: &Laid, language: &str, mut leaves: HashMap<usize, Vec<Node>>) -> TagTree {
    let mut children: HashMap<Option<usize>, Vec<usize>> = HashMap::new();
    for (at, element) in laid.elements.iter().enumerate() {
        children.entry(element.parent).or_default().push(at);
    }
    let mut tree = TagTree::new().with_lang(Some(language.to_owned()));
    for at in children.get(&None).into_iter().flatten() {
        if let Some(group) = group(*at, laid, &children, &mut leaves) {
            tree.push(Node::Group(group));
        }
    }
    tree
}

/// An element with what is below it; None where nothing is.
fn group(
    at: usize,
    laid: &Laid,
    children: &HashMap<Option<usize>, Vec<usize>>,
    leaves: &mut HashMap<usize, Vec<Node>>,
) -> Option<TagGroup> {
    let role = &laid.elements[at].role;
    let mut group = TagGroup::new(kind(role));
    leaves.remove(&at).into_iter().flatten().for_each(|leaf| group.push(leaf));
    for below in children.get(&Some(at)).into_iter().flatten() {
        if let Some(of) = self::group(*below, laid, children, leaves) {
            group.push(Node::Group(of));
        }
    }
    // An empty cell still holds its place in its row.
    let holds_place = matches!(role, Role::Cell | Role::HeadCell | Role::RowHead);
    (holds_place || !group.children.is_empty()).then_some(group)
}

fn kind(role: &Role) -> TagKind {
    match role {
        Role::Heading(level, text) => {
            let level = NonZeroU16::new(u16::from(*level)).unwrap_or(NonZeroU16::MIN);
            Tag::Hn(level, Some(text.clone())).into()
        }
        Role::Paragraph => Tag::P.into(),
        Role::List => Tag::L(ListNumbering::Disc).into(),
        Role::Item => Tag::LI.into(),
        Role::Label => Tag::Lbl.into(),
        Role::Body => Tag::LBody.into(),
        Role::Table => Tag::Table.into(),
        Role::Row => Tag::TR.into(),
        Role::HeadCell => Tag::TH(TableHeaderScope::Column).into(),
        Role::RowHead => Tag::TH(TableHeaderScope::Row).into(),
        Role::Cell => Tag::TD.into(),
        Role::Caption => Tag::Caption.into(),
        Role::Figure(shows) => Tag::Figure(Some(shows.clone())).into(),
        Role::Formula(spoken) => Tag::Formula(Some(spoken.clone())).into(),
        Role::Contents => Tag::TOC.into(),
        Role::Entry => Tag::TOCI.into(),
        Role::Link => Tag::Link.into(),
    }
}
