"""Settings are checked before anything starts."""

import pytest

from saltcalc.service.config import read_settings

WHOLE_NUMBERS = {
    "WORKERS": (1, 64),
    "TIMEOUT_SECONDS": (1, 3600),
    "GRACEFUL_SECONDS": (1, 3600),
    "PORT": (1, 65_535),
    "MAX_BODY_BYTES": (1_000, 100_000_000),
}


@pytest.mark.parametrize("name", WHOLE_NUMBERS)
def test_a_whole_number_is_held_to_its_range_and_named_with_it(name):
    low, high = WHOLE_NUMBERS[name]
    for value in (low, high):
        assert getattr(read_settings({f"SALTCALC_{name}": str(value)}), name.lower()) == value
    for value in (low - 1, high + 1, "two", "", 1.5):
        with pytest.raises(ValueError, match=f"from {low} to {high}") as caught:
            read_settings({f"SALTCALC_{name}": str(value)})
        assert str(caught.value).startswith(f"SALTCALC_{name}: '{value}' is not ")


def test_an_unknown_log_level_is_told_the_known_ones():
    with pytest.raises(ValueError, match="SALTCALC_LOG_LEVEL: 'loud' is not one of DEBUG, INFO"):
        read_settings({"SALTCALC_LOG_LEVEL": "loud"})


def test_a_fault_of_the_own_crops_is_told_by_line_and_column(tmp_path):
    table = tmp_path / "own.csv"
    table.write_text("id,name,group,source,provenance\nx,X,weeds,ours,seen\n")
    with pytest.raises(ValueError, match=r"SALTCALC_LOCAL_CROPS: own\.csv, line 2, column group: "):
        read_settings({"SALTCALC_LOCAL_CROPS": str(table)})
