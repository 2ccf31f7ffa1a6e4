"""The screen: 80 columns, plain when piped, never by colour alone, every finding shown."""

import io
import sys

import pytest
from rich.cells import cell_len

from pinloom.cli.exits import Exit
from pinloom.cli.progress import Progress
from pinloom.cli.screen import MOST_OTHERS, Screen, said
from pinloom.core.findings import Place, caution, fault, note
from pinloom.workflow import clock

LONG = "The door of the long boat shed by the slip that nobody has used since the flood"


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        """Always."""
        return True


def _on_terminal(monkeypatch: pytest.MonkeyPatch, columns: int = 80) -> Terminal:
    stream = Terminal()
    monkeypatch.setattr(sys, "stdout", stream)
    monkeypatch.setenv("COLUMNS", str(columns))
    monkeypatch.setenv("TERM", "xterm-256color")
    for name in ("NO_COLOR", "FORCE_COLOR"):
        monkeypatch.delenv(name, raising=False)
    return stream


def test_a_pipe_gets_plain_text(capsys: pytest.CaptureFixture[str]) -> None:
    """No escape sign, no blank at the end of a line, no more than 80 columns."""
    screen = Screen()
    screen.heading("Loft stair")
    screen.say(LONG * 3)
    screen.facts([("door", LONG * 2), ("钥匙", "宽" * 60)])
    screen.table(("door", "cuts"), [(LONG * 2, "345621"), ("帆の工房" * 20, "3")])
    screen.points([LONG * 2])
    screen.findings([note("cuts-none", key=LONG * 2)])
    screen.verdict("PROVED", good=True)
    text = capsys.readouterr().out
    assert "\x1b" not in text
    assert all(line == line.rstrip() for line in text.splitlines())
    assert max(cell_len(line) for line in text.splitlines()) <= 80
    assert text.count("宽") == 60


def test_colour_is_never_the_only_sign(monkeypatch: pytest.MonkeyPatch) -> None:
    """With and without colour the same words are there: severity, verdict."""
    texts = []
    for plain in (False, True):
        stream = _on_terminal(monkeypatch)
        if plain:
            monkeypatch.setenv("NO_COLOR", "1")
        screen = Screen()
        screen.findings([fault("cuts-none", key="A"), caution("cuts-macs", key="B", macs=7)])
        screen.verdict("NOT PROVED: 1 fault", good=False)
        texts.append(stream.getvalue())
    assert "\x1b[31m" in texts[0] or "31m" in texts[0]
    assert "31m" not in texts[1]
    for word in ("FAULT", "CAUTION", "NOT PROVED"):
        assert word in texts[0]
        assert word in texts[1]


@pytest.mark.parametrize(("columns", "widest"), [(200, 80), (60, 60), (10, 40)])
def test_a_terminal_sets_the_width(
    monkeypatch: pytest.MonkeyPatch, columns: int, widest: int
) -> None:
    """Wide terminals get 80 columns, narrow ones what they have, down to 40."""
    stream = _on_terminal(monkeypatch, columns)
    Screen().say(LONG * 3)
    assert widest - 12 < max(map(len, stream.getvalue().splitlines())) <= widest


def test_names_are_not_markup(capsys: pytest.CaptureFixture[str]) -> None:
    """Brackets, emoji codes and backslashes in a name are shown as they are."""
    name = r"[bold]Loft[/bold] :key: \[x]"
    screen = Screen()
    screen.say(name)
    screen.table(("door",), [(name,)])
    screen.findings([fault("cuts-none", key=name)])
    assert capsys.readouterr().out.count(name) == 3


def test_an_old_terminal_is_not_the_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the encoding lacks a sign, its number is shown and the work goes on."""
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="latin-1"))
    screen = Screen()
    screen.heading("帆の工房")
    screen.table(("door", "cuts"), [("帆", "345621")])
    sys.stdout.flush()
    text = raw.getvalue().decode("latin-1")
    assert "\\u5e06" in text
    assert "345621" in text


def test_findings_of_a_kind_stand_together(capsys: pytest.CaptureFixture[str]) -> None:
    """What to do is said once; of cautions some are shown and the rest counted; faults first."""
    many = [caution("cuts-macs", Place(row=i), key=f"K{i}", macs=7) for i in range(30)]
    Screen().findings([*many, fault("cuts-none", Place(file="x.csv", row=4), key="A")])
    text = capsys.readouterr().out
    assert text.count("[cuts-macs]") == 1
    assert text.count("row ") == MOST_OTHERS + 1
    assert f"and {30 - MOST_OTHERS} more of this kind" in text
    assert text.startswith("FAULT   x.csv, row 4: Key A has no cuts.")


def test_a_refusal_shows_on_standard_error(capsys: pytest.CaptureFixture[str]) -> None:
    """Twelve different faults are twelve findings there, and nothing on standard output."""
    codes = (
        "cuts-none",
        "cuts-no-key",
        "cuts-key-missing",
        "cuts-key-twice",
        "cuts-key-unknown",
        "cuts-not-as-given",
        "cuts-stamp-unreadable",
        "cuts-stamp-differs",
        "cuts-control-open",
        "job-damaged",
        "job-altered",
        "folder-not-ours",
    )
    code = Screen(quiet=True).refuse([fault(one, key="A") for one in codes])
    shown = capsys.readouterr()
    assert code == Exit.BAD_INPUT
    assert shown.out == ""
    assert all(f"[{one}]" in shown.err for one in codes)
    assert shown.err.endswith("\n12 faults; nothing was written.\n")


def test_a_finding_for_programs_has_all_parts() -> None:
    """Code, severity, place and both sentences."""
    one = fault("cuts-none", Place(file="x.csv", sheet="s", row=4, column="key"), key="A")
    assert said(one) == {
        "code": "cuts-none",
        "severity": "fault",
        "file": "x.csv",
        "sheet": "s",
        "row": 4,
        "column": "key",
        "what": "Key A has no cuts.",
        "do": "Fill in its columns.",
    }


def _clock(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    now = [0.0]
    monkeypatch.setattr(clock, "seconds", lambda: now[0])
    return now


def test_progress_is_silent_for_a_second_then_seldom(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """In a log: nothing within the first second, then at growing distances."""
    now = _clock(monkeypatch)
    with Progress() as progress:
        for tenth in range(1, 200):
            now[0] = tenth / 10
            progress(f"step {tenth}")
    lines = capsys.readouterr().err.splitlines()
    assert [float(line.split()[0]) for line in lines] == [1, 2, 4, 8, 16]
    assert lines[0].endswith("step 10")


def test_progress_rewrites_one_line_of_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """At a terminal one line is rewritten and gone at the end; quiet says nothing."""
    now = _clock(monkeypatch)
    for quiet in (False, True):
        stream = Terminal()
        monkeypatch.setattr(sys, "stderr", stream)
        now[0] = 0.0
        with Progress(quiet=quiet) as progress:
            now[0] = 2.0
            progress("placing keys " + "x" * 100)
        text = stream.getvalue()
        assert ("placing keys" in text) is not quiet
        assert "\n" not in text
        if not quiet:
            assert all(len(part) <= 79 for part in text.split("\r"))
            assert text.endswith(" \r")
