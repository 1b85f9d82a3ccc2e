"""A campaign whose runs are all left out says so in one plain doubt; one with a run that counts does not."""

from dataclasses import replace

from headrace.jobs.reduce import reduce
from headrace.notices import Severity, stands
from support import hand_made as made

E = 2.31e-4


def test_all_left_out() -> None:
    first, second = (replace(made.metered(name, E), excluded="valve stuck") for name in ("W01", "W02"))
    done = reduce(made.campaign(first, second))
    (one,) = [notice for notice in done.notices if notice.code == "no-run-counts"]
    assert (one.severity, one.run) == (Severity.DOUBT, None)
    assert "W01, W02 are left out" in one.text
    assert dict(one.facts) == {"runs": 2.0, "runs_left_out": 2.0}
    assert not stands(done.notices)
    assert done.characteristics == {}


def test_one_counts_or_there_is_none_yet() -> None:
    left = replace(made.metered("W02", E), excluded="valve stuck")
    for runs in ((made.metered("W01", E), left), ()):
        assert "no-run-counts" not in {one.code for one in reduce(made.campaign(*runs)).notices}
