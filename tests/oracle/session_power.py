"""What a scoring session finds, and how often it finds what is not there, by another program.

Makes session_power.json:
  tables   scores of small sessions (complete, repeated, with gaps, incomplete, corrected for places) and
           what the classical analysis within tasters says: F of the waters, every pair, Tukey's p
  sizes    share of 40,000 sessions without any difference in which a pair is told apart (Tukey, 5 %),
           2 to 8 tasters, 2 to 6 waters, 1 to 3 rounds
  power    differences of two waters that are found 78, 80 and 83 times in 100, from 200,000 sessions
           (20,000 where waters are corrected for places), cups and tastes scattering by SD 1 each
  families share of 40,000 sessions of seven attributes of pure noise in which any pair is told apart: each
           attribute by itself, and all together by Benjamini & Hochberg

Waters are compared within tasters by ordinary least squares with a column for each taster; repeats are
averaged in each cell first. Nothing of this is shared with the crate.

Versions: numpy 2.4.6, scipy 1.17.1, statsmodels 0.15.0. Run again, in this folder:
python session_power.py  (about four minutes)
"""
import itertools, json
import numpy as np
import statsmodels.api as sm
from scipy import stats

rng = np.random.default_rng(20310504)


def columns(rows, waters, tasters, place=False, carry=False):
    """Waters, tasters but the last, places and waters before as deviations from their means."""
    def coded(values, levels):
        out = np.zeros((len(values), len(levels) - 1))
        for i, v in enumerate(values):
            if v == levels[-1]:
                out[i] = -1
            elif v in levels:
                out[i, levels.index(v)] = 1
        return out
    X = [np.eye(waters)[[r["water"] for r in rows]]]
    if tasters > 1:
        X.append(coded([r["taster"] for r in rows], list(range(tasters))))
    if place:
        X.append(coded([r["position"] for r in rows], sorted({r["position"] for r in rows})))
    if carry:
        before = [r["previous"] for r in rows]
        X.append(coded(before, sorted({b for b in before if b is not None})))
    return np.hstack(X)


def averaged(rows):
    cells = {}
    for r in rows:
        cells.setdefault((r["taster"], r["water"]), []).append(r["value"])
    return [dict(taster=t, water=w, value=float(np.mean(v)), position=0, previous=None)
            for (t, w), v in cells.items()]


def analysed(rows, waters, tasters, place=False, carry=False):
    X = columns(rows, waters, tasters, place, carry)
    fit = sm.OLS(np.array([r["value"] for r in rows]), X).fit()
    R = np.zeros((waters - 1, X.shape[1]))
    for i in range(waters - 1):
        R[i, i], R[i, i + 1] = 1, -1
    f = fit.f_test(R)
    pairs = []
    for a, b in itertools.combinations(range(waters), 2):
        c = np.zeros(X.shape[1]); c[a], c[b] = 1, -1
        t = fit.t_test(c)
        pairs.append(dict(pair=[a, b], estimate=float(t.effect[0]), se=float(t.sd[0, 0]), p=float(t.pvalue),
                          p_tukey=float(stats.studentized_range.sf(abs(t.tvalue[0, 0]) * np.sqrt(2), waters,
                                                                   fit.df_resid))))
    return dict(f=float(f.fvalue), df=float(fit.df_resid), p=float(f.pvalue), pairs=pairs)


