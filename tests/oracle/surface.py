"""Scores as a surface over composition, by scikit-learn: makes `surface.json`.

Gaussian process regression of scikit-learn 1.9.1 on invented scores of 12 waters on two axes in two
sessions. The session is a third coordinate: one kernel is blind to it (a length of 1e9), the other
(levels of the sessions) is blind to everything else. What a water has of its own adds to its error,
as every water was tasted once. `fixed` holds mean and covariance at new points
and the log evidence with given scales; `fitted` the scales that scipy 1.17.1 finds most probable
under the priors that the program states (logarithms: signal around the spread of the scores, 0.7;
misfit around 0.3 of it, 0.7; lengths around ln 0.7, 0.5 from eight waters on).

    pip install scikit-learn==1.9.1 scipy==1.17.1        # Python 3.11
    python surface.py                                    # about 2 s; deterministic
"""

import json
import pathlib

import numpy
from scipy.optimize import minimize
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import RBF, ConstantKernel

HERE = pathlib.Path(__file__).parent
BLIND = 1e9
LEVELS = 10.0


def kernel(signal, lengths, level):
    surface = ConstantKernel(signal**2, "fixed") * RBF([*lengths, BLIND], "fixed")
    sessions = ConstantKernel(level**2, "fixed") * RBF([BLIND] * len(lengths) + [1e-3], "fixed")
    return surface + sessions


def spread(session, score):
    means = {s: score[session == s].mean() for s in set(session)}
    return float(numpy.sqrt(numpy.mean([(y - means[s])**2 for s, y in zip(session, score)])))


def process(seen, signal, misfit, lengths):
    at, session, score, error = seen
    level = LEVELS * spread(session, score)
    gp = GaussianProcessRegressor(kernel(signal, lengths, level), alpha=error**2 + misfit**2,
                                  optimizer=None)
    gp.fit(numpy.column_stack([at, session]), score - score.mean())
    return gp, level


def main():
    random = numpy.random.default_rng(20261125)
    at = random.uniform(0, 1, (12, 2)).round(3)
    session = numpy.array([0] * 7 + [1] * 5)
    true = 2.0 * numpy.exp(-((at[:, 0] - 0.6) / 0.4)**2) - 0.8 * at[:, 1]
    error = random.uniform(0.15, 0.4, 12).round(3)
    score = (5.0 + 1.5 * session + true + error * random.standard_normal(12)).round(3)
    seen = (at, session, score, error)

    new = random.uniform(0, 1, (6, 2)).round(3)
    signal, misfit, lengths = 0.9, 0.35, [0.5, 1.1]
    gp, level = process(seen, signal, misfit, lengths)
    mean, covariance = gp.predict(numpy.column_stack([new, numpy.full(6, 99.0)]), return_cov=True)
    fixed = {
        "signal": signal, "misfit": misfit, "lengths": lengths, "new": new.tolist(), "mean": mean.tolist(),
        "covariance": (covariance - level**2).tolist(),
        "log_evidence": float(gp.log_marginal_likelihood(gp.kernel_.theta)),
    }

    def against(logs):
        sizes = numpy.exp(logs[:2])
        gp, _ = process(seen, float(sizes[0]), float(sizes[1]), numpy.exp(logs[2:]).tolist())
        prior = ((logs[0] - numpy.log(spread(session, score))) / 0.7)**2
        prior += ((logs[1] - numpy.log(0.3 * spread(session, score))) / 0.7)**2
        prior += sum(((x - numpy.log(0.7)) / 0.5)**2 for x in logs[2:])
        return -float(gp.log_marginal_likelihood(gp.kernel_.theta)) + 0.5 * prior

    usual = [numpy.log(spread(session, score)), numpy.log(0.3 * spread(session, score))]
    tries = [minimize(against, [*usual, numpy.log(length), numpy.log(length)], method="Nelder-Mead",
                      options={"xatol": 1e-7, "fatol": 1e-10, "maxiter": 4000})
             for length in (0.2, 0.7, 2.0)]
    found = min(tries, key=lambda one: one.fun)
    fitted = {"signal": float(numpy.exp(found.x[0])), "misfit": float(numpy.exp(found.x[1])),
              "lengths": numpy.exp(found.x[2:]).tolist()}
    seen = [{"session": int(s), "at": p.tolist(), "score": float(y), "standard_error": float(e)}
            for p, s, y, e in zip(*seen)]
    (HERE / "surface.json").write_text(
        json.dumps({"seen": seen, "fixed": fixed, "fitted": fitted}, indent=1) + "\n",
        encoding="utf-8")


if __name__ == "__main__":
    main()
