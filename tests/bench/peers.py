#!/usr/bin/env python3
"""General-purpose solvers on the same cutting problems, side by side with `hitchwright`, one thread each.

usage: peers.py [--seconds S] [--program FILE] [--peers highs,cp-sat] [--json FILE] PROBLEM.json|FOLDER ...

Needs the packages of tests/bench/requirements.txt (HiGHS and OR-Tools) and a release build of the program. Problems are the JSON of
`nest-bars` and `nest-panels`; `cargo bench --bench families -- FAMILY --write FOLDER` writes those of a family.

Bars. Both peers get the same integer program: the smaller of the first two below, which have the same strong relaxation, and the third
where both are too large:
  patterns     every way to cut a piece, listed (with what the remainder is worth)
  arc flow     Valerio de Carvalho 1999, "Exact solution of bin-packing problems using column generation and branch-and-bound": a path of
               parts, longest first, from nought to where the bar's cutting ends; here with an end arc for each kind of piece
  assignment   which part is on which bar
Panels: CP-SAT alone, rectangles without overlap on sheets (free cuts: for guillotine problems of more than three parts a relaxation,
marked "free", and no worth of remainders, "no worth").

Times contain building the model. Exit 1 when two that both claim the optimum of the same problem disagree.
"""

import argparse
import json
import math
import pathlib
import subprocess
import sys
import time
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

MOST_PATTERNS = 150_000
MOST_ARCS = 250_000
MOST_ASSIGNED = 60_000
SCALE = 10**8  # money of bars in whole numbers
SCALE_AREA = 10**12  # money of panels


def tenths(value, up):
    return int((Decimal(value or 0) * 10).to_integral_value(ROUND_CEILING if up else ROUND_FLOOR))


def read(path):
    return json.loads(pathlib.Path(path).read_text(), parse_float=Decimal, parse_int=Decimal)


def is_panels(problem):
    return "cuts" in problem or any("width_mm" in line for line in problem["stock"])


# ---- bars: integers only, from the definition of the problem ----


class Bars:
    """Lengths in tenths with the kerf added, so that a bar holds parts when they sum to at most what it bears. Money in 10^-8."""

    def __init__(self, problem):
        self.kerf = tenths(problem.get("kerf_mm"), True)
        self.keep = max(1, tenths(problem.get("keep_offcut_mm"), True))
        demand = {}
        for part in problem["parts"]:
            if any(end.get("angle_deg", 0) for end in part.get("ends") or []):
                raise ValueError("mitred parts are not modelled here")
            length = tenths(part["length_mm"], True) + self.kerf
            demand[length] = demand.get(length, 0) + int(part.get("quantity", 1))
        self.items = sorted(((w, n) for w, n in demand.items() if n), reverse=True)
        count = sum(n for _, n in self.items)
        trim = tenths(problem.get("end_trim_mm"), True)
        kinds = {}
        for stock in problem["stock"]:
            length = tenths(stock["length_mm"], False)
            own = stock.get("end_trim_mm")
            bears = length - (trim if own is None else tenths(own, True)) + self.kerf
            priced = stock.get("cost") is not None
            cost = int(Decimal(stock["cost"]) * SCALE) if priced else length * SCALE // 10
            value = int(Decimal(stock.get("offcut_value_per_m") or 0) * 10_000) if priced else 0
            limit = stock.get("quantity")
            kinds[bears, cost, value] = kinds.get((bears, cost, value), 0) + (count if limit is None else int(limit))
        self.kinds = [(bears, cost, value, min(limit, count)) for (bears, cost, value), limit in kinds.items() if limit]
        self.count = count

    def cost(self, kind, used):
        bears, cost, value, _ = kind
        remainder = bears - self.kerf - used
        return cost - value * remainder if remainder >= self.keep else cost


