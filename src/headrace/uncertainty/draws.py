"""Draws of sources of error: one stream of random numbers per block and source.

The stream of a source hangs on the seed, the block and the source's own name, so that adding, dropping or
re-ordering other sources leaves its draws as they were, and a longer run begins with the whole blocks of a
shorter one. Start at `block_errors`.
"""

from collections.abc import Iterable
from hashlib import blake2b

import numpy as np
from numpy.typing import NDArray

from headrace.uncertainty.distributions import DISTRIBUTIONS
from headrace.uncertainty.source import Source


def stream(seed: int, block: int, name: str) -> np.random.Generator:
    """The generator of one source in one block."""
    digest = blake2b(name.encode(), digest_size=8).digest()
    key = (block, int.from_bytes(digest[:4], "big"), int.from_bytes(digest[4:], "big"))
    return np.random.Generator(np.random.SFC64(np.random.SeedSequence(seed, spawn_key=key)))


def draw(source: Source, seed: int, block: int, size: int) -> NDArray[np.float64]:
    """Errors of one source in one block, in its own unit."""
    shape = DISTRIBUTIONS[source.dist]
    return source.u * shape.draw(stream(seed, block, source.name), size, source.dof)


def block_errors(
    sources: Iterable[Source], seed: int, block: int, size: int
) -> dict[str, NDArray[np.float64]]:
    """Errors of all sources in one block."""
    return {source.name: draw(source, seed, block, size) for source in sources}
