"""Scores as a surface over composition, from outside: makes `surface.json`.

`fixed`: Gaussian process regression of scikit-learn 1.9.1 on invented scores of 12 waters on two axes
in two sessions: mean and covariance at new points and the log evidence with given scales. The session
is a third coordinate: one kernel is blind to it (a length of 1e9), the other (levels of the sessions)
is blind to everything else. What a water has of its own adds to its error, as every water was tasted
once.

`own`: what each water has of its own by Henderson's mixed model equations, sessions fixed and waters
random, with given variances, two of five waters tasted in both sessions (Henderson C. R., Biometrics
31 (1975) 423-447); solved with numpy 2.

`evidence`: ln of the probability of scores under three accounts (all waters alike; each its own way; a
surface), averaged over 2^16 scrambled Sobol points of the prior of their scales by scipy 1.17.1, which
also gives the densities: multivariate_normal for the scores, norm, chi2 and invgamma for the prior.

    pip install scikit-learn==1.9.1 scipy==1.17.1        # Python 3.11
    python surface.py                                    # about 2 min; deterministic
"""

import json
import pathlib

import numpy
from scipy.stats import chi2, invgamma, norm, qmc
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import RBF, ConstantKernel

HERE = pathlib.Path(__file__).parent
BLIND = 1e9
LEVELS = 10.0


def kernel(signal, lengths, level):
    surface = ConstantKernel(signal**2, "fixed") * RBF([*lengths, BLIND], "fixed")
    sessions = ConstantKernel(level**2, "fixed") * RBF([BLIND] * len(lengths) + [1e-3], "fixed")
    return surface + sessions


def level_of(score, error):
    return LEVELS * max(float(score.std()), float(error.max()))


def process(seen, signal, misfit, lengths):
    at, session, score, error = seen
    level = level_of(score, error)
    gp = GaussianProcessRegressor(kernel(signal, lengths, level), alpha=error**2 + misfit**2,
                                  optimizer=None)
    gp.fit(numpy.column_stack([at, session]), score - score.mean())
    return gp, level


def own():
    """Five waters; 0 to 3 in session 0, 2 to 4 in session 1."""
    session = numpy.array([0] * 4 + [1] * 3)
    water = numpy.array([0, 1, 2, 3, 2, 3, 4])
    score = numpy.array([5.1, 6.3, 4.4, 5.8, 6.1, 7.4, 6.6])
    error = numpy.array([0.4, 0.4, 0.4, 0.4, 0.55, 0.55, 0.55])
    misfit = 0.7
    x, z = numpy.eye(2)[session], numpy.eye(5)[water]
    r = numpy.diag(1 / error**2)
    left = numpy.block([[x.T @ r @ x, x.T @ r @ z], [z.T @ r @ x, z.T @ r @ z + numpy.eye(5) / misfit**2]])
    found = numpy.linalg.solve(left, numpy.concatenate([x.T @ r @ score, z.T @ r @ score]))
    inverse = numpy.linalg.inv(left)
    rows = [numpy.concatenate([[0.5, 0.5], numpy.eye(5)[w]]) for w in range(5)]
    return {
        "seen": [{"session": int(s), "water": int(w), "score": float(y), "standard_error": float(e)}
                 for s, w, y, e in zip(session, water, score, error)],
        "misfit": misfit,
        "score": [float(row @ found) for row in rows],
        "standard_deviation": [float(numpy.sqrt(row @ inverse @ row)) for row in rows],
    }


def evidence(at, score, error, one_score, degrees):
    """ln probability of scores of one session under each account."""
    n, axes = at.shape
    level = level_of(score, error)
    points = qmc.Sobol(3 + axes, seed=1995).random_base2(16)
    points = numpy.clip(points, 1e-12, 1 - 1e-12)
    effect = numpy.sqrt(invgamma.ppf(points[:, 0], 0.5, scale=0.5 * 0.5**2))      # r^2/2
    share = numpy.sqrt(points[:, 1])
    errors = numpy.sqrt(degrees / chi2.ppf(points[:, 2], degrees))
    span = at.max(axis=0) - at.min(axis=0)
    lengths = span * 0.7 * numpy.exp(0.5 * norm.ppf(points[:, 3:]))
    spread = effect * one_score * errors
    logs = {"alike": [], "own": [], "surface": []}
    difference = (at[:, None, :] - at[None, :, :])**2
    y = score - score.mean()
    for name, found in logs.items():
        for start in range(0, len(points), 4096):
            part = slice(start, start + 4096)
            covariance = numpy.full((len(points[part]), n, n), level**2)
            covariance += (errors[part, None, None] * numpy.diag(error)[None])**2
            if name == "own":
                covariance += spread[part, None, None]**2 * numpy.eye(n)
            if name == "surface":
                near = numpy.exp(-0.5 * numpy.einsum("ijd,kd->kij", difference, 1 / lengths[part]**2))
                along = (spread**2 * share)[part, None, None] * near
                covariance += along + (spread**2 * (1 - share))[part, None, None] * numpy.eye(n)
            sign, determinant = numpy.linalg.slogdet(covariance)
            solved = numpy.linalg.solve(covariance, numpy.broadcast_to(y[:, None], (len(covariance), n, 1)))
            found.append(-0.5 * (solved[..., 0] @ y + determinant + n * numpy.log(2 * numpy.pi)))
    means = {}
    for name, found in logs.items():
        found = numpy.concatenate(found)
        means[name] = float(found.max() + numpy.log(numpy.exp(found - found.max()).mean()))
    return means


def cases():
    """Flat, sloped and scattered waters, on one to three axes."""
    random = numpy.random.default_rng(1995)
    made = []
    for waters, axes, of in [(5, 2, "flat"), (6, 1, "slope"), (8, 2, "slope"), (8, 3, "hill"), (7, 2, "own"),
                             (5, 1, "flat")]:
        at = random.uniform(0.1, 0.9, (waters, axes)).round(3)
        true = {"flat": 0 * at[:, 0], "slope": 3.0 * at.sum(axis=1), "own": random.normal(size=waters),
                "hill": -8 * ((at - 0.5)**2).sum(axis=1)}[of]
        error = numpy.full(waters, 0.45)
        score = (5 + true + error * random.standard_normal(waters)).round(3)
        one_score, degrees = 1.2, 3.0 * (waters - 1)
        made.append({"of": of, "at": at.tolist(), "score": score.tolist(), "standard_error": 0.45,
                     "one_score": one_score, "degrees": degrees,
                     "ln": evidence(at, score, error, one_score, degrees)})
    return made


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

    seen = [{"session": int(s), "at": p.tolist(), "score": float(y), "standard_error": float(e)}
            for p, s, y, e in zip(*seen)]
    (HERE / "surface.json").write_text(
        json.dumps({"seen": seen, "fixed": fixed, "own": own(), "evidence": cases()}, indent=1) + "\n",
        encoding="utf-8")


if __name__ == "__main__":
    main()
