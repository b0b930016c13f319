"""One movement from posture to credited stimulus, as a researcher would write it with NumPy and SciPy.

    python pipeline.py DUMP.json [...]

reads what `dump_movement` wrote, computes everything anew, compares it number by number with what the program found, and
prints the time of both. A second comparison begins at the program's own postures and loads, so that nothing which comes
after the posture can hide behind it. Exits with 1 where they disagree by more than the tolerances below.
"""
import json
import sys
import time

import numpy as np
import scipy

from body import Body, posture
from mechanics import Frames, capacity, share, systems
from muscles import Muscles
from posture import PostureSolver

FRAMES = 21
RUNS = 7
# Whole chain. Postures: the program leaves the shoulder rhythm out of its derivatives and stops where the sum of squares
# is flat (bench press: 0.05 % above the minimum found here), a fraction of a degree away; a coach reads none of this.
WHOLE = {"joint angles, deg": 0.5, "fibre lengths": 0.003, "lever arms, mm": 1.0, "moments, N m": 1.0, "capacity, %": 1.0,
         "load, %": 0.5, "activations": 0.02, "stimulus": 0.01}
# From the same postures: the same formulas, so only the solvers' own accuracy is left.
SAME = {"fibre lengths": 1e-8, "lever arms, mm": 1e-6, "moments, N m": 1e-6, "capacity, %": 1e-5, "load, %": 1e-6,
        "activations": 2e-3, "stimulus": 1e-3}


class Movement:
    def __init__(self, d):
        self.d, self.body = d, Body(d["body"])
        self.solver = PostureSolver(self.body, d["problem"])
        blocks = d["blocks"] + ([d["second"]] if d["second"] else [])
        self.muscles = Muscles(self.body, d, sorted({h for q in blocks for h in q["heads"]}))

    def look(self, power=3, postures=None):
        """Posture and load together, then sharing, stimulus and credit; with `postures` from there on."""
        d, spent = self.d, {}
        clock = [time.perf_counter()]

        def lap(name):
            clock.append(time.perf_counter())
            spent[name] = spent.get(name, 0) + clock[-1] - clock[-2]

        kg, p0 = d["balance_load_kg"], posture(d["standing"])
        for attempt in range(3):
            phases = np.linspace(0, 1, FRAMES)
            p = postures or self.solver.rep(p0, phases[::-1] if d["begin_at_turn"] else phases, kg or 0.0)
            p0 = {k: v[:1] for k, v in p.items()}
            if d["from_turn"] != d["begin_at_turn"] and not postures:
                p = {k: v[::-1] for k, v in p.items()}
            lap("posture")
            frames = Frames(self.body, d, p)
            lap("moments")
            state = self.muscles.evaluate(p)
            lap("muscles")
            sets = [systems(frames, self.muscles, state, d, q) for q in d["blocks"]]
            lap("moments")
            cap = np.minimum.reduce([capacity(s, d["cap"]) for s in sets])
            load = d["rules"]["effort"] * np.quantile(cap, d["rules"]["quantile"])
            lap("hardest load")
            if postures or kg is None or attempt == 2 or abs(load - kg) <= 0.06 * (self.body.mass_kg + kg):
                break
            kg = max(kg + (1.0 if attempt == 0 else 0.5) * (load - kg), 1.0)
        a = np.zeros((FRAMES, len(self.muscles.heads)))
        chosen = {}
        for s in sets:
            got, free = share(s, load, 1e6, power)
            a[:, s["index"]] = np.maximum(a[:, s["index"]], got)
            chosen |= free
        if d["second"]:
            s = systems(frames, self.muscles, state, d, d["second"])
            got, _ = share(s, load, 3e4, power, chosen)
            a[:, s["index"]] = np.maximum(a[:, s["index"]], got)
        lap("sharing")
        r = d["rules"]
        weight = np.clip(1 + r["slope"] * (state["fibre"] - r["centre"]), r["floor"], r["ceiling"])
        raw = (a * state["active"] * weight).mean(0)
        stimulus = np.minimum(raw / np.array([h["reference"] for h in self.muscles.heads]), r["cap"])
        credit = np.clip((stimulus - r["credit_from"]) / r["credit_width"], 0, 1)
        change = state["length_m"][-1] - state["length_m"][0]
        lap("stimulus")
        return {"p": p, "frames": frames, "state": state, "capacity": cap, "load": load, "activation": a,
                "stimulus": stimulus, "credit": credit, "change_m": change, "spent": spent}


