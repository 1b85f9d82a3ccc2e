"""docs/schema/*.json: JSON Schema of each file of the campaign folder, for editors."""

import json
from collections.abc import Callable
from pathlib import Path

from headrace.files.schema import FILES, json_schema

KINDS = tuple(FILES)


def page(kind: str) -> Callable[[Path], str]:
    """What makes the schema of one kind of file."""

    def make(_: Path) -> str:
        return json.dumps(json_schema(kind), indent=1, ensure_ascii=False) + "\n"

    return make
