"""Check values for `dwell trial`: trial_checks.csv and trial_edges.csv, made with statsmodels (0.15).

Run as `python trial_checks.py` in this directory, with numpy and statsmodels. It shares nothing with the program.

* trial_checks.csv: the chance of each grade by statsmodels' OrderedModel with a probit link, its thresholds set at the quarter grades:
  slope in grades a unit of ln(coat), spread in grades, the grade at the edge, how far a coat lies inside, the grade, its chance.
* trial_edges.csv: made-up garments (a seed each), coats and grades with plain normal errors, and the coat at which half of them reach
  grade 4 by maximum likelihood (GenericLikelihoodModel: edge, slope and spread free), with its standard error in ln(coat): set, coat, grade, edge, error.
"""

import numpy as np
from scipy.stats import norm
from statsmodels.base.model import GenericLikelihoodModel
from statsmodels.miscmodels.ordinal_model import OrderedModel

GRADES = np.arange(1, 5.01, 0.5)
CUT = 3.75


def chances():
    with open("trial_checks.csv", "w") as out:
        print("slope,spread,cut,inside,grade,chance", file=out)
        model = OrderedModel(np.arange(9), np.arange(9.0)[:, None], distr="probit")
        for slope in (1.4, 3.5, 8.5):
            for spread in (0.3, 0.5, 0.8):
                for cut in (2.75, 3.75):
                    for inside in (-0.3, -0.05, 0.02, 0.12):
                        set_at = (GRADES[:-1] + 0.25 - cut) / spread
                        params = np.concatenate([[slope / spread], [set_at[0]], np.log(np.diff(set_at))])
                        given = model.predict(params, exog=np.array([[inside]]))[0]
                        for grade, chance in zip(GRADES, given):
                            print(f"{slope},{spread},{cut},{inside},{grade},{chance:.12f}", file=out)


class Edge(GenericLikelihoodModel):
    """ln(edge), slope and the logarithm of the spread, of grades that were rounded to halves."""

    def nloglikeobs(self, params):
        at, slope, ln_spread = params
        mean, spread = CUT + slope * (self.exog[:, 0] - at), np.exp(ln_spread)
        upto = np.where(self.endog < 5, norm.cdf((self.endog + 0.25 - mean) / spread), 1)
        since = np.where(self.endog > 1, norm.cdf((self.endog - 0.25 - mean) / spread), 0)
        return -np.log(upto - since)


def edges():
    with open("trial_edges.csv", "w") as out:
        print("set,coat,grade,edge,error", file=out)
        for number, (edge, slope, spread) in enumerate([(150, 3.5, 0.5), (120, 5.5, 0.8), (165, 2.2, 0.3)]):
            rng = np.random.default_rng(number)
            coats = np.round(edge * np.exp(rng.uniform(-0.5, 0.2, 300)), 1)
            latent = CUT + slope * np.log(coats / edge) + rng.normal(0, spread, 300)
            grades = np.clip(np.round(2 * latent) / 2, 1, 5)
            model = Edge(grades, np.log(coats)[:, None])
            fit = model.fit(start_params=[np.log(140), 3, -0.5], method="nm", maxiter=5000, xtol=1e-10, ftol=1e-12, disp=False)
            for coat, grade in zip(coats, grades):
                print(f"{number},{coat},{grade},{np.exp(fit.params[0]):.4f},{fit.bse[0]:.6f}", file=out)


if __name__ == "__main__":
    chances()
    edges()
