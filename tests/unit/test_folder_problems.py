"""Each bad input gives one message with the right file, line, key, what was found, what is wanted and what to write."""

import hashlib
from pathlib import Path

import pytest

from headrace.errors import InputError
from headrace.files.check import check
from headrace.files.folder import gather, read
from support import golden_folder

CAMPAIGN, BENCH, ENGINE = "campaign.toml", "bench.toml", "engine.toml"
CERTIFICATES, ARTICLE = "certificates.toml", "article.toml"
W07, H01, H02 = "runs/W07/run.toml", "runs/H01/run.toml", "runs/H02/run.toml"

# file, text of the golden folder, what is put in its place, a text in the line that must be named (None: the
# changed one), key, then words of: found, expected, what to try
CASES = [
    (CAMPAIGN, "format = 1", "format = 2", None, "format", "2", "less than or equal to 1", ""),
    (CAMPAIGN, "date = 2026-03-14", 'date = "14 March"', None, "date", '"14 March"', "without quotes",
     "date = 2026-03-14"),
    (CAMPAIGN, "date = 2026-03-14", 'date = "25.11.2026"', None, "date", '"25.11.2026"', "without quotes",
     "date = 2026-11-25, without quotes"),
    (CAMPAIGN, "date = 2026-03-14", 'date = "3/4/2026"', None, "date", '"3/4/2026"', "without quotes",
     "date = 2026-03-04 or 2026-04-03"),
    (CAMPAIGN, "date = 2026-03-14", "date = 2026/11/25", None, "", "2026/11/25", "TOML", "date = 2026-11-25"),
    (CAMPAIGN, "draws = 20000", "draws = 2,5", None, "", "draws = 2,5", "TOML", "decimal point: draws = 2.5"),
    (CAMPAIGN, "invented = true", 'invented = "yes"', None, "invented", '"yes"', "true or false", "invented = true"),
    (CAMPAIGN, "signers =", "singers =", None, "singers", 'key "singers"', "signers", '"signers"'),
    (CAMPAIGN, "[limits]", "[limit]", None, "limit", 'key "limit"', "limits", '"limits"'),
    (CAMPAIGN, '"12 %"', '"120 %"', None, "limits.injector_drop", '"120 %"', "above 0 and below 1", "check"),
    (CAMPAIGN, '"3 bar"', '"3 bar(g)"', None, "limits.vapour_margin", "says gauge", "without (g) or (a)", '"3 bar"'),
    (CAMPAIGN, "draws = 20000", "draws = 1", None, "defaults.draws", "1", "greater than or equal to 1000", ""),
    (CAMPAIGN, 'coverage = "95 %"', "coverage = 95", None, "defaults.coverage", '"95"', "below 1", "check"),
    (CAMPAIGN, '"Heron water campaign"', "Heron", None, "", "name = Heron", "TOML", "double quotes"),
    (BENCH, '["0 bar", "2.5 bar"]', '["2.5 bar", "0 bar"]', None, "instrument[0].range", '["2.5 bar", "0 bar"]',
     "the lower first", '["0 bar", "2.5 bar"]'),
    (BENCH, '["0 bar(g)", "40 bar(g)"]', '["0 bar", "40 bar"]', None, "instrument[1].range", '"0 bar"', "(g) or (a)",
     'write "0 bar(g)"'),
    (BENCH, '"0.1 % FS"', '"0.1 %"', None, "instrument[0].accuracy", '"0.1 %"', "% of span", 'write "0.1 % FS"'),
    (BENCH, '["4 mA", "20 mA"]', '["4 mA", "5 V"]', None, "instrument[0].signal", '"5 V"', "one unit", "20 mA"),
    (BENCH, '"20 ms"', '"20 mbar"', None, "instrument[0].lag", '"20 mbar"', "a unit of time", "measures pressure"),
    (BENCH, 'dp = "DP-A"', 'dp = "PM-OX"', None, "meter[0].dp", "measures gauge", "measures drop", '"DP-A"'),
    (BENCH, '"venturi-machined"', '"venturi-machind"', None, "meter[0].kind", '"venturi-machind"', "orifice-corner",
     '"venturi-machined"'),
    (BENCH, '"26.02 mm ± 0.01 mm"', '"52.48 mm ± 0.01 mm"', None, "meter[0].d_throat", "52.48 mm ± 0.01 mm",
     "less than d_pipe", "swap"),
    (BENCH, 'c = "0.9885', 'cd = "0.9885', None, "meter[0].cd", 'key "cd"', "d_throat", '"c"'),
    (BENCH, '"52.48 mm ± 0.03 mm"', "52.48", None, "meter[0].d_pipe", "52.48", "a length as text", "mm"),
    (BENCH, '"52.48 mm ± 0.03 mm"', '"52.48 mmm"', None, "meter[0].d_pipe", '"mmm"', "a unit of length", "mm, if"),
    (BENCH, '"C-201"', '"C201"', None, "meter[0].certificate", '"C201"', "certificates.toml", '"C-201"'),
    (BENCH, 'basis = "static"', 'basis = "dynamic"', None, "tap[0].basis", '"dynamic"', "static, total", '"static"'),
    (BENCH, '"0.283 m2 ± 0.5 %"', '"-0.283 m2"', None, "vessel[0].section", '"-0.283 m2"', "an area above 0", "sign"),
    (BENCH, 'accuracy = "0.5 K"\n', "", '[[instrument]]\ntag = "TW-A"', "instrument[4].accuracy", "nothing",
     "accuracy", "accuracy ="),
    (BENCH, 'accuracy = "0.5 K"', 'accuracy = "?"', None, "instrument[4].accuracy", '"?"', "accuracy", "accuracy ="),
    (CERTIFICATES, "2025-11-20", "2025-11-20T10:00:00", None, "certificate[0].date", "10:00", "a date", "2025-11-20"),
    (CERTIFICATES, 'reference = "DWT-2"', 'reference = "DWT-3"', None, "certificate[0].reference", '"DWT-3"',
     "reference standard", '"DWT-2"'),
    (CERTIFICATES, '"2.5 bar", "2.5009 bar"', '"2.5 K", "2.5009 bar"', None, "certificate[0].points[1][0]", '"2.5 K"',
     "a unit of pressure", "temperature"),
    (CERTIFICATES, "0.05 % of reading + 0.02 % FS", "0.05 %", None, "certificate[0].accuracy", '"0.05 %', "% of span",
     "0.05 % FS"),
    (ARTICLE, "count = 60", "count = 0", None, "circuit[0].count", "0", "greater than or equal to 1", ""),
    (ARTICLE, '"pressure-swirl"', '"swirl"', None, "circuit[0].element", '"swirl"', "an element kind",
     "pressure-swirl"),
    (ARTICLE, '"67.9 mm2 ± 1 mm2"', '"67.9 mm ± 1 mm"', None, "circuit[0].area", "67.9 mm", "a unit of area", "mm2"),
    (ARTICLE, 'tap = "T-OX"', 'tap = "TOX"', None, "circuit[0].tap", '"TOX"', "a tap of bench.toml", '"T-OX"'),
    (ARTICLE, '"austenitic-steel"', '"steel"', None, "circuit[0].alloy", '"steel"', "aluminium", ""),
    (ENGINE, '"20 bar(a)"', '"20 bar"', None, "design.p_chamber", '"20 bar"', "(g) or (a)", 'write "20 bar(a)"'),
    (ENGINE, '"50 bar(g)"', '"31.5 bar"', None, "ox.tank.rating", '"31.5 bar"', "(g) or (a)", 'write "31.5 bar(g)"'),
    (ENGINE, "of_ratio = 2.2", 'm_dot = "9 kg/s"\nof_ratio = 2.2', 'p_chamber = "20 bar(a)"', "design.p_chamber",
     "both",
     "either p_chamber or m_dot", "one of the two"),
    (ENGINE, '[["1775 m/s", "1780 m/s"]', '[["1775 m/s"]', None, "c_star.table", "[1, 2] values", "3 rows of 2", ""),
    (ENGINE, "of_ratio = [2.0, 2.2", "of_ratio = [2.2, 2.0", None, "c_star.of_ratio", "[2.2, 2.0", "rising", ""),
    (ENGINE, 'propellant = "lox"', 'propellant = "lux"', None, "ox.propellant", '"lux"', "a propellant", "lox"),
    (ENGINE, '"90.5 K ± 0.5 K"', '"90.5 degC"', None, "ox.temperature", "90.5 degC", "liquid", "unit"),
    (ENGINE, '"90.5 K ± 0.5 K"', '"-290 degC"', None, "ox.temperature", "-290 degC", "absolute zero", "unit"),
    (ENGINE, '"0.93 ± 0.02 (k=1)"', '"93"', None, "c_star.efficiency", '"93"', "at most 1.1", "check"),
    (ENGINE, "film = false", "film = 0", None, "ox.circuit[0].film", "0", "true or false", "film = false"),
    (ENGINE, "film_counts = true", "", "[design]", "design.film_counts", "nothing", "film", "film_counts = true"),
    (ENGINE, 're = 1.5e5\n', "", "[ox.feed]", "ox.feed.re", "nothing", "friction", "re ="),
    (ENGINE, 'gauge = "PG-OX"', 'gauge = "PGOX"', None, "ox.tank.gauge", '"PGOX"', "an instrument", '"PG-OX"'),
    (ENGINE, '[[fuel.circuit]]\nid = "fuel"', '[[fuel.circuit]]\nid = "ox"', None, "fuel.circuit[0].id",
     "a second time",
     "one side", ""),
    (W07, '"metered"', '"meterd"', None, "method", '"meterd"', "long-minus-short", '"metered"'),
    (W07, 'file = "W07.csv"', 'file = "W7.csv"', None, "file", '"W7.csv"', "folder of the run", '"W07.csv"'),
    (W07, 'file = "W07.csv"', 'file = "../H01/run.toml"', None, "file", "../H01", "folder of the run", '"W07.csv"'),
    (W07, '["ox"]', '["oxid"]', None, "flow[0].circuits[0]", '"oxid"', "a circuit or part of article.toml", '"ox"'),
    (W07, '["ox"]', '["ox", "ox"]', None, "flow[0].circuits[1]", "a second time", "one flow", ""),
    (W07, '"p manifold"', '"p mannifold"', None, 'channels."p mannifold"', '"p mannifold"', "the raw file",
     '"p manifold"'),
    (W07, '"p manifold" = { instrument = "PM-OX" }\n', "", "p_tap", "flow[0].p_tap", '"PM-OX"', "[channels]",
     "PM-OX"),
    (W07, '"dp venturi A" = { instrument = "DP-A", unit = "mA" }\n', "", "[channels]", "channels", '"DP-A"',
     'meter of line "A"', "DP-A"),
    (W07, 'unit = "mA"', 'unit = "mbar"', None, 'channels."dp venturi A".unit', '"mbar"', "a unit of current",
     "DP-A"),
    (W07, '{ instrument = "PM-OX" }', '{ instrument = "PM-OX", unit = "bar(a)" }', None, 'channels."p manifold".unit',
     "says abs", "gauge", "PM-OX"),
    (W07, '"18.0 s"', '"180 s"', None, "tare.after", "16 s to 180 s", "0 s to 18 s", "first row"),
    (W07, '"9.5 s"', '"2.5 s"', None, "window.end", "2.5 s", "after the start, 3 s", ""),
    (W07, '"comma"', '"dot"', None, "logger.decimal", "dot", "comma", ""),
    (W07, '"1009 mbar(a) ± 1 mbar"', '"1009 bar(a)"', None, "ambient", '"1009 bar(a)"', "below 1.2 bar", "unit"),
    (W07, '"water" = { instrument = "TW-A" }\n', "", 'kind = "water"', "water_temperature", "nothing", "TW-A",
     "water_temperature ="),
    (H01, '"12.4 bar(g)"', '"12.4 bar"', None, "hand[0].value", '"12.4 bar"', "(g) or (a)", 'write "12.4 bar(g)"'),
    (H01, '"12.4 bar(g)"', '"124 bar(g)"', None, "hand[0].value", '"124 bar(g)"', "25.00 bar(g)", "decimal mark"),
    (H01, '"12.4 bar(g)"', '"-1 bar(g)"', None, "hand[0].value", '"-1 bar(g)"', "range is 0 bar(g) to", "unit"),
    (H01, '"0.98 m ± 1 mm"', '"98 m ± 1 mm"', None, "total.level_after", "27.4", '"WV-A" holds, 0.400', "section"),
    (H01, 'division = "0.2 bar"', 'division = "0 bar"', None, "hand[0].division", '"0 bar"', "above 0", ""),
    (H01, 'moment = "end"', 'moment = "after"', "p_tap", "flow[0].p_tap", '"PG-TAP"', '"start" and "end"', ""),
    (H01, 'duration = "12.4 s ± 0.2 s"\n', "", "[total]", "total.duration", "nothing", "a duration", "duration ="),
    (H01, 'level_after = "0.98 m ± 1 mm"\n', "", "[total]", "total.level_after", "nothing", "since vessel",
     "level_after ="),
    (H02, 'minus = "H01"', 'minus = "W07"', None, "total.minus", "method metered", "by-hand", ""),
    (H02, '["fuel"]', '["film"]', 'minus = "H01"', "total.minus", '"H01"', "same circuits", ""),
    (H02, '"H01"', '"H02"', None, "total.minus", '"H02"', "another run", ""),
    (H02, 'water_temperature = "17.2 degC ± 0.5 K"\n', "", 'kind = "water"', "water_temperature", "nothing",
     "temperature of the water", "17.2 degC"),
    (W07, 'p_tap = "PM-OX"', 'p_tap = "PG-OX"', None, "flow[0].p_tap", '"PG-OX"', "an instrument of bench.toml", ""),
    (H02, 'minus = "H01"', 'minus = "H1"', None, "total.minus", '"H1"', "another run", '"H01"'),
    (H02, 'mass = "61.3 kg ± 0.05 kg"\n', "", "[total]", "total.mass", "nothing", "one of mass, volume", ""),
    (H02, '"the hose came off the weigh tank"', '""', None, "exclude.reason", '""', "says something", ""),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case[0]}: {case[2] or 'without ' + case[1]}"[:60])
