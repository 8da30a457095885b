"""Times statsmodels' MixedLM on scores handed over in a CSV file, for a benchmark.

Columns: taster, water, position, previous (0: none), value. Model: as src/analysis/mixed.rs, waters
and places and waters before fixed (deviations from their means), taster and taster x water random,
REML, from the package's own start. Prints one line of JSON: versions, seconds, variances, means.

Versions it was made for: statsmodels 0.15.0, pandas 3.1.1, numpy 2.4.6.
Run: pip install statsmodels==0.15.0 && python mixed_time.py FILE.csv
"""

import json
import sys
import time
import warnings

import numpy as np
import pandas as pd
import statsmodels
import statsmodels.api as sm


def deviations(level, levels):
    last = levels[-1]
    return np.column_stack([(level == l).astype(float) - (level == last) for l in levels[:-1]])


def main():
    warnings.simplefilter("ignore")
    d = pd.read_csv(sys.argv[1])
    waters, places = sorted(d.water.unique()), sorted(d.position.unique())
    before = sorted(set(d.previous.unique()) - {0})
    x = np.column_stack([(d.water.to_numpy()[:, None] == np.array(waters)).astype(float),
                         deviations(d.position.to_numpy(), places),
                         deviations(d.previous.to_numpy(), before)])
    start = time.perf_counter()
    both = {"both": {}}
    names = {}
    for taster, rows in d.groupby("taster").groups.items():
        own = d.water.loc[rows].to_numpy()
        levels = np.unique(own)
        both["both"][taster] = (own[:, None] == levels).astype(float)
        names[taster] = [str(level) for level in levels]
    vc = sm.regression.mixed_linear_model.VCSpec(
        ["both"], [[names[t] for t in sorted(names)]], [[both["both"][t] for t in sorted(both["both"])]])
    model = sm.MixedLM(d.value.to_numpy(), x, groups=d.taster.to_numpy(),
                       exog_re=np.ones((len(d), 1)), exog_vc=vc)
    fit = model.fit(reml=True)
    seconds = time.perf_counter() - start
    print(json.dumps({"statsmodels": statsmodels.__version__, "seconds": seconds, "converged": bool(fit.converged),
                      "taster": float(np.ravel(fit.cov_re)[0]), "both": float(fit.vcomp[0]), "cup": float(fit.scale),
                      "means": [float(v) for v in fit.fe_params[:len(waters)]]}))


if __name__ == "__main__":
    main()
