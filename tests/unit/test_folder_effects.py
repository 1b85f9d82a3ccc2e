"""Keys of instruments, loggers, certificates and meters as they are: read to SI, or refused with what to write."""

import datetime
from math import sqrt
from pathlib import Path

import pytest

from headrace.errors import InputError
from headrace.files.check import check
from headrace.files.folder import read
from headrace.jobs.reduce import reduce
from headrace.records.effects import NO_EFFECTS
from headrace.records.given import Campaign
from support import golden_folder

STATED = """linearity = "0.05 % FS"
hysteresis = "0.1 % FS"
repeatability = "0.02 % of reading, k=2"
zero_with_temperature = "0.1 % FS per 10 K"
span_with_temperature = "0.2 % of reading per 10 K, k=2"
reference_temperature = "23 degC"
temperature_range = ["5 degC", "35 degC"]
zero_with_line_pressure = "0.14 % FS per 70 bar"
span_with_line_pressure = "1 mbar / bar"
logger = "DAQ-1"
logger_range = ["0 mA", "24 mA"]
"""
LOGGER = '[[logger]]\nid = "DAQ-1"\nbits = 16\naccuracy = "0.02 % of reading + 0.01 % of range"\n'
FORMER = """[[certificate]]
id = "C-087"
date = 2024-11-22
accuracy = "0.06 % FS, k=2"
points = [["0 bar", "0.1 mbar", "up"], ["2.5 bar", "2.5 bar", "up"],
  ["2.5 bar", "2.5 bar", "down"], ["0 bar", "-1 mbar", "down"]]
as_found = [["0 bar", "0 bar"], ["2.5 bar", "2.501 bar"]]
valid_until = 2025-11-22
"""
SIGNAL = 'signal = ["4 mA", "20 mA"]\n'


def changed(**texts: tuple[str, str]) -> dict[str, str | None]:
    """The golden folder with a text of one or more files replaced; file names without their ending."""
    files = golden_folder.files()
    out: dict[str, str | None] = {}
    for kind, (old, new) in texts.items():
        name = "runs/W07/run.toml" if kind == "run" else f"{kind}.toml"
        assert old in files[name]
        out[name] = files[name].replace(old, new, 1)
    return out


def full(tmp_path: Path) -> Campaign:
    return read(golden_folder.write(tmp_path, changed(
        bench=(SIGNAL, SIGNAL + STATED + LOGGER),
        certificates=('origin = "invented laboratory, 12"', 'former = "C-087"\norigin = "x"\n' + FORMER),
        run=("date = 2026-03-12", 'date = 2026-03-12\nair_temperature = "18 degC ± 2 K"'),
    )))  # fmt: skip


def test_what_a_data_sheet_states_is_read_per_unit(tmp_path: Path) -> None:
    campaign = full(tmp_path)
    cell = campaign.bench.instruments["DP-A"].effects
    assert cell.linearity is not None
    assert cell.linearity.of_span == pytest.approx(5e-4 / sqrt(3))
    assert cell.hysteresis is not None
    assert cell.hysteresis.of_span == pytest.approx(1e-3 / sqrt(3))
    assert cell.repeatability is not None
    assert (cell.repeatability.of_reading, cell.repeatability.dist) == (pytest.approx(1e-4), "normal")
    assert cell.zero_per_kelvin is not None
    assert cell.zero_per_kelvin.of_span == pytest.approx(1e-4 / sqrt(3))
    assert cell.span_per_kelvin is not None
    assert (cell.span_per_kelvin.of_reading, cell.span_per_kelvin.dist) == (pytest.approx(1e-4), "normal")
    assert (cell.reference_temp, cell.temp_span) == (pytest.approx(296.15), pytest.approx((278.15, 308.15)))
    assert cell.zero_per_pascal is not None
    assert cell.zero_per_pascal.of_span == pytest.approx(2e-5 / sqrt(3) / 1e5)
    assert cell.span_per_pascal is not None
    assert cell.span_per_pascal.absolute == pytest.approx(100 / sqrt(3) / 1e5)
    assert cell.logger == "DAQ-1"
    assert cell.raw_width == pytest.approx(1.5 * 2.5e5)  # 24 mA of a 16 mA span
    assert campaign.bench.instruments["PM-OX"].effects is NO_EFFECTS
    logger = campaign.bench.loggers["DAQ-1"]
    assert (logger.bits, logger.gain, logger.offset) == (
        16,
        pytest.approx(2e-4 / sqrt(3)),
        pytest.approx(1e-4 / sqrt(3)),
    )
    air = campaign.runs["W07"].air_temperature
    assert air is not None
    assert air.value == pytest.approx(291.15)


