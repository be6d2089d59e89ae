"""Cutting plans called optimal against general-purpose solvers that know nothing of cutting (HiGHS, OR-Tools CP-SAT).

Bars: problems of the shop's kind (tests/bench/shop_jobs.py) cut down to a dozen parts, as an integer program over every way to cut a piece,
solved by HiGHS. Panels: rectangles without overlap, solved by CP-SAT; up to three rectangles, however they lie, can be sawn apart by guillotine
cuts (four can lie as a pinwheel), so that the optimum of both cut classes is the same; four and five parts are tried with free cuts, and
sawn against them as a bound from below. The models (tests/bench/peers.py) are written from the definition of the problem in integers.

Prints a line for each that fails, then "N passed, N failed". The program is taken from the environment variable HITCHWRIGHT.
"""

import json
import os
import pathlib
import random
import sys

sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "bench"))
sys.dont_write_bytecode = True
import peers  # noqa: E402
import shop_jobs  # noqa: E402

PROGRAM = os.environ.get("HITCHWRIGHT", "target/debug/hitchwright")
SECONDS = 20
BARS, PANELS = 40, 36


def exactly(problem):
    """As it is read from a file: numbers by their decimal text."""
    return json.loads(json.dumps(problem), parse_float=peers.Decimal, parse_int=peers.Decimal)


def small_job(seed):
    problem = shop_jobs.problem("one", seed)
    most, parts = 6 + seed % 7, []
    for part in problem["parts"]:
        part["quantity"] = min(part["quantity"], 4, most)
        most -= part["quantity"]
        if part["quantity"]:
            parts.append(part)
    problem["parts"] = parts
    # Every fourth without new bars: the rack alone, which may be too little.
    if seed % 4 == 0 and len(problem["stock"]) > 2:
        problem["stock"] = [stock for stock in problem["stock"] if stock["quantity"] is not None] or problem["stock"]
    return exactly(problem)


def small_panels(seed):
    draw = random.Random(f"panels-{seed}")
    most = 3 + seed % 3
    free = draw.random() < 0.4
    sheet = lambda at: {
        "id": f"S{at}", "length_mm": draw.randint(900, 2500), "width_mm": draw.randint(600, 1300), "cost": f"{draw.uniform(20, 80):.2f}",
        "quantity": draw.choice([None, 1, 2]), "grain": draw.choice(["length", "width", "none"]), "offcut_value_per_m2": "0",
    }
    parts = []
    for at in range(most):
        length, width = draw.randint(200, 1400), draw.randint(150, 800)
        parts.append({"id": f"P{at}", "length_mm": length + draw.choice([0, 0.5]), "width_mm": width, "quantity": 1, "grain": draw.choice(["any", "any", "length", "width"])})
    return exactly({
        "kerf_mm": draw.choice([0, 2.5, 3.2]), "edge_trim_mm": draw.choice([0, 5, 10]), "keep_offcut_mm": [300, 300],
        "cuts": "free" if free else "guillotine", "max_stages": None, "stock": [sheet(at) for at in range(draw.randint(1, 3))], "parts": parts,
    })


def judge(name, problem, solved):
    """Both prove, and the same. With free cuts ours may leave a gap open, but not say what is wrong; sawn plans of more than three parts may
    cost more than free ones, or be impossible."""
    status, cost, bound, _ = peers.ours(name, problem, SECONDS, PROGRAM)
    wanted, optimum = solved
    if wanted not in ("optimal", "infeasible"):
        return f"{name}: the outside solver says {wanted}"
    if problem.get("cuts") == "guillotine" and peers.pieces(problem) > 3:
        fits = status == "infeasible" if wanted == "infeasible" else status == "infeasible" or (status == "optimal" and cost >= optimum)
        return None if fits else f"{name}: {status} at {cost}, with free cuts {wanted} at {optimum}"
    if problem.get("cuts") == "free":
        if status == "undecided" or (status == "feasible" and optimum is not None and bound <= optimum <= cost):
            return None
    if status != wanted:
        return f"{name}: {status} at {cost} (bound {bound}), the outside solver says {wanted} at {optimum}"
    if cost != optimum:
        return f"{name}: optimal at {cost}, the outside solver says {optimum}"
    return None


def main():
    said, seen = [], set()
    for seed in range(1, BARS + 1):
        problem = small_job(seed)
        program = peers.patterns(peers.Bars(problem))
        status, cost, _ = peers.highs(program, SECONDS) if program else ("too large", None, None)
        seen.add(("bars", status))
        said.append(judge(f"bars {seed}", problem, (status, peers.money_of(cost, peers.SCALE))))
    for seed in range(1, PANELS + 1):
        problem = small_panels(seed)
        status, cost, _ = peers.run_cp_sat(peers.panel_model(problem), SECONDS)
        seen.add(("panels", status))
        said.append(judge(f"panels {seed}", problem, (status, peers.money_of(cost, peers.SCALE_AREA))))
    for kind in ("bars", "panels"):
        for status in ("optimal", "infeasible"):
            said.append(None if (kind, status) in seen else f"no {kind} problem is {status}")
    failed = [line for line in said if line]
    print("\n".join(failed))
    print(f"{len(said) - len(failed)} passed, {len(failed)} failed")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
