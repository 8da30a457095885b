"""Scores of waters tasted again and again as a surface, from outside: makes `surface_dense.json`.

The covariance of all means written down entry by entry, as the model defines it (surface, what a water has
of its own, level of the session, error), and solved dense with numpy 2.4.6: log evidence, mean and covariance
at new points, each water's own score; by Cholesky's factors in extended precision (64 bits), since the
levels of the sessions are far wider than some errors. Sessions taste some of the waters each; in some cases a water lies a
little elsewhere in another session; all sets of scales that an account may have, zero among them.

    pip install numpy==2.4.6        # Python 3.11
    python surface_dense.py         # deterministic
"""

import json
import pathlib

import numpy

HERE = pathlib.Path(__file__).parent
LEVELS, LEAST_ERROR = 10.0, 0.05


def factor(matrix):
    """Cholesky's factor in the precision of the matrix."""
    lower = numpy.zeros_like(matrix)
    for j in range(len(matrix)):
        lower[j, j] = numpy.sqrt(matrix[j, j] - lower[j, :j] @ lower[j, :j])
        lower[j + 1:, j] = (matrix[j + 1:, j] - lower[j + 1:, :j] @ lower[j, :j]) / lower[j, j]
    return lower


def solve(lower, right):
    """The matrix with that factor, inverted, times the right-hand sides."""
    x = numpy.array(right, dtype=numpy.longdouble)
    for i in range(len(lower)):
        x[i] = (x[i] - lower[i, :i] @ x[:i]) / lower[i, i]
    for i in reversed(range(len(lower))):
        x[i] = (x[i] - lower[i + 1:, i] @ x[i + 1:]) / lower[i, i]
    return x


def case(random, sessions, waters, axes, signal, misfit, moved):
    place = random.uniform(0, 1, (waters, axes)).round(3)
    true, level = 2 * place.sum(axis=1) + random.normal(0, 0.4, waters), random.normal(5, 1.5, sessions)
    seen = []
    for s in range(sessions):
        tasted = numpy.sort(random.choice(waters, random.integers(2, waters + 1), replace=False))
        for w in tasted if s else range(waters):
            at = (place[w] + (random.uniform(-0.004, 0.004, axes) if moved else 0)).round(5)
            error = round(float(random.choice([0.01, 0.2, 0.4, 0.7])), 3)
            score = round(float(true[w] + level[s] + random.normal(0, 0.4)), 3)
            seen.append((s, int(w), at.tolist(), score, error))
    lengths = random.uniform(0.2, 1.5, axes).round(3)
    factors = random.uniform(0.6, 1.8, sessions).round(3)
    session = numpy.array([row[0] for row in seen])
    water = numpy.array([row[1] for row in seen])
    at, score, error = (numpy.array([row[k] for row in seen], dtype=numpy.longdouble) for k in (2, 3, 4))
    y = score - score.mean()
    within = numpy.concatenate([score[session == s] - score[session == s].mean() for s in range(sessions)])
    error_really = numpy.maximum(error, LEAST_ERROR * numpy.sqrt((within**2).mean())) * factors[session]
    spread = max(numpy.sqrt((y**2).mean()), error.max())
    level = LEVELS * spread

    def kernel(a, b):
        return signal**2 * numpy.exp(-0.5 * (((a[:, None, :] - b[None, :, :]) / lengths)**2).sum(axis=2))

    same_water = (water[:, None] == water[None, :]).astype(float)
    covariance = kernel(at, at) + misfit**2 * same_water + numpy.diag(error_really**2)
    covariance += level**2 * (session[:, None] == session[None, :])
    lower = factor(covariance)
    determinant = 2 * numpy.log(lower.diagonal()).sum()
    weights = solve(lower, y)
    evidence = -0.5 * (y @ weights + determinant + len(y) * numpy.log(2 * numpy.longdouble(numpy.pi)))
    new = random.uniform(0, 1, (4, axes)).round(3).astype(numpy.longdouble)
    across = kernel(at, new)
    first = numpy.array([at[numpy.nonzero(water == w)[0][0]] for w in range(waters)])
    own, deviation = [], []
    for w in range(waters):
        along = kernel(at, first[w][None, :])[:, 0] + level**2 / sessions + misfit**2 * (water == w)
        prior = level**2 / sessions + signal**2 + misfit**2
        own.append(float(score.mean() + along @ weights))
        deviation.append(float(numpy.sqrt(prior - along @ solve(lower, along))))
    return {
        "seen": [{"session": s, "water": w, "at": a, "score": y, "standard_error": e}
                 for s, w, a, y, e in seen],
        "signal": signal, "misfit": misfit, "lengths": lengths.tolist(), "errors": factors.tolist(),
        "log_evidence": float(evidence),
        "new": new.astype(float).tolist(),
        "mean": (across.T @ weights).astype(float).tolist(),
        "covariance": (kernel(new, new) - across.T @ solve(lower, across)).astype(float).tolist(),
        "own": own, "standard_deviation": deviation,
    }


def main():
    random = numpy.random.default_rng(2451)
    shapes = [(1, 3, 1, 0.8, 0.3, False), (2, 5, 2, 1.2, 0.0, False), (4, 6, 2, 0.0, 0.7, False),
              (3, 8, 3, 0.0, 0.0, False), (6, 7, 2, 0.9, 0.35, True), (9, 4, 1, 2.5, 0.05, True),
              (5, 12, 4, 0.6, 1.4, False)]
    found = [case(random, *shape) for shape in shapes]
    (HERE / "surface_dense.json").write_text(json.dumps(found, indent=1) + "\n")


main()
