from saltcalc.data.sources import bibliography


def test_every_source_has_a_citation_and_a_key_of_its_own():
    sources = bibliography()
    assert len(sources) > 10
    assert all(source.citation for source in sources.values())
