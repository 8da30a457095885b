"""Densities of salt solutions: a published model as a package computes it, and measured values.

Makes
    laliberte_coefficients.csv  salt, cas, c0..c4, t_min_c, t_max_c, w_max, points: the package's own
                                table, every digit as it stands there (it gives no lower bound of w)
    densities.csv               salt, mass_fraction_anhydrous, celsius, density_kg_per_m3
    densities_mixed.csv         salt_1, w_1, salt_2, w_2, salt_3, w_3, celsius, density_kg_per_m3
    densities_handbook.csv      salt, mass_fraction_anhydrous, celsius, density_kg_per_m3, molarity,
                                model_minus_handbook_percent, source

Source of the model: M. Laliberté, J. Chem. Eng. Data 54 (2009) 1725 (after Laliberté & Cooper,
J. Chem. Eng. Data 49 (2004) 1141), as implemented by thermo 0.6.1 (thermo.electrochem) with the
table Laliberte2009.tsv of chemicals 1.5.2. As the package computes it, t in °C, w mass fractions of
the anhydrous salts, w_w = 1 - sum(w) the mass fraction of water, densities in kg/m3:

    water     rho_w = ((((((-2.8054253e-10 t + 1.0556302e-7) t - 4.6170461e-5) t - 0.0079870401) t
                      + 16.945176) t + 999.83952) / (1 + 0.01687985 t)
    solute    rho_app,i = (c0 (1 - w_w) + c1) exp(1e-6 (t + c4)^2) / ((1 - w_w) + c2 + c3 t)
    solution  1 / rho = w_w / rho_w + sum_i w_i / rho_app,i

In a mixture (1 - w_w) is the sum over all salts, in every salt's own term.
The package tests no range; the rows here stay inside t_min_c..t_max_c and 0..w_max of each salt (in
mixtures the sum of all mass fractions stays below the smallest w_max).

Measured values, all at 20 °C: CRC Handbook of Chemistry and Physics, 102nd ed. (2021), table
"Concentrative Properties of Aqueous Solutions" (density to 0.0001 g/cm3). The molarity printed
beside each density is kept, because it checks the transcription: c = 10 w% rho / M. K2SO4 is not in
that table.

Model against those values: within 0.2 % in all rows but three, listed in OUTSIDE below. K2CO3 is the
salt the model knows least well: it is low by 0.1 % at 5 %, 0.2 % at 10 %, 0.4 % from 20 % on. (The
ion volumes of PHREEQC's database give the same -0.2 % at 10 %, so part of it may be the handbook's.)
KHCO3 drifts off only near saturation. For a stock of such strength 0.5 % is an honest uncertainty.

Run again:  pip install thermo==0.6.1 chemicals==1.5.2 && python densities.py
"""

import csv
import math
import os

import chemicals
import thermo
from chemicals.iapws import iapws95_rho
from thermo.electrochem import Laliberte_density, Laliberte_density_w

HERE = os.path.dirname(os.path.abspath(__file__))
TABLE = os.path.join(os.path.dirname(chemicals.__file__), "Electrolytes", "Laliberte2009.tsv")

CAS = {
    "MgSO4": "7487-88-9", "MgCl2": "7786-30-3", "CaCl2": "10043-52-4", "NaHCO3": "144-55-8",
    "KHCO3": "298-14-6", "Na2CO3": "497-19-8", "K2CO3": "584-08-7", "NaCl": "7647-14-5",
    "KCl": "7447-40-7", "Na2SO4": "7757-82-6", "K2SO4": "7778-80-5", "CaSO4": "7778-18-9",
}
CELSIUS = [5, 15, 20, 25, 40]
SHARES = [0.02, 0.1, 0.25, 0.5, 0.75, 1.0]  # of w_max