def test_one_fault_gives_one_message(case: tuple[str, ...], tmp_path: Path) -> None:
    file, old, new, at, key, found, expected, try_ = case
    text = golden_folder.files()[file]
    assert old in text
    place = text.index(old)
    changed = text[:place] + new + text[place + len(old) :]
    spot = place + len(new) - 1 if at is None else changed.index(at)
    line = changed[:spot].count("\n") + 1
    problems = check(golden_folder.write(tmp_path, {file: changed})).problems
    assert [(one.file, one.line, one.key) for one in problems] == [(file, line, key)]
    told = problems[0]
    assert found in told.found
    assert expected in told.expected
    assert try_ in told.try_
    assert f"{file}, line {line}" in str(told)


def test_all_faults_of_all_files_are_told_at_once(tmp_path: Path) -> None:
    files = golden_folder.files()
    bad = {
        CAMPAIGN: files[CAMPAIGN].replace("format = 1", "format = 2"),
        BENCH: files[BENCH].replace('dp = "DP-A"', 'dp = "DP-B"').replace('"20 ms"', '"20"'),
        ENGINE: files[ENGINE].replace('"20 bar(a)"', '"20 bar"'),
        H01: files[H01].replace("9,5 bar(g)", "9,5"),
        H02: files[H02].replace('"H01"', '"H09"'),
    }
    with pytest.raises(InputError) as caught:
        read(golden_folder.write(tmp_path, bad))
    told = {(one.file, one.key) for one in caught.value.problems}
    assert told == {
        (CAMPAIGN, "format"), (BENCH, "instrument[0].lag"), (BENCH, "meter[0].dp"), (ENGINE, "design.p_chamber"),
        (H01, "hand[1].value"), (H02, "total.minus"),
    } - {(H01, "hand[1].value")}  # its instrument could not be read, so neither could its value  # fmt: skip
    assert all(one.line for one in caught.value.problems)


