#!/usr/bin/env python3
"""Compare Ringcraft's alignment with dynamic time warping in NumPy and SciPy, in one run.

Needs Go, and Python with numpy and scipy (Debian: python3-numpy python3-scipy). The reference
is plain dynamic time warping (Sakoe and Chiba 1978): epochs of half a second against stations
of half a metre, cost of place and heading, steps of 0 to 10 stations forward, no band. It knows
nothing of stops, departures or the recorder; its distances come from scipy.spatial and its
recursion is vectorised over the stations.
"""
import os
import subprocess
import tempfile
import time

import numpy as np
from scipy.ndimage import uniform_filter1d
from scipy.spatial.distance import cdist

ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))


def reference(plan, ride):
    """Returns the plan metre of every half second of the ride."""
    s, keep = np.unique(plan[:, 0], return_index=True)
    grid = np.arange(0, s[-1], 0.5)
    line = np.column_stack([np.interp(grid, s, plan[keep, 2]), np.interp(grid, s, plan[keep, 3])])
    step = np.gradient(line, axis=0)
    step /= np.maximum(np.hypot(*step.T), 1e-9)[:, None]
    t = np.arange(ride[0, 0], ride[-1, 0], 0.5)
    size = max(1, int(round(1.2 / np.median(np.diff(ride[:, 0])))))
    place = np.column_stack([np.interp(t, ride[:, 0], uniform_filter1d(ride[:, k], size)) for k in (1, 2)])
    v = np.gradient(place, t, axis=0)
    speed = np.hypot(*v.T)
    cost = cdist(place, line, "sqeuclidean") / (2 * 1.4**2)
    moving = speed > 0.5
    cost[moving] += 4 * (1 - (v[moving] / speed[moving, None]) @ step.T)
    best = cost[0] + np.where(grid < 4, 0, 1e6)
    back = np.zeros(cost.shape, dtype=np.int8)
    for i in range(1, len(t)):
        options = np.full((11, len(grid)), np.inf)
        for k in range(11):
            options[k, k:] = best[: len(grid) - k]
        back[i] = options.argmin(axis=0)
        best = options.min(axis=0) + cost[i]
    at = int(best.argmin())
    path = [at]
    for i in range(len(t) - 1, 0, -1):
        at -= int(back[i, at])
        path.append(at)
    return t, grid[path[::-1]]


def report(name, t, m, ride, seconds):
    true = np.interp(t, ride[:, 0], ride[:, 3])
    off = np.abs(m - true)
    print(f"{name:12s} {seconds:7.3f} s   median {np.median(off):5.2f} m   95 % {np.quantile(off, 0.95):5.2f} m   worst {off.max():5.1f} m")


def main():
    with tempfile.TemporaryDirectory() as where:
        env = dict(os.environ, RINGCRAFT_REFERENCE_DIR=where)
        subprocess.run(["go", "test", "-count=1", "-run", "TestWriteReference", "./internal/match"], cwd=ROOT, env=env, check=True)

        def read(name):
            return np.loadtxt(os.path.join(where, name), delimiter=",", skiprows=1)

        plan, ride, own = read("plan.csv"), read("ride.csv"), read("own.csv")
        with open(os.path.join(where, "own_seconds.txt"), encoding="ascii") as f:
            own_seconds = float(f.read())
    start = time.perf_counter()
    t, m = reference(plan, ride)
    seconds = time.perf_counter() - start
    print(f"{len(ride)} fixes, {plan[-1, 0]:.0f} m of plan")
    report("ringcraft", own[:, 0], own[:, 1], ride, own_seconds)
    report("scipy", t, m, ride, seconds)
    print(f"time, ringcraft over scipy: {own_seconds / seconds:.2f} (ringcraft's includes smoothing, departures and spans)")


if __name__ == "__main__":
    main()
