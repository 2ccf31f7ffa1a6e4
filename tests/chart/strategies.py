"""Random charts and random files for the property tests. `test_strategies` checks that the random
charts are not all trivial.
"""

from hypothesis import strategies as st

from pinloom.core.chart import NMK, AccessChart, Blank, Door, Key, KeyStanding

_LETTERS = "ABab1290-+@=' ,;()./_äß漢"
_KEY_NAMES = st.text(_LETTERS, min_size=1, max_size=6).map(lambda text: " ".join(text.split()))
_WORDS = st.sampled_from(["", "north", "K1", "K 2", "+x", "-1", "@home", "'a", "'=b", 'say "x"'])


def _usable(name: str) -> bool:
    return bool(name) and not name.startswith(("=", "'=", "''=")) and name != NMK


def names(count: int) -> st.SearchStrategy[list[str]]:
    """Different names, some with signs that files give a meaning to."""
    return st.lists(
        _KEY_NAMES.filter(_usable),
        min_size=1,
        max_size=count,
        unique_by=lambda name: name.casefold(),
    )


@st.composite
def charts(draw: st.DrawFn) -> AccessChart:
    """A chart as `read_chart` makes it: trees of keys, masters excepted, data of keys."""
    key_names = draw(names(8))
    under: dict[str, str] = {}
    for index, name in enumerate(key_names[1:], start=1):
        if draw(st.booleans()):
            under[name] = draw(st.sampled_from(key_names[:index]))
    reserved = {name for name in key_names[1:] if draw(st.integers(0, 6)) == 0}
    active = [name for name in key_names if name not in reserved]
    doors: list[Door] = []
    opens: dict[str, set[str]] = {}
    for name in draw(names(8)):
        lowest = set(draw(st.lists(st.sampled_from(active), min_size=1, max_size=3)))
        above = {m for key in lowest for m in _above(key, under)} - reserved - lowest
        excepted = draw(st.one_of(st.just(()), _some(sorted(above)), st.just((NMK,))))
        opens[name] = lowest | (set() if NMK in excepted else above - set(excepted))
        doors.append(
            Door(
                name=name,
                opening=draw(_WORDS),
                cylinder=draw(_WORDS),
                keyway=draw(_WORDS),
                count=draw(st.sampled_from([1, 1, 3])),
                excepted=excepted,
                unpinned=draw(st.sampled_from([(), (), (5,), (1, 6)])),
                core_group=draw(_WORDS),
            )
        )
    idle = set(key_names) - {key for row in opens.values() for key in row}
    keys = [
        Key(
            name=name,
            under=under.get(name, ""),
            copies=draw(st.sampled_from([None, None, 0, 4])),
            standing=draw(st.sampled_from([KeyStanding.RESERVED, KeyStanding.RETIRED]))
            if name in idle | reserved
            else KeyStanding.ACTIVE,
            given=draw(st.sampled_from(["", "12??45", "012345"])),
            note=draw(_WORDS),
        )
        for name in key_names
    ]
    return AccessChart.build(doors, keys, opens, _blanks([door.keyway for door in doors]))


def _above(name: str, under: dict[str, str]) -> list[str]:
    found = []
    while name in under:
        name = under[name]
        found.append(name)
    return found


def _some(above: list[str]) -> st.SearchStrategy[tuple[str, ...]]:
    if not above:
        return st.just(())
    return st.lists(st.sampled_from(above), min_size=1, unique=True).map(tuple)


def _blanks(keyways: list[str]) -> list[Blank]:
    used = sorted({keyway for keyway in keyways if keyway})
    return [Blank(name="B1", enters=tuple(used))] if len(used) > 1 else []


#: texts that look like chart files more often than by chance
_CELLS = st.one_of(
    st.sampled_from(
        ["door", "keys", "key", "under", "count", "except", "unpinned", "opening", "operated by"]
        + [
            "A",
            "AA",
            "AA1",
            "XAA1",
            "X1X",
            "SKD1",
            "AA1(NMK)",
            "NMK",
            "x",
            "",
            "1",
            "=1",
            "control",
        ]
        + ["copies", "reserved", "cuts", "blank", "enters", "Loft 1", "'", '"', "\u200b", "7.5"]
    ),
    st.text(max_size=6),
)
GRIDS = st.lists(st.lists(_CELLS, max_size=6), max_size=8)
