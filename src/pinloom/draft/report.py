"""Findings collected while reading, with a lid: an export that repeats one oddity in every one of
100,000 rows is told by its first rows and a count.
"""

from collections import Counter

from pinloom.core.findings import Finding, Place, note

MOST = 100  # findings of one code in one sheet


class Report:
    """Collects findings in order; the ones above the lid are only counted."""

    def __init__(self) -> None:
        self._kept: list[Finding] = []
        self._seen: Counter[tuple[str, str, str]] = Counter()

    def add(self, finding: Finding) -> None:
        """Keep a finding, or count it."""
        kind = (finding.code, finding.place.file, finding.place.sheet)
        self._seen[kind] += 1
        if self._seen[kind] <= MOST:
            self._kept.append(finding)

    def findings(self) -> tuple[Finding, ...]:
        """All that were kept, and a note for each kind that was cut short."""
        more = [
            note("draft-more", Place(file=file, sheet=sheet), kind=code, count=count - MOST)
            for (code, file, sheet), count in self._seen.items()
            if count > MOST
        ]
        return (*self._kept, *more)
