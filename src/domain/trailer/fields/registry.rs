//! The registry itself: sections, fields and lists in the order of the form.

use std::sync::LazyLock;

use serde::Serialize;
use serde_json::{Value, json};

use super::{Field, Group, List};
use crate::{
    form::{Kind, Limit},
    limits::{MOST_CARRIED, MOST_CHANGES, MOST_CHARACTERS, MOST_FREE_OPTIONS, MOST_IN_SET, MOST_ITEMS, limit},
    road::region_words,
    steel::SheetMaterial,
    trailer::{
        AxlePlaceBy, BedPlace, Body, Brakes, ChainPurpose, Connector, Corner, CouplingForm, DeckFixing, Delivery,
        DrawbarForm, FinishSystem, Footing, FreeFitting, FrontForm, Load, LoadKind, Mudguards, OfferOption, Placed,
        PoleReach, RampForm, Road, SideForm, SparePlace, Stack, StrapMethod, Suspension, TowingVehicle, Trip,
    },
    words::Words,
};

/// The sections of the form, in order.
pub fn groups() -> &'static [Group] {
    &GROUPS
}

static GROUPS: LazyLock<Vec<Group>> = LazyLock::new(|| {
    vec![
        usage(),
        group("gross", "Declared gross mass", gross(), vec![]),
        group("loads", "Loads", vec![], vec![loads()]),
        group("trips", "Trips", vec![], vec![trips()]),
        group("towing-vehicles", "Towing vehicles", vec![], vec![towing_vehicles()]),
        group("bed", "Bed", bed(), vec![]),
        group("frame", "Frame", frame(), vec![]),
        group("drawbar", "Drawbar", drawbar(), vec![]),
        group("running-gear", "Running gear", running_gear(), vec![]),
        group("deck", "Deck", deck(), vec![]),
        group("sides", "Sides and front", sides(), vec![]),
        group("loading", "Ramp and loading", loading(), vec![]),
        group("towing", "Towing parts", towing(), vec![]),
        group("electrics", "Electrics", electrics(), vec![]),
        group("fittings", "Fittings", fittings(), vec![free_fittings()]),
        group("finish", "Finish", finish(), vec![]),
        group("factors", "Factors of the strength checks", factors(), vec![]),
        group("offer", "Offer", offer(), vec![free_lines(), options()]),
    ]
});

fn usage() -> Group {
    let fields = vec![
        choice("need.use.region", "Region", region_words()).help("whose road rules apply"),
        text("need.use.state", "State or country", 0)
            .optional()
            .help("its name or short form, such as NSW, where rules differ"),
        choice("need.use.road", "Road", Road::WORDS).help("sets the dynamic factor"),
        flag("need.use.marine", "Salt or marine use"),
        ranged("need.use.max_speed_km_h"),
        flag("need.use.commercial", "Used for a business"),
        flag("need.use.own_use", "Built for the builder's own use"),
        flag("need.use.living_space", "Living space"),
        choice("need.use.body", "Body", Body::WORDS),
        ranged("need.count"),
    ];
    group("use", "Use", fields, vec![])
}

fn gross() -> Vec<Field> {
    vec![
        ranged("need.declared_gross").optional().help("for the plate; empty: empty mass + heaviest trip + allowance"),
        ranged("need.gross_allowance").help("straps, tools, mud"),
    ]
}

fn loads() -> List {
    List {
        path: "need.loads",
        item: "load",
        fields: vec![
            text("need.loads.*.name", "Name of the load", 1),
            choice("need.loads.*.kind", "Kind of load", LoadKind::WORDS),
            ranged("need.loads.*.mass"),
            ranged("need.loads.*.length").help("along the trailer as it stands on the bed"),
            ranged("need.loads.*.width"),
            ranged("need.loads.*.height"),
            ranged("need.loads.*.centre_height").optional().help("above the bed; empty: half its height"),
            ranged("need.loads.*.centre_from_front").optional().help("empty: half its length"),
            ranged("need.loads.*.wheelbase").optional().help("where it has wheels"),
            ranged("need.loads.*.track").optional().help("where it has wheels; 0 for wheels in line"),
            ranged("need.loads.*.tyre_width").optional().help("where it has wheels"),
            ranged("need.loads.*.ground_clearance").optional().help("between its wheels, for the ramp's crest"),
            ranged("need.loads.*.steepest_deg").optional().help("its maker's limit; empty: 20° is usual"),
            ranged("need.loads.*.held.straps"),
            ranged("need.loads.*.held.strap_rating").optional().help("lashing capacity or working load limit of one"),
            choice("need.loads.*.held.method", "Straps run", StrapMethod::WORDS),
            ranged("need.loads.*.held.strap_tension").optional().help("over the top: S_TF on the strap's label"),
            choice("need.loads.*.held.footing", "Stands on", Footing::WORDS)
                .help("friction follows from it and the deck"),
            flag("need.loads.*.held.against_front", "Stands against the front board"),
            flag("need.loads.*.held.chocks", "Wheels or feet held by chocks"),
            ranged("need.loads.*.held.play").optional().help("empty: 25 mm, none where strapped to chocks"),
        ],
        lists: vec![],
        new_item: new(Load::default()),
        most: MOST_ITEMS,
    }
}

