"""A peer of `griptrial slip`: numpy.loadtxt, then the first fall of 10 % below
the running maximum, vectorised. python3 peer_numpy.py FILE...
"""
import sys

import numpy as np

for name in sys.argv[1:]:
    t, f = np.loadtxt(name, delimiter=",", skiprows=2, unpack=True)
    f = f - np.median(f[: max(5, len(f) // 50)])
    top = np.maximum.accumulate(f)
    fell = np.flatnonzero((f < 0.9 * top) & (top > 0.1 * f.max()))
    print(name, top[fell[0]] if len(fell) else "held")
