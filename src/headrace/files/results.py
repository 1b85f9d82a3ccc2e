"""results/: what was derived from a campaign. May be deleted at any time; stamped with version and input hashes."""

import io
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from headrace import __version__
from headrace.files.write import write_bytes, write_text

HOME = "results"


def stamp(inputs: Mapping[str, str]) -> dict[str, Any]:
    """What every result carries: the version that made it and the sha256 of every file it was made from."""
    return {"headrace": __version__, "inputs": dict(sorted(inputs.items()))}


def write_json(folder: Path | str, name: str, data: Mapping[str, Any], *, inputs: Mapping[str, str]) -> Path:
    """Write results/<name>.json: the data as they are (plain values, no NaN), and the stamp under "made_from"."""
    path = Path(folder) / HOME / f"{name}.json"
    text = json.dumps({**data, "made_from": stamp(inputs)}, indent=1, ensure_ascii=False, allow_nan=False)
    write_text(path, text + "\n")
    return path


def write_table(
    folder: Path | str,
    name: str,
    columns: Mapping[str, NDArray[Any] | list[Any]],
    *,
    inputs: Mapping[str, str],
) -> Path:
    """Write results/<name>.parquet: columns of one length, the stamp in the file's metadata."""
    import polars as pl  # here, because it takes a third of a second to load and most jobs write no table

    frame = pl.DataFrame({key: np.asarray(column) for key, column in columns.items()})
    buffer = io.BytesIO()
    frame.write_parquet(buffer, metadata={"made_from": json.dumps(stamp(inputs))})
    path = Path(folder) / HOME / f"{name}.parquet"
    write_bytes(path, buffer.getvalue())
    return path


def write_file(folder: Path | str, name: str, data: bytes) -> Path:
    """Write results/<name>, whatever it holds (a sheet, a drawing); it carries its own stamp."""
    path = Path(folder) / HOME / name
    write_bytes(path, data)
    return path
