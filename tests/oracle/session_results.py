"""What the command `session results` must print for small sessions with invented answers, from packages.

Makes session_results.json; each case has the answers, by taster and water and never by place on the
tray, and what follows from them:
    scoring     five tasters, four waters, one round: two-way analysis of variance (statsmodels), means
                and pairs with the judge-random mean square (Tukey: scipy.stats.tukey's range law),
                Friedman (scipy), W, exact p with every ranking enumerated
    ranking     six tasters, four waters: Friedman, W, exact p (sums of all rankings convolved), exact p
                of each pair (all pairs of ranks convolved) with Holm (statsmodels), Plackett-Luce by
                choix.opt_rankings, standard errors from the numerical curvature of its likelihood
    choices     triangle, duo-trio, paired two-sided and tetrad: scipy.stats.binomtest, d' by root
                finding on the decision rules of tasting.py, power from scipy.stats.binom
    repeated    a triangle whose tasters answer twice: Clopper-Pearson with the answers that count after
                Korn & Graubard (1998), from scipy's beta and t laws
    several     paired tests of three pairs: Holm (statsmodels), Bradley-Terry by choix.opt_pairwise

Versions: Python 3.11, numpy 2.4.6, scipy 1.17.1, pandas 3.1.1, statsmodels 0.15.0, choix 0.4.1.
Run again: python session_results.py (three minutes).
"""

import itertools
import json
import os

import choix
import numpy as np
import pandas as pd
import statsmodels.api as sm
import statsmodels.formula.api as smf
from scipy import optimize, stats
from statsmodels.stats.multitest import multipletests

from tasting import GUESS, decide

HERE = os.path.dirname(os.path.abspath(__file__))


def friedman_exact(ranks):
    """Exact p of the sum of squared rank sums; ranks by taster."""
    tasters, waters = ranks.shape
    chances = {(0,) * waters: 1.0}
    for _ in range(tasters):
        following = {}
        for sums, chance in chances.items():
            orders = list(itertools.permutations(range(1, waters + 1)))
            for order in orders:
                state = tuple(sorted(s + r for s, r in zip(sums, order)))
                following[state] = following.get(state, 0.0) + chance / len(orders)
        chances = following
    observed = (ranks.sum(axis=0) ** 2).sum()
    return sum(c for s, c in chances.items() if sum(x * x for x in s) >= observed)


def scoring():
    scores = np.array([[6.0, 4.5, 7.5, 5.0], [5.5, 5.0, 8.0, 4.0], [7.0, 4.0, 7.5, 6.5],
                       [4.5, 3.5, 6.0, 5.0], [6.0, 6.5, 9.0, 4.5]])
    tasters, waters = scores.shape
    long = pd.DataFrame([{"taster": t, "water": w, "value": scores[t, w]}
                         for t in range(tasters) for w in range(waters)])
    table = sm.stats.anova_lm(smf.ols("value ~ C(water) + C(taster)", long).fit(), typ=2)
    noise = table.loc["Residual", "sum_sq"] / table.loc["Residual", "df"]
    df = table.loc["Residual", "df"]
    between = table.loc["C(taster)", "sum_sq"] / table.loc["C(taster)", "df"]
    taster = (between - noise) / waters
    assert taster > 0
    # Satterthwaite for the variance of a mean, (taster + noise) / tasters.
    total = taster + noise
    mean_df = total ** 2 / ((between / waters) ** 2 / (tasters - 1) + (noise * (1 - 1 / waters)) ** 2 / df)
    reach = stats.t.ppf(0.975, mean_df) * np.sqrt(total / tasters)
    error = np.sqrt(2 * noise / tasters)
    q = stats.studentized_range.ppf(0.95, waters, df) / np.sqrt(2) * error
    means = scores.mean(axis=0)
    pairs = []
    for i, j in itertools.combinations(range(waters), 2):
        d = means[i] - means[j]
        pairs.append({"pair": [i, j], "difference": d, "interval": [d - q, d + q],
                      "p": stats.studentized_range.sf(abs(d) / error * np.sqrt(2), waters, df)})
    ranks = np.array([stats.rankdata(-row) for row in scores])
    found = stats.friedmanchisquare(*scores.T)
    return {"scores": scores.tolist(), "means": means.tolist(), "mean_reach": reach, "pairs": pairs,
            "f": table.loc["C(water)", "F"], "df": [waters - 1, df], "p": table.loc["C(water)", "PR(>F)"],
            "friedman": found.statistic, "friedman_exact": friedman_exact(ranks),
            "w": found.statistic / (tasters * (waters - 1))}


