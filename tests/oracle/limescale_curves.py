"""Limescale of waters from the room to a steam boiler, computed by PHREEQC: makes
`limescale_curves.csv`.

Engine, databases, minerals, waters and amounts as in `boiler_limescale.py`, which is imported: of its
120 random waters every sixth, at 20, 35, ... 125 and 130 degrees Celsius, closed (all carbon stays)
and degassed (fugacity of CO2 10^-3.38 atm), as fed. One row a water and temperature; grams per
1,000 L of all minerals together.

    pip install phreeqc==1.1.1        # Python 3.11
    python limescale_curves.py        # about 2 s; deterministic
"""

import csv
import pathlib

from boiler_limescale import MASS, NAME, PHASES, SETUP, TOTALS, waters
from phreeqc import Phreeqc

HERE = pathlib.Path(__file__).parent
CELSIUS = [*range(20, 126, 15), 130]


def main():
    engine = Phreeqc()
    assert engine.LoadBuiltInDatabase("phreeqc.dat") == 0

    def run(text):
        if engine.RunString(text) != 0:
            raise RuntimeError(engine.GetErrorString())

    run(SETUP)
    rows = []
    for name, water in waters()[::6]:
        for celsius in CELSIUS:
            grams = []
            for degassed in (False, True):
                text = ["SOLUTION 1", f"temp {celsius}", "units mmol/kgw", "pH 7 charge"]
                text += [f"{NAME.get(t, t)} {water[t]!r}" for t in TOTALS
                         if t != "Alkalinity" and water[t] > 0]
                text += ["END", "USE solution 1", "EQUILIBRIUM_PHASES 1"]
                text += [f"{phase} 0 0" for phase in PHASES]
                if degassed:
                    text.append("CO2(g) -3.38 1000")
                text.append("END")
                run("\n".join(text))
                out = {k: v[-1] for k, v in engine.GetSelectedOutput().items()}
                grams.append(sum(1000 * out[p] * m for p, m in zip(PHASES, MASS)))
            rows.append([name, celsius] + [f"{water[t]:.9g}" for t in TOTALS]
                        + [f"{g:.3f}" for g in grams])
    with open(HERE / "limescale_curves.csv", "w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["id", "celsius", *TOTALS, "closed_g_per_1000_l", "degassed_g_per_1000_l"])
        writer.writerows(rows)


if __name__ == "__main__":
    main()
