"""The campaign folder: text with units on disk, frozen SI records inside; and everything that is written to it.

`folder`    reads a whole folder into `records.given.Campaign`, or tells every problem at once
`check`     the same reading, with open questions and signed sheets, for whoever only wants to know
`schema`    what each TOML file may say, key by key (and its JSON Schema)
`loggers`   readers of logger files
`new`, `bring`, `bring_also`, `results`, `signed`   what writes to a folder; each goes through `write`, which is atomic
"""