def plackett_luce(rankings, n):
    worth = choix.opt_rankings(n, rankings, alpha=0.0, method="Newton-CG", tol=1e-12)
    worth = worth - worth.mean()

    def log_likelihood(w):
        return sum(w[r[i]] - np.log(sum(np.exp(w[x]) for x in r[i:])) for r in rankings for i in range(n - 1))

    h = 1e-4
    bowl = np.zeros((n, n))
    for i in range(n):
        for j in range(n):
            a, b = np.eye(n)[i] * h, np.eye(n)[j] * h
            bowl[i, j] = -(log_likelihood(worth + a + b) - log_likelihood(worth + a - b)
                           - log_likelihood(worth - a + b) + log_likelihood(worth - a - b)) / (4 * h * h)
    # Worths are known up to a common factor: that direction is left out of the inverse.
    return worth, np.linalg.pinv(bowl, rcond=1e-5)


def pair_law(tasters, waters):
    law = {0: 1.0}
    step = [a - b for a in range(1, waters + 1) for b in range(1, waters + 1) if a != b]
    for _ in range(tasters):
        following = {}
        for at, chance in law.items():
            for s in step:
                following[at + s] = following.get(at + s, 0.0) + chance / len(step)
        law = following
    return law


def ranking():
    rankings = [[2, 0, 3, 1], [2, 3, 0, 1], [0, 2, 3, 1], [2, 0, 1, 3], [2, 3, 1, 0], [3, 2, 0, 1]]
    n = 4
    ranks = np.array([[r.index(w) + 1 for w in range(n)] for r in rankings])
    found = stats.friedmanchisquare(*ranks.T)
    law = pair_law(len(rankings), n)
    sums = ranks.sum(axis=0)
    pairs = list(itertools.combinations(range(n), 2))
    alone = [sum(c for d, c in law.items() if abs(d) >= abs(sums[i] - sums[j])) for i, j in pairs]
    worth, covariance = plackett_luce(rankings, n)
    z = stats.norm.ppf(1 - 0.05 / (2 * len(pairs)))
    above = []
    for (i, j), p, p_all in zip(pairs, alone, multipletests(alone, method="holm")[1]):
        d, se = worth[i] - worth[j], np.sqrt(covariance[i, i] + covariance[j, j] - 2 * covariance[i, j])
        above.append({"pair": [i, j], "chance": 1 / (1 + np.exp(-d)), "p_alone": p, "p": p_all,
                      "interval": [1 / (1 + np.exp(-(d - z * se))), 1 / (1 + np.exp(-(d + z * se)))]})
    return {"rankings": rankings, "mean_ranks": ranks.mean(axis=0).tolist(), "friedman": found.statistic,
            "exact": friedman_exact(ranks), "w": found.statistic / (len(rankings) * (n - 1)),
            "log_worth": worth.tolist(), "se": np.sqrt(np.diag(covariance)).tolist(),
            "first": (np.exp(worth) / np.exp(worth).sum()).tolist(), "pairs": above}


def d_prime(test, share):
    if share >= 1:
        return None
    if share <= GUESS[test]:
        return 0.0
    return optimize.brentq(lambda d: decide(test)(d) - share, 0.0, 15.0, xtol=1e-9)


