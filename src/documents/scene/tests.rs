use serde_json::Value;

use super::{mesh::tests::assert_closed, metal::member_with_chords, *};
use crate::domain::{
    estimate::estimate,
    measure::Length,
    nesting::{Budget, unwatched},
    shop::{Rack, ShopBook},
    steel::{Section, sheet_mass_kg_per_m2},
    trailer::{Placed, Point, Spec, Trailer, Trip},
};

const DEMOS: [&str; 8] = [
    include_str!("../../../seed-data/demo/apiary.json"),
    include_str!("../../../seed-data/demo/bike-courier.json"),
    include_str!("../../../seed-data/demo/ferry-stores.json"),
    include_str!("../../../seed-data/demo/hedge-contractor.json"),
    include_str!("../../../seed-data/demo/oven-caterer.json"),
    include_str!("../../../seed-data/demo/puppet-stage.json"),
    include_str!("../../../seed-data/demo/rescue-post.json"),
    include_str!("../../../seed-data/demo/rowing-club.json"),
];

fn worked(spec: &Spec) -> (Trailer, Weights) {
    let estimate = estimate(spec, &ShopBook::demo(), &Rack::default(), Budget::preview(), &mut unwatched).unwrap();
    (estimate.trailer, estimate.weights)
}

pub(super) fn demos() -> Vec<(Trailer, Weights)> {
    let spec = |text: &str| {
        let job: Value = serde_json::from_str(text).unwrap();
        serde_json::from_value::<Spec>(job["spec"].clone()).unwrap()
    };
    DEMOS.iter().map(|text| worked(&spec(text))).collect()
}

#[test]
fn every_body_of_every_demo_is_closed_and_right_side_out() {
    for (trailer, weights) in demos() {
        for (_, mesh) in &Scene::of(&trailer, &weights).meshes {
            assert_closed(mesh);
        }
    }
}

/// Two ways to one mass: the body's volume, and the section's area by its formula times the mean length. They differ by the
/// chords of three degrees and, for tubes, by the annexes' rounding of nothing: within a thousandth.
#[test]
fn members_weigh_what_their_bodies_hold() {
    for (trailer, _) in demos() {
        for member in &trailer.members {
            let density = member.grade.density_kg_per_m3();
            let by_body = member_with_chords(member, 3.01).volume_mm3() * density * 1e-9;
            let by_length = member.section.mass_kg_per_m(density) * member.mean_length_mm() / 1000.0;
            let name = format!("{} {} {:?}", member.mark, member.section, member.cuts);
            assert!((by_body / by_length - 1.0).abs() < 2e-3, "{name}: {by_body} kg instead of {by_length}");
        }
    }
}

#[test]
fn sheets_weigh_what_their_bodies_hold() {
    for (trailer, _) in demos() {
        for panel in trailer.panels.iter() {
            let kg_per_m3 =
                sheet_mass_kg_per_m2(panel.material, Length::from_mm(panel.thickness_mm)) / panel.thickness_mm * 1e3;
            let by_body = metal::panel(panel).0.volume_mm3() * 1e-9 * kg_per_m3;
            let by_area = panel.area_mm2() * 1e-9 * panel.thickness_mm * kg_per_m3;
            assert!((by_body / by_area - 1.0).abs() < 1e-3, "{}: {by_body} kg instead of {by_area}", panel.mark);
        }
    }
}

/// Two rails meet in a mitre: the cut faces lie in one plane and cover one another.
#[test]
fn mitred_rails_meet_in_one_plane() {
    let mut spec = Spec::default();
    let section: Section = "rhs 60x40x3".parse().unwrap();
    (spec.design.frame.side_rail, spec.design.frame.end_rail) = (section, section);
    let (trailer, _) = worked(&spec);
    let layout = &trailer.layout;
    let corner = [layout.bed_front_x_mm, -layout.bed_width_mm / 2.0];
    let mut touching = 0;
    for member in trailer.members.iter().filter(|member| matches!(member.role, Role::SideRail | Role::EndRail)) {
        let place = metal::member_place(member);
        let mesh = metal::member_box(member).placed(&place);
        let reaches = mesh.points().any(|p| (p[0] - corner[0]).abs() < 0.2 && (p[1] - corner[1]).abs() < 0.2);
        if !reaches {
            continue;
        }
        touching += 1;
        // On the plane through the corner at 45° and nowhere beyond it.
        let off = mesh.points().map(|p| (p[0] - corner[0]) - (p[1] - corner[1]));
        let side = if member.role == Role::SideRail { 1.0 } else { -1.0 };
        let beyond = off.map(|off| side * off).fold(f64::INFINITY, f64::min);
        assert!(beyond.abs() < 0.5, "{}: {beyond} mm beyond the mitre", member.mark);
    }
    assert_eq!(touching, 2);
}

