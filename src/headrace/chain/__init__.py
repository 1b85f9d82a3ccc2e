"""Our model: every decision taken at nominal and frozen, then one pure function of the errors.

`streams`    one run's water stream: ln of its effective area, slice by slice, under errors
`water`      all streams joined into the characteristics of the circuits
`engine`     the balance of the engine, forwards and backwards, on top of the water's areas
No branch on draws, no clipping: a draw without an answer is NaN and counted.
"""
