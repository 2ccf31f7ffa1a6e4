"""The figures of the engine's bench as tables, so that nobody types a figure.

Two tables: our own figures, one row a chart with its seeds side by side, and what the plain ways
took for the first seed. Of the figures of a plain way, those of the same run count; where it was
ended there and the long run of the plain ways alone went further, those count, marked with a star.
"""

from collections.abc import Iterable, Mapping, Sequence
from statistics import median

from bench.engine_cases import CASES
from bench.kit import Record

BEGIN, END = "<!-- figures: begin -->", "<!-- figures: end -->"
DONE = ("designed", "impossible", "found")
NAMES = {"direct": "plain encoding", "cpsat": "CP-SAT"}
TOLD = {case.chart: (case.family, case.told) for case in CASES}
ORDER = [(case.chart, case.hardware, case.form) for case in CASES]

NOTES = """\
- *Seconds* are wall clock of the whole process; *processor s* tell better what an idle machine
  would take. Seeds stand side by side; from four on, median and worst.
- *Search* = wall seconds of the design call, with refining and, where there is no design, the
  search for remedies.
- *Reach* = wall seconds wanted. *Met* counts the seeds with a verdict in time.
- *Form*: matrix, schedule, or the bare marks, from which only the structure was found.
- *Plain encoding* = `bench/direct.py` on the solver that the engine uses; *CP-SAT* =
  `bench/cpsat.py`. Both with processor seconds of the whole process, first seed. "over" = ended at
  its limit of processor seconds or of memory, so that the ratio is a lower bound. `*` = from the
  long run of the plain ways alone, not the same run. "-" = not asked.
- *Times ours* = their processor seconds by ours; the second number is the same by wall clock."""


def table(records: Sequence[Record], long: Sequence[Record]) -> str:
    """Both tables with the notes on how to read them."""
    rows = list(_by_chart(records).values())
    ours = ["family", "chart", "format, form", "doors", "keys", "verdict", "seconds", "processor s"]
    ours += ["search s", "steps", "MB", "reach s", "met"]
    others = ["chart", "format", "doors", "ours, processor s"]
    for name in NAMES.values():
        others += [name, "processor s", "MB", "times ours, processor / wall"]
    compared = [_compared(row[0], long) for row in rows if row[0].get("form") != "marks"]
    return "\n\n".join(
        (
            NOTES,
            _lines(ours, (_own(row) for row in rows)),
            "The same charts by the plain ways:",
            _lines(others, (row for row in compared if any(c != "-" for c in row[4:]))),
        )
    )


def page_with(page: str, text: str) -> str:
    """A page with the text between its marks, or the text alone where the page has none."""
    if BEGIN not in page or END not in page:
        return text + "\n"
    before, rest = page.split(BEGIN, 1)
    return f"{before}{BEGIN}\n\n{text}\n\n{END}{rest.split(END, 1)[1]}"


def best_of(way: str, record: Record, long: Sequence[Record]) -> tuple[Record | None, bool]:
    """The figures of a plain way for a record, and whether they are those of the long run."""
    here = record if isinstance(record.get(f"{way}_processor_s"), int | float) else None
    there = next(
        (
            r
            for r in long
            if r["way"] == way
            and all(r[name] == record.get(name) for name in ("chart", "hardware", "seed"))
        ),
        None,
    )
    if there is None or (here is not None and not here.get(f"{way}_ended")):
        return here, False
    if here is None or _number(there, f"{way}_processor_s") > _number(here, f"{way}_processor_s"):
        return there, True
    return here, False


def _by_chart(records: Sequence[Record]) -> dict[tuple[object, ...], list[Record]]:
    """Seeds together, in the order of the cases; what is no case any more comes last."""
    rows: dict[tuple[object, ...], list[Record]] = {case: [] for case in ORDER}
    for record in records:
        case = (record["chart"], record["hardware"], record.get("form", "matrix"))
        rows.setdefault(case, []).append(record)
    return {case: seeds for case, seeds in rows.items() if seeds}


def _own(seeds: Sequence[Record]) -> list[str]:
    first = seeds[0]
    family, told = TOLD.get(str(first["chart"]), ("-", "-"))
    met = sum(
        r["verdict"] in DONE and _number(r, "seconds") <= _number(r, "reach_s") for r in seeds
    )
    return [
        family,
        f"{first['chart']}: {told}",
        f"`{first['hardware']}`, {first.get('form', 'matrix')}",
        f"{first.get('doors', 0):,}",
        f"{first.get('keys', 0):,}",
        _verdicts(seeds),
        _figures(seeds, "seconds", ".1f"),
        _figures(seeds, "processor_s", ".1f"),
        _figures(seeds, "search_s", ".1f"),
        _figures(seeds, "steps", ",.0f"),
        _memory(max(_number(r, "megabytes") for r in seeds)),
        f"{first['reach_s']:g}",
        ("yes" if met else "no") if len(seeds) == 1 else f"{met} of {len(seeds)}",
    ]


def _verdicts(seeds: Sequence[Record]) -> str:
    said = [_verdict(record) for record in seeds]
    if len(said) == 1:
        return said[0]
    return ", ".join(f"{said.count(v)} of {len(said)} {v}" for v in dict.fromkeys(said))


def _verdict(record: Record) -> str:
    left = f" ({record.get('wrong')} wrong left)" if record["verdict"] == "gave up" else ""
    return f"{record['verdict']}{left}"


def _figures(seeds: Sequence[Record], name: str, form: str) -> str:
    known = [_number(record, name) for record in seeds if record.get(name) is not None]
    if len(known) > 3:
        return f"{median(known):{form}}, worst {max(known):{form}}"
    return " / ".join(f"{value:{form}}" for value in known) or "-"


def _compared(record: Record, long: Sequence[Record]) -> list[str]:
    cells = [
        str(record["chart"]),
        f"`{record['hardware']}`",
        f"{record.get('doors', 0):,}",
        f"{_number(record, 'processor_s'):.1f}",
    ]
    for way in NAMES:
        figures, other_run = best_of(way, record, long)
        cells += _way(way, record, figures, "\\*" if other_run else "")
    return cells


def _way(way: str, record: Record, figures: Record | None, star: str) -> list[str]:
    if figures is None:
        return [str(record.get(way, "-")), "-", "-", "-"]
    used, ended = _number(figures, f"{way}_processor_s"), bool(figures.get(f"{way}_ended"))
    over = "over " if ended else ""
    times = f"{over}{used / _number(record, 'processor_s'):.1f}"
    if not star:
        times += f" / {_number(figures, f'{way}_s') / _number(record, 'seconds'):.1f}"
    if record["verdict"] not in DONE or (ended and used < _number(record, "processor_s")):
        times = "-"
    return [
        f"{figures[way]}{star}",
        f"{over}{used:.1f}",
        _memory(_number(figures, f"{way}_megabytes")),
        times,
    ]


def _memory(megabytes: float) -> str:
    return f"{megabytes:,.0f}" if megabytes else "-"


def _number(record: Mapping[str, object], name: str) -> float:
    value = record.get(name)
    return float(value) if isinstance(value, int | float) else 0.0


def _lines(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    every = [head, ["---"] * len(head), *rows]
    return "\n".join(f"| {' | '.join(row)} |" for row in every)
