"""Frames against an independent general-purpose frame library (PyNiteFEA): random ones, and that of every demo trailer.

Displacements, rotations, end forces, end moments and reactions of every node and beam must agree within 0.1 % of the largest of each kind in
the same case. The library has neither rigid offsets nor levers, so they are built of very stiff members; it knows no shear
deformation, so that is left out of the trailers on both sides (a beam with shear areas is tested against closed forms).

Prints a line for each that fails, then "N passed, N failed". The program is taken from the environment variable HITCHWRIGHT.
"""

import json
import math
import os
import pathlib
import random
import subprocess
import sys
import warnings

import numpy
from Pynite import FEModel3D
from Pynite.PhysMember import PhysMember

warnings.filterwarnings("ignore")
join_all = PhysMember.descritize


def join_ends_only(member):
    """The library joins every node that happens to lie on a member's line; here only what is said to be joined is."""
    nodes, member.model.nodes = member.model.nodes, {}
    try:
        join_all(member)
    finally:
        member.model.nodes = nodes


PhysMember.descritize = join_ends_only
PROGRAM = os.environ.get("HITCHWRIGHT", "target/debug/hitchwright")
DEMO = pathlib.Path(__file__).parent.parent.parent / "seed-data" / "demo"
RANDOM = 110
TOLERANCE = 0.001
E, G = 210000.0, 81000.0
DOFS = ["DX", "DY", "DZ", "RX", "RY", "RZ"]
# Of a rigid member, whatever its length: EA / L in N/mm, EI / L in N mm.
PULL, BEND = 1e11, 1e14
# And no stiffer across, 12 EI / L³ in N/mm: a member of a tenth of a millimetre would drown all others in rounding.
SHORT = 1e12


def ours(arguments, text):
    run = subprocess.run([PROGRAM, "frame", *arguments, "-"], input=text, capture_output=True, text=True, timeout=60, check=False)
    if run.returncode != 0:
        raise ValueError(run.stderr.strip())
    return json.loads(run.stdout)


