"""The bench day: what stands where, by the ledger, and what a run may take from it.

`walk`      the ledger, event by event: `events/` has one file and one line for each kind
`supply`    barometer, water temperature and levels around a run
`find`      contradictions, by the registry of `findings`
"""
