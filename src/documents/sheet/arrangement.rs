//! The arrangement drawing: plan, side and rear view of the built trailer, on one sheet or, where that would be too small to read,
//! a sheet for each.

use super::{
    CAPITAL_MM, Facts, PaperSize, Projection, SCALES, Sheet,
    frame::{self, NOTE_LINES, Titled},
    view::{Label, LaidOut, View},
};
use crate::{
    documents::{
        dimension::{Dimension, Side},
        drawing::{Drawing, Ink, Spot},
        solid::{member_corners, outline, panel_corners},
    },
    domain::{
        trailer::{COUPLING_AHEAD_MM, Layout, Member, Panel, PanelRole, Point, Role, Trailer},
        weights::{PlacedLoad, Weights},
    },
};

/// What the arrangement shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Options {
    /// Without it the frame below is seen whole.
    pub deck: bool,
    /// The loads of the first trip at their places.
    pub loads: bool,
    /// Marks of the cut list.
    pub marks: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self { deck: true, loads: true, marks: false }
    }
}

/// Between two views on one sheet.
const BETWEEN: f64 = 8.0;
/// A scale smaller than this makes tubes thinner than 2 mm: then each view has a sheet of its own, if that makes it larger.
const READABLE_SCALE: f64 = 20.0;

/// Plan, side and rear view on as many sheets as they need, at true scale.
pub fn arrangement_sheets(
    trailer: &Trailer,
    weights: &Weights,
    facts: &Facts,
    paper: PaperSize,
    options: Options,
) -> Vec<Sheet> {
    let eyes = [Eye::Side, Eye::Plan, Eye::Rear];
    let views = eyes.map(|eye| view(eye, trailer, weights, facts, options));
    let notes = notes(trailer, weights, facts, options);
    let capital = CAPITAL_MM;
    let together = SCALES.into_iter().find(|scale| {
        let [wide, tall] = all_size(&views.each_ref().map(|view| view.lay_out(*scale, capital)));
        fits(paper, [wide, tall])
    });
    let alone =
        SCALES.into_iter().find(|scale| views.iter().all(|view| fits(paper, view.lay_out(*scale, capital).size())));
    let smallest = SCALES[SCALES.len() - 1];
    let mass = facts.mass(weights.empty.mass_kg);
    let described = described(&trailer.layout, facts);
    let titled = |title, nth, of| Titled { title, series: 'A', nth, of, mass: mass.clone(), notes: &notes };
    match (together, alone) {
        (Some(scale), alone) if scale <= READABLE_SCALE || alone.is_none_or(|alone| alone >= scale) => {
            let mut sheet = frame::blank(paper, scale, facts.text("sheet-arrangement"), described);
            let laid_out = views.each_ref().map(|view| view.lay_out(scale, capital));
            draw_all(&mut sheet, &laid_out, facts.projection);
            frame::finish(&mut sheet, facts, &titled(facts.text("sheet-arrangement-all"), 1, 1));
            sheet.narrow = views.iter().map(View::narrow).collect();
            vec![sheet]
        }
        (_, alone) => {
            let scale = alone.unwrap_or(smallest);
            let sheets = views.iter().zip(eyes).enumerate().map(|(nth, (view, eye))| {
                let mut sheet = frame::blank(paper, scale, eye.title(facts), described.clone());
                let laid_out = view.lay_out(scale, capital);
                let [left, top, right, bottom] = frame::room(paper);
                let [wide, tall] = laid_out.size();
                let at = [
                    left + (right - left - wide) / 2.0 - laid_out.reach[0],
                    top + (bottom - top - tall) / 2.0 - laid_out.reach[1],
                ];
                sheet.measured = laid_out.draw(&mut sheet.drawing, at);
                let title = facts.say("sheet-arrangement-one").with("view", eye.word()).text();
                frame::finish(&mut sheet, facts, &titled(title, nth + 1, 3));
                sheet.narrow = vec![view.narrow()];
                sheet
            });
            sheets.collect()
        }
    }
}

fn fits(paper: PaperSize, [wide, tall]: [f64; 2]) -> bool {
    let [left, top, right, bottom] = frame::room(paper);
    wide <= right - left && tall <= bottom - top
}

