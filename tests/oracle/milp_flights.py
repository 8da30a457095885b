"""Random waters whose doses come in steps, and the optimum of each stage by HiGHS's branch and bound.

Makes milp_flights.json. Made with Python 3.11, numpy 2.4.6, scipy 1.17.1 (the version of the last run
stands in the file). Seeded; a second run makes the same file but for waters that run into the time
limit.

Run again:  pip install numpy==2.4.6 scipy==1.17.1 highspy==1.16.0 && python milp_flights.py [HOW_MANY]
Only time:  python milp_flights.py --time FILE.json SECONDS      (one line of JSON; see below)

The problem, in meq per litre of finished water. Columns: n_j, whole steps of stock j; b_j, 0 or 1,
whether it is used; y_k >= 0, the share of base water k; d1, e1 <= tol and d2, e2 >= 0, the miss below
and above, inside and beyond tolerance; s, the place in the band.
    u_j = meq_per_step_j n_j            least_j b_j <= n_j <= most_j b_j
    volume   sum_j u_j / (1000 meq_per_ml_j) + sum_k y_k = 1
    goal i   form_i(u, y) + d1 + d2 - e1 - e2 - s = edge
    stage 1  z1 = sum_i weight_i / unit_i (d2_i + e2_i)
    stage 2  z2 = the same of d1 and e1
    stage 3  z3 = mL of stock per litre, sum_j u_j / meq_per_ml_j;  with "count" the number of stocks
             used before that, sum_j b_j
each with the stages before held by a cap, z <= value + 1e-7 max(1, value). Costs are multiplied by 1000:
with small weights HiGHS ends early. The whole numbers that HiGHS gives are rounded, put back as fixed
columns, and the values taken from that continuous program, so a value can be too large only by what
HiGHS's own gap allows; "bound" is HiGHS's dual bound. Waters for which HiGHS has no choice at
all within its two seconds a stage are left out, and named on the error output (14 of 260).

    {"versions": {..}, "waters": [{"stocks": [{"cation","anion","meq_per_ml","meq_per_step","least"}],
      "base": [{ion: meq/L}], "goals": [..as in lp_flights..], "count": bool, "kind": ..,
      "stages": [{"value", "bound", "proved"}], "steps": [n_j]}]}
--time (relative gap 1e-4, the planner's own) reads {"waters": [..]} of that form, and with "added": true doses
that come on top of a litre of base water: the misses are then those of the litre as poured, F times those of the
water, since HiGHS divides by nothing. It solves each within SECONDS and prints
    {"scipy": .., "waters": [{"ms": [per stage], "values": [..], "proved": [..]}]}
"""

import json
import os
import platform
import sys
import time

import numpy as np
import scipy
from scipy.optimize import Bounds, LinearConstraint, milp

from lp_flights import Chance, digits, make_base, make_goal, make_ratio, make_stocks, plain, some_mix

HERE = os.path.dirname(os.path.abspath(__file__))
SEED = 20260214
HOW_MANY = 260
SCALE = 1000.0
SLACK = 1e-7
LIMIT = 2.0  # seconds for one stage


def make_water(c, number):
    kind = ["reachable", "near", "random"][number % 3]
    zero = number % 4 == 3
    stocks = make_stocks(c, False)
    base = make_base(c, False)
    conc = some_mix(c, stocks, base)
    goals = []
    for _ in range(c.whole(2, 7)):
        from lp_flights import MEASURES
        if c.yes(0.12):
            goals.append(make_ratio(c, conc, kind, zero, False))
        else:
            form = dict(c.of(MEASURES))
            if any(g["form"] == form for g in goals):
                continue
            goals.append(make_goal(c, form, conc, kind, zero, False, False))
    for g in goals:
        g["form"] = {ion: plain(v) for ion, v in g["form"].items()}
        for key in ("lo", "hi", "tol", "unit", "weight"):
            g[key] = None if g[key] is None else plain(g[key])
    bottle = c.of([0.25, 0.5, 1.0])
    step = c.of([0.05, 0.1, 0.1, 0.25, 0.5])
    least = c.of([1, 1, 2, 5, 5, 10])
    for s in stocks:
        s["meq_per_step"] = digits(s["meq_per_ml"] * step / bottle, 12)
        s["least"] = least
        s.pop("salt", None)
    return {"kind": kind + ("+zero tolerance" if zero else ""), "stocks": stocks, "base": base,
            "goals": goals, "count": number % 5 == 2}


