#!/usr/bin/python3
"""Reference values for analysis/dist, by quadrature in 25 digits.

Python 3.11, mpmath 1.2.1, SciPy 1.10.1. Writes distributions.csv beside
itself; takes about half an hour. Columns: name, arguments (blank-separated),
survival, cdf. The densities are the textbook ones and share nothing with the
Go code: s is integrated on its own axis by Gauss-Legendre panels.
"""
import os
from mpmath import mp, mpf, sqrt, exp, log, gamma, loggamma, erfc, quad, pi, linspace
from scipy import stats

mp.dps = 25


def below(z):
    return erfc(-z / sqrt(mpf(2))) / 2


def phi(z):
    return exp(-z * z / 2) / sqrt(2 * pi)


def chi(df):
    c = log(mpf(2)) + mpf(df) / 2 * log(mpf(df) / 2) - loggamma(mpf(df) / 2)
    return lambda s: exp(c + (df - 1) * log(s) - df * s * s / 2) if s > 0 else mpf(0)


def panels(df, t):
    """Break points in s where the integrand lives, for statistics near t."""
    w = 1 / sqrt(2 * mpf(df))
    small = 1 / (1 + mpf(t))
    pts = {mpf(0)} | {c * small for c in (mpf(1) / 4, 1, 2, 3, 4, 5, 6, 8, 10, 13, 17)}
    pts |= {max(mpf(0), 1 + k * w * 2) for k in range(-8, 9)}
    return sorted(p for p in pts if p <= 1 + 16 * w)


def average(df, t, g):
    f = chi(df)
    return quad(lambda s: f(s) * g(s), panels(df, t), maxdegree=4, method='gauss-legendre')


def studentized(q, k, df):
    def beyond(w):
        def f(z):
            b = below(-z)
            return phi(z) * (b ** (k - 1) - (b - below(-z - w)) ** (k - 1))
        return k * quad(f, [-w / 2 + x for x in (-14 - w / 2, -6, -3, -1, 0, 1, 3, 6, 14)], maxdegree=4, method='gauss-legendre')
    return average(df, q, lambda s: beyond(q * s))


def dunnett(d, loads, df):
    def beyond(h):
        def f(y):
            p = mpf(1)
            for l in loads:
                r = sqrt(1 - l * l)
                p *= below((l * y + h) / r) - below((l * y - h) / r)
            return phi(y) * (1 - p)
        return 2 * quad(f, [0, .5, 1, 2, 3, 5, 8, 14], maxdegree=4, method='gauss-legendre')
    return average(df, d, lambda s: beyond(d * s))


def noncentral(t, df, delta):
    return average(df, abs(t), lambda s: below(delta - t * s)), average(df, abs(t), lambda s: below(t * s - delta))


def main():
    out = open(os.path.join(os.path.dirname(os.path.abspath(__file__)), 'distributions.csv'), 'w')
    out.write('# made by distributions.py: mpmath 1.2.1 and SciPy 1.10.1\nname,arguments,survival,cdf\n')

    def row(name, args, sf, cdf):
        out.write('%s,%s,%s,%s\n' % (name, ' '.join(str(a) for a in args), mp.nstr(mpf(sf), 17), mp.nstr(mpf(cdf), 17)))
        out.flush()

    for t in (0.001, 0.3, 1, 2.5, 8, 40):
        for df in (1, 2.5, 7, 60, 1e4):
            row('t', (t, df), stats.t.sf(t, df), stats.t.cdf(t, df))
    for x in (0.1, 1, 3.7, 25):
        for d1, d2 in ((1, 1), (2, 9.3), (9, 90), (4, 10000)):
            row('f', (x, d1, d2), stats.f.sf(x, d1, d2), stats.f.cdf(x, d1, d2))
    for x in (0.1, 2, 9, 60):
        for df in (1, 4, 30):
            row('chi2', (x, df), stats.chi2.sf(x, df), stats.chi2.cdf(x, df))
    for t, df, delta in ((3, 4, 2), (12.28834, 42, 8.4037), (-1, 5, 0.5), (30, 2, 5), (0, 9, 3), (10, 10000, 9),
                         (50, 3, 1), (2, 1, 0), (40, 99, 16.4485), (-6, 8, 2), (5, 1, 20), (1.2, 300, 12)):
        sf, cdf = noncentral(mpf(t), mpf(df), mpf(delta))
        row('noncentral-t', (t, df, delta), sf, cdf)
    for q, k, df in ((3.5, 3, 10), (0.5, 3, 5), (8, 2, 1), (30, 4, 1), (12, 10, 3), (5.5, 50, 10000), (9, 50, 20), (25, 5, 6),
                     (4.046093, 4, 16), (3, 20, 40), (14, 3, 100), (100, 50, 2)):
        sf = studentized(mpf(q), k, mpf(df))
        row('range', (q, k, df), sf, 1 - sf)
    h = sqrt(mpf(1) / 2)
    for d, loads, df in ((2.7347, [h] * 5, 20), (2.488, [sqrt(mpf(3) / 23), sqrt(mpf(3) / 23), sqrt(mpf(15) / 35)], 37),
                         (0.5, [h] * 3, 6), (9, [h] * 4, 12), (20, [h, h], 1), (3, [mpf('0.99'), mpf('0.5'), mpf('0.1')], 8),
                         (5, [mpf('0.2')] * 20, 10000), (3.2, [h] * 49, 60), (12, [mpf('0.995'), mpf('0.7')], 15)):
        sf = dunnett(mpf(d), loads, mpf(df))
        row('dunnett', (d, df, ' '.join(mp.nstr(l, 17) for l in loads)), sf, 1 - sf)


main()
