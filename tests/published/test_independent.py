"""How many of the published checks are independent, counted in a run of all of them."""

from pathlib import Path

from tests.conftest import INDEPENDENT


def test_enough_published_checks_are_independent(request):
    """A table that is typed a second time has no mark, nor has a figure that a row was made from.

    Where only some of the files were asked for, only they are counted, each against one.
    """
    here = Path(__file__).parent
    found = [item for item in request.session.items if item.get_closest_marker("independent")]
    collected = {item.path for item in request.session.items}
    whole = collected >= set(here.glob("test_*.py")) and not request.config.option.keyword
    assert len(found) >= (INDEPENDENT if whole else 0)
    assert all(item.path.is_relative_to(here) for item in found)
