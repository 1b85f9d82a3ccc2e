"""The house itself: the lock names no host, the licence is there, CI runs what it must, typed marker shipped."""

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LOCK = (ROOT / "requirements/dev.txt").read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def test_the_lock_names_no_host() -> None:
    assert not re.search(r"://|--(extra-)?index-url|--find-links|--trusted-host|^-i\b", LOCK, re.MULTILINE)


def test_every_line_of_the_lock_is_pinned_and_hashed() -> None:
    entries = re.split(r"\n(?=\S)", re.sub(r"^\s*#.*\n", "", LOCK, flags=re.MULTILINE).strip())
    assert len(entries) > 30
    for entry in entries:
        assert re.match(r"[\w.-]+(\[[\w,-]+\])?==", entry), entry
        assert "--hash=sha256:" in entry, entry


def test_the_lock_holds_everything_that_is_asked_for() -> None:
    def plain(name: str) -> str:
        return re.sub(r"[-_.]+", "-", re.split(r"[^\w.-]", name)[0]).lower()

    asked = [*PROJECT["project"]["dependencies"], *PROJECT["project"]["optional-dependencies"]["dev"]]
    held = {plain(line) for line in LOCK.splitlines() if "==" in line and not line.startswith((" ", "#"))}
    assert sorted({plain(name) for name in asked} - held) == []


def test_the_licence_is_the_one_that_is_named() -> None:
    text = (ROOT / "LICENSE").read_text(encoding="utf-8")
    assert PROJECT["project"]["license"] == "Apache-2.0"
    assert "Apache License" in text
    assert "Version 2.0" in text
    assert (ROOT / "src/headrace/py.typed").is_file()


def test_ci_runs_checks_and_tests() -> None:
    script = ROOT / ".ci/run"
    text = script.read_text(encoding="utf-8")
    assert script.stat().st_mode & 0o111
    assert re.search(r"^set -euo pipefail$", text, re.MULTILINE)
    assert {"make check", "make test"} <= set(text.splitlines())
