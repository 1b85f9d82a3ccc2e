"""TOML files of two folders key by key: what was written, and what is. Start at `keys_changed`.

Tables in a list go by their id, tag or name, else by their place, so that one more in the middle is one change.
"""

import json
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from headrace.records.compared import KeyChange

NAMES = ("id", "tag", "name")


def keys_changed(before: Path | str, after: Path | str, files: Mapping[str, object]) -> tuple[KeyChange, ...]:
    """Keys that are not the same, file by file.

    Args:
        before, after: the two folders. files: names of the files that differ; those that are no TOML are left out.
    """
    out = []
    for file in sorted(name for name in files if name.endswith(".toml")):
        old, new = (dict(_flat(_read(Path(folder) / file))) for folder in (before, after))
        out += [
            KeyChange(file=file, key=key, before=old.get(key), after=new.get(key))
            for key in dict.fromkeys((*old, *new))
            if old.get(key) != new.get(key)
        ]
    return tuple(out)


def _read(path: Path) -> dict[str, Any]:
    if not path.is_file():
        return {}
    return tomllib.loads(path.read_text(encoding="utf-8"))


def _flat(value: Any, path: str = "") -> Iterator[tuple[str, str]]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _flat(inner, f"{path}.{key}" if path else key)
    elif isinstance(value, list) and any(isinstance(one, dict) for one in value):
        for place, inner in enumerate(value):
            name = next(
                (str(inner[key]) for key in NAMES if isinstance(inner, dict) and key in inner), str(place + 1)
            )
            yield from _flat(inner, f"{path}[{name}]")
    else:
        yield path, value if isinstance(value, str) else json.dumps(value, default=str, ensure_ascii=False)
