//! The scene as binary glTF 2.0 (the Khronos specification, chapters 3 and 4.4): y up, metres, one node for each layer.
//!
//! The trailer's axes turn into glTF's so that it stands with its front towards +z: x → −z, y → −x, z → y.

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};

use super::{
    Layer, Look, Part, Scene, Shown,
    mesh::{Mesh, Place, normal},
};
use crate::domain::{
    trailer::{Point, Trailer},
    weights::Weights,
};

/// `glTF`, version 2; `JSON`; `BIN\0`.
const MAGIC: u32 = 0x4654_6C67;
const JSON_CHUNK: u32 = 0x4E4F_534A;
const BINARY_CHUNK: u32 = 0x004E_4942;
const FLOAT: u32 = 5126;
const UNSIGNED_SHORT: u32 = 5123;
const UNSIGNED_INT: u32 = 5125;
const VERTICES: u32 = 34962;
const INDICES: u32 = 34963;

/// The built trailer with the loads of its first trip: the same bytes for the same trailer.
pub fn glb(trailer: &Trailer, weights: &Weights, shown: Shown) -> Vec<u8> {
    let scene = Scene::of(trailer, weights);
    let mut file = File::default();
    for (look, mesh) in &scene.meshes {
        file.add_mesh(*look, mesh);
    }
    let root = file.json(&scene, shown);
    file.bytes(&root)
}

fn turned([x, y, z]: Point) -> Point {
    [-y, z, -x]
}

#[derive(Default)]
struct File {
    binary: Vec<u8>,
    views: Vec<Value>,
    accessors: Vec<Value>,
    meshes: Vec<Value>,
    /// For each of the scene's meshes where it is in the file; none of one without faces.
    mesh_at: Vec<Option<usize>>,
    materials: BTreeMap<Look, usize>,
    looks: Vec<Value>,
}

impl File {
    fn add_mesh(&mut self, look: Look, mesh: &Mesh) {
        let (mut positions, mut normals, mut indices) = (Vec::new(), Vec::new(), Vec::new());
        for face in &mesh.faces {
            let Some(normal) = normal(face) else { continue };
            let first = positions.len() as u32;
            for point in face {
                positions.push(turned(*point).map(|part| (part / 1000.0) as f32));
                normals.push(turned(normal).map(|part| part as f32));
            }
            for nth in 2..face.len() as u32 {
                indices.extend([first, first + nth - 1, first + nth]);
            }
        }
        if indices.is_empty() {
            return self.mesh_at.push(None);
        }
        let bounds = positions.iter().fold([[f32::INFINITY; 3], [f32::NEG_INFINITY; 3]], |[low, high], point| {
            [[0, 1, 2].map(|axis| low[axis].min(point[axis])), [0, 1, 2].map(|axis| high[axis].max(point[axis]))]
        });
        let count = positions.len();
        let [position, normal] = [positions, normals].map(|vectors| {
            let bytes: Vec<u8> = vectors.iter().flatten().flat_map(|part| part.to_le_bytes()).collect();
            self.add_view(&bytes, VERTICES)
        });
        let position = self.add_accessor(json!({
            "bufferView": position, "componentType": FLOAT, "count": count, "type": "VEC3", "min": bounds[0], "max": bounds[1],
        }));
        let normal =
            self.add_accessor(json!({ "bufferView": normal, "componentType": FLOAT, "count": count, "type": "VEC3" }));
        let short: Option<Vec<u8>> = indices
            .iter()
            .map(|index| u16::try_from(*index).ok().filter(|index| *index < u16::MAX))
            .try_fold(Vec::new(), |mut bytes, index| {
                bytes.extend(index?.to_le_bytes());
                Some(bytes)
            });
        let (kind, bytes) = match short {
            Some(bytes) => (UNSIGNED_SHORT, bytes),
            None => (UNSIGNED_INT, indices.iter().flat_map(|index| index.to_le_bytes()).collect()),
        };
        let view = self.add_view(&bytes, INDICES);
        let indices = self.add_accessor(
            json!({ "bufferView": view, "componentType": kind, "count": indices.len(), "type": "SCALAR" }),
        );
        let material = self.material(look);
        self.mesh_at.push(Some(self.meshes.len()));
        self.meshes.push(json!({ "primitives": [
            { "attributes": { "POSITION": position, "NORMAL": normal }, "indices": indices, "material": material },
        ] }));
    }

    /// Views begin at multiples of four bytes, as floats must.
    fn add_view(&mut self, bytes: &[u8], target: u32) -> usize {
        let at = self.binary.len();
        self.binary.extend_from_slice(bytes);
        self.binary.resize(self.binary.len().next_multiple_of(4), 0);
        self.views.push(json!({ "buffer": 0, "byteOffset": at, "byteLength": bytes.len(), "target": target }));
        self.views.len() - 1
    }

    fn add_accessor(&mut self, accessor: Value) -> usize {
        self.accessors.push(accessor);
        self.accessors.len() - 1
    }

    fn material(&mut self, look: Look) -> usize {
        let looks = &mut self.looks;
        *self.materials.entry(look).or_insert_with(|| {
            looks.push(look.material());
            looks.len() - 1
        })
    }

