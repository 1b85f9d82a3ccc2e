"""The bench as a set of promises: what each meter, instrument and certificate becomes as a source of error.

`meters`       flow meters: one file per kind, one registry line
`instruments`  transmitters and gauges at work: a channel becomes a nominal value and its error terms
`elements`     element kinds: what is usual for each when water results are carried to propellants
"""
