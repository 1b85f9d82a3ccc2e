"""The pages agree with the code: generated ones are fresh, codes and keys are in them, links and numbers hold."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from headrace.bench.elements import ELEMENTS
from headrace.bench.meters import METERS
from headrace.files.loggers import LOGGERS
from headrace.files.schema import FILES
from headrace.files.schema.run import METHODS as NEEDS
from headrace.findings import CAMPAIGN_FINDINGS, DAY_FINDINGS, RUN_FINDINGS
from headrace.jobs.day.events import EVENTS
from headrace.jobs.reduce.methods import METHODS
from headrace.physics.contraction import ALLOYS
from headrace.physics.fluids.registry import PROPELLANTS

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
PAGES = sorted([ROOT / "README.md", *DOCS.rglob("*.md")])
REGISTRIES = {
    "element kinds": ELEMENTS, "events": EVENTS, "meters": METERS, "alloys": ALLOYS, "methods": METHODS,
    "loggers": LOGGERS,
}  # fmt: skip


def read(name: str) -> str:
    return (DOCS / name).read_text(encoding="utf-8")


def test_generated_pages_say_what_the_code_says_now() -> None:
    done = subprocess.run(
        [sys.executable, str(DOCS / "generate.py"), "--check"], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout + done.stderr) == (0, "")


@pytest.mark.parametrize("what", REGISTRIES)
def test_every_key_of_a_registry_is_in_the_page_of_the_folder(what: str) -> None:
    page = read("folder.md")
    assert [
        key for key in REGISTRIES[what] if f"| `{key}`" not in page and f"read: `{key}`" not in page
    ] == []


def test_every_propellant_is_in_it() -> None:
    page = read("folder.md")
    names = [f"{one.mixture}-75" if one.mixture else name for name, one in PROPELLANTS.items()]
    assert [name for name in names if f"| `{name}`" not in page] == []


def test_the_folder_and_the_reduction_know_the_same_methods() -> None:
    assert set(NEEDS) == set(METHODS)


def test_every_code_raised_in_the_source_is_in_the_page_of_doubts() -> None:
    page = read("findings.md")
    source = "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "src").rglob("*.py"))
    raised = set(re.findall(r"Notice\(\s*code=\"([a-z0-9-]+)\"", source))
    assert len(raised) > 25
    assert sorted(code for code in raised if f"| `{code}` |" not in page) == []


def test_every_finding_is_named_after_its_module_and_raises_its_own_code_only() -> None:
    for code in (*RUN_FINDINGS, *CAMPAIGN_FINDINGS, *DAY_FINDINGS):
        text = (ROOT / "src/headrace/findings" / f"{code.replace('-', '_')}.py").read_text(encoding="utf-8")
        assert set(re.findall(r"code=\"([a-z0-9-]+)\"", text)) == {code}


def test_every_finding_has_a_test_of_its_own() -> None:
    files = {path.name for path in (ROOT / "tests").rglob("test_*.py")}
    for code in (*RUN_FINDINGS, *CAMPAIGN_FINDINGS, *DAY_FINDINGS):
        stem = code.replace("-", "_")
        assert {f"test_{stem}.py", f"test_{stem}_finding.py"} & files, code


@pytest.mark.parametrize("page", PAGES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_links_lead_somewhere(page: Path) -> None:
    links = re.findall(r"\]\(([^)\s]+)\)", page.read_text(encoding="utf-8"))
    broken = [
        link
        for link in links
        if not link.startswith(("http:", "https:", "#", "mailto:"))
        and not (page.parent / link.partition("#")[0]).exists()
    ]
    assert broken == []


def test_pages_named_in_the_source_exist() -> None:
    named = {
        name
        for path in (ROOT / "src").rglob("*.py")
        for name in re.findall(r"docs/[\w./-]+\.md", path.read_text(encoding="utf-8"))
    }
    assert sorted(name for name in named if not (ROOT / name).is_file()) == []


def test_decisions_are_numbered_without_a_gap_and_say_what_they_must() -> None:
    files = sorted((DOCS / "decisions").glob("*.md"))
    assert [path.name[:4] for path in files] == [f"{number:04d}" for number in range(1, len(files) + 1)]
    for path in files:
        text = path.read_text(encoding="utf-8")
        assert text.startswith(f"# {path.name[:4]}: "), path.name
        for part in ("Status: ", "Context: ", "Options: ", "Decision: ", "Consequences: "):
            assert f"\n{part}" in text, (path.name, part)


def test_rooms_of_the_architecture_are_those_of_the_package() -> None:
    page = read("architecture.md")
    rooms = {
        path.stem for path in (ROOT / "src/headrace").iterdir() if not path.name.startswith(("_", "py."))
    }
    assert sorted(room for room in rooms if f"`{room}" not in page) == []


def test_commands_of_the_readme_exist() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    known = set(re.findall(r"^## headrace (\w+)$", read("commands.md"), re.MULTILINE))
    used = set(re.findall(r"\.venv/bin/headrace (\w+)", text))
    assert len(used) > 5
    assert used <= known
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    targets = set(re.findall(r"make (demo|test|check|docs|bench)\b", text))
    assert all(f"\n{target}:" in makefile for target in targets)


def test_every_kind_of_file_is_a_chapter() -> None:
    page = read("folder.md")
    assert all(re.search(rf"^## .*{kind}\.toml$", page, re.MULTILINE) for kind in FILES)
