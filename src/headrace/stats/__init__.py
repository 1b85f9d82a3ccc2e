"""Fits, means and quantiles on plain arrays; they know neither benches nor sources of error.

`linear` (least squares as a linear map), `york` (errors in both variables), `through_origin`, `means`,
`series` (means of autocorrelated samples), `slope` and `quantiles`. Nothing here imports scipy.stats.
"""
