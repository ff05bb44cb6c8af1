"""Check values for `dwell steam --fit`: steam_fits.csv, made with statsmodels (0.15) and SciPy (1.17).

Run as `python steam_fits.py > steam_fits.csv` with numpy, scipy and statsmodels. It shares nothing with the program. A
set has pairs (x, y) near a line through the origin, some of them mistyped: ten times as much, two digits in the wrong
order, a tenth. The columns:

* huber, scale: statsmodels' RLM of y / x on a constant, HuberT(1.345), scale by the median absolute deviation.
* far: numbers from 1, with + between, of pairs that are left out. All are ordered by their distance from `huber`; the
  farthest quarter, at least one, is tested from the nearest on against least squares through the origin over all
  that passed before: the residual over the standard deviation of a new observation (statsmodels' OLS prediction,
  at least 1 % of y or of its prediction, the lesser) against the quantile of Student's t at 1 - 0.005 / (2 (passed + 1)), which
  scipy.stats.t gives. The first that exceeds it and all farther ones are far.
* slope, margin: OLS through the origin of the others, and half of its 95 % interval for a new y at x = 1.2.
* xs, ys: the pairs, with + between.
"""

import numpy as np
import scipy.stats
import statsmodels.api as sm


def far_off(x, y, middle):
    order = sorted(range(len(x)), key=lambda n: abs(y[n] / x[n] - middle))
    passed = len(x) - max(1, len(x) // 4)
    while passed < len(x):
        seen, n = order[:passed], order[passed]
        fit = sm.OLS(y[seen], x[seen][:, None]).fit()
        guess = fit.get_prediction(np.array([[x[n]]]))
        spread = np.sqrt(guess.var_pred_mean[0] + fit.mse_resid)
        spread = max(spread, 0.01 * min(abs(y[n]), abs(guess.predicted_mean[0])))
        bound = scipy.stats.t.ppf(1 - 0.005 / (2 * (passed + 1)), passed - 1)
        if abs(y[n] - guess.predicted_mean[0]) > bound * spread:
            break
        passed += 1
    return sorted(order[passed:])


def main():
    rng = np.random.default_rng(14)
    print("huber,scale,far,slope,margin,xs,ys")
    for n in range(120):
        count = int(rng.integers(4, 31))
        x = np.round(rng.uniform(0.7, 1.6, count), 4)
        y = np.round(30 * x + rng.normal(0, rng.choice([0.3, 0.6, 1.2]), count), 2)
        for bad in rng.choice(count, n % 3 if count > 7 else n % 2, replace=False):
            kind = int(rng.integers(0, 3))
            if kind == 0:
                y[bad] *= 10
            elif kind == 1:
                y[bad] = round(y[bad] / 10, 2)
            else:
                x[bad] *= 10
        ratio = sm.RLM(y / x, np.ones(count), M=sm.robust.norms.HuberT(t=1.345))
        robust = ratio.fit(scale_est="mad", tol=1e-13, maxiter=1000)
        far = far_off(x, y, robust.params[0])
        kept = [n for n in range(count) if n not in far]
        fit = sm.OLS(y[kept], x[kept][:, None]).fit()
        interval = fit.get_prediction(np.array([[1.2]])).conf_int(obs=True, alpha=0.05)[0]
        join = lambda parts: "+".join(str(part) for part in parts)
        print(
            f"{robust.params[0]:.12g},{robust.scale:.12g},{join(n + 1 for n in far)},{fit.params[0]:.12g},"
            f"{(interval[1] - interval[0]) / 2:.12g},{join(float(v) for v in x)},{join(float(v) for v in y)}"
        )


main()