fn trips() -> List {
    let carries = List {
        path: "need.trips.*.carries",
        item: "load on this trip",
        fields: vec![
            text("need.trips.*.carries.*.load", "Load", 1).help("its name in the list of loads"),
            ranged("need.trips.*.carries.*.along")
                .optional()
                .help("bed's front to the load's middle; empty: placed for you"),
            ranged("need.trips.*.carries.*.across").optional().help("right of the centre line; empty: placed for you"),
            flag("need.trips.*.carries.*.turned", "Turned by a quarter"),
        ],
        lists: vec![],
        new_item: new(Placed::default()),
        most: MOST_CARRIED,
    };
    List {
        path: "need.trips",
        item: "trip",
        fields: vec![text("need.trips.*.name", "Name of the trip", 0)],
        lists: vec![carries],
        new_item: new(Trip::default()),
        most: MOST_ITEMS,
    }
}

fn towing_vehicles() -> List {
    List {
        path: "need.towing_vehicles",
        item: "towing vehicle",
        fields: vec![
            text("need.towing_vehicles.*.name", "Name of the vehicle", 0),
            ranged("need.towing_vehicles.*.kerb").optional(),
            ranged("need.towing_vehicles.*.gross").optional(),
            ranged("need.towing_vehicles.*.limit_braked").optional(),
            ranged("need.towing_vehicles.*.limit_unbraked").optional(),
            ranged("need.towing_vehicles.*.train").optional().help("largest mass of both"),
            ranged("need.towing_vehicles.*.coupling_least").optional().help("where its maker states one"),
            ranged("need.towing_vehicles.*.coupling_limit").optional().help("largest static load on its coupling"),
            ranged("need.towing_vehicles.*.coupling_height").optional(),
            ranged("need.towing_vehicles.*.body_width").optional(),
            ranged("need.towing_vehicles.*.rear_overhang").optional().help("from its rear axle to the coupling"),
            ranged("need.towing_vehicles.*.uplift_limit").optional().help("while the trailer is loaded over its rear"),
            flag("need.towing_vehicles.*.brake_controller", "Has a brake controller"),
        ],
        lists: vec![],
        new_item: new(TowingVehicle::default()),
        most: MOST_ITEMS,
    }
}

fn bed() -> Vec<Field> {
    vec![
        ranged("design.bed.length").help("outside of the frame"),
        ranged("design.bed.width").help("outside of the frame"),
        choice("design.bed.place", "Bed lies", BedPlace::WORDS),
        ranged("design.bed.height").optional().help("top of the deck, empty; empty field: from wheel and suspension"),
        flag("design.bed.within_vehicle_width", "Stay narrower than every towing vehicle"),
    ]
}

fn frame() -> Vec<Field> {
    vec![
        section("design.frame.side_rail", "Side rails"),
        section("design.frame.end_rail", "End rails"),
        section("design.frame.cross_member", "Cross-members"),
        grade("design.frame.grade", "Grade of the frame"),
        choice("design.frame.corner", "Corners", Corner::WORDS),
        ranged("design.frame.largest_pitch")
            .optional()
            .help("between cross-member centres; empty: from the deck's span"),
        choice("design.frame.stack", "Drawbar and bed frame", Stack::WORDS),
    ]
}