    fn json(&self, scene: &Scene, shown: Shown) -> Value {
        let mut nodes: Vec<Value> = Vec::new();
        let mut roots = Vec::new();
        for layer in Layer::ALL {
            let parts = scene.parts.iter().filter(|part| part.layer == layer);
            let first = nodes.len();
            nodes.extend(parts.filter_map(|part| self.mesh_at[part.mesh].map(|mesh| node(part, mesh, shown))));
            if nodes.len() > first {
                let children: Vec<usize> = (first..nodes.len()).collect();
                nodes.push(json!({ "name": layer.name(), "children": children }));
                roots.push(nodes.len() - 1);
            }
        }
        let mut root = json!({
            "asset": { "version": "2.0", "generator": "Hitchwright" },
            "scene": 0,
            "scenes": [{ "name": "trailer", "nodes": roots }],
        });
        // An empty list is not valid: what there is none of is left out.
        let lists = [
            ("nodes", &nodes),
            ("meshes", &self.meshes),
            ("materials", &self.looks),
            ("accessors", &self.accessors),
            ("bufferViews", &self.views),
        ];
        for (name, list) in lists {
            if !list.is_empty() {
                root[name] = json!(list);
            }
        }
        if roots.is_empty() {
            root["scenes"] = json!([{ "name": "trailer" }]);
        }
        if !self.binary.is_empty() {
            root["buffers"] = json!([{ "byteLength": self.binary.len() }]);
        }
        root
    }

    fn bytes(&self, root: &Value) -> Vec<u8> {
        let mut json = root.to_string().into_bytes();
        json.resize(json.len().next_multiple_of(4), b' ');
        let mut out = Vec::with_capacity(28 + json.len() + self.binary.len());
        let word = |out: &mut Vec<u8>, word: u32| out.extend(word.to_le_bytes());
        let chunk = |out: &mut Vec<u8>, kind: u32, data: &[u8]| {
            word(out, data.len() as u32);
            word(out, kind);
            out.extend_from_slice(data);
        };
        word(&mut out, MAGIC);
        word(&mut out, 2);
        word(&mut out, 0);
        chunk(&mut out, JSON_CHUNK, &json);
        if !self.binary.is_empty() {
            chunk(&mut out, BINARY_CHUNK, &self.binary);
        }
        let length = (out.len() as u32).to_le_bytes();
        out[8..12].copy_from_slice(&length);
        out
    }
}

fn node(part: &Part, mesh: usize, shown: Shown) -> Value {
    let mut node = Map::new();
    let mut about = Map::new();
    if shown == Shown::Marks {
        node.insert("name".into(), json!(format!("{} {}", part.mark, part.what).trim()));
        for (key, text) in [("mark", &part.mark), ("of", &part.of)] {
            if !text.is_empty() {
                about.insert(key.into(), json!(text));
            }
        }
        if let Some(length) = part.length_mm {
            about.insert("length_mm".into(), json!(length));
        }
    }
    node.insert("mesh".into(), json!(mesh));
    let Place { at, axes } = part.place;
    let rounded = |value: f64, digits: f64| (value * digits).round() / digits + 0.0;
    let at = turned(at).map(|along| rounded(along / 1000.0, 1e6));
    // Columns: where glTF's own axes go, which are the trailer's −y, z and −x.
    let columns = [axes[1].map(|part| -part), axes[2], axes[0].map(|part| -part)].map(turned);
    let unturned = Place::ORIGIN.axes;
    if columns.iter().zip(unturned).all(|(a, b)| a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-9)) {
        node.insert("translation".into(), json!(at));
    } else {
        let mut matrix: Vec<f64> = Vec::with_capacity(16);
        for column in columns {
            matrix.extend(column.map(|part| rounded(part, 1e9)));
            matrix.push(0.0);
        }
        matrix.extend(at);
        matrix.push(1.0);
        node.insert("matrix".into(), json!(matrix));
    }
    if !about.is_empty() {
        node.insert("extras".into(), Value::Object(about));
    }
    Value::Object(node)
}

impl Look {
    /// Our own colours, linear, with metalness and roughness for the eye.
    fn material(self) -> Value {
        let (name, [red, green, blue, alpha], metal, rough) = match self {
            Self::Steel => ("steel", [0.30, 0.36, 0.42, 1.0], 0.35, 0.55),
            Self::Drawbar => ("drawbar steel", [0.16, 0.22, 0.30, 1.0], 0.35, 0.55),
            Self::Aluminium => ("aluminium", [0.62, 0.64, 0.66, 1.0], 0.5, 0.45),
            Self::Plate => ("plate", [0.48, 0.50, 0.52, 1.0], 0.35, 0.5),
            Self::Wood => ("wood", [0.50, 0.34, 0.18, 1.0], 0.0, 0.85),
            Self::Rubber => ("rubber", [0.025, 0.025, 0.03, 1.0], 0.0, 0.9),
            Self::Rim => ("rim", [0.55, 0.56, 0.57, 1.0], 0.4, 0.4),
            Self::Dark => ("dark steel", [0.07, 0.08, 0.09, 1.0], 0.3, 0.6),
            Self::Red => ("red lens", [0.55, 0.02, 0.02, 1.0], 0.0, 0.3),
            Self::Amber => ("amber lens", [0.80, 0.28, 0.02, 1.0], 0.0, 0.3),
            Self::White => ("white", [0.80, 0.80, 0.78, 1.0], 0.0, 0.4),
            Self::Load => ("load", [0.85, 0.55, 0.10, 0.35], 0.0, 0.8),
        };
        let mut material = json!({
            "name": name,
            "pbrMetallicRoughness":
                { "baseColorFactor": [red, green, blue, alpha], "metallicFactor": metal, "roughnessFactor": rough },
        });
        if alpha < 1.0 {
            material["alphaMode"] = json!("BLEND");
        }
        material
    }
}
