#!/usr/bin/env python3
"""Writes reference.txt: what statsmodels makes of four committed series.

Run by hand after a change of the model (Debian: apt-get install
python3-statsmodels):  python3 reference.py > reference.txt

Series 1 and 2 use statsmodels' UnobservedComponents, model 'local linear
trend', with a missing value (NaN) for every day without a reading, and known
variances and initial state. Series 3 and 4 need a measurement variance per
reading and a bias of own readings, which UnobservedComponents has not; they
use statsmodels' KalmanSmoother with the same state plus a constant bias, also
daily with missing days.

Line formats:
  series NAME level_var slope_var p_level p_slope p_bias
  obs DAY Y VAR OWN               reading given
  loglik X
  state DAY LEVEL SLOPE BIAS VLEVEL VSLOPE VBIAS     on days with a reading
  slip DAY T                      standardised smoothed disturbance of the reading
  jump DAY T                      the same of the level just before that day
"""
import numpy as np
import statsmodels
from statsmodels.tsa.statespace.kalman_smoother import KalmanSmoother
from statsmodels.tsa.statespace.structural import UnobservedComponents

# Day, degrees, variance, own (1) or clinic (0). Invented courses.
SERIES = {
    # regular gaps of a few days, one rater
    "one-rater": ((0.04, 0.0009), (1e4, 4.0, 0.0), [
        (14, 62.0, 49, 0), (17, 71.5, 49, 0), (21, 70.0, 49, 0), (24, 82.0, 49, 0), (31, 84.5, 49, 0),
        (35, 97.0, 49, 0), (38, 92.5, 49, 0), (45, 104.0, 49, 0), (52, 118.0, 49, 0), (66, 121.5, 49, 0),
        (80, 139.0, 49, 0), (94, 141.0, 49, 0), (122, 152.5, 49, 0), (150, 158.0, 49, 0)]),
    # free slope, one wild reading, not set aside
    "wild": ((0.04, 0.01), (1e4, 4.0, 0.0), [
        (7, 90.0, 49, 0), (8, 95.5, 49, 0), (10, 93.0, 49, 0), (13, 40.0, 49, 0), (15, 99.0, 49, 0),
        (18, 104.5, 49, 0), (22, 101.0, 49, 0), (27, 112.0, 49, 0), (33, 118.5, 49, 0)]),
    # own readings (variance 49) with the clinic's (16), bias estimated
    "both": ((0.04, 0.0009), (1e4, 4.0, 100.0), [
        (14, 70.0, 49, 1), (16, 61.5, 16, 0), (20, 76.0, 49, 1), (25, 83.5, 49, 1), (30, 75.5, 16, 0),
        (33, 92.0, 49, 1), (40, 99.5, 49, 1), (44, 93.0, 16, 0), (47, 110.0, 49, 1), (58, 113.5, 49, 1),
        (58, 104.0, 16, 0), (72, 128.0, 49, 1), (86, 121.0, 16, 0), (90, 137.0, 49, 1)]),
    # two clinicians (49), stiff slope
    "stiff": ((0.04, 0.0001), (1e4, 4.0, 0.0), [
        (28, 58.0, 49, 0), (42, 66.5, 49, 0), (56, 63.0, 49, 0), (91, 71.0, 49, 0), (120, 69.5, 49, 0), (182, 74.0, 49, 0)]),
}


def daily(obs):
    first, last = obs[0][0], obs[-1][0]
    y = np.full((last - first + 1, 2), np.nan)
    r = np.ones((last - first + 1, 2))
    for day, value, var, own in obs:
        y[day - first, own] = value
        r[day - first, own] = var
    return first, y, r


def by_components(noise, p, obs):
    first, y, _ = daily(obs)
    mod = UnobservedComponents(y[:, 0], "local linear trend")
    mod.ssm.initialize_known(np.array([obs[0][1], 0.0]), np.diag(p[:2]))
    mod.loglikelihood_burn = 0  # the initial state is proper
    res = mod.smooth([obs[0][2], noise[0], noise[1]])
    return first, res.llf, res.smoothed_state, res.smoothed_state_cov, res.filter_results


def by_smoother(noise, p, obs):
    first, y, r = daily(obs)
    n = len(y)
    ks = KalmanSmoother(k_endog=2, k_states=3, k_posdef=2)
    ks.bind(np.ascontiguousarray(y))
    ks["design"] = np.array([[1.0, 0, 0], [1.0, 0, 1.0]])
    cov = np.zeros((2, 2, n))
    cov[0, 0], cov[1, 1] = r[:, 0], r[:, 1]
    ks["obs_cov"] = cov
    ks["transition"] = np.array([[1.0, 1, 0], [0, 1, 0], [0, 0, 1]])
    ks["selection"] = np.array([[1.0, 0], [0, 1], [0, 0]])
    ks["state_cov"] = np.diag(noise)
    ks.initialize_known(np.array([obs[0][1], 0.0, 0.0]), np.diag(p))
    ks.loglikelihood_burn = 0  # here too
    res = ks.smooth()
    return first, res.llf_obs.sum(), res.smoothed_state, res.smoothed_state_cov, res


def main():
    print("# made by reference.py with statsmodels", statsmodels.__version__, "numpy", np.__version__)
    for name, (noise, p, obs) in SERIES.items():
        plain = name in ("one-rater", "wild")
        first, llf, state, cov, res = (by_components if plain else by_smoother)(noise, p, obs)
        print("series", name, *noise, *p)
        for o in obs:
            print("obs", *o)
        print("loglik %.10f" % llf)
        for day in sorted({o[0] for o in obs}):
            i = day - first
            s, c = state[:, i], cov[:, :, i]
            bias, vbias = (s[2], c[2, 2]) if len(s) == 3 else (0, 0)
            print("state %d %.10f %.10f %.10f %.10f %.10f %.10f" % (day, s[0], s[1], bias, c[0, 0], c[1, 1], vbias))
        if plain:
            # Standardised smoothed disturbances (auxiliary residuals).
            sm = res
            for day, _, var, _ in obs:
                i = day - first
                e, v = sm.smoothed_measurement_disturbance[0, i], sm.smoothed_measurement_disturbance_cov[0, 0, i]
                print("slip %d %.8f" % (day, e / np.sqrt(var - v)))
                if i > 0:
                    d, w = sm.smoothed_state_disturbance[0, i - 1], sm.smoothed_state_disturbance_cov[0, 0, i - 1]
                    print("jump %d %.6f" % (day, d / np.sqrt(noise[0] - w)))


main()
