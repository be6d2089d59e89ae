//! A flat part as DXF (the published interchange format of CAD drawings, release AC1015, ASCII): millimetres, one layer a process.
//!
//! Only what a plasma or laser table reads: closed polylines and circles on `CUT`, fold lines on `FOLD`, the mark on `MARK`. The part's
//! corner is at the origin, x along its length; a cut is drawn where the edge shall be, without the beam's width.

use std::fmt::{Display, Write};

use super::{drawing::Spot, shape_of_panel::outlines};
use crate::domain::trailer::Panel;

/// Cut through: the outer outline, windows and holes.
pub const CUT: &str = "CUT";
/// Fold here: a line from edge to edge, not to be cut.
pub const FOLD: &str = "FOLD";
/// The part's mark, to be scribed or left out.
pub const MARK: &str = "MARK";

/// Layers with their colour numbers.
const LAYERS: [(&str, u8); 4] = [("0", 7), (CUT, 7), (FOLD, 5), (MARK, 3)];

/// The records that other parts of a file own, by their handles (hexadecimal, each used once).
const MODEL: u32 = 0x1F;
const PAPER: u32 = 0x1B;

/// The flat part with its mark, folds laid out.
pub fn dxf(panel: &Panel, mark: &str) -> String {
    let mut file = Writer { out: String::with_capacity(6000), handle: 0x100 };
    file.header([panel.length.mm(), panel.width.mm()]);
    file.tables();
    file.blocks();
    file.section("ENTITIES");
    for outline in outlines(panel) {
        file.polyline(CUT, &outline);
    }
    for hole in &panel.holes {
        file.circle(CUT, [hole.along_mm, hole.across_mm], hole.diameter_mm / 2.0);
    }
    for &fold in &panel.folds_mm {
        file.line(FOLD, [fold, 0.0], [fold, panel.width.mm()]);
    }
    let height = (panel.width.mm().min(panel.length.mm()) / 5.0).clamp(2.0, 10.0);
    file.text(MARK, [height / 2.0, height / 2.0], height, mark);
    file.pair(0, "ENDSEC");
    file.objects();
    file.pair(0, "EOF");
    file.out
}

struct Writer {
    out: String,
    handle: u32,
}

impl Writer {
    /// A group: its code on one line, its value on the next.
    fn pair(&mut self, code: u16, value: impl Display) {
        let _ = write!(self.out, "{code}\n{value}\n");
    }

    fn pairs(&mut self, pairs: &[(u16, &str)]) {
        for (code, value) in pairs {
            self.pair(*code, value);
        }
    }

    /// Coordinates to a hundred-thousandth of a millimetre.
    fn number(&mut self, code: u16, value: f64) {
        self.pair(code, format_args!("{:.5}", if value == 0.0 { 0.0 } else { value }));
    }

    fn section(&mut self, name: &str) {
        self.pairs(&[(0, "SECTION"), (2, name)]);
    }

    /// Opens an entity or a record with a handle of its own.
    fn record(&mut self, kind: &str, owner: u32, classes: &[&str]) {
        self.handle += 1;
        let handle = self.handle;
        self.record_at(kind, handle, owner, classes);
    }

    fn record_at(&mut self, kind: &str, handle: u32, owner: u32, classes: &[&str]) {
        self.pair(0, kind);
        self.pair(5, format_args!("{handle:X}"));
        self.pair(330, format_args!("{owner:X}"));
        for class in classes {
            self.pair(100, class);
        }
    }

    fn header(&mut self, [length, width]: [f64; 2]) {
        self.section("HEADER");
        // Units: 4 is millimetres; measurement 1 is metric.
        self.pairs(&[(9, "$ACADVER"), (1, "AC1015"), (9, "$HANDSEED"), (5, "FFFF"), (9, "$INSUNITS"), (70, "4")]);
        self.pairs(&[
            (9, "$MEASUREMENT"),
            (70, "1"),
            (9, "$EXTMIN"),
            (10, "0.0"),
            (20, "0.0"),
            (30, "0.0"),
            (9, "$EXTMAX"),
        ]);
        self.number(10, length);
        self.number(20, width);
        self.pairs(&[(30, "0.0"), (0, "ENDSEC")]);
    }

