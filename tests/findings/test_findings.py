"""Every finding has a case in which it is told, and a twin, little changed, in which it is not."""

import pytest

from saltcalc.parts.notes import FINDINGS
from tests.findings.cases import cases
from tests.sentences import sentences

CASES = cases()


def test_every_finding_has_a_case_and_no_case_is_left_over():
    assert sorted(CASES) == sorted(FINDINGS), "python -m tests.findings.cases seeks them"


@pytest.mark.parametrize("finding", sorted(CASES))
def test_a_finding_is_told_in_its_case_and_not_in_its_twin(post, finding):
    case = CASES[finding]
    told = {each["id"]: each for each in post(case["path"], case["request"])["warnings"]}
    assert told[finding]["sentence"]
    assert told[finding]["field"]
    silent = {each["id"] for each in post(case["path"], case["twin"])["warnings"]}
    assert finding not in silent


def test_every_finding_of_the_catalogues_is_one():
    """A sentence ``finding.<id>`` is that of a finding, or of a kind of one by its beginning."""
    told = {each.removeprefix("finding.") for each in sentences() if each.startswith("finding.")}
    assert told
    kinds = {"anions_missing", "cations_missing"}  # of charges_do_not_balance
    assert not [
        each
        for each in told
        if not each.startswith(FINDINGS) and each.removesuffix("_likely") not in kinds
    ]
