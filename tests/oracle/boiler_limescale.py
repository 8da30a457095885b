"""What waters precipitate in hot boilers, computed by PHREEQC: makes `boiler_limescale.csv`.

Engine: IPHREEQC 3.8.6 through the registry package phreeqc 1.1.1, database `phreeqc.dat`, brucite
from `wateq4f.dat` (same package). Calcite, gypsum, anhydrite, brucite and amorphous silica
(`SiO2(a)`) precipitate together (EQUILIBRIUM_PHASES), as much as there is to precipitate.

120 random waters: brewing waters, hard tap waters, waters rich in sulfate, waters rich in silica,
waters without calcium and waters without alkalinity, each at 93 and 125 °C, closed (all carbon
stays) and degassed (fugacity of CO2 10^-3.38 atm), as fed and at 10 cycles of concentration.
Amounts are mmol per kg of water; pH follows from the charge balance, so that the alkalinity is
the excess of strong bases. `calcite` to `silica` are mmol of each mineral per kg of the
(concentrated) water; `scale_g_per_1000_l` is their mass per 1,000 L of water fed.

Every water is invented.

    pip install phreeqc==1.1.1        # Python 3.11
    python boiler_limescale.py        # about 5 s; deterministic
"""

import csv
import math
import pathlib
import random

from phreeqc_run import started

HERE = pathlib.Path(__file__).parent
NAME = {"SO4": "S(6)", "NO3": "N(5)", "SiO2": "Si", "DIC": "C(4)"}
TOTALS = ["Ca", "Mg", "Na", "K", "Cl", "SO4", "NO3", "SiO2", "DIC", "Alkalinity"]
PHASES = ["Calcite", "Gypsum", "Anhydrite", "Brucite", "SiO2(a)"]
KEYS = ["calcite", "gypsum", "anhydrite", "brucite", "silica"]
# g/mol from CIAAW standard atomic weights (2021)
MASS = [40.078 + 12.011 + 3 * 15.999, 40.078 + 32.06 + 6 * 15.999 + 4 * 1.008,
        40.078 + 32.06 + 4 * 15.999, 24.305 + 2 * 15.999 + 2 * 1.008, 28.085 + 2 * 15.999]
SETUP = """
PHASES
Brucite
    Mg(OH)2 + 2 H+ = Mg+2 + 2 H2O
    log_k 16.84
    delta_h -27.1 kcal
END
SELECTED_OUTPUT
    -reset false
    -pH
    -equilibrium_phases Calcite Gypsum Anhydrite Brucite SiO2(a)
    -high_precision true
END
"""


def waters():
    """Kind and totals in mmol/kgw, the charges balanced by alkalinity, then by Na or Cl."""
    rng = random.Random(125)

    def log(low, high):
        return math.exp(rng.uniform(math.log(low), math.log(high)))

    kinds = {
        # Ca, Mg, SO4, Cl, SiO2, Alkalinity
        "brewing": lambda: (log(0.05, 1.2), log(0.05, 1), log(0.02, 0.6), log(0.05, 1.5), 0, log(0.2, 1.5)),
        "hard": lambda: (log(1, 3.5), log(0.2, 1.5), log(0.1, 1.5), log(0.2, 3), log(0.05, 0.5), log(2, 7)),
        "sulfate": lambda: (log(2, 15), log(0.2, 4), log(3, 20), log(0.2, 3), log(0.05, 0.5), log(0.1, 5)),
        "silica": lambda: (log(0.05, 2), log(0.05, 2), log(0.05, 1), log(0.1, 2), log(0.4, 2), log(0.3, 4)),
        "no calcium": lambda: (0, log(0.1, 2), log(0.05, 2), log(0.05, 2), log(0.05, 1), log(0.1, 4)),
        "no alkalinity": lambda: (log(0.3, 12), log(0.1, 2), log(0.3, 12), log(0.1, 2), 0, 0),
    }
    found = []
    for kind, draw in kinds.items():
        for n in range(20):
            ca, mg, so4, cl, silica, alk = draw()
            water = {"Ca": ca, "Mg": mg, "Na": 0.0, "K": log(0.01, 0.3), "Cl": cl, "SO4": so4,
                     "NO3": rng.choice([0.0, log(0.02, 0.5)]), "SiO2": silica, "Alkalinity": alk}
            excess = 2 * ca + 2 * mg + water["K"] - cl - 2 * so4 - water["NO3"] - alk
            if excess < 0:
                water["Na"] = -excess
            else:
                water["Cl"] += excess
            # carbon: bicarbonate, or with free carbon dioxide as a tap has it
            water["DIC"] = alk * rng.choice([1.0, 1.0, 1.1, 1.3])
            found.append((f"{kind} {n}", {k: round(v, 6) for k, v in water.items()}))
    # Rounding must not unbalance them.
    for _, water in found:
        cations = 2 * water["Ca"] + 2 * water["Mg"] + water["Na"] + water["K"]
        anions = water["Cl"] + 2 * water["SO4"] + water["NO3"] + water["Alkalinity"]
        water["Cl"] = round(water["Cl"] + cations - anions, 9)
        assert water["Cl"] >= 0
    return found


def main():
    engine, run = started()
    run(SETUP)
    rows = []
    for name, water in waters():
        for celsius in (93, 125):
            for state in ("closed", "degassed"):
                for cycles in (1, 10):
                    text = ["SOLUTION 1", f"temp {celsius}", "units mmol/kgw", "pH 7 charge"]
                    for total in TOTALS:
                        amount = water[total] * cycles
                        if total != "Alkalinity" and amount > 0:
                            text.append(f"{NAME.get(total, total)} {amount!r}")
                    text += ["END", "USE solution 1", "EQUILIBRIUM_PHASES 1"]
                    text += [f"{phase} 0 0" for phase in PHASES]
                    if state == "degassed":
                        text.append("CO2(g) -3.38 1000")
                    text.append("END")
                    run("\n".join(text))
                    out = {k: v[-1] for k, v in engine.GetSelectedOutput().items()}
                    mmol = [1000 * out[phase] for phase in PHASES]
                    grams = sum(a * m for a, m in zip(mmol, MASS)) / cycles
                    rows.append([name, celsius, state, cycles]
                                + [f"{water[t]:.9g}" for t in TOTALS] + [f"{out['pH']:.4f}"]
                                + [f"{a:.5f}" for a in mmol] + [f"{grams:.3f}"])
    with open(HERE / "boiler_limescale.csv", "w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["id", "celsius", "state", "cycles", *TOTALS, "ph", *KEYS,
                         "scale_g_per_1000_l"])
        writer.writerows(rows)


if __name__ == "__main__":
    main()
