"""Paper: what is printed, signed and carried to the stand. Start at `sheet.make`.

One template base holds colours, type and rules (`typst/base.typ`); one file per section of a sheet under
`sections/`, and one line in its registry. Printed numbers pass through `headrace.units`.
"""
