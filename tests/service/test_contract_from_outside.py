"""The contract as others read it: requests made up from it, and a client made from it."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis import GenerationMode
from schemathesis.specs.openapi.checks import positive_data_acceptance

from benchmarks import fuzz_lines  # noqa: F401 - how lines and tables are sent
from saltcalc.demo import running_service
from saltcalc.service.app import create_app
from saltcalc.service.config import read_settings
from tests.conftest import CONTRACT

ROOT = Path(__file__).parents[2]

contract = schemathesis.openapi.from_wsgi(
    "/openapi.json", create_app(read_settings({"SALTCALC_LOG_LEVEL": "CRITICAL"}))
)
OPERATIONS = {each.ok().label: each.ok() for each in contract.get_all_operations()}


def test_every_operation_of_the_contract_is_asked():
    asked = {
        f"{method.upper()} {path}"
        for path, operations in CONTRACT["paths"].items()
        for method in operations.keys() - {"parameters"}
    }
    assert OPERATIONS.keys() == asked


# Schemathesis has a way of its own to make a test of each operation, all by one name: of these
# pytest-xdist runs only one.
@pytest.mark.parametrize("operation", OPERATIONS)
def test_requests_made_up_from_the_contract_are_answered_as_it_says(operation):
    """Every check of schemathesis but one: statuses, media types, schemas, headers, refusals.

    Left out is that all which fits the contract is accepted: a schema cannot say which texts are
    units, nor which names are crops.
    """
    asked = OPERATIONS[operation]
    made = asked.as_strategy()
    if asked.body or asked.query:
        made |= asked.as_strategy(GenerationMode.NEGATIVE)

    @settings(max_examples=8, suppress_health_check=list(HealthCheck))
    @given(case=made)
    def is_answered(case):
        case.call_and_validate(
            headers={"Accept-Encoding": "identity"}, excluded_checks=[positive_data_acceptance]
        )

    is_answered()


@pytest.mark.xdist_group("gunicorn")
def test_a_client_made_from_the_contract_gets_the_answer_to_the_demo(tmp_path, demo_request):
    """Made by openapi-python-client, asked over the network."""
    made = tmp_path / "made"
    subprocess.run(
        [
            Path(sys.executable).with_name("openapi-python-client"),
            *("generate", "--path", ROOT / "api_spec" / "openapi.json"),
            *("--output-path", made, "--meta", "none"),
        ],
        check=True,
        capture_output=True,
    )
    ask = """
import json, sys
from made import Client
from made.api.assessments import post_assessments
from made.models import AssessmentRequest
request = json.load(open(sys.argv[2]))
body = AssessmentRequest.from_dict(request)
assert body.to_dict() == request, "the request is not what it was"
answer = post_assessments.sync(client=Client(sys.argv[1]), body=body)
print(json.dumps(answer.to_dict()))
"""
    question = tmp_path / "request.json"
    question.write_text(json.dumps(demo_request))
    with running_service() as address:
        answered = subprocess.run(
            [sys.executable, "-c", ask, address, question],
            cwd=tmp_path,
            check=True,
            capture_output=True,
            text=True,
        )
    assert json.loads(answered.stdout)["salinity"]["class"] == "high"
