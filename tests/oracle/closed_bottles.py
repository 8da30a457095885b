"""Carbon dioxide over concentrates in closed bottles, by PHREEQC: makes `closed_bottles.csv`.

Engine: IPHREEQC 3.8.6 through the registry package phreeqc 1.1.1, database `phreeqc.dat`, brucite
and nesquehonite from `wateq4f.dat`; salts and setup are those of `concentrates.py`. Grams of each
salt go into 200 g of bottle. What can precipitate (calcite, gypsum, brucite, nesquehonite) does.

- `full_atm`: fugacity of CO2 over a bottle without gas (saturation index of CO2(g)), closed;
- `fresh_atm`: the same before anything precipitates;
- `gas_atm`: pressure of CO2 (Peng-Robinson) in a gas phase of fixed volume, 0.25 L for each kg of
  water, that was air without CO2: a fifth of the bottle, when a kg of water fills a litre;
- `carbon_kept`: per cent of the carbon, dissolved and solid, that stays at a fugacity of 10^-3.38 atm;
- `alkalinity_lost_closed`, `alkalinity_lost_open`: per cent of the alkalinity at the bottom;
- `ph_closed`, `ph_open`.

The starter bench's concentrates (4 mL per litre, 200 g) come first, then 80 random recipes.

    pip install phreeqc==1.1.1        # Python 3.11
    python closed_bottles.py          # about 2 s; deterministic
"""

import csv
import math
import pathlib
import random

from concentrates import MINERALS, PHASES, SALTS, moles
from phreeqc_run import started

HERE = pathlib.Path(__file__).parent
GAS_L_PER_KG = 0.25
STARTER = {
    "soft": {"CaCl2·2H2O": 2.48, "KHCO3": 1.89},
    "middle": {"CaCl2·2H2O": 2.45, "MgCl2·6H2O": 3.48, "KHCO3": 3.78},
    "all magnesium": {"MgSO4·7H2O": 8.35, "KHCO3": 3.88},
    "all calcium": {"CaCl2·2H2O": 5.06, "KHCO3": 3.90},
    "sulfate side": {"MgSO4·7H2O": 7.91, "NaHCO3": 2.60, "NaCl": 1.89},
    "chloride side": {"CaCl2·2H2O": 4.30, "KHCO3": 2.61},
    "hard": {"CaCl2·2H2O": 9.49, "KHCO3": 2.32, "NaHCO3": 3.51},
    "hard, all bicarbonate": {"MgSO4·7H2O": 0.60, "MgCl2·6H2O": 0.84, "KHCO3": 10.44},
}
PUNCH = """
SELECTED_OUTPUT
    -reset false
    -high_precision true
USER_PUNCH
    -headings si ph gas c4 calcite gypsum brucite nesquehonite
    10 PUNCH SI("CO2(g)"), -LA("H+"), GAS_P, TOT("C(4)")
    20 PUNCH EQUI_DELTA("Calcite"), EQUI_DELTA("Gypsum"), EQUI_DELTA("Brucite"), EQUI_DELTA("Nesquehonite")
END
"""


def recipes():
    yield from STARTER.items()
    rng = random.Random(2014)
    for n in range(80):
        bicarbonate = rng.choice(["NaHCO3", "KHCO3"])
        salts = rng.sample([s for s in SALTS if s != bicarbonate], rng.choice([1, 2, 2, 3]))
        grams = {s: round(math.exp(rng.uniform(math.log(0.2), math.log(6))), 2) for s in salts}
        grams[bicarbonate] = round(math.exp(rng.uniform(math.log(0.2), math.log(6))), 2)
        yield f"random {n}", grams


def main():
    engine, run = started()
    run(PHASES)
    run(PUNCH)

    def state(recipe, celsius, *more):
        text = ["SOLUTION 1", f"temp {celsius}", "units mmol/kgw", "pH 7 charge"]
        text += [f"{ion} {amount!r}" for ion, amount in moles(recipe).items()]
        text += ["END"]
        if more:
            text += ["USE solution 1", *more, "END"]
        run("\n".join(text))
        return {k: v[-1] for k, v in engine.GetSelectedOutput().items()}

    solids = ["EQUILIBRIUM_PHASES 1", *[f"{m} 0 0" for m in MINERALS]]
    rows = []
    for name, recipe in recipes():
        total = moles(recipe)
        carbon = total["C(4)"]
        alkalinity = total.get("Na", 0) + total.get("K", 0) + 2 * total.get("Mg", 0) \
            + 2 * total.get("Ca", 0) - total.get("Cl", 0) - 2 * total.get("S(6)", 0)
        for celsius in (25, 5):
            fresh = state(recipe, celsius)
            full = state(recipe, celsius, *solids)
            gas = state(recipe, celsius, *solids, "GAS_PHASE 1", "-fixed_volume",
                        f"-volume {GAS_L_PER_KG}", f"-temperature {celsius}", "CO2(g) 0")
            opened = state(recipe, celsius, *solids, "CO2(g) -3.38 1000")
            lost = lambda s: 100 * 2000 * (s["calcite"] + s["brucite"] + s["nesquehonite"]) / alkalinity
            kept = 100 * 1000 * (opened["c4"] + opened["calcite"] + opened["nesquehonite"]) / carbon
            rows.append([name, "; ".join(f"{s}={g}" for s, g in recipe.items()), celsius,
                         f"{10 ** fresh['si']:.5f}", f"{10 ** full['si']:.5f}", f"{gas['gas']:.5f}",
                         f"{kept:.3f}", f"{lost(full):.3f}", f"{lost(opened):.3f}",
                         f"{full['ph']:.4f}", f"{opened['ph']:.4f}"])
    with open(HERE / "closed_bottles.csv", "w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n", quoting=csv.QUOTE_NONE, escapechar="\\")
        writer.writerow(["name", "recipe_g_in_200_g", "celsius", "fresh_atm", "full_atm", "gas_atm",
                         "carbon_kept", "alkalinity_lost_closed", "alkalinity_lost_open",
                         "ph_closed", "ph_open"])
        writer.writerows([[str(c).replace(",", "") for c in row] for row in rows])


if __name__ == "__main__":
    main()
