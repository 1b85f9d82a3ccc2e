"""Any number back to the bytes it was made from. Start at `look_up.explain`.

`KINDS` in `look_up` lists what has a name: one file and one line for each kind. What a source of error rests on is
found in `origins`.
"""