    fn tables(&mut self) {
        self.section("TABLES");
        self.table("VPORT", 0x8, 0);
        self.table("LTYPE", 0x5, 3);
        for (handle, name) in [(0x14, "ByBlock"), (0x15, "ByLayer"), (0x16, "Continuous")] {
            self.record_at("LTYPE", handle, 0x5, &["AcDbSymbolTableRecord", "AcDbLinetypeTableRecord"]);
            self.pairs(&[(2, name), (70, "0"), (3, ""), (72, "65"), (73, "0"), (40, "0.0")]);
        }
        self.pair(0, "ENDTAB");
        self.table("LAYER", 0x2, LAYERS.len());
        for (at, (name, colour)) in LAYERS.iter().enumerate() {
            let handle = 0x30 + u32::try_from(at).unwrap_or(0);
            self.record_at("LAYER", handle, 0x2, &["AcDbSymbolTableRecord", "AcDbLayerTableRecord"]);
            self.pairs(&[(2, name), (70, "0")]);
            self.pair(62, colour);
            self.pairs(&[(6, "Continuous"), (390, "13")]);
        }
        self.pair(0, "ENDTAB");
        self.table("STYLE", 0x3, 1);
        self.record_at("STYLE", 0x11, 0x3, &["AcDbSymbolTableRecord", "AcDbTextStyleTableRecord"]);
        self.pairs(&[
            (2, "Standard"),
            (70, "0"),
            (40, "0.0"),
            (41, "1.0"),
            (50, "0.0"),
            (71, "0"),
            (42, "2.5"),
            (3, "txt"),
            (4, ""),
        ]);
        self.pair(0, "ENDTAB");
        self.table("VIEW", 0x6, 0);
        self.table("UCS", 0x7, 0);
        self.table("APPID", 0x9, 1);
        self.record_at("APPID", 0x12, 0x9, &["AcDbSymbolTableRecord", "AcDbRegAppTableRecord"]);
        self.pairs(&[(2, "ACAD"), (70, "0"), (0, "ENDTAB")]);
        self.table("DIMSTYLE", 0xA, 0);
        self.table("BLOCK_RECORD", 0x1, 2);
        for (handle, name) in [(MODEL, "*Model_Space"), (PAPER, "*Paper_Space")] {
            self.record_at("BLOCK_RECORD", handle, 0x1, &["AcDbSymbolTableRecord", "AcDbBlockTableRecord"]);
            self.pair(2, name);
        }
        self.pairs(&[(0, "ENDTAB"), (0, "ENDSEC")]);
    }

    /// Opens a table; an empty one is closed at once.
    fn table(&mut self, name: &str, handle: u32, count: usize) {
        self.pairs(&[(0, "TABLE"), (2, name)]);
        self.pair(5, format_args!("{handle:X}"));
        self.pairs(&[(330, "0"), (100, "AcDbSymbolTable")]);
        self.pair(70, count);
        if name == "DIMSTYLE" {
            self.pairs(&[(100, "AcDbDimStyleTable"), (71, "0")]);
        }
        if count == 0 {
            self.pair(0, "ENDTAB");
        }
    }

    /// The two blocks that every file has, both empty: what is drawn stands among the entities.
    fn blocks(&mut self) {
        self.section("BLOCKS");
        for (owner, name) in [(MODEL, "*Model_Space"), (PAPER, "*Paper_Space")] {
            self.record("BLOCK", owner, &["AcDbEntity"]);
            self.pairs(&[
                (8, "0"),
                (100, "AcDbBlockBegin"),
                (2, name),
                (70, "0"),
                (10, "0.0"),
                (20, "0.0"),
                (30, "0.0"),
            ]);
            self.pairs(&[(3, name), (1, "")]);
            self.record("ENDBLK", owner, &["AcDbEntity"]);
            self.pairs(&[(8, "0"), (100, "AcDbBlockEnd")]);
        }
        self.pair(0, "ENDSEC");
    }

    fn objects(&mut self) {
        self.section("OBJECTS");
        self.record_at("DICTIONARY", 0xC, 0, &["AcDbDictionary"]);
        self.pairs(&[(281, "1"), (3, "ACAD_GROUP"), (350, "D"), (3, "ACAD_PLOTSTYLENAME"), (350, "E")]);
        self.record_at("DICTIONARY", 0xD, 0xC, &["AcDbDictionary"]);
        self.pair(281, 1);
        self.record_at("ACDBDICTIONARYWDFLT", 0xE, 0xC, &["AcDbDictionary"]);
        self.pairs(&[(281, "1"), (3, "Normal"), (350, "13"), (100, "AcDbDictionaryWithDefault"), (340, "13")]);
        self.record_at("ACDBPLACEHOLDER", 0x13, 0xE, &[]);
        self.pair(0, "ENDSEC");
    }

    fn entity(&mut self, kind: &str, layer: &str, class: &str) {
        self.record(kind, MODEL, &["AcDbEntity"]);
        self.pairs(&[(8, layer), (100, class)]);
    }

    fn polyline(&mut self, layer: &str, points: &[Spot]) {
        self.entity("LWPOLYLINE", layer, "AcDbPolyline");
        self.pair(90, points.len());
        // 1: closed.
        self.pair(70, 1);
        for [x, y] in points {
            self.number(10, *x);
            self.number(20, *y);
        }
    }

    fn circle(&mut self, layer: &str, [x, y]: Spot, radius: f64) {
        self.entity("CIRCLE", layer, "AcDbCircle");
        self.number(10, x);
        self.number(20, y);
        self.number(30, 0.0);
        self.number(40, radius);
    }

    fn line(&mut self, layer: &str, [x, y]: Spot, [to_x, to_y]: Spot) {
        self.entity("LINE", layer, "AcDbLine");
        for (code, value) in [(10, x), (20, y), (30, 0.0), (11, to_x), (21, to_y), (31, 0.0)] {
            self.number(code, value);
        }
    }

    fn text(&mut self, layer: &str, [x, y]: Spot, height: f64, text: &str) {
        self.entity("TEXT", layer, "AcDbText");
        for (code, value) in [(10, x), (20, y), (30, 0.0), (40, height)] {
            self.number(code, value);
        }
        // A line break would end the group; marks have none.
        self.pair(1, text.replace(['\n', '\r'], " "));
        self.pair(100, "AcDbText");
    }
}
