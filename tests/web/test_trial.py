"""Any door with any key, over the form."""

import re

from tests.web.kit import Visit

AT = "/job/faulty/try"


def _verdict(text: str) -> str:
    found = re.search(r'<p class="verdict[^>]*>(.*?)</p>', text, re.DOTALL)
    assert found is not None
    return found[1].strip()


def test_a_link_names_door_and_key(inside: Visit) -> None:
    """The grid's link shows that door with that key, drawn and in words; against the chart is said.

    *Keynotes*, February 2022, p. 36: the printed maintenance key opens 106, which it shall not.
    """
    page = inside.get(f"{AT}?door=106&key=maintenance").text
    assert _verdict(page).startswith("Key maintenance turns")
    assert "Against the chart: key maintenance shall not open 106." in page
    assert "<svg" in page
    assert "<desc>Key maintenance turns" in page
    good = inside.get(f"{AT}?door=105&key=quality").text
    assert "So the chart wants it: key quality opens 105." in good


def test_typed_cuts_stay_out_of_addresses(inside: Visit) -> None:
    """Cuts go in a form; an address that has them is not understood as cuts."""
    page = inside.post(AT, {"door": "105", "key": "sales", "cuts": "343621"}).text
    assert _verdict(page).startswith("The key turns")
    assert "These cuts at every door" in page
    assert "343621" not in "".join(re.findall(r'href="([^"]*)"', page))
    asked = inside.get(f"{AT}?door=105&key=sales&cuts=343621").text
    assert _verdict(asked).startswith("Key sales is held")


def test_wrong_input_is_told(inside: Visit) -> None:
    """A door, a key, cuts that are not there: words, no drawing, and what was typed stays."""
    for form, said in (
        ({"door": "999", "key": "sales"}, "There is no door called 999."),
        ({"door": "101", "key": "sail"}, "There is no key called sail."),
        ({"door": "101", "key": "sales", "cuts": "12"}, "Those are no cuts of this hardware."),
        ({"door": "101", "key": "sales", "cuts": "34562?"}, "A cut is left open."),
    ):
        page = inside.post(AT, form).text
        assert said in page
        assert "<figure" not in page


def test_buttons_step_through_doors_and_keys(inside: Visit) -> None:
    """The next door after the last is the first; the next key drops typed cuts."""
    page = inside.post(AT, {"door": "107", "key": "sales", "go": "door+"}).text
    assert 'data-door="101"' in page
    assert 'data-key="sales"' in page
    page = inside.post(AT, {"door": "107", "key": "sales", "cuts": "343621", "go": "key-"}).text
    assert 'data-key="quality"' in page
    assert "Key quality at every door" in page


def test_a_piece_is_the_answer_alone(inside: Visit) -> None:
    """The script gets no second page inside the first."""
    piece = inside.post(AT, {"door": "101", "key": "sales"}, **{"x-pinloom-piece": "1"}).text
    assert "<html" not in piece
    assert _verdict(piece).startswith("Key sales turns")
