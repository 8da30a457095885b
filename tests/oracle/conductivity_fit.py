"""Measured conductivities of single salts at 25 °C, and the fit of the model's closest approaches.

Makes `conductivity_measured.csv` (salt, mmol/L, µS/cm, source) that the tests compare with, and prints how
the constants of `src/chemistry/conductivity.rs` come out of it: closest approach of each pair of ions and
the part of each ion pair that is silent. Makes also

* `conductivity_limits.csv`: every row of McCleskey 2011 for a salt of the catalogue, its value at infinite
  dilution beside the sum of its ions there, and what may be taken from it. A row is an equation; where it
  ends more than 1 % from its ions it is no equation for dilutions. K2SO4 and CaSO4 end too high because a
  square root cannot follow their pairing, and are used inside the measured range only; NaHCO3, Na2CO3
  and K2CO3 contradict their ions and their hydrolysis everywhere and are not used at all.
* `conductivity_old.csv`: the carbonates of sodium and potassium at 18 °C, for which no table at 25 °C was
  at hand: Kohlrausch, Holborn and Diesselhorst 1900, as old handbooks quote them (from memory).

Measured values:

* CRC Handbook of Chemistry and Physics, "Equivalent conductivity of electrolytes in aqueous solution"
  (from memory; they agree with theory to 0.1 % at the dilute end) and the 1413 µS/cm of 0.01 mol/L KCl;
* McCleskey R. B., J. Chem. Eng. Data 56 (2011) 317: fits to measurements, coefficients from the registry
  package chemicals 1.5.2 (the file "McCleskey Electrical Conductivity.tsv"), evaluated here;
* Larionov E. G., Kryukov P. A. (1984): MgSO4 at 0.01 mol/kg, as transcribed in public planetary-science code.

Species come from IPHREEQC 3.8.6 (registry package phreeqc 1.1.1, `phreeqc.dat`), so that the fit does not
depend on this crate. At the end the mixtures of 300 random waters are compared with that program's own
conductivity: the only number adjusted to it is the exponent of the share with which CaSO4 is silent.

    pip install phreeqc==1.1.1 chemicals==1.5.2 numpy==2.4.6        # Python 3.11
    python conductivity_fit.py                                      # about 20 s; deterministic
"""

import csv
import math
import pathlib
import random

import chemicals
import numpy
from phreeqc import Phreeqc

HERE = pathlib.Path(__file__).parent

# Equivalent conductivities, S·cm²/mol, at milliequivalents per litre (CRC).
CRC = {
    "KCl": {0.5: 147.74, 1: 146.88, 5: 143.48, 10: 141.20, 20: 138.27, 50: 133.30, 100: 128.90},
    "NaCl": {0.5: 124.44, 1: 123.68, 5: 120.59, 10: 118.45, 20: 115.70, 50: 111.01, 100: 106.69},
    "CaCl2": {0.5: 131.86, 1: 130.30, 5: 124.19, 10: 120.30, 20: 115.59, 50: 108.42, 100: 102.41},
    "MgCl2": {0.5: 125.55, 1: 124.15, 5: 118.25, 10: 114.49, 20: 109.99, 50: 103.03, 100: 97.05},
    "Na2SO4": {0.5: 125.68, 1: 124.09, 5: 117.09, 10: 112.38, 20: 106.73, 50: 97.70, 100: 89.94},
    "KHCO3": {1: 115.28, 5: 112.18, 10: 110.03, 20: 107.17},
    "HCl": {0.5: 422.53, 1: 421.15, 5: 415.59, 10: 411.80, 20: 407.04, 50: 398.89, 100: 391.13},
    "NaOH": {0.5: 245.5, 1: 244.6, 5: 240.7, 10: 237.9},
    "KNO3": {0.5: 142.70, 1: 141.77, 5: 138.41, 20: 132.34, 50: 126.25, 100: 120.34},
    "Ca(OH)2": {5: 233.0, 10: 226.0, 20: 214.0},
}
MCCLESKEY = {"CaSO4": [0.2, 0.5, 1, 2, 5, 10], "K2SO4": [1, 5, 10, 25, 50]}
INSIDE = MCCLESKEY.keys()  # rows that end too high at infinite dilution, used where they were measured
# Equivalent conductivities at 18 °C, S·cm²/mol, at milliequivalents per litre.
KOHLRAUSCH = {
    "Na2CO3": {5: 102.5, 10: 96.2, 50: 80.3},
    "K2CO3": {5: 121.6, 10: 115.5, 50: 100.7},
}
LARIONOV = {"MgSO4": {0.5: 233.8, 10: 154.6}}  # S·cm²/mol at mmol/kg
SALTS = {
    "KCl": {"K": 1, "Cl": 1}, "NaCl": {"Na": 1, "Cl": 1}, "CaCl2": {"Ca": 1, "Cl": 2}, "MgCl2": {"Mg": 1, "Cl": 2},
    "Na2SO4": {"Na": 2, "S(6)": 1}, "K2SO4": {"K": 2, "S(6)": 1}, "CaSO4": {"Ca": 1, "S(6)": 1},
    "MgSO4": {"Mg": 1, "S(6)": 1}, "KHCO3": {"K": 1, "C(4)": 1}, "HCl": {"Cl": 1}, "NaOH": {"Na": 1},
    "KNO3": {"K": 1, "N(5)": 1}, "Ca(OH)2": {"Ca": 1},
}
CHARGE = {"H": 1, "Ca": 2, "Mg": 2, "Na": 1, "K": 1, "OH": 1, "Cl": 1, "SO4": 2, "HCO3": 1, "CO3": 2, "NO3": 1}
CATIONS, ANIONS = ["H", "Ca", "Mg", "Na", "K"], ["OH", "Cl", "SO4", "HCO3", "CO3", "NO3"]
LIMITING = {"H": 349.65, "Ca": 59.47, "Mg": 53.0, "Na": 50.08, "K": 73.48, "OH": 198.0, "Cl": 76.31, "SO4": 80.0,
            "HCO3": 44.5, "CO3": 69.3, "NO3": 71.42}
