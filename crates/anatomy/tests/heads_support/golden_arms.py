"""Golden lever arms of hip and shoulder for the head tests, written independently of the Rust code.

Reads data/anatomy/{heads,paths,obstacles}.csv; lengths by inverse trigonometric functions, arms by central
differences of the lengths (step 1e-5 rad, scapula held). Body: the 1.75 m adult of the tables, knee 425 mm below the
hip. Needs numpy. Usage: python golden_arms.py > golden_arms.csv   (from this folder)
"""
import csv, math, os
import numpy as np

DATA = os.path.join(os.path.dirname(os.path.abspath(__file__)), "../../../../data/anatomy/")
rows = lambda f: list(csv.DictReader(open(DATA + f)))
xyz = lambda r, k: np.array([float(r[k % c]) for c in "xyz"]) / 1e3


def axis_rotation(k, a):
    k = np.asarray(k, float) / np.linalg.norm(k)
    K = np.array([[0, -k[2], k[1]], [k[2], 0, -k[0]], [-k[1], k[0], 0]])
    return np.eye(3) + math.sin(a) * K + (1 - math.cos(a)) * K @ K


X, Y, Z = np.eye(3)
RX, RY, RZ = (lambda a: axis_rotation(X, a)), (lambda a: axis_rotation(Y, a)), (lambda a: axis_rotation(Z, a))

SC, AC, GH = np.array([0, 0, 0.025]), np.array([-0.054, 0.021, 0.165]), np.array([-0.045, -0.022, 0.180])
AA, TS, AI = np.array([-0.080, 0.014, 0.192]), np.array([-0.150, -0.030, 0.078]), np.array([-0.150, -0.155, 0.085])
NORMAL = np.cross(AI - AA, TS - AA)
NORMAL *= np.sign(NORMAL[0]) / np.linalg.norm(NORMAL)
SPINE = (AA - TS) / np.linalg.norm(AA - TS)


def shoulder(p, h, i):
    """Poses of thorax, clavicle, scapula, humerus; degrees: plane, elevation, internal rotation."""
    d = math.radians
    R = RY(d(p)) @ RX(-d(h)) @ RY(-d(p)) @ RY(d(i))
    f = min(max((p + 90) / 60, 0), 1)
    f = f * f * (3 - 2 * f)
    hh = h * f
    Rc = RY(-d(0.13 * hh * (0.5 + 0.5 * math.cos(d(p))))) @ RX(-d(0.06 * hh))
    back = h * max(-math.sin(d(p)), 0) * min(max(-p, 0), 90) / 90 * min(max((130 - h) / 50, 0), 1)
    Rs = Rc @ axis_rotation(NORMAL, -d(hh / 3.3 - 0.06 * hh)) @ axis_rotation(SPINE, d(0.16 * hh - 0.25 * back * (1 - f)))
    tc = SC - Rc @ SC
    ts = Rc @ AC + tc - Rs @ AC
    return {"thorax": (np.eye(3), np.zeros(3)), "clavicle": (Rc, tc), "scapula": (Rs, ts), "humerus": (R, Rs @ GH + ts)}


def hip(f, a, i):
    d = math.radians
    R = RZ(d(f)) @ RX(-d(a)) @ RY(d(i))
    return {"pelvis": (np.eye(3), np.zeros(3)), "femur": (R, np.zeros(3)), "tibia": (R, R @ np.array([0, -0.425, 0]))}


def turned(pose, moved, w):
    R = axis_rotation(w, np.linalg.norm(w))
    return {b: ((R @ r, t if b in ("humerus", "femur") else R @ t) if b in moved else (r, t)) for b, (r, t) in pose.items()}


def sphere(P, S, C, r):
    p, s = P - C, S - C
    lp, ls = np.linalg.norm(p), np.linalg.norm(s)
    phi = math.atan2(np.linalg.norm(np.cross(p, s)), p @ s)
    a, b = math.acos(min(r / lp, 1)), math.acos(min(r / ls, 1))
    if phi <= a + b:
        return np.linalg.norm(S - P)
    return math.sqrt(lp**2 - r**2) + math.sqrt(ls**2 - r**2) + r * (phi - a - b)


def cylinder(P, S, C, k, r, side):
    e1 = np.cross(k, [0.3, 0.5, 0.8])
    e1 /= np.linalg.norm(e1)
    e2 = np.cross(k, e1)
    p, s = P - C, S - C
    lp, ls = math.hypot(p @ e1, p @ e2), math.hypot(s @ e1, s @ e2)
    D = side * (math.atan2(s @ e2, s @ e1) - math.atan2(p @ e2, p @ e1))
    D = (D + 0.6 * math.pi) % (2 * math.pi) - 0.6 * math.pi
    a, b = math.acos(min(r / lp, 1)), math.acos(min(r / ls, 1))
    if D <= a + b:
        return np.linalg.norm(S - P)
    return math.hypot(math.sqrt(lp**2 - r**2) + math.sqrt(ls**2 - r**2) + r * (D - a - b), (s - p) @ k)


points, obstacles = {}, {}
for r in rows("paths.csv"):
    points.setdefault(r["strand"], []).append((r["segment"], xyz(r, "%s_mm")))
for r in rows("obstacles.csv"):
    obstacles[r["strand"], int(r["after_order"])] = r


def strand_length(name, pose):
    at = lambda b, x: pose[b][0] @ x + pose[b][1]
    x = [at(b, v) for b, v in points[name]]
    total = 0.0
    for n in range(len(x) - 1):
        o = obstacles.get((name, n))
        if o is None:
            total += np.linalg.norm(x[n + 1] - x[n])
            continue
        C, r = at(o["segment"], xyz(o, "centre_%s_mm")), float(o["radius_mm"]) / 1e3
        if o["kind"] == "sphere":
            total += sphere(x[n], x[n + 1], C, r)
        else:
            k = pose[o["segment"]][0] @ (xyz(o, "axis_%s") * 1e3)
            total += cylinder(x[n], x[n + 1], C, k / np.linalg.norm(k), r, int(o["side"]))
    return total


def head_length(strands, pose):
    shares = [float(s.split(":")[1]) for s in strands]
    return sum(w * strand_length(s.split(":")[0], pose) for s, w in zip(strands, shares)) / sum(shares)


HIP = [(0, 0, 0), (45, 10, -5), (90, 20, 10), (110, 30, -20), (-10, -5, 15), (70, -10, -30)]
SHOULDER = [(0, 0, 0), (0, 60, 0), (85, 80, 30), (30, 110, -45), (-85, 35, 0), (100, 60, 60), (15, 145, -20)]
if __name__ == "__main__":
    print("joint,angle_1_deg,angle_2_deg,angle_3_deg,head,length_mm,arm_x_mm,arm_y_mm,arm_z_mm")
    for joint, postures, make, moved in (("hip", HIP, hip, ("femur", "tibia")), ("shoulder", SHOULDER, shoulder, ("humerus",))):
        for q in postures:
            pose = make(*q)
            for r in rows("heads.csv"):
                strands = [s for s in r["strands"].split(";") if s]
                last = points[strands[0].split(":")[0]][-1][0] if strands else ""
                if last not in moved:
                    continue
                step = 1e-5
                arms = [(head_length(strands, turned(pose, moved, -step * e)) - head_length(strands, turned(pose, moved, step * e))) / (2 * step) for e in np.eye(3)]
                values = ",".join("%.4f" % (1e3 * v) for v in [head_length(strands, pose)] + arms)
                print("%s,%g,%g,%g,%s,%s" % (joint, *q, r["id"], values))
