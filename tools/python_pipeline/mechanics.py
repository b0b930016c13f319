"""Required moments, the hardest load of every frame, and sharing among muscles."""
import numpy as np
from scipy.optimize import linprog, minimize

import body as b

G, ROW_NM = 9.81, 100.0
ARM_L = [11, 12, 13, 14, 15]
BEYOND = {"hip": [8, 9, 10], "knee": [9, 10], "ankle": [10], "lumbar": [1, 2, 3, 4, 5, 6, 7, *ARM_L], "neck": [2],
          "girdle": [3, 4, 5, 6, 7], "shoulder": [5, 6, 7], "elbow": [6, 7], "wrist": [7]}
JOINT = ["hip"] * 3 + ["knee"] + ["ankle"] * 2 + ["lumbar"] * 3 + ["neck"] * 3 + ["shoulder"] * 3 + ["elbow"] * 2 + ["wrist"] + ["girdle"] * 3
REACH = np.array([[s in BEYOND[j] for s in range(b.SEGMENTS)] for j in JOINT], float)
ELEVATION = 18


class Frames:
    """Forces, axes and supports of all frames; every wrench is constant part and part per unit load."""

    def __init__(self, body, model, p):
        self.body, self.model, self.p = body, model, p
        self.r, self.o = body.figure(p)
        self.n = len(self.o)
        self.axes()
        self.own()
        self.supports()

    def point(self, segment, local):
        return self.o[:, segment] + b.times(self.r[:, segment], np.asarray(local))

    def axes(self):
        r, o, body = self.r, self.o, self.body
        _, _, _, _, _, ac, normal = body.girdle(self.p)
        turn, t = (lambda s, k: r[:, s, :, k]), r[:, b.THORAX]
        up = -b.times(t, normal)
        axis = [*(turn(b.PELVIS, k) for k in range(3)), -turn(b.FEMUR, 2), -turn(b.TIBIA, 2), turn(b.FOOT, 0),
                -turn(b.PELVIS, 2), turn(b.PELVIS, 0), turn(b.PELVIS, 1), -turn(b.THORAX, 2), turn(b.THORAX, 0), turn(b.THORAX, 1),
                *(turn(b.THORAX, k) for k in range(3)), turn(b.HUMERUS, 2), turn(b.FOREARM, 1), turn(b.HAND, 0),
                -turn(b.THORAX, 0), turn(b.THORAX, 1), up]
        self.ac = o[:, b.THORAX] + b.times(t, ac)
        sc = self.point(b.THORAX, body.sc_m)
        lumbar = self.point(b.PELVIS, body.lumbar_m)
        centre = [o[:, b.FEMUR]] * 3 + [o[:, b.TIBIA]] + [o[:, b.FOOT]] * 2 + [lumbar] * 3 + [o[:, b.HEAD]] * 3
        centre += [o[:, b.HUMERUS]] * 3 + [o[:, b.FOREARM]] * 2 + [o[:, b.HAND], sc, sc, self.ac]
        self.axis, self.centre = np.stack(axis, 1), np.stack(centre, 1)

    def required(self, force, moment):
        """Moment that muscles must make about every row, (F, 21) N m."""
        f, m = np.einsum("rs,fsk->frk", REACH, force), np.einsum("rs,fsk->frk", REACH, moment)
        about = m - np.cross(self.centre, f)
        about[:, ELEVATION] -= m[:, ELEVATION] - np.cross(self.ac, f[:, ELEVATION])
        return -(self.axis * about).sum(-1)

    def accelerations(self, x):
        """Of points (F, ...) sampled at equal phases: by central differences and the minimum-jerk time law."""
        out = np.zeros_like(x)
        du = 1 / (self.n - 1)
        v, a = (k[1:-1].reshape(-1, *[1] * (x.ndim - 1)) for k in (self.v, self.a))
        out[1:-1] = (x[2:] - 2 * x[1:-1] + x[:-2]) * v**2 / du**2 + (x[2:] - x[:-2]) * a / (2 * du)
        return out

    def own(self):
        body, n, lift = self.body, self.n, self.model["lift_s"]
        u = np.linspace(0, 1, n)
        lo, hi = np.zeros(n), np.ones(n)
        for _ in range(40):
            t = 0.5 * (lo + hi)
            below = t**3 * (10 - 15 * t + 6 * t * t) < u
            lo, hi = np.where(below, t, lo), np.where(below, hi, t)
        t = 0.5 * (lo + hi)
        self.v, self.a = 30 * t**2 * (1 - t) ** 2 / lift, 60 * t * (1 - t) * (1 - 2 * t) / lift**2
        x = self.o + np.einsum("fsij,sj->fsi", self.r, body.com)
        self.f0 = -body.mass[:, None] * self.accelerations(x)
        self.m0 = np.cross(x, self.f0)
        du = 1 / (n - 1)
        step = b.log_rotation(self.r[1:] @ np.swapaxes(self.r[:-1], -1, -2)) / du
        before, after = step[:-1], step[1:]
        v, a = self.v[1:-1, None, None], self.a[1:-1, None, None]
        spin = 0.5 * (before + after)
        omega, alpha = spin * v, (after - before) / du * v**2 + spin * a
        r = self.r[1:-1]
        world = r @ body.inertia @ np.swapaxes(r, -1, -2)
        self.m0[1:-1] -= b.times(world, alpha) + np.cross(omega, b.times(world, omega))
        weight = np.outer(body.mass, [0, -G, 0])
        self.f0 = self.f0 + weight
        self.m0 = self.m0 + np.cross(x, weight)
        self.f1, self.m1 = np.zeros_like(self.f0), np.zeros_like(self.f0)
        for q in self.model["outside"]["forces"]:
            at = self.point(q["on"], q["local_m"])
            f = np.asarray(q["per_load_n"]) - q["mass_per_load_kg"] * self.accelerations(at)
            self.f1[:, q["on"]] += f
            self.m1[:, q["on"]] += np.cross(at, f)

    def supports(self):
        carriers = self.model["outside"]["carriers"]
        self.normal = {}
        if not carriers:
            return
        columns, weight, normal, shears = [], [], None, 0
        for c in carriers:
            at = self.point(c["on"], c["local_m"])
            if c["push_only"]:
                normal, shears, d = np.broadcast_to(c["direction"], at.shape), 0, np.broadcast_to(c["direction"], at.shape)
            else:
                fore = self.fore(c["on"], normal)
                d = fore if shears == 0 else np.cross(normal, fore)
                shears += 1
            columns.append(np.concatenate([d, np.cross(at, d)], -1))
            weight.append(1 / max(c["reluctance"], 1e-9))
        g, w = np.stack(columns, 1), np.array(weight)
        h = np.einsum("fci,c,fcj->fij", g, w, g)
        small = 1e-10 * np.maximum(np.trace(h, axis1=1, axis2=2), 1e-12)
        inverse = np.linalg.inv(h + small[:, None, None] * np.eye(6))
        for f, m, part in ((self.f0, self.m0, 0), (self.f1, self.m1, 1)):
            total = np.concatenate([f.sum(1), m.sum(1)], -1)
            x = w * np.einsum("fci,fij,fj->fc", g, inverse, -total)
            for k, c in enumerate(carriers):
                f[:, c["on"]] += x[:, k, None] * g[:, k, :3]
                m[:, c["on"]] += x[:, k, None] * g[:, k, 3:]
                if c["push_only"]:
                    slot = self.normal.setdefault(c["contact"], [np.zeros(self.n), np.zeros(self.n)])
                    slot[part] += x[:, k]

    def fore(self, segment, normal):
        x = self.r[:, segment, :, 0] if segment in (b.FOOT, b.FOOT + 8) else np.broadcast_to(b.X, normal.shape)
        x = x - normal * (x * normal).sum(-1, keepdims=True)
        return x / np.linalg.norm(x, axis=-1, keepdims=True)

    def unit_wrench(self, segment, at, force):
        f, m = np.zeros_like(self.f0), np.zeros_like(self.f0)
        f[:, segment] = force
        m[:, segment] = np.cross(at, f[:, segment])
        return -self.required(f, m)

    def free(self):
        """Columns (F, 21) of the components that equilibrium leaves open, with their bounds lo0 + P lo1 … hi0 + P hi1."""
        out, body = [], self.body
        sole = [0.5 * (body.heel_x_m + body.toe_x_m), -body.ankle_height_m, 0]
        joint = lambda name, axis: (self.axis * axis[:, None]).sum(-1) * np.array([j == name for j in JOINT])
        for q in self.model["outside"]["free"]:
            span, tag, fade = q["span"], q["tag"], 1.0
            if tag == "feet push apart":
                column = self.unit_wrench(b.FOOT, self.point(b.FOOT, sole), -b.Z)
            elif tag == "hands push along the bar":
                column = self.unit_wrench(b.HAND, self.point(b.HAND, [0, -body.grip_m, 0]), -b.Z)
            elif tag == "pressure moves across the foot":
                f, m = np.zeros_like(self.f0), np.zeros_like(self.f0)
                m[:, b.FOOT] = self.fore(b.FOOT, np.broadcast_to(b.Y, (self.n, 3)))
                column = -self.required(f, m)
            elif tag == "slack about the thigh's axis":
                column = joint("hip", self.r[:, b.FEMUR, :, 1])
            elif tag == "slack about the upper arm's axis":
                column = joint("shoulder", self.r[:, b.HUMERUS, :, 1])
            elif tag == "trunk holds the arm":
                t, k = self.r[:, b.THORAX], body.stature_m / 1.75
                e = np.einsum("fji,fj->fi", t, self.o[:, b.FOREARM] - self.o[:, b.THORAX])
                _, lift, _ = b.shoulder_angles(self.p["shoulder"])
                parts = [(0.30 * k - e[:, 2]) / (0.05 * k), (-0.10 * k - e[:, 1]) / (0.05 * k),
                         (0.20 * k - abs(e[:, 0] + 0.06 * k)) / (0.05 * k), (np.radians(60) - lift) / np.radians(10)]
                fade = np.prod(np.clip(parts, 0, 1), 0)
                column = self.unit_wrench(b.HUMERUS, self.point(b.HUMERUS, [0, -0.6 * body.upper_arm_m, 0]), t[:, :, 2])
            else:
                raise SystemExit(f"free component '{tag}' is not written in Python")
            one = np.ones(self.n)
            if "low" in span:
                bounds = [span["low"] * one, 0 * one, span["high"] * fade * one, 0 * one]
            else:
                n0, n1 = self.normal[span["normal"]] if "normal" in span else (span["constant_n"] * one, span["per_load_n"] * one)
                lo, hi, n0 = span["usual"] - span["half"], span["usual"] + span["half"], np.maximum(n0, 0)
                turned = n1 < 0
                lo, hi = np.where(turned, hi, lo), np.where(turned, lo, hi)
                bounds = [lo * n0, lo * n1, hi * n0, hi * n1]
            out.append((column, np.array(bounds), q["cost"]))
        return out


