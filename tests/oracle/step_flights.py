"""Random waters whose doses come in steps, and the best of ALL choices of steps.

Makes step_flights.json. Made with Python 3.11, numpy 2.4.6, scipy 1.17.1 (the versions of the last run stand
in the file). Seeded; a second run makes the same file.

Run again:  pip install numpy==2.4.6 scipy==1.17.1 highspy==1.16.0 && python step_flights.py      (about 3 minutes)

Every choice of whole steps (one to three stocks, each 0 or at least its least amount) is tried; for each
the shares of the base waters are optimised by HiGHS (scipy.optimize.linprog), stage by stage. So nothing is
searched, and no branch and bound is trusted.

A bottle holds "bottle" litres, n_j steps of stock j bring meq_per_step_j n_j meq and ml_per_step_j n_j mL
per litre as poured. "made_up": doses, then base water up to the litre, so the finished litres are F = 1 and
the shares b_k add up to 1 - volume. "added": doses into a litre of base water, sum b_k = 1, and
F = 1 + volume. 0 <= b_k <= at_most_k. Concentrations of the finished water are amounts / F. DoseLimits: mL of all
stocks per litre as poured, mg/L of dissolved solids of the finished water (never below what the leanest
mixture of the base waters has by itself).
    miss_i    distance of sum form[ion]*concentration[ion] from [lo, hi]
    stage L   (only with "largest") max_i rate_i max(0, miss_i - tol_i)
    stage 1   sum_i rate_i max(0, miss_i - tol_i)
    stage 2   sum_i rate_i min(miss_i, tol_i)
    then      "count": number of stocks used;  the costs, each sum over doses and shares, per finished litre
A choice is better in a stage when it is lower by more than 1e-7 (and 1e-11 of the value), the stages before being the
same to that.
    {"versions": {..}, "waters": [{"added", "stocks": [{"cation","anion","meq_per_ml","meq_per_step","least",
      "most","required"}], "base": [{"at_most", "ions": {..}}], "goals": [{"form","lo","hi","tol","rate"}],
      "limits": [mL/L|null, mg/L|null], "largest", "count", "costs": [[per meq..], [per share..]],
      "best": [value of each stage], "steps": [n_j], "choices": how many}]}
"""

import itertools
import json
import os
import platform

import numpy as np
import scipy
from scipy.optimize import linprog

from lp_flights import MEASURES, RATIOS, SALTS, Chance, digits

HERE = os.path.dirname(os.path.abspath(__file__))
SEED = 20260306
HOW_MANY = 150
MG = {"Ca": 40.078 / 2, "Mg": 24.305 / 2, "Na": 22.98976928, "K": 39.0983, "Cl": 35.45, "SO4": 96.06 / 2,
      "NO3": 62.004, "Alk": 61.0168}
EVEN = 1e-7


