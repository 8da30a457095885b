"""Random flights and what a lexicographic linear program can reach in each, to compare a planner with.

Makes lp_flights.json. Made with Python 3.11, numpy 2.4.6, scipy 1.17.1, highspy 1.16.0 (the versions
of the last run stand in the file). Seeded; a second run makes the same file.

Run again:  pip install numpy==2.4.6 scipy==1.17.1 highspy==1.16.0 && python lp_flights.py [HOW_MANY]

The problem, in meq per litre of finished water. Columns, all >= 0: u_j, the meq of stock j's salt
(it adds u_j to its cation and to its anion and takes u_j / (1000 meq_per_ml) litre), and y_k, the
share of base water k.
    volume    sum_j u_j / (1000 s_j) + sum_k y_k = 1
    goal i    m_i = sum over ions of form[ion] * concentration[ion]
              miss_i   = distance of m_i from [lo, hi]   (null: no bound on that side)
              beyond_i = max(0, miss_i - tol),  inside_i = min(miss_i, tol)
    stage 0   only if "largest": minimise z0 = max_i weight_i beyond_i / unit_i
    stage 1   minimise z1 = sum_i weight_i beyond_i / unit_i
    stage 2   minimise z2 = sum_i weight_i inside_i / unit_i
    stage 3   minimise z3 = sum_j u_j / s_j           (mL of stock per litre)
each with the stages before it held at their optimum. unit = tol where tol > 0.

How it is solved. The decimal numerals of the file are taken as exact rational numbers and a bounded
simplex in rational arithmetic (class Exact, no rounding anywhere) solves the stages one after
another; "held" means that every column whose reduced cost is not zero stays at its bound, which is
the exact optimal face. z0..z3 are those rationals rounded to a double. Each result is then recomputed,
exactly, from the doses and the definitions above. As second, independent solves every flight goes
through HiGHS three times, and "checks" says how far each was from the exact values:
    columns   highspy, stages held by fixing the columns whose reduced cost is not zero
    caps      highspy, tolerances 1e-10 (1e-9 where it reports no optimum with those), stages held by a
              cap row of slack 1e-9 max(1, z); its stage values are also set beside an exact solve
              with caps of the same slack ("same_slack")
    scipy     scipy.optimize.linprog(method="highs-ds"), default tolerances, caps of slack
              1e-7 max(1, z), since it is no more exact than that
No flight is left out, whatever the outcome.

How firm the values are. The exact solve is repeated the way a floating-point solver must do it, with
caps of slack eps max(1, z) on the stages before. z2_loose and z3_loose are what stages 2 and 3 then
reach for eps = 1e-6. z3_sensitive is true if already eps = 1e-9 moves z3 (or z2) by more than
1e-6 max(1, value): there only an exact method can be expected to reproduce z3.

    {"versions": {..}, "checks": {..}, "flights": [
      {"kind": .., "stocks": [{"salt","cation","anion","meq_per_ml"}], "base": [{ion: meq/L}],
       "goals": [{"form": {ion: coefficient}, "lo", "hi", "tol", "unit", "weight"}],
       "largest": bool, "z0": num|null, "z1", "z2", "z3", "z2_loose", "z3_loose", "z3_sensitive": bool}]}
Ions: Ca Mg Na K Cl SO4 NO3 Alk (Alk: alkalinity). An ion missing from a form or a base water is 0.
"""

import json
import math
import os
import platform
import random
import sys
import time
from fractions import Fraction

import highspy
import numpy as np
import scipy
from scipy.optimize import linprog

HERE = os.path.dirname(os.path.abspath(__file__))
SEED = 20250611
HOW_MANY = 640

IONS = ["Ca", "Mg", "Na", "K", "Cl", "SO4", "NO3", "Alk"]
SALTS = [("CaCl2", "Ca", "Cl"), ("CaSO4", "Ca", "SO4"), ("MgSO4", "Mg", "SO4"), ("MgCl2", "Mg", "Cl"),
         ("NaHCO3", "Na", "Alk"), ("KHCO3", "K", "Alk"), ("NaCl", "Na", "Cl"), ("KCl", "K", "Cl"),
         ("Na2SO4", "Na", "SO4"), ("K2SO4", "K", "SO4"), ("Na2CO3", "Na", "Alk"), ("K2CO3", "K", "Alk")]
