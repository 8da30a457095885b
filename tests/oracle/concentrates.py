"""What all-in-one concentrates drop, computed by PHREEQC: makes `concentrates.csv`.

Engine: IPHREEQC 3.8.6 through the registry package phreeqc 1.1.1, database `phreeqc.dat`, brucite
and nesquehonite from `wateq4f.dat`. Grams of each salt go into 200 g of bottle; amounts are mmol per
kg of water, hydrate water counted as water. "closed" keeps all carbon, "open" the fugacity of CO2 at
10^-3.38 atm; closed at 25 and at 5 °C, open at 25 °C. Results are mmol of each mineral per kg of
water. Every recipe is invented.

    pip install phreeqc==1.1.1        # Python 3.11
    python concentrates.py            # about 1 s; deterministic
"""

import csv
import pathlib

from phreeqc_run import started

HERE = pathlib.Path(__file__).parent
# CIAAW standard atomic weights, as PHREEQC's own do not enter: amounts are given in mmol.
W = {"H": 1.008, "C": 12.011, "O": 15.999, "Na": 22.990, "Mg": 24.305, "S": 32.06, "Cl": 35.45,
     "K": 39.098, "Ca": 40.078}
H2O = 2 * W["H"] + W["O"]
SO4 = W["S"] + 4 * W["O"]
HCO3 = W["H"] + W["C"] + 3 * W["O"]
# anhydrous g/mol, waters, what one mole brings
SALTS = {
    "MgSO4·7H2O": (W["Mg"] + SO4, 7, {"Mg": 1, "S(6)": 1}),
    "MgCl2·6H2O": (W["Mg"] + 2 * W["Cl"], 6, {"Mg": 1, "Cl": 2}),
    "CaCl2·2H2O": (W["Ca"] + 2 * W["Cl"], 2, {"Ca": 1, "Cl": 2}),
    "NaHCO3": (W["Na"] + HCO3, 0, {"Na": 1, "C(4)": 1}),
    "KHCO3": (W["K"] + HCO3, 0, {"K": 1, "C(4)": 1}),
    "NaCl": (W["Na"] + W["Cl"], 0, {"Na": 1, "Cl": 1}),
    "Na2CO3": (2 * W["Na"] + W["C"] + 3 * W["O"], 0, {"Na": 2, "C(4)": 1}),
}
TOTAL_G = 200.0
MINERALS = ("Calcite", "Gypsum", "Brucite", "Nesquehonite")
RECIPES = {
    "calcium and soda": {"CaCl2·2H2O": 3.0, "NaHCO3": 2.5},
    "calcium and a little soda": {"CaCl2·2H2O": 2.0, "NaHCO3": 0.2},
    "calcium and potash": {"CaCl2·2H2O": 1.0, "KHCO3": 4.0},
    "all of four": {"MgSO4·7H2O": 4.0, "CaCl2·2H2O": 3.0, "NaHCO3": 1.5, "KHCO3": 1.0},
    "plaster": {"MgSO4·7H2O": 4.0, "CaCl2·2H2O": 4.0},
    "weak plaster": {"MgSO4·7H2O": 1.0, "CaCl2·2H2O": 1.0},
    "plaster with salt": {"MgSO4·7H2O": 3.0, "CaCl2·2H2O": 3.0, "NaCl": 2.0},
    "plaster and soda": {"MgSO4·7H2O": 5.0, "CaCl2·2H2O": 5.0, "NaHCO3": 1.0},
    "magnesium and soda": {"MgSO4·7H2O": 5.0, "NaHCO3": 2.5},
    "magnesium chloride and potash": {"MgCl2·6H2O": 4.0, "KHCO3": 2.0},
    "weak all-in-one": {"MgSO4·7H2O": 0.5, "CaCl2·2H2O": 0.4, "NaHCO3": 0.4},
    "magnesium and washing soda": {"MgCl2·6H2O": 4.0, "Na2CO3": 1.5},
    "magnesium and more washing soda": {"MgCl2·6H2O": 3.0, "Na2CO3": 3.0},
    "magnesium and too little carbon": {"MgCl2·6H2O": 8.0, "Na2CO3": 0.3},
    "strong magnesium and soda": {"MgSO4·7H2O": 10.0, "NaHCO3": 5.0},
    "both hard ions and washing soda": {"MgCl2·6H2O": 4.0, "CaCl2·2H2O": 0.5, "Na2CO3": 2.0},
    "strong": {"MgSO4·7H2O": 10.0, "CaCl2·2H2O": 6.0, "NaHCO3": 4.0, "KHCO3": 2.0},
}
PHASES = """
PHASES
Brucite
    Mg(OH)2 + 2 H+ = Mg+2 + 2 H2O
    log_k 16.84
    delta_h -27.1 kcal
Nesquehonite
    MgCO3:3H2O = Mg+2 + CO3-2 + 3 H2O
    log_k -5.621
    delta_h -5.789 kcal
END
SELECTED_OUTPUT
    -reset false
    -pH
    -ionic_strength
    -equilibrium_phases Calcite Gypsum Brucite Nesquehonite
    -high_precision true
END
"""


def moles(recipe):
    dry = sum(g * SALTS[s][0] / (SALTS[s][0] + SALTS[s][1] * H2O) for s, g in recipe.items())
    kg = (TOTAL_G - dry) / 1000
    totals = {}
    for salt, grams in recipe.items():
        anhydrous, waters, ions = SALTS[salt]
        for ion, n in ions.items():
            amount = 1000 * grams / (anhydrous + waters * H2O) * n / kg
            totals[ion] = totals.get(ion, 0.0) + amount
    return totals


def main():
    engine, run = started()
    run(PHASES)
    rows = []
    for name, recipe in RECIPES.items():
        for state, celsius in (("closed", 25), ("open", 25), ("closed", 5)):
            text = ["SOLUTION 1", f"temp {celsius}", "units mmol/kgw", "pH 7 charge"]
            text += [f"{ion} {amount!r}" for ion, amount in moles(recipe).items()]
            text += ["END", "USE solution 1", "EQUILIBRIUM_PHASES 1"]
            text += [f"{m} 0 0" for m in MINERALS]
            if state == "open":
                text.append("CO2(g) -3.38 1000")
            text.append("END")
            run("\n".join(text))
            out = {key: values[-1] for key, values in engine.GetSelectedOutput().items()}
            grams = "; ".join(f"{s}={g}" for s, g in recipe.items())
            rows.append([name, grams, state, celsius, f"{out['pH']:.4f}"]
                        + [f"{1000 * out[m]:.5f}" for m in MINERALS])
    with open(HERE / "concentrates.csv", "w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["name", "recipe_g_in_200_g", "state", "celsius", "ph"]
                        + [m.lower() for m in MINERALS])
        writer.writerows(rows)


if __name__ == "__main__":
    main()
