"""Molar masses, and the mass fraction of each ion, of the salts the program knows.

Makes
    molar_masses.csv     formula, molar_mass_g_per_mol, package, version
    ion_fractions.csv    formula, ion, mass_fraction
    atomic_weights.csv   element, atomic_weight, package, version

Two packages that keep separate tables are asked, and both answers are written:
    periodictable 2.1.0     CIAAW standard atomic weights 2021 (Prohaska et al., Pure Appl. Chem. 94,
                            2022); where the standard is an interval, the conventional value
                            (H 1.008, C 12.011, O 15.999, Mg 24.305, S 32.06, Cl 35.45)
    molmass 2026.1.8        atomic weights recomputed from NIST's isotopic compositions
                            (H 1.007941, C 12.01074, O 15.999405, Mg 24.3051, S 32.0648, Cl 35.4529)
The two differ by up to 6e-5 of a molar mass; that is the spread between tables, not an error in
either. ion_fractions.csv uses periodictable alone, so that one set is consistent. An ion's mass is
the sum of its atoms (electrons neglected). Fractions of water of crystallisation are not listed;
the ions listed and that water add up to 1, which is checked here.

Run again:  pip install periodictable==2.1.0 molmass==2026.1.8 && python molar_masses.py
"""

import csv
import os
import re
from fractions import Fraction

import molmass
import periodictable

HERE = os.path.dirname(os.path.abspath(__file__))

# formula, its anhydrous part, molecules of water, ions (name, formula of one ion, how many)
SALTS = [
    ("MgSO4·7H2O", "MgSO4", 7, [("Mg", "Mg", 1), ("SO4", "SO4", 1)]),
    ("MgSO4", "MgSO4", 0, [("Mg", "Mg", 1), ("SO4", "SO4", 1)]),
    ("MgCl2·6H2O", "MgCl2", 6, [("Mg", "Mg", 1), ("Cl", "Cl", 2)]),
    ("MgCl2", "MgCl2", 0, [("Mg", "Mg", 1), ("Cl", "Cl", 2)]),
    ("CaCl2", "CaCl2", 0, [("Ca", "Ca", 1), ("Cl", "Cl", 2)]),
    ("CaCl2·2H2O", "CaCl2", 2, [("Ca", "Ca", 1), ("Cl", "Cl", 2)]),
    ("CaCl2·4H2O", "CaCl2", 4, [("Ca", "Ca", 1), ("Cl", "Cl", 2)]),
    ("CaCl2·6H2O", "CaCl2", 6, [("Ca", "Ca", 1), ("Cl", "Cl", 2)]),
    ("CaSO4·0.5H2O", "CaSO4", Fraction(1, 2), [("Ca", "Ca", 1), ("SO4", "SO4", 1)]),
    ("CaSO4·2H2O", "CaSO4", 2, [("Ca", "Ca", 1), ("SO4", "SO4", 1)]),
    ("NaHCO3", "NaHCO3", 0, [("Na", "Na", 1), ("HCO3", "HCO3", 1)]),
    ("KHCO3", "KHCO3", 0, [("K", "K", 1), ("HCO3", "HCO3", 1)]),
    ("Na2CO3", "Na2CO3", 0, [("Na", "Na", 2), ("CO3", "CO3", 1)]),
    ("Na2CO3·10H2O", "Na2CO3", 10, [("Na", "Na", 2), ("CO3", "CO3", 1)]),
    ("K2CO3", "K2CO3", 0, [("K", "K", 2), ("CO3", "CO3", 1)]),
    ("NaCl", "NaCl", 0, [("Na", "Na", 1), ("Cl", "Cl", 1)]),
    ("KCl", "KCl", 0, [("K", "K", 1), ("Cl", "Cl", 1)]),
    ("Na2SO4", "Na2SO4", 0, [("Na", "Na", 2), ("SO4", "SO4", 1)]),
    ("K2SO4", "K2SO4", 0, [("K", "K", 2), ("SO4", "SO4", 1)]),
    ("CaCO3", "CaCO3", 0, [("Ca", "Ca", 1), ("CO3", "CO3", 1)]),
    ("Ca(OH)2", "Ca(OH)2", 0, [("Ca", "Ca", 1), ("OH", "OH", 2)]),
    ("Mg(OH)2", "Mg(OH)2", 0, [("Mg", "Mg", 1), ("OH", "OH", 2)]),
    ("Ca(C3H5O3)2·5H2O", "Ca(C3H5O3)2", 5, [("Ca", "Ca", 1), ("C3H5O3", "C3H5O3", 2)]),
    ("K3C6H5O7·H2O", "K3C6H5O7", 1, [("K", "K", 3), ("C6H5O7", "C6H5O7", 1)]),
    ("Na3C6H5O7·2H2O", "Na3C6H5O7", 2, [("Na", "Na", 3), ("C6H5O7", "C6H5O7", 1)]),
    ("KNO3", "KNO3", 0, [("K", "K", 1), ("NO3", "NO3", 1)]),
    ("Ca(NO3)2·4H2O", "Ca(NO3)2", 4, [("Ca", "Ca", 1), ("NO3", "NO3", 2)]),
]
ELEMENTS = ["H", "C", "N", "O", "Na", "Mg", "S", "Cl", "K", "Ca"]