def orders(waters, trays, start=0):
    """Rows of a Williams square (an even number of waters), or plain rotations."""
    first = [0] + [x for i in range(1, waters // 2 + 1) for x in (i, waters - i)]
    first = first[:waters]
    return [[(x + start + k) % waters for x in first] for k in range(trays)]


def session(tasters, waters, rounds, start=0):
    rows = []
    for k, order in enumerate(orders(waters, tasters * rounds, start)):
        for at, w in enumerate(order):
            rows.append(dict(taster=k % tasters, water=w, round=k // tasters + 1, position=at + 1,
                             previous=order[at - 1] if at else None))
    return rows


def scored(rows, tasters, waters, taster_sd, taste_sd, cup_sd):
    level, taste = rng.normal(0, taster_sd, tasters), rng.normal(0, taste_sd, (tasters, waters))
    for r in rows:
        r["value"] = round(float(5 + level[r["taster"]] + taste[r["taster"], r["water"]]
                                 + rng.normal(0, cup_sd)), 2)
    return rows


def tables():
    out = []
    def add(kind, rows, waters, tasters, reference, adjust=()):
        out.append(dict(kind=kind, waters=waters, tasters=tasters, adjust=list(adjust), rows=rows, **reference))
    for tasters, waters in [(2, 2), (2, 3), (2, 6), (3, 4), (5, 4), (8, 3)]:
        for taster_sd in (0.0, 1.0):  # without levels their variance often comes out below zero
            rows = scored(session(tasters, waters, 1), tasters, waters, taster_sd, 0, 1)
            add("once", rows, waters, tasters, analysed(rows, waters, tasters))
    for tasters, waters, rounds in [(2, 3, 2), (3, 4, 2), (4, 3, 3), (6, 5, 2)]:
        for taste_sd in (0.0, 1.0):
            rows = scored(session(tasters, waters, rounds), tasters, waters, 0.5, taste_sd, 1)
            add("repeated", rows, waters, tasters, analysed(averaged(rows), waters, tasters))
    for tasters, waters, gone in [(3, 4, 1), (4, 5, 3), (6, 3, 2)]:
        rows = scored(session(tasters, waters, 1), tasters, waters, 1, 0, 1)
        rows = [rows[i] for i in sorted(rng.permutation(len(rows))[gone:])]
        add("gaps", rows, waters, tasters, analysed(rows, waters, tasters))
    blocks = [(0, 1, 3), (1, 2, 4), (2, 3, 5), (3, 4, 6), (4, 5, 0), (5, 6, 1), (6, 0, 2)]
    rows = [dict(taster=t, water=w, round=1, position=at + 1, previous=block[at - 1] if at else None)
            for t, block in enumerate(blocks) for at, w in enumerate(block)]
    rows = scored(rows, 7, 7, 1, 0, 1)
    add("blocks", rows, 7, 7, analysed(rows, 7, 7))
    for tasters, waters, adjust in [(4, 4, ["place"]), (4, 4, ["place", "carry_over"]), (3, 4, ["place"]),
                                    (6, 6, ["place", "carry_over"])]:
        rows = scored(session(tasters, waters, 1), tasters, waters, 1, 0, 1)
        add("corrected", rows, waters, tasters,
            analysed(rows, waters, tasters, "place" in adjust, "carry_over" in adjust), adjust)
    return out


def cells(n, tasters, waters, rounds, taste=1.0, cup=1.0):
    """Cell means of n sessions without differences, and the mean square within tasters."""
    M = rng.normal(0, 1, (n, tasters, 1)) + rng.normal(0, np.hypot(taste, cup / np.sqrt(rounds)),
                                                      (n, tasters, waters))
    water = M.mean(1)
    rest = M - M.mean(2, keepdims=True) - water[:, None, :] + M.mean((1, 2))[:, None, None]
    return water, (rest**2).sum((1, 2)) / ((tasters - 1) * (waters - 1))


def sizes(n=40_000):
    out = []
    for tasters, waters, rounds in itertools.product(range(2, 9), range(2, 7), (1, 2, 3)):
        q = stats.studentized_range.ppf(0.95, waters, (tasters - 1) * (waters - 1))
        water, ms = cells(n, tasters, waters, rounds)
        seen = np.ptp(water, axis=1) > q * np.sqrt(ms / tasters)
        out.append(dict(tasters=tasters, waters=waters, rounds=rounds, false=float(seen.mean())))
    return out


def power(n=200_000):
    out = []
    def add(tasters, waters, rounds, share, found_from, adjust=()):
        d = [float(np.quantile(found_from, p)) for p in (0.78, 0.80, 0.83)]
        out.append(dict(tasters=tasters, waters=waters, rounds=rounds, share=share, adjust=list(adjust),
                        found_78=d[0], found_80=d[1], found_83=d[2]))
    for (tasters, waters, rounds), share in itertools.product(
            [(2, 4, 1), (3, 3, 1), (3, 4, 2), (4, 2, 1), (4, 4, 1), (5, 6, 1), (6, 3, 3), (6, 4, 1)], (1, 1 / 7)):
        q = stats.studentized_range.ppf(1 - 0.05 * share, waters, (tasters - 1) * (waters - 1))
        water, ms = cells(n, tasters, waters, rounds)
        add(tasters, waters, rounds, share, q * np.sqrt(ms / tasters) - (water[:, 0] - water[:, 1]))
    for tasters, waters, rounds, adjust in [(4, 4, 1, ["place"]), (4, 4, 1, ["place", "carry_over"]),
                                            (3, 4, 1, ["place"])]:
        rows = session(tasters, waters, rounds)
        X = columns(rows, waters, tasters, "place" in adjust, "carry_over" in adjust)
        C = np.array([[(j == a) - (j == b) for j in range(X.shape[1])]
                      for a, b in itertools.combinations(range(waters), 2)], float)
        scale = np.sqrt(np.diag(C @ np.linalg.inv(X.T @ X) @ C.T))
        Y = rng.normal(0, np.sqrt(2), (20_000, len(rows)))
        B = Y @ np.linalg.pinv(X).T
        df = len(rows) - X.shape[1]
        s = np.sqrt(((Y - B @ X.T)**2).sum(1) / df)
        E = B @ C.T
        equal = np.ptp(scale) < 1e-9
        pairs = list(itertools.combinations(range(waters), 2))
        found = []
        for i in range(len(Y)):
            at = i % len(pairs)
            if equal:
                q = found and add.q or stats.studentized_range.ppf(0.95, waters, df)
                add.q = q
                found.append(q / np.sqrt(2) * s[i] * scale[at] - E[i, at])
                continue
            a, b = pairs[at]
            low, high = 0.0, stats.t.isf(0.025 / len(pairs), df) * s[i] * scale[at] - E[i, at]
            if high <= 0:
                found.append(high)
                continue
            moves = np.array([((p == a) - (p == b)) / 2 - ((r == a) - (r == b)) / 2 for p, r in pairs])
            for _ in range(14):
                d = (low + high) / 2
                p = 2 * stats.t.sf(np.abs(E[i] + d * moves) / (s[i] * scale), df)
                order = np.argsort(p)
                holm = np.maximum.accumulate(p[order] * (len(pairs) - np.arange(len(pairs))))
                told = holm[list(order).index(at)] <= 0.05
                low, high = (low, d) if told else (d, high)
            found.append(high)
        add(tasters, waters, rounds, 1, np.array(found), adjust)
    return out


def families(n=40_000, tasters=5, waters=4):
    df = (tasters - 1) * (waters - 1)
    # The largest range that has at most the risk i/7 of 5 %, for Benjamini & Hochberg's i-th smallest p.
    q = [stats.studentized_range.ppf(1 - 0.05 * i / 7, waters, df) for i in range(1, 8)]
    largest = np.empty((n, 7))
    for a in range(7):
        water, ms = cells(n, tasters, waters, 1)
        largest[:, a] = np.ptp(water, axis=1) / np.sqrt(ms / tasters)
    descending = -np.sort(-largest, axis=1)
    return dict(alone=float((largest >= q[6]).any(1).mean()), together=float((descending >= q).any(1).mean()))


if __name__ == "__main__":
    made = dict(tables=tables(), sizes=sizes(), power=power(), families=families())
    with open("session_power.json", "w") as file:
        json.dump(made, file, separators=(",", ":"))
        file.write("\n")
    print("sizes", min(s["false"] for s in made["sizes"]), max(s["false"] for s in made["sizes"]))
    print("families", made["families"])
