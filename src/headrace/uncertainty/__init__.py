"""A generic engine that carries sources of error through a model. It knows no bench.

Start at `source.Source` and `errors_map.Errors` (what a model is called with), then `gum.gum` and
`monte_carlo.monte_carlo`; `compare.compare` holds the two against each other, and
`one_at_a_time.one_at_a_time` checks a budget row by row.
"""