def signed(share):
    return -d_prime("two-afc", 1 - share) if share < 0.5 else d_prime("two-afc", share)


def could_find(n, guess, two_sided):
    tail = (lambda k: 2 * stats.binom.sf(k - 1, n, guess)) if two_sided else (lambda k: stats.binom.sf(k - 1, n, guess))
    least = next(k for k in range((n + 1) // 2 if two_sided else 0, n + 2) if tail(k) <= 0.05)

    def power(share):
        return stats.binom.sf(least - 1, n, share) + (stats.binom.sf(least - 1, n, 1 - share) if two_sided else 0)

    return least, power, optimize.brentq(lambda s: power(s) - 0.8, guess, 1 - 1e-12)


def choices():
    out = []
    for method, test, right, n in [("triangle", "triangle", 8, 12), ("duo-trio", "duo-trio", 9, 12),
                                   ("paired", "two-afc", 2, 12), ("tetrad", "tetrad", 5, 12)]:
        guess, two_sided = GUESS[test], method == "paired"
        ci = stats.binomtest(right, n).proportion_ci(0.95, "exact")
        p = stats.binomtest(right, n, guess, alternative="two-sided" if two_sided else "greater").pvalue
        least, power, share = could_find(n, guess, two_sided)
        distance = signed if two_sided else (lambda s, t=test: d_prime(t, s))
        tellers = lambda s, g=guess: min(max((s - g) / (1 - g), 0), 1)
        out.append({"method": method, "right": right, "answers": n, "p": p, "least_right": least,
                    "share": right / n, "share_interval": [ci.low, ci.high],
                    "tellers": tellers(max(right / n, guess)), "tellers_interval": [tellers(ci.low), tellers(ci.high)],
                    "d": distance(right / n), "d_interval": [distance(ci.low), distance(ci.high)],
                    "power_for_half": power(guess + 0.5 * (1 - guess)), "could_find": tellers(share)})
    return out


def repeated():
    by_taster = [[2, 2], [2, 2], [1, 2], [2, 2], [0, 2], [2, 2], [1, 2]]
    x, m = np.array(by_taster).T
    n, k = m.sum(), len(m)
    share = x.sum() / n
    variance = k / (k - 1) * ((x - share * m) ** 2).sum() / n ** 2
    counted = min(share * (1 - share) / variance, n) * (stats.t.ppf(0.975, n - 1) / stats.t.ppf(0.975, k - 1)) ** 2
    counted = min(max(counted, k), n)
    low = stats.beta.ppf(0.025, share * counted, (1 - share) * counted + 1)
    high = stats.beta.ppf(0.975, share * counted + 1, (1 - share) * counted)
    return {"by_taster": by_taster, "counted": counted, "share_interval": [low, high],
            "p": stats.binomtest(int(x.sum()), int(n), 1 / 3, alternative="greater").pvalue,
            "d_interval": [d_prime("triangle", low), d_prime("triangle", high)]}


def several():
    wins = {(0, 1): 9, (0, 2): 4, (1, 2): 2}
    n = 10
    alone = [stats.binomtest(w, n, 0.5).pvalue for w in wins.values()]
    data = [p for (i, j), w in wins.items() for p in [(i, j)] * w + [(j, i)] * (n - w)]
    worth = choix.opt_pairwise(3, data, alpha=0.0, method="Newton-CG", tol=1e-12)
    return {"tasters": n, "wins": [[i, j, w] for (i, j), w in wins.items()], "p_alone": alone,
            "p": multipletests(alone, method="holm")[1].tolist(), "log_worth": (worth - worth.mean()).tolist()}


def main():
    made = {part.__name__: part() for part in [scoring, ranking, choices, repeated, several]}
    rows = ",\n".join(f" {json.dumps(name)}: {json.dumps(value, default=float)}" for name, value in made.items())
    with open(os.path.join(HERE, "session_results.json"), "w") as out:
        out.write("{\n" + rows + "\n}\n")


if __name__ == "__main__":
    main()
