"""An unknown key is answered with the key it stands for."""

from __future__ import annotations

from pathlib import Path

import pytest

import planner
from planner.errors import InputRefused
from planner.other_words import OTHER_WORDS, nearest
from planner.record.reader import read_record

RECORD_KEYS = ("capacity_test", "charge_test", "claims", "cold_charge_test", "current_test", "storage", "instruments")


@pytest.mark.parametrize(
    ("word", "meant"),
    [
        ("surge", "current_test"),
        ("hold_test", "current_test"),
        ("Ramp test", "current_test"),
        ("capacity", "capacity_test"),
        ("capacity_tset", "capacity_test"),  # spelt wrong
        ("zzz", None),
    ],
)
def test_the_trade_s_other_words_come_before_the_spelling(word, meant):
    assert nearest(word, RECORD_KEYS) == meant


def test_a_word_counts_only_where_its_key_does():
    assert nearest("capacity", ("charge", "current")) == "charge"
    assert nearest("charge", ("capacity", "charge_bands", "charge_voltage")) == "capacity"
    assert nearest("surge", ("charge", "voltage")) != "current_test"


def test_every_key_that_a_word_stands_for_is_one_that_a_reader_takes():
    folder = Path(planner.__file__).parent
    read = "".join(path.read_text(encoding="utf-8") for room in ("record", "outing") for path in (folder / room).glob("*.py"))
    assert [key for key in OTHER_WORDS if f'"{key}"' not in read] == []


def test_a_record_with_a_surge_section_is_told_its_name(tmp_path):
    path = tmp_path / "unit.toml"
    path.write_text('format = 1\nname = "Invented"\n[[surge]]\ncurrent = "150 A"\n', encoding="utf-8")
    with pytest.raises(InputRefused, match="Did you mean current_test") as refused:
        read_record(path)
    assert "surge" in str(refused.value)