SPECIES = ("H+ OH- HCO3- CO3-2 Ca+2 Mg+2 Na+ K+ Cl- SO4-2 NO3- CaHCO3+ CaCO3 CaSO4 CaOH+ MgHCO3+ MgCO3 MgSO4 "
           "Mg(SO4)2-2 MgOH+ NaHCO3 NaSO4- KHCO3 KSO4- HCl").split()
FREE = {"H": "H+", "Ca": "Ca+2", "Mg": "Mg+2", "Na": "Na+", "K": "K+", "OH": "OH-", "Cl": "Cl-", "SO4": "SO4-2",
        "HCO3": "HCO3-", "CO3": "CO3-2", "NO3": "NO3-"}
LOUD = {"NaHCO3": ("Na", "HCO3"), "KHCO3": ("K", "HCO3"), "CaHCO3+": ("Ca", "HCO3"), "MgHCO3+": ("Mg", "HCO3"),
        "HCl": ("H", "Cl")}
PAIRS = {"NaSO4-": ("Na", "SO4"), "KSO4-": ("K", "SO4"), "CaOH+": ("Ca", "OH"), "MgOH+": ("Mg", "OH")}
B, R, E = 0.3284906, 2 / 3 * 0.5100248 * math.log(10), 30.27  # Debye–Hückel and Onsager at 25 °C

PARAMETERS = {
    "closest": {("K", "Cl"): 2.9, ("Na", "Cl"): 3.0, ("Ca", "Cl"): 3.5, ("Mg", "Cl"): 3.7, ("H", "Cl"): 2.6,
                ("Na", "OH"): 3.4, ("K", "NO3"): 1.2, ("K", "HCO3"): 2.2, ("Na", "SO4"): 6.0, ("K", "SO4"): 3.0,
                ("Mg", "SO4"): 4.0, ("Ca", "SO4"): 4.7},
    "default": 4.0,
    "silent": {"NaSO4-": 0.6, "KSO4-": 0.35, "CaOH+": 0.85, "MgOH+": 0.85},
    "association": {"MgSO4": 0.6, "CaSO4": 1.0},
    "exponent": 0.75,
}


class Engine:
    def __init__(self):
        self.phreeqc = Phreeqc()
        assert self.phreeqc.LoadBuiltInDatabase("phreeqc.dat") == 0
        self.run("SELECTED_OUTPUT 1\n-reset false\n-high_precision true\n-molalities " + " ".join(SPECIES)
                 + "\nUSER_PUNCH 1\n-headings sc\n10 PUNCH SC\nEND")

    def run(self, text):
        if self.phreeqc.RunString(text) != 0:
            raise RuntimeError(self.phreeqc.GetErrorString())

    def speciate(self, mmol):
        lines = [f"{name} {amount!r}" for name, amount in mmol.items() if amount > 0]
        self.run("\n".join(["SOLUTION 1", "temp 25", "units mmol/kgw", "pH 7 charge", *lines, "END"]))
        row = {k: v[-1] for k, v in self.phreeqc.GetSelectedOutput().items()}
        species = {s: row.get(f"m_{s}(mol/kgw)", 0.0) for s in SPECIES}
        return species, row["sc"]


