"""Writes curves.json: golden values for cubic.rs, quantile.rs and sample.rs by numpy and scipy.
usage: python make_curves.py   (numpy 2.4.6, scipy 1.17.1)"""
import json, pathlib
import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.special import ndtri

rng = np.random.default_rng(20260101)


def table(x, y):
    x, y = np.array(x, float), np.array(y, float)
    f = PchipInterpolator(x, y)
    at = np.unique(np.concatenate([x, np.linspace(x[0], x[-1], 41), rng.uniform(x[0], x[-1], 20)]))
    return dict(x=x.tolist(), y=y.tolist(), at=at.tolist(), value=f(at).tolist(), slope=f.derivative()(at).tolist(),
                integral_from_left=[float(f.integrate(x[0], t)) for t in at])


tables = [
    table([0, 1], [2, 5]),                                        # two points: a straight line
    table([0, 1, 2], [0, 1, 1]),                                  # plateau
    table([0, 1, 2], [0, 1, 0]),                                  # peak
    table([-1, 0.5, 3], [1, -4, 7]),                              # valley, zero inside
    table([0, 0.1, 2, 2.5], [0, 3, 3.1, -2]),                     # steep first piece: the end slope is held back
    table([0, 1, 3, 4], [0, 0.1, 5, 4.9]),
    table([1, 2, 4, 8, 16], [1, 0.5, 0.25, 0.125, 0.0625]),       # zero left of the table
    table([-9, -4, -3, -1], [0, 0, 1, 1]),                        # zero right of the table
]
for _ in range(20):
    n = int(rng.integers(3, 12))
    tables.append(table(np.cumsum(rng.uniform(0.05, 2, n)) - 4, rng.normal(0, 3, n).round(3)))

quantiles = []
for n in (1, 2, 3, 11, 21, 41):
    values = rng.normal(0, 100, n).tolist()
    for q in (0, 0.09, 0.25, 0.5, 0.75, 0.9, 1):
        quantiles.append(dict(values=values, q=q, quantile=float(np.quantile(values, q))))

p = np.concatenate([np.linspace(0.001, 0.999, 201), 10.0 ** -np.arange(1, 300, 7), 1 - 10.0 ** -np.arange(1, 15), [0.075, 0.925]])
normal = dict(p=p.tolist(), quantile=ndtri(p).tolist())
out = pathlib.Path(__file__).parent / "curves.json"
json.dump(dict(tables=tables, quantiles=quantiles, normal=normal), open(out, "w"), separators=(",", ":"))