MEASURES = [{"Ca": 1}, {"Mg": 1}, {"Na": 1}, {"K": 1}, {"Cl": 1}, {"SO4": 1}, {"Alk": 1},
            {"Ca": 1, "Mg": 1}, {"Ca": 1, "Mg": 1}, {"Alk": 1}]
RATIOS = [({"Cl": 1}, {"SO4": 1}), ({"Ca": 1}, {"Mg": 1}), ({"Mg": 1}, {"Ca": 1}),
          ({"Ca": 1, "Mg": 1}, {"Alk": 1}), ({"Alk": 1}, {"Ca": 1, "Mg": 1}), ({"Na": 1}, {"K": 1}),
          ({"SO4": 1}, {"Cl": 1}), ({"Mg": 1}, {"Ca": 1, "Mg": 1}), ({"Na": 1}, {"Ca": 1, "Mg": 1})]
# mg per meq, only to make numbers with all their digits, as a conversion of units would
MG_PER_MEQ = {"Ca": 20.039, "Mg": 12.1525, "Na": 22.98976928, "K": 39.0983, "Cl": 35.45,
              "SO4": 48.028, "NO3": 62.004, "Alk": 61.016}


# ---------------------------------------------------------------- making the flights

class Chance:
    """Only random() of the standard generator, whose sequence is fixed for a seed."""

    def __init__(self, seed):
        self.next = random.Random(seed).random

    def real(self, a, b):
        return a + (b - a) * self.next()

    def log(self, a, b):
        return math.exp(self.real(math.log(a), math.log(b)))

    def whole(self, a, b):
        return min(b, a + int(self.next() * (b - a + 1)))

    def of(self, items):
        return items[self.whole(0, len(items) - 1)]

    def yes(self, p):
        return self.next() < p

    def some(self, items, n):
        left = list(items)
        return [left.pop(self.whole(0, len(left) - 1)) for _ in range(n)]


def digits(x, n):
    return float(f"{x:.{n}g}")


def plain(x):
    """A number in the shortest form that reads back the same; whole numbers without a point."""
    return int(x) if x == int(x) and abs(x) < 1e15 else x


def make_stocks(c, full):
    stocks = c.some(SALTS, c.of([2, 2, 3, 3, 4, 4, 5, 5, 6, 7, 8, 9, 10, 11, 12]))
    if c.yes(0.06):
        stocks.append(c.of(stocks))  # a second bottle of a salt, of another strength
        stocks = stocks[-12:]
    out = []
    for salt, cation, anion in stocks:
        s = c.log(0.01, 0.03) if salt == "CaSO4" else c.log(0.05, 2)
        s = digits(s * MG_PER_MEQ[cation], 3) / MG_PER_MEQ[cation] if full else digits(s, c.whole(2, 4))
        if salt == "CaSO4":
            s = min(s, 0.03)
        out.append({"salt": salt, "cation": cation, "anion": anion, "meq_per_ml": plain(s)})
    return out


def make_base_water(c, full):
    soft = c.of([0.1, 0.4, 1, 1])
    cat = {"Ca": soft * c.real(0.1, 4.5), "Mg": soft * c.real(0, 2), "Na": c.real(0.05, 2.5),
           "K": c.real(0, 0.2)}
    ani = {"Cl": c.real(0.05, 2), "SO4": c.real(0, 2), "NO3": c.of([0, c.real(0, 0.7)]),
           "Alk": c.real(0.1, 4)}
    k = sum(cat.values()) / sum(ani.values()) * c.real(0.99, 1.01)
    ani = {ion: x * k for ion, x in ani.items()}
    water = {}
    for ion, x in {**cat, **ani}.items():
        x = round(x * MG_PER_MEQ[ion], 1) / MG_PER_MEQ[ion] if full else round(x, 4)
        if x:
            water[ion] = plain(x)
    return water


