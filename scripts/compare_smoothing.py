"""Run by scripts/compare-smoothing; see there."""
import csv
import json
import os
import subprocess
import sys
import time

import numpy as np
from scipy.interpolate import make_smoothing_spline

work, shared = sys.argv[1], sys.argv[2]
rng = np.random.default_rng(7)


def ride(hz):
    """Straights, corners of 4 m, circles of 18.4 and 8.4 m, halts: at 3.2 m/s, three times over."""
    segs = []
    for _ in range(3):
        for _ in range(4):
            segs += [(5.0, 0.0, 0.0), (np.pi / 2 * 4 / 3.2, 0.25, 0.0)]
        segs += [(2 * np.pi * 9.2 / 3.2, 1 / 9.2, 0), (4, 0, 0), (2 * np.pi * 4.2 / 3.2, -1 / 4.2, 0), (3, 0, 0), (2, 0, -1.6), (5, 0, 0), (2, 0, 1.6)]
    dt = 0.001
    k = np.concatenate([np.full(int(d / dt), c) for d, c, _ in segs])
    a = np.concatenate([np.full(int(d / dt), acc) for d, _, acc in segs])
    v = np.maximum(3.2 + np.cumsum(a) * dt, 0)
    h = np.cumsum(v * k) * dt
    every = int(round(1 / hz / dt))
    x, y = np.cumsum(v * np.cos(h)) * dt, np.cumsum(v * np.sin(h)) * dt
    return np.arange(len(x))[::every] * dt, np.column_stack([x, y])[::every]


def circle(r, hz):
    t = np.arange(int(120 * hz)) / hz
    return t, r * np.column_stack([np.cos(3.2 * t / r), np.sin(3.2 * t / r)])


def mower():
    name = os.path.join(shared, "data", "mower-plaza1", "ground_truth.csv")
    if not os.path.exists(name):
        return None
    with open(name) as f:
        d = np.array([[float(c) for c in row[:3]] for row in list(csv.reader(f))[1:]])
    d = d[np.concatenate([[True], np.diff(d[:, 0]) > 0])]
    return d[:, 0] - d[0, 0], d[:, 1:3]


def spline(t, z):
    return np.column_stack([make_smoothing_spline(t, z[:, a])(t) for a in (0, 1)])


def rts(t, z, sd, q=1.0):
    """Constant velocity, both axes share the gains."""
    n = len(t)
    x = np.array([[z[0, 0], z[0, 1]], [0, 0]])
    p = np.diag([1e4, 25.0])
    xs, ps, xp, pp, fs = [], [], [], [], []
    for k in range(n):
        f = np.eye(2)
        if k:
            dt = t[k] - t[k - 1]
            f[0, 1] = dt
            x = f @ x
            p = f @ p @ f.T + q * np.array([[dt**3 / 3, dt**2 / 2], [dt**2 / 2, dt]])
        xp.append(x); pp.append(p); fs.append(f)
        g = p[:, :1] / (p[0, 0] + sd * sd)
        x = x + g @ (z[k : k + 1] - x[:1])
        p = p - g @ p[:1]
        xs.append(x); ps.append(p)
    out = [xs[-1]]
    for k in range(n - 2, -1, -1):
        c = ps[k] @ fs[k + 1].T @ np.linalg.inv(pp[k + 1])
        out.append(xs[k] + c @ (out[-1] - xp[k + 1]))
    return np.array([o[0] for o in out[::-1]])


def best(f, *a):
    took, r = 1e9, None
    for _ in range(2):
        s = time.perf_counter()
        r = f(*a)
        took = min(took, time.perf_counter() - s)
    return took, r


def rms(a, b):
    return float(np.sqrt(((a - b) ** 2).sum(1).mean()))


paths = [("ride, 10 Hz", *ride(10)), ("ride, 1 Hz", *ride(1)), ("20 m circle, 10 Hz", *circle(10, 10)), ("8 m circle, 10 Hz", *circle(4, 10))]
m = mower()
if m is None:
    print("the mower's path is left out: no shared folder (RINGCRAFT_SHARED)")
else:
    paths.append(("mower (real path), 5 Hz", *m))

print(f"numpy {np.__version__}; errors are root mean square distances from the truth in metres; times are the best of several runs in one process each")
print("| path | fixes | noise | raw | Ringcraft | spline (SciPy) | RTS (NumPy, told the noise) | error: ours / spline | ours / RTS | time: ours | spline | RTS | spline / ours | RTS / ours |")
print("|---|---|---|---|---|---|---|---|---|---|---|---|---|---|")
for name, t, truth in paths:
    for sd in (0.05, 0.3, 1.0):
        z = truth + sd * rng.standard_normal(truth.shape)
        path = os.path.join(work, "in.csv")
        with open(path, "w") as f:
            f.write("t_s,x_m,y_m\n")
            f.writelines(f"{a:.4f},{b:.5f},{c:.5f}\n" for a, (b, c) in zip(t, z))
        cls = {0.05: "rtk", 0.3: "uwb", 1.0: "sport"}[sd]
        ours = json.loads(subprocess.run([os.path.join(work, "smoothref"), cls, path], check=True, capture_output=True, text=True).stdout)[0]
        us = np.column_stack([ours["X"], ours["Y"]])
        ts, sp = best(spline, t, z)
        tr, kf = best(rts, t, z, sd)
        e = [rms(z, truth), rms(us, truth), rms(sp, truth), rms(kf, truth)]
        print(f"| {name} | {len(t)} | {sd} | " + " | ".join(f"{v:.3f}" for v in e) + f" | {e[1]/e[2]:.2f} | {e[1]/e[3]:.2f} | {1e3*ours['Seconds']:.0f} ms | {1e3*ts:.0f} ms | {1e3*tr:.0f} ms | {ts/ours['Seconds']:.1f} | {tr/ours['Seconds']:.1f} |")
