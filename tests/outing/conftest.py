"""An outing read from a text, a log beside it, and what a refused one is told."""

import pytest

from planner.errors import InputRefused
from planner.outing.reader import read_outing
from tests.outing.texts import LOG


@pytest.fixture
def read(tmp_path):
    """Read an outing of this text, a log of that text beside it."""

    def of(text, log=LOG):
        (tmp_path / "log.csv").write_text(log, encoding="utf-8")
        path = tmp_path / "outing.toml"
        path.write_text(text, encoding="utf-8")
        return read_outing(path)

    return of


@pytest.fixture
def refused(read):
    """The problems of a refused text, by key."""

    def of(text, log=LOG):
        with pytest.raises(InputRefused) as caught:
            read(text, log)
        return {problem.key: problem for problem in caught.value.problems}

    return of
