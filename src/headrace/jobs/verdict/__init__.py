"""Right after a run: is it good, does it agree, what next, and to what the vessels settle.

`judge`     the verdict
`settle`    pressures of the vessels once their air has warmed up again
"""