def systems(frames, muscles, state, model, block):
    """Per frame: muscle columns, other columns with bounds and cost, right-hand sides; rows of 100 N m."""
    rows = block["rows"]
    half = np.where(np.isin(rows, model["midline_rows"]), 0.5, 1.0)
    b0 = frames.required(frames.f0, frames.m0)[:, rows] * half
    b1 = frames.required(frames.f1, frames.m1)[:, rows] * half
    index = [int(np.flatnonzero(muscles.wanted == h)[0]) for h in block["heads"]]
    arms = state["arms_m"][:, index][..., rows]
    columns = arms * (muscles.force[index] * state["active"][:, index])[..., None]
    b0 = b0 - (arms * (muscles.force[index] * state["passive"][:, index])[..., None]).sum(1)
    others, p = [], frames.p
    angle = {2: b.hip_angles(p["hip"])[0], 3: p["knee"], 4: p["ankle"], 15: p["elbow"]}
    for k, row in enumerate(rows):
        if row == 6:
            bent = np.clip(b.spine_angles(p["lumbar"])[0], np.radians(-20), np.radians(60))
            b0[:, k] += 0.5 * model["lumbar_a_nm"] * np.exp(bent / model["lumbar_b_rad"])
        for s in (s for s in model["stops"] if s["row"] == row):
            part = np.clip((angle[row] - s["from_rad"]) / s["width_rad"], 0, 1)
            column = np.zeros((frames.n, len(rows)))
            column[:, k] = s["sign"]
            zero = np.zeros(frames.n)
            others.append((column, np.array([zero, zero, part * s["torque_nm"], zero]), 1e-5, None))
    for i, (column, bounds, cost) in enumerate(frames.free()):
        column = column[:, rows] * half if i in frames_wrenches(model) else column[:, rows]
        if np.abs(column).max() > 1e-10:
            others.append((column, bounds, cost, i))
    return {"index": index, "columns": columns / ROW_NM, "others": others, "b0": b0 / ROW_NM, "b1": b1 / ROW_NM}