class Program:
    """A small integer program: columns (cost, most), rows of (column, coefficient) within bounds."""

    def __init__(self, form):
        self.form, self.cost, self.most, self.rows = form, [], [], []

    def column(self, cost, most):
        self.cost.append(cost)
        self.most.append(most)
        return len(self.cost) - 1

    def row(self, entries, low, high):
        self.rows.append((entries, low, high))


def patterns(bars):
    program = Program("patterns")
    demand = [[] for _ in bars.items]
    for kind in bars.kinds:
        bears, _, _, limit = kind
        of_kind = []
        chosen = [0] * len(bars.items)

        def go(at, used):
            if at == len(bars.items):
                if used:
                    column = program.column(bars.cost(kind, used), limit)
                    of_kind.append((column, 1))
                    for place, n in enumerate(chosen):
                        if n:
                            demand[place].append((column, n))
                return len(program.cost) <= MOST_PATTERNS
            weight, n = bars.items[at]
            for k in range(min(n, (bears - used) // weight), -1, -1):
                chosen[at] = k
                if not go(at + 1, used + k * weight):
                    return False
            chosen[at] = 0
            return True

        if not go(0, 0):
            return None
        program.row(of_kind, 0, limit)
    for place, (_, n) in enumerate(bars.items):
        program.row(demand[place], n, n)
    return program


def arc_flow(bars):
    program = Program("arc flow")
    longest = max(bears for bears, _, _, _ in bars.kinds)
    nodes, arcs = {0}, []
    for place, (weight, n) in enumerate(bars.items):
        tails = {}  # node: how many of this part may still follow
        for start in sorted(nodes):
            for k in range(n):
                tail = start + k * weight
                if tail + weight > longest or tails.get(tail, 0) >= n - k:
                    break
                tails[tail] = n - k
        arcs += [(tail, tail + weight, place) for tail in tails]
        nodes.update(tail + weight for tail in tails)
        if len(arcs) > MOST_ARCS:
            return None
    balance = {node: [] for node in nodes}
    demand = [[] for _ in bars.items]
    for tail, head, place in arcs:
        column = program.column(0, bars.items[place][1])
        balance[tail].append((column, -1))
        balance[head].append((column, 1))
        demand[place].append((column, 1))
    for kind in bars.kinds:
        ends = []
        for node in sorted(nodes):
            if 0 < node <= kind[0]:
                column = program.column(bars.cost(kind, node), kind[3])
                balance[node].append((column, -1))
                ends.append((column, 1))
        program.row(ends, 0, kind[3])
        if len(program.cost) > MOST_ARCS:
            return None
    for node, entries in balance.items():
        if node:
            program.row(entries, 0, 0)
    for place, (_, n) in enumerate(bars.items):
        program.row(demand[place], n, n)
    return program


def first_fit(bars, bears):
    open_bars = []
    for weight, n in bars.items:
        for _ in range(n):
            at = next((at for at, left in enumerate(open_bars) if left >= weight), None)
            if at is None:
                open_bars.append(bears)
                at = len(open_bars) - 1
            open_bars[at] -= weight
    return len(open_bars)


def assignment(bars):
    program = Program("assignment")
    on_bars = [[] for _ in bars.items]
    for bears, cost, value, limit in bars.kinds:
        shortest = min(weight for weight, _ in bars.items)
        if bears < shortest:
            continue
        before = None
        for _ in range(min(limit, first_fit(bars, bears) + 1)):
            opened = program.column(cost, 1)
            parts = [(program.column(0, min(n, bears // weight)), weight) for weight, n in bars.items if weight <= bears]
            for (column, weight) in parts:
                on_bars[next(at for at, (w, _) in enumerate(bars.items) if w == weight)].append((column, 1))
            room = bears - bars.kerf
            program.row(parts + [(opened, -bears)], -math.inf, 0)
            program.row([(column, 1) for column, _ in parts] + [(opened, -1)], 0, math.inf)
            if before is not None:
                program.row([(opened, 1), (before, -1)], -math.inf, 0)
            before = opened
            if value and room >= bars.keep:
                # What is kept is at most what is left, and nought unless at least the least kept length is.
                kept, length = program.column(0, 1), program.column(-value, room)
                program.row(parts + [(length, 1), (opened, -room)], -math.inf, 0)
                program.row([(length, 1), (kept, -room)], -math.inf, 0)
                program.row([(length, 1), (kept, -bars.keep)], 0, math.inf)
            if len(program.cost) > MOST_ASSIGNED:
                return None
    for place, (_, n) in enumerate(bars.items):
        program.row(on_bars[place], n, n)
    return program


def modelled(bars):
    if not bars.kinds or not bars.items:
        return None
    exact = [program for program in (patterns(bars), arc_flow(bars)) if program]
    return min(exact, key=lambda program: len(program.cost)) if exact else assignment(bars)


# ---- the peers; each answers (status, cost, bound) in whole money ----


def highs(program, seconds):
    import highspy
    import numpy

    inf = highspy.kHighsInf
    lp = highspy.HighsLp()
    n = len(program.cost)
    lp.num_col_, lp.num_row_ = n, len(program.rows)
    lp.col_cost_ = [cost / SCALE for cost in program.cost]
    lp.col_lower_, lp.col_upper_ = [0.0] * n, [float(most) for most in program.most]
    lp.integrality_ = [highspy.HighsVarType.kInteger] * n
    lp.row_lower_ = [-inf if low == -math.inf else low for _, low, _ in program.rows]
    lp.row_upper_ = [inf if high == math.inf else high for _, _, high in program.rows]
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = numpy.cumsum([0] + [len(entries) for entries, _, _ in program.rows])
    lp.a_matrix_.index_ = [column for entries, _, _ in program.rows for column, _ in entries]
    lp.a_matrix_.value_ = [float(value) for entries, _, _ in program.rows for _, value in entries]
    solver = highspy.Highs()
    for name, value in (("output_flag", False), ("threads", 1), ("time_limit", float(seconds)), ("mip_rel_gap", 0.0), ("mip_abs_gap", 1e-9)):
        solver.setOptionValue(name, value)
    solver.passModel(lp)
    solver.run()
    status = solver.getModelStatus()
    info = solver.getInfo()
    if status == highspy.HighsModelStatus.kInfeasible:
        return "infeasible", None, None
    if status == highspy.HighsModelStatus.kOptimal:
        # The plan's own cost in whole numbers, not the solver's float.
        values = solver.getSolution().col_value
        cost = sum(cost * round(value) for cost, value in zip(program.cost, values))
        return "optimal", cost, cost
    found = info.objective_function_value
    cost = round(found * SCALE) if abs(found) < inf else None
    return ("undecided" if cost is None else "feasible"), cost, round(info.mip_dual_bound * SCALE) if abs(info.mip_dual_bound) < inf else None


def cp_sat(program, seconds):
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    columns = [model.new_int_var(0, int(most), "") for most in program.most]
    for entries, low, high in program.rows:
        total = cp_model.LinearExpr.weighted_sum([columns[c] for c, _ in entries], [int(value) for _, value in entries])
        if low == high:
            model.add(total == int(low))
        else:
            if low != -math.inf:
                model.add(total >= int(low))
            if high != math.inf:
                model.add(total <= int(high))
    used = [(column, cost) for column, cost in zip(columns, program.cost) if cost]
    model.minimize(cp_model.LinearExpr.weighted_sum([column for column, _ in used], [cost for _, cost in used]))
    return run_cp_sat(model, seconds)


def run_cp_sat(model, seconds):
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return "infeasible", None, None
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        name = "optimal" if status == cp_model.OPTIMAL else "feasible"
        return name, round(solver.objective_value), round(solver.best_objective_bound)
    return "undecided", None, None


# ---- panels ----


def panel_model(problem):
    """Rectangles without overlap, each on one sheet. Sizes grow by the kerf and so does the sheet. Without worth of remainders."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    kerf, trim = tenths(problem.get("kerf_mm"), True), tenths(problem.get("edge_trim_mm"), True)
    parts = [part for part in problem["parts"] for _ in range(int(part.get("quantity", 1)))]
    sheets = []
    for stock in problem["stock"]:
        length, width = tenths(stock["length_mm"], False), tenths(stock["width_mm"], False)
        cost = int(Decimal(stock["cost"]) * SCALE_AREA) if stock.get("cost") is not None else length * width * SCALE_AREA // 100
        limit = len(parts) if stock.get("quantity") is None else min(len(parts), int(stock["quantity"]))
        inside = (length - 2 * trim + kerf, width - 2 * trim + kerf)
        if min(inside) > kerf:
            sheets += [(inside, cost, stock.get("grain", "length"), copy) for copy in range(limit)]
    used, before = [], None
    for sheet in sheets:
        used.append(model.new_bool_var(""))
        if sheet[3] > 0:
            model.add_implication(used[-1], before)
        before = used[-1]
    across = [[] for _ in sheets]
    up = [[] for _ in sheets]
    on = [[] for _ in sheets]
    for part in parts:
        length, width = (tenths(part[name], True) + kerf for name in ("length_mm", "width_mm"))
        places = []
        for at, ((dx, dy), _, grain, _) in enumerate(sheets):
            wanted = part.get("grain", "any")
            ways = [(length, width), (width, length)]
            if wanted != "any" and grain != "none":
                ways = [ways[0] if wanted == grain else ways[1]]
            for w, h in dict.fromkeys(ways):
                if w <= dx and h <= dy:
                    lies = model.new_bool_var("")
                    x, y = model.new_int_var(0, dx - w, ""), model.new_int_var(0, dy - h, "")
                    across[at].append(model.new_optional_fixed_size_interval_var(x, w, lies, ""))
                    up[at].append(model.new_optional_fixed_size_interval_var(y, h, lies, ""))
                    model.add_implication(lies, used[at])
                    places.append((lies, at, w * h))
        model.add_exactly_one([lies for lies, _, _ in places]) if places else model.add_bool_or([])
        for lies, at, area in places:
            on[at].append(lies * area)
    for at, sheet in enumerate(sheets):
        model.add_no_overlap_2d(across[at], up[at])
        if on[at]:
            model.add(sum(on[at]) <= sheet[0][0] * sheet[0][1])
    model.minimize(sum(sheet[1] * opened for sheet, opened in zip(sheets, used)))
    return model


def worthless(problem):
    return all(not Decimal(stock.get("offcut_value_per_m2") or 0) or stock.get("cost") is None for stock in problem["stock"])


def pieces(problem):
    return sum(int(part.get("quantity", 1)) for part in problem["parts"])


# ---- one problem ----


def ours(path, problem, seconds, program):
    """The command on the same problem with the same seconds; what it says of its own time is the search's."""
    text = dict(problem, time_limit_ms=int(seconds * 1000))
    command = "nest-panels" if is_panels(problem) else "nest-bars"
    began = time.perf_counter()
    done = subprocess.run([program, command, "-"], input=json.dumps(text, default=float), capture_output=True, text=True)
    took = time.perf_counter() - began
    if done.returncode not in (0, 3, 4):
        sys.exit(f"{path}: {done.stderr.strip()}")
    answer = json.loads(done.stdout, parse_float=Decimal)
    money = {name: None if answer[name] is None else Decimal(answer[name]) for name in ("net_cost", "lower_bound")}
    return answer["status"], money["net_cost"], money["lower_bound"], took


def peers_on(problem, seconds, names):
    """For each peer: its form, status, cost, bound, seconds."""
    found = {}
    if is_panels(problem):
        if "cp-sat" in names:
            began = time.perf_counter()
            status, cost, bound = run_cp_sat(panel_model(problem), seconds)
            form = "no overlap"
            if problem.get("cuts", "guillotine") == "guillotine" and (pieces(problem) > 3 or problem.get("max_stages") is not None):
                form += ", free"
            if not worthless(problem):
                form += ", no worth"
            found["cp-sat"] = (form, status, money_of(cost, SCALE_AREA), money_of(bound, SCALE_AREA), time.perf_counter() - began)
        return found
    began = time.perf_counter()
    try:
        program = modelled(Bars(problem))
    except ValueError:
        program = None
    building = time.perf_counter() - began
    for name, solve in (("highs", highs), ("cp-sat", cp_sat)):
        if name not in names:
            continue
        began = time.perf_counter()
        if program is None:
            found[name] = ("too large", "undecided", None, None, building)
            continue
        status, cost, bound = solve(program, seconds)
        found[name] = (program.form, status, money_of(cost, SCALE), money_of(bound, SCALE), building + time.perf_counter() - began)
    return found


def money_of(whole, scale):
    return None if whole is None else Decimal(whole) / scale


def agree(one, other):
    """Two that claim to have proven the same problem."""
    if "optimal" in (one[0], other[0]) and "infeasible" in (one[0], other[0]):
        return False
    return one[0] != "optimal" or other[0] != "optimal" or one[1] == other[1]


def main():
    reader = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    reader.add_argument("paths", nargs="+", type=pathlib.Path)
    reader.add_argument("--seconds", type=float, default=10)
    reader.add_argument("--program", default="target/release/hitchwright")
    reader.add_argument("--peers", default="highs,cp-sat")
    reader.add_argument("--json", type=pathlib.Path)
    options = reader.parse_args()
    files = [file for path in options.paths for file in (sorted(path.rglob("*.json")) if path.is_dir() else [path])]
    names = options.peers.split(",")
    lines, wrong = [], 0
    for file in files:
        problem = read(file)
        own = ours(file, problem, options.seconds, options.program)
        found = peers_on(problem, options.seconds, names)
        row = {"family": file.parent.name, "name": file.stem, "hitchwright": {"status": own[0], "cost": own[1], "bound": own[2], "seconds": own[3]}}
        text = f"{file.parent.name:<18}{file.stem:<22} ours {own[0]:<10} {own[1]} in {own[3]:.3f} s"
        for name, (form, status, cost, bound, seconds) in found.items():
            row[name] = {"form": form, "status": status, "cost": cost, "bound": bound, "seconds": seconds}
            text += f" | {name} ({form}) {status:<10} {cost if cost is None else round(cost, 4)} in {seconds:.3f} s"
            if "," not in form and not agree((own[0], own[1]), (status, cost)):
                text += "  DISAGREE"
                wrong += 1
        print(text, flush=True)
        lines.append(row)
    if options.json:
        options.json.write_text("".join(json.dumps(line, default=str) + "\n" for line in lines))
    summed(lines, names)
    print(f"{len(files)} problems, {wrong} disagreements")
    sys.exit(1 if wrong else 0)


def summed(lines, names):
    print(f"\n{'family':<18} {'n':>4}  " + "  ".join(f"{name:>12} proven / median s" for name in ["hitchwright", *names]))
    for family in dict.fromkeys(line["family"] for line in lines):
        of = [line for line in lines if line["family"] == family]
        text = f"{family:<18} {len(of):>4}  "
        for name in ["hitchwright", *names]:
            there = [line[name] for line in of if name in line]
            proven = sum(one["status"] in ("optimal", "infeasible") for one in there)
            times = sorted(float(one["seconds"]) for one in there)
            text += f"{proven:>19} / {times[len(times) // 2]:>8.3f}  " if times else f"{'-':>30}  "
        print(text)


if __name__ == "__main__":
    main()