class Model:
    """A problem of ours, in the library's terms."""

    def __init__(self, problem):
        self.frame, self.model, self.count = problem["frame"], FEModel3D(), 0
        self.model.add_material("rigid", E, G, 0.3, 0.0)
        self.places = [numpy.array(node["place"]) for node in self.frame["nodes"]]
        for index, node in enumerate(self.frame["nodes"]):
            self.model.add_node(f"n{index}", *node["place"])
            self.model.def_support(f"n{index}", *node.get("held", [False] * 6))
        self.ends = [self.beam(index, beam) for index, beam in enumerate(self.frame["beams"])]
        for link in self.frame.get("links", []):
            self.link(link)
        self.supports = [self.support(support) for support in self.frame.get("supports", [])]
        self.combos = []
        for index, load in enumerate(problem["loads"]):
            self.load(f"case {index}", load)
            self.model.add_load_combo(f"combo {index}", {f"case {index}": 1.0})

    def name(self):
        self.count += 1
        return f"x{self.count}"

    def away(self, node, place):
        """A node at a place, rigid with another."""
        place = numpy.array(place)
        if numpy.linalg.norm(place - self.places[node]) < 1e-6:
            return f"n{node}"
        name = self.name()
        self.model.add_node(name, *place)
        self.rigid(f"n{node}", name)
        return name

    def rigid(self, one, other):
        name = self.name()
        place = lambda node: numpy.array([self.model.nodes[node].X, self.model.nodes[node].Y, self.model.nodes[node].Z])
        length = numpy.linalg.norm(place(one) - place(other))
        turn = BEND * length / E
        bend = min(turn, SHORT * length**3 / (12 * E))
        self.model.add_section(name, PULL * length / E, bend, bend, turn)
        self.model.add_member(name, one, other, "rigid", name)
        return name

    def beam(self, index, beam):
        ends, s = [], beam["stiffness"]
        for end in beam["ends"]:
            place = self.places[end["node"]] + numpy.array(end.get("offset", [0, 0, 0]))
            ends.append(self.away(end["node"], place))
        self.model.add_material(f"m{index}", s["e"], s["g"], 0.3, 0.0)
        self.model.add_section(f"s{index}", s["area"], s["iy"], s["iz"], s["j"])
        member = self.model.add_member(f"b{index}", *ends, f"m{index}", f"s{index}") or f"b{index}"
        # Turned about its line until the library's z is ours.
        bar = self.model.members[f"b{index}"]
        axes = numpy.array(bar.T())[:3, :3]
        up = numpy.array(beam["up"], float)
        z = up - axes[0] * up.dot(axes[0])
        z /= numpy.linalg.norm(z)
        angle = math.atan2(numpy.cross(axes[2], z).dot(axes[0]), axes[2].dot(z))
        for sign in (1, -1):
            bar.rotation = math.degrees(sign * angle)
            if numpy.array(bar.T())[2, :3].dot(z) > 1 - 1e-9:
                break
        else:
            raise ValueError("the library's axes cannot be turned to ours")
        released = [flag for end in beam["ends"] for flag in end.get("released", [False] * 6)]
        if any(released):
            self.model.def_releases(f"b{index}", *released)
        return member

    def link(self, link):
        """As good as rigid where it holds, free where it does not: a stub of a tenth of a millimetre."""
        place = numpy.array(link["place"])
        near, far = (self.away(node, place + [0.1 * nth, 0, 0]) for nth, node in enumerate(link["nodes"]))
        if "link" not in self.model.sections:
            self.model.add_section("link", 5.0, SHORT * 1e-3 / (12 * E), SHORT * 1e-3 / (12 * E), 1e5)
        stub = self.name()
        self.model.add_member(stub, near, far, "rigid", "link")
        self.model.def_releases(stub, *[k == 0 for k in link["stiffness"]])

    def support(self, support):
        """A spring at one place, or at the balance point of levers."""
        axis = [abs(part) for part in support["along"]].index(1.0)
        at = []
        for place in support["places"]:
            where = self.places[place["node"]] + numpy.array(place.get("offset", [0, 0, 0]))
            at.append((self.away(place["node"], where), where, place["share"]))
        node, where, share = at[0]
        for other, there, more in at[1:]:
            middle = (where * share + there * more) / (share + more)
            balance = self.name()
            self.model.add_node(balance, *middle)
            for end in (node, other):
                lever = self.rigid(end, balance)
                axes = numpy.array(self.model.members[lever].T())[:3, :3]
                keep = [abs(axes[row][axis]) > 0.99 for row in range(3)]
                self.model.def_releases(lever, *[not k for k in keep], True, True, True)
            # Levers lie along x and carry along z: the balance point may rise and tilt, nothing else.
            self.model.def_support(balance, True, True, False, True, False, True)
            node, where, share = balance, middle, share + more
        if abs(share - 1) > 1e-9:
            raise ValueError("shares must add up to one")
        self.model.def_support_spring(node, DOFS[axis], support["stiffness"])
        return node, DOFS[axis], support["stiffness"] * support["along"][axis]

    def load(self, case, load):
        for on in load.get("nodes", []):
            for name, value in zip(["FX", "FY", "FZ", "MX", "MY", "MZ"], [*on["force"], *on.get("moment", [0, 0, 0])]):
                if value:
                    self.model.add_node_load(f"n{on['node']}", name, value, case)
        for on in load.get("beams", []):
            if "point" in on:
                on = on["point"]
                for name, value in zip(["FX", "FY", "FZ", "MX", "MY", "MZ"], [*on["force"], *on.get("moment", [0, 0, 0])]):
                    if value:
                        self.model.add_member_pt_load(f"b{on['beam']}", name, value, on["at"], case)
            else:
                on = on["line"]
                for axis, name in enumerate(["FX", "FY", "FZ"]):
                    a, b = on["per_mm"][0][axis], on["per_mm"][1][axis]
                    if (a or b) and on["to"] > on["from"]:
                        self.model.add_member_dist_load(f"b{on['beam']}", name, a, b, on["from"], on["to"], case)

    def solve(self):
        self.model.analyze_linear(log=False, check_stability=False, check_statics=False)

    def case(self, index):
        combo, nodes = f"combo {index}", self.model.nodes
        moved = [[getattr(nodes[f"n{n}"], dof)[combo] for dof in DOFS] for n in range(len(self.places))]
        reactions = []
        for n, node in enumerate(self.frame["nodes"]):
            held = node.get("held", [False] * 6)
            names = ["RxnFX", "RxnFY", "RxnFZ", "RxnMX", "RxnMY", "RxnMZ"]
            reactions.append([getattr(nodes[f"n{n}"], name)[combo] if hold else 0.0 for name, hold in zip(names, held)])
        ends = [[float(v) for v in self.model.members[f"b{b}"].f(combo).flatten()] for b in range(len(self.frame["beams"]))]
        supports = [-getattr(nodes[node], dof)[combo] * k for node, dof, k in self.supports]
        return moved, reactions, ends, supports


