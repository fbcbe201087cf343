# Time of 10,000 resamples of two times 15 pulls, for the benchmark of analysis/compare. NumPy 1.24.2.
# Run: python3 boot.py
import time
import numpy as np
print("NumPy", np.__version__)
r = np.random.default_rng(1)
a, b = r.normal(-2.1, 0.1, 15), r.normal(-1.2, 0.1, 15)
best = 1e9
for _ in range(10):
    t = time.process_time()
    d = b[r.integers(0, 15, (10000, 15))].mean(axis=1) - a[r.integers(0, 15, (10000, 15))].mean(axis=1)
    np.percentile(d, [2.5, 97.5])
    best = min(best, time.process_time() - t)
print("%.4f s" % best)
