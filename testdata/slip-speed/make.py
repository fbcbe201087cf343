"""Makes the traces that the speed of `griptrial slip` is measured on.

python3 make.py DIR: 1,000 traces of 4,000 samples in DIR/many (63 MB), and one
of 5 million samples in DIR/big.csv. Made with NumPy 1.24.
"""
import os
import sys

import numpy as np


def write(name, n, seed, rate):
    r = np.random.default_rng(seed)
    rest, slip = n // 10, n * 6 // 10
    i = np.arange(n)
    t = (i + 0.14) / rate + r.random(n) * 0.06 / rate
    rise = np.where(i > rest, 100 * (i - rest) / (slip - rest), 0)
    f = np.where(i > slip, 70 + 10 * (((i - slip) / 300) % 1), rise) + 3 + r.normal(0, 0.05, n)
    digits = 4 if rate <= 200 else 6
    with open(name, "w") as out:
        out.write("# facing: ground steel\nt [s],force [N]\n")
        out.write("".join("%.*f,%.5f\n" % (digits, a, b) for a, b in zip(t, f)))


folder = sys.argv[1]
os.makedirs(folder + "/many", exist_ok=True)
for k in range(1000):
    write(folder + "/many/p%04d.csv" % k, 4000, k, 200.0)
write(folder + "/big.csv", 5_000_000, 7, 2000.0)
