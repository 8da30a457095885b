"""Waters computed by PHREEQC: pH, ionic strength, conductivity, saturation indices, CCPP, solids.

Makes `waters_phreeqc.csv` (one row per water, state and temperature) and `solids_phreeqc.csv`
(what concentrates drop). Engine: IPHREEQC 3.8.6 through the registry package phreeqc 1.1.1, its
database `phreeqc.dat`; brucite is added from `wateq4f.dat` (same package), calcite of Plummer &
Busenberg 1982 (as in `wateq4f.dat`) as a second phase `Calcite_PB`, citrate from `minteq.v4.dat`
and lactate from the constants that the program lists as "from memory".

Amounts are mmol per kg of water; pH comes from the charge balance, so that the alkalinity is the
excess of strong bases. "closed" keeps carbon and alkalinity; "open" keeps alkalinity and the
fugacity of CO2 at 10^-3.38 atm at that temperature. CCPP is mmol of calcite per kg of water that
drops (negative: dissolves) until calcite is in equilibrium, in the same state.

    pip install phreeqc==1.1.1        # Python 3.11
    python waters_phreeqc.py          # about 5 s; deterministic
"""

import csv
import math
import pathlib
import random

from phreeqc import Phreeqc

HERE = pathlib.Path(__file__).parent
TOTALS = ["Ca", "Mg", "Na", "K", "Cl", "SO4", "NO3", "SiO2", "DIC", "Alkalinity", "Lactate", "Citrate"]
PHREEQC_NAME = {"SO4": "S(6)", "NO3": "N(5)", "SiO2": "Si", "DIC": "C(4)"}
CHARGE = {"Ca": 2, "Mg": 2, "Na": 1, "K": 1, "Cl": -1, "SO4": -2, "NO3": -1, "Alkalinity": -1,
          "Lactate": -1, "Citrate": -3}
LOG_CO2 = -3.38

EXTRA = """
SOLUTION_MASTER_SPECIES
Citrate Citrate-3 0 189.102 189.102
Lactate Lactate- 0 89.07 89.07
SOLUTION_SPECIES
Citrate-3 = Citrate-3
    log_k 0
Lactate- = Lactate-
    log_k 0
H+ + Citrate-3 = HCitrate-2
    log_k 6.396
    delta_h 3.3472 kJ
2 H+ + Citrate-3 = H2Citrate-
    log_k 11.157
    delta_h 1.297 kJ
3 H+ + Citrate-3 = H3Citrate
    log_k 14.285
    delta_h -2.7614 kJ
Ca+2 + Citrate-3 = CaCitrate-
    log_k 4.87
    delta_h -8.368 kJ
Ca+2 + Citrate-3 + H+ = CaHCitrate
    log_k 9.26
    delta_h -0.8368 kJ
Ca+2 + Citrate-3 + 2 H+ = CaH2Citrate+
    log_k 12.257
Mg+2 + Citrate-3 = MgCitrate-
    log_k 4.89
    delta_h 8.368 kJ
Mg+2 + Citrate-3 + H+ = MgHCitrate
    log_k 8.91
    delta_h 3.3472 kJ
Mg+2 + Citrate-3 + 2 H+ = MgH2Citrate+
    log_k 12.2
Na+ + Citrate-3 = NaCitrate-2
    log_k 1.03
    delta_h -2.8033 kJ
K+ + Citrate-3 = KCitrate-2
    log_k 1.1
    delta_h 5.4392 kJ
H+ + Lactate- = HLactate
    log_k 3.86
    delta_h 0.33 kJ
Ca+2 + Lactate- = CaLactate+
    log_k 1.45
Mg+2 + Lactate- = MgLactate+
    log_k 1.37
PHASES
Brucite
    Mg(OH)2 + 2 H+ = Mg+2 + 2 H2O
    log_k 16.84
    delta_h -27.1 kcal
Calcite_PB
    CaCO3 = CO3-2 + Ca+2
    -analytic -171.9065 -0.077993 2839.319 71.595
END
"""
PUNCH = """
SELECTED_OUTPUT 1
    -reset false
    -high_precision true
    -ionic_strength true
USER_PUNCH 1
    -headings ph sc si_c si_a si_g si_h si_b si_pb d_c d_pb d_g d_b alk dic
    10 PUNCH -LA("H+"), SC
    20 PUNCH SI("Calcite"), SI("Aragonite"), SI("Gypsum"), SI("Anhydrite"), SI("Brucite"), SI("Calcite_PB")
    30 PUNCH EQUI_DELTA("Calcite"), EQUI_DELTA("Calcite_PB"), EQUI_DELTA("Gypsum"), EQUI_DELTA("Brucite")
    40 PUNCH ALK, TOT("C(4)")
END
"""