def test_a_changed_raw_file_names_both_hashes(tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path)
    raw = folder / "runs/W07/W07.csv"
    before = hashlib.sha256(raw.read_bytes()).hexdigest()
    raw.write_bytes(raw.read_bytes().replace(b"12,500", b"12,600", 1))
    after = hashlib.sha256(raw.read_bytes()).hexdigest()
    (problem,) = check(folder).problems
    assert problem.file == "runs/W07/W07.csv"
    assert before in problem.expected
    assert after in problem.found


def test_a_raw_file_without_its_hash_is_read_with_a_doubt(tmp_path: Path) -> None:
    checked = check(golden_folder.write(tmp_path, {"runs/W07/W07.csv.sha256": None}))
    assert checked.campaign is not None
    assert [one.code for one in checked.notices] == ["raw-file-unsealed"]


@pytest.mark.parametrize(
    ("unit", "codes"),
    [
        ("bar(g)", []),
        ("barg", []),
        ("kgf/cm2", ["unit-against-heading"]),
        ("mbar(g)", ["unit-against-heading"]),
    ],
)
def test_a_unit_that_the_raw_file_contradicts_is_told(unit: str, codes: list[str], tmp_path: Path) -> None:
    """1 kgf/cm2 is 2 % off 1 bar: small enough that nothing else would show it."""
    line = '"p manifold" = { instrument = "PM-OX" }'
    changed = golden_folder.METERED.replace(line, line.replace(" }", f', unit = "{unit}" }}'))
    assert changed != golden_folder.METERED
    checked = check(golden_folder.write(tmp_path, {W07: changed}))
    assert [one.code for one in checked.notices] == codes
    assert all(unit in one.text and "p manifold" in one.text for one in checked.notices)


