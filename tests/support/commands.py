"""Commands run in this process, as a shell would see them end."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import jsonschema
from click.testing import CliRunner

from headrace.doors.cli import cli


@dataclass(frozen=True)
class Ended:
    """How a command ended: exit code, what it printed, what it said beside that."""

    code: int
    out: str
    err: str

    def json(self, shape: dict[str, Any]) -> Any:
        """What was printed, held against a shape."""
        document = json.loads(self.out, parse_constant=_refuse)
        jsonschema.Draft202012Validator.check_schema(shape)
        jsonschema.validate(document, shape)
        return document


def _refuse(name: str) -> None:
    raise AssertionError(f"{name} is no JSON")


def headrace(*words: str | Path) -> Ended:
    """Run one command line."""
    ended = CliRunner().invoke(cli, [str(word) for word in words], prog_name="headrace")
    if ended.exception is not None and not isinstance(ended.exception, SystemExit):
        raise ended.exception
    assert "Traceback" not in ended.output
    return Ended(code=ended.exit_code, out=ended.stdout, err=ended.stderr)