def make_base(c, full):
    kind = c.next()
    if kind < 0.5:
        return [{}]
    if kind < 0.7:
        return [{}, make_base_water(c, full)]
    if kind < 0.78:
        return [{}, make_base_water(c, full), make_base_water(c, full)]
    if kind < 0.92:
        return [make_base_water(c, full)]
    return [make_base_water(c, full) for _ in range(c.whole(2, 3))]


def mixed(stocks, base, u, y):
    """Composition in meq/L, floating point: only used to place goals."""
    conc = dict.fromkeys(IONS, 0.0)
    for s, x in zip(stocks, u):
        conc[s["cation"]] += x
        conc[s["anion"]] += x
    for b, x in zip(base, y):
        for ion, v in b.items():
            conc[ion] += v * x
    return conc


def some_mix(c, stocks, base):
    u = [c.log(0.03, 3) if c.yes(0.6) else 0.0 for _ in stocks]
    y = [c.next() for _ in base]
    room = 1 - sum(x / (1000 * s["meq_per_ml"]) for x, s in zip(u, stocks))
    if room < 0.5:
        u = [x * 0.05 for x in u]
        room = 1 - sum(x / (1000 * s["meq_per_ml"]) for x, s in zip(u, stocks))
    y = [max(room, 0) * x / sum(y) for x in y]
    return mixed(stocks, base, u, y)


def band(c, want, width, places):
    how = c.next()
    if how < 0.65:
        return want, want
    if how < 0.76:
        return None, want
    if how < 0.88:
        return want, None
    return want, round(want + width, places)


def tolerance(c, size, zero):
    if zero or c.yes(0.2):
        return 0.0, c.of([0.02, 0.05, 0.1, 0.2, 1.0])
    tol = digits(c.of([0.02, 0.05, 0.1, 0.2, 0.3]) * max(size, 0.5), 3)
    return tol, tol


def make_goal(c, form, conc, kind, zero, full, heavy):
    value = sum(k * conc[ion] for ion, k in form.items())
    places = c.whole(1, 3)
    if kind == "reachable":
        want = max(value, 0.0)
    elif kind == "near":
        want = max(value * c.real(0.75, 1.3) + c.real(-0.2, 0.3), 0.0)
    else:
        want = c.log(0.05, 6)
    want = round(want, places)
    if full:  # a wish in whole mg/L, or in mg/L as calcium carbonate
        mg = 50.0435 if len(form) > 1 else MG_PER_MEQ[next(iter(form))]
        want = round(want * mg) / mg
    if c.yes(0.08):
        want = 0.0
    lo, hi = band(c, want, c.real(0.05, 1.0), 3)
    if want == 0 and lo == 0 and hi is None:
        lo, hi = None, 0.0
    tol, unit = tolerance(c, want, zero)
    weight = c.of([100, 1000, 10000]) if heavy and c.yes(0.4) else c.of([1, 1, 1, 1, 2, 3, 5, 0.5])
    return dict(form=form, lo=lo, hi=hi, tol=tol, unit=unit, weight=weight)


def make_ratio(c, conc, kind, zero, heavy):
    a, b = c.of(RATIOS)
    r = c.of([0.25, 0.5, 0.75, 1, 1.5, 2, 3, round(c.log(0.2, 5), 2)])
    va, vb = (sum(conc[ion] for ion in x) for x in (a, b))
    if kind == "reachable" and va > 0.01 and vb > 0.01:
        r = digits(va / vb, 3)
    form = {}
    for ion in IONS:  # a - r b, in decimal so that 1 - r has no rounding of its own
        k = Fraction(a.get(ion, 0)) - Fraction(repr(r)) * b.get(ion, 0)
        if k:
            form[ion] = plain(float(k))
    lo, hi = c.of([(0.0, 0.0), (0.0, 0.0), (None, 0.0), (0.0, None)])
    level = round(c.log(0.3, 4), 2)
    t = 0.0 if zero else c.of([0, 0.05, 0.1, 0.2])
    tol = round(t * level, 6)
    unit = tol if tol > 0 else c.of([0.05, 0.1, 0.5])
    weight = c.of([100, 1000]) if heavy and c.yes(0.4) else c.of([1, 1, 2, 0.5])
    return dict(form=form, lo=lo, hi=hi, tol=tol, unit=unit, weight=weight)