@pytest.mark.parametrize("file", [CAMPAIGN, BENCH, ARTICLE])
def test_a_needed_file_that_is_missing_is_named(file: str, tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path, {file: None})
    assert [(one.file, one.line) for one in check(folder).problems][:1] == [(file, None)]


def test_a_misnamed_file_is_found(tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path, {BENCH: None, "bnech.toml": golden_folder.BENCH})
    told = {one.file: one.try_ for one in check(folder).problems}
    assert "bnech.toml" in told[BENCH]


@pytest.mark.parametrize("file", ["certificates.toml", ENGINE])
def test_an_optional_file_may_be_missing(file: str, tmp_path: Path) -> None:
    files = golden_folder.files()
    bench = "\n".join(line for line in files[BENCH].split("\n") if not line.startswith("certificate ="))
    folder = golden_folder.write(tmp_path, {file: None, BENCH: bench})
    assert check(folder).problems == ()


def test_no_folder_is_one_problem(tmp_path: Path) -> None:
    (problem,) = check(tmp_path / "nothing").problems
    assert "new" in problem.try_


def test_bytes_that_are_not_utf8_name_their_line(tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path)
    (folder / CAMPAIGN).write_bytes(golden_folder.CAMPAIGN.encode().replace(b"A. Example", b"A. Ex\xe4mple"))
    (problem,) = check(folder).problems
    assert (problem.file, problem.line) == (CAMPAIGN, 5)
    assert "0xe4" in problem.found


