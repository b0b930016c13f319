"""Muscle paths round obstacles, lever arms, lengths and force factors: all pieces of all heads in all frames at once."""
import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.sparse import csr_matrix

import body as b

ROWS, HIP, SHOULDER, GIRDLE = 21, 0, 12, 18
LEG, ARM = 0, 2  # pelvis, femur | thorax, clavicle, scapula, humerus
CUTS = [(0, 1), (2, 3), (3, 4), (4, 5)]  # hip | sternum, outer collar bone, shoulder


def dot(a, c):
    return (a * c).sum(-1)


class Muscles:
    def __init__(self, body, model, wanted):
        self.body, self.fibre = body, model["fibre"]
        self.heads = [model["heads"][i] for i in wanted]
        self.wanted = np.array(wanted)
        pieces = []
        for i, h in enumerate(self.heads):
            for first, paths in ((LEG, h["leg"]), (ARM, h["arm"])):
                for path in paths:
                    for a, c, o in zip(path["points"], path["points"][1:], path["obstacles"]):
                        pieces.append((i, path["share"], first + a[0], a[1], first + c[0], c[1], o, first))
        kinds = [[p for p in pieces if p[6] is None], [p for p in pieces if p[6] and "axis" not in p[6]],
                 [p for p in pieces if p[6] and "axis" in p[6]]]
        self.groups = [self.group(k) for k in kinds]
        get = lambda key: np.array([h[key] for h in self.heads], float)
        self.anchor, self.per_length, self.force = get("anchor"), get("per_length"), get("max_force_n")
        self.crosses = get("crosses") > 0
        self.curves = []
        for i, h in enumerate(self.heads):
            for t in h["hinges"]:
                k = np.array(t["knots"])
                k = np.vstack([k[0] - [0.7, 0], k, k[-1] + [0.7, 0]])
                c = PchipInterpolator(*k.T)
                self.curves.append((i, t["row"], k[0, 0], k[-1, 0], c, c.antiderivative()))
        stand = {k: np.zeros((1, 3, 3)) + np.eye(3) for k in ("pelvis", "lumbar", "neck", "hip", "shoulder")}
        stand |= {k: np.zeros(1) for k in ("knee", "tibia", "ankle", "inversion", "elbow", "forearm", "wrist")}
        stand |= {"pelvis_m": np.zeros((1, 3)), "girdle": np.zeros((1, 3))}
        self.zero = np.zeros(len(self.heads))
        self.zero = self.evaluate(stand)["path_m"][0]

    def group(self, pieces):
        if not pieces:
            return None
        head, share, a, xa, c, xc, o, first = zip(*pieces)
        g = {"a": np.array(a), "xa": np.array(xa), "c": np.array(c), "xc": np.array(xc)}
        n, share = len(pieces), np.array(share)
        if o[0]:
            g["on"] = np.array([f + q["body"] for f, q in zip(first, o)])
            g["centre"], g["radius"] = np.array([q["centre_m"] for q in o]), np.array([q["radius_m"] for q in o])
            if "axis" in o[0]:
                g["axis"], g["side"] = np.array([q["axis"] for q in o]), np.array([q["side"] for q in o])
        column = lambda who, value: csr_matrix((value, (who, np.arange(n))), (len(self.heads), n))
        g["length"] = column(head, share)
        # What a pull at either end does to everything beyond a cut: with its sign, or nothing.
        ends = [(g["a"], g.get("on", g["c"]))] + ([(g["c"], g["on"])] if o[0] else [])
        g["pulls"] = [[column(head, share * ((x > low) * 1.0 - (y > low) * 1.0) * ((x <= 1) == (low <= 1)))
                       for low, _ in CUTS] for x, y in ends]
        return g

    def bend(self, g, rot, org):
        """Length, pull at the first and at the last end of every piece: (F, n), (F, n, 3), (F, n, 3)."""
        place = lambda who, x: np.einsum("fnij,nj->fni", rot[:, who], x) + org[:, who]
        a, c = place(g["a"], g["xa"]), place(g["c"], g["xc"])
        if "on" not in g:
            d = c - a
            l = np.linalg.norm(d, axis=-1)
            return l, a, d / l[..., None], None, None
        o, r = place(g["on"], g["centre"]), g["radius"]
        axis = np.einsum("fnij,nj->fni", rot[:, g["on"]], g["axis"]) if "axis" in g else np.zeros_like(a)
        ends = []
        for x in (a, c):  # an end inside its obstacle is lifted to the surface
            p = x - o
            p = p - axis * dot(p, axis)[..., None]
            dist = np.linalg.norm(p, axis=-1)
            inside = dist < r
            outward = p / np.maximum(dist, 1e-9)[..., None]
            ends.append((np.where(inside[..., None], x + outward * (r - dist)[..., None], x), inside, outward, r / np.maximum(dist, 1e-9)))
        p, s = ends[0][0] - o, ends[1][0] - o
        pz, sz = dot(p, axis), dot(s, axis)
        p, s = p - axis * pz[..., None], s - axis * sz[..., None]
        pp, ss, ps = dot(p, p), dot(s, s), dot(p, s)
        near = (ps < pp) & (ps < ss)
        if "axis" in g:
            cross = g["side"] * dot(axis, np.cross(p, s))
            beyond = cross < 0
            bent = np.where(beyond, ps <= np.cos(0.6 * np.pi) * np.sqrt(pp * ss), near & (cross**2 < r * r * (pp + ss - 2 * ps)))
            normal = axis * g["side"][:, None]
        else:
            bent = near & (np.maximum(pp * ss - ps**2, 0) < r * r * (pp + ss - 2 * ps))
            normal = np.cross(p, s)
            normal = normal / np.maximum(np.linalg.norm(normal, axis=-1), 1e-300)[..., None]
        tp, ts = np.sqrt(np.maximum(pp - r * r, 0)), np.sqrt(np.maximum(ss - r * r, 0))
        q = (p * r[:, None] + np.cross(normal, p) * tp[..., None]) * (r / pp)[..., None]
        t = (s * r[:, None] - np.cross(normal, s) * ts[..., None]) * (r / ss)[..., None]
        arc = np.arctan2(dot(normal, np.cross(q, t)), dot(q, t))
        if "axis" in g:
            arc = np.where(beyond & (arc < -1e-9), arc + 2 * np.pi, np.maximum(arc, 0))
        flat = tp + r * arc + ts
        dz = sz - pz
        round_m = np.hypot(flat, dz)
        turn = (flat / (round_m * r))[..., None]
        rise = axis * (dz / round_m)[..., None]
        d = ends[1][0] - ends[0][0]
        straight_m = np.linalg.norm(d, axis=-1)
        u = d / straight_m[..., None]
        leave = np.where(bent[..., None], np.cross(normal, q) * turn + rise, u)
        arrive = np.where(bent[..., None], np.cross(normal, t) * turn + rise, u)
        pulls = []
        for f, (_, inside, outward, grow) in zip((leave, -arrive), ends):
            along = axis * dot(f, axis)[..., None]
            held = along + (f - along - outward * dot(f, outward)[..., None]) * grow[..., None]
            pulls.append(np.where(inside[..., None], held, f))
        return np.where(bent, round_m, straight_m), a, pulls[0], c, pulls[1]

    def evaluate(self, p):
        """Lengths, lever arms (F, heads, 21), force factors of the wanted heads in a batch of postures."""
        n, h = len(p["knee"]), len(self.heads)
        rc, tc, rs, ts, gh, ac, normal = self.body.girdle(p)
        eye, zero = np.broadcast_to(np.eye(3), (n, 3, 3)), np.zeros((n, 3))
        rot = np.stack([eye, p["hip"], eye, rc, rs, p["shoulder"]], 1)
        org = np.stack([zero, zero, zero, tc, ts, gh], 1)
        path = np.zeros((n, h))
        force, moment = np.zeros((len(CUTS), h, n, 3)), np.zeros((len(CUTS), h, n, 3))
        for g in filter(None, self.groups):
            length, a, fa, c, fc = self.bend(g, rot, org)
            path += (g["length"] @ length.T).T
            for (x, f), matrices in zip(((a, fa), (c, fc)), g["pulls"]):
                both = np.concatenate([f, np.cross(x, f)], -1).transpose(1, 0, 2).reshape(len(g["a"]), -1)
                for k, m in enumerate(matrices):
                    y = (m @ both).reshape(h, n, 6)
                    force[k] += y[..., :3]
                    moment[k] += y[..., 3:]
        about = lambda k, centre: moment[k] - np.cross(centre, force[k])
        arms = np.zeros((n, h, ROWS))
        arms[..., HIP:HIP + 3] = moment[0].swapaxes(0, 1)
        arms[..., SHOULDER:SHOULDER + 3] = (about(3, gh) * self.crosses[:, 2, None, None]).swapaxes(0, 1)
        sc, outer = about(1, self.body.sc_m), about(2, ac)
        girdle = np.stack([outer[..., 0] - sc[..., 0], sc[..., 1], -dot(outer, normal)], -1)
        arms[..., GIRDLE:] = (girdle * (self.crosses[:, 0] | self.crosses[:, 1])[:, None, None]).swapaxes(0, 1)
        flex = dict(zip((6, 7, 8), b.spine_angles(p["lumbar"]))) | dict(zip((9, 10, 11), b.spine_angles(p["neck"])))
        flex |= {3: p["knee"], 4: p["ankle"], 5: p["inversion"], 15: p["elbow"], 16: p["forearm"], 17: p["wrist"]}
        length = path.copy()
        for i, row, low, high, curve, whole in self.curves:
            q = np.clip(flex[row], low, high)
            arm = curve(q)
            arms[:, i, row] = arm
            length[:, i] -= whole(q) - whole(0.0) + (flex[row] - q) * arm
        l = self.anchor + (length - self.zero) * self.per_length
        k = self.fibre
        active = np.maximum(np.exp(-(((l - 1) / k["active_width"]) ** 2)), k["active_floor"])
        stretch = np.clip(l, 1, k["passive_limit"]) - 1
        passive = np.expm1(k["passive_shape"] / k["passive_strain"] * stretch) / np.expm1(k["passive_shape"])
        return {"path_m": path, "length_m": length, "fibre": l, "active": active, "passive": passive, "arms_m": arms}