def by_periodictable(anhydrous, water):
    text = anhydrous if water == 0 else f"{anhydrous}+{float(water):g}H2O"
    return periodictable.formula(text).mass


def by_molmass(anhydrous, water):
    """molmass takes whole counts only: ask for a whole multiple of the formula and divide."""
    water = Fraction(water)
    k = water.denominator
    n = water.numerator
    text = f"({anhydrous}){k}" if k > 1 else anhydrous
    if n:
        text += f"(H2O){n}"
    return molmass.Formula(text).mass / k


def main():
    pt, mm = periodictable.__version__, molmass.__version__
    print(f"periodictable {pt} (CIAAW 2021), molmass {mm} (NIST isotopic compositions)")

    with open(os.path.join(HERE, "molar_masses.csv"), "w", newline="", encoding="utf-8") as f:
        out = csv.writer(f, lineterminator="\n")
        out.writerow(["formula", "molar_mass_g_per_mol", "package", "version"])
        worst = 0.0
        for formula, anhydrous, water, _ in SALTS:
            # the written formula must say the same as its two parts
            head, _, tail = formula.partition("·")
            count = re.fullmatch(r"([0-9.]*)H2O", tail)
            said = Fraction(count.group(1) or "1") if tail else Fraction(0)
            assert head == anhydrous and said == Fraction(water), formula
            a, b = by_periodictable(anhydrous, water), by_molmass(anhydrous, water)
            out.writerow([formula, f"{a:.8f}", "periodictable", pt])
            out.writerow([formula, f"{b:.8f}", "molmass", mm])
            worst = max(worst, abs(a / b - 1))
    print(f"{len(SALTS)} formulas; the packages differ by at most {worst:.1e} of a molar mass")

    with open(os.path.join(HERE, "ion_fractions.csv"), "w", newline="", encoding="utf-8") as f:
        out = csv.writer(f, lineterminator="\n")
        out.writerow(["formula", "ion", "mass_fraction"])
        rows = 0
        h2o = periodictable.formula("H2O").mass
        for formula, anhydrous, water, ions in SALTS:
            whole = by_periodictable(anhydrous, water)
            total = float(water) * h2o / whole
            for name, ion, n in ions:
                w = n * periodictable.formula(ion).mass / whole
                total += w
                out.writerow([formula, name, f"{w:.12f}"])
                rows += 1
            assert abs(total - 1) < 1e-12, (formula, total)
    print(f"{rows} ion fractions")

    with open(os.path.join(HERE, "atomic_weights.csv"), "w", newline="", encoding="utf-8") as f:
        out = csv.writer(f, lineterminator="\n")
        out.writerow(["element", "atomic_weight", "package", "version"])
        for e in ELEMENTS:
            out.writerow([e, repr(getattr(periodictable, e).mass), "periodictable", pt])
            out.writerow([e, repr(molmass.ELEMENTS[e].mass), "molmass", mm])


if __name__ == "__main__":
    main()
