#!/usr/bin/python3
"""Limit analysis of the worked clamp of analysis/window, for comparison.

SciPy 1.10.1 (HiGHS), NumPy 1.24.2. Run: python3 limit.py; writes limit.csv beside
itself. The least N such that pressures p >= 0 with sum at most N on each of two
faces 25 mm x 3 mm, 40 mm apart, and frictions of size at most mu*p carry the
worked load. Points at the middles of 11 x 5 cells, friction cones of 24 rays.
Coulomb friction is not associated, so this N is no guarantee: it is what the
careful rule must never fall below.
"""
import os
import numpy as np
from scipy.optimize import linprog

FORCE = np.array([111.573489, -125.105314, 45.859756])  # N on the part
PLACE = np.array([10.0, 8.0, 9.5])  # mm from the mid-point of the faces
A, G, L, NX, NZ, RAYS = 25.0, 3.0, 40.0, 11, 5, 24


def least(mu):
    xs = (np.arange(NX) + 0.5) / NX * A - A / 2
    zs = (np.arange(NZ) + 0.5) / NZ * G - G / 2
    points = [(x, s * L / 2, z, s) for s in (1, -1) for x in xs for z in zs]
    rays = [(np.cos(2 * np.pi * k / RAYS), 0.0, np.sin(2 * np.pi * k / RAYS)) for k in range(RAYS)]
    size = len(points) * (1 + RAYS) + 1
    balance, cones, faces = np.zeros((6, size)), np.zeros((len(points), size)), np.zeros((2, size))
    for i, (x, y, z, s) in enumerate(points):
        first = i * (1 + RAYS)
        for j, d in enumerate([(0.0, -s, 0.0)] + rays):
            balance[:3, first + j] = d
            balance[3:, first + j] = np.cross((x, y, z), d)
        faces[0 if s > 0 else 1, first] = 1
        cones[i, first] = -mu
        cones[i, first + 1:first + 1 + RAYS] = 1
    faces[:, -1] = -1
    cost = np.zeros(size)
    cost[-1] = 1
    load = -np.concatenate([FORCE, np.cross(PLACE, FORCE)])
    r = linprog(cost, A_ub=np.vstack([cones, faces]), b_ub=np.zeros(len(points) + 2), A_eq=balance, b_eq=load, method="highs")
    return r.fun


with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "limit.csv"), "w") as f:
    f.write("mu,least [N]\n")
    for mu in (0.15, 0.25, 0.30, 0.45, 0.60):
        f.write("%g,%.4f\n" % (mu, least(mu)))
