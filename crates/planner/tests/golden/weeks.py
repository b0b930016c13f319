"""Golden weeks for tests/golden.rs: random weeks and their optimum by SciPy's milp (HiGHS).

Run: python3 -m venv venv && venv/bin/pip install scipy && venv/bin/python weeks.py > weeks.json
The programme is written down here from docs/rebuild.md, not from the Rust code.
"""
import json
import random
import sys

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix

random.seed(20260214)


def r(low, high, digits=3):
    return round(random.uniform(low, high), digits)


def head(i):
    weight, low = random.choice([0.0, 0.5, 1.0, 2.0, 3.0]), random.choice([2.0, 4.0, 6.0, 10.0])
    high = low * random.choice([1.5, 1.67, 1.8])
    pieces = []
    if weight > 0:
        for k in range(4):
            pieces.append({"width": low / 4, "gain": weight * 0.5 * (1 + (1 - k / 4) + (1 - (k + 1) / 4))})
        pieces += [{"width": (high - low) / 2, "gain": weight * 0.075}, {"width": (high - low) / 2, "gain": 0.0}]
        pieces.append({"width": 1000.0, "gain": -0.3 * weight})
    focus = weight == 3.0
    return {"name": f"head {i}", "pieces": pieces, "session_most": random.choice([6.0, 8.0, 11.0]),
            "week_most": random.choice([None, None, 12.0]), "long_share": 0.3333 if focus else 0.0,
            "long_price": 0.45 if focus else 0.0}


def choice(i, heads, movements):
    used = random.sample(range(heads), random.randint(1, min(5, heads)))
    new = random.random() < 0.5
    return {"name": f"movement {i}", "movement": random.randrange(movements), "set_s": r(120, 240, 1),
            "once_s": r(0, 90, 1), "least": 2, "most": 3 if new else 5, "new": new,
            "credits": [[h, r(0.1, 1.0), random.random() < 0.4] for h in used]}


def week():
    n_heads, n_choices, n_days = random.randint(3, 10), random.randint(4, 16), random.randint(1, 4)
    choices = [choice(i, n_heads, n_choices) for i in range(n_choices)]
    # Ways of one movement are all new or all known.
    by = {}
    for c in choices:
        c["new"] = by.setdefault(c["movement"], c["new"])
        c["most"] = 3 if c["new"] else 5
    days = [{"name": f"day {d}", "available_s": random.choice([None] + 5 * [r(1200, 3600, 1)])} for d in range(n_days)]
    known = [i for i, c in enumerate(choices) if not c["new"]]
    present = []
    for d in range(n_days):
        for i in random.sample(known, min(len(known), random.randint(0, 2))):
            if all(choices[l["choice"]]["movement"] != choices[i]["movement"] for l in present if l["day"] == d):
                present.append({"day": d, "choice": i, "sets": random.randint(2, 4)})
    return {"heads": [head(i) for i in range(n_heads)], "choices": choices, "days": days, "present": present, "kept": [],
            "musts": [], "most_new": random.choice([None, 0, 1, 2, 3]), "most_sets": random.choice([None, None, 12, 20]),
            "most_lines": random.choice([4, 6, 10]),
            "prices": {"line": 0.1, "new": 0.3, "stay": 0.3, "minute": 0.03}}


def solve(t):
    """Largest value and the solver's bound."""
    cost, low, high, whole, rows = [], [], [], [], []

    def var(c, lo, hi, integer):
        cost.append(-c), low.append(lo), high.append(hi), whole.append(1 if integer else 0)
        return len(cost) - 1

    days, heads, choices, p = t["days"], t["heads"], t["choices"], t["prices"]
    was = {(l["choice"], l["day"]) for l in t["present"]}
    x, y = {}, {}
    for o, c in enumerate(choices):
        for d in range(len(days)):
            x[o, d] = var(-p["minute"] * c["set_s"] / 60, 0, c["most"], True)
            y[o, d] = var((p["stay"] if (o, d) in was else 0) - p["line"] - p["minute"] * c["once_s"] / 60, 0, 1, True)
            rows.append(({x[o, d]: 1, y[o, d]: -c["most"]}, -np.inf, 0))
            rows.append(({x[o, d]: 1, y[o, d]: -c["least"]}, 0, np.inf))
    for d, day in enumerate(days):
        if day["available_s"] is not None:
            row = {}
            for o, c in enumerate(choices):
                row[x[o, d]], row[y[o, d]] = c["set_s"], c["once_s"]
            rows.append((row, -np.inf, day["available_s"]))
        rows.append(({y[o, d]: 1 for o in range(len(choices))}, -np.inf, t["most_lines"]))
        for m in {c["movement"] for c in choices}:
            rows.append(({y[o, d]: 1 for o, c in enumerate(choices) if c["movement"] == m}, -np.inf, 1))
    for h, hd in enumerate(heads):
        credit = {o: cr for o, c in enumerate(choices) for (g, cr, _) in c["credits"] if g == h}
        long = {o: cr for o, c in enumerate(choices) for (g, cr, is_long) in c["credits"] if g == h and is_long}
        dose = {x[o, d]: cr for o, cr in credit.items() for d in range(len(days))}
        for d in range(len(days)):
            rows.append(({x[o, d]: cr for o, cr in credit.items()}, -np.inf, hd["session_most"]))
        if hd["week_most"] is not None:
            rows.append((dict(dose), -np.inf, hd["week_most"]))
        if hd["pieces"]:
            row = dict(dose)
            for k, piece in enumerate(hd["pieces"]):
                last = k + 1 == len(hd["pieces"])
                row[var(piece["gain"], 0, np.inf if last else piece["width"], False)] = -1
            rows.append((row, 0, 0))
        if hd["long_price"] > 0:
            row = {x[o, d]: hd["long_share"] * cr - long.get(o, 0) for o, cr in credit.items() for d in range(len(days))}
            row[var(-hd["long_price"], 0, np.inf, False)] = -1
            rows.append((row, -np.inf, 0))
    new = sorted({c["movement"] for c in choices if c["new"]})
    z = {m: var(-p["new"], 0, 1, True) for m in new}
    for o, c in enumerate(choices):
        if c["new"]:
            for d in range(len(days)):
                rows.append(({y[o, d]: 1, z[c["movement"]]: -1}, -np.inf, 0))
    if t["most_new"] is not None and z:
        rows.append(({v: 1 for v in z.values()}, -np.inf, t["most_new"]))
    if t["most_sets"] is not None:
        rows.append(({v: 1 for v in x.values()}, -np.inf, t["most_sets"]))
    a = lil_matrix((len(rows), len(cost)))
    for i, (row, _, _) in enumerate(rows):
        for v, k in row.items():
            a[i, v] = k
    answer = milp(np.array(cost), integrality=np.array(whole), bounds=Bounds(low, high),
                  constraints=LinearConstraint(a.tocsr(), [q[1] for q in rows], [q[2] for q in rows]),
                  options={"mip_rel_gap": 1e-6, "time_limit": 60})
    if answer.x is None:
        raise SystemExit(f"no solution: {answer.message}")
    return -answer.fun, -answer.mip_dual_bound


out = []
while len(out) < 50:
    t = week()
    value, bound = solve(t)
    if value > 1.0 and bound - value < 1e-4 * value:
        out.append({"task": t, "value": value, "bound": bound})
        print(len(out), value, bound, file=sys.stderr)
json.dump(out, sys.stdout, separators=(",", ":"))
print()
