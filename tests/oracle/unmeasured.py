"""Analyses with gaps, and what is really in the water.

Makes `unmeasured.json`: waters with a hidden composition of which some ions are listed, with the
bounds that charge balance puts on the others (linear programs), the conductivity of the whole water,
and the carbon dioxide behind a pH.

* `analyses`: random drinking waters, neutral, every ion within the published limits (sodium 200,
  potassium 12, chloride 250, sulfate 250, nitrate 50 mg/L; EU 2020/2184, potassium 80/778/EEC). Of each
  only some ions are listed, in half of them with errors of up to 2 % each. Bounds: least and most of
  every other ion, x >= 0, such that the charges cancel within the acceptance of Standard Methods 1030 E
  for the larger of the two sums; null where nothing limits it. Solver: HiGHS through scipy 1.17.1.
  Conductivity at 25 degC: IPHREEQC 3.8.6 (phreeqc 1.1.1), phreeqc.dat.
* `ph`: sodium bicarbonate and calcium bicarbonate waters at a given alkalinity and pH: log10 of the
  fugacity of carbon dioxide, same engine. Null where it finds no carbon for them.

    pip install phreeqc==1.1.1 scipy==1.17.1        # Python 3.11
    python unmeasured.py                            # about 10 s; deterministic
"""

import json
import pathlib
import random

from phreeqc import Phreeqc
from scipy.optimize import linprog

HERE = pathlib.Path(__file__).parent
CHARGE = {"Ca": 2, "Mg": 2, "Na": 1, "K": 1, "Cl": -1, "SO4": -2, "NO3": -1, "Alkalinity": -1}
MASS = {"Ca": 40.078, "Mg": 24.305, "Na": 22.98977, "K": 39.0983, "Cl": 35.45, "SO4": 96.056,
        "NO3": 62.004, "SiO2": 60.083}
LIMIT_MG = {"Na": 200, "K": 12, "Cl": 250, "SO4": 250, "NO3": 50}
NAME = {"SO4": "S(6)", "NO3": "N(5)", "SiO2": "Si"}
PATTERNS = [
    ("Ca", "Mg", "Alkalinity"),
    ("Ca", "Mg", "Alkalinity", "Cl"),
    ("Ca", "Mg", "Na", "Alkalinity", "Cl", "SO4"),
    ("Ca", "Mg", "Na", "K", "Alkalinity", "Cl", "NO3"),
    ("Ca", "Mg", "Cl", "SO4", "NO3", "Alkalinity"),
    ("Ca", "Mg", "Na", "K"),
    ("Cl", "SO4", "NO3", "Alkalinity"),
    ("Ca", "Mg", "Na", "K", "Cl", "SO4", "Alkalinity"),
]

engine = Phreeqc()
assert engine.LoadBuiltInDatabase("phreeqc.dat") == 0


def punched(text, what):
    """Runs a solution and gives one value of it; None where the engine finds none."""
    punch = f'SELECTED_OUTPUT 1\n -reset false\nUSER_PUNCH 1\n -headings v\n 10 PUNCH {what}\nEND\n'
    if engine.RunString(text + punch) != 0:
        return None
    return float(engine.GetSelectedOutput()["v"][-1])


def limit_meq(ion):
    return LIMIT_MG[ion] / MASS[ion] * abs(CHARGE[ion]) if ion in LIMIT_MG else float("inf")


def water(draw):
    """Neutral, meq/L (silica mmol/L)."""
    while True:
        ions = {
            "Ca": draw.lognormvariate(0.8, 0.9),
            "Mg": draw.lognormvariate(-0.4, 0.9),
            "Na": draw.lognormvariate(-0.3, 1.1),
            "K": draw.lognormvariate(-3.0, 0.8),
            "NO3": draw.lognormvariate(-2.2, 1.0),
        }
        cations = sum(ions[c] for c in ("Ca", "Mg", "Na", "K"))
        rest = cations - ions["NO3"]
        ions["Alkalinity"] = rest * draw.uniform(0.15, 0.95)
        strong = rest - ions["Alkalinity"]
        ions["Cl"] = strong * draw.uniform(0.1, 0.9)
        ions["SO4"] = strong - ions["Cl"]
        within = all(0 < meq <= limit_meq(ion) for ion, meq in ions.items())
        if within and 0.3 < cations < 20 and ions["Ca"] < 12 and ions["Mg"] < 6:
            ions["SiO2"] = draw.uniform(1, 40) / MASS["SiO2"]
            return ions


