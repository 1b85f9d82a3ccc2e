"""The bytes of a plain file and of nothing else: a pipe would be waited for, and a device has no end."""

import errno
import os
from pathlib import Path


def plain(path: Path) -> Path:
    """The path, if a file stands there or nothing does.

    Raises:
        OSError: a folder, a pipe or a device is in its place.
    """
    if path.exists() and not path.is_file():
        code = errno.EISDIR if path.is_dir() else errno.EINVAL
        text = os.strerror(code) if path.is_dir() else "No plain file"
        raise OSError(code, text, str(path))
    return path
