from benchmarks import washout_picture


def test_the_washout_picture_is_the_one_its_script_makes():
    assert washout_picture.PICTURE.read_text(encoding="utf-8") == washout_picture.picture()


def test_the_default_curves_lie_near_what_was_published():
    assert max(washout_picture.differences().values()) < 0.2
