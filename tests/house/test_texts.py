"""Nothing stands in a committed text that should not, and the guard notices each kind of stain."""

from pathlib import Path

import pytest

from tests.house import texts

ROOT = Path(__file__).parents[2]
LOCKS = {name: (ROOT / "locks" / f"{name}.txt").read_text() for name in ("uv", "run", "test")}


def test_committed_texts_are_clean() -> None:
    """No committed file holds a registry's host, a machine's folder or a word out of place."""
    files = texts.committed_texts(ROOT)
    assert "pyproject.toml" in files
    found = [str(stain) for name, text in files.items() for stain in texts.stains(name, text)]
    assert found == []


@pytest.mark.parametrize("name", sorted(LOCKS))
def test_lock_is_hashed(name: str) -> None:
    """Every requirement of every lock carries a hash, and there are some."""
    assert texts.unhashed(LOCKS[name]) == []
    assert texts.locked_versions(LOCKS[name])


def test_locks_agree() -> None:
    """What runs in tests is what runs for users, and the build backend comes from the lock."""
    run = texts.locked_versions(LOCKS["run"])
    test = texts.locked_versions(LOCKS["test"])
    assert "uv-build" in run
    assert {name: test.get(name) for name in run} == run


@pytest.mark.parametrize(
    ("name", "text", "what"),
    [
        ("locks/run.txt", "--index-url ht" + "tps://example.org/simple", "an address in a lock"),
        (
            "package-lock.json",
            '"resolved": "ht' + 'tps://example.org/a.tgz"',
            "an address in a lock",
        ),
        ("docs/a.md", "see /" + "tmp/out", "a folder of a machine"),
        ("docs/a.md", "in /" + "work", "a folder of a machine"),
        ("src/a.py", 'URL = "sqlite:////' + 'root/x.db"', "a folder of a machine"),
        ("docs/a.md", f"suits {chr(0x2663)}", "a card suit"),
    ],
)
def test_a_stain_is_noticed(name: str, text: str, what: str) -> None:
    """One bad line gives that one stain, with its line number."""
    found = texts.stains(name, f"first line\n{text}\n")
    assert [(stain.line, stain.what) for stain in found] == [(2, what)]


@pytest.mark.parametrize(
    "text",
    [
        "https://www.example.org/work/page",
        "doors/root and work/home",
        "../shared/data",
        "/usr/lib/postgresql",
        'href="/keys/home"',
    ],
)
def test_a_harmless_line_passes(text: str) -> None:
    """Addresses of publications, routes and words that hold such names are no stains."""
    assert texts.stains("docs/a.md", text) == []


def _listed(monkeypatch: pytest.MonkeyPatch, kind: str, word: str) -> None:
    monkeypatch.setattr(texts, kind, frozenset({texts.digest(word)}))


def test_a_listed_host_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    """A host on the list is found in any file, in any case, inside an address."""
    _listed(monkeypatch, "HOSTS", "index.example.org")
    found = texts.stains("dev", "curl https://Index.example.org/simple")
    assert [stain.what for stain in found] == ["a registry's host"]
    assert texts.stains("dev", "curl https://example.org/simple") == []


def test_a_listed_word_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    """A word on the list is found in a text and in a file's name, as a whole word only."""
    _listed(monkeypatch, "WORDS", "quux")
    assert [stain.what for stain in texts.stains("a.py", "# by Quux.")] == [
        "a word about how the text was written"
    ]
    assert len(texts.stains("docs/quux.md", "")) == 1
    assert texts.stains("a.py", "# quuxes") == []


def test_a_maker_is_noticed_where_a_user_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    """A maker's name is a stain in words shown and in format labels, not in a cited source."""
    _listed(monkeypatch, "MAKERS", "acme")
    shown = [
        ("src/pinloom/cli/design.py", 'help="for Acme cylinders"'),
        ("docs/guide/start.md", "an Acme plug"),
        ("src/pinloom/hardware/formats/x.toml", 'title = "Acme six"'),
        ("src/pinloom/hardware/formats/acme-6.toml", ""),
    ]
    for name, text in shown:
        assert [stain.what for stain in texts.stains(name, text)] == ["a maker's name"], name
    cited = [
        ("src/pinloom/hardware/formats/x.toml", 'source = "Acme service manual"'),
        ("src/pinloom/sheets/a.py", "# Published source: Acme service manual, p. 3"),
    ]
    assert [texts.stains(name, text) for name, text in cited] == [[], []]


def test_a_missing_hash_is_noticed() -> None:
    """A requirement without a hash is named; one with a hash on the next line is not."""
    lock = "a==1 \\\n    --hash=sha256:00\nb==2\n"
    assert texts.unhashed(lock) == ["b==2"]
    assert texts.locked_versions(lock) == {"a": "1", "b": "2"}
