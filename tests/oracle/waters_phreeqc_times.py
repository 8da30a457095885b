"""Time that PHREEQC takes for the states of `waters_phreeqc.csv`, for the benchmark `water_speed`.

Prints one line of JSON: {"engine", "waters", "states", "seconds_per_state", "ph_sum"}. Every state is
computed as in `waters_phreeqc.py`: the water in its state with saturation indices, conductivity and ionic
strength, and once more in equilibrium with calcite for CCPP. The whole table is one input string, so that
the binding is crossed once; the best of three runs counts. `ph_sum` lets the caller see that the same work
was done.

    pip install phreeqc==1.1.1
    python waters_phreeqc_times.py
"""

import csv
import json
import pathlib
import time

from phreeqc import Phreeqc

from waters_phreeqc import LOG_CO2, PHREEQC_NAME, TOTALS, Engine

PUNCH = """
SELECTED_OUTPUT 1
    -reset false
    -high_precision true
USER_PUNCH 1
    -headings ph mu sc si_c si_a si_g si_h si_b d_c
    10 PUNCH -LA("H+"), MU, SC
    20 PUNCH SI("Calcite"), SI("Aragonite"), SI("Gypsum"), SI("Anhydrite"), SI("Brucite"), EQUI_DELTA("Calcite")
END
"""


def text_of(row):
    """The input of one state."""
    lines = ["SOLUTION 1", f"temp {row['celsius']}", "units mmol/kgw", "pH 7 charge"]
    lines += [f"{PHREEQC_NAME.get(t, t)} {row[t]}" for t in TOTALS if t != "Alkalinity" and float(row[t]) > 0.0]
    lines.append("END")
    gas = [f"CO2(g) {LOG_CO2} 10"] if row["state"] == "open" else []
    if gas:
        lines += ["USE solution 1", "EQUILIBRIUM_PHASES 1", *gas, "END"]
    return "\n".join(lines + ["USE solution 1", "EQUILIBRIUM_PHASES 1", *gas, "Calcite 0 10", "END", ""])


def main():
    with open(pathlib.Path(__file__).parent / "waters_phreeqc.csv") as file:
        rows = list(csv.DictReader(file))
    engine = Engine()
    engine.run(PUNCH)
    text = "".join(map(text_of, rows))
    seconds = []
    for _ in range(3):
        start = time.perf_counter()
        engine.run(text)
        table = engine.phreeqc.GetSelectedOutput()
        seconds.append(time.perf_counter() - start)
    # One line of output per simulation: the water, the water with its gas if it is open, with calcite.
    ph, line = 0.0, 0
    for row in rows:
        opened = row["state"] == "open"
        ph += table["ph"][line + opened]
        line += 2 + opened
    assert line == len(table["ph"])
    print(json.dumps({
        "engine": f"IPHREEQC {Phreeqc.GetVersionString()}", "waters": len({row["id"] for row in rows}),
        "states": len(rows), "seconds_per_state": min(seconds) / len(rows), "ph_sum": ph,
    }))


if __name__ == "__main__":
    main()
