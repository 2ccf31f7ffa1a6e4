"""``pinloom ledger``: a day at the counter, exit codes, and no cut where none belongs."""

import json
import re
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.kit import Exit, Run, run
from tests.workflow.kit import KEYNOTES_BITTINGS, KEYNOTES_CHART, pinned, write

Say = Callable[..., Run]
PASSPHRASE = "lofts and long sails"


@pytest.fixture
def say(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Say:
    """Commands of one ledger, with its passphrase in the file ``word``."""
    from pinloom.vault import Cost, Strongbox

    quick = Cost(rounds=1, memory_kib=8, lanes=1)
    make = Strongbox.new
    monkeypatch.setattr(Strongbox, "new", lambda word, _=None: make(word, quick))
    monkeypatch.setenv("PINLOOM_LEDGER", str(tmp_path / "data" / "ledger.db"))
    monkeypatch.setenv("PINLOOM_CLERK", "clerk")
    (tmp_path / "word").write_text(f"{PASSPHRASE}\n")
    return lambda *arguments: run(capsys, "ledger", *arguments)


@pytest.fixture
def counter(say: Say, tmp_path: Path) -> Say:
    """A ledger with the published chart's job, approved, and keys cut."""
    word = f"@{tmp_path / 'word'}"
    pinned(tmp_path)
    for arguments in (
        ("new", "--passphrase", word),
        ("site", "Alder Quay"),
        ("person", "Rigger", "--organisation", "yard"),
        ("import", tmp_path / "job", "--site", "Alder Quay", "--system", "Quay")
        + ("--passphrase", word),
        ("approve", "Quay", 1, "--by", "Harbour office", "--authority", "order 7"),
        ("cut", "Quay", "sales", "--copies", 2),
        ("cut", "Quay", "cleaning"),
        ("pin", "Quay", "101"),
    ):
        done = say(*arguments)
        assert done.code == Exit.DONE, done.err
    return say


def cuts_in(text: str) -> list[str]:
    """The cuts of the published keys that stand in a text."""
    return [cuts for cuts in ("345621", "365621", "343621", "345421") if cuts in text]


def test_a_receipt_looks_like_this(counter: Say) -> None:
    """The whole receipt, as a person prints and signs it."""
    done = counter("issue", "sales-1", "Rigger", "--due", "2099-12-31")
    assert done.code == Exit.DONE
    shown = re.sub(r"\d{4}-\d\d-\d\d \d\d:\d\d UTC", "TIME", done.out)
    shown = re.sub(r"\b(\d+)-[0-9a-f]{16}", r"\1-HASH", shown)
    assert shown == RECEIPT


RECEIPT = """\
NOTE    The issue is recorded without both signatures. Have the receipt
        12-HASH signed, and note with pinloom ledger sign where it
        is kept. [ledger-unsigned]
Recorded: issued, number 12-HASH.

Receipt 12-HASH
===========================
key number   sales-1
system       Quay
out          TIME
due          2099-12-31
issued by    clerk
received by  Rigger #3

issuer's signature    ________________________________________

receiver's signature  ________________________________________

The receiver keeps this key in person, has no copy made, and reports its loss at
once.
"""


def test_a_day_at_the_counter(counter: Say) -> None:
    """Issue, refuse, ask, lose, find, destroy: each answer in words and as JSON."""
    counter("issue", "sales-1", "Rigger", "--due", "2099-12-31")
    refused = counter("issue", "sales-1", "Rigger")
    assert refused.code == Exit.BAD_INPUT
    assert "[ledger-is-out]" in refused.err
    assert "nothing was written" in refused.err
    holds = counter("holds", "Rigger")
    assert "sales-1" in holds.out
    openers = json.loads(counter("--json", "openers", "Quay", "101").out)
    assert {one["key"] for one in openers} == {"sales-1", "sales-2", "cleaning-1"}
    reach = json.loads(counter("--json", "reach", "Rigger").out)
    assert {one["door"] for one in reach} == {"101", "102", "104A", "104B", "106"}
    assert counter("lost", "sales-1").code == Exit.BAD_INPUT  # without a reason
    lost = counter("lost", "sales-1", "--why", "fell off the pier")
    assert "by the latest revision: 5." in " ".join(lost.out.split())
    assert "[ledger-combination-lost]" in counter("issue", "sales-2", "Rigger").err
    found = counter("found", "sales-1", "--trusted", "--why", "in the net")
    assert found.code == Exit.DONE
    assert counter("destroy", "sales-1", "--why", "rusty").code == Exit.DONE
    history = json.loads(counter("--json", "history", "sales-1").out)
    assert [one["what"] for one in history] == ["cut", "issued", "lost", "found", "destroyed"]
    register = json.loads(counter("--json", "register", "sales-1").out)
    assert [one["ended"] for one in register] == ["lost"]
    assert "Nothing is out." in counter("out").out
    assert "Nothing to record." in counter("overdue").out
    sound = counter("verify")
    assert sound.code == Exit.DONE
    assert "SOUND" in sound.out


def test_the_bench_side(counter: Say, tmp_path: Path) -> None:
    """Blanks, orders, signatories, spares, inventory: recorded and shown."""
    assert counter("blank", "quay blank", "--restricted").code == Exit.DONE
    assert counter("blanks", "quay blank", "--received", 5).code == Exit.DONE
    assert counter("blanks", "quay blank").code == Exit.BAD_INPUT
    refused = counter("order", "Quay", "sales", "Rigger", "--blank", "quay blank")
    assert "[ledger-may-not-order]" in refused.err
    done = counter("signatory", "Alder Quay", "Rigger", "--authority", "letter 4")
    assert done.code == Exit.DONE
    order = json.loads(
        counter("--json", "order", "Quay", "sales", "Rigger", "--blank", "quay blank").out
    )
    number = order["events"][0]["seq"]
    assert counter("cut", "Quay", "sales", "--order", number).code == Exit.DONE
    stock = json.loads(counter("--json", "blanks").out)
    assert [(one["cut"], one["left"]) for one in stock] == [(1, 4)]
    assert counter("pin", "Quay", "101", "--mark", "spare 1", "--at", "van").code == Exit.DONE
    spares = json.loads(counter("--json", "spares", "Quay").out)
    assert [(one["mark"], one["place"]) for one in spares] == [("spare 1", "van")]
    moved = counter("place", "Quay", "spare 1", "--door", "101", "--old-to", "van")
    assert moved.code == Exit.DONE
    (tmp_path / "seen.csv").write_text("what,mark,where\nkey,sales-1,\nkey,ZZ-1,\n")
    counted = counter("inventory", "Quay", tmp_path / "seen.csv")
    assert "ZZ-1" in counted.out
    assert "missing" in counted.out
    (tmp_path / "bad.csv").write_text("what,mark\nring,sales-1\nkey,\n")
    bad = counter("inventory", "Quay", tmp_path / "bad.csv")
    assert "[ledger-list-not-a-thing]" in bad.err
    assert "[ledger-list-cell-empty]" in bad.err
    assert "Every system was counted" in counter("inventory").out
    assert counter("amend", "Rigger", "contact", "pier 3", "--why", "moved").code == Exit.DONE
    assert "pier" not in counter("find", "rigger").out
    todo = json.loads(counter("--json", "system", "Quay").out)
    assert {"door": "102", "cylinder": "none recorded"} in todo["to_pin"]
    assert "Quay" in counter("system").out


def test_cuts_show_only_where_they_are_asked_for(counter: Say, tmp_path: Path) -> None:
    """With the passphrase ``cuts`` and ``pins`` show them; no other command, file or error does."""
    word = f"@{tmp_path / 'word'}"
    assert "365621" not in counter("cuts", "Quay", "sales", "--passphrase", word).out
    shown = counter("cuts", "Quay", "sales", "--passphrase", word)
    assert cuts_in(shown.out) == ["343621"]
    told = json.loads(counter("--json", "pins", "Quay", "101", "--passphrase", word).out)
    assert [one["mark"] for one in told] == ["", "101"]
    assert told[0]["stacks"] == told[1]["stacks"]
    assert told[0]["stacks"][0]["bottom"] == 3
    assert "as approved" in counter("pins", "Quay", "101", "--passphrase", word).out
    counter("export", tmp_path / "out")
    counter("backup", tmp_path / "b.db")
    others = [
        counter("history").out,
        counter("register", "sales-1").out,
        counter("system", "Quay").out,
        counter("find", "a").out,
        counter("lost", "sales-1", "--why", "cut 343621").err,
        *(path.read_bytes().decode("latin-1") for path in (tmp_path / "out").iterdir()),
        (tmp_path / "b.db").read_bytes().decode("latin-1"),
        (tmp_path / "data" / "ledger.db").read_bytes().decode("latin-1"),
    ]
    assert [cuts_in(text) for text in others] == [[]] * len(others)


def test_wrong_passphrases_are_refused(counter: Say, tmp_path: Path) -> None:
    """In words, with a growing wait, and without the passphrase in them."""
    (tmp_path / "wrong").write_text("not the right words")
    wrong = f"@{tmp_path / 'wrong'}"
    found = [counter("cuts", "Quay", "sales", "--passphrase", wrong) for _ in range(5)]
    assert [one.code for one in found] == [Exit.BAD_INPUT] * 5
    assert "[ledger-wrong-passphrase]" in found[0].err
    assert "[ledger-wait]" in found[4].err
    assert not any("not the right words" in one.err + one.out for one in found)


def test_the_passphrase_changes(counter: Say, tmp_path: Path) -> None:
    """The old one is refused afterwards, the new one opens."""
    (tmp_path / "new").write_text("anchors and new sails")
    old, new = f"@{tmp_path / 'word'}", f"@{tmp_path / 'new'}"
    done = counter("passphrase", "--passphrase", old, "--new-passphrase", new)
    assert done.code == Exit.DONE
    assert counter("cuts", "Quay", "sales", "--passphrase", old).code == Exit.BAD_INPUT
    assert counter("cuts", "Quay", "sales", "--passphrase", new).code == Exit.DONE
    missing = counter("cuts", "Quay", "sales", "--passphrase", "@no such file")
    assert missing.code == Exit.BAD_INPUT


def test_an_unproved_job_comes_in_and_is_not_approved(counter: Say, tmp_path: Path) -> None:
    """The published bittings are faulty: recorded as such, never approved."""
    pinned(tmp_path, KEYNOTES_BITTINGS, out=tmp_path / "faulty")
    word = f"@{tmp_path / 'word'}"
    place = ("--site", "Alder Quay", "--system", "Old", "--passphrase", word)
    done = counter("import", tmp_path / "faulty", *place)
    assert done.code == Exit.DONE
    assert "[ledger-not-proved]" in done.out
    refused = counter("approve", "Old", 1, "--by", "x", "--authority", "y")
    assert "[ledger-unproved]" in refused.err
    again = counter("import", tmp_path / "faulty", *place)
    assert "[ledger-entered-before]" in again.err


def test_an_altered_job_folder_stays_out(counter: Say, tmp_path: Path) -> None:
    """A folder whose files were changed by hand is refused before the ledger is asked."""
    path = tmp_path / "job" / "pinning.csv"
    path.write_text(path.read_text().replace("101,1,", "101,1,1", 1))
    word = f"@{tmp_path / 'word'}"
    refused = counter(
        "import", tmp_path / "job", "--site", "Alder Quay", "--system", "New", "--passphrase", word
    )
    assert refused.code == Exit.BAD_INPUT
    assert "[folder-file-altered]" in refused.err


def test_a_sealed_job_folder_comes_in(counter: Say, tmp_path: Path) -> None:
    """With the folder's own passphrase."""
    (tmp_path / "seal").write_text("sealed with tar")
    pinned(tmp_path, out=tmp_path / "sealed", passphrase="sealed with tar")
    word = ("--passphrase", f"@{tmp_path / 'word'}")
    place = ("--site", "Alder Quay", "--system", "New")
    without = counter("import", tmp_path / "sealed", *place, *word)
    assert "[folder-sealed]" in without.err
    seal = ("--folder-passphrase", f"@{tmp_path / 'seal'}")
    assert counter("import", tmp_path / "sealed", *place, *word, *seal).code == Exit.DONE


def test_a_tampered_ledger_is_told_on(counter: Say, tmp_path: Path) -> None:
    """Exit code 5, the event named, in words and as JSON; a backup is refused."""
    link = sqlite3.connect(tmp_path / "data" / "ledger.db")
    link.execute("DROP TRIGGER events_no_update")
    link.execute("UPDATE events SET who = 'x' WHERE seq = 9")
    link.commit()
    link.close()
    found = counter("verify")
    assert found.code == Exit.FAULTS
    assert "NOT SOUND" in found.out
    assert "Event 9 was altered" in found.out
    told = json.loads(counter("--json", "verify").out)
    assert told["sound"] is False
    refused = counter("backup", tmp_path / "b.db")
    assert refused.code == Exit.BAD_INPUT
    assert not (tmp_path / "b.db").exists()


def test_backup_restore_and_receipts(counter: Say, tmp_path: Path) -> None:
    """A backup comes back; a receipt printed later is then missing in the chain, and that shows."""
    assert counter("backup", tmp_path / "b.db").code == Exit.DONE
    issued = json.loads(counter("--json", "issue", "sales-1", "Rigger").out)
    receipt = issued["events"][0]["receipt"]
    assert counter("verify", "--receipt", receipt).code == Exit.DONE
    assert receipt in counter("receipt", receipt).out
    assert counter("sign", receipt, "--issuer", "book 1", "--receiver", "book 1").code == Exit.DONE
    assert "book 1" in counter("receipt", receipt.split("-")[0]).out
    assert counter("restore", tmp_path / "b.db").code == Exit.DONE
    told = counter("verify", "--receipt", receipt)
    assert told.code == Exit.FAULTS
    assert "[ledger-anchor-differs]" in told.out
    (tmp_path / "c.db").write_bytes(b"nothing")
    assert counter("restore", tmp_path / "c.db").code == Exit.BAD_INPUT


def test_lists_are_judged_before_they_are_recorded(counter: Say, tmp_path: Path) -> None:
    """Without --apply nothing is recorded; with faults nothing ever is."""
    (tmp_path / "people.csv").write_text("person,contact\nDiver,pier\nCook,galley\n")
    judged = counter("lists", tmp_path / "people.csv")
    assert "Nothing was" in judged.out
    assert counter("holds", "Diver").code == Exit.BAD_INPUT
    assert counter("lists", tmp_path / "people.csv", "--apply").code == Exit.DONE
    assert counter("holds", "Diver").code == Exit.DONE
    again = counter("lists", tmp_path / "people.csv", "--apply")
    assert again.code == Exit.BAD_INPUT
    assert "".join(again.err.split()).count("isknownalready") == 2


def test_no_ledger_yet(say: Say, tmp_path: Path) -> None:
    """Every command says that there is none and how to make one; a new one is not made twice."""
    for arguments in (("out",), ("verify",), ("upgrade",), ("backup", tmp_path / "b.db")):
        found = say(*arguments)
        assert found.code == Exit.BAD_INPUT
        assert "pinloom ledger new" in found.err
    word = f"@{tmp_path / 'word'}"
    assert say("new", "--passphrase", word).code == Exit.DONE
    assert "[ledger-exists]" in say("new", "--passphrase", word).err
    assert "newest form" in say("upgrade").out
    assert say("upgrade", "--again").code == Exit.DONE
    (tmp_path / "word").write_text("short")
    other = say("--ledger", tmp_path / "other.db", "new", "--passphrase", word)
    assert "[ledger-passphrase-short]" in other.err


def test_corrections(counter: Say) -> None:
    """An issue that never was is void; the register keeps the line."""
    issued = json.loads(counter("--json", "issue", "sales-1", "Rigger").out)
    receipt = issued["events"][0]["receipt"]
    done = counter("correct", receipt, "void", "--why", "wrong hook")
    assert done.code == Exit.DONE
    register = json.loads(counter("--json", "register", "Rigger").out)
    assert [one["void"] for one in register] == [True]
    assert counter("return", "sales-1").code == Exit.BAD_INPUT
    assert counter("trust", "Quay", "sales", "--why", "x").code == Exit.BAD_INPUT


def test_what_rests_is_told(counter: Say, monkeypatch: pytest.MonkeyPatch) -> None:
    """A copy that is out is named with its holder; back, it rests; the rest is an option."""
    counter("issue", "sales-1", "Rigger")
    done = counter("resting", "Quay", "sales")
    assert done.code == Exit.DONE
    text = " ".join(done.out.split())
    assert "sales, cuts 1: sales-1 is out, with Rigger." in text
    assert "not known to be clean" in text
    (one,) = json.loads(counter("--json", "resting", "Quay", "sales").out)["combinations"]
    assert (one["state"], one["clean"], one["free_from"]) == ("never", False, None)
    assert [copy["stamp"] for copy in one["missing"]] == ["sales-1"]
    assert one["doors"] == ["101", "102", "104A", "104B", "106"]
    counter("return", "sales-1")
    assert "rests; free from" in counter("resting", "Quay", "sales").out
    assert "free since" in counter("resting", "Quay", "sales", "--rest", 0).out
    monkeypatch.setenv("PINLOOM_REST", "0")
    assert "free since" in counter("resting", "Quay", "sales").out
    everything = counter("resting", "Quay")
    assert "4 combinations are in use" in everything.out
    assert "Every combination is in use" in everything.out
    assert cuts_in(done.out + everything.out) == []
    assert counter("resting", "Quay", "nobody").code == Exit.BAD_INPUT
    assert counter("resting", "Quay", "--rest", -1).code == Exit.BAD_INPUT


def test_growth_by_the_books(
    counter: Say, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two keys leave the chart: cleaning, whose copy never left the cabinet, is released; quality,
    of which no copy is on record, is kept. A wrong passphrase is refused."""
    rows = [line.split(",") for line in KEYNOTES_CHART.splitlines()]
    rows = [row[:3] for row in rows if row[0] != "105"]  # nobody else opens 105
    wanted = "\n".join(",".join(row) for row in rows) + "\n"
    chart = write(tmp_path, chart=wanted)["chart"]
    place = ("--ledger", tmp_path / "data" / "ledger.db", "--system", "Quay")
    arguments = ("grow", tmp_path / "job", chart, "--out", tmp_path / "job2", *place)
    word = f"@{tmp_path / 'word'}"
    done = run(capsys, *arguments, "--ledger-passphrase", word, "--json")
    assert done.code == Exit.DONE, done.err
    said = {one["code"] for one in json.loads(done.out)["findings"]}
    assert "growth-released" in said
    listed = (tmp_path / "job2" / "changes.csv").read_text()
    assert "cleaning,release," in listed
    assert "quality,retire," in listed
    wrong = run(capsys, *arguments, "--ledger-passphrase", "not the words")
    assert wrong.code == Exit.BAD_INPUT
    assert "[ledger-wrong-passphrase]" in wrong.err


def test_a_lost_key_by_the_books(
    counter: Say, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The copies of the lost key and who has them, on the screen and as data; without a ledger
    nothing is said of copies."""
    counter("issue", "sales-1", "Rigger")
    place = ("--ledger", tmp_path / "data" / "ledger.db", "--system", "Quay")
    arguments = ("lost", "sales", tmp_path / "job", *place, "--ledger-passphrase")
    done = run(capsys, *arguments, f"@{tmp_path / 'word'}")
    assert done.code == Exit.DONE, done.err
    text = " ".join(done.out.split())
    assert "By the books there are 2 copies with its cuts." in text
    assert "sales-1 out, with Rigger" in text
    assert "sales-2 in the cabinet" in text
    assert cuts_in(done.out) == []
    data = json.loads(run(capsys, *arguments, f"@{tmp_path / 'word'}", "--json").out)
    assert [copy["where"] for copy in data["copies"]] == ["out", "in the cabinet"]
    plain = run(capsys, "lost", "sales", tmp_path / "job", "--json")
    assert json.loads(plain.out)["copies"] is None
    never = run(capsys, "lost", "quality", *arguments[2:], f"@{tmp_path / 'word'}")
    assert "no copy with its cuts" in " ".join(never.out.split())
    wrong = run(capsys, *arguments, "not the words")
    assert wrong.code == Exit.BAD_INPUT
    assert "[ledger-wrong-passphrase]" in wrong.err


def test_room_by_the_books(
    counter: Say, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same options as for growth; a wrong passphrase is refused."""
    arguments = ("room", tmp_path / "job", "--under", "cleaning", "--system", "Quay")
    place = ("--ledger", tmp_path / "data" / "ledger.db")
    plain = run(capsys, *arguments, "--json")
    done = run(capsys, *arguments, *place, "--ledger-passphrase", f"@{tmp_path / 'word'}", "--json")
    assert (plain.code, done.code) == (Exit.DONE, Exit.DONE), done.err
    assert json.loads(plain.out) == json.loads(done.out)  # every held key is in the chart already
    wrong = run(capsys, *arguments, *place, "--ledger-passphrase", "not the words")
    assert wrong.code == Exit.BAD_INPUT
    assert "[ledger-wrong-passphrase]" in wrong.err