/// What is cut and welded stays within the sizes that the quote and the road rules speak of.
#[test]
fn the_scene_is_as_large_as_the_trailer() {
    for (trailer, weights) in demos() {
        let scene = Scene::of(&trailer, &weights);
        let parts = scene.parts.iter().filter(|part| part.layer != Layer::Loads);
        let [low, high] = parts
            .map(|part| scene.meshes[part.mesh].1.placed(&part.place).bounds())
            .reduce(|[a, b], [c, d]| [[0, 1, 2].map(|i| a[i].min(c[i])), [0, 1, 2].map(|i| b[i].max(d[i]))])
            .unwrap();
        let layout = &trailer.layout;
        let size = [0, 1].map(|axis| high[axis] - low[axis]);
        let overall = [layout.overall_length_mm, layout.overall_width_mm];
        let within = [120.0, 90.0];
        for axis in 0..2 {
            assert!((size[axis] - overall[axis]).abs() < within[axis], "{:?} against {overall:?}", size);
        }
        assert!(low[2].abs() < 10.0, "the wheels stand at {}", low[2]);
        assert!((high[2] - layout.overall_height_mm).abs() < 200.0, "{} against {}", high[2], layout.overall_height_mm);
    }
}

#[test]
fn the_file_is_the_same_each_time_and_says_marks_only_where_asked() {
    let (trailer, weights) = worked(&Spec::default());
    let file = glb(&trailer, &weights, Shown::Marks);
    assert_eq!(file, glb(&trailer, &weights, Shown::Marks));
    let word = |file: &[u8], at: usize| u32::from_le_bytes(file[at..at + 4].try_into().unwrap()) as usize;
    assert_eq!((&file[..4], word(&file, 4), word(&file, 8)), (&b"glTF"[..], 2, file.len()));
    let json = |file: &[u8]| -> Value { serde_json::from_slice(&file[20..20 + word(file, 12)]).unwrap() };
    let mark = &trailer.members[0].mark;
    assert_eq!(json(&file)["nodes"][0]["extras"]["mark"], *mark);
    let shapes = json(&glb(&trailer, &weights, Shown::Shapes));
    let told = shapes["nodes"].as_array().unwrap().iter().filter(|node| node.get("extras").is_some());
    assert_eq!(told.count(), 0);
    let names: Vec<&str> =
        shapes["nodes"].as_array().unwrap().iter().filter_map(|node| node["name"].as_str()).collect();
    assert!(names.iter().all(|name| Layer::ALL.iter().any(|layer| layer.name() == *name)), "{names:?}");
    assert!(file.len() < 700_000, "{} bytes", file.len());
}

