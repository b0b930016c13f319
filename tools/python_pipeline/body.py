"""Rotations, joint angles and forward kinematics. Every function takes a batch: matrices (B, 3, 3), vectors (B, 3)."""
import numpy as np

PELVIS, THORAX, HEAD, CLAVICLE, SCAPULA, HUMERUS, FOREARM, HAND, FEMUR, TIBIA, FOOT = range(11)
SEGMENTS = 19
MIRROR = np.array([1.0, 1.0, -1.0])
X, Y, Z = np.eye(3)


def stack(rows):
    return np.stack([np.stack(r, -1) for r in rows], -2)


def rot_x(q):
    s, c = np.sin(q), np.cos(q)
    o, i = np.zeros_like(q), np.ones_like(q)
    return stack([[i, o, o], [o, c, -s], [o, s, c]])


def rot_y(q):
    s, c = np.sin(q), np.cos(q)
    o, i = np.zeros_like(q), np.ones_like(q)
    return stack([[c, o, s], [o, i, o], [-s, o, c]])


def rot_z(q):
    s, c = np.sin(q), np.cos(q)
    o, i = np.zeros_like(q), np.ones_like(q)
    return stack([[c, -s, o], [s, c, o], [o, o, i]])


def cross_matrix(w):
    o = np.zeros_like(w[..., 0])
    return stack([[o, -w[..., 2], w[..., 1]], [w[..., 2], o, -w[..., 0]], [-w[..., 1], w[..., 0], o]])


def exp_rotation(w):
    t = np.maximum(np.linalg.norm(w, axis=-1), 1e-12)[..., None, None]
    k = cross_matrix(w)
    return np.eye(3) + k * (np.sin(t) / t) + k @ k * ((1 - np.cos(t)) / t**2)


def log_rotation(r):
    """Rotation vector of a matrix, for turns well below half a turn."""
    v = np.stack([r[..., 2, 1] - r[..., 1, 2], r[..., 0, 2] - r[..., 2, 0], r[..., 1, 0] - r[..., 0, 1]], -1)
    s = 0.5 * np.linalg.norm(v, axis=-1)
    c = 0.5 * (np.trace(r, axis1=-2, axis2=-1) - 1)
    return v * np.where(s < 1e-9, 0.5, np.arctan2(s, c) / np.maximum(2 * s, 1e-18))[..., None]


def times(r, v):
    return np.einsum("...ij,...j->...i", r, v)


def hip_matrix(flexion, abduction, turn):
    return rot_z(flexion) @ rot_x(-abduction) @ rot_y(turn)


def hip_angles(r):
    return np.arctan2(-r[..., 0, 1], r[..., 1, 1]), -np.arcsin(np.clip(r[..., 2, 1], -1, 1)), np.arctan2(-r[..., 2, 0], r[..., 2, 2])


def spine_matrix(flexion, bend, turn):
    return rot_z(-flexion) @ rot_x(bend) @ rot_y(turn)


def spine_angles(r):
    return -np.arctan2(-r[..., 0, 1], r[..., 1, 1]), np.arcsin(np.clip(r[..., 2, 1], -1, 1)), np.arctan2(-r[..., 2, 0], r[..., 2, 2])


def shoulder_matrix(plane, elevation, turn):
    return rot_y(plane) @ rot_x(-elevation) @ rot_y(-plane) @ rot_y(turn)


def shoulder_angles(r):
    u = -r[..., :, 1]
    elevation = np.arccos(np.clip(-u[..., 1], -1, 1))
    plane = np.where(np.hypot(u[..., 0], u[..., 2]) < 1e-9, 0.0, np.arctan2(u[..., 0], u[..., 2]))
    q = np.swapaxes(rot_y(plane) @ rot_x(-elevation) @ rot_y(-plane), -1, -2) @ r
    return plane, elevation, np.arctan2(q[..., 0, 2], q[..., 0, 0])


BALLS = {"hip": (hip_matrix, hip_angles), "lumbar": (spine_matrix, spine_angles), "neck": (spine_matrix, spine_angles),
         "shoulder": (shoulder_matrix, shoulder_angles)}
PARTS = {"hip": ["flexion", "abduction", "internal-rotation"], "lumbar": ["flexion", "side-bend", "rotation"],
         "neck": ["flexion", "side-bend", "rotation"], "shoulder": ["plane", "elevation", "internal-rotation"],
         "girdle": ["elevation", "protraction", "upward-rotation"]}


def read_angle(p, name):
    joint, _, part = name.partition(".")
    if not part:
        return p[joint]
    k = PARTS[joint].index(part)
    return p["girdle"][..., k] if joint == "girdle" else BALLS[joint][1](p[joint])[k]


