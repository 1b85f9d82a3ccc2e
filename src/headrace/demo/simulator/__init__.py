"""A water-flow bench and an engine that exist only as numbers, to test the rest of headrace against.

It shares nothing with what it tests: no physics, no meter, no error model, no unit table, no parser. It goes
the other way round: from true areas, true pressures and true instrument errors, each drawn once from what the
folder promises, to the files that a logger would have written and the folder that a crew would have typed.
Everything it makes is invented.

Start at `campaign.write_campaign`. `bench` runs the water, `instruments` reads it, `logger` stores it, `engine` fires,
`folder` writes the text.
"""