class Program:
    def __init__(self, water):
        self.lo, self.hi, self.whole, self.rows = [], [], [], []
        stocks, base, goals = water["stocks"], water["base"], water["goals"]
        inf = np.inf
        self.n = [self.column(0, np.floor(1000 * s["meq_per_ml"] / s["meq_per_step"]), True) for s in stocks]
        self.b = [self.column(0, 1, True) for _ in stocks]
        y = [self.column(0, 1) for _ in base]
        self.z1, self.z2 = {}, {}
        self.z3 = {n: s["meq_per_step"] / s["meq_per_ml"] for n, s in zip(self.n, stocks)}
        self.zc = {b: 1.0 for b in self.b}
        litres = {n: s["meq_per_step"] / s["meq_per_ml"] / 1000 for n, s in zip(self.n, stocks)}
        added = water.get("added", False)
        volume = {} if added else dict(litres)
        volume.update({k: 1.0 for k in y})
        self.rows.append((volume, 1, 1))
        for n, b, s in zip(self.n, self.b, stocks):
            most = self.hi[n]
            self.rows.append(({n: 1.0, b: -float(s["least"])}, 0, inf))
            self.rows.append(({n: 1.0, b: -most}, -inf, 0))
        for g in goals:
            row = {}
            for n, s in zip(self.n, stocks):
                v = g["form"].get(s["cation"], 0) + g["form"].get(s["anion"], 0)
                if v:
                    row[n] = v * s["meq_per_step"]
            for k, w in zip(y, base):
                v = sum(a * w.get(ion, 0) for ion, a in g["form"].items())
                if v:
                    row[k] = v
            rate = g["weight"] / g["unit"]
            lo, hi = g["lo"], g["hi"]
            edge = lo if lo is not None else hi
            if added:
                # form / F near the edge, F = 1 + added litres: form - edge (F - 1) near the edge
                for n, v in litres.items():
                    row[n] = row.get(n, 0.0) - edge * v
            place = (0, (hi - lo) if hi is not None else inf) if lo is not None else (-inf, 0)
            for sign, cost, most in ((1, self.z2, g["tol"]), (-1, self.z2, g["tol"]),
                                     (1, self.z1, inf), (-1, self.z1, inf)):
                j = self.column(0, most)
                row[j] = float(sign)
                cost[j] = rate
            row[self.column(*place)] = -1.0
            self.rows.append((row, edge, edge))

    def column(self, lo, hi, whole=False):
        self.lo.append(float(lo))
        self.hi.append(float(hi))
        self.whole.append(1 if whole else 0)
        return len(self.lo) - 1

    def solve(self, cost, caps, limit, fixed=None, gap=0.0):
        width = len(self.lo)
        rows = self.rows + [(c, -np.inf, v + SLACK * max(1.0, abs(v))) for c, v in caps]
        a = np.zeros((len(rows), width))
        for i, (row, _, _) in enumerate(rows):
            for j, v in row.items():
                a[i, j] = v
        c = np.zeros(width)
        for j, v in cost.items():
            c[j] = v * SCALE
        lo, hi, whole = np.array(self.lo), np.array(self.hi), np.array(self.whole)
        if fixed is not None:
            for j, v in fixed.items():
                lo[j] = hi[j] = v
            whole[:] = 0
        return milp(c, constraints=LinearConstraint(a, [r[1] for r in rows], [r[2] for r in rows]),
                    bounds=Bounds(lo, hi), integrality=whole,
                    options={"time_limit": limit, "mip_rel_gap": gap})

    def value(self, cost, x):
        return float(sum(v * x[j] for j, v in cost.items()))


def solve(water, limit, gap=0.0):
    p = Program(water)
    costs = [p.z1, p.z2] + ([p.zc] if water["count"] else []) + [p.z3]
    caps, stages, steps, ms = [], [], None, []
    for cost in costs:
        begin = time.perf_counter()
        r = p.solve(cost, caps, limit, gap=gap)
        ms.append(1000 * (time.perf_counter() - begin))
        if r.x is None:
            return None, stages, steps, ms
        fixed = {j: round(r.x[j]) for j in p.n + p.b}
        again = p.solve(cost, caps, limit, fixed)
        x = again.x if again.x is not None else r.x
        value = p.value(cost, x)
        bound = r.mip_dual_bound / SCALE if r.mip_dual_bound is not None else -np.inf
        stages.append({"value": value, "bound": bound, "proved": bool(r.status == 0)})
        steps = [int(fixed[j]) for j in p.n]
        caps.append((cost, value))
    return True, stages, steps, ms


def main():
    if sys.argv[1:2] == ["--time"]:
        waters = json.load(open(sys.argv[2]))["waters"]
        limit = float(sys.argv[3])
        out = []
        for w in waters:
            _, stages, _, ms = solve(w, limit, 1e-4)
            out.append({"ms": ms, "values": [s["value"] for s in stages], "proved": [s["proved"] for s in stages]})
        print(json.dumps({"scipy": scipy.__version__, "waters": out}))
        return
    how_many = int(sys.argv[1]) if len(sys.argv) > 1 else HOW_MANY
    c = Chance(SEED)
    waters = []
    for number in range(how_many):
        water = make_water(c, number)
        ok, stages, steps, _ = solve(water, LIMIT)
        if ok is None:
            print("no answer by HiGHS for", number, file=sys.stderr)
            continue
        water["stages"], water["steps"] = stages, steps
        waters.append(water)
    out = {"versions": {"python": platform.python_version(), "numpy": np.__version__,
                        "scipy": scipy.__version__}, "seed": SEED}
    text = json.dumps(out)[:-1] + ', "waters": [\n' + ",\n".join(json.dumps(w) for w in waters) + "\n]}\n"
    open(os.path.join(HERE, "milp_flights.json"), "w").write(text)
    print(len(waters), "waters,", sum(all(s["proved"] for s in w["stages"]) for w in waters), "proved")


if __name__ == "__main__":
    main()