KINDS = ["reachable", "near", "random", "contradictory", "random", "redundant", "near"]


def make_flight(c, number):
    full = c.yes(0.2)
    kind = KINDS[number % len(KINDS)]
    zero = c.yes(0.2)
    heavy = c.yes(0.15)
    stocks = make_stocks(c, full)
    base = make_base(c, full)
    conc = some_mix(c, stocks, base)
    place = {"reachable": "reachable", "redundant": "reachable", "near": "near"}.get(kind, "random")
    goals = []
    for _ in range(c.whole(2, 8)):
        if c.yes(0.23):
            goals.append(make_ratio(c, conc, place, zero, heavy))
        else:
            if c.yes(0.03):
                form = {"NO3": 1}
            else:
                form = dict(c.of(MEASURES))
            if kind != "contradictory" and any(g["form"] == form for g in goals):
                continue
            goals.append(make_goal(c, form, conc, place, zero, full, heavy))
    if kind == "redundant":  # parts and their sum, agreeing; sometimes the same wish twice
        ca, mg = round(max(conc["Ca"], 0), 2), round(max(conc["Mg"], 0), 2)
        for form, want in (({"Ca": 1}, ca), ({"Mg": 1}, mg), ({"Ca": 1, "Mg": 1}, round(ca + mg, 2))):
            tol, unit = tolerance(c, want, zero)
            goals.append(dict(form=form, lo=want, hi=want, tol=tol, unit=unit, weight=c.of([1, 1, 2])))
        if c.yes(0.3):
            goals.append(dict(goals[-1]))
    if kind == "contradictory":  # the same measure wanted at another place
        again = dict(c.of(goals))
        step = digits(c.log(0.02, 2), 2)
        again["lo"] = None if again["lo"] is None else round(again["lo"] + step, 3)
        again["hi"] = None if again["hi"] is None else round(again["hi"] + step, 3)
        again["weight"] = c.of([1, again["weight"]])
        goals.append(again)
        if c.yes(0.5):
            want = round(c.log(0.1, 5), 2)
            for form in ({"Ca": 1}, {"Mg": 1}, {"Ca": 1, "Mg": 1}):
                goals.append(dict(form=form, lo=want, hi=want, tol=0.0, unit=0.1, weight=1))
    goals = goals[:8]
    for g in goals:
        g["form"] = {ion: plain(g["form"][ion]) for ion in IONS if ion in g["form"]}
        for key in ("lo", "hi", "tol", "unit", "weight"):
            g[key] = None if g[key] is None else plain(g[key])
    return {"kind": kind + ("+full digits" if full else "") + ("+zero tolerance" if zero else "")
            + ("+heavy weights" if heavy else ""),
            "stocks": stocks, "base": base, "goals": goals, "largest": number % 10 == 3}


# ---------------------------------------------------------------- the linear program

def exact(x):
    """The decimal numeral as it stands in the file, as a rational number."""
    return Fraction(repr(x)) if isinstance(x, float) else Fraction(x)


