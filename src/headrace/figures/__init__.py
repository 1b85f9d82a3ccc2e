"""Drawings for paper and page: one style, SVG text with the table that stands beside it.

Each module draws one kind of figure (`characteristic`, `run`, `budget`) by its function `draw`, which returns a
`style.Drawing`. matplotlib is loaded when something is drawn, never before, and pyplot never.
"""