class Engine:
    """One PHREEQC with everything loaded."""

    def __init__(self):
        self.phreeqc = Phreeqc()
        assert self.phreeqc.LoadBuiltInDatabase("phreeqc.dat") == 0
        self.run(EXTRA)
        self.run(PUNCH)

    def run(self, text):
        if self.phreeqc.RunString(text) != 0:
            raise RuntimeError(self.phreeqc.GetErrorString())

    def state(self, water, celsius, phases=()):
        """Last row of the selected output: the water alone, or after equilibrium with phases."""
        text = [f"SOLUTION 1", f"temp {celsius}", "units mmol/kgw", "pH 7 charge"]
        for total in TOTALS:
            amount = water.get(total, 0.0)
            if total != "Alkalinity" and amount > 0.0:
                text.append(f"{PHREEQC_NAME.get(total, total)} {amount!r}")
        text.append("END")
        if phases:
            text += ["USE solution 1", "EQUILIBRIUM_PHASES 1", *phases, "END"]
        self.run("\n".join(text))
        return {key: values[-1] for key, values in self.phreeqc.GetSelectedOutput().items()}


def balanced(water, with_ion="Cl"):
    """The water with one ion set so that the charges cancel."""
    water = dict(water)
    water.setdefault("DIC", water.get("Alkalinity", 0.0))
    water[with_ion] = 0.0
    charge = sum(CHARGE[k] * v for k, v in water.items() if k in CHARGE)
    water[with_ion] = -charge / CHARGE[with_ion]
    assert water[with_ion] >= -1e-12, (water, with_ion)
    water[with_ion] = max(water[with_ion], 0.0)
    return water


def waters():
    """The waters, id -> mmol/kgw. Every one is invented."""
    named = {}
    rng = random.Random(2330)

    def log_uniform(low, high):
        return math.exp(rng.uniform(math.log(low), math.log(high)))

    while len(named) < 30:
        water = {
            "Ca": log_uniform(0.03, 5.5), "Mg": log_uniform(0.02, 3.5), "Na": log_uniform(0.1, 8.0),
            "K": log_uniform(0.01, 4.0), "Alkalinity": log_uniform(0.1, 7.0),
        }
        rest = 2 * water["Ca"] + 2 * water["Mg"] + water["Na"] + water["K"] - water["Alkalinity"]
        if rest < 0.05 * water["Alkalinity"]:
            continue
        share = rng.choice([0.0, 0.3, 0.6, 1.0])
        if share == 1.0:
            named[f"brew{len(named) + 1:02d}"] = balanced(water, "SO4")
        else:
            water["SO4"] = 0.5 * share * rest
            named[f"brew{len(named) + 1:02d}"] = balanced(water, "Cl")
    named["pure"] = balanced({})
    named["ro"] = balanced({"Ca": 0.01, "Mg": 0.005, "Na": 0.05, "Alkalinity": 0.05})
    named["hard"] = balanced({"Ca": 4.0, "Mg": 1.5, "Na": 1.0, "Alkalinity": 6.5, "SO4": 1.0, "SiO2": 0.3})
    named["no_calcium"] = balanced({"Mg": 1.0, "Na": 0.5, "Alkalinity": 1.0})
    named["no_carbonate"] = balanced({"Ca": 1.0, "Mg": 0.5, "SO4": 0.5})
    named["gypsum"] = balanced({"Ca": 8.0}, "SO4")
    named["epsom"] = balanced({"Mg": 6.0}, "SO4")
    named["soda"] = balanced({"Alkalinity": 5.0}, "Na")
    named["washing_soda"] = balanced({"Alkalinity": 4.0, "DIC": 2.0}, "Na")
    named["lime"] = balanced({"Alkalinity": 3.0, "DIC": 0.01}, "Ca")
    named["lye"] = balanced({"Alkalinity": 10.0, "DIC": 0.0}, "Na")
    named["sour"] = balanced({"Na": 1.0, "Ca": 1.0, "Alkalinity": -2.0, "DIC": 0.1})
    named["sour_sulfate"] = balanced({"Mg": 2.0, "Ca": 1.0, "Alkalinity": -4.0, "DIC": 0.0}, "SO4")
    named["sparkling"] = balanced({"Ca": 1.0, "Na": 0.5, "Alkalinity": 2.0, "DIC": 30.0})
    named["carbon_dioxide"] = balanced({"DIC": 10.0, "Alkalinity": 0.0})
    named["nitrate"] = balanced({"Ca": 1.5, "K": 0.5, "Alkalinity": 2.0, "Cl": 0.3}, "NO3")
    named["silica"] = balanced({"Ca": 0.3, "Na": 2.0, "Alkalinity": 2.0, "SiO2": 2.0})
    named["alkaline_silica"] = balanced({"Na": 8.0, "Alkalinity": 8.0, "DIC": 1.0, "SiO2": 5.0})
    named["concentrate_chloride"] = balanced({"Ca": 60.0, "Mg": 30.0, "Na": 30.0, "Alkalinity": 1.0})
    named["concentrate_sulfate"] = balanced({"Mg": 80.0, "Na": 60.0, "K": 20.0, "Alkalinity": 1.0}, "SO4")
    named["concentrate_bicarbonate"] = balanced({"Na": 300.0, "K": 100.0, "Alkalinity": 400.0})
    named["brine"] = balanced({"Na": 450.0, "Mg": 5.0, "Ca": 3.0, "K": 10.0, "SO4": 5.0, "Alkalinity": 2.0})
    named["citrate"] = balanced({"Ca": 0.8, "Mg": 0.4, "K": 1.5, "Citrate": 0.4, "Alkalinity": 0.8})
    named["citrate_bound"] = balanced({"Ca": 0.3, "Mg": 0.2, "Citrate": 1.0, "Alkalinity": 1.0}, "Na")
    named["lactate"] = balanced({"Ca": 1.5, "Na": 0.5, "Lactate": 2.0, "Alkalinity": 1.0})
    return named