class Model:
    """Columns, rows and stages of one flight, with entries made by `number` (rational or float)."""

    def __init__(self, flight, number):
        self.upper, self.rows, self.rhs = [], [], []
        stocks, base, goals = flight["stocks"], flight["base"], flight["goals"]
        s = [number(x["meq_per_ml"]) for x in stocks]
        self.u = [self.column(None) for _ in stocks]
        self.y = [self.column(None) for _ in base]
        self.rows.append({**{j: 1 / (1000 * sj) for j, sj in zip(self.u, s)},
                          **{k: number(1) for k in self.y}})
        self.rhs.append(number(1))
        self.start = [self.y[0]]       # a feasible basis: the first base water, undosed
        self.at_upper = set()
        beyond, inside = {}, {}
        rate_of = []
        t = self.column(None) if flight["largest"] else None
        for g in goals:
            form = {ion: number(k) for ion, k in g["form"].items()}
            lo, hi = (None if g[k] is None else number(g[k]) for k in ("lo", "hi"))
            tol, rate = number(g["tol"]), number(g["weight"]) / number(g["unit"])
            row = {}
            for j, x in zip(self.u, stocks):
                k = form.get(x["cation"], number(0)) + form.get(x["anion"], number(0))
                if k:
                    row[j] = k
            for j, water in zip(self.y, base):
                k = sum((k * number(water[ion]) for ion, k in form.items() if ion in water), number(0))
                if k:
                    row[j] = k
            at_start = row.get(self.y[0], number(0))
            two = {}
            far = None
            for side, there in ((1, lo is not None), (-1, hi is not None)):
                if there:
                    if g["tol"]:
                        j = self.column(tol)
                        row[j] = number(side)
                        inside[j] = rate
                    j = self.column(None)
                    row[j] = number(side)
                    beyond[j] = rate
                    two[side] = j
            gap = None
            if lo is None or hi is None or lo != hi:
                gap = self.column(hi - lo if lo is not None and hi is not None else None)
                row[gap] = number(-1 if lo is not None else 1)
            rhs = lo if lo is not None else hi
            # the column that starts basic in this row
            short = rhs - at_start
            if lo is not None and short >= 0:
                first, far = two[1], short
            elif lo is None:
                first, far = (gap, None) if short >= 0 else (two[-1], -short)
            elif hi is None:
                first = gap
            elif gap is not None and -short <= hi - lo:
                first = gap
            elif gap is not None:
                self.at_upper.add(gap)
                first, far = two[-1], -short - (hi - lo)
            else:
                first, far = two[-1], -short
            self.rows.append(row)
            self.rhs.append(rhs)
            self.start.append(first)
            rate_of.append((rate, [two[k] for k in two], far or number(0)))
        if t is not None:
            peak = max(range(len(goals)), key=lambda i: rate_of[i][0] * rate_of[i][2])
            for i, (rate, parts, _) in enumerate(rate_of):
                e = self.column(None)
                self.rows.append({t: number(1), e: number(-1), **{j: -rate for j in parts}})
                self.rhs.append(number(0))
                self.start.append(t if i == peak else e)
        self.stages = [{t: number(1)}] if t is not None else []
        self.stages += [beyond, inside, {j: 1 / sj for j, sj in zip(self.u, s)}]

    def column(self, upper):
        self.upper.append(upper)
        return len(self.upper) - 1


