"""Reads the committed texts and says what should not stand in them.

- Locks name no host: a lock must serve every registry, and nobody learns where ours is.
- No text names a package registry's host, or a folder of the machine it was written on.
- No text speaks of how it was written; the project speaks of the project.
- What a user sees names no maker of hardware; a line that cites a source may.
- No card suits or the like: pins, keys and doors are told apart by words and numbers.

Hosts and words are kept as short hashes, so that this file passes its own check. To add one:
`python -c "from tests.house.texts import digest; print(digest('word'))"`.
"""

import hashlib
import re
import subprocess
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

HOSTS = frozenset(
    (
        "00a7dc5a0cc3 0dc11026ac75 1ba4e37997a2 317d2d52829b 3ca29e55be4b 3d01f3609be8 "
        "43c04ed1dabe 4db460c55b85 5cd04dc6512f 70bb4000cd2f 71741fe2460a 789e46d79514 "
        "8743857e3ea0 8b5bb5eb9d75 9495278a7471 9da5f32d9641 a0f007d863a0 a4aa2ac280bb "
        "c899567ee906 d6d7019ca9fc e680c440a2e9 eb7e11c7f9ec"
    ).split()
)
WORDS = frozenset(
    (
        "053ea4804ef1 3ea125d0bff3 487b91042c7c 57de4cf40144 5d72436256ad 60965168ce76 "
        "7d3194f79e64 94a168d2da57 c70eca6b0f88 c857d09db23e d298391b0743 de2187af3fb0"
    ).split()
)
MAKERS = frozenset(
    (
        "00dd32fd0ee2 03c32e72f782 088eb3f5b9fc 0a223bf7646e 0b116cfadeb6 1456917c2a71 "
        "2fe74f25456e 3998ff70f3d3 4b2b0bd657b5 4c4fb540dc7a 5e1457ccda4c 63866302165d "
        "6aa98cd465bb 70f756d0618a 73f3c47a99c9 7572326b43b6 843441797224 888abdc1663c "
        "8d1c9f4ae524 a24935d04a90 b244dfaa609a b8a72255aedf bd7c5cc8d33c beac40734bd4 "
        "bf895aabe88c dcda77b1e0c8 e7150ba8f6c9 f3991cdd13ad f3da40dd9dc4"
    ).split()
)

_HOST = re.compile(r"\b[a-z0-9-]+(?:\.[a-z0-9-]+)+\b")
_WORD = re.compile(r"[a-z]+(?:-[a-z]+)*")
_FOLDERS = ("work", "root", "tmp", "home", "mnt", "opt", "Users")
_MACHINE_PATH = re.compile(rf"(?<![\w.~*-])/(?:{'|'.join(_FOLDERS)})(?:/[\w.]|(?![\w/-]))")
_ADDRESS = re.compile(r"https?://")
_CITATION = re.compile(r"https?://|\bsource\b|\bpublished\b", re.IGNORECASE)
_SUITS = re.compile("[\u2660-\u2667\U0001f0a0-\U0001f0ff]")
_REQUIREMENT = re.compile(r"^([A-Za-z0-9][\w.-]*)==(\S+)")

#: folders whose texts a user sees
SHOWN = ("src/pinloom/cli/", "src/pinloom/messages/", "src/pinloom/sheets/", "src/pinloom/web/") + (
    "src/pinloom/draft/",
    "src/pinloom/workflow/",
    "docs/guide/",
    "examples/",
)
_FORMAT_FOLDER = "src/pinloom/hardware/"
_FORMAT_LABEL = re.compile(r"^\s*(?:name|title|label|stamped)\s*=")


@dataclass(frozen=True, slots=True, kw_only=True)
class Stain:
    """One place with something that should not be there."""

    file: str
    line: int
    what: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.what}"


def digest(word: str) -> str:
    """The short hash under which a word or host is listed here."""
    return hashlib.sha256(word.lower().encode()).hexdigest()[:12]


def committed_texts(root: Path) -> dict[str, str]:
    """Name -> text of every committed file that is UTF-8 text."""
    names = subprocess.run(
        ["git", "ls-files", "-z"], cwd=root, capture_output=True, check=True, text=True
    ).stdout.split("\0")
    texts = {}
    for name in filter(None, names):
        path = root / name
        if path.is_symlink() or not path.is_file():
            continue
        try:
            texts[name] = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
    return texts


def stains(name: str, text: str) -> list[Stain]:
    """Everything in one file that should not be there."""
    found = [Stain(file=name, line=0, what=what) for what in _in_line(name, name, shown=False)]
    shown = name.startswith(SHOWN)
    for number, line in enumerate(text.splitlines(), start=1):
        label = name.startswith(_FORMAT_FOLDER) and bool(_FORMAT_LABEL.match(line))
        for what in _in_line(name, line, shown=shown or label):
            found.append(Stain(file=name, line=number, what=what))
    if name.startswith(_FORMAT_FOLDER) and _has(MAKERS, _WORD.findall(Path(name).stem.lower())):
        found.append(Stain(file=name, line=0, what="a maker's name"))
    return found


def _in_line(name: str, line: str, *, shown: bool) -> Iterator[str]:
    if is_lock(name):
        if _ADDRESS.search(line):
            yield "an address in a lock"
        return
    lower = line.lower()
    if _has(HOSTS, _HOST.findall(lower)):
        yield "a registry's host"
    if _MACHINE_PATH.search(line):
        yield "a folder of a machine"
    words = _WORD.findall(lower)
    if _has(WORDS, words):
        yield "a word about how the text was written"
    if shown and _has(MAKERS, words) and not _CITATION.search(line):
        yield "a maker's name"
    if _SUITS.search(line):
        yield "a card suit"


def _has(hashes: frozenset[str], words: Iterable[str]) -> bool:
    return any(digest(word) in hashes for word in words)


def is_lock(name: str) -> bool:
    """Whether a file lists exact versions to install."""
    return name.startswith("locks/") or "-lock." in name or name.endswith(".lock")


def locked_versions(text: str) -> dict[str, str]:
    """Package -> version of every requirement of a lock."""
    found = {}
    for line in text.splitlines():
        match = _REQUIREMENT.match(line)
        if match:
            found[match[1]] = match[2]
    return found


def unhashed(text: str) -> list[str]:
    """The requirements of a lock that carry no hash."""
    logical = text.replace("\\\n", " ").splitlines()
    wanted = [line for line in logical if line.strip() and not line.startswith("#")]
    return [line.split()[0] for line in wanted if "--hash=sha256:" not in line]
