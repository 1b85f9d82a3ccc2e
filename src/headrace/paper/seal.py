"""The seal of a sheet: one hash over everything it rests on. Start at `seal`.

Whoever changes an input after signing gets another seal; that is how a signed sheet is found out of date.
"""

import hashlib
from collections.abc import Mapping


def seal(inputs: Mapping[str, str], *, version: str) -> str:
    """SHA-256 (hex) over the version and, in order of their names, every input file's name and own hash.

    >>> seal({"engine.toml": "00"}, version="1")[:8]
    '9f29c4e0'
    """
    digest = hashlib.sha256()
    for text in (version, *(part for name in sorted(inputs) for part in (name, inputs[name]))):
        raw = text.encode()
        digest.update(len(raw).to_bytes(8, "big") + raw)
    return digest.hexdigest()
