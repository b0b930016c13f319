"""Length changes over four lifts, printed as the table of heads_lengths.rs. Needs numpy and scipy.

Paths as in golden_arms.py; knee and ankle by PCHIP through data/anatomy/hinge_arms.csv, constant beyond the table.
The postures are first and last frame of lifts of a man of 1.78 m solved with his own planar balance.
"""
import numpy as np
from scipy.interpolate import PchipInterpolator
from golden_arms import head_length, hip, rows

LIFTS = {
    "back squat, thighs below parallel": ([113.4405, 22.2238, -1.9078, 113.0, -31.0], [3.2039, 12.3282, -20.4829, 4.7309, -2.86], "biceps-femoris-long-head semitendinosus semimembranosus rectus-femoris gastrocnemius-medial-head gracilis sartorius gluteus-maximus-superior-part adductor-magnus-adductor-part"),
    "straight-leg hinge": ([88.6453, 1.2207, -7.2131, 19.8931, 5.7019], [9.8123, 2.1452, -7.9448, 7.9149, -0.8701], "biceps-femoris-long-head semitendinosus semimembranosus rectus-femoris gracilis"),
    "seated leg curl": ([85, 0, 0, 5, 0], [85, 0, 0, 100, 0], "biceps-femoris-long-head semitendinosus semimembranosus rectus-femoris"),
    "standing calf raise": ([0, 0, 0, 2, -18], [0, 0, 0, 2, 32], "gastrocnemius-medial-head"),
}
table = {r["id"]: r for r in rows("heads.csv")}


def hinge(head, axis, degrees):
    v = [(float(r["angle_deg"]), float(r["arm_mm"])) for r in rows("hinge_arms.csv") if r["head"] == head and r["axis"] == axis]
    if not v:
        return 0.0
    v = [(v[0][0] - 40, v[0][1])] + v + [(v[-1][0] + 40, v[-1][1])]
    return -PchipInterpolator(np.radians([a for a, _ in v]), [m for _, m in v]).antiderivative()([np.radians(degrees), 0.0]) @ [1, -1]


def parts(head, q):
    strands = [s for s in table[head]["strands"].split(";") if s]
    path = 1e3 * head_length(strands, hip(*q[:3])) if strands else 0.0
    return np.array([path, hinge(head, "knee.flexion", q[3]), hinge(head, "ankle.plantarflexion", q[4])])


for lift, (bottom, top, heads) in LIFTS.items():
    print(lift)
    for head in heads.split():
        h = table[head]
        rest = parts(head, [0.0] * 5)
        fibre = [float(h["anchor_length"]) + (parts(head, q) - rest).sum() / float(h["fibre_length_mm"]) / float(h["excursion_divisor"]) for q in (bottom, top)]
        change = parts(head, top) - parts(head, bottom)
        print("   ", head, *("%.1f" % c for c in change), *("%.4f" % l for l in fibre))