class Exact:
    """Bounded simplex on a full tableau of rational numbers, starting from Model.start."""

    def __init__(self, model):
        n = len(model.upper)
        self.upper = list(model.upper)
        self.high = [j in model.at_upper for j in range(n)]
        self.fixed = [False] * n
        self.rows = [[row.get(j, Fraction(0)) for j in range(n)] for row in model.rows]
        self.basis = list(model.start)
        self.costs = [[c.get(j, Fraction(0)) for j in range(n)] for c in model.stages]
        self.values = [Fraction(0)] * len(self.costs)
        x = list(model.rhs)
        for i, row in enumerate(self.rows):
            for j in model.at_upper:
                if row[j]:
                    x[i] -= row[j] * self.upper[j]
        # bring the starting columns to unit vectors, rhs alongside
        for i in range(len(self.rows)):
            for row in self.rows:
                row.append(None)
            for k, row in enumerate(self.rows):
                row[-1] = x[k]
            self.clear(i, self.basis[i])
            for k, row in enumerate(self.rows):
                x[k] = row.pop()
        self.x = x
        assert all(v >= 0 for v in x), "the starting basis is not feasible"
        for s, c in enumerate(self.costs):
            self.values[s] = sum((c[self.basis[i]] * x[i] for i in range(len(x))), Fraction(0))
            self.values[s] += sum((c[j] * self.upper[j] for j in model.at_upper), Fraction(0))
            for i, b in enumerate(self.basis):
                self.take(c, self.rows[i], c[b])
        self.pivots = 0

    @staticmethod
    def take(target, row, factor):
        if factor:
            for j, v in enumerate(row):
                if v:
                    target[j] -= factor * v

    def clear(self, i, j):
        row = self.rows[i]
        p = row[j]
        if p != 1:
            self.rows[i] = row = [v / p if v else v for v in row]
        for k, other in enumerate(self.rows):
            if k != i:
                self.take(other, row, other[j])

    def minimise(self, s):
        steps = 0
        while True:
            d = self.costs[s]
            basic = set(self.basis)
            best, enter = None, None
            for j, v in enumerate(d):
                if v and j not in basic and not self.fixed[j] and (v < 0) != self.high[j]:
                    if enter is None or (steps < 300 and abs(v) > best):  # Bland's rule after that
                        best, enter = abs(v), j
            if enter is None:
                return self.values[s]
            steps += 1
            self.pivots += 1
            sign = -1 if self.high[enter] else 1
            step, leave, to_high = self.upper[enter], None, False
            for i, row in enumerate(self.rows):
                a = row[enter] * sign
                if a > 0:
                    limit, high = self.x[i] / a, False
                elif a < 0 and self.upper[self.basis[i]] is not None:
                    limit, high = (self.upper[self.basis[i]] - self.x[i]) / -a, True
                else:
                    continue
                if step is None or limit < step or (limit == step and leave is not None
                                                    and self.basis[i] < self.basis[leave]):
                    step, leave, to_high = limit, i, high
            assert step is not None, "unbounded"
            for i, row in enumerate(self.rows):
                if row[enter]:
                    self.x[i] -= row[enter] * sign * step
            for k, c in enumerate(self.costs):
                self.values[k] += c[enter] * sign * step
            if leave is None:
                self.high[enter] = not self.high[enter]
                continue
            old = self.basis[leave]
            self.high[old] = to_high
            value = (self.upper[enter] if self.high[enter] else 0) + sign * step
            self.high[enter] = False
            self.clear(leave, enter)
            for c in self.costs:
                self.take(c, self.rows[leave], c[enter])
            self.basis[leave] = enter
            self.x[leave] = Fraction(value)

    def hold(self, s):
        """Stay on the optimal face of stage s."""
        basic = set(self.basis)
        for j, v in enumerate(self.costs[s]):
            if v and j not in basic:
                self.fixed[j] = True

    def cap(self, s, slack):
        """Or stay within `slack` of its optimum: its cost row becomes a constraint."""
        for row in self.rows:
            row.append(Fraction(0))
        for c in self.costs:
            c.append(Fraction(0))
        self.rows.append(list(self.costs[s]))
        self.rows[-1][-1] = Fraction(1)
        self.upper.append(None)
        self.high.append(False)
        self.fixed.append(False)
        self.basis.append(len(self.upper) - 1)
        self.x.append(slack)

    def point(self):
        at = [self.upper[j] if self.high[j] else Fraction(0) for j in range(len(self.upper))]
        for b, v in zip(self.basis, self.x):
            at[b] = v
        return at


def solve_exact(model, eps):
    """Values of the stages; eps None: held exactly, else by caps of slack eps max(1, value)."""
    lp = Exact(model)
    out = []
    for s in range(len(model.stages)):
        z = lp.minimise(s)
        out.append(z)
        if s + 1 < len(model.stages):
            if eps is None:
                lp.hold(s)
            else:
                lp.cap(s, eps * max(1, abs(z)))
    return out, lp


def recomputed(flight, u, y, number):
    """z0..z3 and the volume from the doses alone, by the definitions."""
    conc = {ion: number(0) for ion in IONS}
    for s, x in zip(flight["stocks"], u):
        conc[s["cation"]] += x
        conc[s["anion"]] += x
    for b, x in zip(flight["base"], y):
        for ion, v in b.items():
            conc[ion] += number(v) * x
    z0 = z1 = z2 = number(0)
    for g in flight["goals"]:
        m = sum((number(k) * conc[ion] for ion, k in g["form"].items()), number(0))
        miss = number(0)
        if g["lo"] is not None:
            miss = max(miss, number(g["lo"]) - m)
        if g["hi"] is not None:
            miss = max(miss, m - number(g["hi"]))
        rate = number(g["weight"]) / number(g["unit"])
        tol = number(g["tol"])
        beyond = max(miss - tol, number(0))
        z0 = max(z0, rate * beyond)
        z1 += rate * beyond
        z2 += rate * min(miss, tol)
    z3 = sum((x / number(s["meq_per_ml"]) for s, x in zip(flight["stocks"], u)), number(0))
    volume = z3 / 1000 + sum(y, number(0))
    return (z0, z1, z2, z3), volume


