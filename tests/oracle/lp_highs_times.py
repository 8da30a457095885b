"""Times HiGHS, called through highspy, on linear programs handed over in a JSON file.

Made for highspy 1.16.0 (HiGHS 1.16.0) and numpy 2.4.6; the version in use stands in the output. It is
meant to be started by a benchmark, on the same machine and in the same run as the other solver.

Run:  pip install highspy==1.16.0 numpy && python lp_highs_times.py FILE.json [--limit N]
                                          [--hold columns|cap|auto] [--presolve auto|on|off]

Input   {"lps": [{"n": columns, "m": rows, "lo": [..], "hi": [..] (null = infinite), "rhs": [..]
        (every row an equality), "a": [[row, column, value], ..], "stages": [[cost per column], ..]}]}
Output  one line of JSON on standard output:
        {"highspy", "numpy", "lps", "hold", "options", "new_us": {"mean", "median", "p99"},
         "reused_us": {..}, "new_first_us": {..}, "reused_first_us": {..}, "not_optimal",
         "objectives": [[z1, z2, ..], ..]}
        Times are microseconds per LP, all stages together; *_first_us is stage 1 alone (with model
        building). objectives are costs times column values of the `reused` run.

Each LP: its model is passed and stage 1 solved; then, for each further stage, the one before is held
and the costs are changed, on the same object, so HiGHS starts from the basis it has.
    --hold columns  columns whose reduced cost is larger than 1e-9 are fixed where they stand (the
                    default: right to 1e-11 where a cap is not, and as fast within 5 %)
    --hold cap      a row  cost . x <= z + 1e-9 max(1, |z|)  is added
Two variants: `new` makes a new solver object for every LP; `reused` makes one for all and passes each
model to it. One thread, no output.

On the clock: making the object and setting its options (`new`), passModel, every run, reading the
solution after every stage, holding a stage, changing costs. Off the clock: reading the file and
making numpy arrays. What HiGHS does better with is chosen for it, off the clock, on the first 40
LPs: presolve on or off, dual or primal simplex, scaling or none (and, with --hold auto, how stages
are held). Each LP is timed once per pass, three passes are made, and the least of the three counts
(every other pass runs `reused` first). The core binding is called directly, without the Python
modelling layer.
"""

import argparse
import gc
import json
import sys
import time

import highspy
import numpy as np
from highspy import _core

PASSES = 3
INF = highspy.kHighsInf
ROWWISE = int(_core.MatrixFormat.kRowwise)
MINIMISE = int(_core.ObjSense.kMinimize)
OPTIMAL = _core.HighsModelStatus.kOptimal


class Lp:
    """One LP as the arrays passModel takes."""

    def __init__(self, spec):
        self.n, self.m = spec["n"], spec["m"]
        self.lo = np.array([-INF if x is None else x for x in spec["lo"]], dtype=np.float64)
        self.hi = np.array([INF if x is None else x for x in spec["hi"]], dtype=np.float64)
        self.rhs = np.array(spec["rhs"], dtype=np.float64)
        rows = [{} for _ in range(self.m)]
        for i, j, v in spec["a"]:
            rows[i][j] = rows[i].get(j, 0.0) + v
        start, index, value = [], [], []
        for row in rows:
            start.append(len(index))
            for j in sorted(row):
                if row[j] != 0.0:
                    index.append(j)
                    value.append(row[j])
        self.start = np.array(start, dtype=np.int32)
        self.index = np.array(index, dtype=np.int32)
        self.value = np.array(value, dtype=np.float64)
        self.costs = [np.array(c, dtype=np.float64) for c in spec["stages"]]
        self.every = np.arange(self.n, dtype=np.int32)
        self.where = [np.flatnonzero(c).astype(np.int32) for c in self.costs]
        self.what = [c[w] for c, w in zip(self.costs, self.where)]
        self.no_integers = np.zeros(self.n, dtype=np.int32)


def fresh(options):
    h = _core._Highs()
    h.setOptionValue("output_flag", False)
    h.setOptionValue("threads", 1)
    h.setOptionValue("parallel", "off")
    h.setOptionValue("solver", "simplex")
    for key, value in options:
        h.setOptionValue(key, value)
    return h