fn drawbar() -> Vec<Field> {
    const FORM: &str = "design.drawbar.form";
    const TELESCOPIC: &str = "design.drawbar.telescopic";
    vec![
        choice(FORM, "Form of the drawbar", DrawbarForm::WORDS),
        section("design.drawbar.section", "Section of the drawbar").help("of the pole, or of each leg"),
        grade("design.drawbar.grade", "Grade of the drawbar"),
        ranged("design.drawbar.length").help("coupling centre to the bed's front; telescopic: at its shortest"),
        choice("design.drawbar.reach", "The pole", PoleReach::WORDS).when(FORM, &["pole"]),
        ranged("design.drawbar.end_station")
            .optional()
            .help("empty: 45 % of the bed, or where the legs meet the side rails"),
        ranged("design.drawbar.included_angle_deg").when(FORM, &["a-frame"]),
        flag(TELESCOPIC, "Telescopic").when(FORM, &["pole"]),
        ranged("design.drawbar.travel").when(TELESCOPIC, &["yes"]).help("how much longer it pulls out"),
        ranged("design.drawbar.pin_pitch").when(TELESCOPIC, &["yes"]),
        ranged("design.drawbar.pin_diameter").when(TELESCOPIC, &["yes"]),
        section("design.drawbar.inner_section", "Inner tube")
            .when(TELESCOPIC, &["yes"])
            .help("slides inside the drawbar"),
        ranged("design.drawbar.coupling_height").help("centre of the coupling above level ground"),
    ]
}

fn running_gear() -> Vec<Field> {
    const AXLES: &str = "design.running_gear.axles";
    const SUSPENSION: &str = "design.running_gear.suspension";
    const PLACE_BY: &str = "design.running_gear.place_by";
    const TAKEN: &[&str] = &["from-vehicle"];
    const LEAF: &[&str] = &["leaf"];
    vec![
        ranged(AXLES),
        ranged("design.running_gear.spacing").when(AXLES, &["2"]).help("between the axles of the pair"),
        flag("design.running_gear.equalised", "The pair shares its load evenly")
            .when(AXLES, &["2"])
            .help("by an equaliser; rubber torsion axles never do"),
        choice(SUSPENSION, "Suspension", Suspension::WORDS),
        ranged("design.running_gear.spring_rate_n_per_mm").optional().help("empty: the bought spring's"),
        ranged("design.running_gear.axle_rating").optional().help("what one axle may carry; empty: chosen by rule"),
        ranged("design.running_gear.bump_travel").help("from standing empty to the stop"),
        ranged("design.running_gear.leaf.leaves").optional().when(SUSPENSION, LEAF),
        ranged("design.running_gear.leaf.full_length").when(SUSPENSION, LEAF).help("the main leaf counted"),
        ranged("design.running_gear.leaf.width").optional().when(SUSPENSION, LEAF),
        ranged("design.running_gear.leaf.thickness").optional().when(SUSPENSION, LEAF),
        ranged("design.running_gear.leaf.length").optional().when(SUSPENSION, LEAF),
        ranged("design.running_gear.leaf.strength_mpa").when(SUSPENSION, LEAF),
        text("design.running_gear.donor.description", "Axle taken from", 0).when(SUSPENSION, TAKEN),
        ranged("design.running_gear.donor.mass")
            .optional()
            .when(SUSPENSION, TAKEN)
            .help("with springs, links and dampers"),
        ranged("design.running_gear.donor.price").optional().when(SUSPENSION, TAKEN),
        ranged("design.running_gear.donor.spring_seats").optional().when(SUSPENSION, TAKEN).help("across"),
        ranged("design.running_gear.donor.link_mounts").optional().when(SUSPENSION, TAKEN).help("across"),
        ranged("design.running_gear.donor.link_length").optional().when(SUSPENSION, TAKEN),
        ranged("design.running_gear.donor.damper_closed").optional().when(SUSPENSION, TAKEN),
        ranged("design.running_gear.donor.damper_open").optional().when(SUSPENSION, TAKEN),
        ranged("design.running_gear.donor.rating").optional().when(SUSPENSION, TAKEN),
        text("design.running_gear.wheel.size", "Tyre size", 1).help("as written on the tyre"),
        ranged("design.running_gear.wheel.rim_inches"),
        ranged("design.running_gear.wheel.rolling_radius").help("axle to ground"),
        ranged("design.running_gear.wheel.section_width"),
        ranged("design.running_gear.wheel.load_index").help("the figure behind the tyre size"),
        text("design.running_gear.wheel.speed_symbol", "Speed symbol", 1).help("the letter behind the load index"),
        ranged("design.running_gear.wheel.pressure_bar"),
        ranged("design.running_gear.track").optional().help("between tyre middles; empty: from bed and tyres"),
        choice("design.running_gear.brakes", "Brakes", Brakes::WORDS),
        choice(PLACE_BY, "Axle place", AxlePlaceBy::WORDS),
        ranged("design.running_gear.share").when(PLACE_BY, &["share"]).help("55 to 65 % is usual"),
        ranged("design.running_gear.distance").when(PLACE_BY, &["distance"]),
        ranged("design.running_gear.target_share").when(PLACE_BY, &["find"]),
        ranged("design.running_gear.least_share").help("common practice"),
        ranged("design.running_gear.most_share").help("common practice"),
        ranged("design.running_gear.loaded_from").help("lighter cases need only press down"),
    ]
}

