"""Load sharing by general solvers: recomputes every answer in golden_sharing.json from the problems in it.

Per frame:  min sum w a^p + 1/2 sum e x^2 + (W/2)|A a + E x - b0 - P b1|^2,  0<=a<=1,  lo0+P lo1 <= x <= hi0+P hi1
            (rows in 100 N m; w = 1 or the muscle's volume weight)
capacity:   max P with the equality exact, 0<=P<=cap            (HiGHS)
minmax:     smallest peak activation with the equality exact    (HiGHS)
a2,va2,a3:  Clarabel, then the multipliers polished (damped Newton, MINPACK); `gap` = primal - dual value.

usage: python make_golden.py            compare with the file and print the largest differences
       python make_golden.py --write    and write the answers found into the file
Versions: numpy 2.4.6, scipy 1.17.1, clarabel 0.11.1.
"""
import json, pathlib, sys
from multiprocessing import Pool
import clarabel
import numpy as np
from scipy import sparse as sp
from scipy.optimize import linprog, root

FILE = pathlib.Path(__file__).parent / "golden_sharing.json"
W = 1e6
EXACT = dict(primal_feasibility_tolerance=1e-9, dual_feasibility_tolerance=1e-9)


def capacity(f, cap):
    m, n = f["A"].shape
    k = len(f["e"])
    G, h = np.zeros((2 * k, n + k + 1)), np.zeros(2 * k)
    for j in range(k):
        G[2 * j, n + j], G[2 * j, -1], h[2 * j] = 1, -f["hi1"][j], f["hi0"][j]
        G[2 * j + 1, n + j], G[2 * j + 1, -1], h[2 * j + 1] = -1, f["lo1"][j], -f["lo0"][j]
    c = np.zeros(n + k + 1)
    c[-1] = -1
    r = linprog(c, A_ub=G if k else None, b_ub=h if k else None, A_eq=np.hstack([f["A"], f["E"], -f["b1"][:, None]]),
                b_eq=f["b0"], bounds=[(0, 1)] * n + [(None, None)] * k + [(0, cap)], method="highs", options=EXACT)
    return float(r.x[-1]) if r.status == 0 else None


def at_load(f, P):
    lo = f["lo0"] + P * f["lo1"]
    return f["b0"] + P * f["b1"], lo, np.maximum(lo, f["hi0"] + P * f["hi1"])


def minmax(f, P):
    m, n = f["A"].shape
    k = len(f["e"])
    b, lo, hi = at_load(f, P)
    c = np.zeros(n + k + 1)
    c[-1] = 1
    r = linprog(c, A_ub=np.hstack([np.eye(n), np.zeros((n, k)), -np.ones((n, 1))]), b_ub=np.zeros(n),
                A_eq=np.hstack([f["A"], f["E"], np.zeros((m, 1))]), b_eq=b,
                bounds=[(0, None)] * n + list(zip(lo, hi)) + [(0, None)], method="highs", options=EXACT)
    return float(r.x[-1]) if r.status == 0 else None


