"""Trials and checks: observations become fits with their uncertainty, and what to try next.

What others use of it:

- ``curve_fit.fit_curve(trials, kind, seed=)``: a crew's readings become a ``CurveFit``, the whole
  posterior of a product's flow curve in all its waters; ``yields_at`` and
  ``lowest_working_ratio`` ask it for stresses and ratios in one ``Water``.
- ``drying_fit.fit_drying(series, kind)``: coats weighed while they dry become a drying exponent.
- ``acceptance``: the stated rule by which a fit takes a default's place, and the product with it.
- ``next_trial.rank_trials``: which trial would narrow the mix window most, and why.
- ``trial_report.report_on``: all of that of one file of trials.
- ``proportioner.report_on``: checks of a proportioner become bias, setting, drift and reliability.

Everything is a pure function of its arguments; the same seed gives the same answer to the bit.
"""
