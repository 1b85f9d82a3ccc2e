"""Runs to readings, readings to characteristics: every decision taken here, once, at nominal. Start at `reduce`.

`signals`, `samples`, `window`, `slices`   one run's channels to slices
`methods/`                                 ways of running: one file and one line each
`weights`, `characteristic`                runs of a circuit joined
`collect`                                  the whole campaign
"""

from headrace.jobs.reduce.collect import reduce

__all__ = ["reduce"]