/// What a reader of the file sees: of each node its layer's or its own name, and its triangles in the file's axes.
fn read(file: &[u8]) -> Vec<(String, Vec<[Point; 3]>)> {
    let word = |at: usize| u32::from_le_bytes(file[at..at + 4].try_into().unwrap()) as usize;
    let json_end = 20 + word(12);
    let root: Value = serde_json::from_slice(&file[20..json_end]).unwrap();
    let binary = &file[json_end + 8..];
    let number = |value: &Value| value.as_u64().unwrap() as usize;
    let bytes = |accessor: usize| {
        let view = &root["bufferViews"][number(&root["accessors"][accessor]["bufferView"])];
        let at = number(&view["byteOffset"]);
        &binary[at..at + number(&view["byteLength"])]
    };
    let nodes = root["nodes"].as_array().unwrap().iter().filter(|node| node.get("mesh").is_some());
    let read_node = |node: &Value| {
        let primitive = &root["meshes"][number(&node["mesh"])]["primitives"][0];
        let parts = bytes(number(&primitive["attributes"]["POSITION"])).chunks_exact(4);
        let parts: Vec<f64> = parts.map(|part| f64::from(f32::from_le_bytes(part.try_into().unwrap()))).collect();
        let indices = number(&primitive["indices"]);
        let size = if root["accessors"][indices]["componentType"] == 5123 { 2 } else { 4 };
        let index = |part: &[u8]| part.iter().rev().fold(0, |sum, byte| sum * 256 + usize::from(*byte));
        let order: Vec<usize> = bytes(indices).chunks_exact(size).map(index).collect();
        let of = |name: &str| -> Option<Vec<f64>> {
            node.get(name).map(|list| list.as_array().unwrap().iter().map(|part| part.as_f64().unwrap()).collect())
        };
        let (matrix, at) = (of("matrix"), of("translation"));
        let stands = |nth: &usize| -> Point {
            let point = [parts[nth * 3], parts[nth * 3 + 1], parts[nth * 3 + 2]];
            match (&matrix, &at) {
                // By columns (glTF 2.0, 3.5.3).
                (Some(m), _) => {
                    [0, 1, 2].map(|row| (0..3).map(|i| m[i * 4 + row] * point[i]).sum::<f64>() + m[12 + row])
                }
                (None, Some(at)) => [0, 1, 2].map(|axis| point[axis] + at[axis]),
                (None, None) => point,
            }
        };
        let triangles = order.chunks_exact(3).map(|three| [stands(&three[0]), stands(&three[1]), stands(&three[2])]);
        (node["name"].as_str().unwrap_or_default().to_owned(), triangles.collect())
    };
    nodes.map(read_node).collect()
}

fn middle(triangles: &[[Point; 3]]) -> Point {
    let count = (triangles.len() * 3) as f64;
    [0, 1, 2].map(|axis| triangles.iter().flatten().map(|point| point[axis]).sum::<f64>() / count)
}

/// A body whose triangles wind anticlockwise as seen from outside (glTF 2.0, 3.7.2.1) holds a volume above zero.
#[test]
fn every_body_in_the_file_faces_outward_where_it_stands() {
    for (trailer, weights) in demos() {
        let bodies = read(&glb(&trailer, &weights, Shown::Marks));
        assert!(bodies.len() > 30, "{}", bodies.len());
        for (name, triangles) in bodies {
            let volume: f64 = triangles.iter().map(|[a, b, c]| mesh::dot(*a, mesh::cross(*b, *c)) / 6.0).sum();
            assert!(volume > 0.0, "{name}: {volume} m³");
        }
    }
}

/// glTF's y is up, its z forward and so its −x to the right (glTF 2.0, 3.4).
#[test]
fn left_stands_on_the_left_of_the_file_and_the_coupling_in_front() {
    let text: Value = serde_json::from_str(DEMOS[0]).unwrap();
    let mut spec: Spec = serde_json::from_value(text["spec"].clone()).unwrap();
    let load = spec.need.loads[0].name.clone();
    let placed = Placed {
        load: load.clone(),
        along: Some(Length::from_mm(700.0)),
        across: Some(Length::from_mm(-100.0)),
        turned: false,
    };
    spec.need.trips = vec![Trip { carries: vec![placed], ..Trip::default() }];
    let (trailer, weights) = worked(&spec);
    let bodies = read(&glb(&trailer, &weights, Shown::Marks));
    let at = |wanted: &str| {
        let found: Vec<_> = bodies.iter().filter(|(name, _)| name.contains(wanted)).collect();
        assert!(!found.is_empty(), "{wanted}: {:?}", bodies.iter().map(|(name, _)| name).collect::<Vec<_>>());
        middle(&found[0].1)
    };
    let [x, y, z] = at(&format!("load: {load}"));
    assert!((x - 0.10).abs() < 1e-6, "100 mm to the left is x = {x} m");
    assert!(
        (z + (trailer.layout.bed_front_x_mm + 700.0) / 1000.0).abs() < 1e-6,
        "700 mm behind the bed's front is z = {z} m"
    );
    assert!(y * 1000.0 > trailer.layout.deck_top_z_mm, "on the deck: y = {y} m");
    assert!(at("coupling")[2] > z, "the coupling is in front");
}