MIXTURES = [  # salts, mass fractions, celsius
    ("MgSO4 CaCl2", (0.02, 0.03), 20), ("MgSO4 CaCl2", (0.06, 0.08), 25),
    ("MgCl2 CaCl2", (0.05, 0.05), 15), ("MgCl2 MgSO4", (0.08, 0.04), 20),
    ("NaHCO3 KHCO3", (0.03, 0.03), 20), ("NaHCO3 KHCO3", (0.05, 0.07), 25),
    ("NaHCO3 NaCl", (0.04, 0.02), 5), ("NaCl KCl", (0.05, 0.05), 20),
    ("NaCl KCl", (0.12, 0.1), 40), ("Na2SO4 NaCl", (0.04, 0.06), 25),
    ("Na2CO3 K2CO3", (0.05, 0.05), 20), ("K2SO4 KCl", (0.03, 0.08), 15),
    ("CaCl2 NaCl", (0.1, 0.1), 20), ("MgSO4 Na2SO4", (0.07, 0.05), 5),
    ("MgSO4 MgCl2 NaCl", (0.02, 0.03, 0.04), 20), ("MgSO4 MgCl2 CaCl2", (0.03, 0.05, 0.07), 25),
    ("NaCl KCl Na2SO4", (0.04, 0.04, 0.04), 15), ("NaHCO3 KHCO3 NaCl", (0.02, 0.03, 0.04), 20),
    ("MgCl2 CaCl2 KCl", (0.06, 0.08, 0.04), 40), ("K2CO3 KHCO3 KCl", (0.05, 0.04, 0.03), 25),
    ("MgSO4 K2SO4 Na2SO4", (0.04, 0.02, 0.03), 5), ("CaCl2 MgCl2 NaCl", (0.005, 0.003, 0.002), 20),
]

# salt: molar mass as printed there, then (mass %, density g/cm3, molarity mol/L) at 20 °C
HANDBOOK = {
    "CaCl2": (110.984, [(1, 1.0065, 0.091), (5, 1.0401, 0.469), (10, 1.0835, 0.976),
                        (20, 1.1775, 2.122), (30, 1.2816, 3.464), (40, 1.3957, 5.030)]),
    "MgCl2": (95.211, [(1, 1.0062, 0.106), (5, 1.0394, 0.546), (10, 1.0826, 1.137),
                       (20, 1.1742, 2.467), (30, 1.2763, 4.022)]),
    "MgSO4": (120.368, [(1, 1.0084, 0.084), (5, 1.0497, 0.436), (10, 1.1034, 0.917),
                        (18, 1.1955, 1.788), (26, 1.2961, 2.800)]),
    "K2CO3": (138.206, [(1, 1.0072, 0.073), (5, 1.0437, 0.378), (10, 1.0904, 0.789),
                        (20, 1.1898, 1.722), (32, 1.3204, 3.057)]),
    "KCl": (74.551, [(1, 1.0046, 0.135), (5, 1.0304, 0.691), (10, 1.0633, 1.426),
                     (16, 1.1043, 2.370), (24, 1.1623, 3.742)]),
    "KHCO3": (100.115, [(1, 1.0046, 0.100), (5, 1.0310, 0.515), (10, 1.0650, 1.064),
                        (16, 1.1073, 1.770), (24, 1.1685, 2.801)]),
    "Na2CO3": (105.989, [(1, 1.0086, 0.095), (5, 1.0502, 0.495), (10, 1.1029, 1.041),
                         (15, 1.1574, 1.638)]),
    "NaCl": (58.443, [(1, 1.0053, 0.172), (5, 1.0340, 0.885), (10, 1.0707, 1.832),
                      (15, 1.1085, 2.845), (20, 1.1478, 3.928), (26, 1.1972, 5.326)]),
    "NaHCO3": (84.007, [(1, 1.0054, 0.120), (3, 1.0196, 0.364), (6, 1.0408, 0.743)]),
    "Na2SO4": (142.043, [(1, 1.0071, 0.071), (5, 1.0436, 0.367), (10, 1.0905, 0.768),
                         (16, 1.1503, 1.296), (22, 1.2106, 1.875)]),
}
OUTSIDE = {("K2CO3", 20), ("K2CO3", 32), ("KHCO3", 24)}  # more than 0.2 % apart, less than 0.5 %
SOURCE = "CRC Handbook (102nd ed.): Concentrative Properties of Aqueous Solutions"


def table():
    """The package's table as text, so that no digit is lost to a conversion."""
    with open(TABLE, encoding="utf-8") as f:
        lines = [line.rstrip("\n").split("\t") for line in f]
    head = lines[0]
    assert head[:12] == ["Name", "CASRN", "Formula", "MW", "c0", "c1", "c2", "c3", "c4",
                         "Min T", "Max T", "Max w"], head
    return {row[1]: row for row in lines[1:] if len(row) > 12}


