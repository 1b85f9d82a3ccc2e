"""The air side of a bench as pure functions: blowdown, the run read by hand, gas through a hole, air density.

Pressures are absolute. `blowdown` (fixed charge pushing water), `manual_run` (effective area from two
readings), `orifice_flow` (gas through a hole), `vessel` (emptying, equalising), `settling` (pressure while gas
comes back to its temperature), `air` (density).
"""