def solve(h, lp, hold, values, clock=time.perf_counter_ns):
    """All stages of one LP. Returns the time at which stage 1 was done; fills `values`."""
    h.passModel(lp.n, lp.m, len(lp.index), ROWWISE, MINIMISE, 0.0, lp.costs[0], lp.lo, lp.hi,
                lp.rhs, lp.rhs, lp.start, lp.index, lp.value, lp.no_integers)
    h.run()
    solution = h.getSolution()
    x = np.array(solution.col_value)
    z = float(lp.costs[0] @ x)
    first = clock()
    ok = h.getModelStatus() == OPTIMAL
    values.append(z)
    if hold == "columns":
        lo, hi = lp.lo.copy(), lp.hi.copy()
    for s in range(1, len(lp.costs)):
        if hold == "cap":
            w = lp.where[s - 1]
            if len(w):
                h.addRow(-INF, z + 1e-9 * max(1.0, abs(z)), len(w), w, lp.what[s - 1])
        else:
            d = np.array(solution.col_dual)
            stay = np.flatnonzero(np.abs(d) > 1e-9).astype(np.int32)
            if len(stay):
                at = np.where((d[stay] > 0) | np.isinf(hi[stay]), lo[stay], hi[stay])
                lo[stay] = hi[stay] = at
                h.changeColsBounds(len(stay), stay, at, at)
        h.changeColsCost(lp.n, lp.every, lp.costs[s])
        h.run()
        solution = h.getSolution()
        x = np.array(solution.col_value)
        z = float(lp.costs[s] @ x)
        ok = ok and h.getModelStatus() == OPTIMAL
        values.append(z)
    values.append(ok)
    return first


def run_new(lps, options, hold):
    times, firsts, out = [], [], []
    clock = time.perf_counter_ns
    for lp in lps:
        values = []
        began = clock()
        h = fresh(options)
        first = solve(h, lp, hold, values)
        ended = clock()
        times.append(ended - began)
        firsts.append(first - began)
        out.append(values)
    return times, firsts, out


def run_reused(lps, options, hold):
    times, firsts, out = [], [], []
    clock = time.perf_counter_ns
    h = fresh(options)
    for lp in lps:
        values = []
        began = clock()
        first = solve(h, lp, hold, values)
        ended = clock()
        times.append(ended - began)
        firsts.append(first - began)
        out.append(values)
    return times, firsts, out


def summary(rows):
    us = np.min(np.array(rows, dtype=np.float64), axis=0) / 1000
    return {"mean": round(float(us.mean()), 2), "median": round(float(np.median(us)), 2),
            "p99": round(float(np.percentile(us, 99)), 2)}


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("file")
    ask.add_argument("--limit", type=int)
    ask.add_argument("--hold", choices=["columns", "cap", "auto"], default="columns")
    ask.add_argument("--presolve", choices=["on", "off", "auto"], default="auto")
    args = ask.parse_args()
    with open(args.file, encoding="utf-8") as f:
        specs = json.load(f)["lps"]
    lps = [Lp(spec) for spec in specs[: args.limit]]
    if not lps:
        sys.exit("no linear programs in the file")

    # the fastest settings, on a sample, before the clock
    sample = lps[:40]
    tries = []
    for presolve in ["off", "on"] if args.presolve == "auto" else [args.presolve]:
        for more in ((), (("simplex_strategy", 4),), (("simplex_scale_strategy", 0),),
                     (("simplex_strategy", 4), ("simplex_scale_strategy", 0))):
            for hold in ["columns", "cap"] if args.hold == "auto" else [args.hold]:
                tries.append(((("presolve", presolve),) + more, hold))
    run_reused(sample, *tries[0])
    cost = {}
    for _ in range(3):
        for t in tries:
            spent = float(np.median(run_reused(sample, *t)[0]))
            cost[t] = min(spent, cost.get(t, spent))
    options, hold = min(tries, key=cost.get)

    gc.collect()
    gc.disable()
    new, new_first, reused, reused_first = [], [], [], []
    objectives = None
    for k in range(PASSES):
        for variant in (("new", "reused") if k % 2 == 0 else ("reused", "new")):
            if variant == "new":
                t, f, _ = run_new(lps, options, hold)
                new.append(t)
                new_first.append(f)
            else:
                t, f, objectives = run_reused(lps, options, hold)
                reused.append(t)
                reused_first.append(f)
    print(json.dumps({
        "highspy": _core._Highs().version(), "numpy": np.__version__, "lps": len(lps),
        "hold": hold, "options": dict(options),
        "new_us": summary(new), "reused_us": summary(reused),
        "new_first_us": summary(new_first), "reused_first_us": summary(reused_first),
        "not_optimal": sum(not v[-1] for v in objectives),
        "objectives": [v[:-1] for v in objectives],
    }, separators=(",", ":")))


if __name__ == "__main__":
    main()