# ---------------------------------------------------------------- the second opinions

def arrays(model):
    n, m = len(model.upper), len(model.rows)
    a = np.zeros((m, n))
    for i, row in enumerate(model.rows):
        for j, v in row.items():
            a[i, j] = v
    upper = np.array([np.inf if x is None else x for x in model.upper])
    costs = [np.array([c.get(j, 0.0) for j in range(n)]) for c in model.stages]
    return a, np.array(model.rhs), upper, costs


def highspy_run(model, hold, presolve, tolerance):
    a, b, upper, costs = arrays(model)
    m, n = a.shape
    h = highspy.Highs()
    for key, value in (("output_flag", False), ("threads", 1), ("presolve", presolve),
                       ("solver", "simplex"), ("primal_feasibility_tolerance", tolerance),
                       ("dual_feasibility_tolerance", tolerance)):
        h.setOptionValue(key, value)
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = n, m
    lp.col_lower_, lp.col_upper_, lp.col_cost_ = np.zeros(n), upper, np.zeros(n)
    lp.row_lower_ = lp.row_upper_ = b
    where = [np.flatnonzero(a[i]) for i in range(m)]
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.cumsum([0] + [len(w) for w in where]).astype(np.int32)
    lp.a_matrix_.index_ = np.concatenate(where).astype(np.int32)
    lp.a_matrix_.value_ = np.concatenate([a[i, w] for i, w in enumerate(where)])
    h.passModel(lp)
    every = np.arange(n, dtype=np.int32)
    lo, hi, out = np.zeros(n), upper.copy(), []
    for s, c in enumerate(costs):
        scale = 1 / max(c.max(), 1e-300)
        h.changeColsCost(n, every, 1000 * scale * c)
        h.run()
        solution = h.getSolution()
        x = np.array(solution.col_value)
        z = float(c @ x)
        out.append(z)
        if h.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return out, x, False
        if s + 1 < len(costs) and hold == "columns":
            d = np.array(solution.col_dual)
            stay = np.flatnonzero(abs(d) > 1e-9).astype(np.int32)
            at = np.where((d[stay] > 0) | np.isinf(hi[stay]), lo[stay], hi[stay])
            lo[stay] = hi[stay] = at
            h.changeColsBounds(len(stay), stay, at, at)
        elif s + 1 < len(costs):
            idx = np.flatnonzero(c).astype(np.int32)
            h.addRow(-highspy.kHighsInf, scale * (z + 1e-9 * max(1, abs(z))), len(idx), idx,
                     scale * c[idx])
    return out, x, True


def solve_columns(model):
    return highspy_run(model, "columns", "off", 1e-9)


def solve_caps(model):
    for presolve, tolerance in (("off", 1e-10), ("on", 1e-10), ("off", 1e-9), ("on", 1e-9)):
        out, x, ok = highspy_run(model, "caps", presolve, tolerance)
        if ok:
            break
    return out, x, ok


def solve_scipy(model):
    a, b, upper, costs = arrays(model)
    bounds = [(0, None if np.isinf(x) else x) for x in upper]
    caps, limits, out, x = [], [], [], None
    for c in costs:
        r = linprog(c, A_eq=a, b_eq=b, bounds=bounds, method="highs-ds",
                    A_ub=np.array(caps) if caps else None, b_ub=limits if caps else None)
        if r.status != 0:
            return out, x, False
        x = r.x
        out.append(float(r.fun))
        caps.append(c)
        limits.append(r.fun + 1e-7 * max(1, abs(r.fun)))
    return out, x, True


# ---------------------------------------------------------------- all of it

def gap(a, b):
    return abs(float(a) - float(b)) / max(1.0, abs(float(b)))


