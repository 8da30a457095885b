"""Starting blocks of balanced incomplete block designs, searched for.

Prints the rows of src/tasting/families.rs. For 4 to 16 waters and blocks of 3 to half of them it
looks, for every smallest number of meetings that the counting conditions allow (and that is no sum
of ones already found), for a design that is unchanged when the waters turn along circles: an exact
cover of pair orbits by block orbits, as an integer program (Kramer E. S., Mesner D. M., Discrete
Math. 15 (1976) 263). Circles of length m, c of them, with at most one water left standing.

Versions: scipy 1.17.1 (HiGHS). Takes a few minutes.
Run again: pip install scipy==1.17.1 && python block_families.py
"""

import itertools
import math

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_matrix


def circles(v):
    found = []
    for standing in (0, 1):
        turning = v - standing
        found += [(turning // c, c) for c in range(1, turning // 2 + 1) if turning % c == 0]
    return sorted(found, reverse=True)


def turned(p, m, c, by):
    return p if p >= m * c else p // m * m + (p % m + by) % m


def orbits(v, k, m, c):
    seen, found = set(), []
    for block in itertools.combinations(range(v), k):
        if block not in seen:
            orbit = {tuple(sorted(turned(p, m, c, by) for p in block)) for by in range(m)}
            seen |= orbit
            found.append((block, orbit))
    return found


def search(v, k, meetings):
    for m, c in circles(v):
        pair_orbits = orbits(v, 2, m, c)
        which = {pair: i for i, (_, orbit) in enumerate(pair_orbits) for pair in orbit}
        block_orbits = orbits(v, k, m, c)
        cover = np.zeros((len(pair_orbits), len(block_orbits)))
        for j, (block, orbit) in enumerate(block_orbits):
            for pair in itertools.combinations(block, 2):
                i = which[pair]
                cover[i, j] += len(orbit) / len(pair_orbits[i][1])
        found = milp(np.zeros(len(block_orbits)),
                     constraints=LinearConstraint(csr_matrix(cover), meetings, meetings),
                     integrality=np.ones(len(block_orbits)), bounds=Bounds(0, 1),
                     options={"time_limit": 20})
        if found.x is not None and found.status == 0:
            starts = [block_orbits[j][0] for j in np.flatnonzero(np.round(found.x))]
            return m, c, starts
    return None


def reachable(multiple, found):
    sums = {0}
    for _ in range(multiple):
        sums |= {a + b for a in sums for b in found if a + b <= multiple}
    return multiple in sums


def main():
    for v in range(4, 17):
        for k in range(3, v // 2 + 1):
            least = next(n for n in itertools.count(1)
                         if n * (v - 1) % (k - 1) == 0 and v * (n * (v - 1) // (k - 1)) % k == 0)
            found = []
            for multiple in range(1, 9):
                if found and math.gcd(*found) == 1 and (1 in found or len(found) > 1):
                    break
                meetings = least * multiple
                blocks = v * (meetings * (v - 1) // (k - 1)) // k
                if reachable(multiple, found) or not v <= blocks <= math.comb(v, k):
                    continue
                design = search(v, k, meetings)
                if design is None:
                    print(f"# none for {v} waters, blocks of {k}, {blocks} of them")
                    continue
                found.append(multiple)
                m, c, starts = design
                rows = "; ".join(" ".join(map(str, s)) for s in starts)
                print(f"{v} {k} {m} {c}: {rows}", flush=True)


if __name__ == "__main__":
    main()