def conductivity(ions):
    lines = ["SOLUTION 1", "    units mmol/kgw", "    temp 25", "    pH 8 charge"]
    for ion, meq in ions.items():
        mmol = meq / abs(CHARGE.get(ion, 1))
        # Carbon is that of the alkalinity: a closed water of bicarbonate.
        name = "C(4)" if ion == "Alkalinity" else NAME.get(ion, ion)
        lines.append(f"    {name} {mmol:.12g}")
    return punched("\n".join(lines) + "\n", "SC")


def accepted(cations, anions):
    """Standard Methods 1030 E, for the larger sum on both sides."""
    side = max(cations, anions)
    if side <= 3:
        return 0.2
    return (0.02 if side <= 10 else 0.05) * 2 * side


def bounds(listed):
    sums = {s: sum(m for i, m in listed.items() if s * CHARGE[i] > 0) for s in (1, -1)}
    gap, slack = sums[1] - sums[-1], accepted(sums[1], sums[-1])
    unknown = [i for i in CHARGE if i not in listed]
    sign = [1 if CHARGE[i] > 0 else -1 for i in unknown]
    found = {}
    for place, ion in enumerate(unknown):
        ends = []
        for direction in (1, -1):
            cost = [0.0] * len(unknown)
            cost[place] = direction
            result = linprog(cost, A_ub=[sign, [-s for s in sign]], b_ub=[-gap + slack, gap + slack],
                             bounds=[(0, None)] * len(unknown), method="highs")
            # The least was found first, so the program is feasible: what has no most is unbounded,
            # whatever the presolve calls it.
            if direction == -1 and result.status in (2, 3, 4):
                ends.append(None)
            else:
                assert result.status == 0, (result.message, listed)
                ends.append(round(abs(result.fun), 12))
        found[ion] = ends
    return found


def analyses():
    draw = random.Random(20260311)
    rows = []
    for number in range(320):
        truth = water(draw)
        if number % 10 < 8:
            pattern = PATTERNS[number % 10]
        else:
            pattern = [i for i in CHARGE if draw.random() < 0.6]
        off = 0.02 if number // 10 % 2 else 0.0
        listed = {i: truth[i] * (1 + draw.uniform(-off, off)) for i in pattern}
        rows.append({
            "truth": {i: round(m, 12) for i, m in truth.items()},
            "listed": {i: round(m, 12) for i, m in listed.items()},
            "bounds": bounds(listed),
            "us_per_cm": round(conductivity(truth), 6),
        })
    return rows


def log_co2(cation, alkalinity, ph):
    element = {"Na": alkalinity, "Ca": alkalinity / 2}[cation]
    value = punched("SOLUTION 1\n    units mmol/kgw\n    temp 25\n"
                    f"    pH {ph}\n    {cation} {element}\n    Alkalinity {alkalinity}\n",
                    'SI("CO2(g)")')
    return round(value, 6) if value is not None and value > -90 else None


def ph_rows():
    rows = []
    for cation in ("Na", "Ca"):
        for alkalinity in (0.1, 0.4, 1.0, 2.0, 3.6, 7.0):
            for ph in (4.0, 4.5, 5.0, 5.4, 6.0, 6.5, 7.0, 7.5, 8.3, 9.0, 9.8, 10.4, 11.0, 11.6):
                rows.append({"cation": cation, "alkalinity_meq": alkalinity, "ph": ph,
                             "log_co2": log_co2(cation, alkalinity, ph)})
    return rows


def main():
    made = {"analyses": analyses(), "ph": ph_rows()}
    text = ",\n".join(json.dumps(r) for r in made["analyses"])
    ph = ",\n".join(json.dumps(r) for r in made["ph"])
    (HERE / "unmeasured.json").write_text(f'{{"analyses": [\n{text}\n],\n"ph": [\n{ph}\n]}}\n')
    print(len(made["analyses"]), "analyses,", len(made["ph"]), "pH")


if __name__ == "__main__":
    main()