def test_a_chain_of_certificates_is_read_as_its_instrument_measures(tmp_path: Path) -> None:
    books = full(tmp_path).certificates
    assert books["C-101"].former == "C-087"
    old = books["C-087"]
    assert old.points == ((0.0, pytest.approx(10.0)), (2.5e5, 2.5e5))
    assert old.falling == ((0.0, -100.0), (2.5e5, 2.5e5))
    assert old.as_found == ((0.0, 0.0), (2.5e5, pytest.approx(250100.0)))
    assert old.valid_until == datetime.date(2025, 11, 22)


def test_what_is_stated_acts_in_the_reduction_under_its_own_name(tmp_path: Path) -> None:
    found = {source.name: source for source in reduce(full(tmp_path)).sources}
    wanted = {
        "DP-A.linearity", "W07.DP-A.repeatability", "DP-A.span_per_kelvin", "DAQ-1.gain", "W07.DP-A.steps",
        "DP-A.span_per_pascal", "DP-A.zero_per_pascal",
    }  # fmt: skip
    assert wanted - set(found) == set()
    assert "DP-A.zero_per_kelvin" not in found  # its zero was taken on the day
    assert "DP-A.hysteresis" not in found or found["DP-A.hysteresis"].scope == "instrument"


def test_a_barometric_certificate(tmp_path: Path) -> None:
    """An absolute gauge certified in gauge pressure: the laboratory's air is added to what is true."""
    paper = """[[certificate]]
id = "C-ABS"
date = 2026-01-02
accuracy = "2 mbar, k=2"
laboratory_pressure = "1000 mbar(a)"
points = [["1 bar(a)", "1 mbar(g)"], ["6 bar(a)", "5 bar(g)"]]
[[certificate]]
id = "C-201"
"""
    folder = golden_folder.write(tmp_path, changed(
        bench=('accuracy = "10 mbar"', 'accuracy = "10 mbar"\ncertificate = "C-ABS"'),
        certificates=('[[certificate]]\nid = "C-201"\n', paper),
    ))  # fmt: skip
    assert read(folder).certificates["C-ABS"].points == ((1e5, pytest.approx(100100.0)), (6e5, 6e5))


METER = """[[instrument]]
tag = "TF-B"
measures = "frequency"
range = ["0 Hz", "2000 Hz"]
accuracy = "0.01 % of reading"
[[meter]]
id = "TM-B"
kind = "turbine"
signal = "TF-B"
k = "1240 1/L ± 0.5 %"
linearity = "0.25 %"
certificate = "C-301"
[[tap]]
id = "T-OX"
"""
CURVE = """[[certificate]]
id = "C-301"
date = 2026-01-02
accuracy = "0.2 % of reading, k=2"
over = "frequency"
points = [["100 Hz", "1230 1/L"], ["1500 Hz", "1241 1/L"]]
[[certificate]]
id = "C-201"
"""
AT = ('[[certificate]]\nid = "C-201"\n', CURVE)


def test_a_turbine_with_its_curve(tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path, changed(bench=('[[tap]]\nid = "T-OX"\n', METER), certificates=AT))
    campaign = read(folder)
    book = campaign.certificates["C-301"]
    assert book.over == "frequency"
    assert book.points == ((100.0, pytest.approx(1.23e6)), (1500.0, pytest.approx(1.241e6)))
    meter = campaign.bench.meters["TM-B"]
    assert meter.values["linearity"].value == pytest.approx(0.0025)
    assert meter.instruments == {"signal": "TF-B"}


