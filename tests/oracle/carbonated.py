"""What dissolves under carbon dioxide, computed by PHREEQC: makes `carbonated.csv`.

Engine: IPHREEQC 3.8.6 through the registry package phreeqc 1.1.1, database `phreeqc.dat`, with
nesquehonite from `wateq4f.dat`. The solid stands in pure water under carbon dioxide of a fixed
fugacity until nothing changes. Results are mmol of the metal per kg of water.

    pip install phreeqc==1.1.1        # Python 3.11
    python carbonated.py              # about 1 s; deterministic
"""

import csv
import math
import pathlib

from phreeqc_run import started

HERE = pathlib.Path(__file__).parent
ATMOSPHERE_BAR = 1.01325
PHASES = """
PHASES
Nesquehonite
    MgCO3:3H2O = Mg+2 + CO3-2 + 3 H2O
    log_k -5.621
    delta_h -5.789 kcal
END
SELECTED_OUTPUT
    -reset false
    -totals Ca Mg
    -high_precision true
END
"""


def main():
    engine, run = started()
    run(PHASES)
    rows = []
    for solid, metal in (("Calcite", "Ca"), ("Nesquehonite", "Mg")):
        for celsius in (5, 20, 25, 40):
            for bar in (0.5, 1, 2, 4):
                index = math.log10(bar / ATMOSPHERE_BAR)
                run(f"SOLUTION 1\ntemp {celsius}\nEND\nUSE solution 1\nEQUILIBRIUM_PHASES 1\n"
                    f"{solid} 0 10\nCO2(g) {index!r} 1000\nEND")
                out = {key: values[-1] for key, values in engine.GetSelectedOutput().items()}
                total = next(v for k, v in out.items() if k.startswith(metal))
                rows.append([solid, celsius, bar, f"{1000 * total:.5f}"])
    with open(HERE / "carbonated.csv", "w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["solid", "celsius", "co2_bar", "mmol_per_kg"])
        writer.writerows(rows)


if __name__ == "__main__":
    main()