/// Side and plan share their place along, side and rear their height.
fn shared([side, plan, rear]: &[LaidOut<'_>; 3]) -> [f64; 8] {
    let [left, right] = [side.reach[0].min(plan.reach[0]), side.reach[2].max(plan.reach[2])];
    let [top, bottom] = [side.reach[1].min(rear.reach[1]), side.reach[3].max(rear.reach[3])];
    [left, top, right, bottom, rear.reach[0], rear.reach[2], plan.reach[1], plan.reach[3]]
}

fn all_size(views: &[LaidOut<'_>; 3]) -> [f64; 2] {
    let [left, top, right, bottom, rear_left, rear_right, plan_top, plan_bottom] = shared(views);
    [right - left + BETWEEN + rear_right - rear_left, bottom - top + BETWEEN + plan_bottom - plan_top]
}

/// First angle puts the view from the right (the rear view, for the coupling is left) at the left and the plan below; third angle
/// puts it at the right and the plan above.
fn draw_all(sheet: &mut Sheet, views: &[LaidOut<'_>; 3], projection: Projection) {
    let [left, top, right, bottom, rear_left, rear_right, plan_top, plan_bottom] = shared(views);
    let [room_left, room_top, room_right, room_bottom] = frame::room(sheet.paper);
    let [wide, tall] = all_size(views);
    let (x, y) = (room_left + (room_right - room_left - wide) / 2.0, room_top + (room_bottom - room_top - tall) / 2.0);
    let (rear_wide, plan_tall) = (rear_right - rear_left, plan_bottom - plan_top);
    let (side_x, rear_x, side_y, plan_y) = match projection {
        Projection::FirstAngle => {
            (x + rear_wide + BETWEEN - left, x - rear_left, y - top, y + bottom - top + BETWEEN - plan_top)
        }
        Projection::ThirdAngle => {
            (x - left, x + right - left + BETWEEN - rear_left, y + plan_tall + BETWEEN - top, y - plan_top)
        }
    };
    let [side, plan, rear] = views;
    for (view, at) in [(side, [side_x, side_y]), (plan, [side_x, plan_y]), (rear, [rear_x, side_y])] {
        sheet.measured.extend(view.draw(&mut sheet.drawing, at));
    }
}

/// Where the trailer is seen from. The coupling lies left in plan and side view.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Eye {
    /// From the left-hand side of travel.
    Side,
    /// From above: the right-hand side of travel is up.
    Plan,
    Rear,
}

impl Eye {
    const fn word(self) -> &'static str {
        match self {
            Self::Side => "side",
            Self::Plan => "plan",
            Self::Rear => "rear",
        }
    }

    fn title(self, facts: &Facts) -> String {
        facts.say(format!("sheet-view-{}", self.word())).text()
    }

    const fn seen(self, [x, y, z]: Point) -> Spot {
        match self {
            Self::Side => [x, -z],
            Self::Plan => [x, -y],
            Self::Rear => [y, -z],
        }
    }

    const fn nearness(self, [x, y, z]: Point) -> f64 {
        match self {
            Self::Side => -y,
            Self::Plan => z,
            Self::Rear => x,
        }
    }
}

fn view(eye: Eye, trailer: &Trailer, weights: &Weights, facts: &Facts, options: Options) -> View {
    let layout = &trailer.layout;
    let mut shapes = Drawing::default();
    if eye != Eye::Plan {
        let [from, to] = match eye {
            Eye::Side => [-150.0, layout.overall_length_mm + 50.0],
            _ => [-layout.overall_width_mm / 2.0 - 100.0, layout.overall_width_mm / 2.0 + 100.0],
        };
        shapes.line(Ink::Ground, [from, 0.0], [to, 0.0]);
    }
    solids(&mut shapes, eye, trailer, facts, options);
    axles(&mut shapes, eye, layout);
    if eye != Eye::Rear {
        // A coupling head as long as the layout gives it, from its nose to the tube that it is bolted to.
        let [x, y] = eye.seen([0.0, 0.0, layout.coupling_height_mm]);
        let (nose, tail) = (x - COUPLING_AHEAD_MM, x + layout.drawbar.nose_x_mm);
        let points = vec![
            [nose, y - 15.0],
            [x - 25.0, y - 38.0],
            [tail, y - 22.0],
            [tail, y + 22.0],
            [x - 25.0, y + 38.0],
            [nose, y + 15.0],
        ];
        shapes.polygon(Ink::Drawbar, points, Some(facts.text("drawing-coupling-here")));
        shapes.circle(Ink::Note, [x, y], 25.0, None);
    }
    let mut labels = Vec::new();
    if options.loads {
        let mut outlines: Vec<[f64; 4]> = Vec::new();
        for (nth, load) in loads(weights).iter().enumerate() {
            let ([x, y], [width, height]) = load_box(eye, load, layout);
            // Loads that hide one another share one outline.
            if !outlines.contains(&[x, y, width, height]) {
                outlines.push([x, y, width, height]);
                shapes.rectangle(Ink::Load, [x, y], [width, height], Some(load.name.clone()));
            }
            let places =
                [0.5, 0.2, 0.8].into_iter().flat_map(|b| [0.5, 0.2, 0.8].map(|a| [x + a * width, y + b * height]));
            labels.push(Label { text: letter(nth), places: places.collect() });
        }
    }
    let [x, y] = eye.seen(weights.empty.centre);
    centre_mark(&mut shapes, [x, y], facts);
    let clear = vec![[x - CENTRE_MARK, y - CENTRE_MARK, x + CENTRE_MARK, y + CENTRE_MARK]];
    if options.marks {
        labels.extend(marks(eye, trailer, options));
    }
    View { title: eye.title(facts), shapes, rows: rows(eye, layout, facts, trailer), labels, clear }
}

/// The farthest from the eye first; edges of the frame that the deck hides are dashed.
fn solids(shapes: &mut Drawing, eye: Eye, trailer: &Trailer, facts: &Facts, options: Options) {
    let layout = &trailer.layout;
    let mut faces: Vec<(f64, Ink, Vec<Spot>, String)> = Vec::new();
    let mut hidden: Vec<Vec<Spot>> = Vec::new();
    let deck = options.deck && trailer.panels.iter().any(|panel| panel.role == PanelRole::Deck);
    for member in &trailer.members {
        let points = outline(member_corners(member).into_iter().map(|point| eye.seen(point)).collect());
        let ink = if matches!(member.role, Role::Pole | Role::Leg | Role::Inner) { Ink::Drawbar } else { Ink::Member };
        if deck && eye == Eye::Plan && member.middle()[2] < layout.deck_top_z_mm {
            hidden.push(points.clone());
        }
        let title =
            format!("{} {}, {}", member.mark, facts.say(format!("member-{}", member.role.word())), member.section);
        faces.push((eye.nearness(member.middle()), ink, points, title));
    }
    for panel in trailer.panels.iter().filter(|panel| options.deck || panel.role != PanelRole::Deck) {
        let points = outline(panel_corners(panel).into_iter().map(|point| eye.seen(point)).collect());
        let title = format!("{} {}", panel.mark, facts.say(format!("panel-{}", panel.role.word())));
        faces.push((eye.nearness(panel.centre), Ink::Panel, points, title));
    }
    let (radius, half) = (layout.wheel_radius_mm, layout.tyre_width_mm / 2.0);
    for &x in &layout.axles_x_mm {
        for side in [-1.0, 1.0] {
            let middle = [x, side * layout.track_mm / 2.0, layout.axle_z_mm];
            let [u, v] = eye.seen(middle);
            let (wide, tall) = if eye == Eye::Plan { (radius, half) } else { (half, radius) };
            let points = match eye {
                Eye::Side => (0..60)
                    .map(|step| {
                        let turn = f64::from(step) * std::f64::consts::TAU / 60.0;
                        [u + radius * turn.cos(), v + radius * turn.sin()]
                    })
                    .collect(),
                _ => vec![[u - wide, v - tall], [u + wide, v - tall], [u + wide, v + tall], [u - wide, v + tall]],
            };
            faces.push((eye.nearness(middle), Ink::Wheel, points, facts.text("drawing-wheel")));
        }
    }
    faces.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (_, ink, points, title) in faces {
        shapes.polygon(ink, points, Some(title));
    }
    for mut points in hidden {
        points.extend(points.first().copied());
        shapes.path(Ink::Hidden, points, None);
    }
}

/// Centre lines of the axles and of the trailer.
fn axles(shapes: &mut Drawing, eye: Eye, layout: &Layout) {
    let half = (layout.track_mm + layout.tyre_width_mm) / 2.0 + 60.0;
    for &x in &layout.axles_x_mm {
        match eye {
            Eye::Side => {
                let (z, reach) = (-layout.axle_z_mm, layout.wheel_radius_mm * 0.4);
                shapes.line(Ink::Centre, [x - reach, z], [x + reach, z]);
                shapes.line(Ink::Centre, [x, z - reach], [x, z + reach]);
            }
            Eye::Plan => shapes.line(Ink::Centre, [x, -half], [x, half]),
            Eye::Rear => {}
        }
    }
    match eye {
        Eye::Plan => shapes.line(Ink::Centre, [-100.0, 0.0], [layout.overall_length_mm, 0.0]),
        Eye::Rear => shapes.line(Ink::Centre, [0.0, -layout.overall_height_mm - 60.0], [0.0, 60.0]),
        Eye::Side => {}
    }
}

/// Its radius in real millimetres.
const CENTRE_MARK: f64 = 45.0;

/// A ringed cross, two quarters black: where the empty trailer balances.
fn centre_mark(shapes: &mut Drawing, [x, y]: Spot, facts: &Facts) {
    let radius = CENTRE_MARK;
    shapes.circle(Ink::Panel, [x, y], radius, Some(facts.text("drawing-centre")));
    for quarter in [0.0, 2.0] {
        let mut points = vec![[x, y]];
        points.extend((0..=8).map(|step| {
            let turn = (quarter + f64::from(step) / 8.0) * std::f64::consts::FRAC_PI_2;
            [x + radius * turn.cos(), y + radius * turn.sin()]
        }));
        shapes.polygon(Ink::Kerf, points, None);
    }
}

fn loads(weights: &Weights) -> &[PlacedLoad] {
    weights.trips.first().map_or(&[], |trip| trip.loads.as_slice())
}

fn load_box(eye: Eye, load: &PlacedLoad, layout: &Layout) -> (Spot, Spot) {
    let (length, width, height) = (load.length_mm, load.width_mm, load.height_mm);
    let top = -layout.deck_top_z_mm - height;
    match eye {
        Eye::Side => ([load.x_mm - length / 2.0, top], [length, height]),
        Eye::Plan => ([load.x_mm - length / 2.0, -load.y_mm - width / 2.0], [length, width]),
        Eye::Rear => ([load.y_mm - width / 2.0, top], [width, height]),
    }
}

/// A, B … Z, then AA: the letters of the loads.
fn letter(nth: usize) -> String {
    let last = char::from(b'A' + u8::try_from(nth % 26).unwrap_or(0));
    if nth < 26 { last.to_string() } else { format!("{}{last}", letter(nth / 26 - 1)) }
}

/// Each mark once a view, at the first of its parts that is seen.
fn marks(eye: Eye, trailer: &Trailer, options: Options) -> Vec<Label> {
    let mut labels: Vec<Label> = Vec::new();
    let along = |member: &Member, share: f64| {
        eye.seen([0, 1, 2].map(|axis| member.from[axis] + share * (member.to[axis] - member.from[axis])))
    };
    let mut add = |mark: &str, places: Vec<Spot>| match labels.iter_mut().find(|label| label.text == mark) {
        Some(label) => label.places.extend(places),
        None => labels.push(Label { text: mark.to_owned(), places }),
    };
    for member in &trailer.members {
        add(&member.mark, [0.5, 0.3, 0.7, 0.15, 0.85].map(|share| along(member, share)).to_vec());
    }
    let seen = |panel: &&Panel| options.deck || panel.role != PanelRole::Deck;
    for panel in trailer.panels.iter().filter(seen) {
        add(&panel.mark, vec![eye.seen(panel.centre)]);
    }
    labels
}

/// The measured points are on the drawn outlines or on the trailer's axes.
fn rows(eye: Eye, layout: &Layout, facts: &Facts, trailer: &Trailer) -> Vec<(Side, Vec<Dimension>)> {
    let say = |name: &str, mm: f64| {
        let value = facts.figure(mm);
        if name.is_empty() { value } else { facts.say(format!("drawing-{name}")).with("length", value).text() }
    };
    let dimension = |name: &str, [from, to]: [f64; 2], starts: [f64; 2]| Dimension {
        from,
        to,
        starts,
        value_mm: (to - from).abs(),
        text: say(name, (to - from).abs()),
    };
    let half_bed = layout.bed_width_mm / 2.0;
    let end = layout.overall_length_mm - COUPLING_AHEAD_MM;
    let (front, rear, axle) = (layout.bed_front_x_mm, layout.bed_rear_x_mm, layout.axle_x_mm);
    match eye {
        Eye::Plan => {
            let mut below = vec![
                dimension("drawbar", [0.0, front], [0.0, half_bed]),
                dimension("", [front, axle], [half_bed; 2]),
                dimension("", [axle, rear], [half_bed; 2]),
                dimension("bed", [front, rear], [half_bed; 2]),
                dimension("coupling-to-axle", [0.0, axle], [0.0, half_bed]),
            ];
            if let [first, second] = layout.axles_x_mm[..] {
                below.push(dimension("axles", [first, second], [half_bed; 2]));
            }
            below.push(dimension("overall", [-COUPLING_AHEAD_MM, end], [0.0, half_bed]));
            let right = vec![dimension("bed", [-half_bed, half_bed], [rear; 2])];
            vec![(Side::Below, below), (Side::Right, right)]
        }
        Eye::Side => {
            let left = vec![dimension("coupling", [0.0, -layout.coupling_height_mm], [-150.0, -25.0])];
            let mut right = vec![
                dimension("deck", [0.0, -layout.deck_top_z_mm], [end, rear]),
                dimension("overall", [0.0, -layout.overall_height_mm], [end, rear]),
            ];
            right.dedup_by(|a, b| (a.to - b.to).abs() < 0.5);
            vec![(Side::Left, left), (Side::Right, right)]
        }
        Eye::Rear => {
            let (track, overall) = (layout.track_mm / 2.0, layout.overall_width_mm / 2.0);
            let below = vec![
                dimension("track", [-track, track], [0.0; 2]),
                dimension("overall", [-overall, overall], [-layout.axle_z_mm; 2]),
            ];
            let mut all = vec![(Side::Below, below)];
            let bottom = -layout.frame_bottom_z_mm;
            all.push((Side::Right, vec![dimension("frame", [0.0, bottom], [overall, half_bed])]));
            if let Some(ramp) =
                trailer.members.iter().filter(|member| member.role == Role::RampStile).collect::<Vec<_>>().get(..2)
            {
                let width = ramp_width(ramp);
                if width[1] - width[0] > 1.0 {
                    let top = -layout.overall_height_mm;
                    all.push((Side::Above, vec![dimension("ramp", width, [top; 2])]));
                }
            }
            all
        }
    }
}

/// Outside of the ramp's stiles, across.
fn ramp_width(stiles: &[&Member]) -> [f64; 2] {
    let corners = stiles.iter().flat_map(|member| member_corners(member));
    corners.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], point| [low.min(point[1]), high.max(point[1])])
}