def test_a_question_of_the_raw_file_leaves_the_folder_readable(tmp_path: Path) -> None:
    raw = golden_folder.rows().replace("[bar(g)]", "")
    folder = golden_folder.write(tmp_path, {"runs/W07/W07.csv": raw, "runs/W07/W07.csv.sha256": None})
    checked = check(folder)
    assert checked.problems == ()
    (question,) = checked.questions
    assert (question.file, question.line, question.key) == (W07, 15, 'channels."p manifold"')
    assert 'unit = "bar"' in question.try_
    assert checked.campaign is not None
    assert "W07" not in checked.campaign.runs
    assert [one.run for one in checked.notices if one.code == "question-open"] == ["W07"]


def test_a_question_of_the_logger_names_the_key_that_answers_it(tmp_path: Path) -> None:
    raw = "\n".join(line.split(";", 1)[1] for line in golden_folder.rows().splitlines()) + "\n"
    folder = golden_folder.write(tmp_path, {"runs/W07/W07.csv": raw, "runs/W07/W07.csv.sha256": None})
    gathered = gather(folder)
    assert gathered.problems == ()
    assert [one.key for one in gathered.questions] == ["logger.sample_rate"]
    assert "[logger]" in gathered.questions[0].try_


def test_a_draft_tells_what_the_logger_asks_too(tmp_path: Path) -> None:
    raw = "\n".join(line.split(";", 1)[1] for line in golden_folder.rows().splitlines()) + "\n"
    draft = golden_folder.METERED.replace("date = 2026-03-12", 'date = "?"')
    folder = golden_folder.write(
        tmp_path, {W07: draft, "runs/W07/W07.csv": raw, "runs/W07/W07.csv.sha256": None}
    )
    checked = check(folder)
    assert checked.problems == ()
    assert [one.key for one in checked.questions] == ["date", "logger.sample_rate"]


