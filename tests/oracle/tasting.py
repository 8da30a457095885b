"""Reference values for the analysis of tastings, from packages and from counting.

Reads score_data.csv (made by score_models.R, whose first lines name the data sets) and makes
tasting.json with the parts
    tails         studentized range, non-central t, F, t, chi-square (scipy)
    least_right   least number of right answers of triangle, duo-trio and paired tests for n = 3..100
                  at 0.05, 0.01, 0.001: exact binomial sums in fractions. These are the tables of
                  ISO 4120, 10399 and 5495 as far as remembered; the standards were not at hand.
    share_right   share of right answers at a distance d', by scipy's adaptive quadrature of the
                  decision rules themselves (what a taster compares), not of the reduced formulas
    distance      d' at a share of right answers (root finding on the above)
    proportion    Clopper-Pearson intervals (scipy.stats.binomtest)
    needed        answers needed for a power: every n to 400 tried with scipy.stats.binom
    friedman      statistic, chi-square p (scipy), W (pingouin) on tasters' means of real sets
    exact         exact p of Friedman's statistic for small panels, every ranking enumerated
    durbin        Durbin's statistic and exact p for a balanced incomplete design, enumerated
    page          scipy.stats.page_trend_test, exact
    pairs         exact p of a difference of two rank sums, enumerated
    icc           pingouin.intraclass_corr on its own set `icc` (wines scored by judges) and two others
    anova         statsmodels two-way tables and judge-random F, HSD and LSD
    mixed         statsmodels MixedLM by REML: variances, means, standard errors (with gaps, its errors
                  come from the joint information of means and variances and differ in the fourth digit)
    bradley_terry Stigler (1994) citations between four journals as tabled by Agresti, Categorical
                  Data Analysis: choix.opt_pairwise; standard errors by statsmodels GLM
    plackett_luce rankings of real sets: choix.opt_rankings; complete and partial rankings

Versions: Python 3.11, numpy 2.4.6, scipy 1.17.1, pandas 3.1.1, statsmodels 0.15.0, pingouin 0.7.0,
choix 0.4.1. Run again: pip install those, then python tasting.py (about five minutes).
"""

import itertools
import json
import math
import os
import warnings
from fractions import Fraction

import choix
import numpy as np
import pandas as pd
import pingouin
import statsmodels.api as sm
import statsmodels.formula.api as smf
from scipy import integrate, optimize, stats

HERE = os.path.dirname(os.path.abspath(__file__))
DATA = pd.read_csv(os.path.join(HERE, "score_data.csv"))
warnings.simplefilter("ignore")


def tails():
    out = []
    for k, df in [(2, 3.0), (3, 1.0), (3, 8.0), (4, 24.0), (6, 10.5), (10, 5.5), (12, 77.0), (16, 300.0), (24, 800.0)]:
        for q in (1.0, 3.0, 4.5, 7.0):
            out.append({"law": "range", "at": [q, k, df], "tail": stats.studentized_range.sf(q, k, df)})
    for t, df, d in [(2.0, 5.0, 1.0), (2.5, 24.0, 3.0), (-1.0, 3.3, 0.5), (2.0, 1.0, 4.0), (4.0, 12.0, 2.0)]:
        out.append({"law": "noncentral t", "at": [t, df, d], "tail": stats.nct.sf(t, df, d)})
    for f, a, b in [(25.13809, 3, 24), (1.2, 2, 5.5), (0.3, 7, 300), (4.0, 1, 1), (200.0, 4, 12)]:
        out.append({"law": "F", "at": [f, a, b], "tail": stats.f.sf(f, a, b)})
    for t, df in [(0.1, 1.0), (2.0, 1.5), (12.0, 7.3), (2.5, 24.0), (1.0, 1000.0)]:
        out.append({"law": "t two-sided", "at": [t, df], "tail": 2 * stats.t.sf(t, df)})
    for x, df in [(23.53333, 3), (0.5, 1), (7.0, 7), (100.0, 10)]:
        out.append({"law": "chi-square", "at": [x, df], "tail": stats.chi2.sf(x, df)})
    for z in (-8.0, -3.0, -0.7, 0.0, 0.5, 1.0, 2.2):
        out.append({"law": "normal", "at": [z], "tail": stats.norm.cdf(z)})
    return out


