"""Flat parts of `hitchwright drawing --dxf` read back by ezdxf, for every flat part of every trailer of the demo shop.

Independent: another library reads the file and finds no fault; the outlines are closed and enclose the part's area, holes are circles at
their places, folds run from edge to edge, each process has a layer of its own; sizes are those of `hitchwright estimate --json`.
Prints a line for each trailer, then "N passed, N failed"; the exit code is 1 when one fails. The program is taken from the environment
variable HITCHWRIGHT.
"""

import itertools
import json
import os
import pathlib
import subprocess
import sys
import tempfile

import ezdxf
from ezdxf import bbox

PROGRAM = os.environ.get("HITCHWRIGHT", "target/debug/hitchwright")
DEMO = pathlib.Path("seed-data/demo")
TOLERANCE_MM = 1e-4


def said(*command):
    return subprocess.run(command, capture_output=True, text=True, timeout=300, check=True).stdout


def area_left(panel):
    """What is left of the rectangle, in mm², cell by cell between the edges of the cut-outs."""
    length, width, cuts = panel["length"], panel["width"], panel["cut_outs"]
    xs = sorted({0, length, *(min(max(x, 0), length) for x0, _, l, _ in cuts for x in (x0, x0 + l))})
    ys = sorted({0, width, *(min(max(y, 0), width) for _, y0, _, w in cuts for y in (y0, y0 + w))})
    left = 0.0
    for (x0, x1), (y0, y1) in itertools.product(itertools.pairwise(xs), itertools.pairwise(ys)):
        x, y = (x0 + x1) / 2, (y0 + y1) / 2
        if not any(cx < x < cx + l and cy < y < cy + w for cx, cy, l, w in cuts):
            left += (x1 - x0) * (y1 - y0)
    return left


def area(points):
    """Positive where the outline runs anticlockwise."""
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in zip(points, points[1:] + points[:1])) / 2


def faults(panel, file):
    document = ezdxf.readfile(file)
    model, found = document.modelspace(), []
    audit = document.audit()
    found += [str(fault.message) for fault in audit.errors + audit.fixes]
    if document.header["$INSUNITS"] != 4:
        found.append("not in millimetres")
    by_layer = {}
    for entity in model:
        by_layer.setdefault(entity.dxf.layer, []).append(entity)
    kinds = {"CUT": {"LWPOLYLINE", "CIRCLE"}, "FOLD": {"LINE"}, "MARK": {"TEXT"}}
    for layer, entities in by_layer.items():
        if not {entity.dxftype() for entity in entities} <= kinds.get(layer, set()):
            found.append(f"layer {layer} holds {sorted({entity.dxftype() for entity in entities})}")
        if layer not in document.layers:
            found.append(f"layer {layer} is not in the table")
    cut = by_layer.get("CUT", [])
    outlines = [entity for entity in cut if entity.dxftype() == "LWPOLYLINE"]
    if not all(entity.closed and len(entity) >= 4 for entity in outlines):
        found.append("an outline is open")
    enclosed = sum(area([(x, y) for x, y, *_ in entity.get_points()]) for entity in outlines)
    if abs(enclosed - area_left(panel)) > 0.01 * (panel["length"] + panel["width"]):
        found.append(f"the outlines enclose {enclosed} mm², not {area_left(panel)}")
    box = bbox.extents(outlines)
    if not panel["cut_outs"] and max(abs(box.size.x - panel["length"]), abs(box.size.y - panel["width"])) > TOLERANCE_MM:
        found.append(f"size {box.size} of {panel['length']} × {panel['width']}")
    if min(box.extmin.x, box.extmin.y) < -TOLERANCE_MM or box.extmax.x > panel["length"] + TOLERANCE_MM or box.extmax.y > panel["width"] + TOLERANCE_MM:
        found.append("outside its rectangle")
    circles = sorted((e.dxf.center.x, e.dxf.center.y, 2 * e.dxf.radius) for e in cut if e.dxftype() == "CIRCLE")
    holes = sorted((hole["along_mm"], hole["across_mm"], hole["diameter_mm"]) for hole in panel["holes"])
    if len(circles) != len(holes) or any(abs(a - b) > TOLERANCE_MM for one, other in zip(circles, holes) for a, b in zip(one, other)):
        found.append(f"holes {circles}, not {holes}")
    folds = sorted((e.dxf.start.x, e.dxf.end.x, *sorted((e.dxf.start.y, e.dxf.end.y))) for e in by_layer.get("FOLD", []))
    wanted = sorted((at, at, 0.0, panel["width"]) for at in panel["folds_mm"])
    if len(folds) != len(wanted) or any(abs(a - b) > TOLERANCE_MM for one, other in zip(folds, wanted) for a, b in zip(one, other)):
        found.append(f"folds {folds}, not {wanted}")
    if [entity.dxf.text for entity in by_layer.get("MARK", [])] != [panel["mark"]]:
        found.append("the mark is missing")
    return found


def main():
    passed = failed = holes = folds = windows = 0
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        for file in sorted(DEMO.glob("*.json")):
            spec = folder / "spec.json"
            spec.write_text(json.dumps(json.loads(file.read_text())["spec"]))
            panels = json.loads(said(PROGRAM, "estimate", str(spec), "--budget", "preview", "--json"))["trailer"]["panels"]
            # Equal parts share a mark and a drawing.
            for mark, panel in {panel["mark"]: panel for panel in reversed(panels)}.items():
                out = folder / "part.dxf"
                said(PROGRAM, "drawing", str(spec), "--part", mark, "--dxf", "--output", str(out))
                found = faults(panel, out)
                passed, failed = (passed, failed + 1) if found else (passed + 1, failed)
                holes, folds, windows = holes + len(panel["holes"]), folds + len(panel["folds_mm"]), windows + len(panel["cut_outs"])
                if found:
                    print(f"FAIL {file.stem} {mark}: {'; '.join(found[:5])}")
    # A check of nothing is no check.
    if not (holes and folds and windows):
        failed += 1
        print(f"FAIL the demo has {holes} holes, {folds} folds and {windows} cut-outs: each kind must occur")
    print(f"{holes} holes, {folds} folds, {windows} cut-outs")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


sys.exit(main())