def worst(problem, answer):
    """The largest difference over the largest of its kind, over all cases."""
    model = Model(problem)
    model.solve()
    most = (0.0, "")
    for index, mine in enumerate(answer["cases"]):
        moved, reactions, ends, supports = model.case(index)
        force = lambda rows, a: [row[k] for row in rows for k in range(len(row)) if k % 6 // 3 == a]
        kinds = {
            "displacement": (force(moved, 0), force(mine["moved"], 0)),
            "rotation": (force(moved, 1), force(mine["moved"], 1)),
            "end force": (force(ends, 0), force(mine["ends"], 0)),
            "end moment": (force(ends, 1), force(mine["ends"], 1)),
            "reaction": (force(reactions, 0) + supports, force(mine["reactions"], 0) + mine["supports"]),
            "held moment": (force(reactions, 1), force(mine["reactions"], 1)),
        }
        for kind, (theirs, own) in kinds.items():
            scale = max([abs(value) for value in theirs], default=0.0)
            floor = {"displacement": 1e-7, "rotation": 1e-10}.get(kind, 1e-4)
            off = float(numpy.max(numpy.abs(numpy.subtract(theirs, own)), initial=0.0))
            if math.isnan(off):
                return math.inf, f"{kind}, {mine['name']}: the library finds no number"
            if off > floor and off > most[0] * scale:
                most = (off / scale if scale else math.inf, f"{kind}, {mine['name']}")
        if mine["residual"] > 1e-7:
            return math.inf, "residual"
    return most


def random_frame(seed):
    draw = random.Random(f"frame-{seed}")
    count = draw.randint(3, 12)
    vector = lambda size: [draw.uniform(-size, size) for _ in range(3)]
    nodes = [{"place": [draw.uniform(0, 4000), draw.uniform(0, 2000), draw.uniform(0, 1500)]} for _ in range(count)]
    pairs = [(draw.randrange(node), node) for node in range(1, count)]
    tree = len(pairs)
    pairs += [tuple(draw.sample(range(count), 2)) for _ in range(draw.randint(0, count))]
    beams = []
    for nth, pair in enumerate(pairs):
        ends = [{"node": node} for node in pair]
        for end in ends:
            if draw.random() < 0.3:
                end["offset"] = vector(80)
        # Only beams that are not needed to hold it together.
        if nth >= tree and draw.random() < 0.5:
            released = [False] * 6
            released[draw.choice([4, 5])] = True
            if draw.random() < 0.3:
                released[3] = True
            draw.choice(ends)["released"] = released
        beams.append({
            "ends": ends,
            "up": vector(1),
            "stiffness": {
                "e": draw.choice([210000.0, 70000.0]), "g": draw.choice([81000.0, 27000.0]), "area": draw.uniform(200, 1500),
                "iy": draw.uniform(5e4, 2e6), "iz": draw.uniform(5e4, 2e6), "j": draw.uniform(5e4, 2e6),
            },
        })
    nodes[0]["held"] = [True] * 6
    supports = []
    for node in draw.sample(range(1, count), draw.randint(0, 2)):
        if draw.random() < 0.5:
            nodes[node]["held"] = [draw.random() < 0.5 for _ in range(6)]
        else:
            along = [0.0] * 3
            along[draw.randrange(3)] = 1.0
            place = {"node": node, "offset": vector(100), "share": 1.0}
            supports.append({"places": [place], "along": along, "stiffness": draw.uniform(10, 1000)})
    problem = {"frame": {"nodes": nodes, "beams": beams, "supports": supports}, "loads": []}
    place = lambda end: [p + o for p, o in zip(nodes[end["node"]]["place"], end.get("offset", [0, 0, 0]))]
    for case in range(3):
        on_nodes = [{"node": draw.randrange(count), "force": vector(3000), "moment": vector(5e5)} for _ in range(draw.randint(0, 2))]
        on_beams = []
        for _ in range(draw.randint(1, 4)):
            beam = draw.randrange(len(beams))
            length = math.dist(*[place(end) for end in beams[beam]["ends"]])
            if draw.random() < 0.5:
                on_beams.append({"point": {"beam": beam, "at": draw.uniform(0.05, 0.95) * length, "force": vector(3000), "moment": vector(3e5)}})
            else:
                a, b = sorted([draw.uniform(0, 0.95), draw.uniform(0.05, 1)])
                on_beams.append({"line": {"beam": beam, "from": a * length, "to": b * length, "per_mm": [vector(3), vector(3)]}})
        problem["loads"].append({"name": f"case {case}", "nodes": on_nodes, "beams": on_beams})
    return problem


def without_shear(problem):
    for beam in problem["frame"]["beams"]:
        beam["stiffness"].pop("shear", None)
    return problem


def trailers():
    for file in sorted(DEMO.glob("*.json")):
        spec = json.loads(file.read_text())["spec"]
        yield file.stem, lambda spec=spec: without_shear(ours(["--trailer"], json.dumps(spec))["problem"])


def main():
    passed = failed = 0
    largest = 0.0
    cases = [(f"random {seed}", lambda seed=seed: random_frame(seed)) for seed in range(RANDOM)]
    for name, make in [*cases, *trailers()]:
        try:
            problem = make()
            off, what = worst(problem, ours([], json.dumps(problem)))
        except Exception as fault:  # noqa: BLE001 a frame that cannot be solved is a failure with a reason
            off, what = math.inf, f"{type(fault).__name__}: {fault}"
        if off <= TOLERANCE:
            passed += 1
            largest = max(largest, off)
        else:
            failed += 1
            print(f"FAIL {name}: {off:.3%} ({what})")
    print(f"largest difference {largest:.5%} of the largest of its kind (allowed {TOLERANCE:.1%})")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


sys.exit(main())