fn deck() -> Vec<Field> {
    vec![
        choice("design.deck.material", "Deck", SheetMaterial::WORDS),
        ranged("design.deck.thickness"),
        choice("design.deck.fixing", "Deck is", DeckFixing::WORDS),
        ranged("design.deck.fixing_pitch"),
    ]
}

fn sides() -> Vec<Field> {
    const FORM: &str = "design.sides.form";
    const ANY: &[&str] = &["rails", "sheeted", "mesh"];
    const FRONT: &str = "design.sides.front";
    vec![
        choice(FORM, "Sides", SideForm::WORDS),
        ranged("design.sides.height").when(FORM, ANY),
        section("design.sides.post", "Posts"),
        section("design.sides.top_rail", "Top rails"),
        choice("design.sides.sheet", "Sheet of sides and front", SheetMaterial::WORDS),
        ranged("design.sides.sheet_thickness"),
        choice(FRONT, "Front", FrontForm::WORDS),
        ranged("design.sides.front_height").when(FRONT, &["board", "stone-guard"]),
        flag("design.sides.drop_tailgate", "Drop tailgate").when(FORM, ANY),
    ]
}

fn loading() -> Vec<Field> {
    const RAMP: &str = "design.loading.ramp";
    const ANY: &[&str] = &["loose", "hinged"];
    vec![
        choice(RAMP, "Ramp", RampForm::WORDS),
        ranged("design.loading.ramp_length").when(RAMP, ANY),
        ranged("design.loading.ramp_width").when(RAMP, ANY),
        choice("design.loading.ramp_sheet", "Sheet of the ramp", SheetMaterial::WORDS).when(RAMP, ANY),
        ranged("design.loading.ramp_sheet_thickness").when(RAMP, ANY),
        section("design.loading.ramp_stile", "Ramp stiles").when(RAMP, ANY),
        section("design.loading.ramp_rung", "Ramp rungs").when(RAMP, ANY),
        ranged("design.loading.ramp_rung_pitch").when(RAMP, ANY),
        grade("design.loading.ramp_grade", "Grade of the ramp").when(RAMP, ANY),
        ranged("design.loading.docking_places").when(RAMP, &["loose"]).help("places across the rear where it hooks on"),
        flag("design.loading.ramp_lock", "Lock on the stowed ramp").when(RAMP, ANY),
        ranged("design.loading.prop_stands"),
        ranged("design.loading.wheel_chocks"),
        ranged("design.loading.lashing_top.count").help("on the deck or the rails' tops"),
        ranged("design.loading.lashing_top.rating").optional(),
        ranged("design.loading.lashing_frame.count").help("on the outside of the frame"),
        ranged("design.loading.lashing_frame.rating").optional(),
        flag("design.loading.winch_post", "Winch post"),
    ]
}

fn towing() -> Vec<Field> {
    const CHAINS: &str = "design.towing.chains";
    const ANY: &[&str] = &["secondary", "keeps-only"];
    vec![
        choice("design.towing.coupling", "Coupling", CouplingForm::WORDS),
        ranged("design.towing.coupling_rating").optional().help("empty: chosen by rule from the gross mass"),
        flag("design.towing.jockey_wheel", "Jockey wheel"),
        ranged("design.towing.jockey_rating").optional().when("design.towing.jockey_wheel", &["yes"]),
        choice(CHAINS, "Chains are for", ChainPurpose::WORDS),
        ranged("design.towing.chain_count").when(CHAINS, ANY),
        ranged("design.towing.chain_rating").optional().when(CHAINS, ANY),
        flag("design.towing.breakaway", "Breakaway device"),
        ranged("design.towing.hand_lift").help("common practice"),
        ranged("design.towing.hand_push").help("common practice"),
    ]
}