def cone(f, P, w, p):
    """Variables a, x, u = slack sqrt(W), and for p = 3 also s, t with s >= a^2, t a >= s^2 (two cones per muscle)."""
    A, E, e = f["A"], f["E"], f["e"]
    m, n = A.shape
    k = len(e)
    b, lo, hi = at_load(f, P)
    extra = 2 * n if p == 3 else 0
    size = n + k + m + extra
    box = sp.hstack([sp.identity(n + k), sp.csc_matrix((n + k, m + extra))])
    mats = [sp.hstack([A, E, sp.identity(m) / np.sqrt(W), sp.csc_matrix((m, extra))]), box, -box]
    rhs = [b, np.ones(n), hi, np.zeros(n), -lo]
    cones = [clarabel.ZeroConeT(m), clarabel.NonnegativeConeT(2 * (n + k))]
    q, d = np.zeros(size), np.concatenate([2 * w if p == 2 else np.zeros(n), e, np.ones(m), np.zeros(extra)])
    if p == 3:
        s0, t0 = n + k + m, n + k + m + n
        q[t0:] = w
        rows, cols, vals, right = [], [], [], []
        for j in range(n):
            i = len(right)
            rows += [i, i + 1, i + 2]; cols += [s0 + j, s0 + j, j]; vals += [-1, -1, -2]; right += [1, -1, 0]
            i += 3
            rows += [i, i, i + 1, i + 1, i + 2]; cols += [t0 + j, j, t0 + j, j, s0 + j]; vals += [-1, -1, -1, 1, -2]; right += [0, 0, 0]
            cones += [clarabel.SecondOrderConeT(3)] * 2
        mats.append(sp.csc_matrix((vals, (rows, cols)), shape=(len(right), size)))
        rhs.append(np.array(right, float))
    st = clarabel.DefaultSettings()
    st.verbose, st.presolve_enable, st.max_iter = False, False, 200
    st.tol_gap_abs = st.tol_gap_rel = st.tol_feas = 1e-13
    st.reduced_tol_gap_abs = st.reduced_tol_gap_rel = st.reduced_tol_feas = 1e-9
    r = clarabel.DefaultSolver(sp.triu(sp.diags(d)).tocsc(), q, sp.csc_matrix(sp.vstack(mats)), np.concatenate(rhs), cones, st).solve()
    v, l = np.array(r.x), -np.array(r.z[:m])

    def inner(l):
        c = np.maximum(A.T @ l, 0)
        return np.clip(c / (2 * w) if p == 2 else np.sqrt(c / (3 * w)), 0, 1), np.clip(E.T @ l / e, lo, hi)

    def g(l):
        a, x = inner(l)
        return A @ a + E @ x - b + l / W

    def jacobian(l):
        a, x = inner(l)
        t = E.T @ l / e
        D = np.where((a > 0) & (a < 1), 1 / (2 * w) if p == 2 else 1 / (6 * w * np.maximum(a, 1e-9)), 0.0)
        return (A * D) @ A.T + (E * np.where((t >= lo) & (t <= hi), 1 / e, 0.0)) @ E.T + np.eye(m) / W

    primal = lambda a, x: float((w * a**p).sum() + 0.5 * (e * x * x).sum() + 0.5 * W * ((A @ a + E @ x - b) ** 2).sum())

    def dual(l):
        a, x = inner(l)
        return float(l @ b - 0.5 * l @ l / W + (w * a**p - (A.T @ l) * a).sum() + (0.5 * e * x**2 - (E.T @ l) * x).sum())

    # The cone solver leaves 1e-4 in activations near zero: polish its multipliers.
    a, x = np.clip(v[:n], 0, 1), np.clip(v[n:n + k], lo, hi)
    raw = dual(l)
    for _ in range(8):
        q = g(l)
        step = np.linalg.solve(jacobian(l), -q)
        t = 1.0
        while t > 1e-4 and np.abs(g(l + t * step)).max() > np.abs(q).max():
            t *= 0.5
        if t <= 1e-4:
            break
        l = l + t * step
    if np.abs(g(l)).max() > 1e-11:
        try:
            other = root(g, l, jac=jacobian, method="hybr", options=dict(xtol=1e-15)).x
            if np.abs(g(other)).max() < np.abs(g(l)).max():
                l = other
        except Exception:
            pass
    a2, x2 = inner(l)
    polished = dual(l)
    if primal(a2, x2) - polished < primal(a, x) - raw or primal(a2, x2) <= primal(a, x):
        a, x, raw = a2, x2, polished
    obj = primal(a, x)
    return dict(a=[float(f"{z:.6f}") for z in a], x=[float(f"{z:.6g}") for z in x], obj=float(f"{obj:.10g}"), gap=float(f"{obj - raw:.1e}"))


def solve(job):
    frame, cap, volume = job
    f = {k: np.array(v, float) for k, v in frame.items() if k not in ("kinds", "capacity", "sol")}
    f["E"] = f["E"].reshape(len(f["b0"]), len(f["e"]))
    one, sols = np.ones(len(volume)), []
    for s in frame["sol"]:
        P = s["P"]
        sols.append(dict(P=P, minmax=minmax(f, P), a2=cone(f, P, one, 2), va2=cone(f, P, np.array(volume), 2), a3=cone(f, P, one, 3)))
    return capacity(f, cap), sols


if __name__ == "__main__":
    golden = json.load(open(FILE))
    assert golden["W"] == W
    frames = [(f, m["cap"], m["volume_weight"]) for m in golden["movements"] for f in m["frames"]]
    with Pool() as pool:
        found = pool.map(solve, frames, chunksize=10)
    worst = dict(capacity=0.0, minmax=0.0, a=0.0, obj=0.0, gap=0.0)
    far = lambda a, b: 0.0 if a is None and b is None else float("inf") if a is None or b is None else abs(a - b) / max(1e-3, abs(b))
    for (f, _, _), (cap, sols) in zip(frames, found):
        worst["capacity"] = max(worst["capacity"], far(cap, f["capacity"]))
        for new, old in zip(sols, f["sol"]):
            worst["minmax"] = max(worst["minmax"], far(new["minmax"], old["minmax"]))
            for key in ("a2", "va2", "a3"):
                worst["a"] = max(worst["a"], np.abs(np.array(new[key]["a"]) - old[key]["a"]).max())
                worst["obj"] = max(worst["obj"], far(new[key]["obj"], old[key]["obj"]))
                worst["gap"] = max(worst["gap"], new[key]["gap"] / max(1e-3, new[key]["obj"]))
        if "--write" in sys.argv:
            f["capacity"], f["sol"] = cap, sols
    print(len(frames), "frames,", sum(len(s) for _, s in found), "solves; largest differences", {k: float(f"{v:.1e}") for k, v in worst.items()})
    if "--write" in sys.argv:
        json.dump(golden, open(FILE, "w"), separators=(",", ":"))
