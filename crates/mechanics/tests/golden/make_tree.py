"""Writes tree20.json: a 20-axis tree (trunk 2, two arms 3 + 1, two legs 3 + 1 + 1) and 200 random states, seeded.
usage: python make_tree.py   (numpy 2.4.6); then make_torques.py

The masses and lengths are made up for the test; they describe nobody."""
import json, pathlib
import numpy as np

rng = np.random.default_rng(20260101)


def skip(frames, smooth, n=60, m=15):
    """The file was made after two other sets of problems from one generator; their draws are repeated and dropped."""
    mask = np.zeros((m, n), bool)
    for j in range(n):
        start = rng.integers(0, m - 2)
        mask[start:min(m, start + rng.integers(2, 6)), j] = True
    rng.normal(0, 0.03, (m, n)), rng.uniform(300, 3000, n), rng.uniform(0.5, 2.0, n), rng.uniform(0, 1, n)
    rng.normal(0, 0.01, (m, n)), rng.uniform(-1, 1, n)
    for _ in range(0 if smooth else frames):
        rng.normal(0, 0.03, (m, n)), rng.uniform(0, 1, n), rng.uniform(size=n)


skip(200, True)
skip(200, False)
axis = dict(x=[1, 0, 0], y=[0, 1, 0], z=[0, 0, 1])
links = []


def add(name, parent, ax, offset, mass=0.0, com=(0, 0, 0), inertia=(0, 0, 0)):
    links.append(dict(name=name, parent=parent, axis=axis[ax], offset=list(offset), mass=mass, com=list(com), inertia=list(inertia)))
    return len(links) - 1


t1 = add("trunk-flex", -1, "y", (0, 0, 1.0))
t2 = add("trunk-lat", t1, "x", (0, 0, 0), 40.0, (0, 0, 0.25), (1.2, 1.1, 0.4))
for side in (1, -1):
    s1 = add("shoulder-1", t2, "y", (0, 0.2 * side, 0.5))
    s2 = add("shoulder-2", s1, "x", (0, 0, 0))
    s3 = add("shoulder-3", s2, "z", (0, 0, 0), 2.1, (0, 0, -0.14), (0.013, 0.012, 0.004))
    add("elbow", s3, "y", (0, 0, -0.3), 1.7, (0, 0, -0.17), (0.02, 0.02, 0.002))
for side in (1, -1):
    h1 = add("hip-1", -1, "y", (0, 0.09 * side, 0.95))
    h2 = add("hip-2", h1, "x", (0, 0, 0))
    h3 = add("hip-3", h2, "z", (0, 0, 0), 9.5, (0, 0, -0.18), (0.16, 0.16, 0.03))
    k = add("knee", h3, "y", (0, 0, -0.42), 3.6, (0, 0, -0.19), (0.05, 0.05, 0.006))
    add("ankle", k, "y", (0, 0, -0.43), 1.1, (0.06, 0, -0.04), (0.001, 0.005, 0.005))
assert len(links) == 20
samples = [dict(q=rng.uniform(-1, 1, 20).round(6).tolist(), v=rng.normal(0, 2, 20).round(6).tolist(), a=rng.normal(0, 10, 20).round(6).tolist())
           for _ in range(200)]
json.dump(dict(gravity=[0, 0, -9.81], links=links, samples=samples), open(pathlib.Path(__file__).parent / "tree20.json", "w"))