def own(t, salts, ws, rows):
    """The formula of the docstring, written out, to see that it says what the package does."""
    rho_w = ((((((-2.8054253e-10 * t + 1.0556302e-7) * t - 4.6170461e-5) * t - 0.0079870401) * t
              + 16.945176) * t + 999.83952) / (1 + 0.01687985 * t))
    w = sum(ws)
    v = (1 - w) / rho_w
    for salt, wi in zip(salts, ws):
        c0, c1, c2, c3, c4 = (float(x) for x in rows[CAS[salt]][4:9])
        v += wi * (w + c2 + c3 * t) / ((c0 * w + c1) * math.exp(1e-6 * (t + c4) ** 2))
    return 1 / v


def package(t, salts, ws, rows):
    rho = Laliberte_density(t + 273.15, list(ws), [CAS[s] for s in salts])
    assert abs(rho / own(t, salts, ws, rows) - 1) < 1e-12
    return rho


def writer(name, head):
    f = open(os.path.join(HERE, name), "w", newline="", encoding="utf-8")
    out = csv.writer(f, lineterminator="\n")
    out.writerow(head)
    return f, out


def main():
    print(f"thermo {thermo.__version__}, chemicals {chemicals.__version__}")
    rows = table()

    f, out = writer("laliberte_coefficients.csv", ["salt", "cas", "c0", "c1", "c2", "c3", "c4",
                                                   "t_min_c", "t_max_c", "w_max", "points"])
    with f:
        for salt, cas in CAS.items():
            row = rows[cas]
            assert row[2] == salt, row
            out.writerow([salt, cas] + row[4:13])

    f, out = writer("densities.csv", ["salt", "mass_fraction_anhydrous", "celsius",
                                      "density_kg_per_m3"])
    n = 0
    with f:
        for salt, cas in CAS.items():
            t_min, t_max, w_max = (float(x) for x in rows[cas][9:12])
            for share in SHARES:
                w = math.floor(share * w_max * 1e5) / 1e5
                for t in CELSIUS:
                    if w > 0 and t_min <= t <= t_max:
                        out.writerow([salt, w, t, f"{package(t, [salt], [w], rows):.7f}"])
                        n += 1
    print(f"densities.csv: {n} rows")

    f, out = writer("densities_mixed.csv", ["salt_1", "w_1", "salt_2", "w_2", "salt_3", "w_3",
                                            "celsius", "density_kg_per_m3"])
    with f:
        for names, ws, t in MIXTURES:
            salts = names.split()
            for salt in salts:
                t_min, t_max, w_max = (float(x) for x in rows[CAS[salt]][9:12])
                assert t_min <= t <= t_max and sum(ws) < w_max, (names, salt)
            cells = []
            for i in range(3):
                cells += [salts[i], ws[i]] if i < len(salts) else ["", ""]
            out.writerow(cells + [t, f"{package(t, salts, ws, rows):.7f}"])
    print(f"densities_mixed.csv: {len(MIXTURES)} rows")

    f, out = writer("densities_handbook.csv", ["salt", "mass_fraction_anhydrous", "celsius",
                                               "density_kg_per_m3", "molarity",
                                               "model_minus_handbook_percent", "source"])
    n = 0
    with f:
        for salt, (molar_mass, points) in HANDBOOK.items():
            line = []
            for percent, rho, c in points:
                # molarity has three decimals and the density four: they must agree so far
                assert abs(10 * percent * rho / molar_mass - c) < 0.00062, (salt, percent)
                w = percent / 100
                model = package(20, [salt], [w], rows)
                apart = 100 * (model / (1000 * rho) - 1)
                line.append(f"{percent} %: {apart:+.3f} %")
                assert (abs(apart) > 0.2) == ((salt, percent) in OUTSIDE), (salt, percent, apart)
                assert abs(apart) < 0.5, (salt, percent, apart)
                out.writerow([salt, w, 20, f"{1000 * rho:.1f}", f"{c:.3f}", f"{apart:.3f}", SOURCE])
                n += 1
            print(f"  model against handbook, {salt:6s} " + "  ".join(line))
    print(f"densities_handbook.csv: {n} rows")

    worst = max(abs(Laliberte_density_w(t + 273.15) - iapws95_rho(t + 273.15, 101325.0))
                for t in range(1, 41))
    print(f"water, 1 to 40 °C: within {worst:.4f} kg/m3 of IAPWS-95 at 1 atm")


if __name__ == "__main__":
    main()
