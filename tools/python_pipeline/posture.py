"""Postures from constraints: non-linear least squares over the coordinates that a movement lets move, frame by frame."""
import numpy as np
from scipy.optimize import least_squares

import body as b

LEAN = {"trunk": (b.THORAX, 1), "pelvis": (b.PELVIS, 1), "shank": (b.TIBIA, 1), "thigh": (b.FEMUR, 1),
        "upper-arm": (b.HUMERUS, -1), "forearm": (b.FOREARM, -1)}


def at(curve, phase):
    """A value over the lift, piecewise linear between evenly spaced keys."""
    return curve[0] if len(curve) == 1 else np.interp(phase, np.linspace(0, 1, len(curve)), curve)


def wrap(q):
    return q - 2 * np.pi * np.round(q / (2 * np.pi))


def unit(v):
    return v / np.maximum(np.linalg.norm(v, axis=-1, keepdims=True), 1e-9)


class PostureSolver:
    def __init__(self, body, problem):
        self.body, self.problem = body, problem
        self.dofs = [tuple(d) for d in problem["dofs"]]
        bounds = {n: (lo, hi) for n, lo, hi in problem["bounds"]}
        self.low, self.high = np.array([bounds.get(n, (-np.inf, np.inf)) for n, _ in self.dofs]).T

    def given(self, p, phase):
        for g in self.problem["given"]:
            if "angle" in g:
                b.write_angle(p, g["angle"], at(g["curve"], phase))
            elif "position" in g:
                p["pelvis_m"] = p["pelvis_m"].copy()
                for k, c in enumerate(g["position"]):
                    if c is not None:
                        p["pelvis_m"][:, k] = at(c, phase)
                if g["turn"] is not None:
                    p["pelvis"] = b.spine_matrix(*(np.array([at(c, phase)]) for c in g["turn"]))
            else:
                joint = "hip" if "hip" in g else "shoulder"
                p[joint] = b.BALLS[joint][0](*(np.array([at(c, phase)]) for c in g[joint]))

    def start(self, p):
        """Hinges stand as angles, everything else as a step from the posture before."""
        x = [b.read_angle(p, n)[0] if n in p or "." in n else 0.0 for n, _ in self.dofs]
        x = [0.0 if n in ("hip", "shoulder", "lumbar") else v for (n, _), v in zip(self.dofs, x)]
        return np.clip(x, self.low, self.high)

    def moved(self, p, x):
        """Postures (B) of coordinates x (B, n), counted from posture p."""
        n = len(x)
        q = {k: np.repeat(v, n, 0) for k, v in p.items()}
        turns = {}
        for k, (name, axis) in enumerate(self.dofs):
            if name == "root":
                q["pelvis_m"][:, axis] += x[:, k]
            elif name in ("root-turn", "hip", "shoulder", "lumbar"):
                turns.setdefault(name, np.zeros((n, 3)))[:, axis] = x[:, k]
            elif name.startswith("girdle."):
                q["girdle"][:, b.PARTS["girdle"].index(name[7:])] = x[:, k]
            else:
                q[name] = x[:, k]
        for name, w in turns.items():
            joint = "pelvis" if name == "root-turn" else name
            q[joint] = b.exp_rotation(w) @ q[joint]
        return q

    def residuals(self, p, phase, load_kg):
        """Weighted misses (B, m) of a batch of postures."""
        body = self.body
        r, o = body.figure(p)
        out = []
        for q in self.problem["required"]:
            w = at(q["weight"], phase)
            if w == 0:
                continue
            if "point" in q:
                x = o[:, q["point"]] + b.times(r[:, q["point"]], np.asarray(q["local_m"]))
                if q["frame"] is not None:
                    f = q["frame"]
                    x = np.einsum("bji,bj->bi", r[:, f], x - o[:, f])
                if q["slope"]:
                    x = b.times(b.rot_z(np.array([-q["slope"]])), x)
                out += [w * (x[:, k] - at(c, phase)) for k, c in enumerate(q["value"]) if c is not None]
            elif "lean" in q:
                s, sign = LEAN[q["lean"]]
                u = sign * r[:, s, :, 1]
                ahead = np.broadcast_to(b.X, u.shape)
                if q["lean"] == "shank":
                    ahead = unit(r[:, b.FOOT, :, 0] * [1, 0, 1])
                out.append(w * wrap(np.arctan2((u * ahead).sum(-1), sign * u[:, 1]) - at(q["value"], phase)))
            elif "foot" in q:
                out_, pitch, slope = (np.array([at(c, phase)]) for c in q["foot"])
                target = b.rot_z(slope) @ b.rot_y(-out_) @ b.rot_z(-pitch)
                out += list(w * b.log_rotation(r[:, b.FOOT] @ np.swapaxes(target, -1, -2)).T)
            elif "angle" in q:
                out.append(w * wrap(b.read_angle(p, q["angle"]) - at(q["value"], phase)))
            elif "balance" in q:
                x = o[..., 0] + np.einsum("bsj,sj->bs", r[:, :, 0], body.com)
                mass, moment = body.mass.sum(), x @ body.mass
                for e in q["extra"]:
                    kg = load_kg * e["share"]
                    mass = mass + kg
                    moment = moment + kg * (o[:, e["on"], 0] + r[:, e["on"], 0] @ np.asarray(e["local_m"]))
                out.append(w * (moment / mass - at(q["balance"], phase)))
            else:
                g, e, h = o[:, b.HUMERUS], o[:, b.FOREARM], o[:, b.HAND]
                d = b.times(r[:, b.THORAX], np.array([at(c, phase) for c in q["pole"]]))
                k = unit(h - g)
                d = unit(d - k * (d * k).sum(-1, keepdims=True))
                side = np.cross(k, d)
                eb, eq = ((e - g) * side).sum(-1), ((e - g) * d).sum(-1)
                out.append(w * np.arctan2(eb, eq) * np.sqrt(np.maximum(eb**2 + eq**2, 1e-8)))
        for name, value, w in self.problem["comfort"]:
            if name == "tibia":
                bent = np.clip((p["knee"] - np.radians(20)) / np.radians(35), 0, 1)
                w = w * (0.7 + 10 * (1 - bent) ** 2)
            out.append(w * wrap(b.read_angle(p, name) - value))
        return np.stack(out, -1)

    def solve(self, p, phase, load_kg):
        p = dict(p)
        self.given(p, phase)
        x0 = self.start(p)
        step = 1e-7 * np.eye(len(x0))
        f = lambda x: self.residuals(self.moved(p, x[None]), phase, load_kg)[0]
        # All columns of the Jacobian in one batch.
        jac = lambda x: (self.residuals(self.moved(p, np.concatenate([x + step, x - step])), phase, load_kg)
                         .reshape(2, len(x0), -1) * np.array([1, -1])[:, None, None]).sum(0).T / 2e-7
        got = least_squares(f, x0, jac, (self.low, self.high), xtol=1e-7, ftol=1e-9, gtol=1e-9)
        return self.moved(p, got.x[None])

    def rep(self, p, phases, load_kg):
        frames = []
        for phase in phases:
            p = self.solve(p, phase, load_kg)
            frames.append(p)
        return {k: np.concatenate([f[k] for f in frames]) for k in p}