def make(c, number):
    count = c.whole(1, 3)
    most = {1: 150, 2: 20, 3: 8}[count]
    bottle = c.of([0.25, 0.5, 1.0])
    stocks = []
    for salt, cation, anion in c.some([s for s in SALTS if s[0] != "CaSO4"], count):
        strength = digits(c.log(0.1, 1.0), 3)
        step = c.of([0.05, 0.1, 0.25, 0.5, 1.0, 0.0481])
        stocks.append({"cation": cation, "anion": anion, "meq_per_ml": strength,
                       "meq_per_step": digits(strength * step / bottle, 12), "least": c.of([1, 1, 2, 5]),
                       "most": most, "required": c.yes(0.1)})
    base, room = [], 0.0
    waters = c.whole(1, 4)
    for k in range(waters):
        ions = {}
        if k or c.yes(0.3):
            for ion in ("Ca", "Mg", "Na", "Cl", "Alk", "SO4"):
                if c.yes(0.75):
                    ions[ion] = digits(c.real(0.0, 3.0), 4)
        at_most = 1.0 if c.yes(0.5) or (k == waters - 1 and room < 1) else digits(c.real(0.1, 1.0), 2)
        room += at_most
        base.append({"at_most": at_most, "ions": ions})
    wide = c.yes(0.4)
    goals = []
    for _ in range(c.whole(1, 5)):
        weight = digits(c.log(0.01, 1000), 3) if wide else c.of([1, 1, 2, 0.5])
        if c.yes(0.2):
            a, b = c.of(RATIOS)
            r = digits(c.log(0.3, 4), 3)
            form = dict(a)
            for ion, v in b.items():
                form[ion] = form.get(ion, 0) - r * v
            lo, hi = c.of([(0.0, 0.0), (None, 0.0), (0.0, None)])
            tol = c.of([0.0, 0.05, 0.2])
        else:
            form = dict(c.of(MEASURES))
            want = digits(c.log(0.1, 4), 3)
            lo, hi = c.of([(want, want), (want, want), (None, want), (want, None), (want, want + 0.3)])
            tol = c.of([0.0, 0.02, 0.05, 0.1, digits(c.log(1e-5, 0.1), 3)])
        unit = tol if tol > 0 else 0.05
        goals.append({"form": form, "lo": lo, "hi": hi, "tol": tol, "rate": digits(weight / unit, 6)})
    sodium = [[1.0 if s["cation"] == "Na" else 0.0 for s in stocks], [b["ions"].get("Na", 0.0) for b in base]]
    volume = [[digits(1 / s["meq_per_ml"], 15) for s in stocks], [0.0 for _ in base]]
    price = [[digits(c.real(0, 0.02), 3) for _ in stocks], [digits(c.real(0, 0.5), 3) for _ in base]]
    costs = {0: [volume], 1: [sodium, volume], 2: [price, volume], 3: [volume]}[number % 4]
    limits = [digits(c.real(2, 60), 3), digits(c.real(80, 1500), 4)] if c.yes(0.3) else [None, None]
    return {"added": c.yes(0.5), "stocks": stocks, "base": base, "goals": goals, "limits": limits,
            "largest": c.yes(0.3), "count": number % 4 == 3, "costs": costs}


def solids(ions):
    return sum(MG[ion] * v for ion, v in ions.items())


