"""A campaign folder through its life, by rules in any order: what is promised of it holds after each of them.

`check` never raises; a raw file and its seal never change by a command; the same inputs give the same numbers bit by
bit, kept records or not; an excluded run never enters; a signed sheet whose inputs changed is a stop.
"""

import hashlib
import json
import os
import shutil
import tempfile
from pathlib import Path
from typing import Any
from unittest.mock import patch

from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from headrace.files import cache
from support import mini
from support.commands import Ended, headrace

ANSWERS = (
    ('date = "?"', "date = 2026-03-12"), ('ambient = "?"', 'ambient = "1007 mbar(a) ± 1 mbar"'),
    ('circuits = ["?"]', 'circuits = ["ox"]'),
)  # fmt: skip
EXCLUDED = '[exclude]\nreason = "the hose came off (invented)"\n'
RUNS = ("W01", "W02")
_originals: dict[str, bytes] = {}


def originals() -> dict[str, bytes]:
    """The campaign as it begins: two logged runs, an engine; written once."""
    if not _originals:
        with tempfile.TemporaryDirectory() as place:
            mini.write_mini(Path(place), 3, runs=1, draws=1000, rate=10.0, flowing=4.0)
            for path in sorted(Path(place).rglob("*")):
                if path.is_file():
                    _originals[path.relative_to(place).as_posix()] = path.read_bytes()
    return _originals