def frames_wrenches(model):
    """Free components that are forces; the slacks are moments about a joint and are not halved on the mid-line."""
    return [i for i, q in enumerate(model["outside"]["free"]) if not q["tag"].startswith("slack")]


def capacity(s, cap):
    """Largest load that the muscles balance in every frame: one linear programme each."""
    out = np.empty(len(s["b0"]))
    for t in range(len(out)):
        a = s["columns"][t].T
        e = np.array([c[t] for c, *_ in s["others"]]).T.reshape(a.shape[0], -1) / ROW_NM
        lim = np.array([q[:, t] for _, q, *_ in s["others"]]).reshape(-1, 4)
        n, k = a.shape[1], len(lim)
        eq = np.hstack([-s["b1"][t][:, None], a, e])
        moving = np.flatnonzero(np.abs(lim[:, [1, 3]]).max(1) > 0) if k else np.array([], int)
        ub = np.zeros((2 * len(moving), 1 + n + k))
        for j, m in enumerate(moving):
            ub[2 * j, 0], ub[2 * j, 1 + n + m] = lim[m, 1], -1
            ub[2 * j + 1, 0], ub[2 * j + 1, 1 + n + m] = -lim[m, 3], 1
        rhs = np.stack([-lim[moving, 0], lim[moving, 2]], 1).ravel()
        box = [(0, cap)] + [(0, 1)] * n + [(None, None) if j in moving else (q[0], q[2]) for j, q in enumerate(lim)]
        cost = np.zeros(1 + n + k)
        cost[0] = -1
        got = linprog(cost, ub if len(moving) else None, rhs if len(moving) else None, eq, s["b0"][t], box, method="highs")
        out[t] = got.x[0] if got.status == 0 else 0.0
    return out