def write_angle(p, name, value):
    joint, _, part = name.partition(".")
    if not part:
        p[joint] = np.full_like(p[joint], value)
        return
    k = PARTS[joint].index(part)
    if joint == "girdle":
        p["girdle"] = p["girdle"].copy()
        p["girdle"][..., k] = value
        return
    make, read = BALLS[joint]
    angles = list(read(p[joint]))
    angles[k] = np.full_like(angles[k], value)
    p[joint] = make(*angles)


def posture(d):
    """A posture of the exported file as a batch of one."""
    return {k: np.asarray(v, float)[None] for k, v in d.items()}


class Body:
    """A person's segments."""

    def __init__(self, d):
        for k, v in d.items():
            if k != "inertia":
                setattr(self, k, np.asarray(v, float) if isinstance(v, list) else v)
        self.mass = np.array([i["mass_kg"] for i in d["inertia"]])
        self.com = np.array([i["com_m"] for i in d["inertia"]])
        self.inertia = np.array([i["inertia_kg_m2"] for i in d["inertia"]])

    def girdle(self, p):
        """Collar bone and shoulder blade on the thorax: rotations, shifts, shoulder centre, outer joint, plane normal."""
        pl, h, _ = shoulder_angles(p["shoulder"])
        elevation, protraction, upward = np.moveaxis(p["girdle"], -1, 0)
        f = np.clip((np.degrees(pl) + 90) / 60, 0, 1)
        f = f * f * (3 - 2 * f)
        hh = h * f
        drawn = rot_y(-(0.13 * hh * (0.5 + 0.5 * np.cos(pl)) - protraction))
        rc = drawn @ rot_x(-(0.06 * hh + elevation))
        tc = self.sc_m - times(rc, self.sc_m)
        back = h * np.clip(-np.sin(pl), 0, 1) * np.clip(-np.degrees(pl), 0, 90) / 90
        back = back * np.clip((130 - np.degrees(h)) / 50, 0, 1)
        up = hh / 3.3 - 0.06 * hh + upward
        tilt = 0.16 * hh - 0.25 * back * (1 - f)
        rs = drawn @ rot_x(-0.06 * hh) @ exp_rotation(-up[..., None] * self.scapula_normal)
        rs = rs @ exp_rotation(tilt[..., None] * self.scapula_spine)
        ac = times(rc, self.ac_m) + tc
        ts = ac - times(rs, self.ac_m)
        return rc, tc, rs, ts, times(rs, self.gh_m) + ts, ac, times(rs, self.scapula_normal)

    def figure(self, p):
        """World rotations (B, 19, 3, 3) and origins (B, 19, 3) of all segments; the left side mirrors the right."""
        n = len(p["knee"])
        r, o = np.empty((n, SEGMENTS, 3, 3)), np.empty((n, SEGMENTS, 3))
        r[:, PELVIS], o[:, PELVIS] = p["pelvis"], p["pelvis_m"]
        r[:, THORAX] = p["pelvis"] @ p["lumbar"]
        o[:, THORAX] = o[:, PELVIS] + times(p["pelvis"], self.lumbar_m) + times(r[:, THORAX], self.notch_from_lumbar_m)
        r[:, HEAD] = r[:, THORAX] @ p["neck"]
        o[:, HEAD] = o[:, THORAX] + times(r[:, THORAX], self.neck_m)
        rc, tc, rs, ts, gh, _, _ = self.girdle(p)
        rt, ot = r[:, THORAX], o[:, THORAX]
        for s, turn, shift in ((CLAVICLE, rc, tc), (SCAPULA, rs, ts), (HUMERUS, p["shoulder"], gh)):
            r[:, s], o[:, s] = rt @ turn, ot + times(rt, shift)
        o[:, FOREARM] = o[:, HUMERUS] - self.upper_arm_m * r[:, HUMERUS, :, 1]
        r[:, FOREARM] = r[:, HUMERUS] @ rot_z(p["elbow"]) @ rot_y(p["forearm"])
        o[:, HAND] = o[:, FOREARM] - self.forearm_m * r[:, FOREARM, :, 1]
        r[:, HAND] = r[:, FOREARM] @ rot_x(p["wrist"])
        r[:, FEMUR] = p["pelvis"] @ p["hip"]
        o[:, FEMUR] = o[:, PELVIS] + self.half_hip_m * p["pelvis"][:, :, 2]
        o[:, TIBIA] = o[:, FEMUR] - self.thigh_m * r[:, FEMUR, :, 1]
        r[:, TIBIA] = r[:, FEMUR] @ rot_z(-p["knee"]) @ rot_y(p["tibia"])
        o[:, FOOT] = o[:, TIBIA] - self.shank_m * r[:, TIBIA, :, 1]
        r[:, FOOT] = r[:, TIBIA] @ rot_z(-p["ankle"]) @ rot_x(p["inversion"])
        r[:, 11:] = r[:, 3:11] * np.outer(MIRROR, MIRROR)
        o[:, 11:] = o[:, 3:11] * MIRROR
        return r, o
