"""The exported JSON Schemas accept the golden files and refuse what the reader refuses."""

import copy
import datetime
import tomllib
from typing import Any

import jsonschema
import pytest

from headrace.files.schema import FILES, json_schema
from headrace.files.schema.run import METHODS
from headrace.jobs.reduce import methods
from support import golden_folder


def plain(value: Any) -> Any:
    """TOML data as an editor's JSON view has it: dates as text."""
    if isinstance(value, dict):
        return {key: plain(one) for key, one in value.items()}
    if isinstance(value, list):
        return [plain(one) for one in value]
    return value.isoformat() if isinstance(value, datetime.date) else value


GOLDEN = {
    (name.split("/")[-1].removesuffix(".toml"), name): plain(tomllib.loads(text))
    for name, text in golden_folder.files().items()
    if name.endswith(".toml")
}


@pytest.mark.parametrize(("kind", "name"), GOLDEN)
def test_the_golden_files_fit(kind: str, name: str) -> None:
    schema = json_schema(kind)
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(GOLDEN[kind, name], schema)


@pytest.mark.parametrize(("kind", "name"), GOLDEN)
def test_an_unknown_key_does_not_fit(kind: str, name: str) -> None:
    data = copy.deepcopy(GOLDEN[kind, name])
    data["bogus"] = 1
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data, json_schema(kind))


def test_a_number_without_unit_does_not_fit() -> None:
    data = copy.deepcopy(GOLDEN["bench", "bench.toml"])
    data["meter"][0]["d_throat"] = 26.02
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data, json_schema("bench"))


def test_every_field_is_explained() -> None:
    for kind in FILES:
        schema = json_schema(kind)
        for table in (schema, *schema.get("$defs", {}).values()):
            for key, field in table.get("properties", {}).items():
                assert field.get("description"), f"{kind}: {key}"


def test_methods_are_those_of_reduce() -> None:
    assert set(METHODS) == set(methods.METHODS)