def differences(m, got):
    """Largest difference of every kind of number from what the program found, with its place."""
    want, w = m.d["expected"], m.muscles.wanted
    f = want["frames"]
    take = lambda key: np.array([q[key] for q in f])
    seen = [h["id"] for h in m.muscles.heads]
    turn = 0.0
    for joint in ("pelvis", "lumbar", "hip", "shoulder"):
        r = got["p"][joint] @ np.swapaxes(np.array([q["posture"][joint] for q in f]), -1, -2)
        turn = max(turn, np.arcsin(np.clip(np.linalg.norm(r - np.swapaxes(r, -1, -2), axis=(1, 2)).max() / np.sqrt(8), 0, 1)))
    for hinge in ("knee", "tibia", "ankle", "inversion", "elbow", "forearm"):
        turn = max(turn, np.abs(got["p"][hinge] - np.array([q["posture"][hinge] for q in f])).max())
    rows = sorted({r for q in m.d["blocks"] for r in q["rows"]})
    fr = got["frames"]
    moments = (fr.required(fr.f0, fr.m0) + got["load"] * fr.required(fr.f1, fr.m1))[:, rows]
    arms = np.abs(got["state"]["arms_m"] - take("arms_m")[:, w])
    act = np.abs(got["activation"] - take("activation")[:, w])
    stim = np.abs(got["stimulus"] - np.array(want["stimulus"])[w])
    worst = lambda x, axis=0: seen[int(np.argmax(x.max(axis)))] if x.ndim > 1 else seen[int(np.argmax(x))]
    cap = np.array(want["capacity"])
    return {"joint angles, deg": (np.degrees(turn), ""),
            "fibre lengths": (np.abs(got["state"]["fibre"] - take("fibre")[:, w]).max(), worst(np.abs(got["state"]["fibre"] - take("fibre")[:, w]))),
            "lever arms, mm": (1e3 * arms.max(), worst(arms.max(2))),
            "moments, N m": (np.abs(moments - take("required_nm")[:, rows]).max(), ""),
            "capacity, %": (100 * np.abs(got["capacity"] / cap - 1).max(), ""),
            "load, %": (100 * abs(got["load"] / want["load"] - 1), f"{got['load']:.2f} v {want['load']:.2f}"),
            "activations": (act.max(), worst(act)), "stimulus": (stim.max(), worst(stim))}


def compare(title, sizes, tolerance):
    """Print a comparison; how many kinds of number are too far off."""
    print(f"  {title}: largest difference (tolerance)")
    bad = 0
    for what, limit in tolerance.items():
        size, where = sizes[what]
        bad += not size <= limit
        print(f"    {what:18} {size:8.1e} ({limit:g}){'' if size <= limit else ' TOO FAR'} {where}")
    return bad


def main(files):
    bad = 0
    print(f"NumPy {np.__version__}, SciPy {scipy.__version__}, {FRAMES} frames, one thread each\n")
    for file in files:
        m = Movement(json.load(open(file)))
        want = m.d["expected"]
        runs = [m.look() for _ in range(RUNS)]
        theirs = [posture(f["posture"]) for f in want["frames"]]
        same = m.look(postures={k: np.concatenate([q[k] for q in theirs]) for k in theirs[0]})
        print(m.d["movement"])
        bad += compare("whole chain", differences(m, runs[0]), WHOLE)
        bad += compare("from the program's postures", differences(m, same), SAME)
        total = np.array([sum(r["spent"].values()) for r in runs])
        parts = {k: np.median([r["spent"][k] for r in runs]) for k in runs[0]["spent"]}
        print("  Python, ms: " + ", ".join(f"{k} {1e3 * v:.1f}" for k, v in parts.items()))
        for name, python, rust in (("median", np.median(total), want["look_s"]), ("quickest run", total.min(), want["look_min_s"])):
            print(f"  {name}: Python {1e3 * python:.0f} ms, the program's whole `look` {1e3 * rust:.2f} ms: {python / rust:.0f} x")
        print()
    print("all agree" if not bad else f"{bad} comparisons too far off")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