def main():
    how_many = int(sys.argv[1]) if len(sys.argv) > 1 else HOW_MANY
    c = Chance(SEED)
    flights, began = [], time.time()
    names = ("columns", "caps", "scipy")
    solvers = dict(zip(names, (solve_columns, solve_caps, solve_scipy)))
    worst = {name: [0.0] * 4 for name in names}
    off = {name: [0] * 4 for name in names}
    failed = dict.fromkeys(names, 0)
    pivots, alone, same = [], 0, [0.0] * 4
    for number in range(how_many):
        f = make_flight(c, number)
        f = json.loads(json.dumps(f))  # solve what the reader will read
        model = Model(f, exact)
        z, lp = solve_exact(model, None)
        pivots.append(lp.pivots)
        at = lp.point()
        u, y = [at[j] for j in model.u], [at[j] for j in model.y]
        again, volume = recomputed(f, u, y, exact)
        assert all(x >= 0 for x in u + y) and volume == 1
        if f["largest"]:
            assert tuple(z) == again
        else:
            assert tuple(z) == again[1:]
            z = [None] + z
        tight, _ = solve_exact(model, Fraction(1, 10**9))
        loose, _ = solve_exact(model, Fraction(1, 10**6))
        f["z0"] = None if z[0] is None else plain(float(z[0]))
        for k in (1, 2, 3):
            f[f"z{k}"] = plain(float(z[k]))
        f["z2_loose"], f["z3_loose"] = plain(float(loose[-2])), plain(float(loose[-1]))
        f["z3_sensitive"] = any(gap(a, b) > 1e-6 for a, b in ((tight[-1], z[3]), (tight[-2], z[2])))
        floats = Model(f, float)
        seconds = 0
        for name, solve in solvers.items():
            stage, x, ok = solve(floats)
            if not ok:
                failed[name] += 1
                continue
            seconds += 1
            if name == "caps":
                same = [max(same[k], gap(stage[k - 4], tight[k - 4])) if k - 4 + len(tight) >= 0
                        else same[k] for k in range(4)]
            got, _ = recomputed(f, [max(float(x[j]), 0.0) for j in floats.u],
                                [max(float(x[j]), 0.0) for j in floats.y], float)
            for k in range(4):
                if z[k] is not None and (name == "columns" or not f["z3_sensitive"]):
                    worst[name][k] = max(worst[name][k], gap(got[k], z[k]))
                    off[name][k] += gap(got[k], z[k]) > 1e-6
        alone += seconds == 0
        flights.append(f)
    sensitive = sum(f["z3_sensitive"] for f in flights)
    ratio = [any(k < 0 or k != int(k) for k in g["form"].values()) for f in flights for g in f["goals"]]
    checks = {
        "flights": how_many, "largest": sum(f["largest"] for f in flights),
        "goals": len(ratio), "ratio_goals": sum(ratio), "z3_sensitive": sensitive,
        "z1_zero": sum(f["z1"] == 0 for f in flights), "z2_zero": sum(f["z2"] == 0 for f in flights),
        "z3_zero": sum(f["z3"] == 0 for f in flights),
        "about": "worst: relative distance of HiGHS, recomputed from its doses, from the exact z0..z3"
                 " (caps and scipy: over the flights that are not z3_sensitive); off: how many are"
                 " further than 1e-6; same_slack_worst: stage values of caps from the exact solve with"
                 " the same slack, over all flights",
        **{name: {"worst": [digits(x, 2) for x in worst[name]], "off": off[name],
                  "not_optimal": failed[name]} for name in names},
        "same_slack_worst": [digits(x, 2) for x in same],
        "none_optimal": alone,
    }
    versions = {"python": platform.python_version(), "numpy": np.__version__, "scipy": scipy.__version__,
                "highspy": highspy.Highs().version(), "seed": SEED}
    with open(os.path.join(HERE, "lp_flights.json"), "w", encoding="utf-8") as out:
        dump = lambda x: json.dumps(x, separators=(",", ":"))
        out.write('{"versions":' + dump(versions) + ',\n"checks":' + dump(checks) + ',\n"flights":[\n')
        out.write(",\n".join(dump(f) for f in flights) + "\n]}\n")
    print(json.dumps(versions))
    print(json.dumps(checks, indent=1))
    print(f"pivots per exact solve: mean {sum(pivots) / len(pivots):.1f}, most {max(pivots)};"
          f" {time.time() - began:.0f} s")


if __name__ == "__main__":
    main()
