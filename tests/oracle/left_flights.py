"""Random flights that must make do with what is left of some stocks, and the best sums over their waters.

Makes left_flights.json. Made with Python 3.11, numpy 2.4.6, scipy 1.17.1 (the versions of the last run stand
in the file). Seeded; a second run makes the same file.

Run again:  pip install numpy==2.4.6 scipy==1.17.1 highspy==1.16.0 && python left_flights.py

All waters of a flight in one linear program, solved by HiGHS (scipy.optimize.linprog), stage by stage; the
stages before are held by caps of slack 1e-11, or 1e-10 or 1e-9 where HiGHS has no optimum with less: in one
of the flights a slack of 1e-9 already moves a later stage by 2e-3. Per litre of finished water, misses in
units of miss (rate times native); doses first, then base water up to the litre:
    sum_j u_j / (1000 s_j) + sum_k y_k = 1,   y_k <= at_most_k
    sum over the waters of bottle u_j / s_j <= left_j  mL
    stage L   (only with "largest") sum over the waters of each one's largest miss beyond tolerance
    stage 1   sum of all misses beyond tolerance, stage 2 of those inside
    then      the sums of the costs, each on meq of the stocks and shares of the base waters
    {"versions": {..}, "flights": [{"stocks": [{"cation","anion","meq_per_ml"}], "base": [{"at_most","ions"}],
      "waters": [[{"form","lo","hi","tol","rate"}]], "bottle", "left": [[j, mL]], "largest", "costs",
      "sums": [value of each stage]}]}
"""

import json
import os
import platform

import numpy as np
import scipy
from scipy.optimize import linprog

from lp_flights import Chance, digits, make_base, make_goal, make_ratio, make_stocks, plain, some_mix, MEASURES

HERE = os.path.dirname(os.path.abspath(__file__))
SEED = 20260307
HOW_MANY = 60


def make(c, number):
    stocks = make_stocks(c, False)
    for s in stocks:
        s.pop("salt", None)
    base = [{"at_most": 1.0 if k == 0 else c.of([1.0, digits(c.real(0.1, 1), 2)]), "ions": w}
            for k, w in enumerate(make_base(c, False))]
    waters = []
    for _ in range(c.whole(2, 8)):
        conc = some_mix(c, stocks, [b["ions"] for b in base])
        goals = []
        for _ in range(c.whole(2, 5)):
            if c.yes(0.15):
                goals.append(make_ratio(c, conc, "near", False, False))
            else:
                goals.append(make_goal(c, dict(c.of(MEASURES)), conc, c.of(["reachable", "near"]), False, False,
                                       False))
        waters.append([{"form": {i: plain(v) for i, v in g["form"].items()}, "lo": g["lo"], "hi": g["hi"],
                        "tol": g["tol"], "rate": digits(g["weight"] / g["unit"], 8)} for g in goals])
    bottle = c.of([0.25, 0.5, 1.0])
    volume = [[1 / s["meq_per_ml"] for s in stocks], [0.0] * len(base)]
    sodium = [[1.0 if s["cation"] == "Na" else 0.0 for s in stocks], [b["ions"].get("Na", 0.0) for b in base]]
    costs = [[volume], [sodium, volume]][number % 2]
    left = [[j, digits(c.log(0.2, 12) * len(waters) / 4, 3)]
            for j in sorted(c.some(list(range(len(stocks))), c.whole(1, min(3, len(stocks)))))]
    return {"stocks": stocks, "base": base, "waters": waters, "bottle": bottle, "left": left,
            "largest": number % 3 == 2, "costs": costs}


def solve(f, slack):
    stocks, base = f["stocks"], f["base"]
    n, k = len(stocks), len(base)
    blocks, width = [], 0
    for goals in f["waters"]:
        blocks.append((width, len(goals)))
        width += n + k + 2 * len(goals) + 1                 # u, y, miss, beyond, largest
    a, ub, eq, rhs = [], [], [], []
    bounds = []
    stages = [np.zeros(width) for _ in range((1 if f["largest"] else 0) + 2 + len(f["costs"]))]
    first = 1 if f["largest"] else 0
    for (at, m), goals in zip(blocks, f["waters"]):
        bounds += [(0, None)] * n + [(0, b["at_most"]) for b in base] + [(0, None)] * (2 * m + 1)
        row = np.zeros(width)
        row[at:at + n] = [1 / (1000 * s["meq_per_ml"]) for s in stocks]
        row[at + n:at + n + k] = 1
        eq.append(row)
        rhs.append(1.0)
        miss, out, most = at + n + k, at + n + k + m, at + n + k + 2 * m
        for i, g in enumerate(goals):
            of = [g["form"].get(s["cation"], 0) + g["form"].get(s["anion"], 0) for s in stocks]
            of += [sum(v * b["ions"].get(ion, 0) for ion, v in g["form"].items()) for b in base]
            for side, edge in ((1, g["hi"]), (-1, g["lo"])):
                if edge is not None:
                    row = np.zeros(width)
                    row[at:at + n + k] = [side * g["rate"] * v for v in of]
                    row[miss + i] = -1
                    a.append(row)
                    ub.append(side * g["rate"] * edge)
            row = np.zeros(width)
            row[miss + i], row[out + i] = 1, -1
            a.append(row)
            ub.append(g["rate"] * g["tol"])
            row = np.zeros(width)
            row[out + i], row[most] = 1, -1
            a.append(row)
            ub.append(0.0)
            stages[first][out + i] = 1
            stages[first + 1][miss + i], stages[first + 1][out + i] = 1, -1
        if f["largest"]:
            stages[0][most] = 1
        for s, (on_stocks, on_base) in enumerate(f["costs"]):
            stages[first + 2 + s][at:at + n] = on_stocks
            stages[first + 2 + s][at + n:at + n + k] = on_base
    for j, ml in f["left"]:
        row = np.zeros(width)
        for at, _ in blocks:
            row[at + j] = f["bottle"] / stocks[j]["meq_per_ml"]
        a.append(row)
        ub.append(ml)
    sums = []
    for cost in stages:
        r = linprog(cost, A_ub=np.array(a), b_ub=ub, A_eq=np.array(eq), b_eq=rhs, bounds=bounds, method="highs-ds",
                    options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10})
        if r.x is None:
            return None
        sums.append(float(r.fun))
        a.append(cost)
        ub.append(r.fun + slack + 1e-13 * abs(r.fun))
    return sums


def main():
    c = Chance(SEED)
    flights = []
    for number in range(HOW_MANY):
        flight = make(c, number)
        flight["sums"] = solve(flight, 1e-11) or solve(flight, 1e-10) or solve(flight, 1e-9)
        if flight["sums"] is None:
            print("no answer by HiGHS for", number)
            continue
        flights.append(flight)
    out = {"versions": {"python": platform.python_version(), "numpy": np.__version__, "scipy": scipy.__version__},
           "seed": SEED}
    text = json.dumps(out)[:-1] + ', "flights": [\n' + ",\n".join(json.dumps(f) for f in flights) + "\n]}\n"
    open(os.path.join(HERE, "left_flights.json"), "w").write(text)
    print(len(flights), "flights")


if __name__ == "__main__":
    main()