fn electrics() -> Vec<Field> {
    vec![
        choice("design.electrics.connector", "Plug", Connector::WORDS),
        flag("design.electrics.reverse_lamps", "Reversing lamps").help("also where no road rule asks for them"),
        flag("design.electrics.fog_lamp", "Rear fog lamp").help("also where no road rule asks for it"),
        flag("design.electrics.work_lamp", "Work lamp"),
        flag("design.electrics.side_markers", "Side markers").help("also where no road rule asks for them"),
        flag("design.electrics.guide_poles", "Reversing guide poles").help("upright at the rear's outer edges"),
    ]
}

fn fittings() -> Vec<Field> {
    vec![
        choice("design.fittings.spare_wheel", "Spare wheel", SparePlace::WORDS),
        ranged("design.fittings.tool_boxes"),
        ranged("design.fittings.fuel_can_holders"),
        flag("design.fittings.rear_tow_eye", "Rear tow eye"),
        choice("design.fittings.mudguards", "Mudguards", Mudguards::WORDS),
        flag("design.fittings.mud_flaps", "Mud flaps"),
        flag("design.fittings.rear_bumper", "Rear bumper"),
        flag("design.fittings.number_plate_holder", "Number-plate holder"),
    ]
}

fn free_fittings() -> List {
    List {
        path: "design.fittings.free",
        item: "free fitting",
        fields: vec![
            text("design.fittings.free.*.name", "Name of the fitting", 1),
            ranged("design.fittings.free.*.count"),
            ranged("design.fittings.free.*.mass"),
            ranged("design.fittings.free.*.along"),
            ranged("design.fittings.free.*.across"),
            ranged("design.fittings.free.*.above"),
            ranged("design.fittings.free.*.price"),
            ranged("design.fittings.free.*.minutes"),
        ],
        lists: vec![],
        new_item: new(FreeFitting { count: 1, ..FreeFitting::default() }),
        most: MOST_ITEMS,
    }
}

fn finish() -> Vec<Field> {
    const SYSTEM: &str = "design.finish.system";
    vec![
        choice(SYSTEM, "Finish", FinishSystem::WORDS),
        ranged("design.finish.coats").when(SYSTEM, &["paint"]).help("primer and top coats together"),
        ranged("design.finish.coat_um").when(SYSTEM, &["paint"]),
        text("design.finish.colour", "Colour", 0).when(SYSTEM, &["paint", "powder"]),
    ]
}

fn factors() -> Vec<Field> {
    vec![
        ranged("design.factors.dynamic").optional().help("empty: by the road, 2.0 sealed, 2.5 gravel, 3.0 rough"),
        ranged("design.factors.braking_g"),
        ranged("design.factors.cornering_g"),
        ranged("design.factors.service_divisor"),
        ranged("design.factors.test_divisor"),
    ]
}

fn offer() -> Vec<Field> {
    vec![
        ranged("offer.discount").optional().help("off the price before tax"),
        ranged("offer.agreed_price").optional().help("before tax, of one trailer, instead of the derived price"),
        ranged("offer.margin_percent").optional().help("empty: the shop's usual margin"),
        choice("offer.language", "Language of the quote", Words::choices())
            .optional()
            .help("empty: the shop's usual one"),
        choice("offer.delivery", "Delivery", Delivery::WORDS),
        ranged("offer.delivery_km").when("offer.delivery", &["delivered"]),
    ]
}

fn free_lines() -> List {
    List {
        path: "offer.free_lines",
        item: "free line",
        fields: vec![text("offer.free_lines.*.text", "Text of the line", 1), ranged("offer.free_lines.*.price")],
        lists: vec![],
        new_item: json!({ "text": "", "price": "0" }),
        most: MOST_ITEMS,
    }
}

