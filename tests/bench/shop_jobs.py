#!/usr/bin/env python3
"""Writes bar-cutting problems shaped like a small fabrication shop's, in the JSON that `hitchwright nest-bars` reads.

usage: shop_jobs.py SIZE SEED > problem.json       SIZE: one | batch | week | year
  one   12-60 parts   one section of one trailer, or two
  batch 60-200 parts  a few jobs planned together
  week  500-1,500     a week's work
  year  10,000        far past any shop: how does it grow
Same SIZE and SEED give the same problem everywhere. All numbers are invented.
"""
import json, random, sys

def problem(size, seed):
    r = random.Random(f"{size}-{seed}")
    n = {"one": r.randint(12, 60), "batch": r.randint(60, 200), "week": r.randint(500, 1500), "year": 10000}[size]
    grid = r.choice([1, 1, 5, 10])                      # tenths of a millimetre
    per_m = r.uniform(3.0, 14.0)
    lengths = r.choice([[6000], [6000, 7500], [6100, 12200], [6000, 8000, 12000], [6500, 8000]])
    value = round(per_m * r.uniform(0.4, 0.7), 2)
    stock = [{"id": f"new-{L}", "length_mm": L, "cost": f"{per_m * L / 1000 * r.uniform(0.94, 1.06):.2f}",
              "quantity": None, "offcut_value_per_m": f"{value:.2f}"} for L in lengths]
    keep = r.choice([300, 400, 500, 600, 1000])
    rack = r.choice([0, r.randint(1, 6), r.randint(6, 25)])
    for i in range(rack if size != "year" else 200):
        L = r.randint(keep, 4500)
        stock.append({"id": f"rack-{i + 1}", "length_mm": L, "cost": f"{value * L / 1000:.2f}", "quantity": 1,
                      "offcut_value_per_m": f"{value:.2f}"})
    parts, left, k = [], n, 0
    kinds = {"one": r.randint(4, 14), "batch": r.randint(10, 35), "week": r.randint(30, 60), "year": 80}[size]
    while left > 0:
        kind = r.random()
        L = (r.uniform(2200, 5200) if kind < 0.15 else     # rails, drawbars
             r.uniform(900, 2200) if kind < 0.55 else      # cross-members, stiles
             r.uniform(250, 900) if kind < 0.90 else       # rungs, posts, braces
             r.uniform(80, 250))                           # lugs, spacers
        L = round(L * 10 / grid) * grid / 10
        q = min(left, max(1, int(r.gammavariate(2.0, n / kinds / 2.0)))) if k + 1 < kinds else left
        k += 1; left -= q
        parts.append({"id": f"P{k}", "length_mm": L, "quantity": q})
    return {"kerf_mm": r.choice([1.3, 1.6, 2.0, 2.5, 3.0]), "end_trim_mm": r.choice([0, 5, 10, 20]), "keep_offcut_mm": keep,
            "stock": stock, "parts": parts, "time_limit_ms": 10000}

if __name__ == "__main__":
    json.dump(problem(sys.argv[1], sys.argv[2]), sys.stdout, indent=1)
