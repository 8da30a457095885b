"""How strong an invented stock was over time, with the ± of weighing: makes `strength_history.json`.

Days between dates are those of Python's calendar, over a leap day and two years. Strengths follow from
what was weighed; their ± is twice the standard deviation of 2 million draws, with the balances and the
purity of `stocks.py`: 0.01 g steps and 0.02 g error up to 200 g, 1 g and 2 g above, two readings a
mass, all rectangular, as the purity of 99 % within half a per cent.

    pip install numpy==2.4.6          # Python 3.11
    python strength_history.py        # about 1 s; deterministic
"""

import datetime
import json
import pathlib

import numpy

HERE = pathlib.Path(__file__).parent
N = 2_000_000
# Salt and total as weighed, g; the day. The verification comes after the second batch.
BATCHES = [(30.52, 1018, "2024-02-20"), (29.97, 497, "2024-03-05"), (12.4, 1022, "2025-12-31")]
VERIFIED = "2024-06-30"


def weighed(rng, grams):
    step, error = (0.01, 0.02) if grams <= 200 else (1.0, 2.0)
    readings = sum(rng.uniform(-step / 2, step / 2, N) for _ in range(2))
    return grams + rng.uniform(-error, error, N) + readings


def main():
    rng = numpy.random.default_rng(20240229)
    first = datetime.date.fromisoformat(BATCHES[0][2])
    batches = []
    for salt, total, day in BATCHES:
        purity = rng.uniform(0.985, 0.995, N)
        draws = 1000 * weighed(rng, salt) * purity / weighed(rng, total)
        batches.append({
            "salt_g": salt, "total_g": total, "day": day,
            "days": (datetime.date.fromisoformat(day) - first).days,
            "g_per_kg": 1000 * salt * 0.99 / total,
            "expanded_g_per_kg": 2 * float(numpy.std(draws, ddof=1)),
        })
    verified = {"day": VERIFIED, "days": (datetime.date.fromisoformat(VERIFIED) - first).days}
    with open(HERE / "strength_history.json", "w", encoding="utf-8") as file:
        json.dump({"draws": N, "batches": batches, "verified": verified}, file, indent=1)
        file.write("\n")


if __name__ == "__main__":
    main()