def associated(free_a, free_b, pair, share):
    """The pair that an association constant of so much of the speciation model's would leave."""
    if pair <= 0.0 or share <= 0.0:
        return 0.0
    a, b, inverse = free_a + pair, free_b + pair, free_a * free_b / (share * pair)
    s = a + b + inverse
    return 2 * a * b / (s + math.sqrt(s * s - 4 * a * b))


def carried(m, p):
    """Equivalents of each carrier."""
    c = {ion: m[species] for ion, species in FREE.items()}
    for pair, (x, y) in LOUD.items():
        c[x] += m[pair]
        c[y] += m[pair]
    c["Mg"] += m["Mg(SO4)2-2"]
    c["SO4"] += 2 * m["Mg(SO4)2-2"]
    for pair, (x, y) in PAIRS.items():
        c[x] += (1 - p["silent"][pair]) * m[pair]
        c[y] += (1 - p["silent"][pair]) * m[pair]
    loud = m["MgSO4"] - associated(c["Mg"], c["SO4"], m["MgSO4"], p["association"]["MgSO4"])
    c["Mg"] += loud
    c["SO4"] += loud
    x = m["CaSO4"]
    plus = sum(c[i] * CHARGE[i] for i in CATIONS) + 2 * x
    minus = sum(c[i] * CHARGE[i] for i in ANIONS) + 2 * x
    share = (2 * (c["Ca"] + x) / plus * 2 * (c["SO4"] + x) / minus) ** p["exponent"]
    loud = x - associated(c["Ca"], c["SO4"], x, share * p["association"]["CaSO4"])
    c["Ca"] += loud
    c["SO4"] += loud
    return {ion: c[ion] * CHARGE[ion] for ion in c}


def pair_law(cation, anion, root, p):
    zc, za, lc, la = CHARGE[cation], CHARGE[anion], LIMITING[cation], LIMITING[anion]
    q = zc * za / (zc + za) * (lc + la) / (zc * la + za * lc)
    ka = B * p["closest"].get((cation, anion), p["default"]) * root
    relaxed = R * zc * za * q / (1 + math.sqrt(q)) * root / ((1 + ka) * (1 + math.sqrt(q) * ka))
    return (lc + la - E * (zc + za) * root / (1 + ka)) * (1 - relaxed)


def conductivity(m, p):
    """µS/cm."""
    eq = carried(m, p)
    root = math.sqrt(0.5 * sum(eq[i] * CHARGE[i] for i in eq))
    plus, minus = sum(eq[i] for i in CATIONS), sum(eq[i] for i in ANIONS)
    total = sum(eq[c] * eq[a] * pair_law(c, a, root, p) for c in CATIONS for a in ANIONS if eq[c] > 1e-12 < eq[a])
    return 1e3 * total * 2 / (plus + minus)


def mccleskey_rows():
    path = pathlib.Path(chemicals.__file__).parent / "Electrolytes" / "McCleskey Electrical Conductivity.tsv"
    with open(path) as file:
        return {row["formula"]: row for row in csv.DictReader(file, delimiter="\t")}


def limits():
    """Each row of McCleskey's for a salt of the catalogue: its limit, that of its ions, what it is good for."""
    ions = {"KHCO3": ("K", "HCO3"), "NaHCO3": ("Na", "HCO3"), "K2CO3": ("K", "CO3"), "Na2CO3": ("Na", "CO3"),
            "KCl": ("K", "Cl"), "NaCl": ("Na", "Cl"), "CaCl2": ("Ca", "Cl"), "MgCl2": ("Mg", "Cl"),
            "Na2SO4": ("Na", "SO4"), "K2SO4": ("K", "SO4"), "CaSO4": ("Ca", "SO4"), "KNO3": ("K", "NO3")}
    rows = mccleskey_rows()
    for salt, (cation, anion) in ions.items():
        c1, c2, c3 = (float(rows[salt][k]) for k in ("c1", "c2", "c3"))
        limit, own = c1 * 625 + c2 * 25 + c3, LIMITING[cation] + LIMITING[anion]
        close = abs(limit / own - 1) <= 0.01 and anion != "CO3"  # a carbonate's ions are not all there is
        yield salt, cation, anion, limit, own, "limit" if close else "inside" if salt in INSIDE else "nothing"


def measured():
    for salt, points in CRC.items():
        per_mole = 1 if all(n == 1 for n in SALTS[salt].values()) and salt != "Ca(OH)2" else 2
        for meq, value in points.items():
            yield salt, meq / per_mole, meq * value, "CRC Handbook (from memory)"
    rows = mccleskey_rows()
    for salt, points in MCCLESKEY.items():
        c1, c2, c3, d1, d2, d3, b, n = (float(rows[salt][k]) for k in "c1 c2 c3 d1 d2 d3 B multiplier".split())
        for mmol in points:
            root = math.sqrt(mmol / 1000)
            value = c1 * 625 + c2 * 25 + c3 - (d1 * 625 + d2 * 25 + d3) * root / (1 + b * root)
            yield salt, mmol, mmol * n * value, "McCleskey 2011"
    for salt, points in LARIONOV.items():
        for mmol, value in points.items():
            yield salt, mmol, mmol * value, "Larionov & Kryukov 1984"