def test_a_draft_still_guards_its_raw_file(tmp_path: Path) -> None:
    draft = golden_folder.METERED.replace("date = 2026-03-12", 'date = "?"')
    folder = golden_folder.write(tmp_path, {W07: draft, "runs/W07/W07.csv": "t\n1\n"})
    assert [one.file for one in check(folder).problems] == ["runs/W07/W07.csv"]


def test_a_pair_waits_for_its_short_run(tmp_path: Path) -> None:
    open_ = golden_folder.BY_HAND.replace("date = 2026-03-12", 'date = "?"')
    checked = check(golden_folder.write(tmp_path, {H01: open_}))
    assert checked.problems == ()
    assert checked.campaign is not None
    assert sorted(checked.campaign.runs) == ["W07"]
    assert {one.run for one in checked.notices if one.code == "question-open"} == {"H01", "H02"}


def test_a_file_that_cannot_be_opened_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = golden_folder.write(tmp_path)

    def locked(path: Path) -> str:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr("headrace.files.cache.sha256_of", locked)
    (problem,) = check(folder).problems
    assert problem.file == "runs/W07/W07.csv"
    assert "Permission denied" in problem.found


def test_a_relief_above_its_rating_is_a_stop(tmp_path: Path) -> None:
    engine = golden_folder.ENGINE.replace('"46 bar(g)"', '"51 bar(g)"')
    notices = check(golden_folder.write(tmp_path, {ENGINE: engine})).notices
    assert [(one.code, str(one.severity), one.about) for one in notices] == [
        ("relief-above-rating", "stop", "ox tank")
    ]


@pytest.mark.parametrize(
    ("bore", "codes"), [("50 mm", []), ("49.9 mm", ["bore-mismatch"]), ("55.4 mm", ["bore-mismatch"])]
)
def test_a_meter_wider_or_narrower_than_its_line_is_told(bore: str, codes: list[str], tmp_path: Path) -> None:
    changed = golden_folder.BENCH.replace('bore = "52.5 mm"', f'bore = "{bore}"')
    checked = check(golden_folder.write(tmp_path, {BENCH: changed}))
    assert [one.code for one in checked.notices] == codes
    assert all("52.48 mm" in one.text for one in checked.notices)


def test_a_needle_may_rest_a_little_below_its_scale(tmp_path: Path) -> None:
    changed = golden_folder.BY_HAND.replace('"12.4 bar(g)"', '"-0.3 bar(g)"')
    assert check(golden_folder.write(tmp_path, {H01: changed})).problems == ()
