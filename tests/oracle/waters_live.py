"""Compares water reports in JSON with PHREEQC, computed on the spot.

Reads from a file or standard input what `waterflight water … --json` writes,

    [{"name": …, "mg_per_l": {"Ca": …, …}, "reports": [{"celsius", "state", "ph", "ionic_strength_mol_per_l",
      "conductivity_us_per_cm", "si": {…}, "ccpp_mg_per_l_caco3"}, …]}, …]

and computes every report again from the composition: "mg_per_l" of each water (alkalinity as HCO3, all of it
bicarbonate), or "mmol_per_l" with the keys of `waters_phreeqc.py` (DIC and Alkalinity apart), which is taken
first. States "open" and "degassed" are computed at 10^-3.38 atm unless the report carries "co2_atm". Prints the
largest difference of each quantity and ends with 1 when one is beyond the promise: pH 0.01, SI 0.02 up to 30 °C
and 0.03 above, CCPP 0.01 mmol/kg, ionic strength 1 %, conductivity 5 % (only at 25 °C).

    pip install phreeqc==1.1.1
    python waters_live.py [FILE]
    python waters_live.py --self        # against the committed table, to try the script itself

As a module: `compare(waters)` returns the largest differences and the failures.
"""

import csv
import json
import math
import sys

import waters_phreeqc
from waters_phreeqc import HERE, LOG_CO2, TOTALS, Engine

CACO3_G_PER_MOL = 100.0869
# Conventional atomic weights of 2021 (CIAAW), as the reports use them.
G_PER_MOL = {"Ca": 40.078, "Mg": 24.305, "Na": 22.98976928, "K": 39.0983, "Cl": 35.45, "SO4": 96.056, "NO3": 62.004,
             "SiO2": 60.083, "HCO3": 61.016, "lactate": 89.07, "citrate": 189.099}
PROMISE = {"pH": 0.01, "SI": 0.02, "SI hot": 0.03, "CCPP mmol/kg": 0.01, "ionic strength %": 1.0, "conductivity %": 5.0}


def mmol(water):
    """Totals of a report, mmol/kg, with chloride or sodium closing the charge balance."""
    if "mmol_per_l" in water:
        totals = dict(water["mmol_per_l"])
    else:
        amounts = {key: value / G_PER_MOL[key] for key, value in water["mg_per_l"].items() if key in G_PER_MOL}
        bicarbonate = amounts.pop("HCO3", 0.0)
        totals = {"Lactate": amounts.pop("lactate", 0.0), "Citrate": amounts.pop("citrate", 0.0), **amounts}
        totals |= {"DIC": bicarbonate, "Alkalinity": bicarbonate}
    charge = sum(waters_phreeqc.CHARGE[k] * v for k, v in totals.items() if k in waters_phreeqc.CHARGE)
    closing = "Cl" if charge > 0 else "Na"
    totals[closing] = totals.get(closing, 0.0) + abs(charge)
    return totals


def compare(waters, engine=None):
    """Largest difference of each quantity with where it was, and the differences beyond the promise."""
    engine = engine or Engine()
    largest, failures = {}, []

    def see(quantity, where, got, want):
        off = abs(got - want)
        if quantity not in largest or off > largest[quantity][0]:
            largest[quantity] = (off, where)
        if not off <= PROMISE[quantity]:
            failures.append(f"{where}: {quantity} {got:.5g}, PHREEQC {want:.5g}")

    for water in waters:
        totals = mmol(water)
        for report in water["reports"]:
            celsius, state = report["celsius"], report["state"]
            where = f"{water['name']} {state} {celsius:g} °C"
            log_co2 = math.log10(report["co2_atm"]) if "co2_atm" in report else LOG_CO2
            gas = [] if state == "closed" else [f"CO2(g) {log_co2} 10"]
            want = engine.state(totals, celsius, gas)
            see("pH", where, report["ph"], want["ph"])
            percent = 100.0 / want["mu"]
            see("ionic strength %", where, percent * report["ionic_strength_mol_per_l"], percent * want["mu"])
            if abs(celsius - 25.0) < 0.01:
                percent = 100.0 / want["sc"]
                see("conductivity %", where, percent * report["conductivity_us_per_cm"], percent * want["sc"])
            for mineral, key in (("calcite", "si_c"), ("aragonite", "si_a"), ("gypsum", "si_g"), ("anhydrite", "si_h"),
                                 ("brucite", "si_b")):
                ours = report["si"][mineral]
                if (ours is None) != (want[key] < -99):
                    failures.append(f"{where}: {mineral} {ours}, PHREEQC {want[key]}")
                elif ours is not None:
                    see("SI" if celsius <= 30 else "SI hot", where, ours, want[key])
            after = engine.state(totals, celsius, gas + ["Calcite 0 10"])
            see("CCPP mmol/kg", where, report["ccpp_mg_per_l_caco3"] / CACO3_G_PER_MOL, 1e3 * after["d_c"])
    return largest, failures


def committed():
    """The committed table in the form of reports, to try this script."""
    waters = {}
    with open(HERE / "waters_phreeqc.csv") as file:
        for row in csv.DictReader(file):
            water = waters.setdefault(row["id"], {
                "name": row["id"], "mmol_per_l": {t: float(row[t]) for t in TOTALS}, "reports": []})
            value = lambda key: float(row[key]) if row[key] else None
            water["reports"].append({
                "celsius": float(row["celsius"]), "state": row["state"], "ph": float(row["ph"]),
                "ionic_strength_mol_per_l": float(row["ionic_strength"]),
                "conductivity_us_per_cm": float(row["sc_us_cm"]),
                "si": {m: value(f"si_{m}") for m in ("calcite", "aragonite", "gypsum", "anhydrite", "brucite")},
                "ccpp_mg_per_l_caco3": float(row["ccpp"]) * CACO3_G_PER_MOL,
            })
    return list(waters.values())


def main(arguments):
    if arguments == ["--self"]:
        waters = committed()
    else:
        with open(arguments[0]) if arguments else sys.stdin as file:
            waters = json.load(file)
    largest, failures = compare(waters)
    for quantity, (off, where) in sorted(largest.items()):
        print(f"{quantity:18} {off:.2e}  (promise {PROMISE[quantity]:g})  {where}")
    print("\n".join(failures))
    return 1 if failures or not largest else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