class Life(RuleBasedStateMachine):
    """One campaign in a folder of its own."""

    def __init__(self) -> None:
        super().__init__()
        self.place = Path(tempfile.mkdtemp())
        self.folder = self.place / "campaign"
        self.patch = patch.object(cache, "LEAST", 1)  # small raw files are kept as well
        self.patch.start()
        self.raw: dict[str, bytes] = {}
        self.damaged: set[str] = set()
        self.drafts: list[str] = []
        self.signed: dict[str, str] | None = None
        self.known: dict[str, str] = {}
        self.clock = 1_780_000_000

    def teardown(self) -> None:
        self.patch.stop()
        shutil.rmtree(self.place)

    @initialize()
    def begin(self) -> None:
        for name, data in originals().items():
            (self.folder / name).parent.mkdir(parents=True, exist_ok=True)
            (self.folder / name).write_bytes(data)
        self.hold()

    def hold(self) -> None:
        """Remember raw files and their seals as they came."""
        for path in self.folder.glob("runs/*/*"):
            if path.name != "run.toml":
                self.raw.setdefault(path.relative_to(self.folder).as_posix(), path.read_bytes())

    def written(self, name: str, text: str) -> None:
        """Write as an editor does, at a later time than before."""
        self.clock += 1
        (self.folder / name).write_text(text, encoding="utf-8")
        os.utime(self.folder / name, (self.clock, self.clock))

    def text(self, name: str) -> str:
        return (self.folder / name).read_text(encoding="utf-8")

    def inputs(self) -> dict[str, str]:
        """Hash of all that a result may rest on."""
        names = [*self.folder.glob("*.toml"), *self.folder.glob("runs/*/*")]
        return {
            path.relative_to(self.folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
            for path in sorted(names)
        }

    def asked(self, *words: str) -> Ended:
        """A command; what it says with the same inputs is what it said before."""
        ended = headrace(words[0], self.folder, *words[1:])
        key = json.dumps([words, self.inputs()])
        assert self.known.setdefault(key, f"{ended.code} {ended.out}") == f"{ended.code} {ended.out}"
        return ended

    @rule(as_json=st.booleans())
    def reduce(self, as_json: bool) -> None:
        ended = self.asked("reduce", *(["--json"] if as_json else []))
        assert ended.code == (2 if self.damaged else 1 if self.drafts else 0)
        if as_json and not self.damaged:
            self.judged(json.loads(ended.out))

    def judged(self, said: dict[str, Any]) -> None:
        """Only runs that are neither excluded nor open are in the numbers."""
        out = {run for run in RUNS if EXCLUDED in self.text(f"runs/{run}/run.toml")}
        entered = {run for circuit in said["circuits"].values() for run in circuit["weights"]}
        assert not entered & {*out, *self.drafts}
        made = json.loads(self.text("results/reduce.json"))["made_from"]["inputs"]
        now = self.inputs()
        assert {name: sha for name, sha in now.items() if not name.endswith(".sha256")} == made

    @rule(again=st.integers(1, 3))
    def bring(self, again: int) -> None:
        """A raw file, some of it the same as one that is there already."""
        source = self.place / f"day {again}.csv"
        source.write_bytes(originals()["runs/W01/W01.csv"] + b"9.9000,0.5,17.10,-0.01\n" * again)
        ended = headrace("bring", self.folder, source, "--json")
        assert ended.code in (0, 1)
        said = json.loads(ended.out)
        assert (self.folder / said["file"]).read_bytes() == source.read_bytes()
        self.drafts.append(said["run"])
        self.hold()

    @precondition(lambda self: self.drafts)
    @rule()
    def answer(self) -> None:
        """The draft's questions are answered, and the run is set aside: it is a copy of another."""
        run = self.drafts.pop()
        name = f"runs/{run}/run.toml"
        text = self.text(name)
        for old, new in ANSWERS:
            text = text.replace(old, new, 1)
        self.written(name, text.replace("[[flow]]", EXCLUDED + "[[flow]]"))
        checked = headrace("check", self.folder, "--json")
        assert not [one for one in json.loads(checked.out)["questions"] if f"/{run}/" in one["file"]], (
            checked.out
        )

    @rule(name=st.sampled_from(("bench.toml", "article.toml", "runs/W01/run.toml", "runs/W01/W01.csv")))
    def touch(self, name: str) -> None:
        self.clock += 1
        os.utime(self.folder / name, (self.clock, self.clock))

    @rule(name=st.sampled_from(("bench.toml", "engine.toml", "runs/W02/run.toml")))
    def comment(self, name: str) -> None:
        self.written(name, self.text(name) + "# seen again\n")

    @rule(run=st.sampled_from(RUNS))
    def exclude_or_undo(self, run: str) -> None:
        name = f"runs/{run}/run.toml"
        text = self.text(name)
        self.written(
            name,
            text.replace(EXCLUDED, "")
            if EXCLUDED in text
            else text.replace("[[flow]]", EXCLUDED + "[[flow]]"),
        )

    @rule()
    def clear(self) -> None:
        shutil.rmtree(self.folder / "results", ignore_errors=True)

    @rule(run=st.sampled_from(RUNS))
    def damage_or_repair(self, run: str) -> None:
        name = f"runs/{run}/{run}.csv"
        whole = self.raw[name]
        self.clock += 1
        if name in self.damaged:
            self.damaged.remove(name)
            (self.folder / name).write_bytes(whole)
        else:
            self.damaged.add(name)
            (self.folder / name).write_bytes(whole[:-3] + b"55\n")
        os.utime(self.folder / name, (self.clock, self.clock))

    @rule()
    def sign(self) -> None:
        before = self.inputs()
        ended = headrace("sheet", self.folder, "--sign", "A. Example", "--json")
        if ended.code == 0:
            assert json.loads(ended.out)["signed"]
            self.signed = before
        else:
            assert ended.code == 2 or json.loads(ended.out)["signed"] is None

    @invariant()
    def stands(self) -> None:
        if not self.folder.exists():
            return
        ended = headrace("check", self.folder, "--json")
        assert ended.code in (0, 1, 2)
        said = json.loads(ended.out)
        assert {one["file"] for one in said["problems"]} == self.damaged
        codes = {one["code"] for one in said["notices"]}
        if self.signed is not None:
            now = self.inputs()
            changed = any(
                now[name] != sha for name, sha in self.signed.items() if not name.endswith(".sha256")
            )
            if changed:
                assert "signed-inputs-changed" in codes
        for name, data in self.raw.items():
            assert name in self.damaged or (self.folder / name).read_bytes() == data


TestLife = Life.TestCase
TestLife.settings = settings(
    max_examples=4,
    stateful_step_count=15,
    deadline=None,
    phases=(Phase.generate,),
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)