def usable(si):
    """PHREEQC writes -999.999 where an ion is missing."""
    return "" if si < -99 else f"{si:.5f}"


def table(engine):
    states = [("closed", t) for t in (5, 25, 60, 93, 110, 125)] + [("open", t) for t in (25, 93, 125)]
    for name, water in waters().items():
        for state, celsius in states:
            gas = [f"CO2(g) {LOG_CO2} 10"] if state == "open" else []
            plain = engine.state(water, celsius, gas)
            row = {"id": name, "state": state, "celsius": celsius}
            row |= {total: repr(water.get(total, 0.0)) for total in TOTALS}
            row |= {
                "ph": f"{plain['ph']:.5f}", "ionic_strength": f"{plain['mu']:.7e}",
                "sc_us_cm": f"{plain['sc']:.4f}",
                "si_calcite": usable(plain["si_c"]), "si_aragonite": usable(plain["si_a"]),
                "si_gypsum": usable(plain["si_g"]), "si_anhydrite": usable(plain["si_h"]),
                "si_brucite": usable(plain["si_b"]), "si_calcite_pb": usable(plain["si_pb"]),
            }
            for phase, key, column in (("Calcite", "d_c", "ccpp"), ("Calcite_PB", "d_pb", "ccpp_pb")):
                after = engine.state(water, celsius, gas + [f"{phase} 0 10"])
                row[column] = f"{1e3 * after[key]:.6f}"
            yield row


def solids(engine):
    """Concentrates from which calcite, gypsum and brucite may drop but not dissolve."""
    base = {"Ca": 1.2, "Mg": 0.6, "Na": 0.9, "K": 0.2, "Alkalinity": 1.0, "SO4": 0.8}
    bitter = {"Ca": 0.3, "Mg": 1.5, "Na": 0.5, "SO4": 0.2, "Alkalinity": 3.5, "DIC": 0.5}
    chalky = {"Ca": 2.5, "Mg": 0.1, "Na": 0.2, "Alkalinity": 3.0, "SO4": 0.6}
    plaster = {"Ca": 1.5, "Mg": 0.2, "Na": 0.3, "SO4": 1.4, "Alkalinity": 0.0, "DIC": 0.0}
    magnesia = {"Ca": 0.9, "Mg": 1.0, "SO4": 1.2, "Alkalinity": 0.2, "DIC": 0.0}
    kinds = {"all_in_one": base, "bitter": bitter, "chalky": chalky, "plaster": plaster, "magnesia": magnesia}
    for kind, water in kinds.items():
        for times in (1, 3, 10, 30, 60, 100):
            whole = balanced({k: v * times for k, v in {**water, "DIC": water.get("DIC", water["Alkalinity"])}.items()},
                             "Cl")
            for celsius in (5, 25):
                after = engine.state(whole, celsius, ["Calcite 0 0", "Gypsum 0 0", "Brucite 0 0"])
                row = {"id": f"{kind}_{times}", "celsius": celsius}
                row |= {total: repr(whole.get(total, 0.0)) for total in TOTALS}
                row |= {
                    "ph": f"{after['ph']:.5f}", "ionic_strength": f"{after['mu']:.7e}",
                    "calcite": f"{1e3 * after['d_c']:.6f}", "gypsum": f"{1e3 * after['d_g']:.6f}",
                    "brucite": f"{1e3 * after['d_b']:.6f}",
                }
                yield row


def write(name, rows):
    rows = list(rows)
    with open(HERE / name, "w", newline="") as file:
        out = csv.DictWriter(file, fieldnames=list(rows[0]), lineterminator="\n")
        out.writeheader()
        out.writerows(rows)
    print(name, len(rows), "rows")


if __name__ == "__main__":
    engine = Engine()
    write("waters_phreeqc.csv", table(engine))
    write("solids_phreeqc.csv", solids(engine))
