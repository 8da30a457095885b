"""Flights whose misses cost very different amounts, and the exact optimum of each stage.

Makes lp_far_apart.json, in the form of lp_flights.json. Weights are drawn from 0.01 to 1,000, and in half
of the flights tolerances from 1e-10 to 1 meq/L, so costs of one flight lie up to 10^14 apart. Solved in
rational arithmetic by lp_flights.Exact, which shares no code with the program. Seeded. Made with Python
3.11 (numpy 2.4.6, scipy 1.17.1 and highspy 1.16.0 are only imported by lp_flights).

Run again:  python lp_far_apart.py

"z3_sensitive" is here true where a slack of 1e-9 max(1, z) on the stages before moves z2 or z3 by more
than 1e-6 max(1, value): such a slack is what the digits of a float leave open.
"""

import json
import os
import platform
from fractions import Fraction

from lp_flights import Chance, Model, digits, exact, make_flight, plain, solve_exact

HERE = os.path.dirname(os.path.abspath(__file__))
SEED = 20260301
HOW_MANY = 240


def main():
    c = Chance(SEED)
    flights = []
    for number in range(HOW_MANY):
        flight = make_flight(c, number)
        tiny = number % 2 == 1
        for g in flight["goals"]:
            g["weight"] = plain(digits(c.log(0.01, 1000), 4))
            if tiny and c.yes(0.7):
                g["tol"] = g["unit"] = plain(digits(c.log(1e-10, 1), 3))
        flight["kind"] += "+tiny tolerances" if tiny else "+far weights"
        model = Model(flight, exact)
        z, *_ = solve_exact(model, None)
        near, *_ = solve_exact(Model(flight, exact), Fraction(1, 10**9))
        moved = [abs(float(a - b)) > 1e-6 * max(1.0, abs(float(a))) for a, b in zip(z, near)]
        names = (["z0"] if flight["largest"] else []) + ["z1", "z2", "z3"]
        flight.update(dict(zip(names, map(float, z))))
        flight["z3_sensitive"] = any(moved[-2:])
        flights.append(flight)
    out = {"versions": {"python": platform.python_version()}, "seed": SEED}
    text = json.dumps(out)[:-1] + ', "flights": [\n' + ",\n".join(map(json.dumps, flights)) + "\n]}\n"
    open(os.path.join(HERE, "lp_far_apart.json"), "w").write(text)
    print(len(flights), "flights,", sum(f["z3_sensitive"] for f in flights), "sensitive")


if __name__ == "__main__":
    main()