fn described(layout: &Layout, facts: &Facts) -> String {
    let show = |mm: f64| facts.length(mm);
    facts
        .say("sheet-described")
        .with("bed-length", show(layout.bed_length_mm()))
        .with("bed-width", show(layout.bed_width_mm))
        .with("drawbar", show(layout.bed_front_x_mm))
        .with("axle", show(layout.axle_x_mm))
        .with("track", show(layout.track_mm))
        .with("deck", show(layout.deck_top_z_mm))
        .with("coupling", show(layout.coupling_height_mm))
        .with("length", show(layout.overall_length_mm))
        .with("width", show(layout.overall_width_mm))
        .text()
}

/// What letters and signs stand for.
fn notes(trailer: &Trailer, weights: &Weights, facts: &Facts, options: Options) -> Vec<String> {
    let [x, _, z] = weights.empty.centre;
    let centre = facts.say("sheet-note-centre-at").with("behind", facts.length(x)).with("up", facts.length(z));
    let mut notes = vec![facts.text("sheet-note-centre"), centre.text()];
    let heaviest = weights.cases.iter().max_by(|a, b| a.body.mass_kg.total_cmp(&b.body.mass_kg));
    if let Some(case) = heaviest {
        let [coupling, axle] = [case.coupling_kg, case.axle_kg].map(|kg| facts.mass(kg));
        notes.push(facts.say("sheet-note-heaviest").with("coupling", coupling).with("axle", axle).text());
    }
    if options.loads {
        let loads = loads(weights);
        let room = NOTE_LINES - notes.len();
        let told = if loads.len() > room { room - 1 } else { loads.len() };
        for (nth, load) in loads.iter().take(told).enumerate() {
            notes.push(format!("{}: {}, {}", letter(nth), load.name, facts.mass(load.body.mass_kg)));
        }
        if loads.len() > told {
            notes.push(facts.say("sheet-note-more-loads").count("count", loads.len() - told).text());
        }
    }
    if trailer.members.is_empty() {
        notes.push(facts.text("sheet-note-nothing"));
    }
    notes
}
