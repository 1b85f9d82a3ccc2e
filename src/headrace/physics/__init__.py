"""Physics as pure functions on SI floats and arrays: no files, no units, no bench, no state.

`hydraulics` and `gas` take density, viscosity and vapour pressure as arguments and never ask `fluids`.
What is outside a formula's domain is refused as `domain` says: a lone number raises, an entry of an array
of draws becomes NaN. Start at the module named after the topic.
"""