fn options() -> List {
    List {
        path: "offer.options",
        item: "option",
        fields: vec![
            text("offer.options.*.name", "Name of the option", 1).help("as the customer reads it"),
            text("offer.options.*.about", "What it does for them", 0).help("a sentence; may be empty"),
            flag("offer.options.*.in_set", "Excludes the others that are ticked here")
                .help("of these the customer chooses one at most"),
        ],
        lists: vec![List {
            path: "offer.options.*.changes",
            item: "change",
            fields: vec![
                choice("offer.options.*.changes.*.field", "Changes", changeable()),
                text("offer.options.*.changes.*.to", "To", 0)
                    .help("as you would type it there; yes or no for a box to tick, one of its choices in words"),
            ],
            lists: vec![],
            new_item: json!({ "field": "design.finish.system", "to": "" }),
            most: MOST_CHANGES,
        }],
        new_item: new(OfferOption::default()),
        most: MOST_FREE_OPTIONS + MOST_IN_SET,
    }
}

/// Fields of the design that an option may change, by path, with the heading under which they stand: those outside lists.
pub(super) fn changeable() -> &'static [(&'static str, &'static str)] {
    static WORDS: LazyLock<Vec<(&'static str, &'static str)>> = LazyLock::new(|| {
        let parts = [
            ("Bed", bed()),
            ("Frame", frame()),
            ("Drawbar", drawbar()),
            ("Running gear", running_gear()),
            ("Deck", deck()),
            ("Sides and front", sides()),
            ("Ramp and loading", loading()),
            ("Towing parts", towing()),
            ("Electrics", electrics()),
            ("Fittings", fittings()),
            ("Finish", finish()),
        ];
        let named = parts.into_iter().flat_map(|(heading, fields)| {
            // Made once for the life of the program.
            fields.into_iter().map(move |field| (field.path, &*format!("{heading}: {}", field.label).leak()))
        });
        named.collect()
    });
    &WORDS
}

// ---------------------------------------------------------------- how a field is described

fn group(key: &'static str, title: &'static str, fields: Vec<Field>, lists: Vec<List>) -> Group {
    fn titled(list: List, title: &'static str) -> List {
        List {
            fields: list.fields.into_iter().map(|field| Field { group: title, ..field }).collect(),
            lists: list.lists.into_iter().map(|inner| titled(inner, title)).collect(),
            ..list
        }
    }
    Group {
        key,
        title,
        fields: fields.into_iter().map(|field| Field { group: title, ..field }).collect(),
        lists: lists.into_iter().map(|list| titled(list, title)).collect(),
    }
}

/// A field whose name, kind and range stand in the table of limits; a test makes sure that it does.
fn ranged(path: &'static str) -> Field {
    match limit(path) {
        Some(row) => Field { unit: row.unit, limit: row.ends(), help: row.note, ..plain(path, row.name, row.kind) },
        None => plain(path, path, Kind::Text),
    }
}

fn plain(path: &'static str, label: &'static str, kind: Kind) -> Field {
    let limit = Limit { low: 0.0, high: MOST_CHARACTERS as f64 };
    Field { path, label, kind, unit: "", limit, optional: false, help: "", shown_when: None, group: "" }
}

fn text(path: &'static str, label: &'static str, least: u32) -> Field {
    Field { limit: Limit { low: f64::from(least), high: MOST_CHARACTERS as f64 }, ..plain(path, label, Kind::Text) }
}

fn flag(path: &'static str, label: &'static str) -> Field {
    plain(path, label, Kind::Flag)
}

fn choice(path: &'static str, label: &'static str, words: &'static [(&'static str, &'static str)]) -> Field {
    plain(path, label, Kind::Choice(words))
}

fn section(path: &'static str, label: &'static str) -> Field {
    plain(path, label, Kind::Section).help("such as rhs 60x40x3; the depth stands first")
}

fn grade(path: &'static str, label: &'static str) -> Field {
    plain(path, label, Kind::Grade)
}

impl Field {
    fn optional(self) -> Self {
        Self { optional: true, ..self }
    }

    fn help(self, help: &'static str) -> Self {
        Self { help, ..self }
    }

    fn when(self, other: &'static str, words: &'static [&'static str]) -> Self {
        Self { shown_when: Some((other, words)), ..self }
    }
}

fn new(item: impl Serialize) -> Value {
    serde_json::to_value(item).unwrap_or_default()
}