def share(s, load, stiffness, power, chosen=None):
    """Activations (F, heads) that make least Σ aᵖ, and the free components chosen: one SLSQP each, from the frame before."""
    n_frames, rows = s["b0"].shape
    activation, free, x0 = np.empty((n_frames, s["columns"].shape[1])), {}, None
    for t in range(n_frames):
        a = s["columns"][t].T
        n, k = a.shape[1], len(s["others"])
        lim = np.array([q[:, t] for _, q, *_ in s["others"]]).reshape(-1, 4)
        lo, hi = lim[:, 0] + load * lim[:, 1], lim[:, 2] + load * lim[:, 3]
        if chosen is not None:
            fixed = [chosen.get(i) for *_, i in s["others"]]
            lo = np.array([l if c is None else c[t] for l, c in zip(lo, fixed)])
            hi = np.array([h if c is None else c[t] for h, c in zip(hi, fixed)])
        size = np.maximum(np.maximum(abs(lo), abs(hi)), 1e-6) if k else np.zeros(0)
        e = np.array([c[t] for c, *_ in s["others"]]).T.reshape(rows, -1) / ROW_NM * size
        cost = np.array([max(c, 1e-3) for _, _, c, _ in s["others"]])
        # What is left over is an unknown of its own, scaled so that its square costs as much as the stiffness says.
        eq = np.hstack([a, e, np.eye(rows) / np.sqrt(stiffness)])
        rhs = s["b0"][t] + load * s["b1"][t]
        box = [(0, 1)] * n + [(l, max(l, h)) for l, h in zip(lo / size, hi / size)] + [(None, None)] * rows
        value = lambda x: (x[:n] ** power).sum() + 0.5 * (cost * x[n:n + k] ** 2).sum() + 0.5 * (x[n + k:] ** 2).sum()
        slope = lambda x: np.concatenate([power * x[:n] ** (power - 1), cost * x[n:n + k], x[n + k:]])
        if x0 is None:
            x0 = np.concatenate([np.full(n, 0.2), np.zeros(k + rows)])
        got = minimize(value, x0, jac=slope, bounds=box, method="SLSQP", options={"maxiter": 500, "ftol": 1e-10},
                       constraints=[{"type": "eq", "fun": lambda x: eq @ x - rhs, "jac": lambda x: eq}])
        x0 = np.clip(got.x, [-np.inf if l is None else l for l, _ in box], [np.inf if h is None else h for _, h in box])
        activation[t] = x0[:n]
        for j, (*_, i) in enumerate(s["others"]):
            if i is not None:
                free.setdefault(i, np.zeros(n_frames))[t] = x0[n + j] * size[j]
    return activation, free
