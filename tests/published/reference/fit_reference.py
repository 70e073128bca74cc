"""Weighted least squares and periodograms with NumPy and SciPy, for tests/published/test_fit_reference.cpp."""
import json
import numpy as np
from scipy import optimize, signal, stats

rng = np.random.default_rng(7)

# A linear problem with unequal weights.
a = np.column_stack([np.ones(9), np.linspace(0, 2, 9), np.linspace(0, 2, 9) ** 2])
sd = np.array([0.1, 0.2, 0.1, 0.3, 0.1, 0.5, 0.1, 0.2, 0.1])
y = a @ np.array([1.0, -0.5, 0.7]) + sd * rng.standard_normal(9)
w = a / sd[:, None]
x = np.linalg.lstsq(w, y / sd, rcond=None)[0]
cov = np.linalg.inv(w.T @ w)
linear = {
    "a": a.tolist(), "y": y.tolist(), "sd": sd.tolist(), "x": x.tolist(), "cov": cov.tolist(),
    "leverage": np.diag(w @ cov @ w.T).tolist(), "chi_square": float(np.sum((y / sd - w @ x) ** 2)),
}

# Cut that falls as the abrasive breaks down.
work = np.array([20.0, 60, 100, 160, 240, 350, 500, 700])
sigma = 0.02 + 0.01 * np.arange(8) / 8


def falling(u, cut, breakdown):
    return cut * (0.32 + 0.68 * np.exp(-u / breakdown))


measured = falling(work, 1.3, 250.0) + sigma * rng.standard_normal(8)
best, covariance = optimize.curve_fit(falling, work, measured, p0=[1, 400], sigma=sigma, absolute_sigma=True,
                                      ftol=1e-14, xtol=1e-14, gtol=1e-14)
curve = {"work": work.tolist(), "y": measured.tolist(), "sd": sigma.tolist(), "x": best.tolist(), "cov": covariance.tolist()}

quantiles = [[p, int(n), float(stats.t.ppf(p, n))] for p in (0.6, 0.95, 0.995) for n in (1, 2, 5, 30)]
chances = [[c, int(n), float(stats.chi2.sf(c, n))] for c in (0.5, 4.0, 12.0) for n in (1, 3, 8)]

# Periodograms of an odd and an even number of values, with a trend.
periodograms = []
for n, h in ((96, 2.0), (75, 1.0)):
    line = 3 + 0.01 * np.arange(n) + np.cos(2 * np.pi * np.arange(n) * h / 24) + 0.3 * rng.standard_normal(n)
    for window in ("hann", "boxcar"):
        f, p = signal.periodogram(line, 1 / h, window=window, detrend="linear")
        periodograms.append({"values": line.tolist(), "spacing": h, "window": window, "f": f.tolist(), "p": p.tolist()})
# Welch's average over segments that do not overlap is an average over lines.
segments = rng.standard_normal(4 * 64)
f, p = signal.welch(segments, 1 / 2.0, window="hann", nperseg=64, noverlap=0, detrend="linear")
welch = {"values": segments.tolist(), "segment": 64, "spacing": 2.0, "p": p.tolist()}

print(json.dumps({"linear": linear, "curve": curve, "student": quantiles, "chi_square": chances,
                  "periodograms": periodograms, "welch": welch}))
