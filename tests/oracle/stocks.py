"""Reference values for stocks: solubility, dilute conductivity, bicarbonate left open, uncertainty.

Makes, in this folder:
  solubility_handbook.csv   solubilities from two tables other than the one the program uses
  conductivity_crc.csv      equivalent conductivities at 25 °C, measured (CRC table)
  conductivity_phreeqc.csv  specific conductance of diluted single salts by PHREEQC
  open_air.csv              pH and carbon of bicarbonate solutions, closed and open, by PHREEQC
  spread.json               strength of stocks and a water, with its uncertainty, by 2 million draws

Python 3.11, phreeqc 1.1.1 (IPHREEQC 3.8.6, phreeqc.dat), numpy 2.4.6. Run: python stocks.py (20 s).
Shares no code with the crate: the draws are numpy's, the equations are written out here again.
"""

import csv
import json
import os

import numpy as np
import phreeqc

HERE = os.path.dirname(os.path.abspath(__file__))


def write(name, head, rows):
    with open(os.path.join(HERE, name), "w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(head)
        out.writerows(rows)


# --- solubility -----------------------------------------------------------------------------
# (formula, °C, value, kind, source); kind: "molal" = mol anhydrous salt per kg of water,
# "per100" = g anhydrous salt in 100 g of water, "percent" = g in 100 g of solution.
MASS = {"NaCl": 58.443, "K2CO3": 138.205}
COMMON = "CRC Handbook 98th ed., Solubility of Common Salts at Ambient Temperatures"
POLISH = "Rozpuszczalnosc stalych zwiazkow nieorganicznych w wodzie, table 04-26 (romek.info)"
SOLUBILITY = [
    *[("NaCl", t, v, "molal", COMMON) for t, v in
      [(10, 6.110), (15, 6.121), (20, 6.136), (25, 6.153), (30, 6.174), (40, 6.222)]],
    *[("K2CO3", t, v, "molal", COMMON) for t, v in
      [(10, 7.756), (15, 7.846), (20, 7.948), (25, 8.063), (30, 8.191), (40, 8.483)]],
    *[("NaHCO3", t, v, "per100", POLISH) for t, v in [(0, 6.9), (20, 9.6), (40, 12.7)]],
    *[("CaCl2", t, v, "per100", POLISH) for t, v in [(0, 59.5), (20, 74.5)]],
    *[("NaCl", t, v, "per100", POLISH) for t, v in [(0, 35.7), (20, 36.0), (40, 36.6)]],
    *[("Na2CO3", t, v, "per100", POLISH) for t, v in [(0, 7.0), (20, 21.5)]],
    *[("Na2SO4", t, v, "per100", POLISH) for t, v in [(0, 5.0), (20, 19.4)]],
    ("MgSO4", 20, 26.2, "percent", POLISH),
    *[("K2CO3", t, v, "percent", POLISH) for t, v in [(0, 51.3), (20, 52.5)]],
]


def percent(formula, value, kind):
    if kind == "molal":
        grams = value * MASS[formula] / 10.0
        return 100.0 * grams / (100.0 + grams)
    return 100.0 * value / (100.0 + value) if kind == "per100" else value


write("solubility_handbook.csv", ["formula", "celsius", "percent_anhydrous", "source"],
      [[f, t, f"{percent(f, v, k):.4f}", s] for f, t, v, k, s in SOLUBILITY])

# --- measured conductivity ------------------------------------------------------------------
# Equivalent conductivity, S cm2/eq, at 25 °C against eq/L: CRC Handbook, Equivalent Conductivity
# of Electrolytes in Aqueous Solution (transcribed from memory; agreement within 2 % with an
# equation fitted to other measurements speaks for both).
CRC = {
    ("KCl", 1): [147.74, 146.88, 143.48, 141.20],
    ("NaCl", 1): [124.44, 123.68, 120.59, 118.45],
    ("CaCl2", 2): [131.86, 130.30, 124.19, 120.30],
    ("MgCl2", 2): [125.55, 124.15, 118.25, 114.49],
    ("KHCO3", 1): [116.04, 115.28, 112.18, 110.03],
    ("Na2SO4", 2): [125.68, 124.09, 117.09, 112.38],
}
write("conductivity_crc.csv", ["formula", "equivalents", "eq_per_l", "s_cm2_per_eq"],
      [[f, z, c, v] for (f, z), vs in CRC.items() for c, v in zip([0.0005, 0.001, 0.005, 0.01], vs)])

# --- PHREEQC --------------------------------------------------------------------------------
ENGINE = phreeqc.Phreeqc()
ENGINE.LoadDatabase(os.path.join(os.path.dirname(phreeqc.__file__), "databases", "phreeqc.dat"))


def punch(solution, after=""):
    """The last row of pH, total carbon (mol/kgw), conductance (uS/cm)."""
    text = f"""SOLUTION 1
temp 25
units mol/kgw
{solution}
{after}
SELECTED_OUTPUT
-reset false
USER_PUNCH
-headings pH C SC
10 PUNCH -LA("H+"), TOT("C"), SC
END
"""
    if ENGINE.RunString(text):
        raise RuntimeError(ENGINE.GetErrorString())
    last = ENGINE.GetSelectedOutputRowCount() - 1
    return [ENGINE.GetSelectedOutputValue(last, column) for column in range(3)]


SALTS = {  # formula: (equivalents, {element: count})
    "KCl": (1, {"K": 1, "Cl": 1}), "NaCl": (1, {"Na": 1, "Cl": 1}),
    "CaCl2": (2, {"Ca": 1, "Cl": 2}), "MgCl2": (2, {"Mg": 1, "Cl": 2}),
    "MgSO4": (2, {"Mg": 1, "S(6)": 1}), "Na2SO4": (2, {"Na": 2, "S(6)": 1}),
    "K2SO4": (2, {"K": 2, "S(6)": 1}),
    "NaHCO3": (1, {"Na": 1, "C(4)": 1}), "KHCO3": (1, {"K": 1, "C(4)": 1}),
    "Na2CO3": (2, {"Na": 2, "C(4)": 1}), "K2CO3": (2, {"K": 2, "C(4)": 1}),
    "CaSO4": (2, {"Ca": 1, "S(6)": 1}),
    # With the carbon dioxide that they take up to dissolve as bicarbonate.
    "CaCO3": (2, {"Ca": 1, "C(4)": 2}), "Ca(OH)2": (2, {"Ca": 1, "C(4)": 2}),
    "Mg(OH)2": (2, {"Mg": 1, "C(4)": 2}),
}
rows = []
for formula, (z, parts) in SALTS.items():
    for meq in (0.2, 0.5, 1.0, 2.0, 4.0):
        m = meq / 1000.0 / z
        charge = "pH 7 charge" if "C(4)" in parts else "pH 7"
        body = "\n".join(f"{e} {n * m}" for e, n in parts.items()) + f"\n{charge}"
        rows.append([formula, z, meq, f"{punch(body)[2]:.4f}"])
write("conductivity_phreeqc.csv", ["formula", "equivalents", "meq_per_kg", "us_per_cm"], rows)

rows = []
for cation in ("Na", "K"):
    for m in (0.02, 0.1, 0.35, 0.6, 1.0):
        base = f"{cation} {m}\nC(4) {m}\npH 8 charge"
        closed = punch(base)
        opened = punch(base, "EQUILIBRIUM_PHASES 1\nCO2(g) -3.38 10")
        for state, (ph, carbon, _) in (("closed", closed), ("open", opened)):
            rows.append([cation, m, state, f"{ph:.5f}", f"{carbon / m:.6f}"])
write("open_air.csv", ["cation", "mol_per_kg", "state", "ph", "carbon_per_alkalinity"], rows)

# --- uncertainty by draws -------------------------------------------------------------------
# A balance of 0.01 g steps and 0.02 g error up to 200 g, a scale of 1 g and 2 g above; two
# readings per mass. Purity and moisture rectangular. Masses of CIAAW 2021.
N = 2_000_000
rng = np.random.default_rng(20260301)


def weighed(grams):
    step, error = (0.01, 0.02) if grams <= 200 else (1.0, 2.0)
    return grams + rng.uniform(-error, error, N) + sum(
        rng.uniform(-step / 2, step / 2, N) for _ in range(2))


def rectangular(middle, half):
    return rng.uniform(middle - half, middle + half, N)


def summary(draws):
    return {"mean": float(np.mean(draws)), "standard": float(np.std(draws, ddof=1))}


purity, moisture = rectangular(0.99, 0.005), rectangular(0.01, 0.005)
salt = weighed(20.0)
strength = 1000.0 * salt * purity * (1 - moisture) / (salt + weighed(480.0))
into = summary(strength)

calcium = weighed(30.0) * rectangular(0.99, 0.005) / weighed(1000.0)  # g CaCl2·2H2O per g
total = summary(1000.0 * calcium)

# A water of 500 mL: 2.000 mL of the calcium stock (nominal density 1.0164 g/mL, 0.1 %) by a
# dispenser with 0.02 mL and 1 % error, filled to 0.5 %. Calcium in mg/L.
density = 1.0164 * (1 + rng.normal(0, 0.001, N))
dose = 2.0 * (1 + rng.uniform(-0.01, 0.01, N)) + rng.uniform(-0.02, 0.02, N)
mg = calcium * density * dose * 1000.0 * 40.078 / 147.01
water = summary(mg / (0.5 * (1 + rng.uniform(-0.005, 0.005, N))))

with open(os.path.join(HERE, "spread.json"), "w") as file:
    json.dump({"into_water_g_per_kg": into, "to_total_g_per_kg": total,
               "calcium_mg_per_l": water, "draws": N}, file, indent=1)
    file.write("\n")
