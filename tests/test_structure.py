"""What keeps the house easy to walk through."""

from pathlib import Path

import saltcalc

MOST_LINES = 500


def test_no_module_is_longer_than_can_be_read_at_a_sitting():
    modules = Path(saltcalc.__file__).parent.rglob("*.py")
    lines = {str(module): len(module.read_text("utf-8").splitlines()) for module in modules}
    assert len(lines) > 100
    assert {module: count for module, count in lines.items() if count > MOST_LINES} == {}
