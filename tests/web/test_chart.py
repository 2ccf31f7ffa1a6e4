"""The chart and its keys as the pages give them."""

import json

from tests.web.kit import Visit


def test_marks_are_the_charts_own(inside: Visit) -> None:
    """Every mark of the published chart is in the data of the grid, and no cut is."""
    answer = inside.get("/job/office/chart.json")
    data = json.loads(answer.text)
    keys = [name for name, _, _ in data["keys"]]
    opens = {
        door[0]: sorted(keys[k] for k in row)
        for door, row in zip(data["doors"], data["openers"], strict=True)
    }
    assert opens["101"] == ["cleaning", "maintenance", "quality", "sales"]
    assert opens["104A"] == ["cleaning", "sales"]
    assert opens["105"] == ["quality"]
    assert "345621" not in answer.text


def test_branches_name_every_key_and_door(inside: Visit) -> None:
    """Alder Quay: every key and the number of its doors stand on the page."""
    page = inside.get("/job/alder-quay/branches").text
    for key in ("TOP", "SL3", "SKD1", "warden"):
        assert f'<strong class="key">{key}</strong>' in page
    assert "25 doors" in page
    assert "Flare store" in page
