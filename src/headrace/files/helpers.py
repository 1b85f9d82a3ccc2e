"""Processes that share the runs of a large campaign. Start at `helpers`."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from headrace.files.folder import raw_bytes

if TYPE_CHECKING:
    from concurrent.futures import Executor

WORTH = 100_000_000
"""Bytes of raw files from which a second process saves more than it takes to start."""


@contextmanager
def helpers(folder: Path | str, processes: int | None) -> Iterator["Executor | None"]:
    """An executor of so many processes for the runs of a campaign; None where one does it alone.

    processes: None: as the amount of data and the cores of the machine suggest.
    """
    if processes is None:
        many = Path(folder).is_dir() and raw_bytes(Path(folder)) >= WORTH
        processes = (os.cpu_count() or 1) if many else 1
    if processes == 1:
        yield None
        return
    from concurrent.futures import ProcessPoolExecutor  # wanted by few: most campaigns are small
    from multiprocessing import get_context

    with ProcessPoolExecutor(processes, mp_context=get_context("spawn"), initializer=_one_thread) as pool:
        yield pool


def _one_thread() -> None:
    """Processes that share the cores need no threads of their own; heeded when polars is first loaded."""
    os.environ.setdefault("POLARS_MAX_THREADS", "1")
