"""Texts that show cuts.

Everything in an event is readable without the passphrase and stays for good, so a stamp or a reason
that could be somebody's cuts is refused before it is written.
"""

import re

_BETWEEN = re.compile(r"[\s\-/,;.]+")


def reads_as_cuts(text: str, chambers: int, texts: str) -> bool:
    """Whether a text could be cuts: as many stamped depths as there are chambers.

    ``texts`` = the stamped texts of the depths, separated by blanks.
    """
    known = set(texts.split())
    if all(len(one) == 1 for one in known):
        signs = _BETWEEN.sub("", text)
        return len(signs) == chambers and all(sign in known for sign in signs)
    parts = [part for part in _BETWEEN.split(text) if part]
    return len(parts) == chambers and all(part in known for part in parts)


def shows_cuts(text: str, chambers: int, texts: str) -> bool:
    """Whether any word of a text, or any run of as many words as there are chambers, reads so."""
    words = text.split()
    if any(reads_as_cuts(word.strip("()[]{}\"':!?"), chambers, texts) for word in words):
        return True
    runs = (" ".join(words[i : i + chambers]) for i in range(len(words) - chambers + 1))
    return any(reads_as_cuts(run, chambers, texts) for run in runs)
