"""Slips planted in sound published reports: the right one is named first, and no sound one accused.

The reports and the slips stand in ``slips.py``. What can be detected is worked out there from the
report alone: a slip that moves the charge balance or the EC of the ions by more than twice what
they may be off by in a sound report (5 % and 10 %, Standard Methods 1030E).
"""

from collections import Counter
from itertools import combinations

import pytest

from saltcalc.data.extraction import extraction_methods
from saltcalc.parts.ions.report import OWN_WATER
from saltcalc.science.reporting_slips import LITRE_OF_MEDIUM, try_slips
from tests.published import slips
from tests.published.slips import ERROR_OF_BALANCE, ERROR_OF_EC, KINDS, PER_LITRE, complete

REPORTS = slips.sound_reports()
PLANTED = list(slips.planted())


def named(report):
    """The slips that are told of a report, the likely first."""
    trials = try_slips(
        report.charges, report.ec, report.ph, report.dilutions, solution=report.owner
    )
    return [trials.slips[row] for row in trials.closing(0)]


def is_right(found, right):
    kind, name, factor = right
    return (found.kind, found.name) == (kind, name) and (
        factor is None or found.factor == pytest.approx(factor)
    )


@pytest.mark.parametrize("report", REPORTS, ids=lambda report: report.id)
def test_the_reports_are_sound(report):
    error, ratio = slips.checks(report)
    assert abs(error) <= 1.1 * ERROR_OF_BALANCE
    assert abs(ratio - 1) <= ERROR_OF_EC / 100


def test_there_are_enough_reports_and_kinds():
    assert sum(map(complete, REPORTS)) >= 15
    assert len(KINDS) == 29
    assert {kind for kind, *_ in PLANTED} >= {
        "Na and K swapped",
        "Ca and Mg swapped",
        "per litre of medium",
        "ion typed 0",
        "K2O, CaO, MgO",
        "mmol/L bare",
    }


@pytest.mark.parametrize("report", REPORTS, ids=lambda report: report.id)
@pytest.mark.parametrize("left_out", [0, 1, 2])
def test_a_sound_report_is_not_accused(report, left_out):
    accused = {
        ions: found
        for ions in combinations(report.typed, left_out)
        if (found := named(report.without(*ions)))
    }
    assert accused == {}


@pytest.mark.parametrize("report", REPORTS, ids=lambda report: report.id)
@pytest.mark.parametrize("kept", [("nitrate_n",), ("nitrate_n", "ammonium_n"), ("sodium",)])
def test_a_few_ions_of_a_sound_report_accuse_nothing(report, kept):
    assert named(report.without(*(ion for ion in report.typed if ion not in kept))) == []


def test_the_right_slip_comes_first():
    of_kind = Counter(kind for kind, *_ in PLANTED)
    right = Counter(
        kind
        for kind, report, slip in PLANTED
        if (found := named(report)) and is_right(found[0], slip)
    )
    assert right.total() / of_kind.total() >= 0.92
    # Ammonium is so small a part of the nitrogen that "both as ions" reads like "nitrate as ion".
    hopeless = {"NO3 and NH4"}
    assert {kind for kind in of_kind if right[kind] < 0.6 * of_kind[kind]} <= hopeless


def test_a_slip_that_can_be_detected_is_told_nearly_always():
    told = sum(bool(named(report)) for _, report, _ in PLANTED)
    assert told / len(PLANTED) >= 0.97


def test_a_litre_of_medium_counts_the_water_it_brings():
    # EN 13652 adds five volumes of water; the medium's own comes on top.
    added = {method.id: method.water_added for method in extraction_methods() if method.water_added}
    assert added.keys() == PER_LITRE.keys()
    for method, litres in PER_LITRE.items():
        assert added[method] + OWN_WATER == pytest.approx(litres, rel=0.1)


@pytest.mark.parametrize("ec", [1.744, 1.919], ids=["river", "river-pond"])
def test_a_published_reading_ten_times_off_is_told(ec):
    # van Broekhoven et al. (2024), samples 2.1 and 9.1: their ions make about 0.2 dS/m.
    ions = {"calcium": 1.11, "magnesium": 0.45, "sodium": 0.14, "potassium": 0.06}
    ions |= {"bicarbonate": 1.43, "sulfate_s": 0.49, "chloride": 0.05, "nitrate_n": 0.02}
    trials = try_slips(ions | {"phosphorus": 0.0, "ammonium_n": 0.01}, ec, 6.0, solution="water")
    assert ("reading", "power_of_ten", 0.1) in [trials.slips[row] for row in trials.closing(0)]


def test_the_dilutions_name_a_litre_of_medium():
    by_volume = [report for report in REPORTS if report.extraction in PER_LITRE]
    assert by_volume
    assert all(LITRE_OF_MEDIUM in report.dilutions for report in by_volume)