def exact_tail(n, hits, p):
    return sum(math.comb(n, k) * p**k * (1 - p)**(n - k) for k in range(hits, n + 1))


def least_right():
    rows = {}
    for name, p, sides in [("triangle", Fraction(1, 3), 1), ("duo-trio", Fraction(1, 2), 1), ("paired", Fraction(1, 2), 2)]:
        for alpha in ("0.05", "0.01", "0.001"):
            line = []
            for n in range(3, 101):
                first = next((k for k in range((n + 1) // 2 if sides == 2 else 0, n + 1)
                              if sides * exact_tail(n, k, p) <= Fraction(alpha)), None)
                line.append(first)
            rows[f"{name} {alpha}"] = line
    return rows


def decide(test):
    """Whether a taster answers right, as an integral over what the cups taste like."""
    phi, Phi = stats.norm.pdf, stats.norm.cdf

    def two_afc(d):
        return integrate.quad(lambda s: phi(s - d) * Phi(s), -12, 12 + d, epsabs=1e-13, limit=400)[0]

    def three_afc(d):
        return integrate.quad(lambda s: phi(s - d) * Phi(s)**2, -12, 12 + d, epsabs=1e-13, limit=400)[0]

    def triangle(d):
        # x < y the two alike cups (order does not matter: factor 2), the odd one at s: right when
        # the two alike are nearer to each other than either to the odd one.
        def inner(x, y):
            gap = y - x
            return 1 - (Phi(y + gap - d) - Phi(x - gap - d))
        return 2 * integrate.dblquad(lambda y, x: phi(x) * phi(y) * inner(x, y), -9, 9,
                                     lambda x: x, lambda x: 9, epsabs=1e-10)[0]

    def duo_trio(d):
        # reference r and its like m ~ N(0, 1), other s ~ N(d, 1): right when |m - r| < |s - r|.
        def inner(r, gap):
            return 1 - (Phi(r + gap - d) - Phi(r - gap - d))
        return integrate.dblquad(lambda m, r: phi(r) * phi(m) * inner(r, abs(m - r)), -9, 9,
                                 lambda r: r, lambda r: 9, epsabs=1e-10)[0] + \
            integrate.dblquad(lambda m, r: phi(r) * phi(m) * inner(r, abs(m - r)), -9, 9,
                              lambda r: -9, lambda r: r, epsabs=1e-10)[0]

    def tetrad(d):
        # right when the two weaker are the two of one water: all weak below all strong, or above.
        low = integrate.quad(lambda x: 2 * phi(x) * Phi(x) * (1 - Phi(x - d))**2, -12, 12, epsabs=1e-13, limit=400)[0]
        high = integrate.quad(lambda x: 2 * phi(x) * (1 - Phi(x)) * Phi(x - d)**2, -12, 12 + d, epsabs=1e-13, limit=400)[0]
        return low + high

    return {"two-afc": two_afc, "three-afc": three_afc, "triangle": triangle,
            "duo-trio": duo_trio, "tetrad": tetrad}[test]


TESTS = ["two-afc", "three-afc", "triangle", "duo-trio", "tetrad"]
GUESS = {"two-afc": 0.5, "three-afc": 1 / 3, "triangle": 1 / 3, "duo-trio": 0.5, "tetrad": 1 / 3}


def share_right():
    return [{"test": t, "d": d, "share": decide(t)(d)} for t in TESTS for d in (0.0, 0.3, 0.75, 1.0, 1.5, 2.0, 3.0, 4.5)]


def distance():
    out = []
    for t in TESTS:
        for share in (0.55, 0.65, 0.75, 0.9):
            d = optimize.brentq(lambda d: decide(t)(d) - share, 0.0, 12.0, xtol=1e-9)
            out.append({"test": t, "share": share, "d": d})
    return out


def proportion():
    out = []
    for k, n in [(0, 5), (5, 5), (3, 12), (13, 24), (41, 60), (1, 100)]:
        ci = stats.binomtest(k, n).proportion_ci(0.95, "exact")
        out.append({"hits": k, "n": n, "low": ci.low, "high": ci.high})
    return out


def needed():
    def power(n, guess, share, alpha, two_sided):
        ks = np.arange(n + 1)
        if two_sided:
            tail = 2 * stats.binom.sf(np.maximum(ks, n - ks) - 1, n, guess)
        else:
            tail = stats.binom.sf(ks - 1, n, guess)
        return stats.binom.pmf(ks, n, share)[tail <= alpha].sum()

    out = []
    cases = [(t, GUESS[t] + pd_ * (1 - GUESS[t]), two) for t, two in
             [("triangle", False), ("duo-trio", False), ("two-afc", True)] for pd_ in (0.3, 0.5)]
    cases += [(t, decide(t)(1.5), False) for t in ("two-afc", "tetrad", "triangle", "duo-trio")]
    for t, share, two in cases:
        reach = [power(n, GUESS[t], share, 0.05, two) >= 0.8 for n in range(1, 401)]
        first = reach.index(True) + 1
        last_miss = max(i + 1 for i, ok in enumerate(reach) if not ok)
        out.append({"test": t, "share": share, "two_sided": two, "first": first, "always_from": last_miss + 1,
                    "power_at_first": float(power(first, GUESS[t], share, 0.05, two))})
    return out


def means(name):
    return DATA[DATA.set == name].pivot_table(index="taster", columns="water", values="value", aggfunc="mean")


def friedman():
    out = []
    for name in ["wine", "tv_Noise", "tv_Cutting", "tv_Flossyedges", "ham"]:
        # Rounded, so that means of equal scores are ties and not told apart by their last bit.
        table = means(name).dropna().round(9)
        f = stats.friedmanchisquare(*[table[c] for c in table])
        long = table.reset_index().melt(id_vars="taster")
        w = pingouin.friedman(long, dv="value", within="water", subject="taster")
        out.append({"set": name, "statistic": float(f.statistic), "p": float(f.pvalue), "w": float(w["W"].iloc[0])})
    return out


def friedman_statistic(ranks):
    ranks = np.asarray(ranks, float)
    j, k = ranks.shape
    ties = sum((c**3 - c) for row in ranks for c in np.unique(row, return_counts=True)[1])
    plain = 12 / (j * k * (k + 1)) * (ranks.sum(0)**2).sum() - 3 * j * (k + 1)
    return plain / (1 - ties / (j * (k**3 - k)))


def exact():
    out = []
    cases = {
        "three tasters, three waters": [[1, 2, 3], [1, 2, 3], [1, 3, 2]],
        "four tasters, three waters": [[1, 2, 3], [1, 2, 3], [2, 1, 3], [1, 2, 3]],
        "three tasters, four waters": [[1, 2, 3, 4], [2, 1, 3, 4], [1, 2, 4, 3]],
        "perfect agreement": [[1, 2, 3, 4], [1, 2, 3, 4], [1, 2, 3, 4]],
        "ties": [[1, 2.5, 2.5], [1, 2, 3], [1.5, 1.5, 3], [1, 2, 3]],
        "no agreement": [[1, 2, 3], [3, 2, 1]],
    }
    for name, ranks in cases.items():
        observed = friedman_statistic(ranks)
        perms = [list(itertools.permutations(row)) for row in ranks]
        hits = total = 0
        for table in itertools.product(*perms):
            total += 1
            hits += friedman_statistic(table) >= observed - 1e-9
        out.append({"name": name, "ranks": ranks, "statistic": float(observed), "p": hits / total})
    return out


def durbin():
    # Four waters, every three of them on one tray (ranks 1 the most; 0 not served).
    ranks = [[1, 2, 3, 0], [1, 3, 0, 2], [2, 0, 1, 3], [0, 1, 2, 3]]
    t, k, r = 4, 3, 3

    def statistic(rows):
        sums = np.asarray(rows).sum(0)
        return 12 * (t - 1) / (r * t * (k - 1) * (k + 1)) * (sums**2).sum() - 3 * r * (t - 1) * (k + 1) / (k - 1)

    observed = statistic(ranks)
    served = [[i for i, v in enumerate(row) if v] for row in ranks]
    hits = total = 0
    for orders in itertools.product(*[list(itertools.permutations((1, 2, 3)))] * 4):
        rows = np.zeros((4, 4), int)
        for b, order in enumerate(orders):
            rows[b, served[b]] = order
        total += 1
        hits += statistic(rows) >= observed - 1e-9
    return {"ranks": ranks, "statistic": float(observed), "p": hits / total,
            "p_chi_square": float(stats.chi2.sf(observed, t - 1))}


def page():
    out = []
    for ranks in ([[3, 4, 17], [5, 4, 6], [1, 8, 2], [4, 5, 9]],
                  [[1, 2, 3, 4, 5], [2, 1, 3, 5, 4], [1, 3, 2, 4, 5]],
                  [[1, 1, 3, 4], [2, 1, 3, 3], [1, 3, 2, 4], [1, 2, 2, 5], [2, 1, 4, 3], [1, 2, 3, 4]]):
        for method in ("exact", "asymptotic"):
            if method == "exact" and any(len(set(row)) < len(row) for row in ranks):
                continue
            r = stats.page_trend_test(ranks, method=method)
            out.append({"values": ranks, "method": method, "l": float(r.statistic), "p": float(r.pvalue)})
    return out


def pairs():
    ranks = [[1, 2, 3, 4], [1, 3, 2, 4], [2, 1, 3, 4], [1, 2, 4, 3]]
    out = []
    for a, b in itertools.combinations(range(4), 2):
        observed = abs(sum(row[a] - row[b] for row in ranks))
        steps = [x - y for x, y in itertools.permutations((1, 2, 3, 4), 2)]
        hits = sum(abs(sum(s)) >= observed for s in itertools.product(steps, repeat=4))
        out.append(hits / len(steps)**4)
    return {"ranks": ranks, "p": out}


def icc():
    out = []
    wines = pingouin.read_dataset("icc")
    tables = {"wines of pingouin": wines.pivot_table(index="Wine", columns="Judge", values="Scores").to_numpy(),
              "tv_Noise": means("tv_Noise").to_numpy().T, "wine": means("wine").to_numpy().T}
    for name, table in tables.items():
        long = pd.DataFrame([(i, j, v) for i, row in enumerate(table) for j, v in enumerate(row)],
                            columns=["thing", "scorer", "score"])
        r = pingouin.intraclass_corr(long, targets="thing", raters="scorer", ratings="score")
        forms = []
        for _, line in r.iterrows():
            msr = line
            forms.append({"type": str(msr["Type"]), "icc": float(msr["ICC"]), "f": float(msr["F"]),
                          "df1": float(msr["df1"]), "df2": float(msr["df2"]), "p": float(msr["pval"]),
                          "ci": [float(x) for x in np.ravel(msr[[c for c in r.columns if c.startswith("CI")][0]])]})
        out.append({"name": name, "scores": table.tolist(), "forms": forms})
    return out


def anova():
    out = []
    for name in ["wine", "tv_Noise", "tv_Flickeringmovement", "ham"]:
        d = DATA[DATA.set == name]
        fit = smf.ols("value ~ C(water) * C(taster)", d).fit()
        a = sm.stats.anova_lm(fit)
        ms = a["mean_sq"]
        product, judge, both, error = (ms["C(water)"], ms["C(taster)"], ms["C(water):C(taster)"], ms["Residual"])
        df1, df2 = a["df"]["C(water)"], a["df"]["C(water):C(taster)"]
        k, cups = d.water.nunique(), len(d) / d.water.nunique()
        out.append({"set": name, "mean_squares": [product, judge, both, error], "f": product / both,
                    "df": [df1, df2], "p": stats.f.sf(product / both, df1, df2),
                    "hsd": stats.studentized_range.isf(0.05, k, df2) * math.sqrt(both / cups),
                    "lsd": stats.t.isf(0.025, df2) * math.sqrt(2 * both / cups)})
    return out


def mixed():
    out = []
    for name in ["wine", "tv_Noise", "tv_gaps", "orders"]:
        d = DATA[DATA.set == name].copy()
        model = sm.MixedLM.from_formula("value ~ 0 + C(water)", d, groups="taster", re_formula="1",
                                        vc_formula={"both": "0 + C(water)"})
        fit = model.fit(reml=True, method=["bfgs", "powell", "bfgs"], gtol=1e-10)
        out.append({"set": name, "taster": float(fit.cov_re.iloc[0, 0]), "both": float(fit.vcomp[0]),
                    "cup": float(fit.scale), "means": fit.fe_params.tolist(), "se": fit.bse_fe.tolist()})
    return out


def bradley_terry():
    wins = {(0, 1): 730, (1, 0): 33, (0, 2): 498, (2, 0): 320, (0, 3): 221, (3, 0): 284,
            (1, 2): 68, (2, 1): 813, (1, 3): 17, (3, 1): 276, (2, 3): 142, (3, 2): 325}
    data = [pair for pair, n in wins.items() for _ in range(n)]
    worth = choix.opt_pairwise(4, data, alpha=0.0, method="Newton-CG", tol=1e-12)
    x, y = [], []
    for i, j in itertools.combinations(range(4), 2):
        row = np.zeros(4)
        row[i], row[j] = 1, -1
        x.append(row)
        y.append([wins[i, j], wins[j, i]])
    x = np.array(x)
    glm = sm.GLM(np.array(y), x[:, 1:], family=sm.families.Binomial()).fit(tol=1e-14)
    cov = np.zeros((4, 4))
    cov[1:, 1:] = glm.cov_params()
    centring = np.eye(4) - 0.25
    return {"wins": [[i, j, n] for (i, j), n in wins.items()], "log_worth": (worth - worth.mean()).tolist(),
            "se": np.sqrt(np.diag(centring @ cov @ centring)).tolist()}


def plackett_luce():
    out = []
    for name in ["tv_Noise", "tv_Cutting", "carrots"]:
        table = means(name).to_numpy()
        complete = [list(map(int, np.argsort(-row, kind="stable"))) for row in table if not np.isnan(row).any()]
        for size in (table.shape[1], 4):
            rankings = [r[:size] if i % 2 else r[-size:] for i, r in enumerate(complete)]
            worth = choix.opt_rankings(table.shape[1], rankings, alpha=0.0, method="Newton-CG", tol=1e-12)
            if np.abs(worth).max() < 8:
                out.append({"name": f"{name}, {size} ranked", "rankings": rankings,
                            "log_worth": (worth - worth.mean()).tolist()})
    return out


def main():
    parts = [tails, least_right, share_right, distance, proportion, needed, friedman, exact, durbin, page, pairs,
             icc, anova, mixed, bradley_terry, plackett_luce]
    made = {part.__name__: part() for part in parts}
    rows = ",\n".join(f" {json.dumps(name)}: {json.dumps(value, default=float)}" for name, value in made.items())
    with open(os.path.join(HERE, "tasting.json"), "w") as out:
        out.write("{\n" + rows + "\n}\n")


if __name__ == "__main__":
    main()
