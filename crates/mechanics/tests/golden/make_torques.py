"""Inverse dynamics of tree20.json by two general rigid-body libraries; writes the torques to tree20_tau.json and prints
how far the two are apart.
usage: python make_torques.py   (mujoco 4.0.0, pin 4.1.0, numpy 2.4.6)"""
import json, pathlib
import mujoco
import numpy as np
import pinocchio as pin

here = pathlib.Path(__file__).parent
d = json.load(open(here / "tree20.json"))
links, samples = d["links"], d["samples"]
n = len(links)
names = [f'{l["name"]}{i}' for i, l in enumerate(links)]
children = {i: [] for i in range(-1, n)}
for i, l in enumerate(links):
    children[l["parent"]].append(i)


def body(i):
    """One body of the first library: its hinges are the massless links up to the first one with mass."""
    chain = [i]
    while links[chain[-1]]["mass"] == 0:
        chain.append(children[chain[-1]][0])
    last = links[chain[-1]]
    text = lambda v: " ".join(map(str, v))
    joints = "".join(f'<joint name="{names[c]}" type="hinge" axis="{text(links[c]["axis"])}"/>' for c in chain)
    inertial = f'<inertial pos="{text(last["com"])}" mass="{last["mass"]}" diaginertia="{text(last["inertia"])}"/>'
    return f'<body pos="{text(links[i]["offset"])}">{joints}{inertial}{"".join(body(k) for k in children[chain[-1]])}</body>'


bodies = "".join(body(k) for k in children[-1])
xml = f'<mujoco><option gravity="0 0 -9.81"/><compiler angle="radian"/><worldbody>{bodies}</worldbody></mujoco>'
mm = mujoco.MjModel.from_xml_string(xml)
md = mujoco.MjData(mm)
mj = [names.index(mujoco.mj_id2name(mm, mujoco.mjtObj.mjOBJ_JOINT, j)) for j in range(mm.njnt)]

pm = pin.Model()
pm.gravity.linear = np.array(d["gravity"])
kind = {(1, 0, 0): pin.JointModelRX, (0, 1, 0): pin.JointModelRY, (0, 0, 1): pin.JointModelRZ}
ids = []
for i, l in enumerate(links):
    parent = 0 if l["parent"] < 0 else ids[l["parent"]]
    ids.append(pm.addJoint(parent, kind[tuple(l["axis"])](), pin.SE3(np.eye(3), np.array(l["offset"], float)), names[i]))
    if l["mass"]:
        pm.appendBodyToJoint(ids[-1], pin.Inertia(l["mass"], np.array(l["com"], float), np.diag(l["inertia"])), pin.SE3.Identity())
pd = pm.createData()
place = [pm.joints[j].idx_q for j in ids]
order = np.empty(n, int)
order[place] = np.arange(n)

apart, torques = 0.0, []
for s in samples:
    q, v, a = (np.array(s[k]) for k in "qva")
    md.qpos[:], md.qvel[:], md.qacc[:] = q[mj], v[mj], a[mj]
    mujoco.mj_inverse(mm, md)
    first = np.empty(n)
    first[mj] = md.qfrc_inverse
    second = pin.rnea(pm, pd, q[order], v[order], a[order])[place]
    apart = max(apart, np.abs(first - second).max())
    torques.append(second.tolist())
print("largest difference between the two libraries, N m:", apart)
json.dump(torques, open(here / "tree20_tau.json", "w"))