def random_waters(count):
    rng = random.Random(1413)

    def log_uniform(low, high):
        return math.exp(rng.uniform(math.log(low), math.log(high)))

    waters = []
    while len(waters) < count:
        ca, mg, na, k, alk = (log_uniform(*r) for r in ((0.03, 5.7), (0.01, 3.7), (0.1, 8.7), (0.003, 4.0), (0.1, 7.2)))
        rest = 2 * ca + 2 * mg + na + k - alk
        if rest > 0.05 * alk:
            share = rng.choice([0.0, 1.0, rng.random(), rng.random()])
            waters.append({"Ca": ca, "Mg": mg, "Na": na, "K": k, "C(4)": alk, "S(6)": 0.5 * share * rest,
                           "Cl": (1 - share) * rest})
    return waters


def main():
    engine = Engine()
    points = list(measured())
    with open(HERE / "conductivity_measured.csv", "w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(["salt", "mmol_per_l", "us_per_cm", "source"])
        out.writerows([salt, f"{mmol:g}", f"{value:.2f}", source] for salt, mmol, value, source in points)
    with open(HERE / "conductivity_limits.csv", "w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(["salt", "cation", "anion", "row_limit", "ions_limit", "good_for"])
        out.writerows([*row[:3], f"{row[3]:.2f}", f"{row[4]:.2f}", row[5]] for row in limits())
    with open(HERE / "conductivity_old.csv", "w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(["salt", "celsius", "meq_per_l", "us_per_cm"])
        out.writerows([salt, 18, meq, f"{meq * value:.1f}"] for salt, row in KOHLRAUSCH.items() for meq, value in row.items())
    solved = {(salt, mmol): engine.speciate({k: n * mmol for k, n in SALTS[salt].items()}) for salt, mmol, _, _ in points}

    def misses(salt, p):
        return [100 * (conductivity(solved[s, mmol][0], p) / value - 1) for s, mmol, value, _ in points if s == salt]

    def with_values(**changes):
        p = {k: dict(v) if isinstance(v, dict) else v for k, v in PARAMETERS.items()}
        for name, (key, value) in changes.items():
            p[name][key] = value
        return p

    print("best fits, each alone (closest approach; silent or associated share), and the misses in %")
    sizes, shares = numpy.arange(1.0, 7.05, 0.1), numpy.arange(0.3, 1.21, 0.05)
    for salt, pair in (("KCl", ("K", "Cl")), ("NaCl", ("Na", "Cl")), ("CaCl2", ("Ca", "Cl")), ("MgCl2", ("Mg", "Cl")),
                       ("HCl", ("H", "Cl")), ("NaOH", ("Na", "OH")), ("KNO3", ("K", "NO3")), ("KHCO3", ("K", "HCO3"))):
        best = min(sizes, key=lambda a: sum(x * x for x in misses(salt, with_values(closest=(pair, a)))))
        print(f"  {salt:8} a = {best:.1f}  ", [f"{x:+.2f}" for x in misses(salt, PARAMETERS)])
    for salt, pair, kind, name in (("Na2SO4", ("Na", "SO4"), "silent", "NaSO4-"), ("K2SO4", ("K", "SO4"), "silent", "KSO4-"),
                                   ("MgSO4", ("Mg", "SO4"), "association", "MgSO4"),
                                   ("CaSO4", ("Ca", "SO4"), "association", "CaSO4")):
        a = PARAMETERS["closest"][pair]
        best = min(shares, key=lambda w: sum(x * x for x in misses(salt, with_values(**{"closest": (pair, a), kind: (name, w)}))))
        print(f"  {salt:8} a = {a} share = {best:.2f}  ", [f"{x:+.2f}" for x in misses(salt, PARAMETERS)])
    print("  Ca(OH)2  ", [f"{x:+.2f}" for x in misses("Ca(OH)2", PARAMETERS)])
    waters = [engine.speciate(w) for w in random_waters(300)]
    for exponent in (0.0, 0.25, 0.5, 0.75):
        p = dict(PARAMETERS, exponent=exponent)
        off = [100 * (conductivity(m, p) / sc - 1) for m, sc in waters]
        print(f"mixtures against the program, exponent {exponent}: % at 0, 1, 50, 99, 100 %:",
              [f"{x:+.2f}" for x in numpy.percentile(off, [0, 1, 50, 99, 100])])


if __name__ == "__main__":
    main()
