"""Hydraulics of a water or propellant line as pure functions; density is always an argument.

One module a topic: `differential`, `venturi`, `orifice` (flow meters), `limits` (where a standard holds),
`pipe`, `losses` (resistances), `injector`, `elements`, `cavitation`, `hydrostatics`.
"""