FAULTS = [
    ("bench", SIGNAL, SIGNAL + 'zero_with_temperature = "1 % FS"\n', "zero_with_temperature", "per so much"),
    ("bench", SIGNAL, SIGNAL + 'zero_with_temperature = "1 % FS per 1 bar"\n', "zero_with_temperature", "temperature"),
    ("bench", SIGNAL, SIGNAL + 'span_with_line_pressure = "0.1 % FS per 10 K"\n', "span_with_line", "pressure"),
    ("bench", SIGNAL, SIGNAL + 'zero_with_temperature = "0.1 % FS per 10 K"\n', "reference_temperature", "nothing"),
    ("bench", SIGNAL, SIGNAL + 'hysteresis = "0.1 %"\n', "hysteresis", "% of span"),
    ("bench", SIGNAL, SIGNAL + 'logger = "DAQ-9"\n', "logger", "a logger of bench.toml"),
    ("bench", SIGNAL, SIGNAL + 'logger_range = ["0 mA", "24 mA"]\n', "logger_range", "both beside"),
    ("bench", SIGNAL, SIGNAL + 'logger = "DAQ-1"\nlogger_range = ["0 mA", "10 mA"]\n' + LOGGER,
     "logger_range", "holds it"),
    ("bench", SIGNAL, SIGNAL + 'logger = "DAQ-1"\nlogger_range = ["0 V", "10 V"]\n' + LOGGER,
     "logger_range", "unit of"),
    ("bench", SIGNAL, SIGNAL + LOGGER.replace("16", "64"), "bits", "less than or equal to 32"),
    ("certificates", "points = [", 'points = [["0 bar", "1 mbar", "sideways"], ', "points", '"up" or "down"'),
    ("certificates", "points = [", 'as_found = [["1 bar", "1 bar"], ["0 bar", "0 bar"]]\npoints = [',
     "as_found", "rising"),
    ("certificates", '"0.0004 bar"], ["2.5 bar", "2.5009 bar"', '"0.0004 bar", "down"], ["2.5 bar", "2.5 bar", "down"',
     "points", '"up" too'),
    ("certificates", 'reference = "DWT-2"', 'former = "C-102"', "former", "a certificate of certificates.toml"),
    ("certificates", 'reference = "DWT-2"', 'former = "C-101"', "former", "an older certificate"),
    ("certificates", 'reference = "DWT-2"', 'over = "re"', "over", "no `over`"),
    ("certificates", 'date = 2025-10-02', 'date = 2025-10-02\nover = "frequency"', "over", "re, as its meter"),
    ("run", "date = 2026-03-12", 'date = 2026-03-12\nair_temperature = "18 bar"', "air_temperature", "a unit of temp"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "old", "new", "key", "words"), FAULTS)
def test_nonsense_is_refused(kind: str, old: str, new: str, key: str, words: str, tmp_path: Path) -> None:
    golden_folder.write(tmp_path, changed(**{kind: (old, new)}))
    told = check(tmp_path)
    texts = [f"{one.key}: {one.found} {one.expected} {one.try_}" for one in (*told.problems, *told.questions)]
    assert any(key in text and words in text for text in texts), texts
    if told.problems:
        with pytest.raises(InputError):
            read(tmp_path)


def test_a_turbine_s_curve_must_say_what_it_runs_over(tmp_path: Path) -> None:
    bare = CURVE.replace('over = "frequency"\n', "")
    golden_folder.write(
        tmp_path, changed(bench=('[[tap]]\nid = "T-OX"\n', METER), certificates=(AT[0], bare))
    )
    texts = [f"{one.key} {one.expected}" for one in check(tmp_path).problems]
    assert any("over" in text and "frequency or volume_flow or re" in text for text in texts), texts
