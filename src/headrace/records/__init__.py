"""Frozen records that the rooms pass to each other; SI throughout.

`given`     what the folder states: campaign, bench, certificates, article, engine, runs (made by `files`)
`readings`  what the runs say: windows, slices, readings, characteristics (made by `jobs.reduce`)
`answers`   what that means for the engine: quantities with doubt, budgets (made by `jobs.balance`)
"""