class Shares:
    """The linear program of the shares of base water for given steps."""

    def __init__(self, water, steps):
        stocks, base = water["stocks"], water["base"]
        u = [n * s["meq_per_step"] for n, s in zip(steps, stocks)]
        ml = sum(x / s["meq_per_ml"] for x, s in zip(u, stocks))
        total = 1.0 if water["added"] else 1.0 - ml / 1000
        f = 1.0 + ml / 1000 if water["added"] else 1.0
        self.fits = total > 1e-9 and (water["limits"][0] is None or ml <= water["limits"][0] * (1 + 1e-9))
        if not self.fits:
            return
        k, m = len(base), len(water["goals"])
        width = k + 2 * m + 1                                        # b, miss, beyond, largest
        self.k, self.m, self.water, self.steps, self.u, self.f = k, m, water, steps, u, f
        a, ub = [], []
        for i, g in enumerate(water["goals"]):                       # misses are counted in rate * native
            rate = g["rate"]
            fixed = sum((g["form"].get(s["cation"], 0) + g["form"].get(s["anion"], 0)) * x
                        for s, x in zip(stocks, u)) / f
            of = [sum(v * b["ions"].get(ion, 0) for ion, v in g["form"].items()) / f for b in base]
            for side, edge in ((1, g["hi"]), (-1, g["lo"])):
                if edge is not None:                                  # side (value - edge) <= miss
                    row = np.zeros(width)
                    row[:k] = [side * rate * v for v in of]
                    row[k + i] = -1
                    a.append(row)
                    ub.append(side * rate * (edge - fixed))
            row = np.zeros(width)                                     # miss - tol <= beyond
            row[k + i], row[k + m + i] = 1, -1
            a.append(row)
            ub.append(rate * g["tol"])
            row = np.zeros(width)                                     # beyond <= largest
            row[k + m + i], row[-1] = 1, -1
            a.append(row)
            ub.append(0.0)
        if water["limits"][1] is not None:
            row = np.zeros(width)
            row[:k] = [solids(b["ions"]) / f for b in base]
            least, room = 0.0, 1.0
            for b in sorted(base, key=lambda b: solids(b["ions"])):
                share = min(room, b["at_most"])
                least, room = least + share * solids(b["ions"]), room - share
            a.append(row)
            ub.append(max(water["limits"][1], least)
                      - sum((MG[s["cation"]] + MG[s["anion"]]) * x for s, x in zip(stocks, u)) / f)
        self.a, self.ub = a, ub
        self.equal = [np.concatenate([np.ones(k), np.zeros(width - k)])], [total]
        self.bounds = [(0, b["at_most"]) for b in base] + [(0, None)] * (2 * m + 1)
        rates = np.ones(m)
        nothing, none = np.zeros(k), np.zeros(m)
        one = np.concatenate
        self.stages = []                                              # (cost, constant, factor of what is told)
        if water["largest"]:
            self.stages.append((one([nothing, none, none, [1.0]]), 0.0))
        self.stages.append((one([nothing, none, rates, [0.0]]), 0.0))
        self.stages.append((one([nothing, rates, -rates, [0.0]]), 0.0))
        if water["count"]:
            self.stages.append((np.zeros(width), float(sum(n > 0 for n in steps))))
        for on_stocks, on_base in water["costs"]:
            of_doses = sum(x * v for x, v in zip(u, on_stocks)) / f
            self.stages.append((one([np.array(on_base) / f, none, none, [0.0]]), of_doses))

    def solve(self, stage, done):
        """Least value of a stage while the stages before have these values."""
        a, ub = list(self.a), list(self.ub)
        for (cost, constant), value in zip(self.stages, done):
            if cost.any():
                a.append(cost)
                ub.append(value - constant + 1e-9 + 1e-12 * abs(value))
        cost, constant = self.stages[stage]
        r = linprog(cost, A_ub=np.array(a), b_ub=ub, A_eq=self.equal[0], b_eq=self.equal[1], bounds=self.bounds,
                    method="highs-ds", options={"primal_feasibility_tolerance": 1e-10,
                                                "dual_feasibility_tolerance": 1e-10})
        return None if r.x is None else float(cost @ r.x) + constant


def best(water):
    ranges = [([] if s["required"] else [0]) + list(range(max(1, s["least"]), s["most"] + 1))
              for s in water["stocks"]]
    left = [Shares(water, steps) for steps in itertools.product(*ranges)]
    left = [(p, []) for p in left if p.fits]
    choices = len(left)
    for stage in range(len(left[0][0].stages) if left else 0):
        valued = []
        for program, done in left:
            value = program.solve(stage, done)
            if value is not None:
                valued.append((program, done + [value]))
        if not valued:
            return None
        least = min(done[-1] for _, done in valued)
        left = [(p, done) for p, done in valued if done[-1] <= least + EVEN + 1e-11 * abs(least)]
    return None if not left else (left[0][1], left[0][0].steps, choices)


def main():
    c = Chance(SEED)
    waters = []
    for number in range(HOW_MANY):
        water = make(c, number)
        found = best(water)
        if found is None:
            water.update({"best": None, "steps": None, "choices": 0})
        else:
            water.update({"best": found[0], "steps": list(found[1]), "choices": found[2]})
        waters.append(water)
    out = {"versions": {"python": platform.python_version(), "numpy": np.__version__, "scipy": scipy.__version__},
           "seed": SEED}
    text = json.dumps(out)[:-1] + ', "waters": [\n' + ",\n".join(json.dumps(w) for w in waters) + "\n]}\n"
    open(os.path.join(HERE, "step_flights.json"), "w").write(text)
    print(len(waters), "waters,", sum(w["choices"] for w in waters), "choices,",
          sum(w["best"] is None for w in waters), "without any")


if __name__ == "__main__":
    main()
